"""The whole job as a maker does it: from a bare drawing to a wall sheet, two rounds, an undo; by finger and mouse."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from chromium_here import (
    DESK,
    PHONE,
    TABLET,
    accessible_and_fits,
    asked,
    fits,
    led_on,
    letters_can_be_read,
    nothing_more,
    open_page,
    press,
    touches,
)
from hands import Finger, Keys, Mouse, on_edge
from msgspec.structs import replace
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


def bring(page: Page, name: str = NAME) -> None:
    """A new case of the bundled drawing, shown as it is understood."""
    page.get_by_role("link", name="A new case").click()
    page.get_by_label("Call it by wearer").fill(name)
    page.get_by_label("The pattern that should fit").set_input_files(str(DRAWING))
    press(page, "See what is understood")
    asked(page, name)


WALKS = {
    "telephone by finger": (PHONE, {"has_touch": True, "is_mobile": True}, Finger),
    "desk by keyboard": (DESK, {}, Keys),
    "tablet by finger": (TABLET, {"has_touch": True}, Finger),
    "desk by mouse": (DESK, {}, Mouse),
    "telephone without script": (PHONE, {"java_script_enabled": False}, Mouse),
    "tablet without script, by keyboard": (TABLET, {"java_script_enabled": False}, Keys),
    "desk without script": (DESK, {"java_script_enabled": False}, Mouse),
}  # fmt: skip
LONG, PROOF = (pytest.mark.long,), (pytest.mark.long, pytest.mark.proof)
MARKS = {"telephone by finger": LONG, "desk by keyboard": LONG, "telephone without script": LONG}


@pytest.mark.parametrize("walk", [pytest.param(name, marks=MARKS.get(name, PROOF)) for name in WALKS])
def test_from_a_bare_drawing_to_a_printed_sheet_two_rounds_and_an_undo(
    browser: Browser, room: Served, walk: str
) -> None:
    size, how, kind = WALKS[walk]
    page = open_page(browser, room.address(), size, **how)
    hand = kind(page, script=how.get("java_script_enabled", True))
    new_case_put_right(page, hand)
    try_on(page, hand, ("1 in", "2 in", "3 1/2 in"))
    asked(page, "What to do now")
    looked_at(page, hand)
    a_way_changed_and_a_part_shared(page, hand)
    hand.button("Draw it into the pattern")
    asked(page, "Version 2 over version 1")
    looked_at(page, hand)
    case = casebook.open_case(room.folder / NAME)
    assert case.newest.done.steps == ("1.1",)
    assert {one["op"] for one in case.newest.done.operations} >= {"fold"}
    hand.link("Print it")
    printed_and_kept(page, room)
    looked_at(page, hand)
    hand.link("Try-on")
    try_on(page, hand, ("2 in", "2 in", "2 in"))
    looked_at(page, hand)
    hand.link("Rounds")
    expect(page.get_by_role("link", name="Try-on 2")).to_be_visible()
    looked_at(page, hand)
    hand.link("Versions")
    hand.button("Undo: take version 1 up again")
    asked(page, "Version 3")
    case = casebook.open_case(room.folder / NAME)
    assert case.newest.pattern == case.version(1).pattern
    assert len(case.tryons) == 2
    altered_by_her_own_hand(page, hand)
    assert casebook.open_case(room.folder / NAME).newest.done.operations[0]["op"] == "move-edge"


def new_case_put_right(page: Page, hand: Mouse) -> None:
    """The bundled drawing brought; an edge said to be otherwise and back, a seam unpicked and sewn, its length measured
    wrong and right, her girths told; the case started."""
    hand.link("A new case")
    hand.write(page.get_by_label("Call it by wearer"), NAME)
    page.get_by_label("The pattern that should fit").set_input_files(str(DRAWING))
    hand.button("See what is understood")
    asked(page, NAME)
    expect(page.get_by_text("waist 23 in")).to_be_visible()
    looked_at(page, hand)
    for role, laced in (("opening", 0), ("lacing", 1)):
        opened(page, hand, "What is this edge?")
        hand.edge("#edge-is", "panel-6", "centre-back")
        hand.choose(page.locator("#role"), role)
        hand.button("Say so")
        expect(page.locator('.tap[data-role="lacing"]')).to_have_count(laced)
    opened(page, hand, "Which edges are sewn together?")
    hand.button("They are not")
    expect(page.get_by_text("sewn together? (4)")).to_be_visible()
    expect(page.locator(".unsure")).to_have_count(2)
    opened(page, hand, "Which edges are sewn together?")
    hand.edge("#sew-a", "panel-1", "back-seam")
    hand.edge("#sew-b", "panel-2", "front-seam")
    hand.button("They are sewn together")
    expect(page.get_by_text("sewn together? (5)")).to_be_visible()
    for long, waist in (("28 in", "waist 46 in"), ("14 in", "waist 23 in")):
        opened(page, hand, "How long is one edge")
        hand.edge("#edge-long", "panel-6", "centre-back")
        hand.write(page.locator("#measured"), long)
        hand.button("It is so long")
        expect(page.locator("#result").get_by_text(waist)).to_be_visible()
    for name, girth in (("Bust", "37 in"), ("Underbust", "32 in"), ("Waist", "26 in"), ("Hip", "38 in")):
        hand.write(page.get_by_label(f"{name}, round", exact=True), girth)
    hand.write(page.get_by_label("The lacing gap aimed at"), "2 in")
    hand.button("Keep this")
    expect(page.locator("#draft-part .was")).to_be_visible()
    looked_at(page, hand)
    hand.button("It is right: start the case")
    asked(page, NAME)
    looked_at(page, hand)
    hand.link("Try it on")


def looked_at(page: Page, hand: Mouse) -> None:
    """Axe finds nothing, and it fits. Axe is a script itself, and runs where pages may have theirs."""
    accessible_and_fits(page) if hand.script else fits(page)


def opened(page: Page, hand: Mouse, summary: str) -> None:
    """Open what is folded away, unless it is open."""
    if not page.locator("details[open] > summary", has_text=summary).count():
        hand.opens(summary)


def try_on(page: Page, hand: Mouse, lengths: tuple[str, str, str]) -> None:
    """A try-on with these gaps and nothing else wrong, to its plan."""
    led_on(page, lambda: hand.button("None of these"))
    for length in lengths:
        hand.write(page.get_by_role("textbox"), length)
        led_on(page, lambda: hand.press(page.locator(".reply .main")))
    nothing_more(page, hand.press)
    hand.button("Show what to do now")
    asked(page, "What to do now")


def a_way_changed_and_a_part_shared(page: Page, hand: Mouse) -> None:
    """Another way of the step taken, then the step shared between two places, five eighths to three."""
    head = page.locator(".step h2").first
    first = head.inner_text()
    hand.link("Other ways of this")
    looked_at(page, hand)
    hand.press(page.get_by_role("link", name="Take this way").nth(1))
    expect(head).not_to_have_text(first)
    hand.link("Other ways of this")
    hand.choose(page.locator("select[name=one]"), "take-in-top-wedge")
    hand.choose(page.locator("select[name=other]"), "fold-out-in-panel")
    five = foreseen_at(page, hand, 5, 1)
    assert foreseen_at(page, hand, 1, -4) != five
    assert foreseen_at(page, hand, 5, 4) == five
    looked_at(page, hand)
    hand.press(page.locator("#shared").get_by_role("link", name="Take this way"))
    expect(head).to_contain_text("(5/8) and ")
    looked_at(page, hand)


def foreseen_at(page: Page, hand: Mouse, eighths: int, steps: int) -> str:
    """The gap foreseen when the slider between two places was moved by so many steps, to so many eighths."""
    hand.slide(page.locator("#part"), steps)
    if not hand.script:
        hand.button("Show it so")
    expect(page.locator("#parted")).to_have_text(f"{eighths}/8 here, {8 - eighths}/8 there")
    taken = page.locator("#shared").get_by_role("link", name="Take this way")
    expect(taken).to_have_attribute("href", re.compile(f"%3A{eighths}%2F8%2B"))
    return page.locator("#shared .foreseen").first.get_attribute("points") or ""


def printed_and_kept(page: Page, room: Served) -> None:
    """The wall sheet is a PDF of several pages; the whole case comes back from its one file."""
    sheet = page.locator('a[href*="sheet.pdf"]').first.get_attribute("href")
    assert len(PdfReader(io.BytesIO(page.request.get(f"http://{room.place}{sheet}").body())).pages) > 1
    with page.expect_download() as download:
        page.get_by_role("link", name="One file (zip)").click()
    with zipfile.ZipFile(download.value.path()) as parcel:
        assert f"{NAME}/case.json" in parcel.namelist()
    again = unpacked(Path(download.value.path()).read_bytes(), room.folder / "again")
    assert [v.pattern for v in again.versions] == [v.pattern for v in casebook.open_case(room.folder / NAME).versions]


def altered_by_her_own_hand(page: Page, hand: Mouse) -> None:
    """An edge moved, seen, and kept as version 4."""
    hand.link("Alter")
    hand.edge("select[name=edge]", "panel-6", "centre-back")
    hand.write(page.get_by_label("At the waist", exact=True), "1/4")
    if not hand.script:
        hand.button("Show it")
    expect(page.get_by_role("heading", name="What it does")).to_be_visible()
    looked_at(page, hand)
    hand.button("Keep it as the next version")
    asked(page, "Version 4 over version 3")


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


def test_a_file_dropped_anywhere_on_the_page_is_the_one_that_is_brought(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address("/new"), DESK)
    page.get_by_label("Call it by wearer").fill(NAME)
    page.evaluate(
        """text => { const held = new DataTransfer(); held.items.add(new File([text], "hers.svg"));
        document.querySelector("h1").dispatchEvent(new DragEvent("drop", { dataTransfer: held, bubbles: true })); }""",
        DRAWING.read_text(encoding="utf-8"),
    )
    press(page, "See what is understood")
    asked(page, NAME)
    expect(page.locator(".taps g[data-piece]")).to_have_count(6)


def test_what_cannot_be_done_is_said_and_nothing_is_stored(browser: Browser, tmp_path: Path) -> None:
    begun(tmp_path)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/alter"), DESK)
        press(page, "Show it")
        expect(page.get_by_role("alert")).to_contain_text("“Edge” is missing.")
        page.locator('select[name="edge"]').select_option(index=2)
        page.get_by_label("At the waist").fill("9 in")
        press(page, "Show it")
        expect(page.get_by_role("alert")).to_be_focused()
        expect(page.get_by_role("button", name="Keep it")).to_have_count(0)
        page.get_by_label("At the waist").fill("")
        with page.expect_response(re.compile("/alter")):
            page.get_by_label("At the waist").press_sequentially("1 1/")
        expect(page.get_by_role("alert")).to_contain_text("“1 1/” is not a length.")
        expect(page.get_by_label("At the waist")).to_be_focused()
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


def test_what_is_nothing_to_be_done_has_no_tick(browser: Browser, tmp_path: Path) -> None:
    case = begun(tmp_path)
    bare = [replace(piece, channels=()) for piece in case.pattern.pieces]
    casebook.create(tmp_path / "bare", replace(case.pattern, pieces=tuple(bare)), garment=case.garment)
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/bare/cutting"), PHONE)
        for told in ("For the whole garment", "none: the pattern has no channel", "from the upper end"):
            expect(page.locator("p").filter(has_text=told)).to_be_visible()
            expect(page.locator("label").filter(has_text=told)).to_have_count(0)
        expect(page.get_by_role("heading", name="Bones")).to_be_visible()
        expect(page.get_by_label("eyelets on each edge")).to_be_visible()
        accessible_and_fits(page)


def test_a_term_leads_to_its_entry_and_the_handbook_back_to_her_cases(browser: Browser, tmp_path: Path) -> None:
    case = begun(tmp_path)
    store_tryon(case.folder, {"gap": {"top": "1 in", "waist": "2 in", "bottom": "3 1/2 in"}, "tension": "working"})
    with served(tmp_path) as room:
        page = open_page(browser, room.address("/case/wren/plan"), DESK)
        refused: list[str] = []
        page.on("console", lambda message: refused.append(message.text))
        page.locator("a.term:visible").first.click()
        expect(page).to_have_url(re.compile("/handbook/"))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert page.evaluate("document.styleSheets.length") > 0
        page.get_by_role("link", name="Your cases").click()
        asked(page, "Your cases")
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
@pytest.mark.parametrize(
    ("colours", "script"),
    [("light", True), pytest.param("dark", True, marks=PROOF), pytest.param("light", False, marks=PROOF)],
    ids=["light", "dark", "script lost"],
)
def test_every_page_of_a_case_is_accessible_and_fits_at_every_size_with_all_opened(
    browser: Browser, tmp_path: Path, colours: Literal["light", "dark"], script: bool
) -> None:
    bundled = bundled_case("singer")
    casebook.create(tmp_path / "singer", bundled.pattern, **bundled.about)
    store_tryon(tmp_path / "singer", bundled.rounds[0].answers)
    with served(tmp_path) as room:
        page = open_page(browser, room.address(), PHONE, color_scheme=colours)
        if not script:
            page.route("**/*.js", lambda route: route.abort())
        places = [f"/case/singer{place}" for place in PAGES]
        for place in ("/", "/new", "/telephone", "/nowhere", "/handbook/index.html", *places):
            page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
            page.goto(f"http://{room.place}{place}")
            if place.startswith("/handbook"):
                assert Axe().run(page).violations_count == 0, place
                continue
            accessible_and_fits(page)
            page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
            accessible_and_fits(page)
            if script:
                letters_can_be_read(page)
            for wide, high in (TABLET, DESK):
                page.set_viewport_size({"width": wide, "height": high})
                fits(page)
