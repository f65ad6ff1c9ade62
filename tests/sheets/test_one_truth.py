"""One truth on every sheet: what is foreseen is what was drawn, and all outputs say the same, on invented try-ons."""

from __future__ import annotations

import io
import random
import re
from collections.abc import Mapping
from functools import cache
from html import unescape
from typing import Any

import pytest
import shapely
import shapely.affinity
from msgspec import Struct
from msgspec.structs import replace

from diagnose.engine.matching import matcher_for
from diagnose.model.tryon import read_tryon
from diagnose.pattern.geometry.curves import flatten
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.drawn.drawing import Drawing, Measure, Path, Text, words_corners, words_of
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.drawn.step_pages import step_pages
from diagnose.sheets.drawn.wall_sheet import wall_sheet
from diagnose.sheets.handbook.examples import bundled_patterns
from diagnose.sheets.view import SheetView, build_view
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.text import plan_lines, short_plan
from diagnose.sheets.words.wording import in_first_unit
from diagnose.sheets.writers.html import write_html
from diagnose.sheets.writers.json_out import diagnosis_to_json
from diagnose.sheets.writers.svg import write_svg
from diagnose.units import INCH_MM, Unit, parse_length

SHORT = range(7)
CASES = [*SHORT, *(pytest.param(number, marks=pytest.mark.long) for number in range(7, 24))]
SIXTEENTH_MM = INCH_MM / 16
SEVEN_POINTS_MM = 7 / 72 * 25.4
LETTERS = re.compile(r"\b[A-Z]'?\d?\b")
SIGNS = ("slides-down", "rides-up", "hem-flares", "digs-under-arm", "folds-round-waist", "spill-at-front",
         "gape-at-front-top", "fold-under-bust", "waist-not-gripped", "hem-too-tight")  # fmt: skip
ASKED = ("toile-boned-at-back", "toile-cloth-firm", "test-square-true", "relaced-from-waist", "over-usual-shift")
MAYBE = ("hand-slides-under-waist", "hand-slides-under-hem", "hand-slides-under-underbust")


class Case(Struct, frozen=True):
    """An invented try-on, worked out and shown."""

    raw: Mapping[str, Any]
    unit: Unit
    before: Pattern
    found: Diagnosis
    view: SheetView


def _raw(number: int) -> dict[str, Any]:
    rng = random.Random(number)
    gaps = {name: rng.choice((0.5, 1, 1.25, 1.5, 2, 2.5, 3, 3.5)) for name in ("top", "waist", "bottom")}
    known = dict.fromkeys(ASKED, True) | {name: rng.random() < 0.5 for name in MAYBE if rng.random() < 0.6}
    return {
        "id": f"case {number}", "tension": "working", "target": "2 in",
        "garment": {"style": rng.choice(("stays", "corset", "bodice")), "closure": "back", "boning": "full",
                    "straps": "none", "tabs": "none", "meant_to_meet": False},
        "gap": {name: f"{gap} in" for name, gap in gaps.items()},
        "seen": {sign: rng.random() < 0.5 for sign in rng.sample(SIGNS, 4)},
        "known": known | {"gap-changed-on-relacing": False},
    }  # fmt: skip


@pytest.fixture(scope="module")
def worked(base: RuleBase) -> Any:
    patterns = bundled_patterns()

    @cache
    def work(number: int) -> Case:
        raw, before = _raw(number), patterns[number % len(patterns)]
        unit: Unit = "cm" if number % 3 == 0 else "in"
        own = base.with_settings(base.settings.in_unit(unit))
        tryon = read_tryon(raw, own.vocabulary)
        found = diagnose(tryon, own, matcher_for(own), before)
        drawn = found.rounds[0].on_paper if found.rounds else None
        after, operations = (drawn.after, drawn.operations) if drawn else (None, ())
        view = build_view(raw["id"], tryon, found, own, before, after, operations, unit, "2026-03-02", "version 1")
        return Case(raw, unit, before, found, view)

    return work


@pytest.mark.parametrize("number", CASES)
def test_the_gap_foreseen_is_the_gap_read_less_what_the_outline_changed(number: int, worked: Any) -> None:
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
def test_all_outputs_say_the_same_in_her_words(number: int, worked: Any) -> None:
    case = worked(number)
    page = unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", write_html(case.view), flags=re.S))
    wall = " ".join(text.words for text in words_on(wall_sheet(case.view)))
    everything = {
        "terminal": "\n".join(plain_lines(plan_lines(case.view))), "page": page, "wall": wall,
        "steps": " ".join(text.words for one in step_pages(case.view.steps) for text in words_on(one)),
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


@pytest.mark.parametrize("number", CASES)
def test_an_answer_is_shown_as_it_was_given(number: int, worked: Any, base: RuleBase) -> None:
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
def test_on_the_wall_no_words_overlap_leave_the_page_or_are_under_seven_points(number: int, worked: Any) -> None:
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
def test_on_the_wall_the_drawing_is_the_largest_thing(number: int, worked: Any) -> None:
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


def _box(text: Text) -> Any:
    """What the words take up on paper, by the widths of the font that the PDF is set in."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide = stringWidth(text.words, "Helvetica-Bold" if text.bold else "Helvetica", text.size_mm)
    low, *_, high = words_corners(replace(text, turn_deg=0.0))
    left = text.at.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[text.anchor]
    return shapely.affinity.rotate(shapely.box(left, low.y, left + wide, high.y), text.turn_deg, origin=text.at)


def words_on(drawing: Drawing) -> Any:
    for layer in drawing.layers:
        for mark in layer.marks:
            if isinstance(mark, Text):
                yield mark
            elif isinstance(mark, Measure):
                yield words_of(mark)


def _dimensions(case: Case) -> list[str]:
    """The dimensions in the words of the SVG as it is written."""
    drawn = case.found.rounds[0].on_paper
    assert drawn is not None
    svg = write_svg(draw_pattern(drawn.after, drawn.before, case.unit, zones=case.view.zones))
    (group,) = re.findall(r'<g id="dimensions".*?</g>', svg, re.S)
    return [unescape(words) for words in re.findall(r"<text[^>]*>([^<]*)<", group)]


@pytest.mark.parametrize("number", [0, 2, 6])
def test_the_largest_dimension_on_the_svg_is_the_figure_of_the_step(number: int, worked: Any) -> None:
    case = worked(number)
    (step,) = case.view.first
    lengths = [parse_length(words) or 0.0 for words in _dimensions(case)]
    assert max(lengths) == pytest.approx(parse_length(in_first_unit(step.figure)), abs=SIXTEENTH_MM / 2)
    assert {words.split(" ")[-1] for words in _dimensions(case)} == {case.unit}


def test_the_svg_of_one_piece_bears_what_is_done_to_each_half(worked: Any) -> None:
    case = worked(6)
    (step,) = case.view.first
    assert [" ".join(words.split(" ")[-2:]) for _, words in step.rows] == _dimensions(case)


def test_the_pdf_begins_with_the_wall_sheet_and_carries_the_steps(worked: Any) -> None:
    pypdf = pytest.importorskip("pypdf")
    from diagnose.sheets.writers.pdf import pattern_pdf

    case = next(one for one in map(worked, SHORT) if one.view.wall and one.unit == "in")
    drawn = case.found.rounds[0].on_paper
    ahead = [("wall sheet", wall_sheet(case.view)), *(("steps", page) for page in step_pages(case.view.steps))]
    data = pattern_pdf(drawn.after, drawn.before, allowances={"seam": 12.7}, zones=case.view.zones,
                       letters=case.view.letters, ahead=ahead)  # fmt: skip
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    first = " ".join(pages[0].extract_text().split())
    assert " ".join(case.view.first[0].figure.split()) in first
    assert case.view.title in first
    assert "With ruler and pencil" in pages[1].extract_text()
