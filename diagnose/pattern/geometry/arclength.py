"""Length along one segment, to 1e-9 of itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
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
_GENTLE, _STEEP = (_COARSE, _FINE), (_FINE,)
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
    return _ruler(segment).between(t0, t1)


class _Ruler(Struct, frozen=True):
    """What gives the length from one `t` of a curve to another; all that holds for the whole curve stands in it.

    The slope is ``a + t * (b + t * c)``, by x and by y. `kinks` are the places where the curve turns (nearly) on the
    spot, each with the width of its kink.
    """

    ax: float
    bx: float
    cx: float
    ay: float
    by: float
    cy: float
    size: float
    gentle: bool
    kinks: tuple[tuple[float, float], ...]

    def between(self, t0: float, t1: float) -> float:
        """The length from `t0` to `t1`."""
        pairs = _GENTLE if self.gentle else _STEEP
        if not self.kinks:
            return self._adaptive(t0, t1, pairs, depth=DEEPEST)
        stops = {t + step * wide for t, wide in self.kinks if t0 < t < t1 for step in KINK_STEPS}
        ends = [t0, *sorted(t for t in stops if t0 < t < t1), t1]
        return sum(self._adaptive(*span, pairs, depth=DEEPEST) for span in pairwise(ends))

    def _adaptive(self, t0: float, t1: float, pairs: Sequence[_Pair], depth: int) -> float:
        """The integral; where no pair of rules agrees, that of the two halves."""
        for pair in pairs:
            whole = self._rule(t0, t1, pair.finer)
            if abs(self._rule(t0, t1, pair.coarser) - whole) <= pair.agree_ratio * self.size + LENGTH_LEAST_TOL_MM:
                return whole
        if depth == 0:
            return whole
        middle = (t0 + t1) / 2.0
        return sum(self._adaptive(*half, pairs, depth=depth - 1) for half in ((t0, middle), (middle, t1)))

    def _rule(self, u0: float, u1: float, nodes: _Rule) -> float:
        ax, bx, cx, ay, by, cy = self.ax, self.bx, self.cx, self.ay, self.by, self.cy
        wide, total = u1 - u0, 0.0
        for node, weight in nodes:
            t = u0 + wide * node
            # The square of the speed is a polynomial, but as a sum of two squares it keeps its digits near a cusp.
            x, y = ax + t * (bx + t * cx), ay + t * (by + t * cy)
            total += weight * math.sqrt(x * x + y * y)
        return total * wide


@kept(RULERS_KEPT)
def _ruler(segment: Cubic) -> _Ruler:
    a, b, c = sub(segment.c1, segment.start), sub(segment.c2, segment.c1), sub(segment.end, segment.c2)
    ax, bx, cx = 3.0 * a.x, 6.0 * (b.x - a.x), 3.0 * (a.x - 2.0 * b.x + c.x)
    ay, by, cy = 3.0 * a.y, 6.0 * (b.y - a.y), 3.0 * (a.y - 2.0 * b.y + c.y)
    third = Point((segment.end.x - segment.start.x) / 3.0, (segment.end.y - segment.start.y) / 3.0)
    slack = GENTLE_RATIO * math.hypot(third.x, third.y)
    gentle = all(distance(leg, third) <= slack for leg in (a, b, c))
    size = reach(segment)
    kinks: list[tuple[float, float]] = []
    # Where the curve turns (nearly) on the spot its speed has a kink, which no smooth rule gets right, and which two
    # rules may both step over. The stretch ends there, and beside it in steps that grow from the width of the kink.
    # With no two of its legs set against each other it nowhere does.
    if min(dot(a, b), dot(b, c), dot(a, c)) <= 0.0:
        for t in (*quadratic_roots(ax, bx, cx), *quadratic_roots(ay, by, cy)):
            speed = math.hypot(ax + t * (bx + t * cx), ay + t * (by + t * cy))
            if speed < SLOW_RATIO * size:
                kinks.append((t, speed / (math.hypot(bx + 2.0 * cx * t, by + 2.0 * cy * t) or math.inf)))
    return _Ruler(ax=ax, bx=bx, cx=cx, ay=ay, by=by, cy=cy, size=size, gentle=gentle, kinks=tuple(kinks))


def t_at_length(segment: Segment, mm: float, since: tuple[float, float] = (0.0, 0.0)) -> float:
    """The `t` at that length from the start; lengths beyond an end give that end.

    Args:
        segment: the curve.
        mm: the length.
        since: a `t` no farther than that, and the length to it: it is looked for from there.
    """
    whole = length(segment)
    if mm <= 0.0 or whole == 0.0:
        return 0.0
    if mm >= whole:
        return 1.0
    if isinstance(segment, Line):
        return mm / whole
    ruler = _ruler(segment)
    at, done = since
    low, high, t = at, 1.0, at + (mm - done) / (whole - done) * (1.0 - at)
    for _ in range(60):
        done += ruler.between(at, t) if t > at else -ruler.between(t, at)
        at = t
        low, high = (t, high) if done < mm else (low, t)
        slope = derivative(segment, t)
        speed = math.hypot(slope.x, slope.y)
        step = t + (mm - done) / speed if speed > 0.0 else low
        t = step if low < step < high else (low + high) / 2.0
        if abs(done - mm) <= 1e-12 * whole or high - low < 1e-15:
            break
    return at
