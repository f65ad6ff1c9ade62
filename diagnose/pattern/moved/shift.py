"""Edges moved by an amount along them, and the outline closed again round them.

Millimetres; amounts positive inwards. The edges that adjoin are trimmed, or drawn on straight, to meet the moved ones.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import partial
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import reach, tangent
from diagnose.pattern.geometry.joins import continued, meet, with_end, with_start
from diagnose.pattern.geometry.plane import add, angle, cross, distance, dot, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_backwards, run_length
from diagnose.pattern.in_words import edge_words, piece_words
from diagnose.pattern.moved.carry import Redrawn
from diagnose.pattern.moved.redraw import Shift, displaced, displaced_point
from diagnose.pattern.outline import Cubic, Edge, Line, Piece, Point, Run, Segment
from diagnose.pattern.tolerances import NOTABLE_MM
from diagnose.sentences import listed, upper_first

__all__ = ["is_straight", "runs_on", "shifted"]

SMOOTH_SINE = 1e-3
LEAST_LEFT_MM = 1e-3
LEAST_CORNER_RAD = math.radians(2.0)
LEAST_BULGE_MM = 0.2
"""Where a curve drawn on would stray no more from a straight line, that is drawn."""


class _Part(Struct, frozen=True):
    """A stretch without corners, or a whole edge that stays."""

    edge: str
    run: Run
    moved: bool


def runs_on(before: Segment, after: Segment) -> bool:
    """Whether the second segment goes on in the direction in which the first one ended."""
    out, on = tangent(before, 1.0), tangent(after, 0.0)
    return abs(cross(out, on)) <= SMOOTH_SINE and dot(out, on) > 0.0


def is_straight(edge: Edge) -> bool:
    """Whether the edge is one straight line."""
    return all(isinstance(s, Line) for s in edge.segments) and all(
        runs_on(a, b) for a, b in zip(edge.segments, edge.segments[1:], strict=False)
    )


def shifted(piece: Piece, shifts: Mapping[str, Shift]) -> Redrawn:
    """The piece with those edges moved and its outline closed again; the marks still lie where they lay.

    Raises:
        FitError: when an edge cannot move so far, or the edges beside it do not meet it again.
    """
    parts = [part for edge in piece.edges for part in _parts(edge, shifts.get(edge.name))]
    closed = _closed(piece, parts)
    edges = tuple(
        replace(piece.edge(name), segments=_without_slivers([segment for part in group for segment in part.run]))
        for name, group in groupby(closed, key=lambda part: part.edge)
    )
    places = {name: partial(_place, piece.edge(name), shift) for name, shift in shifts.items()}
    spans = {
        name: (*shift.span(run_length(piece.edge(name).segments)), shift.most_mm) for name, shift in shifts.items()
    }
    return Redrawn(piece, replace(piece, edges=edges), places, spans=spans)


def _without_slivers(run: Sequence[Segment]) -> Run:
    """The run without steps that go nowhere; the one before such a step takes its end."""
    kept: list[Segment] = []
    for segment in run:
        if _span(segment) >= LEAST_LEFT_MM:
            kept.append(with_start(segment, kept[-1].end) if kept and kept[-1].end != segment.start else segment)
        elif kept:
            kept[-1] = with_end(kept[-1], segment.end)
    if kept and kept[0].start != run[0].start:
        kept[0] = with_start(kept[0], run[0].start)
    return tuple(kept) or tuple(run)


def _span(segment: Segment) -> float:
    return distance(segment.start, segment.end) if isinstance(segment, Line) else reach(segment)


def _place(edge: Edge, shift: Shift, mm: float) -> Point:
    return displaced_point(edge.segments, mm, shift)


def _parts(edge: Edge, shift: Shift | None) -> list[_Part]:
    """The edge as it stays, or moved: broken where it has corners, so that each stretch moves square to itself."""
    if shift is None or shift.idle(run_length(edge.segments)):
        return [_Part(edge.name, edge.segments, False)]
    runs: list[list[Segment]] = []
    at_mm, last = 0.0, None
    for segment in edge.segments:
        moved = displaced(segment, shift.on(at_mm))
        if last is not None and (shift.direction is not None or runs_on(last, segment)):
            own, first = runs[-1], with_start(moved[0], runs[-1][-1].end)
            if runs_on(last, segment):
                own[-1], first = _evened(own[-1], first)
            own += (first, *moved[1:])
        else:
            runs.append(list(moved))
        at_mm, last = at_mm + length(segment), segment
    return [_Part(edge.name, tuple(run), True) for run in runs]


def _evened(before: Segment, after: Segment) -> tuple[Segment, Segment]:
    """Two segments that ran on from each other before they were moved, doing so again, where they no longer do.

    Where the amount changes along an edge whose curvature jumps, what was smooth comes out with a corner.
    """
    out, on = tangent(before, 1.0), tangent(after, 0.0)
    if abs(angle(out, on)) <= LEAST_CORNER_RAD:
        return before, after
    way = out if isinstance(before, Line) else on if isinstance(after, Line) else unit(add(out, on))
    return _ending(before, way), _beginning(after, way)


def _ending(segment: Segment, way: Point) -> Segment:
    if isinstance(segment, Line):
        return segment
    return segment._replace(c2=sub(segment.end, scaled(way, distance(segment.c2, segment.end))))


def _beginning(segment: Segment, way: Point) -> Segment:
    if isinstance(segment, Line):
        return segment
    return segment._replace(c1=add(segment.start, scaled(way, distance(segment.start, segment.c1))))


def _closed(piece: Piece, parts: Sequence[_Part]) -> list[_Part]:
    """The parts made to meet all the way round."""
    made = list(parts)
    for index in range(len(made)):
        after = (index + 1) % len(made)
        first, second = made[index], made[after]
        if not (first.moved or second.moved):
            continue
        if index == after:
            raise FitError.of(
                "edge",
                f"{upper_first(edge_words(piece.edge(first.edge)))} goes all the way round.",
                "Name its parts as edges first.",
                code="closed-edge",
            )
        joined = _joined(first, second)
        if joined is None:
            raise _apart(piece, first, second)
        made[index], made[after] = replace(first, run=joined[0]), replace(second, run=joined[1])
    return made


def _joined(first: _Part, second: _Part) -> tuple[Run, Run] | None:
    """The two made to meet; a curve beside a moved edge, where it has to be drawn on, goes on as the curve it is."""
    plain = meet(first.run, second.run)
    if plain is None or first.moved == second.moved:
        return plain
    own, grown = (second, plain[1]) if first.moved else (first, plain[0])
    if run_length(grown) <= run_length(own.run) + NOTABLE_MM:
        return plain
    if first.moved:
        curved = meet(first.run, run_backwards(continued(run_backwards(second.run))))
        goes_on = curved and isinstance(curved[1][0], Cubic)
    else:
        curved = meet(continued(first.run), second.run)
        goes_on = curved and isinstance(curved[0][-1], Cubic)
    seen = curved and distance(curved[0][-1].end, plain[0][-1].end) > LEAST_BULGE_MM
    return curved if goes_on and seen else plain


def _apart(piece: Piece, first: _Part, second: _Part) -> FitError:
    if first.edge == second.edge:
        own = upper_first(edge_words(piece.edge(first.edge)))
        what = f"{own} of {piece_words(piece.name)} has a corner that cannot move so far."
        return FitError.of("edge", what, "Give a smaller amount there.", code="corner-in-the-way")
    names = listed([edge_words(piece.edge(part.edge)) for part in (first, second)])
    return FitError.of(
        "edge",
        f"{upper_first(names)} of {piece_words(piece.name)} would no longer meet: the one runs on from the other, or is"
        " too short to be trimmed so far.",
        "Give an amount of 0 at that end, or a smaller one.",
        code="edges-apart",
    )
