"""The card that is laid beside a paper pattern before it is photographed: board, rules to measure, six drawn steps.

It is a PDF at true scale, one sheet of A4 or Letter a card. Millimetres, y upwards; each step's picture from 0, 0.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.brought.photo import chequers as b
from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Cubic, Line, Point
from diagnose.sheets.drawn.drawing import Mark, Path, Pen, Text, arrow_head, circle, oblong, polyline
from diagnose.sheets.writers.paper_sizes import Paper, named_paper
from diagnose.sheets.writers.pdf_marks import begin_page, draw_marks, new_canvas
from diagnose.units import INCH_MM

__all__ = ["BOARD_LEFT_MM", "RULER_LEFT_MM", "board_bottom_mm", "write_card"]

BOARD_LEFT_MM = 7.0
"""Home printers leave up to 1/4 in of a sheet white."""

RULER_LEFT_MM = BOARD_LEFT_MM + b.CARD_WIDE_MM + 8.0
RULER_WIDE_MM = 5.0
_FINE, _THIN, _PLAIN, _BOLD, _DASHED = Pen(0.15), Pen(0.2), Pen(0.25), Pen(0.5), Pen(0.2, dash_mm=(0.9, 0.7))
STEP_WIDE_MM, STEP_HIGH_MM = 49.0, 40.0
CARD_WORDS_MM = 2.6
Layers = Iterator[tuple[Pen, Sequence[Mark]]]


class Step(Struct, frozen=True):
    """One step: its picture, and two short lines under it."""

    picture: Callable[[], Layers]
    first: str
    second: str

    def layers(self, number: int) -> Layers:
        """All that is drawn of it, the lowest first."""
        yield from self.picture()
        words = (self.first, self.second)
        yield _THIN, [Text(str(number), Point(2.0, STEP_HIGH_MM - 6.0), 5.0, bold=True)]
        yield _THIN, [Text(line, Point(2.0, 5.0 - 3.2 * n), CARD_WORDS_MM) for n, line in enumerate(words)]


def _piece(dx: float, dy: float, size: float = 1.0) -> Path:
    """A panel of a pair of stays, as cut in paper."""
    at = Affine(xx=size, yy=size, dx=dx, dy=dy)
    p = [at(Point(x, y)) for x, y in ((0, 0), (8, 1), (6.5, 7), (6.5, 9), (10, 17), (6, 16), (2, 15), (1, 20), (0, 20))]
    return Path((
        Line(p[0], p[1]), Cubic(p[1], p[2], p[3], p[4]), Cubic(p[4], p[5], p[6], p[7]), Line(p[7], p[8]),
        Line(p[8], p[0]),
    ), closed=True)  # fmt: skip


def _card(left: float, low: float, wide: float) -> Iterable[Path]:
    """A small picture of the card: a sheet with a frame of squares."""
    high, step = wide * 1.4, wide / 7.0
    yield oblong(Box(left, low, left + wide, low + high))
    for n in range(5):
        for m in range(8):
            edge = n in (0, 4) or m in (0, 7)
            if edge and (n + m) % 2 == 0:
                x, y = left + (n + 1.0) * step, low + (m + 0.9) * step
                yield replace(oblong(Box(x, y, x + step, y + step)), filled=True)


def _printed() -> Layers:
    yield _THIN, list(_card(8.0, 11.0, 17.0))
    rule = [oblong(Box(28.5, 11.0, 33.5, 35.0))]
    rule += [polyline((Point(28.5, 11.0 + 2.0 * n), Point(30.5 + (n % 2), 11.0 + 2.0 * n))) for n in range(1, 12)]
    yield _THIN, rule
    low, high = Point(26.5, 11.5), Point(26.5, 34.5)
    yield _BOLD, [polyline((low, high)), arrow_head(high, low, 2.4), arrow_head(low, high, 2.4)]


def _laid_flat() -> Layers:
    yield _THIN, [oblong(Box(4.0, 10.0, 45.0, 36.0))]
    yield _BOLD, [_piece(9.0, 13.0), _piece(20.0, 13.0, 0.9)]
    yield _THIN, list(_card(32.0, 13.0, 11.0))
    yield _THIN, [circle(Point(x, y), 0.7) for x, y in ((10.3, 31.0), (16.0, 15.0), (21.4, 29.2), (27.0, 15.0))]


def _two_cards() -> Layers:
    yield _BOLD, [_piece(13.5, 13.0, 1.05), _piece(25.0, 13.0, 1.05)]
    yield _THIN, [*_card(2.0, 14.0, 9.5), *_card(37.5, 14.0, 9.5)]
    yield _THIN, [polyline((Point(2.0, 11.0), Point(47.0, 11.0))), arrow_head(Point(1.8, 11.0), Point(20, 11), 1.8),
                  arrow_head(Point(47.2, 11.0), Point(20, 11), 1.8)]  # fmt: skip


def _light() -> Layers:
    rays = [(math.cos(a), math.sin(a)) for a in (k * math.pi / 4.0 for k in range(8))]
    lines = [polyline((Point(12 + 4.2 * x, 28 + 4.2 * y), Point(12 + 6 * x, 28 + 6 * y))) for x, y in rays]
    yield _THIN, [circle(Point(12.0, 28.0), 3.0), *lines]
    yield _THIN, [polyline((Point(8.0, 11.0), Point(44.0, 11.0)))]
    yield _BOLD, [polyline((Point(22.0, 12.0), Point(40.0, 12.0)))]
    yield _DASHED, [polyline((Point(17.5, 24.5), Point(25.0, 13.0))), polyline((Point(19.5, 26.0), Point(36.0, 13.0)))]
    yield _THIN, _lightning()


def _lightning() -> list[Mark]:
    """A flash, struck out."""
    points = ((0, 12), (-3, 5), (0, 5), (-2, 0), (4, 7), (1, 7), (3, 12), (0, 12))
    bolt = polyline([Point(35.0 + x, 22.0 + y) for x, y in points], closed=True)
    return [bolt, polyline((Point(29.0, 22.0), Point(42.0, 34.0)))]


def _held_level() -> Layers:
    yield _THIN, [polyline((Point(4.0, 11.0), Point(45.0, 11.0)))]
    yield _BOLD, [polyline((Point(8.0, 12.0), Point(28.0, 12.0))), polyline((Point(31.0, 12.0), Point(40.0, 12.0)))]
    yield _BOLD, [oblong(Box(17.5, 31.5, 31.5, 34.0))]
    eye = Point(24.5, 31.5)
    yield _DASHED, [polyline((eye, Point(7.0, 12.0))), polyline((eye, Point(42.0, 12.0)))]
    yield _THIN, [polyline((eye, Point(24.5, 15.0))), arrow_head(Point(24.5, 13.0), eye, 2.2)]


def _all_in_view() -> Layers:
    frame = oblong(Box(6.0, 11.0, 43.0, 36.0))
    yield _BOLD, [frame]
    yield _BOLD, [_piece(10.0, 13.5, 0.95), _piece(21.0, 13.5, 0.95)]
    yield _THIN, list(_card(32.0, 14.0, 9.5))
    yield _DASHED, [oblong(Box(8.0, 12.7, 41.9, 34.5))]


STEPS: tuple[Step, ...] = (
    Step(_printed, "Print it at full size, on stiff paper.", "Measure the rule: 200 mm, 7 7/8 in."),
    Step(_laid_flat, "Lay or pin both flat, the same way up,", "on one plain ground of another shade."),
    Step(_two_cards, "Over 60 cm (24 in) across: a second,", "different card at the far end."),
    Step(_light, "Even light from a window or a lamp;", "no flash, no hard shadow across."),
    Step(_held_level, "Hold the telephone level, straight above", "the middle, as near as all will fit."),
    Step(_all_in_view, "All of it in view and sharp. Then:", "begin a new case with the picture."),
)


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
    stream = io.BytesIO()
    canvas = new_canvas(stream, "Card to photograph a paper pattern by")
    for card in range(1, cards + 1):
        begin_page(canvas, sheet.width_mm, sheet.height_mm)
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
