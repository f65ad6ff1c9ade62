"""The try-on in a real Chromium: on a phone, on a desk, by keyboard alone, and for those who can't see it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from chromium_here import DESK, PHONE, TABLET, accessible_and_fits, asked, fits, nothing_more, open_page, press
from playwright.sync_api import Browser, Page, expect
from room_here import Served, begun

from diagnose import casebook

pytestmark = pytest.mark.browser

TO_THE_PLACES = {
    "stop": [], "gap.top": "1 in", "gap.waist": "2 in", "gap.bottom": "3 in", "tension": "working", "ready": True,
    "today": None,
}  # fmt: skip
TO_A_SIGN = {**TO_THE_PLACES, "where": ["bust"], "at.bust": ["bust-not-lifted"]}
TO_THE_LATE = {**TO_THE_PLACES, "where": [], "looked": []}
TO_THE_END = {**TO_THE_LATE, "enough": True, "at.once-off": []}
STANDS = {
    "stop flags": {}, "gap": {"stop": [], "gap.top": "0 in", "lap.top": "1/2 in"},
    "choice": dict(list(TO_THE_PLACES.items())[:4]), "statements": dict(list(TO_THE_PLACES.items())[:5]),
    "places": TO_THE_PLACES, "signs": {**TO_THE_PLACES, "where": ["underarm"]}, "side": TO_A_SIGN,
    "late": TO_THE_LATE, "answers": TO_THE_END,
}  # fmt: skip


Serve = Callable[[dict[str, Any]], Served]


def open_at(browser: Browser, room: Served, size: tuple[int, int] = PHONE, **how: Any) -> Page:
    """The page where its replies have brought it."""
    return open_page(browser, room.address(room.tryon), size, **how)


@pytest.mark.parametrize("stand", STANDS)
def test_every_kind_of_page_is_accessible_fits_and_has_its_reply_at_the_thumb(
    browser: Browser, serve: Serve, stand: str
) -> None:
    page = open_at(browser, serve(STANDS[stand]))
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    accessible_and_fits(page)
    for button in page.locator(".reply button:visible").all():
        box = button.bounding_box()
        assert box is not None
        assert box["y"] > PHONE[1] / 3
        assert box["y"] + box["height"] <= PHONE[1]
    for wide, high in (TABLET, DESK):
        page.set_viewport_size({"width": wide, "height": high})
        fits(page)
    page.context.close()


def test_each_answer_is_kept_as_it_is_given(browser: Browser, serve: Serve) -> None:
    running = serve({})
    page = open_at(browser, running)
    press(page, "None of these")
    asked(page, "top edge")
    assert running.replies == {"stop": []}
    page.get_by_role("textbox").fill("1½")
    page.get_by_role("textbox").press("Enter")
    asked(page, "waist")
    assert running.replies == {"stop": [], "gap.top": "1½ in"}


def test_stop_flag_is_said_at_once_with_what_to_do(browser: Browser, serve: Serve) -> None:
    running = serve({})
    page = open_at(browser, running)
    page.get_by_role("checkbox", name="Short of breath").check()
    press(page, "Go on")
    asked(page, "Stop. Unlace now.")
    expect(page.get_by_text("emergency help")).to_be_visible()
    expect(page.get_by_text("Why", exact=True)).to_have_count(0)


def test_bad_length_is_explained_where_it_was_typed(browser: Browser, serve: Serve) -> None:
    running = serve({"stop": []})
    page = open_at(browser, running)
    page.get_by_role("textbox").fill("a bit")
    press(page, "Go on")
    expect(page.get_by_role("alert")).to_contain_text("“a bit” is not a length.")
    expect(page.get_by_role("textbox")).to_have_value("a bit")
    expect(page.get_by_role("textbox")).to_have_attribute("aria-invalid", "true")
    accessible_and_fits(page)


def test_back_after_a_bad_length_asks_the_question_again_and_sends_nothing(browser: Browser, serve: Serve) -> None:
    running = serve({"stop": []})
    page = open_at(browser, running)
    for text, said in (("", "Nothing is typed."), ("a bit", "is not a length")):
        page.get_by_role("textbox").fill(text)
        press(page, "Go on")
        expect(page.get_by_role("alert")).to_contain_text(said)
    page.get_by_role("textbox").fill("1 in")
    press(page, "Go on")
    asked(page, "waist")
    page.go_back()
    asked(page, "top edge")
    expect(page.get_by_role("textbox")).to_have_value("1 in")
    page.reload()
    expect(page.get_by_text("You said: 1 in")).to_be_visible()
    assert running.replies == {"stop": [], "gap.top": "1 in"}


def test_a_second_tap_sends_nothing(browser: Browser, serve: Serve) -> None:
    page = open_at(browser, serve({}))
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.method))
    page.get_by_role("button", name="None of these").evaluate("e => { e.click(); e.click(); e.click(); }")
    asked(page, "top edge")
    assert sent.count("POST") == 1


def test_nothing_picked_is_not_taken_for_nothing_there(browser: Browser, serve: Serve) -> None:
    running = serve({})
    page = open_at(browser, running)
    press(page, "Go on")
    expect(page.get_by_role("alert")).to_contain_text("Nothing is picked.")
    assert running.replies == {}


def _edge_top(page: Page) -> float:
    """How far the left lacing edge stands from the middle, at its first point, in the picture."""
    points = page.locator("#gap .edge").first.get_attribute("points") or ""
    return 170 - float(points.split(",")[0])


def test_a_length_with_a_comma_is_drawn_as_it_is_typed(browser: Browser, serve: Serve) -> None:
    page = open_at(browser, serve({"stop": []}))
    drawn = []
    for text in ("1,5 in", "1.5 in"):
        page.get_by_role("textbox").fill(text)
        drawn.append(_edge_top(page))
    assert drawn[0] == drawn[1] > 0


def test_slider_writes_the_length_and_moves_the_picture(browser: Browser, serve: Serve) -> None:
    running = serve({"stop": []})
    page = open_at(browser, running)
    slider = page.get_by_role("slider")
    slider.focus()
    before = float(slider.input_value())
    slider.press("ArrowRight")
    assert float(slider.input_value()) == pytest.approx(before + 25.4 / 16)
    expect(page.get_by_role("textbox")).to_have_value("2 1/16 in")
    expect(slider).to_have_attribute("aria-valuetext", "2 1/16 in")
    narrow = _edge_top(page)
    for _ in range(16):
        slider.press("ArrowRight")
    assert _edge_top(page) == pytest.approx(narrow + 25.4 / 2 * 0.9, abs=0.05)
    press(page, "Go on")
    asked(page, "waist")
    assert running.replies["gap.top"] == "3 1/16 in"


def test_picture_follows_a_length_in_any_spelling(browser: Browser, serve: Serve) -> None:
    page = open_at(browser, serve({"stop": []}))
    spelt = {"1 1/2": 38.1, "40mm": 40, "1½ in": 38.1, '3/8"': 9.525, "5 cm": 50, "closed": 0}
    for typed, mm in spelt.items():
        page.get_by_role("textbox").fill(typed)
        assert _edge_top(page) == pytest.approx(mm / 2 * 0.9, abs=0.05), typed


def test_tapping_the_body_picks_the_place(browser: Browser, serve: Serve) -> None:
    running = serve(dict(TO_THE_PLACES))
    page = open_at(browser, running, has_touch=True)
    page.locator("[data-place=bust] path").first.tap()
    expect(page.get_by_label("Bust", exact=True)).to_be_checked()
    page.locator("[data-place=waist] path").first.tap()
    page.locator("[data-place=waist] path").first.tap()
    expect(page.get_by_label("Waist", exact=True)).not_to_be_checked()
    press(page, "Go on")
    asked(page, "Bust: which of these?")
    assert running.replies["where"] == ["bust"]


def test_every_spot_of_the_body_is_a_place_and_can_be_tapped(browser: Browser, serve: Serve) -> None:
    running = serve(dict(TO_THE_PLACES))
    page = open_at(browser, running)
    spots = page.locator("[data-place]").evaluate_all("all => all.map(spot => spot.dataset.place)")
    for name in spots:
        for shape in page.locator(f"[data-place={name}] path").all():
            before = page.locator(f"input[value={name}]").is_checked()
            shape.click()
            expect(page.locator(f"input[value={name}]")).to_be_checked(checked=not before)
    assert {"bust", "back", "waist", "hip-and-hem", "lacing", "straps", "underarm", "front", "top-edge"} == set(spots)


def test_back_and_corrections(browser: Browser, serve: Serve) -> None:
    running = serve({"stop": [], "gap.top": "0 in", "lap.top": "1/2 in"})
    page = open_at(browser, running)
    page.get_by_role("link", name="Back").click()
    asked(page, "lap over at the top edge")
    expect(page.get_by_role("textbox")).to_have_value("1/2 in")
    page.get_by_role("link", name="Answers").click()
    page.get_by_role("link", name=re.compile("gap at the top edge.*closed")).click()
    page.get_by_role("textbox").fill("1 in")
    press(page, "Keep it")
    asked(page, "waist")
    page.get_by_role("link", name="Answers").click()
    expect(page.get_by_text("lap over")).to_have_count(0)


def test_kept_answers_may_be_begun_afresh(browser: Browser, serve: Serve) -> None:
    running = serve({"stop": [], "gap.top": "1 in"})
    page = open_page(browser, running.address(running.tryon))
    page.get_by_role("link", name="Answers (2)").click()
    page.get_by_text("Begin this try-on afresh").click()
    accessible_and_fits(page)
    press(page, "Drop these answers and begin afresh")
    asked(page, "Is any of these so")
    assert running.replies == {}


def test_second_browser_is_kept_out(browser: Browser, serve: Serve) -> None:
    running = serve({})
    address = running.address(running.tryon)
    open_page(browser, address)
    other = open_page(browser, address)
    asked(other, "Not for this browser")


def test_it_works_without_script(browser: Browser, serve: Serve) -> None:
    running = serve(dict(list(TO_THE_PLACES.items())[:3]))
    page = open_at(browser, running, java_script_enabled=False)
    expect(page.get_by_role("slider")).to_have_count(0)
    page.get_by_role("textbox").fill("3 in")
    press(page, "Go on")
    asked(page, "At what pull")


def _tab_to(page: Page, name: str) -> None:
    """Press Tab until what has the focus is called so."""
    for _ in range(60):
        page.keyboard.press("Tab")
        focused = page.evaluate(
            "() => { const e = document.activeElement; return (e.labels?.[0] ?? e).innerText?.trim() ?? ''; }"
        )
        if focused.startswith(name):
            outline = page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", f"the focus on {name} cannot be seen"
            return
    raise AssertionError(f"Tab never comes to {name}")


def test_keyboard_alone_goes_from_the_first_question_to_the_plan(browser: Browser, serve: Serve) -> None:
    running = serve({})
    page = open_page(browser, running.address(running.tryon), DESK)
    steps: list[tuple[str, list[tuple[str, str]]]] = [
        ("Is any of these so", [("None of these", "Enter")]),
        ("top edge, edge", [("Length", "1 in"), ("Go on", "Enter")]),
        ("waist, edge", [("Length", "2 in"), ("Go on", "Space")]),
        ("bottom edge, edge", [("Length", "3 in"), ("Go on", "Enter")]),
        ("At what pull", [("Working pull", "Enter")]),
        ("Can you say yes", [("Yes, all", "Enter")]),
        ("as usual, at its largest", [("Can’t tell", "Enter")]),
        ("Where is something", [("Bust", "Space"), ("Go on", "Enter")]),
        ("Bust: which of these", [("The bust sinks", "Space"), ("Go on", "Enter")]),
        ("on which side", [("Both sides", "Enter")]),
        ("how much", [("Length", "1/2"), ("Go on", "Enter")]),
        ("find nothing (else)", [("I looked everywhere", "Enter")]),
        ("Unhook it", [("None of these", "Enter")]),
        ("That is all that is needed", [("Show what to do now", "Enter")]),
    ]
    for heading, keys in steps:
        asked(page, heading)
        for name, key in keys:
            _tab_to(page, name)
            page.keyboard.press(key) if key in ("Enter", "Space") else page.keyboard.type(key)
    expect(page).to_have_url(re.compile("/plan$"))
    asked(page, "What to do now")
    assert running.case.tryons[0].answers["seen"]["bust-not-lifted"]["amount"] == "1/2 in"


@pytest.fixture
def start() -> Iterator[Callable[[Path], tuple[subprocess.Popen[str], str]]]:
    """Starts the command on a case and gives it with its address; none outlives the test."""
    processes: list[subprocess.Popen[str]] = []

    yield lambda folder: _started(folder, processes)
    for process in processes:
        process.kill()
        process.communicate()


def _started(folder: Path, processes: list[subprocess.Popen[str]]) -> tuple[subprocess.Popen[str], str]:
    command = [sys.executable, "-m", "diagnose", "tryon", str(folder), "--page"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    processes.append(process)
    assert process.stderr is not None
    told = ""
    for line in process.stderr:
        told += line
        if found := re.search(r"http://127\.0\.0\.1:\d+/\S+", line):
            return process, found.group()
    raise AssertionError(told)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return begun(tmp_path).folder


@pytest.mark.long
def test_the_command_serves_is_broken_off_resumed_and_stores_the_tryon(
    browser: Browser, folder: Path, start: Callable[[Path], tuple[subprocess.Popen[str], str]]
) -> None:
    process, address = start(folder)
    page = open_page(browser, address)
    press(page, "None of these")
    page.get_by_role("textbox").fill("1 in")
    press(page, "Go on")
    asked(page, "waist")
    os.kill(process.pid, signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "kept" in told
    assert "Traceback" not in told

    process, address = start(folder)
    page = open_page(browser, address)
    asked(page, "waist")
    for length in ("2 in", "3 in"):
        page.get_by_role("textbox").fill(length)
        press(page, "Go on")
    nothing_more(page)
    press(page, "Show what to do now")
    asked(page, "What to do now")
    os.kill(process.pid, signal.SIGINT)
    shown, _ = process.communicate(timeout=60)
    assert process.returncode == 0
    assert "Stored as try-on 1." in shown
    stored = casebook.open_case(folder).tryons[0]
    assert stored.answers["gap"] == {"top": "1 in", "waist": "2 in", "bottom": "3 in"}
    assert stored.plan is not None
