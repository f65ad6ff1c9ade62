"""Nobody but the one browser of this machine sees the workroom; what is slow, huge or from elsewhere harms nothing."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from room_here import Browser, Served, begun, served

from diagnose.workroom.door import guarding

ASK = "/case/wren/tryon/1/ask/stop"


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    begun(tmp_path)
    with served(tmp_path) as room:
        yield room


@pytest.fixture
def browser(room: Served) -> Browser:
    return Browser(room)


def test_without_the_key_nothing_is_shown(room: Served) -> None:
    stranger = Browser(room)
    stranger.cookie = ""
    for path in ("/", "/case/wren", ASK, "/case/wren/plan", "/?key=", "/?key=guess", f"{ASK}?key=x", "/telephone"):
        answer, text = stranger.ask(path)
        assert answer.status == 403
        assert "wren" not in text


def test_key_opens_once_and_the_cookie_stays_here(room: Served, browser: Browser) -> None:
    key = room.doors.new_key()
    other = Browser.__new__(Browser)
    other.room, other.host, other.cookie = room, "127.0.0.1", ""
    answer, _ = other.ask(f"/?key={key}")
    set_cookie = (answer.getheader("set-cookie") or "").lower()
    assert "httponly" in set_cookie
    assert "samesite=strict" in set_cookie
    assert answer.getheader("location") == "/"
    assert other.ask(f"/?key={key}")[0].status == 403
    other.cookie = set_cookie.partition(";")[0]
    assert browser.ask(ASK)[0].status == 200


def test_key_is_no_longer_in_any_address(room: Served, browser: Browser) -> None:
    key = room.doors.new_key()
    assert key not in browser.ask(ASK)[1]
    assert browser.led_to(f"/?key={key}&to=//evil.example/") == "/"


@pytest.mark.parametrize("host", ["evil.example", "localhost", "127.0.0.1", "127.0.0.1:1", ""])
def test_another_host_name_is_refused_even_with_the_cookie(browser: Browser, host: str) -> None:
    assert browser.ask(ASK, Host=host or "x")[0].status in (400, 403)


@pytest.mark.parametrize(
    "sent",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": ""},
        {"origin": "http://127.0.0.1"},
        {"sec_fetch_site": "cross-site"},
        {"sec_fetch_site": "same-site"},
    ],
)
def test_answer_from_another_page_is_refused(room: Served, browser: Browser, sent: dict[str, str]) -> None:
    answer, _ = browser.ask(ASK, {"tell": "n"}, **sent)
    assert answer.status == 403
    assert room.replies == {}


def test_answer_from_the_page_is_taken(room: Served, browser: Browser) -> None:
    assert browser.led_to(ASK, {"tell": "n"}) == "/case/wren/tryon"
    assert room.replies == {"stop": []}


def test_answer_from_a_browser_that_sends_no_fetch_headers_is_taken(room: Served, browser: Browser) -> None:
    assert browser.ask(ASK, {"tell": "n"}, sec_fetch_site="")[0].status == 303


def test_answer_of_monstrous_size_is_refused(room: Served, browser: Browser) -> None:
    try:
        answer, _ = browser.ask(ASK, body="text=" + "x" * 2_000_000)
        assert answer.status == 413
    except (BrokenPipeError, ConnectionResetError):
        pass  # it hangs up while the rest is still being sent
    assert room.replies == {}
    assert browser.ask("/")[0].status == 200


def test_more_fields_than_any_form_has_are_refused_with_a_sentence(room: Served, browser: Browser) -> None:
    answer, text = browser.ask(ASK, {f"f{n}": "x" for n in range(600)})
    assert answer.status == 422
    assert "More was sent than any page asks for." in text
    assert room.replies == {}


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH"])
def test_other_methods_are_refused(browser: Browser, method: str) -> None:
    assert browser.ask("/", method=method)[0].status in (403, 405)


def _raw(room: Served, text: bytes) -> socket.socket:
    line = socket.create_connection(("127.0.0.1", room.port), timeout=60)
    line.sendall(text)
    return line


def _head(browser: Browser, length: int, more: str = "") -> bytes:
    place = browser.room.place
    return (
        f"POST {ASK} HTTP/1.1\r\nhost: {place}\r\norigin: http://{place}\r\ncookie: {browser.cookie}\r\n"
        f"content-type: application/x-www-form-urlencoded\r\ncontent-length: {length}\r\n{more}\r\n"
    ).encode()


def test_body_that_is_announced_and_never_comes_is_let_go(
    room: Served, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guarding, "BODY_S", 0.3)
    with _raw(room, _head(browser, 50) + b"tell=") as line:
        assert b" 408 " in line.recv(4096)
    assert room.replies == {}


def test_body_in_parts_without_a_length_is_counted_as_it_comes(room: Served, browser: Browser) -> None:
    head = _head(browser, 0).replace(b"content-length: 0\r\n", b"transfer-encoding: chunked\r\n")
    part = b"10000\r\n" + b"x" * 65_536 + b"\r\n"
    with _raw(room, head) as line:
        try:
            for _ in range(60):
                line.sendall(part)
            told = line.recv(4096)
        except (BrokenPipeError, ConnectionResetError):
            told = b" 413 "
    assert b" 413 " in told
    assert room.replies == {}


def test_three_hundred_half_open_requests_keep_nobody_out_and_say_nothing_when_they_go(
    room: Served, browser: Browser, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    usual_s = guarding.HEAD_S
    monkeypatch.setattr(guarding, "HEAD_S", 1.0)
    lines = [_raw(room, b"GET / HTTP/1.1\r\nhost: " if n % 2 else _head(browser, 100)) for n in range(300)]
    _soon(lambda: len(room.server.server_state.connections) >= 300)
    monkeypatch.setattr(guarding, "HEAD_S", usual_s)  # for her own requests, however busy the machine
    started = time.monotonic()
    assert browser.ask("/")[0].status == 200
    assert browser.led_to(ASK, {"tell": "n"}) == "/case/wren/tryon"
    assert time.monotonic() - started < 5
    assert lines[1].recv(100) == b""  # the head that was never finished was cut off
    for line in lines:
        line.close()
    assert browser.ask("/")[0].status == 200
    _soon(lambda: not room.server.server_state.tasks)
    assert room.replies == {"stop": []}
    assert capsys.readouterr().err == ""


def _soon(holds: Callable[[], bool]) -> None:
    """Wait until it holds, on a busy machine too."""
    until = time.monotonic() + 60
    while not holds() and time.monotonic() < until:
        time.sleep(0.05)


def test_what_is_no_request_at_all_harms_nothing(room: Served, browser: Browser) -> None:
    for text in (
        b"\x16\x03\x01\x02\x00\x01\x00",
        b"GET\r\n\r\n",
        b"\0" * 5000,
        b"GET / HTTP/1.1\r\nhost: a\r\nhost: b\r\n\r\n",
    ):
        with _raw(room, text) as line:
            line.recv(4096)
    assert browser.ask("/")[0].status == 200


def test_it_listens_on_loopback_alone(room: Served) -> None:
    others: set[str] = set()
    with suppress(socket.gaierror):  # a machine need not know its own name
        others = {str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    for address in [*(others - {"127.0.0.1"}), "127.0.0.2"]:
        with socket.socket() as probe:
            probe.settimeout(2)
            assert probe.connect_ex((address, room.port)) != 0


def test_nothing_from_outside_may_be_loaded_nor_the_page_framed(browser: Browser) -> None:
    for path in ("/", "/case/wren", ASK):
        answer, text = browser.ask(path)
        policy = answer.getheader("content-security-policy") or ""
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert "http:" not in text
        assert "https:" not in text
        assert " style=" not in text


def test_what_is_not_there_is_said_so(browser: Browser) -> None:
    for path in (
        "/case/nobody",
        "/case/..",
        "/case/%2e%2e",
        "/case/.hidden",
        "/case/a%2fb",
        "/nowhere",
        "/case/wren/x",
        f"/case/{'9' * 400}",
        f"/case/{'9' * 400}/plan",
        f"/begun/{'9' * 400}",
    ):
        assert browser.ask(path)[0].status == 404


def test_name_of_a_case_is_shown_as_text(tmp_path: Path) -> None:
    begun(tmp_path, name="<b>&amp;'wren")
    with served(tmp_path) as room:
        text = Browser(room).ask("/")[1]
    assert "<b>&amp;'" not in text
    assert "&lt;b&gt;&amp;amp;" in text


def test_what_nobody_foresaw_is_a_page_without_its_text(
    browser: Browser, room: Served, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(_name: str) -> None:
        raise RuntimeError("a secret")

    monkeypatch.setattr(room.room, "case", broken)
    answer, text = browser.ask("/case/wren")
    assert answer.status == 500
    assert "secret" not in text
    assert "a secret" in capsys.readouterr().err
