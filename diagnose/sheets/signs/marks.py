"""What is drawn at a place of the figure to show a sign: folds, gaps, flesh, edges, arrows.

Every mark is a row of one table: where its places are counted from, and its strokes, heavy lines as far as the spot is
wide, so that it is the first thing seen. Centimetres, as in `diagnose.sheets.signs.figure`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Literal

from msgspec import Struct

from diagnose.pattern.geometry.plane import Affine, across, add, scaled, unit
from diagnose.pattern.geometry.runs import smooth_through
from diagnose.pattern.outline import Point
from diagnose.rulebase.reading.entries import PictureMark
from diagnose.sheets.drawn.drawing import Area, Mark, Path, arrow_head, carried_mark, polyline
from diagnose.sheets.signs.figure import GapForm
from diagnose.sheets.signs.spots import Spot

__all__ = ["MARKS", "drawn_marks", "gap_form"]

HEAD_CM = 1.9
WHOLE_GAP_CM = 14.0
PULLED_INWARD_CM = 14.0
WHEEL = tuple(n * math.pi / 4 for n in range(8))
"""Eight directions all round."""

Place = tuple[float, float]
Stroke = tuple[Literal["line", "closed", "curve", "patch", "head"], tuple[Place, ...]]
"""One line of a mark: how it is drawn (a patch is a tint without a rim), and through which places."""


class Row(Struct, frozen=True):
    """A mark: what its places are counted from, and its strokes at a spot of half a width, held within limits.

    They are counted to the right of the spot and up; to the right of the figure's middle, and up from the spot; or
    outwards from the spot, and to the left of that.
    """

    frame: Literal["spot", "middle", "out"]
    strokes: Callable[[Spot, float], Iterable[Stroke]]
    least: float = 0.0
    most: float = math.inf


def _line(*places: Place) -> Stroke:
    return "line", places


def _curve(*places: Place) -> Stroke:
    return "curve", places


def _arrow(start: Place, end: Place) -> tuple[Stroke, Stroke]:
    return _line(start, end), ("head", (end, start))


def _both(*strokes: Stroke) -> tuple[Stroke, ...]:
    """Strokes on the right, and before them the same on the left."""
    return *((kind, tuple((-x, y) for x, y in places)) for kind, places in strokes), *strokes


def _ray(angle: float, far: float, about: Place = (0.0, 0.0)) -> Place:
    """So far away in a direction."""
    return about[0] + far * math.cos(angle), about[1] + far * math.sin(angle)


def _ring(radius: float) -> Stroke:
    return "closed", tuple(_ray(n * math.pi / 8, radius) for n in range(17))


def _gap_form(top: float, waist: float, foot: float) -> GapForm:
    """Half gaps at the top, the waist and the foot of the lacing."""

    def form(height: float) -> tuple[float, float]:
        up, down = max(0.0, min(1.0, height / 17.0)), max(0.0, min(1.0, -height / 12.0))
        half = waist + (top - waist) * up**1.3 + (foot - waist) * down**1.3
        return -half, half

    return form


def _slanting(height: float) -> tuple[float, float]:
    by = (height - 2.0) * 0.16 + 0.6
    return by - 1.5, by + 1.5


GAP_FORMS: Mapping[PictureMark, GapForm] = {
    "gap-closed": _gap_form(0.0, 0.0, 0.0),
    "gap-narrow": _gap_form(0.8, 0.8, 0.8), "gap-wide": _gap_form(4.0, 4.0, 4.0),
    "gap-widens-down": _gap_form(0.7, 2.2, 4.6), "gap-widens-up": _gap_form(4.8, 2.2, 0.7),
    "gap-bows": _gap_form(0.9, 4.0, 0.9), "gap-pinches": _gap_form(3.8, 0.7, 3.8), "gap-slants": _slanting,
    "leans": lambda height: (-1.5, 1.5 + (17.0 - height) * 0.13), "gap-shrinks": _gap_form(1.2, 1.2, 1.2),
}  # fmt: skip
"""How the lacing edges lie for each mark that is about the gap."""


def gap_form(mark: PictureMark, spot: Spot) -> GapForm | None:
    """How the lacing edges lie: all the way, or drawn in or out at the spot's height alone; None where it is even."""
    if mark not in ("gap-narrow", "gap-wide") or spot.half >= WHOLE_GAP_CM:
        return GAP_FORMS.get(mark)
    there = 2.4 if mark == "gap-wide" else -1.3

    def form(height: float) -> tuple[float, float]:
        half = 1.8 + there * math.exp(-(((height - spot.y) / 7.0) ** 2))
        return -half, half

    return form


def _pull(spot: Spot, half: float) -> Iterator[Stroke]:
    """Folds that run to a point from below and from the side; at a lacing edge, arrows along the lace."""
    if half > 10.0:
        for y in (9.0, 1.0, -7.0):
            yield from _arrow((2.4, y - spot.y), (8.4, y - spot.y))
        return
    inward = -1.0 if spot.x > PULLED_INWARD_CM else 1.0
    for angle in (-1.25, -0.85, -0.45, -0.05):
        x, y = inward * math.cos(angle), math.sin(angle)
        yield _curve((1.4 * x, 1.4 * y), (4.4 * x - 0.5 * y, 4.4 * y + 0.5 * x), (7.6 * x, 7.6 * y))


def _opens(spot: Spot, half: float) -> Iterator[Stroke]:
    """Two edges that part: at the middle the whole edge, elsewhere slits that stand wide."""
    if spot.out == (0.0, -1.0):
        for x in (-4.4, 0.0, 4.4):
            top, feet = (x * 0.7, 7.2), ((x * 1.15 - 1.3, -4.6), (x * 1.15 + 1.3, -4.6))
            yield from (("patch", (top, *feet)), _line(feet[0], top, feet[1]))
        return
    high, wide = min(half, 9.0), 1.5
    for y in (-high * 0.72, high * 0.72) if half > 9.0 else (0.0,):
        top, left, foot, right = (0.0, y + high * 0.6), (-wide, y), (0.0, y - high * 0.6), (wide, y)
        yield from (("patch", (top, left, foot, right)), _curve(top, left, foot), _curve(top, right, foot))


def _bump(half: float, high: float) -> tuple[Stroke, Stroke]:
    """Flesh that stands out between two ends."""
    places = ((0.0, -half), (high * 0.85, -half * 0.6), (high, 0.0), (high * 0.85, half * 0.6), (0.0, half))
    return ("patch", places), _curve(*places)


def _upright(half: float, way: float) -> tuple[Stroke, ...]:
    """An arrow up or down from the line where it should lie."""
    far = way * (7.0 if half > WHOLE_GAP_CM else 4.0)
    return _line((-3.0, -far), (3.0, -far)), *_arrow((0.0, -far), (0.0, far + way * 0.6))


def _turns(_: Spot, half: float) -> tuple[Stroke, Stroke]:
    """An arrow round the body, or round the seam or bone."""
    wide = half if half > 10.0 else 4.0
    low = [(wide * 1.15 * math.cos(a), wide * 0.34 * math.sin(a)) for a in (-3.4, -2.8, -2.2, -1.6, -1.0, -0.4, 0.2)]
    return _curve(*low), ("head", (low[-1], low[-2]))


def _pokes(_: Spot, half: float) -> Iterator[Stroke]:
    """A bone that stands out beyond the edge."""
    yield _line((-7.0, 0.7), (2.8, 0.7), (2.8, -0.7), (-7.0, -0.7))
    for aside in (-0.7, 0.0, 0.7):
        angle = math.atan2(aside, 1.0)
        yield _line(_ray(angle, 0.9, (2.8, 0.0)), _ray(angle, 2.8, (2.8, 0.0)))


def _laps(_: Spot, half: float) -> Iterator[Stroke]:
    """Part over part."""
    for x, low in ((-2.6, -4.0), (1.4, -4.7)):
        corners = ((x, 7.0), (x - 1.6, low), (x + 3.6, low), (x + 2.0, 7.0))
        yield from (("patch", corners), ("closed", (*corners, corners[0])))


def _strains(_: Spot, half: float) -> Iterator[Stroke]:
    """Stitches drawn open along the edge."""
    for y in (6.0, 2.0, -2.0, -6.0):
        yield _curve((0.9, y + 1.5), (2.1, y), (0.9, y - 1.5))
        yield from (_line((1.0, y + way * 0.6), (5.4, y + way * 2.0)) for way in (-0.9, 0.0, 0.9))


def _at_one_height(half: float, start: float, end: float) -> tuple[Stroke, ...]:
    """Arrows towards or away from the middle; none where the gap is so all the way."""
    return _both(*_arrow((start, 0.0), (end, 0.0))) if half < WHOLE_GAP_CM else ()


def _gap_shrinks(spot: Spot, half: float) -> Iterator[Stroke]:
    for y in (9.0, 2.0, -5.0):
        yield from _both(*_arrow((8.0, y - spot.y), (3.2, y - spot.y)))


def _rolls(spot: Spot, half: float) -> Iterator[Stroke]:
    """An edge that turns over, curl by curl."""
    for y in (8.0 - spot.y, 1.0 - spot.y, -6.0 - spot.y):
        yield _curve((6.4, y - 1.4), *(_ray(n * 0.9, 1.9 * (1 - n / 9), (1.4, y)) for n in range(8)))


MARKS: Mapping[PictureMark, Row] = {
    # level folds, one above the other
    "crease": Row("spot", lambda spot, half: (
        _curve((-wide, y), (-wide * 0.3, y - 0.7), (wide * 0.4, y + 0.3), (wide, y - 0.3))
        for wide, y in ((half * 0.8, 1.9), (half, 0.0), (half * 0.7, -1.9)))),
    # upright folds side by side
    "fold": Row("spot", lambda spot, half: (
        _curve((x, y), (x + 0.5, 1.5), (x - 0.5, -2.0), (x, -y)) for x, y in ((-1.5, 4.0), (0.0, 5.0), (1.5, 4.0)))),
    # ripples that run slantwise
    "slant": Row("spot", lambda spot, half: (
        _curve((-4.6, y), (-1.6, y + 2.6), (1.0, y + 3.4), (4.0, y + 6.0)) for y in (-6.0, -3.0, 0.0, 3.0))),
    # short folds about a point
    "pucker": Row("spot", lambda spot, half: (
        _line(_ray(a + 0.3, 1.0), _ray(a + 0.3, 3.2 if n % 2 else 2.4)) for n, a in enumerate(WHEEL))),
    "pull": Row("spot", _pull),
    "strains": Row("spot", _strains),
    "opens": Row("spot", _opens),
    # what the lacing edges themselves show
    **{form: Row("middle", lambda spot, half: ()) for form in GAP_FORMS},
    "gap-wide": Row("middle", lambda spot, half: _at_one_height(half, 4.8, 9.4)),
    "gap-narrow": Row("middle", lambda spot, half: _at_one_height(half, 7.4, 2.4)),
    "gap-shrinks": Row("middle", _gap_shrinks),
    # two edges that spring apart
    "spreads": Row("middle", lambda spot, half: _both(
        _curve((1.0, 14.0), (4.4, 0.0), (2.4, -15.0)), *_arrow((4.8, 0.0), (10.0, 0.0)))),
    # two edges that do not come together, and the way between them
    "short": Row("middle", lambda spot, half: _both(_line((3.4, 14.0), (3.4, -15.0)), *_arrow((0.0, 0.0), (3.0, 0.0)))),
    "rolls": Row("spot", _rolls),
    "flesh-over-edge": Row("out", lambda spot, half: _bump(half, 3.0), least=2.2),
    "bulges": Row("out", lambda spot, half: _bump(half, 2.6), least=2.2),
    # an arrow into the body, and the mark it leaves
    "digs-in": Row("out", lambda spot, half: (
        *_arrow((6.4, 0.0), (0.4, 0.0)), _curve((0.4, -2.6), (-0.7, 0.0), (0.4, 2.6)))),
    # arrows side by side against the surface
    "pressed": Row("out", lambda spot, half: (
        one for side in (-3.4, 0.0, 3.4) for one in _arrow((6.4, side), (0.6, side)))),
    # the edge bowed away from the body, and the room between
    "stands-off": Row("out", lambda spot, half: (
        _curve((0.0, half * -1.4), (1.9, half * -0.8), (3.0, 0.0), (1.9, half * 0.8), (0.0, half * 1.4)),
        *_arrow((-0.6, 0.0), (2.6, 0.0))), least=3.4),
    # room at both sides of the figure
    "slack": Row("spot", lambda spot, half: _both(
        _line((half + 3.0, 5.0), (half + 2.4, 0.0), (half + 3.4, -5.0)),
        *_arrow((half - 3.4, 0.0), (half + 1.9, 0.0))), most=15.0),
    "rises": Row("spot", lambda spot, half: _upright(half, 1.0)),
    "falls": Row("spot", lambda spot, half: _upright(half, -1.0)),
    # a level higher on one side than on the other
    "uneven": Row("middle", lambda spot, half: (
        _line((-spot.x - half * 0.4, 2.4), (spot.x + half * 0.4, -2.4)),
        *_arrow((-spot.x, -2.0), (-spot.x, 2.0)), *_arrow((spot.x, 2.6), (spot.x, -1.8))), least=6.0),
    "turns": Row("spot", _turns),
    # the upright, and the line that she leans along
    "tips": Row("middle", lambda spot, half: (
        _line((3.0, -21.0), (3.0, 22.0)), _line((3.0, -21.0), (-5.0, 22.0)), *_arrow((2.6, 17.0), (-3.0, 17.0)))),
    # the line where it lies, beside the one that it should follow
    "aside": Row("spot", lambda spot, half: (
        _curve((3.4, half), (3.8, 0.0), (4.6, -half)), *_arrow((0.4, 0.0), (3.4, 0.0))), most=9.0),
    # the fullest place as a ring, the shaping's point as a cross beside it
    "misses": Row("spot", lambda spot, half: (
        _ring(1.6), _line((-5.6, -3.8), (-3.2, -1.4)), _line((-5.6, -1.4), (-3.2, -3.8)))),
    # a bone with a corner in it
    "bends": Row("spot", lambda spot, half: (
        _line((-0.6, half), (2.0, 0.0), (-0.9, -half)), *_arrow((-5.0, 0.0), (1.2, 0.0))), most=8.0),
    "pokes": Row("out", _pokes),
    "laps": Row("spot", _laps),
    # a patch that should be covered
    "shows": Row("spot", lambda spot, half: (
        ("patch", ((1.0, 9.0), (half, 9.0), (half * 0.8, -9.0), (1.0, -9.0))),
        *(_line((1.0, y), (half * 0.85, y + 2.6)) for y in (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0)))),
    # rings and rays about the place
    "sore": Row("spot", lambda spot, half: (
        _ring(1.2), _ring(2.6), *(_line(_ray(a, 3.5), _ray(a, 5.2)) for a in WHEEL))),
}  # fmt: skip
ONCE: frozenset[PictureMark] = frozenset({*GAP_FORMS, "uneven", "sore", "turns", "slant", "pull"})
"""Marks drawn on one side alone, even of a place that stands on both."""


def drawn_marks(mark: PictureMark, spot: Spot) -> Iterator[Mark]:
    """The mark at its place, on both sides of the middle where the place is on both."""
    made = [*_drawn(MARKS[mark], spot)]
    yield from made
    if spot.paired and mark not in ONCE:
        yield from (carried_mark(one, Affine(xx=-1.0)) for one in made)


def _drawn(row: Row, spot: Spot) -> Iterator[Mark]:
    for kind, places in row.strokes(spot, min(max(spot.half, row.least), row.most)):
        points = [_at(spot, row.frame, place) for place in places]
        match kind:
            case "line" | "closed":
                yield polyline(points, closed=kind == "closed")
            case "curve":
                yield Path(tuple(smooth_through(points)))
            case "patch":
                yield Area((tuple(points),))
            case "head":
                yield arrow_head(points[0], points[1], HEAD_CM)


def _at(spot: Spot, frame: str, place: Place) -> Point:
    """A place of a stroke on the figure."""
    if frame == "out":
        way = unit(spot.outward)
        return add(spot.at, add(scaled(way, place[0]), scaled(across(way), place[1])))
    return Point(place[0] + (spot.x if frame == "spot" else 0.0), spot.y + place[1])
