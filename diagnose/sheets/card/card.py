"""The card as a PDF at true scale: one sheet of A4 or Letter a card. Millimetres, y upwards."""

from __future__ import annotations

import io
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from diagnose.errors import FitError
from diagnose.pattern.brought.photo import chequers as b
from diagnose.pattern.outline import Point
from diagnose.sheets.card.steps import STEP_HIGH_MM, STEP_WIDE_MM, STEPS
from diagnose.sheets.drawn.drawing import Mark, Path, Pen, Text, polyline
from diagnose.sheets.writers.paper_sizes import Paper, named_paper
from diagnose.sheets.writers.pdf_marks import MM_POINTS, draw_marks
from diagnose.units import INCH_MM

__all__ = ["BOARD_LEFT_MM", "RULER_LEFT_MM", "board_bottom_mm", "write_card"]

BOARD_LEFT_MM = 7.0
"""Home printers leave up to 1/4 in of a sheet white."""

RULER_LEFT_MM = BOARD_LEFT_MM + b.CARD_WIDE_MM + 8.0
RULER_WIDE_MM = 5.0
_FINE, _PLAIN, _BOLD = Pen(0.15), Pen(0.25), Pen(0.5)


def board_bottom_mm(paper: Paper) -> float:
    """How far up the sheet the board begins."""
    return (paper.height_mm - b.CARD_HIGH_MM) / 2.0


def write_card(paper: str = "a4", cards: int = 1) -> bytes:
    """Cards to print, each on a sheet of its own and each with markers of its own.

    Args:
        paper: ``a4`` or ``letter``.
        cards: how many different cards.

    Raises:
        FitError: when the paper is not known, or there are not so many cards.
    """
    if not 1 <= cards <= b.CARDS:
        raise FitError.of("cards", f"{cards} cards can't be made.", f"Ask for 1 to {b.CARDS}.", code="too-many")
    sheet = named_paper(paper)
    # Imported late: most commands write no PDF, and it takes a while to load.
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1, pdfVersion=(1, 6))
    canvas.setTitle("Card to photograph a paper pattern by")
    canvas.setAuthor("")
    canvas.setCreator("")
    canvas.setViewerPreference("PrintScaling", "None")
    for card in range(1, cards + 1):
        canvas.setPageSize((sheet.width_mm * MM_POINTS, sheet.height_mm * MM_POINTS))
        canvas.scale(MM_POINTS, MM_POINTS)
        _draw(canvas, sheet, card)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Any, sheet: Paper, card: int) -> None:
    low = board_bottom_mm(sheet)
    canvas.saveState()
    canvas.translate(BOARD_LEFT_MM, low)
    _chequer(canvas, card)
    _window(canvas, card)
    canvas.restoreState()
    canvas.saveState()
    canvas.translate(RULER_LEFT_MM, low + (b.CARD_HIGH_MM - b.RULER_MM) / 2.0)
    _rule_along(canvas)
    canvas.restoreState()


def _chequer(canvas: Any, card: int) -> None:
    canvas.setFillGray(0.0)
    for row in range(b.UP):
        for column in range(b.ACROSS):
            if (row + column) % 2 == 0 and not b.is_left_out(column, row):
                _square(
                    canvas,
                    column * b.SQUARE_MM,
                    b.CARD_HIGH_MM - (row + 1) * b.SQUARE_MM,
                    wide=b.SQUARE_MM,
                    high=b.SQUARE_MM,
                )
    rim = (b.SQUARE_MM - b.MARKER_MM) / 2.0
    for number, column, row in b.markers(card):
        canvas.saveState()
        canvas.translate(column * b.SQUARE_MM + rim, b.CARD_HIGH_MM - (row + 1) * b.SQUARE_MM + rim)
        _marker(canvas, b.marker_bits(number))
        canvas.restoreState()


def _square(canvas: Any, left: float, low: float, wide: float, high: float) -> None:
    canvas.rect(left, low, wide, high, stroke=0, fill=1)


def _marker(canvas: Any, cells: list[list[bool]]) -> None:
    """A black square with its white cells on it, neighbours in one run, so that no hair shows between them."""
    size = b.MARKER_MM / len(cells)
    canvas.setFillGray(0.0)
    _square(canvas, 0.0, 0.0, wide=b.MARKER_MM, high=b.MARKER_MM)
    canvas.setFillGray(1.0)
    for first, last, row in _white_blocks(cells):
        top = b.MARKER_MM - row[0] * size
        _square(
            canvas,
            first * size,
            top - (row[1] - row[0]) * size,
            wide=(last - first) * size,
            high=(row[1] - row[0]) * size,
        )
    canvas.setFillGray(0.0)


def _white_blocks(cells: list[list[bool]]) -> Iterator[tuple[int, int, tuple[int, int]]]:
    """White runs: across each row, and down each column besides, which covers the joins between rows."""
    for n, row in enumerate(cells):
        yield from ((a, z, (n, n + 1)) for a, z in _runs(row))
    for n in range(len(cells)):
        yield from ((n, n + 1, (a, z)) for a, z in _runs([row[n] for row in cells]) if z - a > 1)


def _runs(row: list[bool]) -> Iterator[tuple[int, int]]:
    at = 0
    for white, run in groupby(row):
        count = len(list(run))
        if white:
            yield at, at + count
        at += count


def _window(canvas: Any, card: int) -> None:
    """The title, the six steps and the rule across, in the middle of the board."""
    left, top, right, bottom = b.WINDOW
    canvas.saveState()
    canvas.translate(left * b.SQUARE_MM, b.CARD_HIGH_MM - bottom * b.SQUARE_MM)
    wide, high = (right - left) * b.SQUARE_MM, (bottom - top) * b.SQUARE_MM
    title = [Text(f"Card {card}", Point(3.0, high - 7.5), 5.0, bold=True),
             Text("to photograph a paper pattern by", Point(23.0, high - 7.5), 3.6)]  # fmt: skip
    draw_marks(canvas, title, _PLAIN)
    for n, step in enumerate(STEPS):
        canvas.saveState()
        canvas.translate(1.0 + (n % 2) * STEP_WIDE_MM, high - 11.0 - (n // 2 + 1) * STEP_HIGH_MM)
        for pen, marks in step.layers(n + 1):
            draw_marks(canvas, marks, pen)
        canvas.restoreState()
    canvas.translate((wide - b.RULER_ACROSS_MM) / 2.0, 1.0)
    _rule_across(canvas)
    canvas.restoreState()


def _rule_across(canvas: Any) -> None:
    long_, note = b.RULER_ACROSS_MM, "this line too: 92 mm, 3 5/8 in"
    marks: list[Mark] = [polyline((Point(0.0, 1.0), Point(long_, 1.0)))]
    marks += [polyline((Point(x, 0.0), Point(x, 4.0))) for x in (0.0, long_)]
    draw_marks(canvas, marks, _PLAIN)
    draw_marks(canvas, [Text(note, Point(long_ / 2.0, 2.0), 2.8, anchor="middle")], _PLAIN)


def _rule_along(canvas: Any) -> None:
    """The rule along the sheet: centimetres on its left, inches on its right."""
    marks: list[Mark] = [polyline((Point(0.0, 0.0), Point(0.0, b.RULER_MM)))]
    for mm in range(int(b.RULER_MM) + 1):
        long_ = 3.0 if mm % 10 == 0 else 2.2 if mm % 5 == 0 else 1.4
        marks.append(polyline((Point(-long_, float(mm)), Point(0.0, float(mm)))))
    eighths = int(b.RULER_MM / INCH_MM * 8.0 + 0.5)
    for eighth in range(eighths + 1):
        at = eighth * INCH_MM / 8.0
        long_ = 3.0 if eighth % 8 == 0 else 2.2 if eighth % 4 == 0 else 1.4
        marks.append(polyline((Point(0.0, at), Point(long_, at))))
    draw_marks(canvas, marks, _FINE)
    ends: list[Path] = [polyline((Point(-4.0, y), Point(RULER_WIDE_MM, y))) for y in (0.0, b.RULER_MM)]
    draw_marks(canvas, ends, _BOLD)
    words = "Measure this rule from end to end: 200 mm, or 7 7/8 in. If it is not, say what it is with the picture."
    draw_marks(canvas, [Text(words, Point(5.6, b.RULER_MM / 2.0), 3.0, anchor="middle", turn_deg=90.0)], _PLAIN)
