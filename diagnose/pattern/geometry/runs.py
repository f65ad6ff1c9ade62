"""Runs of segments, each beginning where the one before it ends: length, places along, cutting, smooth curves."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from diagnose.errors import FitError
from diagnose.pattern.geometry.arclength import length, length_to, t_at_length
from diagnose.pattern.geometry.bezier import box_distance, hermite, point_at, reverse, split
from diagnose.pattern.geometry.hits import line_hits, nearest
from diagnose.pattern.geometry.plane import add, distance, scaled, sub, unit
from diagnose.pattern.outline import Cubic, Point, Run, Segment
from diagnose.pattern.tolerances import SLIVER_MM

__all__ = [
    "nearest_of", "run_backwards", "run_between", "run_length", "run_meets", "run_met", "run_nearest", "run_place",
    "run_places", "run_point_at", "run_points_at", "run_split", "run_spot", "smooth_through",
]  # fmt: skip


def run_length(segments: Sequence[Segment]) -> float:
    """The length of the run in mm."""
    return sum(map(length, segments))


def run_backwards(segments: Sequence[Segment]) -> Run:
    """The run travelled the other way."""
    return tuple(reverse(segment) for segment in reversed(segments))


def run_place(segments: Sequence[Segment], mm: float) -> tuple[int, float]:
    """The segment's index and its `t` at `mm` along the run; lengths beyond an end give that end."""
    return next(run_places(segments, (mm,)))


def run_places(segments: Sequence[Segment], growing_mm: Iterable[float]) -> Iterator[tuple[int, float]]:
    """The segment's index and its `t` at each of some growing lengths along the run, found in one walk along it."""
    index, before, last, since = 0, 0.0, len(segments) - 1, (0.0, 0.0)
    for mm in growing_mm:
        while (left := mm - before) > SLIVER_MM and index < last and left >= length(segments[index]) - SLIVER_MM:
            before += length(segments[index])
            index, since = index + 1, (0.0, 0.0)
        if left <= SLIVER_MM:
            yield index, 0.0
        elif left >= length(segments[index]) - SLIVER_MM:
            yield index, 1.0
        else:
            since = t_at_length(segments[index], left, since), left
            yield index, since[0]


def run_point_at(segments: Sequence[Segment], mm: float) -> Point:
    """The point at `mm` along the run; lengths beyond an end give that end."""
    index, t = run_place(segments, mm)
    return point_at(segments[index], t)


def run_points_at(segments: Sequence[Segment], growing_mm: Iterable[float]) -> list[Point]:
    """The points at some growing lengths along the run."""
    return [point_at(segments[index], t) for index, t in run_places(segments, growing_mm)]


def run_split(segments: Sequence[Segment], mm: float) -> tuple[Run, Run]:
    """The run before and after `mm`, cut at a joint that is a sliver away; a part of no length is empty."""
    if mm <= SLIVER_MM:
        return (), tuple(segments)
    index, t = run_place(segments, mm)
    if t == 0.0 or t == 1.0:
        cut = index + int(t)
        return tuple(segments[:cut]), tuple(segments[cut:])
    head, tail = split(segments[index], t)
    return (*segments[:index], head), (tail, *segments[index + 1 :])


def run_between(segments: Sequence[Segment], start_mm: float, stop_mm: float) -> Run:
    """The run from one place along it to a later one; empty where the second is no later."""
    return run_split(run_split(segments, stop_mm)[0], start_mm)[1] if stop_mm > start_mm else ()


def nearest_of(segments: Sequence[Segment], point: Point) -> tuple[int, float, float]:
    """The number of the segment nearest to `point`, the `t` of the place on it, and the distance in mm."""
    best = (math.inf, 0, 0.0)
    for box, index in sorted((box_distance(segment, point), index) for index, segment in enumerate(segments)):
        if box > best[0]:
            break
        t, away = nearest(segments[index], point)
        best = min(best, (away, index, t))
    away, index, t = best
    return index, t, away


def run_nearest(segments: Sequence[Segment], point: Point) -> tuple[float, float]:
    """How far along the run (mm) the place nearest to `point` lies, and its distance from it (mm)."""
    index, t, away = nearest_of(segments, point)
    return run_length(segments[:index]) + length_to(segments[index], t), away


def run_spot(segments: Sequence[Segment], point: Point) -> tuple[Point, float]:
    """The place of the run nearest to `point`, a joint where it is a sliver from it, and its distance from it (mm)."""
    mm, away = run_nearest(segments, point)
    return run_point_at(segments, mm), away


def run_meets(segments: Sequence[Segment], a: Point, b: Point) -> list[Point]:
    """Where the run meets the endless line through `a` and `b`."""
    return [point_at(segment, t) for segment in segments for t, _ in line_hits(segment, a, b)]


def run_met(segments: Sequence[Segment], a: Point, b: Point, *, near: Point) -> Point | None:
    """Where the run meets the endless line through `a` and `b`, nearest to a point; None where it does not."""
    return min(run_meets(segments, a, b), key=lambda met: distance(met, near), default=None)


def smooth_through(
    points: Sequence[Point], start_tangent: Point | None = None, end_tangent: Point | None = None
) -> tuple[Cubic, ...]:
    """A smooth curve through the points in order, one cubic from each to the next.

    At each point the direction is that of the parabola through it and its neighbours (measured by chord length), so
    the run has no corner. A tangent is a direction of travel; where none is given the curve leaves as that parabola
    does. A point that repeats the one before it is left out.

    Raises:
        FitError: when fewer than two different points are given.
    """
    kept = [p for i, p in enumerate(points) if i == 0 or distance(p, points[i - 1]) > SLIVER_MM]
    if len(kept) < 2:
        raise FitError.of(
            "points",
            "A curve needs at least two different points.",
            "Give the points it runs through.",
            code="one-point",
        )
    chords = [distance(p, q) for p, q in pairwise(kept)]
    slopes = [scaled(sub(q, p), 1.0 / size) for (p, q), size in zip(pairwise(kept), chords, strict=True)]
    inner = [_weighted(slopes[i - 1], slopes[i], chords[i - 1], chord_after=chords[i]) for i in range(1, len(chords))]
    first = unit(start_tangent) if start_tangent else _end_slope(slopes, chords)
    last = unit(end_tangent) if end_tangent else _end_slope(slopes[::-1], chords[::-1])
    velocities = [first, *inner, last]
    return tuple(
        hermite((p, velocities[i]), (q, velocities[i + 1]), h)
        for i, ((p, q), h) in enumerate(zip(pairwise(kept), chords, strict=True))
    )


def _weighted(before: Point, after: Point, chord_before: float, chord_after: float) -> Point:
    """The slope at a point of the parabola through it and its neighbours."""
    part = chord_before / (chord_before + chord_after)
    return add(scaled(before, 1.0 - part), scaled(after, part))


def _end_slope(slopes: Sequence[Point], chords: Sequence[float]) -> Point:
    """The slope at the first point of the parabola through the first three points."""
    if len(slopes) == 1:
        return slopes[0]
    return sub(scaled(slopes[0], 2.0), _weighted(slopes[0], slopes[1], chords[0], chord_after=chords[1]))
