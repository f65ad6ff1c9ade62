"""What is drawn at a place of the figure to show a sign: folds, gaps, flesh, edges, arrows.

Each mark draws itself at one spot, as far as the spot is wide; heavy lines, so that it is the first thing seen.
Centimetres, as in `diagnose.sheets.signs.figure`; `up` and `out` are the spot's own directions.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import moved
from diagnose.pattern.geometry.plane import Affine, across, add, scaled, sub, unit
from diagnose.pattern.geometry.runs import smooth_through
from diagnose.pattern.outline import Point
from diagnose.rulebase.reading.entries import PictureMark
from diagnose.sheets.drawn.drawing import Area, Mark, Path, arrow_head, polyline
from diagnose.sheets.signs.spots import Spot

__all__ = ["MARKS", "drawn_marks", "gap_form"]

Marks = Iterator[Mark]
HEAD_CM = 1.9
WHOLE_GAP_CM = 14.0
PULLED_INWARD_CM = 14.0


def _smooth(*points: Point) -> Path:
    return Path(tuple(smooth_through(points)))


def _arrow(start: Point, end: Point) -> Marks:
    yield polyline((start, end))
    yield arrow_head(end, start, HEAD_CM)


def _ring(at: Point, radius: float) -> Path:
    points = [Point(at.x + radius * math.cos(n * math.pi / 8), at.y + radius * math.sin(n * math.pi / 8))
              for n in range(17)]  # fmt: skip
    return polyline(points, closed=True)


def _off(spot: Spot, out: float, side: float = 0.0) -> Point:
    """So far outwards from the spot, and so far to the left of that."""
    way = unit(spot.outward)
    return add(spot.at, add(scaled(way, out), scaled(across(way), side)))


def _crease(spot: Spot) -> Marks:
    """Level folds, one above the other."""
    for n, share in enumerate((0.8, 1.0, 0.7)):
        y, half = spot.y + 1.9 - 1.9 * n, spot.half * share
        yield _smooth(Point(spot.x - half, y), Point(spot.x - half * 0.3, y - 0.7), Point(spot.x + half * 0.4, y + 0.3),
                      Point(spot.x + half, y - 0.3))  # fmt: skip


def _fold(spot: Spot) -> Marks:
    """Upright folds side by side."""
    for n in (-1, 0, 1):
        x = spot.x + n * 1.5
        yield _smooth(Point(x, spot.y + 5.0 - abs(n)), Point(x + 0.5, spot.y + 1.5), Point(x - 0.5, spot.y - 2.0),
                      Point(x, spot.y - 5.0 + abs(n)))  # fmt: skip


def _slant(spot: Spot) -> Marks:
    """Ripples that run slantwise."""
    for n in range(4):
        low = Point(spot.x - 4.6, spot.y - 6.0 + 3.0 * n)
        yield _smooth(
            low, Point(low.x + 3.0, low.y + 2.6), Point(low.x + 5.6, low.y + 3.4), Point(low.x + 8.6, low.y + 6.0)
        )


def _pucker(spot: Spot) -> Marks:
    """Short folds about a point."""
    for n in range(8):
        way = Point(math.cos(n * math.pi / 4 + 0.3), math.sin(n * math.pi / 4 + 0.3))
        yield polyline((add(spot.at, scaled(way, 1.0)), add(spot.at, scaled(way, 3.2 if n % 2 else 2.4))))


def _pull(spot: Spot) -> Marks:
    """Folds that run to a point from below and from the side; at a lacing edge, arrows along the lace."""
    if spot.half > 10.0:
        for y in (9.0, 1.0, -7.0):
            yield from _arrow(Point(spot.x + 2.4, y), Point(spot.x + 8.4, y))
        return
    inward = -1.0 if spot.x > PULLED_INWARD_CM else 1.0
    for angle in (-1.25, -0.85, -0.45, -0.05):
        way = Point(inward * math.cos(angle), math.sin(angle))
        yield _smooth(add(spot.at, scaled(way, 1.4)), add(add(spot.at, scaled(way, 4.4)), scaled(across(way), 0.5)),
                      add(spot.at, scaled(way, 7.6)))  # fmt: skip


def _strains(spot: Spot) -> Marks:
    """Stitches drawn open along the edge."""
    for n in range(4):
        y = spot.y + 6.0 - 4.0 * n
        yield _smooth(Point(spot.x + 0.9, y + 1.5), Point(spot.x + 2.1, y), Point(spot.x + 0.9, y - 1.5))
        for way in (-0.9, 0.0, 0.9):
            yield polyline((Point(spot.x + 1.0, y + way * 0.6), Point(spot.x + 5.4, y + way * 2.0)))


def _opens(spot: Spot) -> Marks:
    """Two edges that part: at the middle the whole edge, elsewhere slits that stand wide."""
    if spot.out == (0.0, -1.0):
        for x in (-4.4, 0.0, 4.4):
            top = Point(spot.x + x * 0.7, spot.y + 7.2)
            feet = Point(spot.x + x * 1.15 - 1.3, spot.y - 4.6), Point(spot.x + x * 1.15 + 1.3, spot.y - 4.6)
            yield Area(((top, *feet),))
            yield polyline((feet[0], top, feet[1]))
        return
    high, wide = min(spot.half, 9.0), 1.5
    for n in (-1, 1) if spot.half > 9.0 else (0,):
        y = spot.y + n * high * 0.72
        ring = [Point(0, y + high * 0.6), Point(-wide, y), Point(0, y - high * 0.6), Point(wide, y)]
        shown = [Point(spot.x + p.x, p.y) for p in ring]
        yield Area((tuple(shown),))
        yield _smooth(shown[0], shown[1], shown[2])
        yield _smooth(shown[0], shown[3], shown[2])


def _gap_form(top: float, waist: float, foot: float) -> Callable[[float], tuple[float, float]]:
    """Half gaps at the top, the waist and the foot of the lacing."""

    def form(height: float) -> tuple[float, float]:
        up, down = max(0.0, min(1.0, height / 17.0)), max(0.0, min(1.0, -height / 12.0))
        half = waist + (top - waist) * up**1.3 + (foot - waist) * down**1.3
        return -half, half

    return form


def _slanting(height: float) -> tuple[float, float]:
    by = (height - 2.0) * 0.16 + 0.6
    return by - 1.5, by + 1.5


def _leaning(height: float) -> tuple[float, float]:
    return -1.5, 1.5 + (17.0 - height) * 0.13


GAP_FORMS: Mapping[PictureMark, Callable[[float], tuple[float, float]]] = {
    "gap-closed": _gap_form(0.0, 0.0, 0.0),
    "gap-narrow": _gap_form(0.8, 0.8, 0.8), "gap-wide": _gap_form(4.0, 4.0, 4.0),
    "gap-widens-down": _gap_form(0.7, 2.2, 4.6), "gap-widens-up": _gap_form(4.8, 2.2, 0.7),
    "gap-bows": _gap_form(0.9, 4.0, 0.9), "gap-pinches": _gap_form(3.8, 0.7, 3.8), "gap-slants": _slanting,
    "leans": _leaning, "gap-shrinks": _gap_form(1.2, 1.2, 1.2),
}  # fmt: skip
"""How the lacing edges lie for each mark that is about the gap."""


def gap_form(mark: PictureMark, spot: Spot) -> Callable[[float], tuple[float, float]] | None:
    """How the lacing edges lie: all the way, or drawn in or out at the spot's height alone; None where it is even."""
    if mark not in ("gap-narrow", "gap-wide") or spot.half >= WHOLE_GAP_CM:
        return GAP_FORMS.get(mark)
    there = 2.4 if mark == "gap-wide" else -1.3

    def form(height: float) -> tuple[float, float]:
        half = 1.8 + there * math.exp(-(((height - spot.y) / 7.0) ** 2))
        return -half, half

    return form


def _gap_there(spot: Spot, *, wide: bool) -> Marks:
    """Arrows at one height, away from one another where the gap is wide, towards one another where it is narrow."""
    near, far = (4.8, 9.4) if wide else (2.4, 7.4)
    for way in (-1.0, 1.0):
        start, end = (near, far) if wide else (far, near)
        yield from _arrow(Point(way * start, spot.y), Point(way * end, spot.y))


def _gap_arrows(form: PictureMark) -> Callable[[Spot], Marks]:
    def draw(spot: Spot) -> Marks:
        if form in ("gap-narrow", "gap-wide") and spot.half < WHOLE_GAP_CM:
            yield from _gap_there(spot, wide=form == "gap-wide")
        elif form == "gap-shrinks":
            for y in (9.0, 2.0, -5.0):
                for way in (-1.0, 1.0):
                    yield from _arrow(Point(way * 8.0, y), Point(way * 3.2, y))

    return draw


def _none(spot: Spot) -> Marks:
    yield from ()


def _spreads(spot: Spot) -> Marks:
    """Two edges that spring apart."""
    for way in (-1.0, 1.0):
        yield _smooth(Point(way * 1.0, spot.y + 14.0), Point(way * 4.4, spot.y), Point(way * 2.4, spot.y - 15.0))
        yield from _arrow(Point(way * 4.8, spot.y), Point(way * 10.0, spot.y))


def _short(spot: Spot) -> Marks:
    """Two edges that do not come together, and the way between them."""
    for way in (-1.0, 1.0):
        yield polyline((Point(way * 3.4, spot.y + 14.0), Point(way * 3.4, spot.y - 15.0)))
        yield from _arrow(Point(0.0, spot.y), Point(way * 3.0, spot.y))


def _rolls(spot: Spot) -> Marks:
    """An edge that turns over, curl by curl."""
    for y in (8.0, 1.0, -6.0):
        turn = [Point(spot.x + 1.4 + 1.9 * (1 - n / 9) * math.cos(n * 0.9), y + 1.9 * (1 - n / 9) * math.sin(n * 0.9))
                for n in range(8)]  # fmt: skip
        yield _smooth(Point(spot.x + 6.4, y - 1.4), *turn)


def _bump(spot: Spot, high: float) -> Marks:
    """Flesh that stands out between two ends."""
    half = max(2.2, spot.half)
    base = _off(spot, 0.0, -half), _off(spot, 0.0, half)
    top = _off(spot, high * 0.85, -half * 0.6), _off(spot, high, 0.0), _off(spot, high * 0.85, half * 0.6)
    yield Area(((base[0], *top, base[1]),))
    yield _smooth(base[0], *top, base[1])


def _flesh(spot: Spot) -> Marks:
    yield from _bump(spot, 3.0)


def _bulges(spot: Spot) -> Marks:
    yield from _bump(spot, 2.6)


def _digs_in(spot: Spot) -> Marks:
    """An arrow into the body, and the mark it leaves."""
    yield from _arrow(_off(spot, 6.4), _off(spot, 0.4))
    yield _smooth(_off(spot, 0.4, -2.6), _off(spot, -0.7, 0.0), _off(spot, 0.4, 2.6))


def _pressed(spot: Spot) -> Marks:
    """Arrows side by side against the surface."""
    for side in (-3.4, 0.0, 3.4):
        yield from _arrow(_off(spot, 6.4, side), _off(spot, 0.6, side))


def _stands_off(spot: Spot) -> Marks:
    """The edge bowed away from the body, and the room between."""
    half = max(3.4, spot.half)
    bow = ((0.0, -1.4), (1.9, -0.8), (3.0, 0.0), (1.9, 0.8), (0.0, 1.4))
    yield _smooth(*(_off(spot, out, half * side) for out, side in bow))
    yield from _arrow(_off(spot, -0.6), _off(spot, 2.6))


def _slack(spot: Spot) -> Marks:
    """Room at both sides of the figure."""
    half = min(spot.half, 15.0)
    for way in (-1.0, 1.0):
        x = spot.x + way * half
        yield polyline(
            (Point(x + way * 3.0, spot.y + 5.0), Point(x + way * 2.4, spot.y), Point(x + way * 3.4, spot.y - 5.0))
        )
        yield from _arrow(Point(x - way * 3.4, spot.y), Point(x + way * 1.9, spot.y))


def _upright(spot: Spot, way: float) -> Marks:
    """An arrow up or down from the line where it should lie."""
    long = 7.0 if spot.half > WHOLE_GAP_CM else 4.0
    yield polyline((Point(spot.x - 3.0, spot.y - way * long), Point(spot.x + 3.0, spot.y - way * long)))
    yield from _arrow(Point(spot.x, spot.y - way * long), Point(spot.x, spot.y + way * (long + 0.6)))


def _rises(spot: Spot) -> Marks:
    yield from _upright(spot, 1.0)


def _falls(spot: Spot) -> Marks:
    yield from _upright(spot, -1.0)


def _uneven(spot: Spot) -> Marks:
    """A level higher on one side than on the other."""
    half = max(spot.half, 6.0)
    yield polyline((Point(-spot.x - half * 0.4, spot.y + 2.4), Point(spot.x + half * 0.4, spot.y - 2.4)))
    yield from _arrow(Point(-spot.x, spot.y - 2.0), Point(-spot.x, spot.y + 2.0))
    yield from _arrow(Point(spot.x, spot.y + 2.6), Point(spot.x, spot.y - 1.8))


def _turns(spot: Spot) -> Marks:
    """An arrow round the body, or round the seam or bone."""
    wide = spot.half if spot.half > 10.0 else 4.0
    low = [Point(spot.x + wide * 1.15 * math.cos(a), spot.y + wide * 0.34 * math.sin(a))
           for a in (-3.4, -2.8, -2.2, -1.6, -1.0, -0.4, 0.2)]  # fmt: skip
    yield _smooth(*low)
    yield arrow_head(low[-1], low[-2], HEAD_CM)


def _tips(spot: Spot) -> Marks:
    """The upright, and the line that she leans along."""
    foot, head = spot.y - 21.0, spot.y + 22.0
    yield polyline((Point(3.0, foot), Point(3.0, head)))
    yield polyline((Point(3.0, foot), Point(-5.0, head)))
    yield from _arrow(Point(2.6, head - 5.0), Point(-3.0, head - 5.0))


def _aside(spot: Spot) -> Marks:
    """The line where it lies, beside the one that it should follow."""
    half = min(spot.half, 9.0)
    yield _smooth(Point(spot.x + 3.4, spot.y + half), Point(spot.x + 3.8, spot.y), Point(spot.x + 4.6, spot.y - half))
    yield from _arrow(Point(spot.x + 0.4, spot.y), Point(spot.x + 3.4, spot.y))


def _misses(spot: Spot) -> Marks:
    """The fullest place as a ring, the shaping's point as a cross beside it."""
    yield _ring(spot.at, 1.6)
    x, y = spot.x - 4.4, spot.y - 2.6
    yield polyline((Point(x - 1.2, y - 1.2), Point(x + 1.2, y + 1.2)))
    yield polyline((Point(x - 1.2, y + 1.2), Point(x + 1.2, y - 1.2)))


def _bends(spot: Spot) -> Marks:
    """A bone with a corner in it."""
    half = min(spot.half, 8.0)
    yield polyline(
        (Point(spot.x - 0.6, spot.y + half), Point(spot.x + 2.0, spot.y), Point(spot.x - 0.9, spot.y - half))
    )
    yield from _arrow(Point(spot.x - 5.0, spot.y), Point(spot.x + 1.2, spot.y))


def _pokes(spot: Spot) -> Marks:
    """A bone that stands out beyond the edge."""
    a, b = _off(spot, -7.0, 0.0), _off(spot, 2.8, 0.0)
    side = scaled(across(unit(sub(b, a))), 0.7)
    yield polyline((add(a, side), add(b, side), sub(b, side), sub(a, side)))
    for turned in (-0.7, 0.0, 0.7):
        way = unit(add(spot.outward, scaled(across(unit(spot.outward)), turned)))
        yield polyline((add(b, scaled(way, 0.9)), add(b, scaled(way, 2.8))))


def _laps(spot: Spot) -> Marks:
    """Part over part."""
    for x, drop in ((-2.6, 0.0), (1.4, 0.7)):
        corners = [Point(spot.x + x, spot.y + 7.0), Point(spot.x + x - 1.6, spot.y - 4.0 - drop),
                   Point(spot.x + x + 3.6, spot.y - 4.0 - drop), Point(spot.x + x + 2.0, spot.y + 7.0)]  # fmt: skip
        yield Area((tuple(corners),))
        yield polyline((*corners, corners[0]), closed=True)


def _shows(spot: Spot) -> Marks:
    """A patch that should be covered."""
    half = spot.half
    corners = [Point(spot.x + x, spot.y + y) for x, y in ((1.0, 9.0), (half, 9.0), (half * 0.8, -9.0), (1.0, -9.0))]
    yield Area((tuple(corners),))
    for n in range(6):
        y = spot.y - 9.0 + 3.0 * n
        yield polyline((Point(spot.x + 1.0, y), Point(spot.x + half * 0.85, y + 2.6)))


def _sore(spot: Spot) -> Marks:
    """Rings and rays about the place."""
    yield _ring(spot.at, 1.2)
    yield _ring(spot.at, 2.6)
    for n in range(8):
        way = Point(math.cos(n * math.pi / 4), math.sin(n * math.pi / 4))
        yield polyline((add(spot.at, scaled(way, 3.5)), add(spot.at, scaled(way, 5.2))))


MARKS: Mapping[PictureMark, Callable[[Spot], Marks]] = {
    "crease": _crease, "fold": _fold, "slant": _slant, "pucker": _pucker, "pull": _pull, "strains": _strains,
    "opens": _opens, **{form: _gap_arrows(form) for form in GAP_FORMS}, "leans": _none, "spreads": _spreads,
    "short": _short, "rolls": _rolls, "flesh-over-edge": _flesh, "bulges": _bulges, "digs-in": _digs_in,
    "pressed": _pressed, "stands-off": _stands_off, "slack": _slack, "rises": _rises, "falls": _falls,
    "uneven": _uneven, "turns": _turns, "tips": _tips, "aside": _aside, "misses": _misses, "bends": _bends,
    "pokes": _pokes, "laps": _laps, "shows": _shows, "sore": _sore,
}  # fmt: skip
ONCE: frozenset[PictureMark] = frozenset({*GAP_FORMS, "uneven", "sore", "turns", "slant", "pull"})
"""Marks drawn on one side alone, even of a place that stands on both."""


def drawn_marks(mark: PictureMark, spot: Spot) -> Marks:
    """The mark at its place, on both sides where the place is on both."""
    yield from MARKS[mark](spot)
    if spot.paired and mark not in ONCE:
        yield from map(_over, MARKS[mark](spot))


def _over(mark: Mark) -> Mark:
    """The mark on the other side of the middle."""
    match mark:
        case Path():
            return replace(mark, segments=tuple(moved(segment, Affine(xx=-1.0)) for segment in mark.segments))
        case Area():
            return Area(tuple(tuple(Point(-p.x, p.y) for p in ring) for ring in mark.rings))
        case _:
            return mark
