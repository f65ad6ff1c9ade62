"""Where a line meets a segment, and the place of a segment nearest to a point."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import chain

from diagnose.errors import FitError
from diagnose.pattern.geometry.bezier import point_at, turning_ts
from diagnose.pattern.geometry.plane import distance, dot, sub
from diagnose.pattern.outline import Cubic, Line, Point, Segment
from diagnose.pattern.tolerances import ON_OUTLINE_TOL_MM

__all__ = ["line_hits", "near_line", "nearest"]

ROUNDING_REL = 1e-14
ASIDE_MM = 1e-6
NEAREST_SAMPLES = 32
MOST_STEPS = 80
LEAST_STEP = 1e-15
# Denser towards the ends, and just inside them: where a handle has no length much happens there.
_LOOKED_AT = (
    1e-6,
    *((1.0 - math.cos(math.pi * i / NEAREST_SAMPLES)) / 2.0 for i in range(1, NEAREST_SAMPLES)),
    1.0 - 1e-6,
)


def line_hits(segment: Segment, a: Point, b: Point) -> list[tuple[float, float]]:
    """Where the endless line through `a` and `b` meets the segment.

    Returns:
        (t, s) by growing t: t on the segment, s along a→b (0 at a, 1 at b). A touch counts once. A segment that lies
        along the line gives its two ends.

    Raises:
        FitError: when `a` and `b` are one point.
    """
    (ax, ay), (bx, by) = a, b
    dx, dy = bx - ax, by - ay
    size = math.hypot(dx, dy)
    if size == 0.0:
        raise FitError.of(
            "line", "The two points of a line are one and the same.", "Give two different points.", code="one-point"
        )
    nx, ny = -dy / size, dx / size
    (x0, y0), (x1, y1) = segment.start, segment.end
    first, last = (x0 - ax) * nx + (y0 - ay) * ny, (x1 - ax) * nx + (y1 - ay) * ny
    heights: tuple[float, ...] = (first, last)
    if isinstance(segment, Cubic):
        (x2, y2), (x3, y3) = segment.c1, segment.c2
        heights = (first, (x2 - ax) * nx + (y2 - ay) * ny, (x3 - ax) * nx + (y3 - ay) * ny, last)
    # Most of what is asked lies wholly to one side; it is let go as early as may be.
    if (first > ASIDE_MM and min(heights) > ASIDE_MM) or (first < -ASIDE_MM and max(heights) < -ASIDE_MM):
        return []
    tol = ROUNDING_REL * max(1.0, *map(abs, chain(a, b, *segment)))
    square = size * size
    found = []
    for t in _roots(heights, tol):
        x, y = point_at(segment, t)
        found.append((t, ((x - ax) * dx + (y - ay) * dy) / square))
    return found


def near_line(segments: Sequence[Segment], a: Point, way: Point) -> Iterator[tuple[Segment, float, float]]:
    """The segments that can meet the endless line from `a` that way, and how high above it each begins and ends."""
    nx, ny = -way.y, way.x
    base = a.x * nx + a.y * ny
    for segment in segments:
        (x0, y0), (x3, y3) = segment.start, segment.end
        first, last = x0 * nx + y0 * ny - base, x3 * nx + y3 * ny - base
        low, high = (first, last) if first < last else (last, first)
        if isinstance(segment, Cubic):
            (x1, y1), (x2, y2) = segment.c1, segment.c2
            one, two = x1 * nx + y1 * ny - base, x2 * nx + y2 * ny - base
            low, high = min(low, one, two), max(high, one, two)
        if low <= ON_OUTLINE_TOL_MM and high >= -ON_OUTLINE_TOL_MM:
            yield segment, first, last


def _roots(heights: Sequence[float], tol: float) -> list[float]:
    """Where a polynomial in Bernstein form (two or four coefficients) is zero in 0..1, by growing t."""
    low, high = min(heights), max(heights)
    if low > tol or high < -tol:
        return []
    if low >= -tol and high <= tol:
        return [0.0, 1.0]
    if len(heights) == 2:
        return [_between(heights[0] / (heights[0] - heights[1]))]
    knots = [0.0, *turning_ts(heights), 1.0]
    values = [_bernstein(heights, t) for t in knots]
    found: list[float] = []
    for t0, t1, v0, v1 in zip(knots, knots[1:], values, values[1:], strict=False):
        if abs(v0) <= tol:
            found.append(t0)
        elif abs(v1) > tol and (v0 < 0.0) != (v1 < 0.0):
            found.append(_root_between(heights, t0, t1))
    if abs(values[-1]) <= tol:
        found.append(1.0)
    return found


def _between(t: float) -> float:
    return min(1.0, max(0.0, t))


def _bernstein(h: Sequence[float], t: float) -> float:
    u = 1.0 - t
    return u * u * u * h[0] + 3.0 * u * u * t * h[1] + 3.0 * u * t * t * h[2] + t * t * t * h[3]


def _root_between(h: Sequence[float], low: float, high: float) -> float:
    """The one root of a monotone stretch, by Newton kept inside its bracket."""
    h0, h1, h2, h3 = h
    d0, d1, d2 = 3.0 * (h1 - h0), 3.0 * (h2 - h1), 3.0 * (h3 - h2)

    def value_and_slope(t: float) -> tuple[float, float]:
        u = 1.0 - t
        value = u * u * (u * h0 + 3.0 * t * h1) + t * t * (3.0 * u * h2 + t * h3)
        return value, u * (u * d0 + 2.0 * t * d1) + t * t * d2

    return _newton(value_and_slope, low, high, rising=_bernstein(h, high) > 0.0)


def _newton(at: Callable[[float], tuple[float, float]], low: float, high: float, *, rising: bool) -> float:
    """The root between two places, from a function's value and slope; halved where Newton's step leaves them."""
    t = (low + high) / 2.0
    for _ in range(MOST_STEPS):
        value, slope = at(t)
        step = t - value / slope if slope != 0.0 else math.inf
        if value == 0.0 or abs(step - t) <= LEAST_STEP or high - low <= LEAST_STEP:
            return t
        if (value < 0.0) == rising:
            low = t
        else:
            high = t
        t = step if low < step < high else (low + high) / 2.0
    return t


def nearest(segment: Segment, point: Point) -> tuple[float, float]:
    """The `t` of the place nearest to `point`, and the distance in mm."""
    if isinstance(segment, Line):
        span = sub(segment.end, segment.start)
        square = dot(span, span)
        t = _between(dot(sub(point, segment.start), span) / square) if square > 0.0 else 0.0
        return t, distance(point_at(segment, t), point)
    away = _away(segment, point)
    slopes = [away(t)[0] for t in _LOOKED_AT]
    best = [0.0, 1.0]
    for t0, t1, s0, s1 in zip(_LOOKED_AT, _LOOKED_AT[1:], slopes, slopes[1:], strict=False):
        if s0 < 0.0 <= s1:
            best.append(_newton(away, t0, t1, rising=True))
    return min(((t, distance(point_at(segment, t), point)) for t in best), key=lambda found: found[1])


def _away(segment: Cubic, point: Point) -> Callable[[float], tuple[float, float]]:
    """Half the slope of the squared distance to `point` at `t`, and the change of that with `t`."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = segment.start, segment.c1, segment.c2, segment.end
    dx, dy = x0 - point.x, y0 - point.y
    cx, cy = 3.0 * (x1 - x0), 3.0 * (y1 - y0)
    bx, by = 3.0 * (x2 - x1) - cx, 3.0 * (y2 - y1) - cy
    ax, ay = (x3 - x0) - cx - bx, (y3 - y0) - cy - by

    def at(t: float) -> tuple[float, float]:
        x, y = ((ax * t + bx) * t + cx) * t + dx, ((ay * t + by) * t + cy) * t + dy
        u, v = (3.0 * ax * t + 2.0 * bx) * t + cx, (3.0 * ay * t + 2.0 * by) * t + cy
        return x * u + y * v, u * u + v * v + x * (6.0 * ax * t + 2.0 * bx) + y * (6.0 * ay * t + 2.0 * by)

    return at
