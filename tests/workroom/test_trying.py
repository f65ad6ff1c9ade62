"""Whatever address she opens, she is led to where the try-on stands; nothing is lost, nor stored twice or by half."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from room_here import GARMENT, Browser, Served, begun, served

from diagnose import casebook
from diagnose.errors import FitError
from diagnose.interview.flow import ENOUGH
from diagnose.workroom.pages.gap_view import MIDDLE, PX_A_MM

TO_THE_LATE = {
    "stop": [], "gap.top": "1 in", "gap.waist": "2 in", "gap.bottom": "3 in", "tension": "working", "ready": True,
    "today": None, "where": [], "looked": [],
}  # fmt: skip
TRYON = "/case/wren/tryon"


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    begun(tmp_path, TO_THE_LATE)
    with served(tmp_path) as room:
        yield room


@pytest.fixture
def browser(room: Served) -> Browser:
    return Browser(room)


def test_she_is_led_to_where_it_stands(browser: Browser) -> None:
    assert (browser.led_to(TRYON) or "").startswith((f"{TRYON}/1/ask/", f"{TRYON}/1/answers"))
    assert browser.led_to(f"{TRYON}/1/ask/no-such") == TRYON
    assert browser.ask("/case/wren/plan")[1].count("No try-on yet") == 2


def test_once_it_is_stored_pages_of_it_that_were_left_open_lead_to_the_plan(room: Served, browser: Browser) -> None:
    assert browser.led_to(f"{TRYON}/1/store", {}) == "/case/wren/plan"
    for path in ("ask/gap.top", "answers", "afresh", "enough", "store"):
        fields = {"text": "9 in"} if path != "answers" else None
        assert browser.led_to(f"{TRYON}/1/{path}", fields) == "/case/wren/plan"
    assert len(room.case.tryons) == 1
    assert room.case.tryons[0].answers["gap"] == {"top": "1 in", "waist": "2 in", "bottom": "3 in"}
    assert browser.ask("/case/wren/plan")[0].status == 200


def test_two_who_store_it_at_once_store_it_once(room: Served, browser: Browser) -> None:
    threads = [threading.Thread(target=browser.led_to, args=(f"{TRYON}/1/store", {})) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(room.case.tryons) == 1


def test_two_devices_at_once_lose_no_answer(tmp_path: Path) -> None:
    begun(
        tmp_path,
        {"stop": []},
        target={"top": "2 in", "underbust": "2 in", "waist": "2 in", "hip": "2 in", "bottom": "2 in"},
    )
    begin = {"stop": [], **{f"gap.{name}": "1 in" for name in ("top", "underbust", "waist", "hip", "bottom")}}
    with served(tmp_path) as room:
        devices = [Browser(room) for _ in range(2)]
        for one in devices:
            one.cookie = devices[-1].cookie
        for id_ in begin:
            devices[0].led_to(f"{TRYON}/1/ask/{id_}", {"tell": "n"} if id_ == "stop" else {"text": "1 in"})
        asked = [f"gap.{name}" for name in ("top", "underbust", "waist", "hip", "bottom")]
        lost: list[str] = []

        def corrects(device: Browser, ids: list[str], text: str) -> None:
            for _ in range(6):
                for id_ in ids:
                    if device.led_to(f"{TRYON}/1/ask/{id_}", {"text": text}) is None:
                        lost.append(id_)

        threads = [
            threading.Thread(target=corrects, args=(devices[0], asked[::2], "1 1/2 in")),
            threading.Thread(target=corrects, args=(devices[1], asked[1::2], "2 1/2 in")),
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert lost == []
        assert [room.replies[id_] for id_ in asked] == ["1 1/2 in", "2 1/2 in", "1 1/2 in", "2 1/2 in", "1 1/2 in"]


def test_what_the_other_device_has_said_meanwhile_is_told_before_it_is_replaced(room: Served, browser: Browser) -> None:
    ask = f"{TRYON}/1/ask/gap.top"
    assert browser.led_to(ask, {"text": "1 1/4 in", "had": "1 in (25 mm)"}) == TRYON
    answer, text = browser.ask(ask, {"text": "1 1/2 in", "had": "1 in (25 mm)"})
    assert answer.status == 422
    assert "answered meanwhile: 1 1/4 in" in text
    assert room.replies["gap.top"] == "1 1/4 in"
    assert browser.led_to(ask, {"text": "1 1/2 in", "had": "1 1/4 in (32 mm)"}) == TRYON
    assert room.replies["gap.top"] == "1 1/2 in"


def test_while_the_terminal_asks_nothing_is_taken_here(room: Served, browser: Browser) -> None:
    with casebook.asking(room.folder / "wren"):
        answer, text = browser.ask(f"{TRYON}/1/ask/gap.top", {"text": "9/4 in"})
    assert answer.status == 422
    assert "in another window" in text
    assert 'value="9/4 in"' in text


def test_enough_ends_the_late_questions_and_shows_the_answers(room: Served, browser: Browser) -> None:
    assert browser.led_to(f"{TRYON}/1/enough", {}) == f"{TRYON}/1/answers"
    assert room.replies[ENOUGH] is True
    assert browser.led_to(TRYON) == f"{TRYON}/1/answers"


def test_afresh_drops_what_was_answered(room: Served, browser: Browser) -> None:
    assert browser.led_to(f"{TRYON}/1/afresh", {}) == TRYON
    assert room.replies == {}
    assert browser.led_to(TRYON) == f"{TRYON}/1/ask/stop"


def test_what_cannot_be_stored_is_said_beside_the_answers_and_can_be_tried_again(
    room: Served, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise FitError.of("wren", "The disk is full.", "Make room.", code="disk-refuses")

    with monkeypatch.context() as patch:
        patch.setattr("diagnose.casework.working.store_tryon", full)
        answer, text = browser.ask(f"{TRYON}/1/store", {})
    assert answer.status == 422
    assert "The disk is full." in text
    assert "Make room." in text
    assert room.case.tryons == ()
    assert browser.led_to(f"{TRYON}/1/store", {}) == "/case/wren/plan"


def test_the_key_opened_again_by_the_same_browser_gives_it_no_second_cookie(room: Served, browser: Browser) -> None:
    answer, _ = browser.ask("/?key=used")
    assert (answer.status, answer.getheader("location")) == (303, "/")
    assert answer.getheader("set-cookie") is None


@pytest.mark.parametrize(
    ("closure", "question", "side"),
    [
        ("back", "gap.top", "back"),
        ("front", "gap.top", "front"),
        ("both", "gap.top", "back"),
        ("both", "front.top", "front"),
    ],
)
def test_each_lacing_has_a_picture_from_its_own_side(tmp_path: Path, closure: str, question: str, side: str) -> None:
    replies = {"stop": [], "gap.top": "1 in"} | ({"front.top": "1/2 in"} if closure == "both" else {})
    begun(tmp_path, replies, garment={**GARMENT, "closure": closure})
    with served(tmp_path) as room:
        _, text = Browser(room).ask(f"{TRYON}/1/ask/{question}")
    assert f"The {side} with its lacing edges" in text
    assert ("bosom" in text) == (side == "front")
    target = float(re.findall(r'class="target" points="([\d.]+),', text)[1])
    aimed_mm = 2 * (target - MIDDLE) / PX_A_MM
    assert aimed_mm == pytest.approx(25.4 if closure == "both" else 50.8, abs=0.2)
