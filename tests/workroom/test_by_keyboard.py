"""By keyboard alone: an edge put right and the case started, a step shared between two places, an edge moved."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from chromium_here import DESK, asked, open_page
from playwright.sync_api import Browser, Page, expect
from room_here import begun, served

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.working import store_tryon
from diagnose.places import bundled_cases

pytestmark = pytest.mark.browser

DRAWING = bundled_cases() / "patterns" / "corset-drawing.svg"


def tab_to(page: Page, selector: str) -> None:
    """Go on with the Tab key until what is meant has the focus."""
    for _ in range(150):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{selector} is not reached by the Tab key")


def pick(page: Page, value: str) -> None:
    """In the list that has the focus, down to a value."""
    for _ in range(60):
        if page.evaluate("document.activeElement.value") == value:
            return
        page.keyboard.press("ArrowDown")
    raise AssertionError(f"{value} is not in the list")


def test_an_edge_is_put_right_and_the_case_started(browser: Browser, tmp_path: Path) -> None:
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/new"), DESK)
        tab_to(page, "#case")
        page.keyboard.type("Wren, blue corset")
        page.locator("#file").set_input_files(str(DRAWING))
        tab_to(page, "button.main")
        page.keyboard.press("Enter")
        asked(page, "Wren, blue corset")
        tab_to(page, "details[name=pointing] summary")
        page.keyboard.press("Enter")
        tab_to(page, "#edge-is")
        pick(page, "panel-6|centre-back")
        tab_to(page, "#role")
        pick(page, "opening")
        tab_to(page, "details[name=pointing] button")
        page.keyboard.press("Enter")
        expect(page.locator('.tap[data-role="opening"]')).to_have_count(1)
        tab_to(page, "form[action$='/start'] button")
        page.keyboard.press("Enter")
        expect(page.get_by_role("link", name="Try it on")).to_be_visible()
        started = casebook.open_case(tmp_path / "Wren, blue corset").pattern
        assert started.piece("panel-6").edge("centre-back").role == "opening"


def test_a_step_is_slid_between_two_places_the_foreseen_gap_moving_with_it(browser: Browser, tmp_path: Path) -> None:
    bundled = bundled_case("singer")
    casebook.create(tmp_path / "singer", bundled.pattern, **bundled.about)
    store_tryon(tmp_path / "singer", bundled.rounds[0].answers)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/singer/plan/ways%3Fstep=1.1"), DESK)
        tab_to(page, "#part")
        page.keyboard.press("ArrowRight")
        expect(page.locator("#parted")).to_have_text("5/8 here, 3/8 there")
        foreseen = page.locator("#shared .foreseen").first
        expect(foreseen).to_be_attached()
        was = foreseen.get_attribute("points") or ""
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("ArrowLeft")
        expect(page.locator("#shared .foreseen").first).not_to_have_attribute("points", was)
        tab_to(page, "#shared a.button")
        page.keyboard.press("Enter")
        asked(page, "What to do now")
        expect(page.get_by_role("heading", level=2).first).to_contain_text("(3/8) and ")
        tab_to(page, "button[form=draw]")
        page.keyboard.press("Enter")
        asked(page, "Version 2 over version 1")
        expect(page.get_by_text("(3/8) and ").first).to_be_visible()
        page.goto(f"http://{room.place}/case/singer/plan")
        expect(page.get_by_role("heading", level=2).first).to_contain_text("(3/8) and ")


def test_an_edge_is_moved_seen_and_kept(browser: Browser, tmp_path: Path) -> None:
    begun(tmp_path)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/alter"), DESK)
        tab_to(page, "select[name=edge]")
        value = page.locator("select[name=edge] option").nth(2).get_attribute("value") or ""
        pick(page, value)
        tab_to(page, "input[name=at-waist]")
        page.keyboard.type("1/4")
        expect(page.get_by_role("heading", name="What it does")).to_be_visible()
        assert len(room.case.versions) == 1
        tab_to(page, "button[name=does-keep]")
        page.keyboard.press("Enter")
        expect(page).to_have_url(re.compile("/versions$"))
        assert room.case.newest.done.operations[0]["op"] == "move-edge"
