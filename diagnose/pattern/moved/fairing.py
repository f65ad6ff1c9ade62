"""Truing: an edge put together again without a corner or a step that was not there, and what lay on it set on it.

The blend reaches at least 2 in, or four times the step, to either side (less where the edge is shorter). It may not
narrow the piece at a level by more than 1/32 in: where it would, it is shortened. Edges that steel runs along (fold,
opening, lacing) stay straight from end to end if they were straight.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import RunRedrawn
from diagnose.pattern.geometry.blend import FAIR_STEP_MM, Blend, HeldBlend, Joint, joint_of, plainly_joined, reach_for
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.geometry.runs import run_length, run_split
from diagnose.pattern.moved.gates import Broken
from diagnose.pattern.moved.narrowing import Met, level_hits, narrowing, stations_met, taken_in
from diagnose.pattern.moved.shift import is_straight
from diagnose.pattern.outline import END_ROLES, STIFF_ROLES, Edge, Line, Point, Run
from diagnose.pattern.tolerances import NOTABLE_MM
from diagnose.units import INCH_MM

__all__ = [
    "MOST_NARROWING_MM", "Remeasured", "TruedEdge", "end_redrawn", "fair_joint",
    "ruled", "true_edge",
]  # fmt: skip

MOST_NARROWING_MM = INCH_MM / 32
AT_JOINT_MM = INCH_MM / 16
"""A level as near the joint as a ruler's division lies on it: the blend goes to both sides of it."""
HELD_MM = INCH_MM / 64
HALVINGS = 9
DRAWN_HALVINGS = 5
SHORTEST = 1e-3


class Remeasured(Struct, frozen=True):
    """How far along an edge a place lies now: stages of (mm before, mm after), straight between."""

    stages: tuple[tuple[tuple[float, float], ...], ...] = ()

    def __call__(self, mm: float) -> float:
        """Where a place, mm along the edge as it was, lies now."""
        for stage in self.stages:
            mm = _between(stage, mm)
        return mm

    def then(self, start_mm: float, stop_mm: float, new_mm: float, whole_mm: float) -> Remeasured:
        """With the stretch from start to stop now `new_mm` long, of an edge `whole_mm` long."""
        more = new_mm - (stop_mm - start_mm)
        stage = ((0.0, 0.0), (start_mm, start_mm), (stop_mm, start_mm + new_mm), (whole_mm, whole_mm + more))
        return Remeasured((*self.stages, stage))


def _between(stage: tuple[tuple[float, float], ...], mm: float) -> float:
    mm = max(mm, stage[0][0])
    for (x0, y0), (x1, y1) in pairwise(stage):
        if mm <= x1:
            return y0 + (y1 - y0) * (mm - x0) / (x1 - x0) if x1 > x0 else y1
    return stage[-1][1]


class TruedEdge(Struct, frozen=True):
    """An edge put together, where it was redrawn, and how to measure along it now."""

    edge: Edge
    zones: tuple[RunRedrawn, ...] = ()
    remeasured: Remeasured = Remeasured()


def fair_joint(
    joint: Joint,
    levels: Sequence[Sequence[Point]],
    most_before_mm: float,
    most_after_mm: float,
    *,
    ends_only: bool = False,
    most_mm: float = MOST_NARROWING_MM,
) -> Blend | None:
    """The blend for a joint, as long as the rule asks and the levels allow; None where the parts already run on.

    Args:
        joint: the two parts of the edge.
        levels: the piece's levels, where the blend may narrow it only so much.
        most_before_mm: how far back along the first part it may reach, at most its length.
        most_after_mm: how far along the second part it may reach, at most its length.
        ends_only: heed a level only where it ends; one that crosses the top or the hem is drawn taut round it.
        most_mm: how much that is: 1/32 in, or a share of it where the other side of the piece is trued as well.
    """
    if joint.is_fair:
        return None
    reach = reach_for(joint.step_mm)
    before, after = min(reach, most_before_mm), min(reach, most_after_mm)
    full = Blend(joint, before, after)
    stations = stations_met(full, levels, ends_only=ends_only)
    if not stations or (narrowing(full, stations) <= 2.0 * most_mm and taken_in(full, stations) <= most_mm):
        return full
    shapes: list[Callable[[float], Blend]] = [
        lambda k: Blend(joint, before * k, after),
        lambda k: Blend(joint, before, after * k),
        lambda k: Blend(joint, before * k, after * k),
    ]
    # The quick measure finds the longest blend; where measuring the blend as drawn says no, a little less is asked, and
    # at last it is looked for by drawing it.
    misled = narrowing(full, stations) <= most_mm
    for part in (1.0,) if misled else (1.0, 0.95, 0.85, 0.6):
        best = _longest(shapes, partial(_quickly_holds, stations, part * most_mm), HALVINGS)
        if best and taken_in(best, stations) <= most_mm:
            return best
    drawn = next(
        (
            best
            for one in reversed(shapes)
            if (best := _longest([one], partial(_holds_as_drawn, stations, most_mm), DRAWN_HALVINGS))
        ),
        None,
    )
    return drawn or Blend(joint, before * SHORTEST, after * SHORTEST)


def _longest(shapes: Sequence[Callable[[float], Blend]], holds: Callable[[Blend], bool], halvings: int) -> Blend | None:
    """The longest blend of one of the shapes that holds, each found by halving; None where none of them does."""
    tried = [_largest(shape, holds, halvings) for shape in shapes if holds(shape(SHORTEST))]
    return max(tried, key=lambda blend: blend.total_mm, default=None)


def _quickly_holds(stations: Sequence[Met], most_mm: float, blend: Blend) -> bool:
    return narrowing(blend, stations) <= most_mm


def _holds_as_drawn(stations: Sequence[Met], most_mm: float, blend: Blend) -> bool:
    return taken_in(blend, stations) <= most_mm


def _largest(shape: Callable[[float], Blend], holds: Callable[[Blend], bool], halvings: int) -> Blend:
    low, high = SHORTEST, 1.0
    for _ in range(halvings):
        middle = (low + high) / 2.0
        low, high = (middle, high) if holds(shape(middle)) else (low, middle)
    return shape(low)


def true_edge(
    piece: str,
    old: Edge,
    broken: Broken,
    levels: Sequence[Sequence[Point]],
    *,
    keep: Sequence[Sequence[Point]] = (),
    most_mm: float = MOST_NARROWING_MM,
) -> TruedEdge:
    """The parts of an edge put together and trued.

    Args:
        piece: the piece's name, for the report.
        old: the edge as it was.
        broken: its parts as they lie now.
        levels: the piece's levels as they lie now.
        keep: those of them that nothing may be redrawn across.
        most_mm: how much of a level the redrawing of this edge may take, mm.
    """
    if broken.whole:
        return TruedEdge(replace(old, segments=broken.runs[0]), _closed(piece, old, broken), _raw_measure(broken))
    if old.role in STIFF_ROLES and is_straight(old):
        return _straightened(piece, old, broken)
    run, made = broken.runs[0], TruedEdge(old, _closed(piece, old, broken), _raw_measure(broken))
    last = len(broken.runs) - 2
    for number, after in enumerate(broken.runs[1:]):
        joint = joint_of(run, after, keeps_corner=broken.cornered[number])
        room_before = _room(broken.runs[number], keep, 2.0 if number else 1.0, at_end=True)
        room_after = _room(after, keep, 2.0 if number < last else 1.0, at_end=False)
        at_ends = old.role in END_ROLES
        held = (
            None
            if at_ends
            else _held(joint, keep, levels, most_before_mm=room_before, most_after_mm=room_after, most_mm=most_mm)
        )
        blend = held or fair_joint(
            joint, levels, room_before, most_after_mm=room_after, ends_only=at_ends, most_mm=most_mm
        )
        if blend is None:
            run = plainly_joined(joint)
            continue
        made, run = _blended(piece, made, blend), _run_of(blend)
    return replace(made, edge=replace(old, segments=run))


def _held(
    joint: Joint,
    keep: Sequence[Sequence[Point]],
    levels: Sequence[Sequence[Point]],
    most_before_mm: float,
    most_after_mm: float,
    most_mm: float,
) -> Blend | None:
    """The blend that leaves a kept level the length it has, where one ends at the joint and the parts meet there."""
    if joint.opening_mm > max(HELD_MM, joint.step_mm) or joint.keeps_corner or joint.is_fair:
        return None
    ends = [end for line in keep for end in (line[0], line[-1])]
    place = next(
        (at for at in (joint.before[-1].end, joint.after[0].start) if any(distance(at, e) <= HELD_MM for e in ends)),
        None,
    )
    if place is None:
        return None
    reach = reach_for(joint.step_mm)
    before, after = min(reach, most_before_mm), min(reach, most_after_mm)
    full = HeldBlend(joint, before, after, place=place)
    # What ends at the place that is held loses nothing by it.
    stations = [met for met in stations_met(full, levels) if distance(met.place, place) > AT_JOINT_MM]
    shapes = [lambda k: HeldBlend(joint, before * k, after * k, place=place)]
    holds = partial(_holds_as_drawn, stations, most_mm)
    return full if holds(full) else _longest(shapes, holds, DRAWN_HALVINGS)


def _room(run: Run, keep: Sequence[Sequence[Point]], share: float, *, at_end: bool) -> float:
    """How far from its end (or start) a part may be redrawn: a share of it, and not across a level to be kept."""
    size = run_length(run)
    met = [size - mm if at_end else mm for mm, *_ in level_hits(run, keep)]
    return min([size / share, *(mm for mm in met if mm > AT_JOINT_MM)])


def _run_of(blend: Blend) -> Run:
    head, zone, rest = blend.zone
    return (*head, *zone, *rest)


def end_redrawn(
    piece: str,
    old: Edge,
    new: Edge,
    reach_mm: float,
    by_mm: float,
    *,
    at_start: bool,
    why: Literal["partner", "square"],
) -> RunRedrawn:
    """What says that an edge was redrawn over its first (or last) part, the rest of it left as it was.

    Args:
        piece: the piece's name.
        old: the edge before; new: as it is now.
        reach_mm: how far from its end the old one was redrawn.
        by_mm: the most that the line moved.
        at_start: whether it was redrawn at its start.
        why: as in `RunRedrawn`.
    """
    was_mm, now_mm = (run_length(edge.segments) for edge in (old, new))
    left_mm = max(0.0, was_mm - reach_mm)
    cuts = (was_mm - left_mm, now_mm - left_mm) if at_start else (left_mm, left_mm)
    runs = [run_split(edge.segments, cut)[0 if at_start else 1] for edge, cut in zip((old, new), cuts, strict=True)]
    return RunRedrawn(
        piece=piece,
        edge=old.name,
        role=old.role,
        why=why,
        old=runs[0],
        new=runs[1],
        start_mm=0.0 if at_start else left_mm,
        by_mm=by_mm,
    )


def _closed(piece: str, old: Edge, broken: Broken) -> tuple[RunRedrawn, ...]:
    """The parts whose end was brought to a new corner."""
    sizes = [run_length(run) for run in broken.runs]
    return tuple(
        RunRedrawn(
            piece=piece,
            edge=old.name,
            role=old.role,
            why="closed",
            old=run,
            new=(new := broken.runs[number]),
            start_mm=sum(sizes[:number]),
            by_mm=max(distance(run[0].start, new[0].start), distance(run[-1].end, new[-1].end)),
        )
        for number, run in broken.shifted
    )


def _blended(piece: str, made: TruedEdge, blend: Blend) -> TruedEdge:
    old, new = blend.raw, blend.zone[1]
    start = run_length(blend.joint.before) - blend.before_mm
    old_mm, new_mm = run_length(old), run_length(new)
    whole = start + old_mm + run_length(blend.joint.after) - blend.after_mm
    zone = RunRedrawn(
        piece=piece,
        edge=made.edge.name,
        role=made.edge.role,
        why="step" if blend.joint.step_mm > NOTABLE_MM else "corner",
        old=old,
        new=new,
        start_mm=start,
        by_mm=blend.most_mm,
    )
    return replace(
        made,
        zones=(*made.zones, zone),
        remeasured=made.remeasured.then(start, start + old_mm, new_mm, whole_mm=whole),
    )


def _raw_measure(broken: Broken) -> Remeasured:
    """Along the parts as they lie, the gaps between them included."""
    stage, now, end = [], 0.0, broken.runs[0][0].start
    was = dict(reversed(broken.shifted))
    for number, (run, began) in enumerate(zip(broken.runs, broken.began_mm, strict=True)):
        now += distance(end, run[0].start)
        size, end = run_length(run), run[-1].end
        stage += [(began, now), (began + run_length(was.get(number, run)), now + size)]
        now += size
    return Remeasured((tuple(stage),))


def _straightened(piece: str, old: Edge, broken: Broken) -> TruedEdge:
    """The edge as one straight line between its two ends."""
    run = broken.runs[0]
    for after in broken.runs[1:]:
        run = plainly_joined(joint_of(run, after))
    made = TruedEdge(replace(old, segments=run), remeasured=_raw_measure(broken))
    stepped = any(joint_of(a, b).step_mm > NOTABLE_MM for a, b in pairwise(broken.runs))
    return ruled(piece, made, Line(run[0].start, run[-1].end), why="step" if stepped else "corner")


def ruled(piece: str, made: TruedEdge, line: Line, why: Literal["step", "corner"] = "corner") -> TruedEdge:
    """The edge drawn as that straight line.

    Args:
        piece: the piece's name, for the report.
        made: the edge as it was put together.
        line: what it is to be.
        why: what is to go by that.
    """
    edge, run = made.edge, made.edge.segments
    size, now = run_length(run), distance(line.start, line.end)
    by = max(nearest(line, p)[1] for segment in run for p in (segment.start, segment.end))
    remeasured = made.remeasured.then(0.0, size, now, whole_mm=size)
    zone = RunRedrawn(
        piece=piece, edge=edge.name, role=edge.role, why=why, old=run, new=(line,), start_mm=0.0, by_mm=by
    )
    zones = (*made.zones, zone) if by > FAIR_STEP_MM else made.zones
    return TruedEdge(replace(edge, segments=(line,)), zones, remeasured)
