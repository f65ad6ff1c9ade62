"""A new case as it is brought: the file's own unit, what no file holds, and what is told of the wearer."""

from __future__ import annotations

import http.client
import json
import os
import re
from pathlib import Path

import pytest
from chromium_here import PHONE, accessible_and_fits, open_page
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Locator, expect
from room_here import Browser, Served, begun

from diagnose import casebook
from diagnose.casework.begun import open_begun, understood
from diagnose.casework.parcel import packed
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.measure import bounds, garment_girth
from diagnose.places import bundled_cases

DRAWING = bundled_cases() / "patterns" / "corset-drawing.svg"
TABLE = bundled_cases() / "patterns" / "underarm-panels.csv"
EDGE = "-" * 20
UNLIKE = """# unit: cm
piece,edge,role,point,out,up,kind
front,hem,bottom,1,0,-6,corner
front,hem,bottom,2,18,-3,corner
front,side,seam,3,17,0,curve
front,side,seam,4,22,16,corner
front,top-edge,top,5,0,18,corner
front,centre-front,opening,6,0,-6,corner
back,hem,bottom,1,24,-3,corner
back,hem,bottom,2,43,-4,corner
back,centre-back,fold,3,43,18,corner
back,top-edge,top,4,22.5,15.2,corner
back,side,seam,5,25,0,curve
back,side,seam,6,24,-3,corner
"""
"""Two pieces whose side seams can't be sewn flat."""


def bring(browser: Browser, file: Path, **fields: str) -> str:
    """Where a file that is sent leads to."""
    return brought(browser, file, **fields)[0].getheader("location") or ""


def brought(browser: Browser, file: Path, **fields: str) -> tuple[http.client.HTTPResponse, str]:
    """The answer to a file that is sent."""
    parts = [f'--{EDGE}\r\ncontent-disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
             for name, text in fields.items()]  # fmt: skip
    head = f'--{EDGE}\r\ncontent-disposition: form-data; name="file"; filename="{file.name}"\r\n\r\n'.encode()
    body = b"".join([*parts, head, file.read_bytes(), f"\r\n--{EDGE}--\r\n".encode()])
    return browser.ask("/new", body=body, content_type=f"multipart/form-data; boundary={EDGE}")


def unlike(folder: Path) -> Path:
    """The table of those two pieces."""
    file = folder / "unlike.csv"
    file.write_text(UNLIKE, encoding="utf-8")
    return file


def test_a_table_in_inches_is_read_in_inches_by_her_who_measures_in_centimetres(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, TABLE, case="Lena, grey stays", unit="cm")
    _, text = browser.ask(led)
    assert "\N{NO-BREAK SPACE}cm" in text
    assert browser.led_to(f"{led}/start", {}) == "/case/Lena%2C%20grey%20stays"
    case = casebook.open_case(room.folder / "Lena, grey stays")
    assert case.unit == "cm"
    waist = garment_girth(load_pattern(TABLE), "waist")
    assert garment_girth(case.pattern, "waist") == pytest.approx(waist, abs=0.01)


def test_the_draft_is_held_against_her_heights_in_words_without_a_stored_name(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, TABLE, case="Lena, grey stays", unit="in")
    girths = {"girth-bust": "37 in", "girth-underbust": "32 in", "girth-waist": "26 in", "girth-hip": "38 in"}
    browser.ask(f"{led}/say", {"says": "about", **girths})
    _, text = browser.ask(led)
    held = text[text.index('id="draft-part"') :]
    assert "underarm to waist" in held
    assert "underarm_to_waist" not in held
    browser.ask(f"{led}/say", {"says": "about", **girths, "girth-underarm_to_waist": "8 in"})
    _, text = browser.ask(led)
    assert "pit of the arm" in text[text.index('id="draft-part"') :]
    assert 'value="8 in"' in text


def test_a_height_that_is_no_length_is_said_and_nothing_is_kept(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, TABLE, case="Lena, grey stays", unit="in")
    answer, text = browser.ask(f"{led}/say", {"says": "about", "girth-waist_to_hip": "a hand"})
    assert answer.status == 422
    assert "“a hand” is not a length." in text
    assert 'value="a hand"' not in browser.ask(led)[1]


def test_two_edges_of_unlike_length_are_sewn_with_the_longer_eased_in(room: Served, tmp_path: Path) -> None:
    browser = Browser(room)
    led = bring(browser, unlike(tmp_path), case="Ruth", unit="cm")
    said = {"says": "sew", "a": "front|side", "b": "back|side"}
    refused = browser.ask(f"{led}/say", said, x_workroom="live")[1]
    (apart_cm,) = re.findall(r"differ by (\d\.\d)\W*cm", refused)
    text = browser.ask(f"{led}/say", {**said, "eased": "yes"}, x_workroom="live")[1]
    assert "differ by" not in text
    assert "It is right: start the case" in text
    assert browser.led_to(f"{led}/start", {}) == "/case/Ruth"
    pattern = casebook.open_case(room.folder / "Ruth").pattern
    assert pattern.name == "Ruth"
    (seam,) = (one for one in pattern.seams if one.a.edge == "side")
    assert abs(seam.ease) == pytest.approx(float(apart_cm) * 10, abs=0.6)


def test_what_is_open_leads_to_where_it_is_put_right_and_nothing_is_started_before(
    room: Served, tmp_path: Path
) -> None:
    browser = Browser(room)
    led = bring(browser, unlike(tmp_path), case="Ada", unit="cm")
    text = browser.ask(led)[1]
    assert 'href="#sew-a">First: point at what is sewn together</a>' in text
    assert 'id="sew-a"' in text
    assert "It is right: start the case" not in text
    assert "cm" in text[text.index("No seam was presumed") :][:200]


def test_what_was_typed_stays_where_a_girth_is_no_length(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, TABLE, case="Lena, grey stays", unit="cm")
    said = {"says": "about", "girth-bust": "92", "girth-waist": "drei", "girth-hip": "6 11/16 in", "target": "5 drei"}
    for lively in ({}, {"x_workroom": "live"}):
        _, text = browser.ask(f"{led}/say", said, **lively)
        for name, typed in said.items():
            assert f'name="{name}" value="{typed}"' in text
        assert "Waist, round: “drei” is not a length." in text
        assert "Hip, round: 17.0" in text, re.findall("Hip, round.*", text)
        assert text.count("“5 drei” is not a length.") == 1
        assert len(re.findall(r'aria-invalid="true"', text)) == 3
        assert text.count('id="wrong"') == 1


def test_what_was_pointed_at_stays_where_it_is_refused(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, TABLE, case="Lena, grey stays", unit="cm")
    edges = re.findall(r'<option value="([^"]+\|[^"]+)"', browser.ask(led)[1])
    _, text = browser.ask(f"{led}/say", {"says": "scale", "edge": edges[0], "measured": "lang"}, x_workroom="live")
    form = text[text.index('value="scale"') : text.index('id="measured"') + 80]
    assert "“lang” is not a length." in form
    assert f'value="{edges[0]}" selected' in form
    assert 'value="lang"' in form
    assert text.count('<details name="pointing" open>') == 1


def test_a_piece_is_called_by_any_name_but_that_of_another(room: Served, tmp_path: Path) -> None:
    browser = Browser(room)
    led = bring(browser, unlike(tmp_path), case="Ruth", unit="cm")
    browser.ask(f"{led}/say", {"says": "sew", "a": "front|side", "b": "back|side", "eased": "yes"})
    named = {"says": "piece", "piece": "front", "name": "Mitte / vorn | <b>"}
    assert browser.led_to(f"{led}/say", named) == led
    answer, text = browser.ask(f"{led}/say", {"says": "piece", "piece": "back", "name": "Mitte / vorn | <b>"})
    assert answer.status == 422
    assert "already. Give another name." in text
    browser.ask(f"{led}/say", {"says": "sew", "a": "Mitte / vorn | <b>|side", "b": "back|side", "eased": "yes"})
    browser.ask(f"{led}/say", {"says": "edge", "edge": "Mitte / vorn | <b>|top-edge", "role": "top"})
    assert browser.led_to(f"{led}/start", {}) == "/case/Ruth"
    (seam,) = casebook.open_case(room.folder / "Ruth").pattern.seams
    assert {seam.a.piece, seam.b.piece} == {"Mitte / vorn | <b>", "back"}


def test_edges_that_cannot_be_sewn_flat_are_eased_in_at_a_press(room: Served, tmp_path: Path) -> None:
    browser = Browser(room)
    led = bring(browser, unlike(tmp_path), case="Ruth", unit="cm")
    text = browser.ask(f"{led}/say", {"says": "sew", "a": "front|side", "b": "back|side"}, x_workroom="live")[1]
    opened = text[text.index('id="open"') : text.index("The longer is eased in</button>")]
    assert " mm" not in opened
    pressed = dict(re.findall(r'name="(\w+)" value="([^"]*)"', opened))
    assert browser.led_to(f"{led}/say", pressed) == led
    assert "It is right: start the case" in browser.ask(led)[1]


SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 900 420"><text x="10" y="20">Mieder (1:1)</text>'
    '<rect x="10" y="30" width="100" height="100"/><text x="20" y="80">10 x 10 cm</text>'
    '<path id="vorn_1" d="M150 40 L300 40 Q240 150 250 230 T290 370 L150 370z"/>'
    '<path id="hinten_2" d="M350 40 L500 40 L500 370 L360 370 T400 230 Q410 150 350 40z"/></svg>'
)


def test_a_drawing_of_unknown_scale_is_told_in_words_of_the_page_and_its_square_names_no_piece(
    room: Served, tmp_path: Path
) -> None:
    file = tmp_path / "drawn.svg"
    file.write_text(SQUARE, encoding="utf-8")
    browser = Browser(room)
    led = bring(browser, file, case="Ruth", unit="cm")
    text = re.sub(r'(?:value|data-\w+|id|name|for)="[^"]*"', "", browser.ask(led)[1]).replace("\N{NO-BREAK SPACE}", " ")
    assert "The test square says “10 x 10 cm”" in text
    assert 'href="#edge-long">First: give one length' in text
    for not_hers in ("labels file", "vorn_1", "hinten_2", "back-seam", "10 x 10 cm, ", "under 0.1", "1/96"):
        assert not_hers not in text


def test_a_case_begun_and_left_is_found_again_on_the_wall(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, TABLE, case="Lena & Söhne", unit="cm")
    wall = browser.ask("/")[1]
    assert wall.count(f'href="{led}"') == 2
    assert "Lena &amp; Söhne" in wall
    assert "There is no case in this folder" not in wall
    (room.folder / ".begun-broken").mkdir()
    assert browser.ask("/")[0].status == 200
    browser.ask(f"{led}/start", {})
    assert led not in browser.ask("/")[1]


def test_a_case_that_cannot_be_opened_leads_back_to_the_others(room: Served) -> None:
    begun(room.folder)
    browser = Browser(room)
    (room.folder / "wren" / "case.json").write_text("{", encoding="utf-8")
    for place in ("", "/plan", "/alter"):
        answer, text = browser.ask(f"/case/wren{place}")
        assert answer.status == 422
        assert "<b>case.json" in text
        assert "diagnose " not in text
        assert text.count("from a copy") == 1
        assert "This case can&#39;t be opened" in text
        assert 'class="button main" href="/"' in text
    assert "Look at its files" in browser.ask("/")[1]


def test_the_pieces_are_put_in_their_order_by_tapping_them(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, DRAWING, case="Ada, brown stays", unit="in")
    panels = [f"panel-{n}" for n in range(1, 7)]

    def stand() -> list[str]:
        text = browser.ask(led)[1]
        return re.findall(r'<option value="([^"|]+)">', text[text.index('id="order-1"') : text.index('id="order-2"')])

    assert stand() == panels
    assert browser.led_to(f"{led}/say", {"says": "order", "order-1": "panel-6"}) == led
    assert stand() == ["panel-6", *panels[:5]]
    refused, text = browser.ask(f"{led}/say", {"says": "order", "order-1": "panel-2", "order-2": "panel-2"})
    assert refused.status == 422
    assert "A piece stands there twice. Give each piece one place." in text
    assert browser.ask(f"{led}/say", {"says": "order"})[0].status == 422
    told = {"says": "order", **{f"order-{n}": name for n, name in enumerate(panels, 1)}}
    assert browser.led_to(f"{led}/say", told) == led
    assert stand() == panels
    assert browser.led_to(f"{led}/start", {}) == "/case/Ada%2C%20brown%20stays"


def test_a_seam_that_was_said_goes_with_its_pieces_when_their_order_is_put_right(room: Served) -> None:
    browser = Browser(room)
    led = bring(browser, DRAWING, case="Ada, brown stays", unit="in")
    text = browser.ask(led)[1]
    seam = re.search(r'name="says" value="unpick"><input type="hidden" name="seam" value="([^"]+)"', text)
    assert seam is not None
    assert browser.led_to(f"{led}/say", {"says": "unpick", "seam": seam[1]}) == led
    assert browser.led_to(f"{led}/say", {"says": "order", "order-1": "panel-6"}) == led
    assert browser.ask(led)[1].count('name="says" value="unpick"') == 4


BENT = """<svg xmlns="http://www.w3.org/2000/svg" width="650mm" height="420mm" viewBox="0 0 650 420">
<path id="front" d="M30 380 L200 380 L155 210 L215 40 L30 40 Z"/>
<path id="side" d="M300 380 L470 380 L470 40 L405.9 40 Z"/><path id="back" d="M500 40 H600 V380 H500 Z"/></svg>"""
"""A side seam that turns sharply at the waist, the straight one that it is sewn to, and a back."""


def bent(browser: Browser, folder: Path) -> str:
    """Where that drawing is put right."""
    (folder / "bent.svg").write_text(BENT, encoding="utf-8")
    return bring(browser, folder / "bent.svg", case="Ruth", unit="cm")


def sewn(text: str) -> list[str]:
    """The seams that the page tells."""
    return re.findall(r"<li><p>([^<]+) <span class=\"soft\">", text)


def test_a_seam_that_turns_sharply_is_made_one_edge_and_two_again(room: Served, tmp_path: Path) -> None:
    browser = Browser(room)
    led = bent(browser, tmp_path)
    assert sewn(browser.ask(led)[1]) == ["side, back seam, to back, front seam"]
    assert 'href="#one-a">A seam turns sharply' in browser.ask(led)[1]
    one = {"says": "as-one", "a": "front|back-seam-1", "b": "front|back-seam-2"}
    for wrong, said in (
        ({**one, "b": "front|centre-front"}, "do not lie next to each other"),
        ({**one, "b": "side|hem"}, "of two that meet at a corner of one piece"),
        ({**one, "b": ""}, "of two that meet at a corner of one piece"),
    ):
        answer, text = browser.ask(f"{led}/say", wrong)
        assert answer.status == 422
        assert said in text
        assert "back-seam-1”" not in text
    browser.ask(f"{led}/say", {"says": "edge", "edge": "front|back-seam-2", "role": "seam"})
    assert browser.led_to(f"{led}/say", one) == led
    text = browser.ask(led)[1]
    assert sewn(text) == ["front, back seam, to side, front seam", "side, back seam, to back, front seam"]
    assert "A seam turns sharply" not in text
    assert "It is right: start the case" in text
    assert browser.led_to(f"{led}/say", {"says": "apart", "piece": "front"}) == led
    assert sewn(browser.ask(led)[1]) == ["side, back seam, to back, front seam"]
    browser.ask(f"{led}/say", one)
    assert browser.led_to(f"{led}/start", {}) == "/case/Ruth"
    seam, _ = casebook.open_case(room.folder / "Ruth").pattern.seams
    assert (seam.a, seam.b) == (("front", "back-seam"), ("side", "front-seam"))


def test_what_was_said_to_be_sewn_follows_when_two_edges_are_made_one(room: Served, tmp_path: Path) -> None:
    browser = Browser(room)
    led = bent(browser, tmp_path)
    browser.ask(f"{led}/say", {"says": "sew", "a": "front|back-seam-1", "b": "side|front-seam", "eased": "yes"})
    assert len(sewn(browser.ask(led)[1])) == 2
    browser.ask(f"{led}/say", {"says": "as-one", "a": "front|back-seam-1", "b": "front|back-seam-2"})
    assert sewn(browser.ask(led)[1]) == [
        "side, back seam, to back, front seam",
        "front, back seam, to side, front seam",
    ]
    browser.ask(f"{led}/say", {"says": "apart", "piece": "front"})
    assert sewn(browser.ask(led)[1]) == ["side, back seam, to back, front seam"]


@pytest.mark.browser
def test_the_two_parts_of_a_seam_are_tapped_and_are_one(browser: Chromium, room: Served, tmp_path: Path) -> None:
    led = bent(Browser(room), tmp_path)
    page = open_page(browser, room.address(led), PHONE, has_touch=True)
    page.get_by_role("link", name="A seam turns sharply: two edges are one").click()
    for id_, name in (("one-a", "back-seam-2"), ("one-b", "back-seam-1")):
        line = page.locator(f'.taps g[data-piece="front"] .tap[data-edge="{name}"]')
        page.touchscreen.tap(*middle_of(line))
        expect(page.locator(f"#{id_}")).to_have_value(f"front|{name}")
    page.get_by_role("button", name="These are one edge").click()
    expect(page.get_by_text("Front: two edges were made one.")).to_be_visible()
    expect(page.get_by_role("button", name="It is right: start the case")).to_be_visible()
    accessible_and_fits(page)


def test_what_says_its_own_order_is_not_asked_for_it(room: Served) -> None:
    browser = Browser(room)
    assert 'id="order-1"' not in browser.ask(bring(browser, TABLE, case="Lena, grey stays", unit="cm"))[1]


def panel(left: int, wide: int, front: int, back: int) -> str:
    """A panel of a drawing: where it lies, how wide it is, and how long its edges at the front and at the back are."""
    return f'<path d="M{left},300 h{wide} v{-back} l{-wide},{back - front} z"/>'


def test_pieces_stand_as_they_were_tapped_whatever_order_was_guessed(room: Served, tmp_path: Path) -> None:
    file = tmp_path / "loose.svg"
    panels = panel(0, 100, 220, 200) + panel(150, 80, 230, 210) + panel(300, 90, 210, 220)
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400" fill="none" '
        f'stroke="#000">{panels}</svg>', encoding="utf-8")  # fmt: skip
    browser = Browser(room)
    led = bring(browser, file, case="Ada, brown stays", unit="in")

    def widths() -> dict[int, str]:
        seen = understood(open_begun(room.folder, led.rpartition("/")[2]))
        assert seen.pattern is not None
        return {round(box.right - box.left): one.name for one in seen.pattern.pieces for box in [bounds(one)]}

    assert [*widths()] == [80, 90, 100]  # as their edges agree, and not as they lie
    browser.ask(f"{led}/say", {"says": "piece", "piece": widths()[90], "name": "side", "cut": "pair"})
    now = widths()
    asked = {f"order-{n}": now[wide] for n, wide in enumerate((90, 100, 80), 1)}
    assert browser.ask(f"{led}/say", {"says": "order", **asked})[0].status == 303
    assert [*widths()] == [90, 100, 80]
    assert widths()[90] == "side"


def test_of_two_pieces_that_are_alike_she_may_say_that_they_are_two(room: Served, tmp_path: Path) -> None:
    file = tmp_path / "alike.svg"
    outlines = (
        '<path d="M0,300 h90 c-9,-60 -9,-120 5,-220 h-95 z"/><path d="M250,300 h-90 c9,-60 9,-120 -5,-220 h95 z"/>'
        + panel(320, 60, 240, 200)
    )
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400" fill="none" '
        f'stroke="#000">{outlines}</svg>', encoding="utf-8")  # fmt: skip
    browser = Browser(room)
    led = bring(browser, file, case="Ada, brown stays", unit="in")
    assert "They are left and right of one" in browser.ask(led)[1]
    browser.ask(f"{led}/say", {"says": "sure", "word": "apart"})
    page = browser.ask(led)[1]
    assert "3 pieces" in page
    assert "mirror images" not in page


def test_what_was_begun_is_never_thrown_away_for_what_is_begun_later(room: Served) -> None:
    for n in range(50):
        (room.folder / f".begun-{n:012x}").mkdir()
    answer, page = brought(Browser(room), DRAWING, case="Ada, brown stays", unit="in")
    assert answer.status == 422
    assert "50 cases are begun and not started yet" in page
    assert len([*room.folder.glob(".begun-*")]) == 50


def test_the_card_to_photograph_by_is_printed_from_where_the_pattern_is_brought(room: Served) -> None:
    browser = Browser(room)
    page = browser.ask("/new")[1]
    for place in re.findall(r'href="(/card\.pdf\?paper=\w+)"', page):
        answer, text = browser.ask(place)
        assert answer.getheader("content-type") == "application/pdf"
        assert text.startswith("%PDF")
    assert page.count("/card.pdf") == 2


def middle_of(line: Locator) -> tuple[float, float]:
    """Where on the screen the middle of a drawn line lies."""
    x, y = line.evaluate(
        """e => { const p = e.getPointAtLength(e.getTotalLength() / 2).matrixTransform(e.getScreenCTM());
        return [p.x, p.y]; }"""
    )
    return x, y


@pytest.mark.browser
def test_tapped_pieces_are_shown_and_take_their_places_one_after_the_other(browser: Chromium, room: Served) -> None:
    led = bring(Browser(room), DRAWING, case="Ada, brown stays", unit="in")
    page = open_page(browser, room.address(led), PHONE, has_touch=True)
    page.get_by_text("In what order do the pieces stand?").click()
    for n, name in enumerate(("panel-6", "panel-5"), 1):
        line = page.locator(f'.taps g[data-piece="{name}"] .tap').nth(1)
        page.touchscreen.tap(*middle_of(line))
        expect(page.locator(f"#order-{n}")).to_have_value(name)
        expect(line).to_have_class("tap on")
    page.get_by_role("button", name="They stand in this order").click()
    expect(page.locator("#order-1 option").nth(1)).to_have_text("sixth panel")
    accessible_and_fits(page)


def test_of_the_cases_of_one_day_the_one_last_worked_on_comes_first(room: Served) -> None:
    for name in ("ann", "bea", "zoe"):
        begun(room.folder, name=name, date="2026-03-02")
    browser = Browser(room)
    for name in ("bea", "ann", "zoe"):
        later = max(path.stat().st_mtime for path in room.folder.rglob("*")) + 1.0
        version = room.folder / name / "patterns"
        os.utime(version, (later, later))
        wall = browser.ask("/")[1]
        assert re.findall(r'class="card">\s*<a href="/case/(\w+)"', wall)[0] == name
        assert f"Go on with <bdi>{name}</bdi>" in wall


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("drawn.svg", b"%PDF-1.4 1 0 obj", "It is a PDF inside"),
        ("drawn.svg", b"\x00\xff\x13" * 999, "This is not sound XML"),
        ("drawn.svg", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "no lines"),
        ("points.csv", b"", "The table has 0 lines"),
        ("stored.json", b"[]", "where an object"),
    ],
)  # fmt: skip
def test_a_file_of_which_nothing_can_be_read_is_refused_where_it_is_brought(
    room: Served, tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    browser = Browser(room)
    (tmp_path / name).write_bytes(data)
    answer, text = brought(browser, tmp_path / name, case="Lena", unit="cm")
    assert answer.status == 422
    assert said in text
    assert 'value="Lena"' in text
    assert 'value="cm" checked' in text
    assert not [*room.folder.glob(".begun-*")]


@pytest.mark.parametrize("file", [TABLE, DRAWING])
def test_a_level_higher_than_every_piece_is_refused_and_none_is_lost(room: Served, file: Path) -> None:
    browser = Browser(room)
    led = bring(browser, file, case="Ada", unit="cm")
    before = re.findall(r'name="level-\w+" value="[^"]+"', browser.ask(led)[1])
    answer, text = browser.ask(f"{led}/say", {"says": "levels", "level-waist": "90 cm"})
    assert answer.status == 422
    assert re.search(
        r"The level waist misses every piece: none is higher than \d+\.\d cm\.", bare(text).replace("\xa0", " ")
    )
    assert re.findall(r'name="level-\w+" value="[^"]+"', browser.ask(led)[1]) == before


def bare(text: str) -> str:
    """What a page says, without its tags."""
    return re.sub(r"<[^>]+>", "", text)


def test_what_is_wrong_is_told_with_its_piece_and_with_what_to_do_on_the_page(room: Served, tmp_path: Path) -> None:
    browser = Browser(room)
    stored = json.loads((bundled_cases() / "patterns" / "six-panel-corset.json").read_text(encoding="utf-8"))
    stored["pieces"][2]["levels"]["waist"] = [[0, 900], [900, 900]]
    (tmp_path / "off.json").write_text(json.dumps(stored), encoding="utf-8")
    _, text = brought(browser, tmp_path / "off.json", case="Lena", unit="cm")
    assert "Third panel, level waist: The level misses the piece." in bare(text)
    (tmp_path / "off.json").write_text("[]", encoding="utf-8")
    _, text = brought(browser, tmp_path / "off.json", case="Lena", unit="cm")
    assert "pattern form" not in text
    assert "pattern.json" not in text
    led = bent(browser, tmp_path)
    browser.ask(f"{led}/say", {"says": "levels", "level-waist": "17 cm"})
    browser.ask(f"{led}/say", {"says": "edge", "edge": "front|top-edge", "role": "bottom"})
    _, text = browser.ask(f"{led}/say", {"says": "edge", "edge": "front|top-edge", "role": "silly"})
    assert "Front, top edge: “silly” is no known role." in bare(text)
    assert "Front: The edges are out of order" in bare(text)
    assert "own path" not in text
    browser.ask(f"{led}/say", {"says": "edge", "edge": "front|top-edge", "role": "top"})
    _, text = browser.ask(f"{led}/say", {"says": "levels", "level-hip": "two"})
    assert "Hip: “two” is not a length." in bare(text)


def test_two_cases_of_one_name_are_told_apart(room: Served, tmp_path: Path) -> None:
    begun(room.folder)
    browser = Browser(room)
    browser.ask("/case/wren")
    parcel = tmp_path / "wren.zip"
    parcel.write_bytes(packed(room.case))
    assert bring(browser, parcel, case="wren from her fitter", unit="in") == "/case/wren%20from%20her%20fitter"
    assert browser.ask("/")[1].count("kept as wren from her fitter") == 1


def test_of_several_sizes_drawn_in_one_another_hers_is_said_by_its_number(room: Served, tmp_path: Path) -> None:
    outlines = "".join(
        f'<path d="M{x - g} {40 - g} H{x + 110 + g} L{x + 100 + g} 200 L{x + 120 + g} {370 + g} H{x - g} Z"/>'
        for x in (30, 230)
        for g in (0, 6, 12)
    )
    file = tmp_path / "sizes.svg"
    size = 'width="400mm" height="400mm" viewBox="0 0 400 400"'
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{outlines}</svg>', encoding="utf-8")
    browser = Browser(room)
    led = bring(browser, file, case="Ruth", unit="cm")
    text = browser.ask(led)[1].replace("\N{NO-BREAK SPACE}", " ")
    assert "2: 13.2 cm by 34.2 cm" in text
    assert "labels file" not in text[text.index('id="open"') : text.index("That is hers</button>")]
    for wrong in ("", "0", "two"):
        assert browser.ask(f"{led}/say", {"says": "size", "size": wrong})[0].status == 422
    assert browser.led_to(f"{led}/say", {"says": "size", "size": "2"}) == led
    assert "That is hers" not in browser.ask(led)[1]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_card_that_a_photograph_wants_is_printed_where_photographs_are_brought(room: Served, paper: str) -> None:
    browser = Browser(room)
    assert f'href="/card.pdf?paper={paper}"' in browser.ask("/new")[1]
    answer, text = browser.ask(f"/card.pdf?paper={paper}")
    assert (answer.status, answer.getheader("content-type"), text[:5]) == (200, "application/pdf", "%PDF-")


def test_a_photograph_without_a_card_is_refused_with_the_pages_own_way(room: Served, tmp_path: Path) -> None:
    cv2 = pytest.importorskip("cv2")
    numpy = pytest.importorskip("numpy")
    photo = tmp_path / "hers.jpg"
    cv2.imwrite(str(photo), numpy.full((1500, 2000, 3), 200, numpy.uint8))
    answer, text = brought(Browser(room), photo, case="Ada", unit="in")
    assert answer.status == 422
    assert "Print the card, under “Only on paper? Photograph it”" in text
    assert "<details open><summary>Only on paper? Photograph it" in text
    assert "diagnose card" not in text
