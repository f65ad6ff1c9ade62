"""Two parts of one edge put together fairly: no corner, no step, each part keeping its own shape.

Both parts are displaced by a curve y(s) of the length s along them: nothing, with no change of direction, at the far
ends of the blend; at the joint just what brings them together. y is the cubic that leaves the first part's line in its
direction and arrives at the second's in its own. A straight line so displaced is exactly a cubic.
"""

from __future__ import annotations

import math
from functools import cached_property

from msgspec import Struct

from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import derivative, hermite, tangent
from diagnose.pattern.geometry.joins import chained, with_end, with_start
from diagnose.pattern.geometry.plane import add, corner_deg, cross, distance, dot, scaled, spot, sub, unit
from diagnose.pattern.geometry.runs import run_length, run_split
from diagnose.pattern.outline import Cubic, Line, Point, Run, Segment
from diagnose.pattern.tolerances import SLIVER_MM
from diagnose.units import INCH_MM

__all__ = [
    "FAIR_STEP_MM", "FAIR_TURN_DEG", "LEAST_REACH_MM", "SAME_MM", "Blend", "HeldBlend", "Joint", "blend",
    "displaced_by", "joint_of", "plainly_joined", "reach_for", "shifted_end",
]  # fmt: skip

LEAST_REACH_MM = 2 * INCH_MM
REACH_PER_STEP = 4.0
SAME_MM = 2e-3
STRAIGHT_SINE = 1e-9
FAIR_STEP_MM = 1e-6
FAIR_TURN_DEG = 0.02
MOST_SAMPLES = 8


def reach_for(by_mm: float) -> float:
    """Over how far a line is redrawn that moves by so much at one place: 2 in, or four times as far as it moves."""
    return max(LEAST_REACH_MM, REACH_PER_STEP * abs(by_mm))


class Joint(Struct, frozen=True, dict=True):
    """Where two parts of an edge come together.

    Attributes:
        before: the part that ends here.
        after: the part that begins here.
        keeps_corner: the edge had a corner of its own here; only the step is taken away.
    """

    before: Run
    after: Run
    keeps_corner: bool = False

    @cached_property
    def gap(self) -> Point:
        """The vector from the end of the first part to the start of the second."""
        return sub(self.after[0].start, self.before[-1].end)

    @cached_property
    def directions(self) -> tuple[Point, Point]:
        """The directions of travel before and after."""
        return tangent(self.before[-1], 1.0), tangent(self.after[0], 0.0)

    @cached_property
    def opening_mm(self) -> float:
        """How much of the edge is missing here, along the edge; 0 where the parts meet or overlap."""
        if self.keeps_corner:
            return 0.0
        out, on = self.directions
        missing = dot(self.gap, unit(add(out, on)))
        return missing if missing > SLIVER_MM else 0.0

    @cached_property
    def step_mm(self) -> float:
        """How far the second part lies aside of the first."""
        out, on = self.directions
        middle = unit(add(out, on))
        return math.hypot(*self.gap) if self.keeps_corner else abs(cross(middle, self.gap))

    @cached_property
    def turn_deg(self) -> float:
        """By how much the edge would turn here, 0 to 180; 0 where it had a corner of its own."""
        return 0.0 if self.keeps_corner else corner_deg(*self.directions)

    @property
    def is_fair(self) -> bool:
        """Whether the second part runs on from the first as it is."""
        return self.step_mm <= FAIR_STEP_MM and self.turn_deg <= FAIR_TURN_DEG


def joint_of(before: Run, after: Run, *, keeps_corner: bool = False) -> Joint:
    """The joint of two parts; ends a rounding apart are made one, and a sliver there, which has no direction, goes."""
    while len(before) > 1 and length(before[-1]) < SLIVER_MM:
        before = (*before[:-2], with_end(before[-2], before[-1].end))
    while len(after) > 1 and length(after[0]) < SLIVER_MM:
        after = (with_start(after[1], after[0].start), *after[2:])
    if 0.0 < distance(before[-1].end, after[0].start) <= SAME_MM:
        after = (with_start(after[0], before[-1].end), *after[1:])
    return Joint(before, after, keeps_corner)


def plainly_joined(joint: Joint) -> Run:
    """The parts with a straight line over the gap; lines that run on from each other become one."""
    before, after = joint.before, joint.after
    if before[-1].end != after[0].start:
        before = _line_on(before, Line(before[-1].end, after[0].start))
    return (*_line_on(before, after[0]), *after[1:])


def _line_on(run: Run, segment: Segment) -> Run:
    last = run[-1]
    if isinstance(last, Line) and isinstance(segment, Line):
        out, on = sub(last.end, last.start), sub(segment.end, segment.start)
        if abs(cross(out, on)) <= STRAIGHT_SINE * math.hypot(*out) * math.hypot(*on) and dot(out, on) > 0.0:
            return (*run[:-1], Line(last.start, segment.end))
    return (*run, segment)


class Blend:
    """The displacement that brings the two parts of a joint together.

    Args:
        joint: the two parts.
        reach_before_mm: how far back along the first part it begins.
        reach_after_mm: how far along the second part it ends.
    """

    def __init__(self, joint: Joint, reach_before_mm: float, reach_after_mm: float) -> None:
        self.joint, self.before_mm, self.after_mm = joint, reach_before_mm, reach_after_mm
        self.opening_mm = joint.opening_mm
        self.total_mm = reach_before_mm + self.opening_mm + reach_after_mm
        out, on = joint.directions
        self.out = out
        self.change = Point(0.0, 0.0) if joint.keeps_corner else sub(on, out)
        base = joint.gap if joint.keeps_corner else sub(joint.gap, scaled(out, self.opening_mm))
        self.base = base
        self.far = add(base, scaled(self.change, reach_after_mm))

    def first(self, s: float) -> tuple[Point, Point]:
        """The displacement and its slope `s` mm along from the end of the first part (negative within it)."""
        return _growing(self.far, self.change, self.total_mm, s=s + self.before_mm)

    def second(self, s: float) -> tuple[Point, Point]:
        """The displacement and its slope `s` mm along from the start of the second part (negative before it)."""
        by, slope = self.first(s + self.opening_mm)
        return sub(by, add(self.base, scaled(self.change, s))), sub(slope, self.change)

    @cached_property
    def most_mm(self) -> float:
        """How far the line moves at most (looked for at a few places along each part)."""
        places = [i / MOST_SAMPLES for i in range(MOST_SAMPLES + 1)]
        before = (self.first(-self.before_mm * part) for part in places)
        after = (self.second(self.after_mm * part) for part in places)
        return max(math.hypot(*by) for by, _ in (*before, *after))

    @cached_property
    def _cut(self) -> tuple[Run, Run, Run, Run]:
        """The first part up to the blend and from there, the second part up to the blend's end and from there."""
        before, after = self.joint.before, self.joint.after
        return (*run_split(before, run_length(before) - self.before_mm), *run_split(after, self.after_mm))

    @property
    def parts(self) -> tuple[Run, Run, Run]:
        """What is redrawn, as it lies: of the first part, the straight line over the gap, of the second part."""
        end, start = self.joint.before[-1].end, self.joint.after[0].start
        return self._cut[1], ((Line(end, start),) if distance(end, start) > SAME_MM else ()), self._cut[2]

    @property
    def raw(self) -> Run:
        """What is redrawn, as one run."""
        tail, gap, lead = self.parts
        return (*tail, *gap, *lead)

    @cached_property
    def zone(self) -> tuple[Run, Run, Run]:
        """The first part up to the blend, the blend redrawn, and the second part from the blend on."""
        head, tail, lead, rest = self._cut
        made = [*self._displaced(tail, -self.before_mm, first=True)]
        made += self._filler()
        made += self._displaced(lead, 0.0, first=False)
        return head, chained(made, head[-1].end if head else None, rest[0].start if rest else None), rest

    def _filler(self) -> list[Segment]:
        if self.opening_mm == 0.0:
            return []
        base, size = self.joint.before[-1].end, self.opening_mm
        (y0, d0), (y1, d1) = self.first(0.0), self.first(size)
        p0, p1 = add(base, y0), add(add(base, scaled(self.out, size)), y1)
        return [hermite((p0, scaled(add(self.out, d0), size)), (p1, scaled(add(self.out, d1), size)))]

    def _displaced(self, run: Run, s0: float, *, first: bool) -> list[Segment]:
        made: list[Segment] = []
        at = self.first if first else self.second
        for segment in run:
            s1 = s0 + length(segment)
            made.append(displaced_by(segment, at(s0), at(s1)))
            s0 = s1
        return made


class HeldBlend(Blend):
    """Two parts that meet at a place that stays: the end of one of them, at which a level ends.

    Each part is displaced to reach the place in the direction half way between the two, so that what was hollow there
    is not filled and the level keeps its length.

    Args:
        joint: the two parts, next to none of the edge missing between them.
        reach_before_mm: how far back along the first part it begins.
        reach_after_mm: how far along the second part it ends.
        place: where they meet.
    """

    def __init__(self, joint: Joint, reach_before_mm: float, reach_after_mm: float, *, place: Point) -> None:
        super().__init__(joint, reach_before_mm, reach_after_mm)
        self.opening_mm = 0.0
        out, on = joint.directions
        way = unit(add(out, on))
        self.ends = (
            (sub(place, joint.before[-1].end), sub(way, out)),
            (sub(place, joint.after[0].start), sub(way, on)),
        )

    def first(self, s: float) -> tuple[Point, Point]:
        """The displacement and its slope `s` mm along from the end of the first part (negative within it)."""
        return _growing(*self.ends[0], self.before_mm, s=s + self.before_mm)

    def second(self, s: float) -> tuple[Point, Point]:
        """The displacement and its slope `s` mm along from the start of the second part."""
        by, slope = self.ends[1]
        moved, growing = _growing(by, scaled(slope, -1.0), self.after_mm, s=self.after_mm - s)
        return moved, scaled(growing, -1.0)


def _growing(by: Point, slope: Point, reach_mm: float, s: float) -> tuple[Point, Point]:
    """The cubic that is nothing, and level, at 0 and has this value and slope at the reach: its value and slope."""
    u = s / reach_mm
    rise, bend = u * u * (3.0 - 2.0 * u), u * u * (u - 1.0) * reach_mm
    rising, bending = 6.0 * u * (1.0 - u) / reach_mm, u * (3.0 * u - 2.0)
    (x, y), (dx, dy) = by, slope
    return spot((x * rise + dx * bend, y * rise + dy * bend)), spot(
        (x * rising + dx * bending, y * rising + dy * bending)
    )


def displaced_by(segment: Segment, start: tuple[Point, Point], end: tuple[Point, Point]) -> Cubic:
    """The segment displaced by a value and its slope (per mm of length) at either end."""
    d0, d1 = derivative(segment, 0.0), derivative(segment, 1.0)
    return hermite(
        (add(segment.start, start[0]), add(d0, scaled(start[1], math.hypot(*d0)))),
        (add(segment.end, end[0]), add(d1, scaled(end[1], math.hypot(*d1)))),
    )


def blend(joint: Joint, reach_before_mm: float, reach_after_mm: float) -> Run:
    """The two parts as one fair run: C1 through the joint, unchanged beyond the reach on either side."""
    head, zone, rest = Blend(joint, reach_before_mm, reach_after_mm).zone
    return (*head, *zone, *rest)


def shifted_end(run: Run, to: Point, reach_mm: float, *, at_start: bool = False, way: Point | None = None) -> Run:
    """The run with its end (or start) moved to a point, fading to nothing over the reach.

    Args:
        run: the run.
        to: where its end (or start) comes to lie.
        reach_mm: how far along the run it is redrawn, at most all of it.
        at_start: move the start, not the end.
        way: the direction of travel it has there afterwards, of length one; its own when left out.
    """
    own = tangent(run[0], 0.0) if at_start else tangent(run[-1], 1.0)
    far, keeps = way or own, way is None
    reach = min(reach_mm, run_length(run))
    if at_start:
        joint = Joint((Line(sub(to, far), to),), run, keeps_corner=keeps)
        return chained((*blend(joint, 0.0, reach)[1:],), to, None)
    joint = Joint(run, (Line(to, add(to, far)),), keeps_corner=keeps)
    return blend(joint, reach, 0.0)[:-1]
