"""Labels as a browser prints them and as a reader of PDF finds them: none over another, off its page or too small."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from invented import Case, invented
from msgspec import Struct

from diagnose.pattern.geometry.bezier import Box
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.cutting.bone_page import bone_blocks
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.drawn.page_flow import whole_pages
from diagnose.sheets.step_pages import step_blocks
from diagnose.sheets.wall_sheet import wall_sheet
from diagnose.sheets.writers.html import write_html
from diagnose.sheets.writers.paper_sizes import PAPERS
from diagnose.sheets.writers.pdf import pattern_pdf

SHORT = (1, 3, 5)
CASES = [
    *SHORT, *(pytest.param(number, marks=pytest.mark.long) for number in (0, 2, 4, 6)),
    *(pytest.param(number, marks=(pytest.mark.long, pytest.mark.proof)) for number in range(7, 24)),
]  # fmt: skip
PAGE_PX = 718
"""How wide A4 is within its margins, at 96 px to the inch; 7 points are 9.33 px."""

SEVEN_POINTS = 6.95
COVERED = 0.2
HALF_LETTER = (0.1, 0.7)
"""From where to where, in heights of the letters over the line they stand on, a label is taken to reach."""

FOUND = """() => [...document.querySelectorAll('svg')].filter(svg => svg.getBoundingClientRect().width).map(svg => {
  const edge = svg.getBoundingClientRect();
  const words = [...svg.querySelectorAll('text')].filter(e => e.textContent.trim() && !e.getAttribute('transform'));
  return {edge: [edge.left, -edge.bottom, edge.right, -edge.top], words: words.map(e => {
    const to = e.getScreenCTM(), box = e.getBBox(), size = parseFloat(e.getAttribute('font-size')) * to.a;
    const left = to.a * box.x + to.e, line = to.d * parseFloat(e.getAttribute('y')) + to.f;
    const reach = [left, size * 0.1 - line, left + to.a * box.width, size * 0.7 - line];
    return {text: e.textContent, size: size * 0.75, box: reach};
  })};
})"""


class Label(Struct, frozen=True):
    """Words where they stand, their letters so many points high."""

    text: str
    points: float
    box: Box


def faults(labels: Sequence[Label], page: Box) -> Iterator[str]:
    """What is wrong with the labels of one page."""
    for one in labels:
        if one.points < SEVEN_POINTS:
            yield f"{one.text!r} is {one.points:.1f} points"
        if not (page.left - 1 <= one.box.left and one.box.right <= page.right + 1
                and page.bottom - 1 <= one.box.bottom and one.box.top <= page.top + 1):  # fmt: skip
            yield f"{one.text!r} leaves its page"
    for one, other in combinations(labels, 2):
        wide = min(one.box.right, other.box.right) - max(one.box.left, other.box.left)
        high = min(one.box.top, other.box.top) - max(one.box.bottom, other.box.bottom)
        least = min((b.right - b.left) * (b.top - b.bottom) for b in (one.box, other.box))
        if wide > 0 and high > 0 and wide * high > COVERED * least:
            yield f"{one.text!r} lies on {other.text!r}"


def test_faults_are_found() -> None:
    page, here = Box(0.0, 0.0, 100.0, 100.0), Label("A", 9.0, Box(10.0, 10.0, 20.0, 20.0))
    beside, over = Label("B", 9.0, Box(30.0, 10.0, 40.0, 20.0)), Label("C", 9.0, Box(12.0, 10.0, 22.0, 20.0))
    assert [*faults([here, beside], page)] == []
    assert [*faults([here, over], page)] == ["'A' lies on 'C'"]
    assert [*faults([Label("D", 6.0, Box(95.0, 10.0, 105.0, 20.0))], page)] == [
        "'D' is 6.0 points",
        "'D' leaves its page",
    ]


@pytest.mark.browser
@pytest.mark.parametrize("number", CASES)
@pytest.mark.parametrize(("media", "wide"), [("print", PAGE_PX), ("screen", 1440)])
def test_no_label_of_the_page_lies_on_another_leaves_its_drawing_or_is_small(
    number: int, media: str, wide: int, base: RuleBase, browser: Any, tmp_path: Path
) -> None:
    file = tmp_path / "sheet.html"
    file.write_text(write_html(invented(base, number).view), encoding="utf-8")
    page = browser.new_page(viewport={"width": wide, "height": 1000})
    page.goto(file.as_uri())
    page.emulate_media(media=media)
    found = page.evaluate(FOUND)
    page.close()
    assert any(drawing["words"] for drawing in found) or invented(base, number).view.stop
    for drawing in found:
        labels = [Label(one["text"], one["size"], Box(*one["box"])) for one in drawing["words"]]
        assert [*faults(labels, Box(*drawing["edge"]))] == []


@pytest.mark.parametrize("number", CASES)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_label_of_the_pdf_lies_on_another_leaves_its_page_or_is_small(
    number: int, paper: str, base: RuleBase
) -> None:
    for page in pdf_pages(invented(base, number), base, paper):
        labels = [*pdf_labels(page)]
        box = page.mediabox
        assert labels
        assert [*faults(labels, Box(0.0, 0.0, float(box.width), float(box.height)))] == []


def pdf_pages(case: Case, base: RuleBase, paper: str) -> Any:
    """The pages of the sheet as a PDF, as a reader finds them."""
    pypdf = pytest.importorskip("pypdf")
    drawn = case.found.rounds[0].on_paper if case.found.rounds else None
    newest, before = (drawn.after, drawn.before) if drawn else (case.before, None)
    high_mm = PAPERS[paper].window[1]
    bones = bone_blocks(newest, before, base.settings, case.unit)
    blocks = [*(("steps", block) for block in step_blocks(case.view.steps)), *(("bones", block) for block in bones)]
    ahead = [("wall sheet", wall_sheet(case.view, high_mm)), *whole_pages(blocks, high_mm)]
    sheet = Sheet(newest, before, {"seam": 25.4, "lacing": 25.4}, unit=case.unit, zones=case.view.zones,
                  letters=case.view.letters)  # fmt: skip
    data = pattern_pdf(sheet, paper, ahead=ahead)
    return pypdf.PdfReader(io.BytesIO(data)).pages


def pdf_labels(page: Any) -> Iterator[Label]:
    """Words that stand upright, filled, with the box that their letters take."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    found: dict[tuple[str, int, int], Label] = {}

    def visit(text: str, cm: Sequence[float], tm: Sequence[float], font: Any, size: float) -> None:
        words = text.strip()
        xx, xy, *_, dx, dy = _then(tm, cm)
        if not words or abs(xy) > 1e-6 * abs(xx):
            return
        points = size * xx
        wide = stringWidth(words, str((font or {}).get("/BaseFont", "/Helvetica"))[1:], points)
        low, high = (part * points for part in HALF_LETTER)
        found[words, round(dx), round(dy)] = Label(words, points, Box(dx, dy + low, dx + wide, dy + high))

    page.extract_text(visitor_text=visit)
    yield from found.values()


def _then(first: Sequence[float], second: Sequence[float]) -> tuple[float, float, float, float, float, float]:
    a, b, c, d, e, f = first
    g, h, i, j, k, m = second
    return a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m
