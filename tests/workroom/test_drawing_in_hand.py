"""The drawing in her hand: pinched, dragged, enlarged by wheel and key, measured on, its layers taken off."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium_here import DESK, PHONE, TABLET, letters_can_be_read, open_page, press, touches
from msgspec.structs import replace
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from room_here import GARMENT, Served, begun, served

from diagnose import casebook
from diagnose.casework.next_version import alter_case
from diagnose.casework.working import store_tryon
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.operations import do, parse_operations
from diagnose.places import bundled_cases
from diagnose.sheets.drawn.screens import FEW_PIECES

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("cases")
    begun(folder)
    with served(folder) as room:
        yield room


@pytest.fixture(scope="module")
def altered(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A corset of six panels, taken in on every seam; and the same with every pair parted."""
    folder = tmp_path_factory.mktemp("altered")
    case = begun(folder)
    store_tryon(case.folder, {"gap": dict.fromkeys(("top", "waist", "bottom"), "1/2 in"), "tension": "working"})
    alter_case(case.folder, ["1.1"])
    parted = [{"op": "split-sides", "piece": name} for name in case.pattern.names]
    halves = do(case.pattern, parse_operations(parted)).pattern
    case = casebook.create(folder / HALVES, halves, garment=GARMENT, target="2 in")
    store_tryon(case.folder, {"gap": dict.fromkeys(("top", "waist", "bottom"), "1/2 in"), "tension": "working"})
    alter_case(case.folder, ["1.1"])
    with served(folder) as room:
        yield room


HALVES = "halves"
"""The case of twelve pieces: every pair is parted into a left and a right one."""

LEAST_PIECE_PX = 100


def box_of(page: Page) -> list[float]:
    """What part of the drawing is shown: left, top, width, height, mm."""
    return [float(word) for word in (page.locator(".view svg").get_attribute("viewBox") or "").split()]


def test_two_fingers_apart_enlarge_what_lies_between_them_and_together_make_it_smaller(
    browser: Browser, room: Served
) -> None:
    page = open_page(browser, room.address("/case/wren"), PHONE, has_touch=True)
    whole = box_of(page)
    spot = page.locator(".view").bounding_box()
    assert spot is not None
    x, y = spot["x"] + spot["width"] / 2, spot["y"] + spot["height"] / 2
    steps = [[(x - far, y), (x + far, y)] for far in (30, 50, 70, 90)]
    touches(page, *steps)
    near = box_of(page)
    assert near[2] == pytest.approx(whole[2] / 3, rel=0.05)
    assert near[0] + near[2] / 2 == pytest.approx(whole[0] + whole[2] / 2, abs=whole[2] * 0.05)
    assert page.evaluate("visualViewport.scale") == 1
    touches(page, *reversed(steps))
    assert box_of(page)[2] == pytest.approx(whole[2], rel=0.05)


def test_one_finger_moves_it_and_a_tap_does_not(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address("/case/wren"), PHONE, has_touch=True)
    spot = page.locator(".view").bounding_box()
    assert spot is not None
    x, y = spot["x"] + 120, spot["y"] + 120
    whole = box_of(page)
    page.touchscreen.tap(x, y)
    assert box_of(page) == whole
    touches(page, [(x, y)], [(x + 30, y + 10)], [(x + 60, y + 20)])
    moved = box_of(page)
    assert moved[0] < whole[0]
    assert moved[1] < whole[1]
    assert moved[2:] == whole[2:]
    press(page, "Whole")
    assert box_of(page) == whole


def test_wheel_and_keys_enlarge_and_move_it(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address("/case/wren"), DESK)
    whole = box_of(page)
    page.mouse.move(400, 400)
    page.mouse.wheel(0, -600)
    page.wait_for_function("was => document.querySelector('.view svg').getAttribute('viewBox') !== was",
                           arg=" ".join(map(str, whole)))  # fmt: skip
    assert box_of(page)[2] < whole[2]
    page.locator(".view").focus()
    page.keyboard.press("0")
    assert box_of(page) == whole
    page.keyboard.press("+")
    page.keyboard.press("ArrowRight")
    assert box_of(page)[2] < whole[2]
    page.keyboard.press("-")
    assert box_of(page)[2] == pytest.approx(whole[2], rel=0.01)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_between_two_points_tapped_the_distance_is_told(browser: Browser, room: Served, size: tuple[int, int]) -> None:
    page = open_page(browser, room.address("/case/wren"), size, has_touch=size == PHONE)
    press(page, "Measure")
    line = page.locator(".l-outline path").first
    spots = line.evaluate(
        """e => [0, .25].map(part => { const p = e.getPointAtLength(e.getTotalLength() * part)
        .matrixTransform(e.getScreenCTM()); return [p.x, p.y]; })"""
    )
    true_mm = line.evaluate(
        """e => { const [a, b] = [0, .25].map(part => e.getPointAtLength(e.getTotalLength() * part));
        return Math.hypot(a.x - b.x, a.y - b.y); }"""
    )
    for x, y in spots:
        page.touchscreen.tap(x, y) if size == PHONE else page.mouse.click(x, y)
    expect(page.locator(".measured")).to_have_text(re.compile(r"\d.* in$"))
    words = page.locator(".measured").inner_text().removesuffix(" in").split()
    inches = sum(int(a) / int(b or 1) for a, _, b in (word.partition("/") for word in words))
    assert inches * 25.4 == pytest.approx(true_mm, abs=3.0)


def test_a_layer_is_taken_off_and_put_on(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address("/case/wren"), DESK)
    page.get_by_text("Layers").click()
    page.get_by_label("Boning channels").uncheck()
    expect(page.locator(".l-channels")).to_have_attribute("display", "none")
    page.get_by_label("Boning channels").check()
    expect(page.locator(".l-channels")).to_have_attribute("display", "inline")


def test_on_a_telephone_held_upright_the_pieces_stand_in_rows(browser: Browser, room: Served) -> None:
    page = open_page(browser, room.address("/case/wren"), DESK)
    wide = box_of(page)
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    with page.expect_navigation():
        page.reload()
    expect(page.locator(".sheet")).to_have_attribute("data-screen", "narrow")
    across, high = box_of(page)[2:]
    assert across < wide[2]
    assert high > across
    assert wide[3] < wide[2]
    spot = page.locator(".view").bounding_box()
    assert spot is not None
    assert spot["height"] > 0.4 * PHONE[1]


@pytest.mark.parametrize("size", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])
@pytest.mark.parametrize("place", ["", "/alter", "/versions", "/plan"])
@pytest.mark.parametrize("name", ["wren", HALVES])
def test_every_word_of_a_drawing_can_be_read_where_it_is_looked_at(
    browser: Browser, altered: Served, name: str, place: str, size: tuple[int, int]
) -> None:
    page = open_page(browser, altered.address(f"/case/{name}{place}"), size)
    expect(page.locator(".sheet")).to_have_attribute("data-screen", "narrow" if size == PHONE else "wide")
    assert page.locator(".view svg text").count() > 10
    letters_can_be_read(page)


@pytest.mark.parametrize("place", ["", "/versions", "/plan"])
def test_twelve_pieces_are_large_enough_on_a_telephone_and_the_left_ones_come_first(
    browser: Browser, altered: Served, place: str
) -> None:
    page = open_page(browser, altered.address(f"/case/{HALVES}{place}"), PHONE)
    boxes = page.locator(".view .l-outline path").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect()).map(one => [one.top, one.left, one.height])"
    )
    assert len(boxes) > FEW_PIECES
    assert min(high for *_, high in boxes) >= LEAST_PIECE_PX
    sides = page.locator(".view .l-names text").evaluate_all(
        """all => all.map(one => [one.getBoundingClientRect().top, one.textContent.split(" ")[0]])
        .filter(one => ["left", "right"].includes(one[1]))"""
    )
    last_left = max(top for top, side in sides if side == "left")
    assert all(top > last_left - LEAST_PIECE_PX for top, side in sides if side == "right")


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_drawing_takes_up_its_whole_frame_whatever_its_name(
    browser: Browser, tmp_path: Path, size: tuple[int, int]
) -> None:
    with served(tmp_path) as served_room:
        pattern = load_pattern(bundled_cases() / "patterns" / "boned-bodies.json")
        casebook.create(served_room.folder / "wren", replace(pattern, name="A name as long as a line " * 3))
        page = open_page(browser, served_room.address("/case/wren"), size)
        left, right = page.evaluate(
            """() => { const boxes = [...document.querySelectorAll(".view svg > *")].map(one => one.getBBox())
            .filter(one => one.width || one.height);
            return [Math.min(...boxes.map(one => one.x)), Math.max(...boxes.map(one => one.x + one.width))]; }"""
        )
        x, _, wide, _ = box_of(page)
        letter = wide / 20
        assert left - x < letter
        assert x + wide - right < letter


def test_without_a_script_too_a_drawing_is_laid_out_for_the_screen_it_is_on(browser: Browser, altered: Served) -> None:
    page = open_page(browser, altered.address(), PHONE, java_script_enabled=False)
    page.get_by_role("link", name="wren").first.click()
    expect(page.locator(".sheet")).to_have_attribute("data-screen", "narrow")
    letters_can_be_read(page)
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
    page.reload()
    page.reload()
    expect(page.locator(".sheet")).to_have_attribute("data-screen", "wide")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_page_prints_without_its_buttons_and_with_what_its_drawing_had_no_room_for(
    browser: Browser, altered: Served, paper: str
) -> None:
    page = open_page(browser, altered.address(f"/case/{HALVES}/versions"), PHONE)
    expect(page.locator(".sheet")).to_have_attribute("data-screen", "narrow")
    told = page.locator(".left-out li").first
    expect(told).to_be_hidden()
    words = " ".join((told.text_content() or "").split())
    printed = "\n".join(one.extract_text() for one in PdfReader(io.BytesIO(page.pdf(format=paper))).pages)
    assert words.replace("\N{NO-BREAK SPACE}", " ") in printed.replace("\N{NO-BREAK SPACE}", " ").replace("\n", " ")
    for button in ("Measure", "Whole", "Lay them", "Print it", "Undo"):
        assert button not in printed
