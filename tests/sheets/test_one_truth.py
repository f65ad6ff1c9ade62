"""One truth on every sheet: what is foreseen is what was drawn, and all outputs say the same, on invented try-ons."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from functools import partial
from html import unescape
from typing import Any

import pytest
import shapely
import shapely.affinity
from invented import Case, invented, words_on
from made_up import BODIES, answers, diagnosis
from msgspec.structs import replace
from paper_and_pencil import laid_out, most_off

from diagnose.pattern.brought import load_pattern
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.operations import do, parse_operations
from diagnose.places import bundled_cases
from diagnose.plan.drawing.paper import OnPaper
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.drawn.drawing import Path, Text, plain_marks, words_corners
from diagnose.sheets.drawn.page_flow import whole_pages
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.hand.figures import NewLine
from diagnose.sheets.json_out import diagnosis_to_json
from diagnose.sheets.step_pages import step_blocks
from diagnose.sheets.view import build_view
from diagnose.sheets.view_model import Tried
from diagnose.sheets.wall_sheet import wall_sheet
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.text import plan_lines, short_plan
from diagnose.sheets.words.wording import in_first_unit
from diagnose.sheets.writers.html import write_html
from diagnose.sheets.writers.svg import write_svg
from diagnose.units import INCH_MM, both, parse_length

SHORT = range(7)
CASES = [
    *SHORT, *(pytest.param(number, marks=pytest.mark.long) for number in range(7, 12)),
    *(pytest.param(number, marks=(pytest.mark.long, pytest.mark.proof)) for number in range(12, 24)),
]  # fmt: skip
SIXTEENTH_MM = INCH_MM / 16
MOST_STEPS = 12
SEVEN_POINTS_MM = 7 / 72 * 25.4
LETTERS = re.compile(r"\b[A-Z]'?\d?\b")


@pytest.fixture(scope="module")
def worked(base: RuleBase) -> Callable[[int], Case]:
    return partial(invented, base)


@pytest.mark.parametrize("number", CASES)
def test_the_gap_foreseen_is_the_gap_read_less_what_the_outline_changed(
    number: int, worked: Callable[[int], Case]
) -> None:
    case = worked(number)
    steps = case.found.first_steps
    drawn = case.found.rounds[0].on_paper if case.found.rounds else None
    if drawn is None:
        return
    for name, one in case.found.gap.stations.items():
        changed = (garment_girth(drawn.before, name) or 0.0) - (garment_girth(drawn.after, name) or 0.0)
        if not one.at_least and name in steps[-1].predicted_gap_mm:
            assert steps[-1].predicted_gap_mm[name] == pytest.approx(one.gap_mm + changed, abs=SIXTEENTH_MM), name


@pytest.mark.parametrize("number", CASES)
def test_all_outputs_say_the_same_in_her_words(number: int, worked: Callable[[int], Case]) -> None:
    case = worked(number)
    page = unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", write_html(case.view), flags=re.S))
    wall = " ".join(text.words for text in words_on(wall_sheet(case.view)))
    steps = whole_pages(("steps", block) for block in step_blocks(case.view.steps))
    everything = {
        "terminal": "\n".join(plain_lines(plan_lines(case.view))), "page": page, "wall": wall,
        "steps": " ".join(text.words for _, page in steps for text in words_on(page)),
    }  # fmt: skip
    squeezed = {name: " ".join(text.split()) for name, text in everything.items()}
    for step in case.view.first:
        if step.figure:
            for name in ("terminal", "page", "wall"):
                assert " ".join(step.figure.split()) in squeezed[name], name
    for name, text in squeezed.items():
        assert not re.search(r"(?<![\d/.] )(?<![\d/.])\b0(\.0)? (in|cm|mm)\b", text), (name, text)
        assert not re.search(r"\bp\d\b|\bp\d/|-seam\b|move-edge|by 0(?![.\d])", text), name
        if case.unit == "cm":
            assert not re.search(r"\d in\b(?! 100)", text.replace("in in", "")), name
    data = diagnosis_to_json(case.found)
    sides = [step["side"] for round_ in data["plan"][:1] for step in round_["steps"]]
    assert sides == [step.side for step in case.found.first_steps]
    assert len([*plain_lines(short_plan(case.view))]) <= 24
    assert len(case.view.steps) <= MOST_STEPS


@pytest.mark.parametrize("number", CASES)
def test_every_line_that_is_drawn_anew_has_its_row_and_is_drawn_once(
    number: int, worked: Callable[[int], Case]
) -> None:
    for step in worked(number).view.steps:
        lines = [(figure.piece, figure.edges) for figure in step.figures if isinstance(figure, NewLine)]
        rows = [label for named, _ in step.rows for label in named.split("; ")]
        assert len(lines) == len({*lines})
        assert step.kind != "line" or len(rows) == len(lines)


@pytest.mark.parametrize("number", CASES)
def test_an_answer_is_shown_as_it_was_given(number: int, worked: Callable[[int], Case], base: RuleBase) -> None:
    case = worked(number)
    said = " ".join(" ".join(plain_lines(plan_lines(case.view))).split())
    for name, answer in case.raw["known"].items():
        asked = base.entries.questions[name].ask
        assert f"{asked} {'No' if answer else 'Yes'}." not in said
    for cause in diagnosis_to_json(case.found)["causes"]:
        for one in (*cause["for"], *cause["against"]):
            if one.get("question") in case.raw["known"]:
                assert one["answer"] == ("yes" if case.raw["known"][one["question"]] else "no")


@pytest.mark.parametrize("number", CASES)
def test_on_the_wall_no_words_overlap_leave_the_page_or_are_under_seven_points(
    number: int, worked: Callable[[int], Case]
) -> None:
    drawing = wall_sheet(worked(number).view)
    texts = list(words_on(drawing))
    boxes = [(text, _box(text)) for text in texts]
    page = shapely.box(drawing.frame.left - 1, drawing.frame.bottom - 1, drawing.frame.right + 1, drawing.frame.top + 1)
    for n, (text, box) in enumerate(boxes):
        assert text.size_mm >= SEVEN_POINTS_MM * 0.98, text
        assert page.contains(box), text
        for other, beside in boxes[n + 1 :]:
            assert box.intersection(beside).area < 0.25 * min(box.area, beside.area), (text.words, other.words)


@pytest.mark.parametrize("number", CASES)
def test_on_the_wall_the_drawing_is_the_largest_thing(number: int, worked: Callable[[int], Case]) -> None:
    """The outlines reach over half the page's width, and take up a sixth of the page at the least."""
    view = worked(number).view
    if not view.wall:
        return
    drawing = wall_sheet(view)
    outlines = [layer for layer in drawing.layers if layer.id == "outline"]
    spots = [p for layer in outlines for mark in layer.marks if isinstance(mark, Path) for s in mark.segments
             for p in flatten(s, 0.5)]  # fmt: skip
    wide, high = (max(along) - min(along) for along in zip(*spots, strict=True))
    page = drawing.frame
    assert wide >= (page.right - page.left) / 2.0
    assert wide * high >= (page.right - page.left) * (page.top - page.bottom) / 6.0


@pytest.mark.parametrize("number", SHORT)
def test_a_taller_page_says_no_less_and_shows_it_no_smaller(number: int, worked: Callable[[int], Case]) -> None:
    low, tall = ([*words_on(wall_sheet(worked(number).view, high))] for high in (250.0, 269.0))
    assert -269.0 <= min(text.at.y for text in tall) < min(text.at.y for text in low)
    assert len(tall) >= len(low) > 0


def _box(text: Text) -> Any:
    """What the words take up on paper, by the widths of the font that the PDF is set in."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide = stringWidth(text.words, "Helvetica-Bold" if text.bold else "Helvetica", text.size_mm)
    low, *_, high = words_corners(replace(text, turn_deg=0.0))
    left = text.at.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[text.anchor]
    return shapely.affinity.rotate(shapely.box(left, low.y, left + wide, high.y), text.turn_deg, origin=text.at)


def _drawn(case: Case) -> OnPaper | None:
    return case.found.rounds[0].on_paper if case.found.rounds else None


def _dimensions(case: Case) -> list[str]:
    """The dimensions in the words of the SVG as it is written."""
    drawn = _drawn(case)
    assert drawn is not None
    svg = write_svg(
        draw_pattern(drawn.after, drawn.before, case.unit, zones=case.view.zones, letters=case.view.letters)
    )
    found = re.findall(r'<g id="dimensions".*?</g>', svg, re.S)
    return [unescape(words) for group in found for words in re.findall(r"<text[^>]*>([^<]*)<", group)]


@pytest.mark.parametrize("number", CASES)
def test_json_tells_what_was_drawn_and_what_the_sheets_say(number: int, worked: Callable[[int], Case]) -> None:
    """Done again, its operations come to the outline of the sheets; its amounts and gaps are measured on that."""
    case = worked(number)
    plan = json.loads(json.dumps(diagnosis_to_json(case.found)))["plan"]
    steps = plan[0]["steps"] if plan else []
    drawn = _drawn(case)
    if drawn is None:
        assert not any(step["operations"] for step in steps)
        return
    again = do(drawn.before, parse_operations([one for step in steps for one in step["operations"]]))
    for piece in again.pattern.pieces:
        runs = [*laid_out(drawn.after.piece(piece.name)).values()]
        assert max(most_off(runs, points) for points in laid_out(piece).values()) < 0.3, piece.name
    for row in case.view.gap:
        station = row.station
        foreseen = steps[-1]["predicted_gap_mm"].get(station)
        changed = (garment_girth(drawn.before, station) or 0.0) - (garment_girth(drawn.after, station) or 0.0)
        told = sum(_told_mm(step["amount_mm"], station) for step in steps if step["drawn"])
        if row.predicted and foreseen is not None:
            assert row.predicted == ("closed" if foreseen <= 0.5 else both(foreseen, case.unit)), station
        if all("length" not in step["amount_mm"] and step["amount_mm"].get("by_station") for step in steps):
            assert told == pytest.approx(changed, abs=SIXTEENTH_MM), station
    known = {station for piece in drawn.before.pieces for station in piece.levels} | {
        row.station for row in case.view.gap
    }
    for step in steps:
        assert not step["drawn"] or {*step["amount_mm"].get("by_station", {})} <= known, (
            "a height with no line to draw on"
        )
    for step, shown in zip(steps, case.view.first, strict=True):
        lengths = [abs(mm) for mm in step["amount_mm"].values() if isinstance(mm, float | int)]
        assert not shown.figure or shown.figure in [both(mm, case.unit) for mm in lengths]


def _told_mm(amount: dict[str, Any], station: str) -> float:
    """How much the JSON says that the whole girth is taken in at a station."""
    return float(amount.get("by_station", {}).get(station, 0.0))


@pytest.mark.parametrize("number", CASES)
def test_every_drawing_bears_the_same_dimensions(number: int, worked: Callable[[int], Case]) -> None:
    """SVG, page, wall sheet, DXF and PDF; none is nothing, and all are in her unit."""
    ezdxf, pypdf = pytest.importorskip("ezdxf"), pytest.importorskip("pypdf")
    from diagnose.sheets.writers.dxf import pattern_dxf
    from diagnose.sheets.writers.pdf import pattern_pdf

    case, drawn = worked(number), _drawn(worked(number))
    if drawn is None:
        return
    told = sorted(_dimensions(case))
    assert all((parse_length(words.removeprefix("gore ")) or 0.0) > 0.5 for words in told)
    assert {words.rsplit(" ", 1)[-1] for words in told} <= {case.unit}
    for drawing in ((case.view.pattern_picture,), case.view.wall):
        layers = [layer for one in drawing if one is not None for layer in one.layers if layer.id == "dimensions"]
        words = [mark.words for layer in layers for mark in plain_marks(layer.marks) if isinstance(mark, Text)]
        beside = [said.rpartition(": ")[2] for one in drawing if one is not None for said in one.left_out]
        words += [said for said in beside if parse_length(said.removeprefix("gore "))]
        assert sorted(words) == told
    sheet = Sheet(drawn.after, drawn.before, {"seam": 12.7}, unit=case.unit, zones=case.view.zones,
                  letters=case.view.letters)  # fmt: skip
    dxf = pattern_dxf(sheet)
    texts = [entity.dxf.text for entity in ezdxf.read(io.StringIO(dxf)).entitydb.values() if entity.dxftype() == "TEXT"]
    pdf = pattern_pdf(sheet)
    printed = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    for words in set(told):
        assert texts.count(words) >= told.count(words)
        assert words in printed


@pytest.mark.parametrize("number", [0, 2, 6])
def test_the_largest_dimension_on_the_svg_is_the_figure_of_the_step(number: int, worked: Callable[[int], Case]) -> None:
    case = worked(number)
    (step,) = case.view.first
    lengths = [parse_length(words) or 0.0 for words in _dimensions(case)]
    assert max(lengths) == pytest.approx(parse_length(in_first_unit(step.figure)), abs=SIXTEENTH_MM / 2)
    assert {words.split(" ")[-1] for words in _dimensions(case)} == {case.unit}


def test_the_svg_of_one_piece_bears_what_is_done_to_each_half(worked: Callable[[int], Case]) -> None:
    case = worked(6)
    (step,) = case.view.first
    assert [" ".join(words.split(" ")[-2:]) for _, words in step.rows] == _dimensions(case)


def test_the_pdf_begins_with_the_wall_sheet_and_carries_the_steps(worked: Callable[[int], Case]) -> None:
    pypdf = pytest.importorskip("pypdf")
    from diagnose.sheets.writers.pdf import pattern_pdf

    case = next(one for one in map(worked, SHORT) if one.view.wall and one.unit == "in")
    drawn = case.found.rounds[0].on_paper
    assert drawn is not None
    ahead = [
        ("wall sheet", wall_sheet(case.view)),
        *whole_pages(("steps", block) for block in step_blocks(case.view.steps)),
    ]
    sheet = Sheet(drawn.after, drawn.before, {"seam": 12.7}, zones=case.view.zones, letters=case.view.letters)
    data = pattern_pdf(sheet, ahead=ahead)
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    first = " ".join(pages[0].extract_text().split())
    assert " ".join(case.view.first[0].figure.split()) in first
    assert case.view.title in first
    assert "With ruler and pencil" in pages[1].extract_text()


@pytest.mark.parametrize("number", CASES)
def test_every_letter_that_a_step_names_is_on_the_big_drawing_and_on_the_wall(
    number: int, worked: Callable[[int], Case]
) -> None:
    view = worked(number).view
    named = {mark for step in view.steps for mark in re.findall(r"\bmark ([A-Z]'?\d?)\b", str((step.text, step.table)))}
    for drawing in (view.pattern_picture, *([wall_sheet(view)] if view.wall else [])):
        if drawing is not None and view.letters:
            assert named <= {text.words for text in words_on(drawing)}


def test_marks_alone_that_are_set_anew_are_drawn_on_the_wall(base: RuleBase) -> None:
    """A waist line drawn anew on one side moves no outline; its letters are still looked for on the wall."""
    level = {"op": "marks", "piece": "bodies", "levels": [{"station": "waist", "front": "1/4 in", "back": 0}]}
    before = load_pattern(bundled_cases() / BODIES)
    done = parse_operations([level])
    drawn = OnPaper(before=before, altered=do(before, done), operations=done)
    view = build_view(Tried("x", answers(base), diagnosis(base, answers(base)), base, "in", "", "", before, drawn))
    assert view.letters
    assert {mark.mark for mark in view.letters} <= {text.words for text in words_on(wall_sheet(view))}
