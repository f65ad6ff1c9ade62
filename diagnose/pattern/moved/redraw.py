"""An edge redrawn by an amount that changes smoothly along it.

Millimetres; amounts are positive inwards, that is to the left of travel on a counter-clockwise outline. `mm` along a
run is measured from the run's start.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.geometry.arclength import length, length_to, t_at_length
from diagnose.pattern.geometry.bezier import controls, derivative, hermite, part, point_at, tangent
from diagnose.pattern.geometry.joins import chained
from diagnose.pattern.geometry.plane import across, add, cross, distance, scaled
from diagnose.pattern.geometry.smooth_amounts import Profile
from diagnose.pattern.outline import Cubic, Line, Point, Run, Segment
from diagnose.units import both

__all__ = ["Shift", "displaced", "displaced_point"]

FIT_TOL_MM = 0.004
DEEPEST_FIT = 12
CURL_SAMPLES = 16
LEAST_STOP_MM = 0.02
"""A shorter stretch has no direction of its own: in a written pattern rounding would turn it."""


class Shift(Struct, frozen=True):
    """How an edge moves.

    Attributes:
        profile: the amounts along the run the edge belongs to.
        start_mm: how far along that run the edge begins.
        direction: a vector of length one to move along, or None for square to the edge itself, inwards positive.
        sideways: with a direction, amounts to move to the left of it as well.
    """

    profile: Profile
    start_mm: float = 0.0
    direction: Point | None = None
    sideways: Profile | None = None

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """The moves square to the edge and, where there is one, along it."""
        return (self.profile,) if self.sideways is None else (self.profile, self.sideways)

    def idle(self, size_mm: float) -> bool:
        """Whether nothing moves over that length from the start, but for a hair's breadth at its ends."""
        hair = min(LEAST_STOP_MM, size_mm / 4.0)
        start, end = self.start_mm + hair, self.start_mm + size_mm - hair
        return all(profile.idle(start, end) for profile in self.profiles)

    def straight(self, size_mm: float) -> bool:
        """Whether the amounts change evenly over that length from the start."""
        return all(profile.straight(self.start_mm, self.start_mm + size_mm) for profile in self.profiles)

    def stops(self, size_mm: float) -> list[float]:
        """The knots within that length, and its two ends, from the start."""
        end_mm = self.start_mm + size_mm
        found = sorted({mm - self.start_mm for profile in self.profiles for mm in profile.cuts(self.start_mm, end_mm)})
        inner = (mm for mm in found if LEAST_STOP_MM < mm < size_mm - LEAST_STOP_MM)
        return [0.0, *inner, size_mm]

    def span(self, size_mm: float) -> tuple[float, float]:
        """From where to where, along an edge of that length, anything moves."""
        firsts, lasts = zip(*(profile.span for profile in self.profiles), strict=True)
        return max(0.0, min(firsts) - self.start_mm), min(size_mm, max(lasts) - self.start_mm)

    @property
    def most_mm(self) -> float:
        """How far anything moves at most, by the amounts given."""
        return math.hypot(*(max(abs(knot.amount) for knot in profile.knots) for profile in self.profiles))

    def on(self, mm: float) -> Shift:
        """The shift as seen from a place `mm` further along."""
        return replace(self, start_mm=self.start_mm + mm)


def displaced(segment: Segment, shift: Shift) -> Run:
    """The segment moved, true to 0.01 mm.

    Returns:
        Line or cubic segments; what does not move comes back untouched, what is straight stays so where it can.

    Raises:
        FitError: when the segment bends more tightly than the amount it should move inwards.
    """
    size = length(segment)
    if size == 0.0 or shift.idle(size):
        return (segment,)
    move = _Move(segment, shift)
    if isinstance(segment, Line) and shift.straight(size):
        return (Line(move.at(0.0)[0], move.at(1.0)[0]),)
    stops = shift.stops(size)
    ts = [0.0, *(t_at_length(segment, mm) for mm in stops[1:-1]), 1.0]
    made: list[Segment] = []
    for (mm0, mm1), (t0, t1) in zip(pairwise(stops), pairwise(ts), strict=True):
        here = shift.on(mm0)
        if here.idle(mm1 - mm0):
            made.append(part(segment, t0, t1))
        elif isinstance(segment, Line) and here.straight(mm1 - mm0):
            made.append(Line(move.at(t0)[0], move.at(t1)[0]))
        else:
            move.refuse_curl(t0, t1)
            made.extend(_fitted(move.at, t0, t1))
    return chained(made)


def displaced_point(segments: Sequence[Segment], mm: float, shift: Shift) -> Point:
    """Where the place `mm` along a shifted edge comes to lie."""
    begin = 0.0
    for segment in segments:
        size = length(segment)
        if mm <= begin + size or segment is segments[-1]:
            return _Move(segment, shift.on(begin)).at(t_at_length(segment, mm - begin))[0]
        begin += size
    raise AssertionError("an edge has at least one segment")


class _Move(Struct, frozen=True):
    """One segment on its way: its displaced points and their change with `t`."""

    segment: Segment
    shift: Shift

    def at(self, t: float) -> tuple[Point, Point]:
        mm, way = self._mm(t), self.shift.direction
        here, change = point_at(self.segment, t), derivative(self.segment, t)
        speed = math.hypot(change.x, change.y)
        amount, slope = self.shift.profile.at(mm)
        if way is None:
            way = across(tangent(self.segment, t))
            change = scaled(change, max(0.0, 1.0 - amount * self._curvature(t)))
        elif self.shift.sideways is not None:
            left, rise = self.shift.sideways.at(mm)
            here, change = add(here, scaled(across(way), left)), add(change, scaled(across(way), rise * speed))
        return add(here, scaled(way, amount)), add(change, scaled(way, slope * speed))

    def _mm(self, t: float) -> float:
        return self.shift.start_mm + length_to(self.segment, t)

    def _curvature(self, t: float) -> float:
        """Positive where the segment bends to the left; 0 where it has no direction of its own."""
        if isinstance(self.segment, Line):
            return 0.0
        change = derivative(self.segment, t)
        cubed = math.hypot(change.x, change.y) ** 3
        return cross(change, _second(self.segment, t)) / cubed if cubed > 1e-9 else 0.0

    def refuse_curl(self, t0: float, t1: float) -> None:
        """Refuse an amount that the inside of a bend has no room for."""
        if self.shift.direction is not None or isinstance(self.segment, Line):
            return
        amounts = (*(knot.amount for knot in self.shift.profile.knots), self._amount(t0), self._amount(t1))
        largest = max(map(abs, amounts))
        bends = [(self._curvature(t), t) for t in (t0 + (t1 - t0) * i / CURL_SAMPLES for i in range(1, CURL_SAMPLES))]
        sharp = [(bend, t) for bend, t in bends if abs(bend) * largest >= 1.0 and self._amount(t) * bend >= 1.0]
        if sharp:
            bend, t = max(sharp, key=lambda found: abs(found[0]))
            raise FitError.of(
                "by",
                f"The edge bends with a radius of only {both(1.0 / abs(bend))} and cannot move"
                f" {both(abs(self._amount(t)))} into its own bend.",
                "Give a smaller amount there.",
                code="bends-too-sharply",
            )

    def _amount(self, t: float) -> float:
        return self.shift.profile.at(self._mm(t))[0]


def _second(segment: Cubic, t: float) -> Point:
    u = 6.0 * (1.0 - t)
    v = 6.0 * t
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = controls(segment)
    return Point(
        u * (x2 - 2.0 * x1 + x0) + v * (x3 - 2.0 * x2 + x1), u * (y2 - 2.0 * y1 + y0) + v * (y3 - 2.0 * y2 + y1)
    )


def _fitted(at: Callable[[float], tuple[Point, Point]], t0: float, t1: float) -> tuple[Cubic, ...]:
    """Cubics through the moving point, halved until they keep to it."""
    return _halved(at, (t0, *at(t0)), (t1, *at(t1)), depth=DEEPEST_FIT)


_Spot = tuple[float, Point, Point]


def _halved(at: Callable[[float], tuple[Point, Point]], before: _Spot, after: _Spot, depth: int) -> tuple[Cubic, ...]:
    (t0, p0, d0), (t1, p1, d1) = before, after
    cubic, middle = hermite((p0, d0), (p1, d1), t1 - t0), (t0 + t1) / 2.0
    centre = at(middle)
    near = depth == 0 or (
        distance(point_at(cubic, 0.5), centre[0]) <= FIT_TOL_MM
        and all(distance(point_at(cubic, q), at(t0 + (t1 - t0) * q)[0]) <= FIT_TOL_MM for q in (0.25, 0.75))
    )
    if near:
        return (cubic,)
    spot = (middle, *centre)
    return (*_halved(at, before, spot, depth=depth - 1), *_halved(at, spot, after, depth=depth - 1))
