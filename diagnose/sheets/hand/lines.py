"""A new line measured from an old one: marks at places along it, as many as a smooth line through them needs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.bezier import point_at, tangent
from diagnose.pattern.geometry.hits import line_hits, near_line
from diagnose.pattern.geometry.plane import across, add, cross, distance, dot, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_length, run_places, run_points_at
from diagnose.pattern.outline import Line, Point, Segment

__all__ = ["Off", "Offsets", "chord_marks", "marks_between", "walk"]

RUN_ON_MM = 80.0
FARTHEST_OFF_MM = 120.0
BETWEEN_MARKS_TOL_MM = 0.45
SAG_TOL_MM = 2.5
MOST_MARKS = 13
WALK_STEP_MM = 2.0
UNSEEN_MM = 0.3
MOST_JUMP_MM = 4.0
Run = Sequence[Segment]


class Off(Struct, frozen=True):
    """At `mm` along an old line the new one lies `by` off it, at `spot`."""

    mm: float
    by: float
    spot: Point


class Offsets(Struct, frozen=True):
    """How far a new line lies from an old one of that length, at those even places of it where it is met."""

    size_mm: float
    found: tuple[Off, ...]

    @property
    def changed(self) -> tuple[float, float] | None:
        """The stretch of the old line beside which the new one lies; None when they are one."""
        off = [one.mm for one in self.found if abs(one.by) > UNSEEN_MM]
        return (max(0.0, min(off) - WALK_STEP_MM), min(self.size_mm, max(off) + WALK_STEP_MM)) if off else None


class _Place(Struct, frozen=True):
    """A place of the old line, and the direction in which the new one is looked for from there."""

    mm: float
    spot: Point
    way: Point


def walk(old: Run, new: Run, way: Point | None = None) -> Offsets:
    """The offsets all along: square to the old line, inwards positive, or in the direction `way` of length one.

    The new line is run on straight beyond its ends where the old one is longer.
    """
    size = run_length(old)
    count = max(4, math.ceil(size / WALK_STEP_MM))
    along = [size * n / count for n in range(count + 1)]
    places = [_place(old[index], t, mm, way=way) for mm, (index, t) in zip(along, run_places(old, along), strict=True)]
    middle = count // 2
    ahead = _followed(places[middle:], new, None)
    back = _followed(places[middle::-1], new, ahead[0])
    met = zip(places, (*reversed(back[1:]), *ahead), strict=True)
    return Offsets(size, tuple(Off(p.mm, by, add(p.spot, scaled(p.way, by))) for p, by in met if by is not None))


def _place(segment: Segment, t: float, mm: float, way: Point | None) -> _Place:
    """The place on a segment of the line; without a way, looked from square to the line, inwards."""
    return _Place(mm, point_at(segment, t), way or across(tangent(segment, t)))


def _followed(places: Sequence[_Place], new: Run, last: float | None) -> list[float | None]:
    """From place to place how far off the new line is met, nearest to where it was met before.

    What is met on the line itself comes before what is met on its run-on.
    """
    run_on = _run_on(new)
    chosen: list[float | None] = []
    for place in places:
        near = last or 0.0
        own = _met(new, place)
        best = min(own, key=lambda s: abs(s - near), default=None)
        if best is None or (last is not None and abs(best - last) > MOST_JUMP_MM):
            best = min([*own, *_met(run_on, place)], key=lambda s: abs(s - near), default=None)
        chosen.append(best)
        last = best if best is not None else last
    return chosen


def _met(run: Run, place: _Place) -> list[float]:
    """How far off the run is met from that place."""
    ahead = add(place.spot, place.way)
    near = near_line(run, place.spot, place.way)
    return [s for segment, *_ in near for _, s in line_hits(segment, place.spot, ahead) if abs(s) <= FARTHEST_OFF_MM]


def _run_on(run: Run) -> tuple[Line, Line]:
    before, after = scaled(tangent(run[0], 0.0), RUN_ON_MM), scaled(tangent(run[-1], 1.0), RUN_ON_MM)
    return Line(sub(run[0].start, before), run[0].start), Line(run[-1].end, add(run[-1].end, after))


def marks_between(offsets: Offsets, wanted: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Places along the old line and how far the new one lies off there, those wanted among them.

    More are put in between until a smooth line through them keeps to the new line.
    """
    walked = offsets.found
    if len(walked) < 2:
        return ()
    stretch = offsets.changed or (0.0, 0.0)
    inside = [one for one in walked if stretch[0] <= one.mm <= stretch[1]]
    inside = inside if len(inside) > 1 else list(walked[:2])
    picks = {0, len(inside) - 1, *(_nearest(inside, mm) for mm in wanted if stretch[0] <= mm <= stretch[1])}
    while len(picks) < MOST_MARKS:
        worst, index = _worst(inside, sorted(picks))
        if worst <= 1.0:
            break
        picks.add(index)
    return tuple((inside[n].mm, inside[n].by) for n in sorted(picks))


def _nearest(walked: Sequence[Off], mm: float) -> int:
    return min(range(len(walked)), key=lambda n: abs(walked[n].mm - mm))


def _worst(walked: Sequence[Off], picks: Sequence[int]) -> tuple[float, int]:
    """Where marks at the picks alone would miss most, and how often by what is allowed.

    An amount taken from between two marks may miss by `BETWEEN_MARKS_TOL_MM`; a straight line between
    them by `SAG_TOL_MM`, since hers is a smooth one.
    """
    worst = (0.0, 0)
    for low, high in pairwise(picks):
        first, last = walked[low], walked[high]
        for n in range(low + 1, high):
            one = walked[n]
            even = first.by + (last.by - first.by) * (one.mm - first.mm) / (last.mm - first.mm)
            miss = max(abs(one.by - even) / BETWEEN_MARKS_TOL_MM, _sag(one.spot, first.spot, last.spot) / SAG_TOL_MM)
            worst = max(worst, (miss, n))
    return worst


def _sag(spot: Point, a: Point, b: Point) -> float:
    """How far a place lies off the straight line between two others."""
    span = sub(b, a)
    size = math.hypot(*span)
    return abs(cross(span, sub(spot, a))) / size if size > 0.0 else distance(spot, a)


def chord_marks(run: Run, start_mm: float, end_mm: float) -> tuple[tuple[float, float], ...]:
    """Places along a ruler laid from one place of a line to another, and how far the line lies off it to the left."""
    a, b = run_points_at(run, (start_mm, end_mm))
    way = unit(sub(b, a))
    left = across(way)
    count = max(4, math.ceil((end_mm - start_mm) / WALK_STEP_MM))
    places = [start_mm + (end_mm - start_mm) * n / count for n in range(count + 1)]
    found = tuple(Off(dot(sub(p, a), way), dot(sub(p, a), left), p) for p in run_points_at(run, places))
    offsets = Offsets(distance(a, b), found)
    if offsets.changed is None:
        return ()
    kept = marks_between(offsets, ())
    return tuple((along, off) for along, off in kept if 1.0 < along < offsets.size_mm - 1.0)
