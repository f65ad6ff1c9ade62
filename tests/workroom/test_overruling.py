"""What she overrules is drawn and foreseen anew: another way of a step, or the step shared between two places."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from room_here import Browser, Served, begun, served

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.working import WorkedOut, store_tryon, work_out
from diagnose.workroom.room import Room

CASE = "/case/singer"
FOLD, EDGES = "fold-out-in-panel", "move-lacing-edges"


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    bundled = bundled_case("singer")
    casebook.create(tmp_path / "singer", bundled.pattern, **bundled.about)
    store_tryon(tmp_path / "singer", bundled.rounds[0].answers)
    with served(tmp_path) as room:
        yield room


@pytest.fixture
def browser(room: Served) -> Browser:
    return Browser(room)


def stored(room: Served) -> casebook.Case:
    return casebook.open_case(room.folder / "singer")


def test_the_ways_of_a_step_stand_side_by_side_each_with_what_it_leaves(browser: Browser) -> None:
    text = browser.ask(f"{CASE}/plan/ways?step=1.1")[1]
    assert f"way=1.1%3D{FOLD}" in text
    assert f"way=1.1%3D{EDGES}" in text
    assert text.count("small-gap") >= 2
    assert "Leaves:" in text
    assert browser.ask(f"{CASE}/plan/ways?step=9.9")[0].status == 404


def test_another_way_is_taken_with_one_tap_drawn_and_stored(room: Served, browser: Browser) -> None:
    first = browser.ask(f"{CASE}/plan")[1]
    other = browser.ask(f"{CASE}/plan?way=1.1%3D{EDGES}")[1]
    heads = [re.findall(r'<section class="step[^>]*>\s*<h2>(.*?)</h2>', text)[0] for text in (first, other)]
    assert heads[0] != heads[1]
    assert len(stored(room).versions) == 1
    assert browser.led_to(f"{CASE}/plan/draw", {"step": "1.1", "way": f"1.1={EDGES}"}) == f"{CASE}/versions"
    done = stored(room).newest.done
    assert done.steps == ("1.1",)
    assert {operation["op"] for operation in done.operations} & {"move-edge"}
    assert "fold" not in {operation["op"] for operation in done.operations}


def test_a_step_is_shared_between_two_places_by_eighths(room: Served, browser: Browser) -> None:
    shares = {}
    for part in (2, 6):
        text = browser.ask(f"{CASE}/plan/ways?step=1.1&one={FOLD}&other={EDGES}&part={part}", x_workroom="live")[1]
        assert f"way=1.1%3D{FOLD}%3A{part // 2}%2F4%2B{EDGES}%3A{4 - part // 2}%2F4" in text
        shares[part] = re.findall(r'class="foreseen" points="([^"]+)"', text)
    assert shares[2] != shares[6]
    way = f"1.1={FOLD}:1/2+{EDGES}:1/2"
    assert browser.led_to(f"{CASE}/plan/draw", {"step": "1.1", "way": way}) == f"{CASE}/versions"
    assert {"fold", "move-edge"} <= {operation["op"] for operation in stored(room).newest.done.operations}


def test_what_is_no_way_of_the_step_is_refused_and_nothing_is_stored(room: Served, browser: Browser) -> None:
    answer, text = browser.ask(f"{CASE}/plan/draw", {"step": "1.1", "way": "1.1=no-such-thing"})
    assert answer.status == 422
    assert "is no way of this step" in text
    assert browser.ask(f"{CASE}/plan?way=1.1%3Dno-such-thing")[0].status == 422
    assert len(stored(room).versions) == 1


def test_a_step_not_done_is_noted_with_its_reason(room: Served, browser: Browser) -> None:
    assert browser.ask(f"{CASE}/plan/skip", {"step": "1.1", "why": ""})[0].status == 422
    assert browser.led_to(f"{CASE}/plan/skip", {"step": "1.1", "why": "no cloth left"}) == f"{CASE}/plan"
    assert "Not done: no cloth left" in browser.ask(f"{CASE}/plan")[1]
    assert stored(room).tryons[0].skipped[0].why == "no cloth left"
    assert browser.led_to(f"{CASE}/plan/skip", {"step": "1.1", "back": "yes"}) == f"{CASE}/plan"
    assert "Not done" not in browser.ask(f"{CASE}/plan")[1]
    assert not stored(room).tryons[0].skipped


def test_a_stored_try_on_is_worked_out_once_and_anew_when_the_case_says_otherwise(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    times: list[int] = []

    def counted(*given: Any, **named: Any) -> WorkedOut:
        times.append(1)
        return work_out(*given, **named)

    begun(tmp_path)
    room = Room(tmp_path)
    answers = {"gap": {"top": "1 in", "waist": "2 in", "bottom": "3 1/2 in"}, "tension": "working"}
    room.store_tryon(room.case("wren"), answers)
    monkeypatch.setattr("diagnose.casework.working.work_out", counted)
    worked = room.worked(room.case("wren"), 1)
    assert (worked.number, times) == (1, [])
    casebook.add_measuring(room.case("wren"), {"waist": "27 in"})
    assert room.worked(room.case("wren"), 1).tryon.wearer.waist_mm == pytest.approx(27 * 25.4)
    assert times == [1]
    room.close()


def test_a_bone_taken_out_by_her_own_hand_is_said_by_its_number(tmp_path: Path) -> None:
    case = begun(tmp_path)
    piece = next(piece for piece in case.pattern.pieces if piece.channels)
    fields = {"op": "channels", "of": "1", "bone": f"{piece.name}|{piece.channels[0].name}", "does": "remove"}
    with served(tmp_path) as room:
        _, text = Browser(room).ask("/case/wren/alter", fields)
    said = re.sub(r"</?a\b[^>]*>", "", text)  # words of the trade in it lead to their meaning
    assert re.search(r"<li>Channel \d+ of the \w+ panel: taken out</li>", said)


def test_what_is_said_of_one_step_keeps_the_ways_taken_of_the_others(room: Served, browser: Browser) -> None:
    said = {"step": "1.1", "why": "no cloth left", "way": [f"1.1={EDGES}", f"1.2={FOLD}"]}
    assert browser.led_to(f"{CASE}/plan/skip", said) == f"{CASE}/plan?way=1.2%3D{FOLD}"
    assert [one.step for one in stored(room).tryons[-1].skipped] == ["1.1"]


def test_a_step_sent_twice_is_drawn_once_and_leads_to_it_each_time(room: Served, browser: Browser) -> None:
    for _ in range(2):
        assert browser.led_to(f"{CASE}/plan/draw", {"step": "1.1"}) == f"{CASE}/versions"
        assert browser.led_to(f"{CASE}/plan/by-hand", {"step": "1.1"}) == f"{CASE}/plan"
    assert len(stored(room).versions) == 2
