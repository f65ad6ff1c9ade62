"""Polylines against each other: how near they come, and where they cross. Millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations, pairwise

from diagnose.pattern.geometry.bezier import box_of
from diagnose.pattern.geometry.plane import across, add, along, cross, distance, dot, scaled, sub, unit
from diagnose.pattern.outline import Point, Polyline

__all__ = [
    "at_both_ends",
    "boxes_near",
    "crosses",
    "evenest_line",
    "first_crossing",
    "leg_gap",
    "line_gap",
    "part_along",
]

PARALLEL_SINE = 1e-12
ALONG_MM = 1e-6


def boxes_near(first: Sequence[Point], second: Sequence[Point], apart: float) -> bool:
    """A quick look whether two polylines can come within that distance of each other."""
    return box_of([first]).near(box_of([second]), apart)


def line_gap(a: Sequence[Point], b: Sequence[Point]) -> float:
    """The least distance between two polylines; 0 where they cross."""
    if crosses(a, b):
        return 0.0
    apart = [leg_gap(p, *leg) for p in a for leg in pairwise(b)]
    return min(apart + [leg_gap(p, *leg) for p in b for leg in pairwise(a)])


def leg_gap(point: Point, a: Point, b: Point) -> float:
    """How far the point is from the straight line between two points."""
    (px, py), (ax, ay), (bx, by) = point, a, b
    dx, dy, ox, oy = bx - ax, by - ay, px - ax, py - ay
    square = dx * dx + dy * dy
    part = min(1.0, max(0.0, (ox * dx + oy * dy) / square)) if square > 0.0 else 0.0
    return math.hypot(ox - part * dx, oy - part * dy)


def at_both_ends(line: Polyline, change: Callable[[Polyline], Polyline]) -> Polyline:
    """The line with its last end changed so, and then its first."""
    return change(change(line)[::-1])[::-1]


def part_along(legs: Sequence[tuple[Point, Point]], part: float) -> Point:
    """The point at that part (0 to 1) of the length of the straight legs, one after the other."""
    left = part * sum(distance(a, b) for a, b in legs)
    for a, b in legs:
        leg = distance(a, b)
        if left <= leg and leg > 0.0:
            return along(a, b, left / leg)
        left -= leg
    return legs[-1][1]


def crosses(a: Sequence[Point], b: Sequence[Point]) -> bool:
    """Whether two polylines cross or touch."""
    return any(first_crossing(p, q, b) for p, q in pairwise(a))


def first_crossing(a: Point, b: Point, line: Sequence[Point]) -> Point | None:
    """The first point of the straight line from `a` to `b` that lies on the polyline; None when they are apart."""
    found = [s for c, d in pairwise(line) if (s := _part_crossed(a, b, c, d=d)) is not None]
    return along(a, b, min(found)) if found else None


def _part_crossed(a: Point, b: Point, c: Point, d: Point) -> float | None:
    """How far along a→b (0 to 1) it first meets c→d."""
    turn = cross(sub(b, a), sub(d, c))
    if abs(turn) <= PARALLEL_SINE * distance(a, b) * distance(c, d):
        return _part_shared(a, b, c, d=d)
    s, t = cross(sub(c, a), sub(d, c)) / turn, cross(sub(c, a), sub(b, a)) / turn
    return s if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0 else None


def _part_shared(a: Point, b: Point, c: Point, d: Point) -> float | None:
    """Where two lines of one direction meet: only where the one lies along the other."""
    span = sub(b, a)
    square = dot(span, span)
    if square == 0.0 or abs(cross(sub(c, a), span)) > ALONG_MM * math.sqrt(square):
        return None
    ends = sorted(dot(sub(p, a), span) / square for p in (c, d))
    return max(0.0, ends[0]) if ends[0] <= 1.0 and ends[1] >= 0.0 else None


def evenest_line(
    start: Point, end: Point, between: Sequence[Point], through: Point | None = None
) -> tuple[Point, Point]:
    """The straight line from which the greatest distance of any of the points, square to start→end, is least.

    Of the lines that do best, it is parallel to two of the points (Chebyshev's line of best fit); of those that go
    through one place, it lies as far from two of them.

    Args:
        start: one point.
        end: another, at least 1/1000 mm from it.
        between: the others.
        through: a place that the line goes through.

    Returns:
        Two points of it, abreast of start and end.
    """
    ahead = unit(sub(end, start))

    def place(point: Point) -> tuple[float, float]:
        return dot(sub(point, start), ahead), cross(ahead, sub(point, start))

    places = [place(p) for p in (start, *between, end)]
    if through is None:
        slopes = {(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(sorted(places), 2) if b[0] - a[0] > ALONG_MM}
    else:
        x, y = place(through)
        off = [(mm - x, height - y) for mm, height in places]
        slopes = {
            (b[1] + sign * a[1]) / (b[0] + sign * a[0])
            for a, b in combinations(off, 2)
            for sign in (1.0, -1.0)
            if abs(b[0] + sign * a[0]) > ALONG_MM
        }

    def strays(slope: float) -> tuple[float, float]:
        """How far the line of this slope strays at most, and how high it lies at the start."""
        heights = [height - slope * mm for mm, height in places]
        at = (max(heights) + min(heights)) / 2.0 if through is None else y - slope * x
        return max(abs(height - at) for height in heights), at

    slope = min(slopes, key=strays)
    first = add(start, scaled(across(ahead), strays(slope)[1]))
    size = distance(start, end)
    return first, add(first, add(scaled(ahead, size), scaled(across(ahead), slope * size)))
