"""The whole job as a maker does it: from a bare drawing to a wall sheet, two rounds, an undo; by finger and mouse."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from chromium_here import DESK, PHONE, TABLET, accessible_and_fits, asked, fits, nothing_more, open_page, press, touches
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from room_here import Served, begun, served

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.parcel import unpacked
from diagnose.casework.working import store_tryon
from diagnose.places import bundled_cases

pytestmark = pytest.mark.browser

DRAWING = bundled_cases() / "patterns" / "corset-drawing.svg"
NAME = "Wren, blue corset"


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    with served(tmp_path) as room:
        yield room


def on_edge(page: Page, piece: str, edge: str, part: float = 0.5) -> tuple[float, float]:
    """A spot of the screen on an edge of the drawing, so far along it."""
    line = page.locator(f'.taps g[data-piece="{piece}"] [data-edge="{edge}"]')
    line.scroll_into_view_if_needed()
    x, y = line.evaluate(
        """(e, part) => { const p = e.getPointAtLength(e.getTotalLength() * part).matrixTransform(e.getScreenCTM());
        return [p.x, p.y]; }""",
        part,
    )
    return x, y


def answer(page: Page, lengths: tuple[str, str, str]) -> None:
    """A try-on with these gaps and nothing else wrong, to its plan."""
    press(page, "None of these")
    for length in lengths:
        page.get_by_role("textbox").fill(length)
        page.locator(".reply .main").click()
        page.wait_for_load_state()
    nothing_more(page)
    press(page, "Show what to do now")
    asked(page, "What to do now")


def bring(page: Page, name: str = NAME) -> None:
    """A new case of the bundled drawing, shown as it is understood."""
    page.get_by_role("link", name="A new case").click()
    page.get_by_label("Call it by wearer").fill(name)
    page.get_by_label("The pattern that should fit").set_input_files(str(DRAWING))
    press(page, "See what is understood")
    asked(page, name)


def test_from_a_bare_drawing_to_a_wall_sheet_by_finger(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address(), PHONE, has_touch=True)
    bring(page)
    expect(page.get_by_text("waist 23 in")).to_be_visible()
    accessible_and_fits(page)
    page.get_by_text("What is this edge?").click()
    page.touchscreen.tap(*on_edge(page, "panel-6", "centre-back"))
    expect(page.locator("#edge-is")).to_have_value("panel-6|centre-back")
    page.locator("#role").select_option("opening")
    press(page, "Say so")
    expect(page.locator('.tap[data-role="opening"]')).to_have_count(1)
    page.locator("#edge-is").select_option("panel-6|centre-back")
    page.locator("#role").select_option("lacing")
    press(page, "Say so")
    expect(page.locator('.tap[data-role="opening"]')).to_have_count(0)
    page.get_by_text("Which edges are sewn together?").click()
    press_first(page, "They are not")
    expect(page.get_by_text("sewn together? (4)")).to_be_visible()
    expect(page.locator(".unsure")).to_have_count(2)
    page.touchscreen.tap(*on_edge(page, "panel-1", "back-seam"))
    page.touchscreen.tap(*on_edge(page, "panel-2", "front-seam"))
    press(page, "They are sewn together")
    expect(page.get_by_text("sewn together? (5)")).to_be_visible()
    for name, girth in (("Bust", "37 in"), ("Underbust", "32 in"), ("Waist", "26 in"), ("Hip", "38 in")):
        page.get_by_label(f"{name}, round", exact=True).fill(girth)
    page.get_by_label("The lacing gap she aims at").fill("2 in")
    press(page, "Keep this")
    press(page, "It is right: start the case")
    asked(page, NAME)
    accessible_and_fits(page)
    page.get_by_role("link", name="Try it on").click()
    answer(page, ("1 in", "2 in", "3 1/2 in"))
    accessible_and_fits(page)
    press(page, "Draw it into the pattern") if page.get_by_role("button", name="Draw it into").count() else press(
        page, "Draw them into the pattern"
    )
    asked(page, "Version 2 over version 1")
    accessible_and_fits(page)
    page.get_by_role("link", name="Print it").click()
    with page.expect_download() as download:
        page.get_by_role("link", name="One file (zip)").click()
    sheet = page.locator('a[href*="sheet.pdf"]').first.get_attribute("href")
    assert len(PdfReader(io.BytesIO(page.request.get(f"http://{room.place}{sheet}").body())).pages) > 1
    with zipfile.ZipFile(download.value.path()) as parcel:
        assert f"{NAME}/case.json" in parcel.namelist()
    again = unpacked(Path(download.value.path()).read_bytes(), room.folder / "again")
    assert [v.pattern for v in again.versions] == [v.pattern for v in casebook.open_case(room.folder / NAME).versions]
    page.get_by_role("link", name="Try-on").click()
    answer(page, ("2 in", "2 in", "2 in"))
    page.get_by_role("link", name="Rounds").click()
    expect(page.get_by_role("link", name="Try-on 2")).to_be_visible()
    accessible_and_fits(page)
    page.get_by_role("link", name="Versions").click()
    press(page, "Undo: take version 1 up again")
    asked(page, "Version 3")
    case = casebook.open_case(room.folder / NAME)
    assert case.newest.pattern == case.version(1).pattern
    assert len(case.tryons) == 2


@pytest.mark.parametrize("size", [PHONE, pytest.param(DESK, marks=pytest.mark.long)], ids=["phone", "desk"])
def test_a_level_is_dragged_to_where_it_lies(browser: Browser, room: Served, size: tuple[int, int]) -> None:
    page = open_page(browser, room.address(), size, has_touch=size == PHONE)
    bring(page)
    page.get_by_text("Where do the levels lie?").click()
    entry, handle = page.locator("#level-waist"), page.locator('.handle[data-station="waist"]').first
    was = entry.input_value()
    x, y = handle.evaluate(
        """e => { const svg = e.ownerSVGElement, p = svg.createSVGPoint();
        p.x = e.x1.baseVal.value + 1; p.y = e.y1.baseVal.value; const at = p.matrixTransform(svg.getScreenCTM());
        return [at.x, at.y]; }"""
    )
    with page.expect_response(re.compile("/say$")):
        if size == PHONE:
            touches(page, [(x, y)], [(x, y - 6)], [(x, y - 12)])
        else:
            page.mouse.move(x, y)
            page.mouse.down()
            page.mouse.move(x, y - 12, steps=4)
            page.mouse.up()
    expect(entry).not_to_have_value(was)
    page.reload()
    now = float(handle.get_attribute("data-up") or "")
    assert 2.0 < now - inches(was) < 60.0


def inches(text: str) -> float:
    """The millimetres of a length as a page writes it: ``6 1/2 in (165 mm)``."""
    found = re.search(r"\((\d+) mm\)", text)
    assert found is not None
    return float(found[1])


def press_first(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).first.click()


def test_without_script_the_same_job_is_done_by_forms(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address(), DESK, java_script_enabled=False)
    bring(page)
    page.get_by_text("What is this edge?").click()
    page.locator("#edge-is").select_option("panel-6|centre-back")
    page.locator("#role").select_option("opening")
    press(page, "Say so")
    page.get_by_text("What is this edge?").click()
    expect(page.locator("#edge-is")).to_contain_text("opens")
    page.locator("#edge-is").select_option("panel-6|centre-back")
    page.locator("#role").select_option("lacing")
    press(page, "Say so")
    page.get_by_text("How long is one edge").click()
    page.locator("#edge-long").select_option("panel-6|centre-back")
    page.locator("#measured").fill("28 in")
    press(page, "It is so long")
    expect(page.get_by_text("waist 46 in")).to_be_visible()
    page.get_by_text("How long is one edge").click()
    page.locator("#edge-long").select_option("panel-6|centre-back")
    page.locator("#measured").fill("14 in")
    press(page, "It is so long")
    press(page, "It is right: start the case")
    page.get_by_role("link", name="Alter").click()
    page.locator('select[name="edge"]').select_option("panel-6|centre-back")
    page.get_by_label("At the waist").fill("1/4 in")
    press(page, "Show it")
    expect(page.get_by_role("heading", name="What it does")).to_be_visible()
    press(page, "Keep it as the next version")
    asked(page, "Version 2 over version 1")
    page.get_by_role("link", name="Try-on").click()
    expect(page.get_by_role("button", name="None of these")).to_be_visible()


@pytest.mark.parametrize("size", [PHONE, pytest.param(DESK, marks=pytest.mark.long)], ids=["phone", "desk"])
def test_a_fold_by_her_own_hand_is_tapped_seen_and_kept(
    browser: Browser, tmp_path: Path, size: tuple[int, int]
) -> None:
    begun(tmp_path)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/alter?op=fold"), size, has_touch=size == PHONE)
        piece = room.case.pattern.pieces[1]
        top = next(edge.name for edge in piece.edges if edge.role == "top")
        hem = next(edge.name for edge in piece.edges if edge.role == "bottom")
        accessible_and_fits(page)
        tap = page.touchscreen.tap if size == PHONE else page.mouse.click
        for edge in (top, top, hem):
            tap(*on_edge(page, piece.name, edge))
        expect(page.locator('select[name="piece"]')).to_have_value(piece.name)
        expect(page.locator('input[name="to-across"]')).to_have_value(re.compile("mm$"))
        page.get_by_label("How much where it begins").fill("1/4 in")
        page.get_by_label("How much where it ends").fill("1/4 in")
        expect(page.get_by_role("button", name="Keep it as the next version")).to_be_visible()
        expect(page.locator(".l-taken-away path").first).to_be_attached()
        assert len(room.case.versions) == 1
        accessible_and_fits(page)
        press(page, "Keep it as the next version")
        asked(page, "Version 2 over version 1")
        assert dict(room.case.newest.done.operations[0])["op"] == "fold"


def test_what_cannot_be_done_is_said_and_nothing_is_stored(browser: Browser, tmp_path: Path) -> None:
    begun(tmp_path)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/alter"), DESK)
        press(page, "Show it")
        expect(page.get_by_role("alert")).to_contain_text("“Edge” is missing.")
        page.locator('select[name="edge"]').select_option(index=2)
        page.get_by_label("At the waist").fill("9 in")
        press(page, "Show it")
        expect(page.get_by_role("alert")).to_be_visible()
        expect(page.get_by_role("button", name="Keep it")).to_have_count(0)
        assert len(room.case.versions) == 1


def test_ticks_of_the_cutting_list_last(browser: Browser, tmp_path: Path) -> None:
    begun(tmp_path)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/cutting"), PHONE)
        accessible_and_fits(page)
        with page.expect_response(re.compile("/cutting$")):
            page.get_by_role("checkbox").first.check()
        page.reload()
        expect(page.get_by_role("checkbox").first).to_be_checked()
        expect(page.get_by_role("checkbox").nth(1)).not_to_be_checked()


def test_a_term_leads_to_its_entry_and_the_handbook_back_to_her_cases(browser: Browser, tmp_path: Path) -> None:
    begun(tmp_path)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/tryon"), DESK)
        answer(page, ("1 in", "2 in", "3 1/2 in"))
        refused: list[str] = []
        page.on("console", lambda message: refused.append(message.text))
        page.locator("a.term:visible").first.click()
        expect(page).to_have_url(re.compile("/handbook/"))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert page.evaluate("document.styleSheets.length") > 0
        page.get_by_role("link", name="Her cases").click()
        asked(page, "Her cases")
        assert refused == []


def test_the_wall_is_searched_by_any_word_on_a_card(browser: Browser, tmp_path: Path) -> None:
    begun(tmp_path)
    begun(tmp_path, name="Ada, brown stays", garment={"style": "stays"})
    with served(tmp_path) as room:
        page = open_page(browser, room.address(), PHONE)
        accessible_and_fits(page)
        expect(page.locator(".card")).to_have_count(2)
        page.get_by_role("textbox").fill("brown try")
        page.get_by_role("textbox").press("Enter")
        expect(page.locator(".card")).to_have_count(1)
        page.get_by_role("textbox").fill("nobody")
        page.get_by_role("textbox").press("Enter")
        expect(page.get_by_text("None of 2 cases holds “nobody”.")).to_be_visible()


PAGES = (
    "", "/plan", "/plan/ways?step=1.1", "/alter", "/alter?op=fold", "/versions", "/rounds", "/out", "/cutting",
    "/tryon/2/answers",
)  # fmt: skip


@pytest.mark.long
@pytest.mark.parametrize("colours", ["light", "dark"])
def test_every_page_of_a_case_is_accessible_and_fits_at_every_size(
    browser: Browser, tmp_path: Path, colours: Literal["light", "dark"]
) -> None:
    bundled = bundled_case("singer")
    casebook.create(tmp_path / "singer", bundled.pattern, **bundled.about)
    store_tryon(tmp_path / "singer", bundled.rounds[0].answers)
    with served(tmp_path) as room:
        page = open_page(browser, room.address(), PHONE, color_scheme=colours)
        places = [f"/case/singer{place}" for place in PAGES]
        for place in ("/", "/new", "/telephone", "/nowhere", "/handbook/index.html", *places):
            page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
            page.goto(f"http://{room.place}{place}")
            if place.startswith("/handbook"):
                assert Axe().run(page).violations_count == 0, place
                continue
            accessible_and_fits(page)
            for wide, high in (TABLET, DESK):
                page.set_viewport_size({"width": wide, "height": high})
                fits(page)
