"""A piece cut at its gates, moved, closed up and trued, with everything that lies on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered, EdgeParts, EndSet, PartMoved, RunRedrawn, Zone
from diagnose.pattern.geometry.blend import joint_of, reach_for, shifted_end
from diagnose.pattern.geometry.curves import nearest, run_length, tangent
from diagnose.pattern.geometry.joins import meet, with_end, with_start
from diagnose.pattern.geometry.plane import add, distance, dot, mid, scaled, sub, unit
from diagnose.pattern.moved.carried_marks import Paper, carried_marks
from diagnose.pattern.moved.carry import feet_reached, followed
from diagnose.pattern.moved.fairing import (
    FAIR_STEP_MM,
    FAIR_TURN_DEG,
    TruedEdge,
    true_edge,
)
from diagnose.pattern.moved.gates import Broken, Gate, Ring, Stretch, broken, stretches
from diagnose.pattern.moved.shift import is_straight
from diagnose.pattern.outline import STIFF_ROLES, Edge, Line, Notch, Pattern, Piece, Point, Run
from diagnose.pattern.tolerances import NOTHING_MM
from diagnose.units import INCH_MM, both

__all__ = ["closed_up"]

SEEN_MM = INCH_MM / 32
MOST_STEP_MM = 2 * INCH_MM


def closed_up(
    pattern: Pattern, piece: Piece, ring: Ring, gates: Sequence[Gate], paper: Paper, keep: str = ""
) -> Altered:
    """The pattern with the piece cut at the gates, its parts put together and trued, its marks carried.

    Args:
        pattern: the pattern.
        piece: the piece of it that is cut.
        ring: its outline.
        gates: what falls away.
        paper: which part moves, and how.
        keep: a level that no truing may reach.

    Raises:
        FitError: when an edge would fall away or be stepped. Whether the outline crosses itself is not looked at.
    """
    left = stretches(ring, gates)
    raw = broken(piece, ring, left, paper.move)
    laid, ends = _steel_laid(piece, raw)
    parts = _corners_closed(piece, ring, gates, laid)
    marked, notes = carried_marks(paper, piece)
    kept = [marked.levels[keep]] if keep in marked.levels else []
    edges = [
        true_edge(piece.name, edge, own, list(marked.levels.values()), kept)
        for edge, own in zip(piece.edges, parts, strict=True)
    ]
    made = replace(marked, edges=_round(edges), notches=_notches(piece, edges))
    zones = [zone for edge in edges for zone in edge.zones]
    made = feet_reached(followed(piece, made, zones), piece, lambda point: paper.part_of(point) == "strip")
    done = Altered(pattern.with_piece(made), zones=(*_laid(piece, left, raw, paper), *ends, *zones))
    steel = tuple(map(_kept_line, ends))
    return replace(done, notes=(*notes, *steel, *(_said(zone) for zone in done.trued if isinstance(zone, RunRedrawn))))


def _laid(piece: Piece, left: Sequence[Stretch], raw: Sequence[Broken], paper: Paper) -> Iterator[Zone]:
    """What moved, and what the cut has left of each edge that it went through."""
    runs = tuple((piece.edges[part.edge].name, part.run) for part in left if part.moves)
    yield PartMoved(piece.name, paper.move, runs)
    for edge, own in zip(piece.edges, raw, strict=True):
        if own.runs != (edge.segments,):
            yield EdgeParts(piece.name, edge.name, own.runs, began_mm=own.began_mm)


def _corners_closed(piece: Piece, ring: Ring, gates: Sequence[Gate], parts: Sequence[Broken]) -> list[Broken]:
    """The edges with their corners brought together where a gate lay on one."""
    opened = {ring.owners[gate.enter.at] for gate in gates if gate.leave == gate.enter and gate.enter.t == 0.0}
    made = list(parts)
    for edge, own in zip(piece.edges, parts, strict=True):
        for before, behind in pairwise(own.runs):
            _refuse_step(edge.name, joint_of(before, behind).step_mm)
    for number in range(len(made)):
        after = (number + 1) % len(made)
        end, start = made[number].runs[-1][-1].end, made[after].runs[0][0].start
        if distance(end, start) <= NOTHING_MM:
            continue
        if after in opened:
            _fill(made, number, after)
        else:
            _refuse_step(piece.edges[after].name, distance(end, start))
            corner = _corner(piece.edges[number], piece.edges[after], end, start)
            made[number] = _end_at(made[number], corner)
            made[after] = _start_at(made[after], corner)
    return made


def _steel_laid(piece: Piece, raw: Sequence[Broken]) -> tuple[list[Broken], list[EndSet]]:
    """The parts, those of a steel edge that was only stepped aside laid on one line: that of the part that stays.

    The waist and all else on that part keep their width; the edge beside is trimmed, or drawn on along its own line, to
    the new corner. Where the parts no longer run side by side nothing is done: the edge is ruled from corner to corner.

    Returns:
        The parts, and the ends of the edges beside that were set.
    """
    parts, ends = list(raw), list[EndSet]()
    for number, edge in enumerate(piece.edges):
        own = parts[number]
        if edge.role not in STIFF_ROLES or len(own.runs) != 2 or not is_straight(edge):
            continue
        joint = joint_of(*own.runs)
        if joint.turn_deg > FAIR_TURN_DEG or joint.step_mm <= FAIR_STEP_MM:
            continue
        line = Line(edge.start, edge.end)
        last = nearest(line, own.runs[1][0].start)[1] > FAIR_STEP_MM
        beside = (number + (1 if last else -1)) % len(parts)
        laid = _laid_on(line, own.runs[1 if last else 0])
        run = parts[beside].runs[0 if last else -1]
        met = meet((laid,), run) if last else meet(run, (laid,))
        if beside != number and met is not None:
            ruled, other = met if last else met[::-1]
            runs = (own.runs[0], ruled) if last else (ruled, own.runs[1])
            parts[number] = replace(own, runs=runs)
            rest = parts[beside].runs
            parts[beside] = replace(parts[beside], runs=(other, *rest[1:]) if last else (*rest[:-1], other))
            was, now = (run[0].start, other[0].start) if last else (run[-1].end, other[-1].end)
            ends.append(
                EndSet(
                    piece=piece.name,
                    edge=piece.edges[beside].name,
                    at_start=last,
                    why="adjoins",
                    was=was,
                    now=now,
                    by_mm=run_length(other) - run_length(run),
                )
            )
    return parts, ends


def _kept_line(end: EndSet) -> str:
    word = "drawn on" if end.by_mm > 0.0 else "trimmed"
    return (
        f"The steel edge of '{end.piece}' beside '{end.edge}' keeps its line; '{end.edge}' is {word} by"
        f" {both(abs(end.by_mm))} to meet it."
    )


def _laid_on(line: Line, run: Run) -> Line:
    """A straight run laid square on to the endless line."""
    way = unit(sub(line.end, line.start))
    start, end = (add(line.start, scaled(way, dot(sub(p, line.start), way))) for p in (run[0].start, run[-1].end))
    return Line(start, end)


def _refuse_step(edge: str, step_mm: float) -> None:
    if step_mm > MOST_STEP_MM:
        what = f"Edge '{edge}' would be stepped by {both(step_mm)} at the join."
        raise FitError.of(
            "amount", what, "Take a smaller amount, or set the line squarer to the edge.", code="join-stepped"
        )


def _fill(made: list[Broken], number: int, after: int) -> None:
    """The gap spread open at a corner, given to the edge that runs on across it."""
    before, behind = made[number], made[after]
    line = Line(before.runs[-1][-1].end, behind.runs[0][0].start)
    gap = sub(line.end, line.start)
    if abs(dot(gap, tangent(before.runs[-1][-1], 1.0))) >= abs(dot(gap, tangent(behind.runs[0][0], 0.0))):
        began = before.began_mm[-1] + run_length(before.runs[-1])
        made[number] = Broken((*before.runs, (line,)), (*before.began_mm, began), (*before.cornered, False))
    else:
        made[after] = Broken(((line,), *behind.runs), (behind.began_mm[0], *behind.began_mm), (False, *behind.cornered))


def _corner(before: Edge, after: Edge, end: Point, start: Point) -> Point:
    """Where two edges meet whose corner fell away: half way, or on the one that has to stay straight."""
    if before.role in STIFF_ROLES and is_straight(before):
        return end
    return start if after.role in STIFF_ROLES and is_straight(after) else mid(end, start)


def _end_at(own: Broken, corner: Point) -> Broken:
    run, number = own.runs[-1], len(own.runs) - 1
    made = _shifted(run, corner, distance(run[-1].end, corner), at_start=False)
    return replace(own, runs=(*own.runs[:-1], made), shifted=(*own.shifted, (number, run)))


def _start_at(own: Broken, corner: Point) -> Broken:
    run = own.runs[0]
    made = _shifted(run, corner, distance(run[0].start, corner), at_start=True)
    return replace(own, runs=(made, *own.runs[1:]), shifted=(*own.shifted, (0, run)))


def _shifted(run: Run, corner: Point, by_mm: float, *, at_start: bool) -> Run:
    if by_mm <= NOTHING_MM:
        return run
    return shifted_end(run, corner, reach_for(by_mm), at_start=at_start)


def _round(edges: Sequence[TruedEdge]) -> tuple[Edge, ...]:
    """The edges meeting exactly, all the way round."""
    runs = [list(edge.edge.segments) for edge in edges]
    for before, after in zip(runs, runs[1:] + runs[:1], strict=True):
        if before is not after:
            after[0] = with_start(after[0], before[-1].end)
    if len(runs) == 1:
        runs[0][-1] = with_end(runs[0][-1], runs[0][0].start)
    return tuple(replace(edge.edge, segments=tuple(run)) for edge, run in zip(edges, runs, strict=True))


def _notches(piece: Piece, edges: Sequence[TruedEdge]) -> tuple[Notch, ...]:
    by_name = {edge.edge.name: edge for edge in edges}
    return tuple(
        replace(notch, at=by_name[notch.edge].remeasured(notch.at)) if notch.edge in by_name else notch
        for notch in piece.notches
    )


def _said(one: RunRedrawn) -> str:
    why = "stepped" if one.why == "step" else "cornered"
    much = f"by {both(one.by_mm)} at most" if one.by_mm >= SEEN_MM else "by less than a ruler shows"
    return f"Redrawn where {why} at the join: '{one.edge}' of '{one.piece}' over {both(one.reach_mm)}, {much}."
