"""By how much a blend takes in the piece at its levels.

A level meets the edge at a place; the edge moves there by the blend's displacement, and the level with it by that
displacement's share along the level. That is quickly had but only nearly true; `taken_in` measures the blend as drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.arclength import length, length_to
from diagnose.pattern.geometry.bezier import box_of, point_at, tangent
from diagnose.pattern.geometry.blend import Blend
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import across, add, distance, dot, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_length, run_meets
from diagnose.pattern.outline import Point, Run
from diagnose.pattern.tolerances import LEVEL_REACH_TOL_MM
from diagnose.units import INCH_MM

__all__ = ["Met", "level_hits", "narrowing", "stations_met", "taken_in"]

NEAR_END_MM = INCH_MM / 8
LEAST_RUN_SINE = 0.05
MOST_SLANT = 5.0


class Met(Struct, frozen=True):
    """Where a level meets the parts of a joint.

    Attributes:
        part: 0 for the first part, 1 for the gap between them, 2 for the second part.
        s: mm along from the first part's end (negative), part of the gap (0 to 1), or mm along from the second's start.
        place: the place itself.
        level: the level's direction there, into the paper.
        inward: a vector whose product with a displacement is about what the level loses by it.
    """

    part: int
    s: float
    place: Point
    level: Point
    inward: Point


def stations_met(blend: Blend, levels: Sequence[Sequence[Point]], *, ends_only: bool = False) -> list[Met]:
    """Where the levels meet what the blend redraws; with `ends_only` those alone that end there."""
    tail, gap, lead = blend.parts
    reach = run_length(tail)
    found = [
        *(Met(0, s - reach, *at) for s, *at in level_hits(tail, levels)),
        # A level that lies along the gap, as one on a closing line does, is met at its two ends and nowhere between.
        *(Met(1, s / length(gap[0]), *at) for s, *at in level_hits(gap, levels) if math.hypot(*at[2]) < MOST_SLANT),
        *(Met(2, s, *at) for s, *at in level_hits(lead, levels)),
    ]
    ends = [end for line in levels for end in (line[0], line[-1])]
    return [met for met in found if not ends_only or any(distance(met.place, end) <= NEAR_END_MM for end in ends)]


def level_hits(run: Run, levels: Sequence[Sequence[Point]]) -> Iterator[tuple[float, Point, Point, Point]]:
    """(mm along the run, place, level, inward vector) where a level, or its end drawn on a little, meets the run."""
    if not run:
        return
    box = box_of(run)
    for a, b, least, most in (stretch for line in levels for stretch in _stretches(line)):
        if not box.near(box_of([(a, b)]), LEVEL_REACH_TOL_MM):
            continue  # most levels lie so
        for number, segment in enumerate(run):
            for t, s in line_hits(segment, a, b):
                if least <= s <= most:
                    along = run_length(run[:number]) + length_to(segment, t)
                    left, level = across(tangent(segment, t)), unit(sub(b, a))
                    level = level if dot(left, level) >= 0.0 else scaled(level, -1.0)
                    # The paper lies left of the edge; a level that runs nearly along it is taken at a small angle.
                    yield (
                        along,
                        point_at(segment, t),
                        level,
                        scaled(left, 1.0 / max(LEAST_RUN_SINE, dot(left, level))),
                    )


def _stretches(line: Sequence[Point]) -> Iterator[tuple[Point, Point, float, float]]:
    """The level's straight parts, and from where to where on each (0 to 1) it counts."""
    last = len(line) - 2
    for number, (a, b) in enumerate(pairwise(line)):
        if a != b:
            slack = LEVEL_REACH_TOL_MM / distance(a, b)
            yield a, b, (-slack if number == 0 else 0.0), (1.0 + slack if number == last else 1.0)


def narrowing(blend: Blend, stations: Sequence[Met]) -> float:
    """About the most by which the blend takes in a level, measured along it, in mm."""
    return max((dot(_displacement(blend, met), met.inward) for met in stations), default=0.0)


def _displacement(blend: Blend, met: Met) -> Point:
    if met.part == 0:
        return blend.first(met.s)[0] if -met.s < blend.before_mm else Point(0.0, 0.0)
    if met.part == 2:
        return blend.second(met.s)[0] if met.s < blend.after_mm else Point(0.0, 0.0)
    s = met.s * blend.opening_mm
    now = add(add(blend.joint.before[-1].end, scaled(blend.out, s)), blend.first(s)[0])
    return sub(now, met.place)


def taken_in(blend: Blend, stations: Sequence[Met]) -> float:
    """The most by which the blend takes in a level, measured on the blend as drawn, in mm."""
    return max((_taken_in(blend.zone[1], met) for met in stations), default=0.0)


def _taken_in(run: Run, met: Met) -> float:
    ahead = add(met.place, met.level)
    hits = (dot(sub(hit, met.place), met.level) for hit in run_meets(run, met.place, ahead))
    return min(hits, key=abs, default=0.0)
