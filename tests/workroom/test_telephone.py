"""Her telephone: a scan alone lets nothing in; she lets it in at the computer, and can forget it."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium_here import PHONE, accessible_and_fits, asked, open_page, press
from playwright.sync_api import Browser as Chromium
from room_here import Browser, Served, begun, served

from diagnose.errors import FitError
from diagnose.workroom.door.devices import KEPT_NAME, KEY_S, Doors
from diagnose.workroom.serving import addresses_of_home, code_lines, hold_workroom

HOME = "127.0.0.2"
"""Stands in for the address on the home network: another address of this machine."""


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    begun(tmp_path)
    with served(tmp_path, HOME) as room:
        yield room


def scanned(room: Served) -> Browser:
    """A telephone that has scanned the code."""
    phone = Browser(room, HOME)
    answer, _ = phone.ask(f"/pair?key={room.doors.new_pairing()}", user_agent="Mozilla/5.0 (Linux; Android 14)")
    assert answer.status == 303
    phone.cookie = (answer.getheader("set-cookie") or "").partition(";")[0]
    return phone


def test_a_scan_alone_lets_nothing_in(room: Served) -> None:
    phone = scanned(room)
    answer, text = phone.ask("/case/wren")
    waits = room.doors.all_waiting[0]
    assert waits.number in text
    assert "wren" not in text
    assert (answer.getheader("refresh") or "").startswith("2;")
    assert (waits.name, waits.address) == ("Android telephone", "127.0.0.1")
    assert phone.ask("/case/wren/tryon/1/ask/stop", {"tell": "n"})[1].count("Waiting") > 0
    assert room.replies == {}


def test_let_in_at_the_computer_it_answers_and_forgotten_it_does_not(room: Served) -> None:
    phone, computer = scanned(room), Browser(room)
    hashed = room.doors.all_waiting[0].hash
    assert hashed in computer.ask("/telephone")[1]
    assert computer.led_to("/telephone/let-in", {"device": hashed}) == "/telephone"
    assert phone.ask("/case/wren")[0].status == 200
    assert phone.led_to("/case/wren/tryon/1/ask/stop", {"tell": "n"}) == "/case/wren/tryon"
    assert room.replies == {"stop": []}
    kept = (room.folder / KEPT_NAME).read_text(encoding="utf-8")
    assert phone.cookie.partition("=")[2] not in kept
    assert Doors(room.folder).is_let_in(phone.cookie.partition("=")[2])  # the next start knows it again
    assert computer.led_to("/telephone/forget", {"device": hashed}) == "/telephone"
    assert phone.ask("/case/wren")[0].status == 403
    assert not Doors(room.folder).is_let_in(phone.cookie.partition("=")[2])


def test_the_key_of_a_code_works_once(room: Served) -> None:
    key = room.doors.new_pairing()
    one, other = Browser(room, HOME), Browser(room, HOME)
    assert one.ask(f"/pair?key={key}")[0].status == 303
    assert other.ask(f"/pair?key={key}")[0].status == 403
    assert len(room.doors.all_waiting) == 1


def test_the_key_of_a_code_dies_with_time(tmp_path: Path) -> None:
    now = [0.0]
    doors = Doors(tmp_path, lambda: now[0])
    key = doors.new_pairing()
    now[0] = KEY_S + 1
    assert doors.knock(key, "x", "y") is None
    key = doors.new_pairing()
    now[0] += KEY_S - 1
    assert doors.knock(key, "x", "y") is not None
    assert doors.knock("", "x", "y") is None


@pytest.mark.parametrize("host", ["evil.example", "192.168.0.1:80", "127.0.0.2", "localhost"])
def test_another_host_name_is_refused_there_too(room: Served, host: str) -> None:
    phone = scanned(room)
    room.doors.let_in(room.doors.all_waiting[0].hash)
    assert phone.ask("/", Host=host)[0].status == 403


def test_answer_from_another_page_is_refused_there_too(room: Served) -> None:
    phone = scanned(room)
    room.doors.let_in(room.doors.all_waiting[0].hash)
    # Browsers send no Sec-Fetch-Site to an address like this one over http.
    for origin in ("http://evil.example", f"http://127.0.0.1:{room.port}", ""):
        answer, _ = phone.ask("/case/wren/tryon/1/ask/stop", {"tell": "n"}, origin=origin, sec_fetch_site="")
        assert answer.status == 403
    assert phone.ask("/case/wren/tryon/1/ask/stop", {"tell": "n"}, sec_fetch_site="")[0].status == 303


def test_the_computers_key_and_cookie_open_nothing_on_the_home_network(room: Served) -> None:
    computer, far = Browser(room), Browser(room, HOME)
    assert far.ask(f"/?key={room.doors.new_key()}")[0].status == 403
    far.cookie = computer.cookie
    assert far.ask("/")[0].status == 403


def test_a_telephone_lets_no_other_in(room: Served) -> None:
    phone = scanned(room)
    room.doors.let_in(room.doors.all_waiting[0].hash)
    scanned(room)
    other = room.doors.all_waiting[0].hash
    for path in ("/telephone/let-in", "/telephone/forget", "/telephone/code"):
        assert phone.ask(path, {"device": other})[0].status == 422
    assert other not in phone.ask("/telephone")[1]
    assert len(room.doors.all_waiting) == 1


def test_devices_file_that_is_none_of_ours_lets_nobody_in(tmp_path: Path) -> None:
    for text in ("", "[]", '{"devices": 3}', '{"devices": [{"hash": 1}]}', "\0"):
        (tmp_path / KEPT_NAME).write_text(text, encoding="utf-8")
        assert Doors(tmp_path).kept == ()


def test_the_code_holds_the_address_and_stands_in_no_other(room: Served) -> None:
    computer = Browser(room)
    _, text = computer.ask("/telephone/code", {})
    assert "<svg" in text
    address = re.search(rf"http://{HOME}:\d+/pair\?key=[\w-]+", text)
    assert address is not None
    assert not re.search(r"(src|href)=\"[^\"]*pair", text)
    assert len(code_lines(address.group())) > 15
    assert all(character in " █▀▄" for line in code_lines(address.group()) for character in line)


def test_a_second_workroom_on_the_folder_is_told_where_the_first_is(tmp_path: Path) -> None:
    told: list[str] = []

    def second(line: str) -> None:
        told.append(line)
        if "http://127" in line:
            with pytest.raises(FitError) as refused:
                hold_workroom(tmp_path, lambda _: None)
            told.append(str(refused.value.mistakes[0]))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        hold_workroom(tmp_path, second)
    assert re.search(r"is open on this folder already, at http://127\.0\.0\.1:\d+/", told[-1])
    assert not list(tmp_path.glob(".workroom-open"))


def test_addresses_of_home_are_private_ones_of_this_machine() -> None:
    for host in addresses_of_home():
        with socket.socket() as probe:
            probe.bind((host, 0))
        assert not host.startswith("127.")


@pytest.mark.browser
def test_pairing_in_two_browsers(browser: Chromium, room: Served) -> None:
    computer = open_page(browser, room.address("/telephone"))
    accessible_and_fits(computer)
    press(computer, "Show a code to scan")
    accessible_and_fits(computer)
    address = computer.locator(".address").inner_text()
    phone = open_page(browser, address, PHONE)
    asked(phone, "Waiting to be let in")
    computer.get_by_role("link", name="It is scanned: who waits?").click()
    accessible_and_fits(computer)
    press(computer, "Let it in")
    asked(phone, "Your cases")
    phone.get_by_role("link", name=re.compile("^wren")).click()
    asked(phone, "wren")
    press(computer, "Forget it")
    phone.reload()
    asked(phone, "Not for this browser")
