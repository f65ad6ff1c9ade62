"""One segment, straight or cubic: its points, direction, parts, flattening and area.

Millimetres, y upwards. `t` runs from 0 at a segment's start to 1 at its end; on a cubic it is not in proportion to
length.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from diagnose.pattern.geometry.plane import Affine, add, along, cross, distance, scaled, spot, sub, unit
from diagnose.pattern.outline import Cubic, Line, Piece, Point, Segment

__all__ = [
    "Box", "area", "around", "box_distance", "box_of", "controls", "derivative", "flatten", "hermite", "may_be_near",
    "moved", "outline_points", "part", "point_at", "quadratic_roots", "reach", "reverse", "split", "tangent",
    "turning_ts",
]  # fmt: skip


def point_at(segment: Segment, t: float) -> Point:
    """The point at `t`; exact at 0 and 1."""
    if isinstance(segment, Line):
        return along(segment.start, segment.end, t)
    if t == 1.0:
        return segment.end
    u = 1.0 - t
    w0, w1, w2, w3 = u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = segment.start, segment.c1, segment.c2, segment.end
    return spot((w0 * x0 + w1 * x1 + w2 * x2 + w3 * x3, w0 * y0 + w1 * y1 + w2 * y2 + w3 * y3))


def derivative(segment: Segment, t: float) -> Point:
    """The change of the point for a change of `t`, in mm."""
    if isinstance(segment, Line):
        return sub(segment.end, segment.start)
    u = 1.0 - t
    w0, w1, w2 = 3.0 * u * u, 6.0 * u * t, 3.0 * t * t
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = segment.start, segment.c1, segment.c2, segment.end
    return spot((w0 * (x1 - x0) + w1 * (x2 - x1) + w2 * (x3 - x2), w0 * (y1 - y0) + w1 * (y2 - y1) + w2 * (y3 - y2)))


def tangent(segment: Segment, t: float) -> Point:
    """The direction of travel at `t`, of length one; (0, 0) for a segment of no length.

    Where a handle has no length, or at a cusp, it is the limit: at 1 of the direction before, elsewhere of that after.
    """
    if isinstance(segment, Line):
        return unit(sub(segment.end, segment.start))
    size = reach(segment)
    dx, dy = derivative(segment, t)
    speed = math.hypot(dx, dy)
    if speed > 1e-9 * size:
        return spot((dx / speed, dy / speed))
    here = point_at(segment, t)
    ahead = (segment.c1, segment.c2, segment.end)
    if t >= 0.5 and t > 1.0 - 1e-9:
        candidates = [sub(segment.end, p) for p in (segment.c2, segment.c1, segment.start)]
    elif t < 1e-9:
        candidates = [sub(p, segment.start) for p in ahead]
    else:
        rest = split(segment, t)[1]
        assert isinstance(rest, Cubic)
        candidates = [sub(p, here) for p in (rest.c2, rest.end)]
    return next((unit(c) for c in candidates if math.hypot(c.x, c.y) > 1e-9 * size), Point(0.0, 0.0))


def reach(segment: Cubic) -> float:
    """The length of the control polygon: never less than that of the curve."""
    return distance(segment.start, segment.c1) + distance(segment.c1, segment.c2) + distance(segment.c2, segment.end)


def controls(segment: Cubic) -> tuple[Point, Point, Point, Point]:
    """The four points of a cubic, in order."""
    return segment.start, segment.c1, segment.c2, segment.end


class Box(NamedTuple):
    """An upright rectangle."""

    left: float
    bottom: float
    right: float
    top: float

    def near(self, other: Box, within_mm: float) -> bool:
        """Whether what lies in the two boxes can come so near."""
        return (
            self.left - within_mm <= other.right and other.left - within_mm <= self.right
            and self.bottom - within_mm <= other.top and other.bottom - within_mm <= self.top
        )  # fmt: skip

    def holds(self, other: Box) -> bool:
        """Whether the other lies within it."""
        return (
            self.left <= other.left and self.bottom <= other.bottom
            and self.right >= other.right and self.top >= other.top
        )  # fmt: skip

    def shifted(self, dx: float, dy: float) -> Box:
        """The box moved so far."""
        return Box(self.left + dx, self.bottom + dy, self.right + dx, self.top + dy)

    def grown(self, by: float) -> Box:
        """The box with so much more on every side."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    @property
    def wide(self) -> float:
        """From its left to its right."""
        return self.right - self.left

    @property
    def high(self) -> float:
        """From its bottom to its top."""
        return self.top - self.bottom

    @property
    def middle(self) -> Point:
        """The place half-way across it and half-way up."""
        return Point((self.left + self.right) / 2.0, (self.bottom + self.top) / 2.0)

    def off(self, point: Point) -> float:
        """How far the point is outside it; 0 within."""
        return _off(*self, *point)


def box_of(lines: Iterable[Iterable[Point]]) -> Box:
    """The box of the points of segments or polylines, handles among them; they lie in it."""
    xs, ys = zip(*(point for line in lines for point in line), strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def around(boxes: Iterable[Box]) -> Box:
    """The box round boxes."""
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return Box(min(lefts), min(bottoms), max(rights), max(tops))


def box_distance(segment: Segment, point: Point) -> float:
    """How far the point is from the box of the segment's handles: never more than from the segment itself."""
    (x0, y0), (x1, y1) = segment.start, segment.end
    left, right = (x0, x1) if x0 < x1 else (x1, x0)
    low, high = (y0, y1) if y0 < y1 else (y1, y0)
    if isinstance(segment, Cubic):
        (x2, y2), (x3, y3) = segment.c1, segment.c2
        left, right, low, high = min(left, x2, x3), max(right, x2, x3), min(low, y2, y3), max(high, y2, y3)
    return _off(left, low, right, high, *point)


def may_be_near(segments: Iterable[Segment], point: Point, within_mm: float) -> bool:
    """A quick look whether the point can lie so near to one of the segments."""
    return any(box_distance(segment, point) <= within_mm for segment in segments)


def _off(left: float, low: float, right: float, high: float, x: float, y: float) -> float:
    dx = left - x if x < left else x - right if x > right else 0.0
    dy = low - y if y < low else y - high if y > high else 0.0
    return math.hypot(dx, dy)


def quadratic_roots(a: float, b: float, c: float) -> list[float]:
    """The real roots of a + b·t + c·t², without loss of digits; of a double one, both."""
    rest = b * b - 4.0 * a * c
    if rest < 0.0:
        return []
    q = -(b + math.copysign(math.sqrt(rest), b)) / 2.0
    return [over / under for over, under in ((q, c), (a, q)) if under != 0.0]


def turning_ts(h: Sequence[float]) -> list[float]:
    """Where the slope of a cubic of one coordinate (its four heights) is zero strictly inside 0..1, by growing t."""
    d0, d1, d2 = h[1] - h[0], h[2] - h[1], h[3] - h[2]
    return sorted({t for t in quadratic_roots(d0, 2.0 * (d1 - d0), d0 - 2.0 * d1 + d2) if 0.0 < t < 1.0})


def split(segment: Segment, t: float) -> tuple[Segment, Segment]:
    """The two parts, before and after `t` (de Casteljau: a cubic gives cubics)."""
    if isinstance(segment, Line):
        cut = along(segment.start, segment.end, t)
        return Line(segment.start, cut), Line(cut, segment.end)
    p01, p12, p23 = (
        along(segment.start, segment.c1, t), along(segment.c1, segment.c2, t), along(segment.c2, segment.end, t),
    )  # fmt: skip
    p012, p123 = along(p01, p12, t), along(p12, p23, t)
    cut = along(p012, p123, t)
    return Cubic(segment.start, p01, p012, cut), Cubic(cut, p123, p23, segment.end)


def part(segment: Segment, t0: float, t1: float) -> Segment:
    """The part from `t0` to `t1`, where 0 ≤ t0 < t1 ≤ 1."""
    head = segment if t1 >= 1.0 else split(segment, t1)[0]
    return head if t0 <= 0.0 else split(head, t0 / t1)[1]


def hermite(start: tuple[Point, Point], end: tuple[Point, Point], span: float = 1.0) -> Cubic:
    """The cubic from one place to another, each with the speed there, run through in `span`."""
    (p, out), (q, on) = start, end
    return Cubic(p, add(p, scaled(out, span / 3.0)), sub(q, scaled(on, span / 3.0)), q)


def reverse(segment: Segment) -> Segment:
    """The segment travelled the other way."""
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Cubic(segment.end, segment.c2, segment.c1, segment.start)


def moved(segment: Segment, transform: Affine) -> Segment:
    """The segment carried by an affine move; a cubic stays that cubic."""
    if isinstance(segment, Line):
        return Line(transform(segment.start), transform(segment.end))
    return Cubic(*(transform(p) for p in (segment.start, segment.c1, segment.c2, segment.end)))


def flatten(segment: Segment, tol_mm: float) -> list[Point]:
    """Points along the segment, both ends included, whose chords stay within `tol_mm` of it."""
    if isinstance(segment, Line):
        return [segment.start, segment.end]
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = segment.start, segment.c1, segment.c2, segment.end
    bend = max(math.hypot(x0 - 2.0 * x1 + x2, y0 - 2.0 * y1 + y2), math.hypot(x1 - 2.0 * x2 + x3, y1 - 2.0 * y2 + y3))
    # A chord of 1/n of a cubic leaves it by at most (d(d-1)/8)·bend/n², with d = 3 (the second-difference bound).
    count = max(1, math.ceil(math.sqrt(0.75 * bend / tol_mm)))
    ax, bx, cx = x3 - x0 + 3.0 * (x1 - x2), 3.0 * (x0 - 2.0 * x1 + x2), 3.0 * (x1 - x0)
    ay, by, cy = y3 - y0 + 3.0 * (y1 - y2), 3.0 * (y0 - 2.0 * y1 + y2), 3.0 * (y1 - y0)
    ts = [i / count for i in range(1, count)]
    inner = [spot((x0 + t * (cx + t * (bx + t * ax)), y0 + t * (cy + t * (by + t * ay)))) for t in ts]
    return [segment.start, *inner, segment.end]


def outline_points(piece: Piece, tol_mm: float) -> list[Point]:
    """The piece's outline as a ring of points within `tol_mm` of it; the first point is not repeated at the end."""
    return [p for edge in piece.edges for segment in edge.segments for p in flatten(segment, tol_mm)[:-1]]


def area(segments: Iterable[Segment]) -> float:
    """The area in mm² a run encloses (closed straight when it is open): positive counter-clockwise, exact."""
    total, base = 0.0, None
    for segment in segments:
        base = segment.start if base is None else base
        p, q = sub(segment.start, base), sub(segment.end, base)
        total += cross(p, q) / 2.0
        if isinstance(segment, Cubic):
            u, v, w = (sub(c, segment.start) for c in (segment.c1, segment.c2, segment.end))
            total += 0.15 * (cross(u, v) + cross(u, w) + 2.0 * cross(v, w))
    return total
