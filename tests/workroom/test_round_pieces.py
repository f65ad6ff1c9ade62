"""A round outline in a new case, whose corners she taps or picks; and all that she has said, taken back one by one."""

from __future__ import annotations

from pathlib import Path

import pytest
from chromium_here import DESK, PHONE, accessible_and_fits, led_on, open_page, press
from playwright.sync_api import Browser, Page, expect
from room_here import Served

pytestmark = pytest.mark.browser
ROUND = """<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="320mm" viewBox="0 0 500 320">
<path id="front" d="M10 20 L110 20 L110 300 L10 300 Z"/>
<path id="side"
 d="M190 25 C240 30 232 80 225 160 C235 240 240 280 190 292 C150 296 140 270 148 160 C140 60 140 22 190 25 Z"/>
<path id="back" d="M270 20 L360 20 L360 300 L270 300 Z"/></svg>"""
PLACES = (0.58, 0.4, 0.08, 0.92)
"""How far round it its four corners are tapped: both ends of the bottom, then those of the top."""


def brought(browser: Browser, room: Served, tmp_path: Path, size: tuple[int, int], *, script: bool = True) -> Page:
    """The page of what was understood of the drawing."""
    file = tmp_path / "round.svg"
    file.write_text(ROUND, encoding="utf-8")
    page = open_page(browser, room.address("/new"), size, has_touch=size == PHONE, java_script_enabled=script)
    page.get_by_label("Call it by wearer").fill("Ida, round side")
    page.get_by_label("The pattern that should fit").set_input_files(str(file))
    led_on(page, lambda: press(page, "See what is understood"))
    return page


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_corners_of_a_round_outline_are_tapped_and_all_else_is_presumed_from_them(
    browser: Browser, room: Served, tmp_path: Path, size: tuple[int, int]
) -> None:
    page = brought(browser, room, tmp_path, size)
    accessible_and_fits(page)
    page.get_by_role("link", name="First: tap its corners").click()
    line = page.locator('.taps g[data-piece="side"] .tap')
    for share in PLACES:
        x, y = line.evaluate(
            """(e, s) => { const p = e.getPointAtLength(e.getTotalLength() * s).matrixTransform(e.getScreenCTM());
            return [p.x, p.y]; }""",
            share,
        )
        page.touchscreen.tap(x, y) if size == PHONE else page.mouse.click(x, y)
    expect(page.locator(".picked-corner")).to_have_count(4)
    press(page, "These are its corners")
    expect(line).to_have_count(4)
    assert sorted(line.evaluate_all("all => all.map(one => one.dataset.role)")) == ["bottom", "seam", "seam", "top"]
    expect(page.get_by_role("link", name="First: tap its corners")).to_have_count(0)


def test_without_a_script_the_corners_are_picked_by_the_numbers_of_places_round_it(
    browser: Browser, room: Served, tmp_path: Path
) -> None:
    page = brought(browser, room, tmp_path, DESK, script=False)
    expect(page.locator(".numbered text")).to_have_count(24)
    page.locator("#corner-1-2").select_option(page.locator("#corner-1-1").input_value())
    press(page, "These are its corners")
    expect(page.get_by_role("alert")).to_contain_text("A piece has four corners, each at a place of its own.")
    page.goto(page.url.removesuffix("/say"))
    press(page, "These are its corners")
    expect(page.get_by_text("Tap its corners")).to_have_count(0)
    expect(page.locator('.taps g[data-piece="side"] .tap')).to_have_count(4)


def test_all_that_was_said_of_a_pattern_is_taken_back_one_after_the_other(
    browser: Browser, room: Served, tmp_path: Path
) -> None:
    page = brought(browser, room, tmp_path, DESK, script=False)
    press(page, "These are its corners")
    for height in ("60 mm", "70 mm"):
        page.get_by_text("Where do the levels lie?").click()
        page.locator("#level-hip").fill(height)
        press(page, "They lie so")
    page.get_by_text("What are the pieces called?").click()
    page.locator("#name-1").fill("Vorne")
    page.get_by_role("button", name="Call it so").first.click()
    back = page.get_by_role("button", name="Take back the last")
    for said, level in (
        ("how a piece is called", "2 3/4 in (70 mm)"), ("where the levels lie", "2 3/4 in (70 mm)"),
        ("where the levels lie", "2 3/8 in (60 mm)"), ("the corners of a piece", ""),
    ):  # fmt: skip
        expect(back).to_contain_text(said)
        if level:
            expect(page.locator("#level-hip")).to_have_value(level)
        back.click()
    expect(back).to_have_count(0)
    expect(page.get_by_role("link", name="First: tap its corners")).to_be_visible()
