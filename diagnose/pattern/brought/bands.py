"""Lines that a drawing program has made filled shapes ("stroke to path"): each taken back to the line down its middle.

A line made a shape is a long narrow closed one; an outline made a shape is two closed lines of one element, the one
just inside the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, groupby, pairwise
from typing import TYPE_CHECKING

from msgspec.structs import replace

from diagnose.pattern.brought.sketch import Sketch, Stroke, without_idle_steps
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.outline import Line, Point, Segment
from diagnose.sentences import counted

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["without_bands"]

WIDEST_LINE_MM = 2.5
"""No line is drawn wider; paper that is narrower is no piece."""

INKED_LINE_RATIO, RING_RATIO = 1 / 15, 1 / 80
"""… and wider than these parts of its length, so that pieces read in too small a unit are none."""

LEAST_BAND_MM = 15.0
MOST_RUNS = 200
"""An element of more closed lines is no pattern whose outlines were made shapes."""

FLAT_TOL_MM = 0.02
STEP_MM = 1.0
_SAID = "line[ was drawn as a filled shape|s were drawn as filled shapes]: each was taken to run down the middle."


def without_bands(sketch: Sketch) -> Sketch:
    """The sketch with the lines that were made shapes as lines again."""
    made: list[Stroke] = []
    count = 0
    for _, group in groupby(sketch.strokes, key=lambda stroke: stroke.element):
        own = list(group)
        lines = [*_rings(own)] if len(own) > 1 and own[0].element else []
        lines += [line for stroke in own if (line := _middle_of(stroke))] if not lines else []
        count += len(lines)
        gone = {id(stroke) for line in lines for stroke in line[1:]}
        made += [stroke for stroke in own if id(stroke) not in gone] + [line[0] for line in lines]
    return replace(sketch, strokes=tuple(made), said=(*sketch.said, counted(count, _SAID))) if count else sketch


def _rings(own: Sequence[Stroke]) -> Iterator[tuple[Stroke, ...]]:
    """The closed line midway between two of one element, with those two."""
    from shapely import Polygon  # late: it takes longer to import than a pattern takes to read

    closed = [stroke for stroke in own if stroke.closed and not stroke.data and len(stroke.segments) > 1]
    shapes = {id(stroke): shape for stroke in closed if (shape := Polygon(_points(stroke))).is_valid}
    if len(shapes) > MOST_RUNS:
        return
    for one, other in combinations((stroke for stroke in closed if id(stroke) in shapes), 2):
        inner, outer = sorted((one, other), key=lambda stroke: shapes[id(stroke)].area)
        ring = _between(shapes[id(inner)], shapes[id(outer)])
        if ring:
            yield replace(outer, segments=_lines([*ring, ring[0]])), inner, outer


def _between(inner: Polygon, outer: Polygon) -> list[Point]:
    """The corners of the line midway between the two; none where they do not run close beside each other."""
    if not (outer.contains(inner) and inner.buffer(WIDEST_LINE_MM, join_style="mitre").contains(outer)):
        return []
    wide = 2.0 * (outer.area - inner.area) / (outer.length + inner.length)
    if wide > RING_RATIO * outer.length:
        return []
    middle = outer.buffer(-wide / 2.0, join_style="mitre")
    return [Point(x, y) for x, y in middle.exterior.coords[:-1]] if middle.geom_type == "Polygon" else []


def _middle_of(stroke: Stroke) -> tuple[Stroke, Stroke] | None:
    """The line down the middle of a narrow closed one, with that one; None where it is none."""
    if not stroke.closed or stroke.data or len(stroke.segments) < 3:
        return None
    points = _points(stroke)
    across = [distance(a, b) for a, b in pairwise([*points, points[0]])]
    half = sum(across) / 2.0
    if half < LEAST_BAND_MM:
        return None
    from shapely import LineString, Polygon, get_coordinates

    shape = Polygon(points)
    if not shape.is_valid or not 0.0 < shape.area / half <= min(WIDEST_LINE_MM, INKED_LINE_RATIO * half):
        return None
    low, high = _ends(points)
    sides = LineString(points[low : high + 1]), LineString([*points[high:], *points[: low + 1]][::-1])
    count = max(2, round(half / STEP_MM)) if len(points) > 4 else 1
    shares = [n / count for n in range(count + 1)]
    one, other = (get_coordinates(side.interpolate(shares, normalized=True)) for side in sides)
    middle = [Point(x, y) for x, y in ((one + other) / 2.0).tolist()]
    return replace(stroke, segments=_lines(middle), closed=False), stroke


def _ends(points: Sequence[Point]) -> tuple[int, int]:
    """Of a narrow closed line, one corner at each of its ends: of the first corner the farthest, and of that one."""
    one = max(range(len(points)), key=lambda n: distance(points[0], points[n]))
    other = max(range(len(points)), key=lambda n: distance(points[one], points[n]))
    return min(one, other), max(one, other)


def _points(stroke: Stroke) -> list[Point]:
    return [point for segment in stroke.segments for point in flatten(segment, FLAT_TOL_MM)[:-1]]


def _lines(points: Sequence[Point]) -> tuple[Segment, ...]:
    return without_idle_steps(Line(a, b) for a, b in pairwise(points))
