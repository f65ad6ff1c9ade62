"""Length along one segment, to 1e-9 of itself."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from diagnose.pattern.bezier import derivative, reach
from diagnose.pattern.kept import kept
from diagnose.pattern.outline import Cubic, Line, Segment
from diagnose.pattern.plane import distance, dot, sub

__all__ = ["length", "length_to", "t_at_length"]

RULES_AGREE_REL = 1e-9
"""Where two rules of which one has half as many places again agree so far, the finer is nearer still: its error is
about the coarser's to 3/2."""
LENGTH_LEAST_TOL_MM = 1e-14
STILL_REL = 1e-6
DEEPEST = 48
MOST_KEPT = 32_768


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
_FINE, _COARSE = (_gauss_legendre(12), _gauss_legendre(8)), (_gauss_legendre(6), _gauss_legendre(4))
"""Pairs of rules, the finer first. Most curves of a pattern are gentle, and the coarse pair does for them."""


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

    size = reach(segment)
    tol, still = RULES_AGREE_REL * size + LENGTH_LEAST_TOL_MM, STILL_REL * size
    # Where the curve turns on the spot its speed has a kink, which no smooth rule gets right: the stretch ends there.
    # With no two of its legs set against each other it nowhere does.
    if min(dot(a, b), dot(b, c), dot(a, c)) > 0.0:
        return _adaptive(rule, t0, t1, tol, DEEPEST)
    turns = [t for t in (*_zeros(ax, bx, cx), *_zeros(ay, by, cy)) if t0 < t < t1]
    stops = [t0, *sorted(t for t in turns if speed(t) < still), t1]
    return sum(_adaptive(rule, u0, u1, tol, DEEPEST) for u0, u1 in pairwise(stops))


def _zeros(a: float, b: float, c: float) -> list[float]:
    """The roots of a + b·t + c·t²."""
    rest = b * b - 4.0 * a * c
    if rest < 0.0:
        return []
    q = -(b + math.copysign(math.sqrt(rest), b)) / 2.0
    return [over / under for over, under in ((q, c), (a, q)) if under != 0.0]


def _adaptive(rule: Callable[[float, float, _Rule], float], t0: float, t1: float, tol: float, depth: int) -> float:
    """The integral; where no two rules agree, that of the two halves."""
    for finer, coarser in (_COARSE, _FINE):
        whole = rule(t0, t1, finer)
        if abs(rule(t0, t1, coarser) - whole) <= tol:
            return whole
    if depth == 0:
        return whole
    middle = (t0 + t1) / 2.0
    return _adaptive(rule, t0, middle, tol, depth - 1) + _adaptive(rule, middle, t1, tol, depth - 1)


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
    for _ in range(60):
        done += _arc(segment, at, t) if t > at else -_arc(segment, t, at)
        at = t
        low, high = (t, high) if done < mm else (low, t)
        slope = derivative(segment, t)
        speed = math.hypot(slope.x, slope.y)
        step = t + (mm - done) / speed if speed > 0.0 else low
        t = step if low < step < high else (low + high) / 2.0
        if abs(done - mm) <= 1e-12 * whole or high - low < 1e-15:
            break
    return at
