"""No label is cut by a page join: on every pattern all words stand whole on a page, and none is lost."""

from __future__ import annotations

import math
from itertools import product

import pytest
from plain_pieces import settings

from diagnose.pattern.geometry.plane import Affine, add, turn
from diagnose.pattern.outline import Pattern, Point
from diagnose.sheets.cutting.allowance import allowances_of
from diagnose.sheets.cutting.cut_drawing import Sheet, cut_drawings
from diagnose.sheets.drawn.drawing import Measure, Text, words_of
from diagnose.sheets.handbook.examples import bundled_patterns
from diagnose.sheets.writers.kept_words import kept_words, without_words
from diagnose.sheets.writers.paper_sizes import PAPERS
from diagnose.sheets.writers.tiling import Tiling, tiled

ASCENT, DESCENT = 0.72, -0.21
"""How far Helvetica reaches over and under its base line, by its published metrics, as a share of its size."""


def corners(text: Text, move: Affine) -> list[Point]:
    """The corners of what the words take up on the sheet, by the widths of the font that the PDF is set in."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide = stringWidth(text.words, "Helvetica-Bold" if text.bold else "Helvetica", text.size_mm)
    left = -{"start": 0.0, "middle": wide / 2.0, "end": wide}[text.anchor]
    turned = turn(Point(0.0, 0.0), math.radians(text.turn_deg))
    return [
        move(add(text.at, turned(Point(x, y)))) for x in (left, left + wide)
        for y in (DESCENT * text.size_mm, ASCENT * text.size_mm)
    ]  # fmt: skip


def words_on(tiling: Tiling) -> list[str]:
    marks = [mark for placing in tiling.placings for layer in placing.drawing.layers for mark in layer.marks]
    texts = [mark if isinstance(mark, Text) else words_of(mark) for mark in marks if isinstance(mark, Text | Measure)]
    return sorted(text.words for text in texts)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("number", range(3))
def test_every_label_stands_whole_on_a_page_and_is_on_none_in_part(number: int, paper: str) -> None:
    pattern: Pattern = bundled_patterns()[number]
    tiling = tiled(cut_drawings(Sheet(pattern, None, allowances_of(settings()))), PAPERS[paper])
    kept = kept_words(tiling)
    assert sorted(one.drawing.title for one in kept) == words_on(tiling)
    for one in kept:
        (text,) = (mark for layer in one.drawing.layers for mark in layer.marks if isinstance(mark, Text))
        pages = [tile.window for tile in tiling.tiles if one.on(tile)]
        assert pages, text.words
        for page, corner in product(pages, corners(text, one.move)):
            assert page.left <= corner.x <= page.right, text.words
            assert page.bottom <= corner.y <= page.top, text.words
    for placing in tiling.placings:
        bare = without_words(placing.drawing)
        assert not any(isinstance(mark, Text | Measure) for layer in bare.layers for mark in layer.marks)
