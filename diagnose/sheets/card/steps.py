"""The six drawn steps of the card: how to photograph a paper pattern. Each picture in mm, y upwards, from 0, 0."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Cubic, Line, Point
from diagnose.sheets.drawn.drawing import Mark, Path, Pen, Text, arrow_head, oblong, polyline

__all__ = ["STEPS", "STEP_HIGH_MM", "STEP_WIDE_MM", "Step"]

STEP_WIDE_MM, STEP_HIGH_MM = 49.0, 40.0
_THIN, _THICK, _DASHED = Pen(0.2), Pen(0.5), Pen(0.2, dash_mm=(0.9, 0.7))
_WORDS_MM = 2.6
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
        yield _THIN, [Text(line, Point(2.0, 5.0 - 3.2 * n), _WORDS_MM) for n, line in enumerate(words)]


def _circle(x: float, y: float, r: float) -> Path:
    k = 0.5523 * r
    return Path((
        Cubic(Point(x + r, y), Point(x + r, y + k), Point(x + k, y + r), Point(x, y + r)),
        Cubic(Point(x, y + r), Point(x - k, y + r), Point(x - r, y + k), Point(x - r, y)),
        Cubic(Point(x - r, y), Point(x - r, y - k), Point(x - k, y - r), Point(x, y - r)),
        Cubic(Point(x, y - r), Point(x + k, y - r), Point(x + r, y - k), Point(x + r, y)),
    ), closed=True)  # fmt: skip


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
                yield _filled(x, y, step)


def _filled(x: float, y: float, size: float) -> Path:
    corners = (Point(x, y), Point(x + size, y), Point(x + size, y + size), Point(x, y + size), Point(x, y))
    return Path(tuple(Line(a, z) for a, z in pairwise(corners)), closed=True, filled=True)


def _printed() -> Layers:
    yield _THIN, list(_card(8.0, 11.0, 17.0))
    rule = [oblong(Box(28.5, 11.0, 33.5, 35.0))]
    rule += [polyline((Point(28.5, 11.0 + 2.0 * n), Point(30.5 + (n % 2), 11.0 + 2.0 * n))) for n in range(1, 12)]
    yield _THIN, rule
    low, high = Point(26.5, 11.5), Point(26.5, 34.5)
    yield _THICK, [polyline((low, high)), arrow_head(high, low, 2.4), arrow_head(low, high, 2.4)]


def _laid_flat() -> Layers:
    yield _THIN, [oblong(Box(4.0, 10.0, 45.0, 36.0))]
    yield _THICK, [_piece(9.0, 13.0), _piece(20.0, 13.0, 0.9)]
    yield _THIN, list(_card(32.0, 13.0, 11.0))
    yield _THIN, [_circle(x, y, 0.7) for x, y in ((10.3, 31.0), (16.0, 15.0), (21.4, 29.2), (27.0, 15.0))]


def _two_cards() -> Layers:
    yield _THICK, [_piece(13.5, 13.0, 1.05), _piece(25.0, 13.0, 1.05)]
    yield _THIN, [*_card(2.0, 14.0, 9.5), *_card(37.5, 14.0, 9.5)]
    yield _THIN, [polyline((Point(2.0, 11.0), Point(47.0, 11.0))), arrow_head(Point(1.8, 11.0), Point(20, 11), 1.8),
                  arrow_head(Point(47.2, 11.0), Point(20, 11), 1.8)]  # fmt: skip


def _light() -> Layers:
    rays = [(math.cos(a), math.sin(a)) for a in (k * math.pi / 4.0 for k in range(8))]
    lines = [polyline((Point(12 + 4.2 * x, 28 + 4.2 * y), Point(12 + 6 * x, 28 + 6 * y))) for x, y in rays]
    yield _THIN, [_circle(12.0, 28.0, 3.0), *lines]
    yield _THIN, [polyline((Point(8.0, 11.0), Point(44.0, 11.0)))]
    yield _THICK, [polyline((Point(22.0, 12.0), Point(40.0, 12.0)))]
    yield _DASHED, [polyline((Point(17.5, 24.5), Point(25.0, 13.0))), polyline((Point(19.5, 26.0), Point(36.0, 13.0)))]
    yield _THIN, _lightning(35.0, 22.0)


def _lightning(x: float, y: float) -> list[Mark]:
    """A flash, struck out."""
    points = ((0, 12), (-3, 5), (0, 5), (-2, 0), (4, 7), (1, 7), (3, 12), (0, 12))
    bolt = polyline([Point(x + a, y + c) for a, c in points], closed=True)
    return [bolt, polyline((Point(x - 6.0, y), Point(x + 7.0, y + 12.0)))]


def _held_level() -> Layers:
    yield _THIN, [polyline((Point(4.0, 11.0), Point(45.0, 11.0)))]
    yield _THICK, [polyline((Point(8.0, 12.0), Point(28.0, 12.0))), polyline((Point(31.0, 12.0), Point(40.0, 12.0)))]
    yield _THICK, [oblong(Box(17.5, 31.5, 31.5, 34.0))]
    eye = Point(24.5, 31.5)
    yield _DASHED, [polyline((eye, Point(7.0, 12.0))), polyline((eye, Point(42.0, 12.0)))]
    yield _THIN, [polyline((eye, Point(24.5, 15.0))), arrow_head(Point(24.5, 13.0), eye, 2.2)]


def _all_in_view() -> Layers:
    frame = oblong(Box(6.0, 11.0, 43.0, 36.0))
    yield _THICK, [frame]
    yield _THICK, [_piece(10.0, 13.5, 0.95), _piece(21.0, 13.5, 0.95)]
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
