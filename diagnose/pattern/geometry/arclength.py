"""Length along one segment, to 1e-9 of itself."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.bezier import derivative, quadratic_roots, reach
from diagnose.pattern.geometry.plane import distance, dot, sub
from diagnose.pattern.kept import kept
from diagnose.pattern.outline import Cubic, Line, Point, Segment

__all__ = ["length", "length_to", "t_at_length"]

LENGTH_LEAST_TOL_MM = 1e-14
SLOW_RATIO = 0.05
KINK_STEPS = (0.0, *(sign * 4.0**n for n in range(6) for sign in (-1.0, 1.0)))
DEEPEST = 48
MOST_KEPT = 32_768
RULERS_KEPT = 512


def _gauss_legendre(count: int) -> tuple[tuple[float, float], ...]:
    """Nodes in 0..1 and weights of the Gauss-Legendre rule (Newton on the Legendre recurrence)."""
    rule = []
    for i in range(count):
        x = math.cos(math.pi * (i + 0.75) / (count + 0.5))
        for _ in range(8):
            below, here = 1.0, x
            for k in range(2, count + 1):
                below, here = here, ((2 * k - 1) * x * here - (k - 1) * below) / k
            slope = count * (x * here - below) / (x * x - 1.0)
            x -= here / slope
        rule.append(((x + 1.0) / 2.0, 1.0 / ((1.0 - x * x) * slope * slope)))
    return tuple(rule)


_Rule = tuple[tuple[float, float], ...]


class _Pair(Struct, frozen=True):
    """Two rules: where they agree to within that part of the curve's reach, the finer is taken.

    On a smooth curve it is nearer still. Near a cusp two rules err by as much, and may agree by accident: so there they
    have to agree far better than the length has to be.
    """

    finer: _Rule
    coarser: _Rule
    agree_ratio: float


_FINE = _Pair(_gauss_legendre(12), _gauss_legendre(8), 2e-11)
_COARSE = _Pair(_gauss_legendre(6), _gauss_legendre(4), 1e-9)
GENTLE_RATIO = 0.15
"""Where no leg is further from a third of the chord than this part of it, the coarse pair does for the curve: where
its rules agree they are within 1e-10 of the length. Most curves of a pattern are so gentle."""


def length(segment: Segment) -> float:
    """The length in mm, to 1e-9 of itself (adaptive Gauss-Legendre for a cubic)."""
    if isinstance(segment, Line):
        return distance(segment.start, segment.end)
    return _whole(segment)


def length_to(segment: Segment, t: float) -> float:
    """The length from the start to `t`."""
    if t <= 0.0:
        return 0.0
    if t >= 1.0 or isinstance(segment, Line):
        return length(segment) * t
    return _arc(segment, 0.0, t)


@kept(MOST_KEPT)
def _whole(segment: Cubic) -> float:
    # An operation asks for the same lengths over and over; a cubic is a value, so its length may be kept.
    return _arc(segment, 0.0, 1.0)


def _arc(segment: Cubic, t0: float, t1: float) -> float:
    """The length from `t0` to `t1`."""
    return _ruler(segment)(t0, t1)


@kept(RULERS_KEPT)
def _ruler(segment: Cubic) -> Callable[[float, float], float]:
    """What gives the length from one `t` to another; all that holds for the whole curve is worked out once."""
    a, b, c = sub(segment.c1, segment.start), sub(segment.c2, segment.c1), sub(segment.end, segment.c2)
    ax, bx, cx = 3.0 * a.x, 6.0 * (b.x - a.x), 3.0 * (a.x - 2.0 * b.x + c.x)
    ay, by, cy = 3.0 * a.y, 6.0 * (b.y - a.y), 3.0 * (a.y - 2.0 * b.y + c.y)
    # The square of the speed is a polynomial, but as a sum of two squares it keeps its digits near a cusp.

    def speed(t: float) -> float:
        return math.hypot(ax + t * (bx + t * cx), ay + t * (by + t * cy))

    def rule(u0: float, u1: float, nodes: _Rule) -> float:
        wide, total = u1 - u0, 0.0
        for node, weight in nodes:
            t = u0 + wide * node
            x, y = ax + t * (bx + t * cx), ay + t * (by + t * cy)
            total += weight * math.sqrt(x * x + y * y)
        return total * wide

    third = Point((segment.end.x - segment.start.x) / 3.0, (segment.end.y - segment.start.y) / 3.0)
    slack = GENTLE_RATIO * math.hypot(third.x, third.y)
    pairs = (_COARSE, _FINE) if all(distance(leg, third) <= slack for leg in (a, b, c)) else (_FINE,)
    size = reach(segment)
    # Where the curve turns (nearly) on the spot its speed has a kink, which no smooth rule gets right, and which two
    # rules may both step over. The stretch ends there, and beside it in steps that grow from the width of the kink.
    # With no two of its legs set against each other it nowhere does.
    if min(dot(a, b), dot(b, c), dot(a, c)) > 0.0:
        return lambda t0, t1: _adaptive(rule, pairs, (t0, t1), size=size, depth=DEEPEST)
    turns = (*quadratic_roots(ax, bx, cx), *quadratic_roots(ay, by, cy))
    slow = [(t, now) for t in turns if (now := speed(t)) < SLOW_RATIO * size]
    kinks = [(t, now / (math.hypot(bx + 2.0 * cx * t, by + 2.0 * cy * t) or math.inf)) for t, now in slow]

    def between(t0: float, t1: float) -> float:
        stops = {t + step * wide for t, wide in kinks if t0 < t < t1 for step in KINK_STEPS}
        ends = [t0, *sorted(t for t in stops if t0 < t < t1), t1]
        return sum(_adaptive(rule, pairs, span, size=size, depth=DEEPEST) for span in pairwise(ends))

    return between


def _adaptive(
    rule: Callable[[float, float, _Rule], float], pairs: Sequence[_Pair], span: tuple[float, float], size: float,
    depth: int,
) -> float:  # fmt: skip
    """The integral; where no pair of rules agrees, that of the two halves."""
    t0, t1 = span
    for pair in pairs:
        whole = rule(t0, t1, pair.finer)
        if abs(rule(t0, t1, pair.coarser) - whole) <= pair.agree_ratio * size + LENGTH_LEAST_TOL_MM:
            return whole
    if depth == 0:
        return whole
    middle = (t0 + t1) / 2.0
    return sum(_adaptive(rule, pairs, half, size=size, depth=depth - 1) for half in ((t0, middle), (middle, t1)))


@kept(MOST_KEPT)
def t_at_length(segment: Segment, mm: float) -> float:
    """The `t` at that length from the start; lengths beyond an end give that end."""
    whole = length(segment)
    if mm <= 0.0 or whole == 0.0:
        return 0.0
    if mm >= whole:
        return 1.0
    if isinstance(segment, Line):
        return mm / whole
    low, high, t, done, at = 0.0, 1.0, mm / whole, 0.0, 0.0
    between = _ruler(segment)
    for _ in range(60):
        done += between(at, t) if t > at else -between(t, at)
        at = t
        low, high = (t, high) if done < mm else (low, t)
        slope = derivative(segment, t)
        speed = math.hypot(slope.x, slope.y)
        step = t + (mm - done) / speed if speed > 0.0 else low
        t = step if low < step < high else (low + high) / 2.0
        if abs(done - mm) <= 1e-12 * whole or high - low < 1e-15:
            break
    return at
