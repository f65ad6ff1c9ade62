"""A piece cut at its gates, moved, closed up and trued, with everything that lies on it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered, EdgeParts, EndSet, PartMoved, RunRedrawn, Zone
from diagnose.pattern.geometry.bezier import point_at, tangent
from diagnose.pattern.geometry.blend import FAIR_STEP_MM, FAIR_TURN_DEG, joint_of, reach_for, shifted_end
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.geometry.joins import meet, with_end, with_start
from diagnose.pattern.geometry.plane import along, corner_deg, distance, dot, mid, sub
from diagnose.pattern.geometry.polylines import evenest_line
from diagnose.pattern.geometry.runs import run_length
from diagnose.pattern.in_words import edge_words, piece_words
from diagnose.pattern.moved.carried_edges import carried_edge
from diagnose.pattern.moved.carried_marks import Paper, carried_marks
from diagnose.pattern.moved.carry import feet_reached, followed
from diagnose.pattern.moved.fairing import MOST_NARROWING_MM, TruedEdge, ruled, true_edge
from diagnose.pattern.moved.gates import Broken, Gate, Ring, Stretch, broken, stretches
from diagnose.pattern.moved.level_ends import trimmed
from diagnose.pattern.moved.narrowing import level_hits
from diagnose.pattern.moved.shift import is_straight, runs_on
from diagnose.pattern.outline import END_ROLES, STIFF_ROLES, Edge, Line, Pattern, Piece, Point, Polyline, Run
from diagnose.pattern.tolerances import LEVEL_REACH_TOL_MM, NOTHING_MM
from diagnose.sentences import listed, upper_first
from diagnose.units import INCH_MM, both

__all__ = ["closed_up"]

TOLD_END_MM = INCH_MM / 32
MOST_STEP_MM = 2 * INCH_MM
MOST_BEND_DEG = 2.0
"""Over the 4 in of a blend so much of a bend is half a millimetre at its middle: less than a pencil's line."""


def closed_up(
    pattern: Pattern,
    piece: Piece,
    ring: Ring,
    gates: Sequence[Gate],
    paper: Paper,
    *,
    keep: str = "",
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
    raw = broken(piece, ring, left, move=paper.move)
    marked, notes = carried_marks(paper, piece)
    kept = [_kept_level(piece, marked, paper, keep=keep)] if keep in marked.levels else []
    levels = [*kept, *(line for station, line in marked.levels.items() if station != keep)]
    laid, ends = _steel_shared(piece, raw, levels, kept=kept)
    parts = _corners_closed(piece, ring, gates, parts=laid)
    cut = sum(not own.whole and edge.role == "seam" for edge, own in zip(piece.edges, parts, strict=True))
    most = MOST_NARROWING_MM / max(1, cut)
    as_one = [_as_one(piece, edge, own, paper=paper, keep=keep) for edge, own in zip(piece.edges, parts, strict=True)]
    edges = [
        one or true_edge(piece.name, edge, own, levels=levels, keep=kept, most_mm=most)
        for edge, own, one in zip(piece.edges, parts, as_one, strict=True)
    ]
    edges = _ruled_as_one(piece, edges)
    made = replace(marked, edges=_round(edges)).with_notches_at({one.edge.name: one.remeasured for one in edges})
    zones = [zone for edge in edges for zone in edge.zones]
    made = feet_reached(followed(piece, made, zones), piece, lambda point: paper.part_of(point) == "strip")
    done = Altered(pattern.with_piece(made), zones=(*_laid(piece, left, raw, paper=paper), *ends, *zones))
    trued = (_said(done.pattern.piece(zone.piece), zone) for zone in done.trued if isinstance(zone, RunRedrawn))
    lost = _bends_lost(piece, ring, gates, paper=paper, as_one=as_one)
    to_steel = (_set_to_steel(done.pattern.piece(end.piece), end) for end in ends if abs(end.by_mm) >= TOLD_END_MM)
    return replace(done, notes=(*lost, *notes, *to_steel, *trued))


def _kept_level(piece: Piece, marked: Piece, paper: Paper, keep: str) -> Polyline:
    """The level to be kept, carried; one that is not cut without what overhangs the paper, so that it ends at it."""
    level = trimmed(piece, piece.levels[keep])
    is_cut = len({paper.part_of(point) for point in level}) > 1
    return marked.levels[keep] if is_cut else tuple(map(paper.carried, level))


def _as_one(piece: Piece, edge: Edge, own: Broken, *, paper: Paper, keep: str) -> TruedEdge | None:
    """An edge that the cut crosses, drawn as one line where the paper asks for that."""
    if own.whole or not paper.as_one(edge.role) or (edge.role in STIFF_ROLES and is_straight(edge)):
        return None

    def share_of(place: Point) -> float:
        whole = sub(paper.move(place), place)
        return dot(sub(paper.carried(place), place), whole) / max(dot(whole, whole), NOTHING_MM)

    return carried_edge(
        piece.name,
        edge,
        own,
        move=paper.move,
        levels=list(piece.levels.values()),
        keep=[piece.levels[keep]] if keep in piece.levels else [],
        share_of=share_of,
    )


def _bends_lost(
    piece: Piece, ring: Ring, gates: Sequence[Gate], *, paper: Paper, as_one: Sequence[TruedEdge | None]
) -> Iterator[str]:
    """What of an edge went with the strip and can't be drawn again from what is left: where it bends, or ends."""
    bent = (ring.owners[gate.leave.at] for gate in gates if _bend_deg(ring, gate) > MOST_BEND_DEG)
    lost = dict.fromkeys(n for n in bent if paper.as_one(piece.edges[n].role) and not as_one[n])
    for number, edge in enumerate(piece.edges):
        spots = (point_at(segment, t) for segment in edge.segments for t in (0.5, 1.0))
        if edge.role in END_ROLES and paper.as_one(edge.role) and any(paper.part_of(at) == "strip" for at in spots):
            lost[number] = None
    if lost:
        edges = listed([f"{edge_words(piece.edges[number])} of {piece_words(piece.name)}" for number in lost])
        yield f"These edges bend within what is folded out, and letting it in again will not draw that bend: {edges}."


def _bend_deg(ring: Ring, gate: Gate) -> float:
    """By how much the edge turns between the two sides of what falls away."""
    out, on = (tangent(ring.segments[place.at], place.t) for place in (gate.leave, gate.enter))
    return corner_deg(out, on)


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
            _refuse_step(edge, joint_of(before, behind).step_mm)
    for number in range(len(made)):
        after = (number + 1) % len(made)
        end, start = made[number].runs[-1][-1].end, made[after].runs[0][0].start
        if distance(end, start) <= NOTHING_MM:
            continue
        if after in opened:
            _fill(made, number, after)
        else:
            _refuse_step(piece.edges[after], distance(end, start))
            corner = _corner(piece.edges[number], piece.edges[after], end, start=start)
            made[number] = _brought_to(made[number], corner, at_start=False)
            made[after] = _brought_to(made[after], corner, at_start=True)
    return made


def _steel_shared(
    piece: Piece, raw: Sequence[Broken], levels: Sequence[Polyline], kept: Sequence[Polyline]
) -> tuple[list[Broken], list[EndSet]]:
    """The parts, the ends of each steel edge that a cut has stepped aside set so that the step is shared out.

    Of all straight lines the one is taken that strays least from the old corners and from where the levels come to lie,
    so that no station gains or loses more than it must; where a level is kept, it goes through the end of that one.
    The edges beside are trimmed, or drawn on along their own line, to it; the steel edge is then ruled from corner to
    corner. Where its parts no longer run side by side, or an edge beside does not meet the line, the corners stay where
    the paper has carried them.

    Returns:
        The parts, and the ends of the edges beside that were set.
    """
    parts, ends = list(raw), list[EndSet]()
    for number, edge in enumerate(piece.edges):
        if edge.role not in STIFF_ROLES or not is_straight(edge) or not _stepped_aside(raw[number]):
            continue
        first, last = raw[number].runs
        line = _evenest(first, last, levels, kept=kept)
        before, after = (number - 1) % len(parts), (number + 1) % len(parts)
        arrived = meet(parts[before].runs[-1], (line,))
        left = meet(arrived[1], parts[after].runs[0]) if arrived else None
        if number in (before, after) or not arrived or not left:
            continue
        start, end = with_start(first[0], left[0][0].start), with_end(last[-1], left[0][-1].end)
        runs = ((start, *first[1:]), (*last[:-1], end))
        parts[number] = replace(raw[number], runs=runs, shifted=((0, first), (1, last)))
        for at, run, at_start in ((before, arrived[0], False), (after, left[1], True)):
            ends.append(_end_set(piece, parts, at, run=run, at_start=at_start))
            others = parts[at].runs[1:] if at_start else parts[at].runs[:-1]
            parts[at] = replace(parts[at], runs=(run, *others) if at_start else (*others, run))
    return parts, ends


def _stepped_aside(own: Broken) -> bool:
    if len(own.runs) != 2:
        return False
    joint = joint_of(*own.runs)
    return joint.turn_deg <= FAIR_TURN_DEG and joint.step_mm > FAIR_STEP_MM


def _evenest(first: Run, last: Run, levels: Sequence[Polyline], kept: Sequence[Polyline]) -> Line:
    """The line that strays least from the corners of the two parts, and from where the levels meet them."""
    met, through = ([place for run in (first, last) for _, place, *_ in level_hits(run, of)] for of in (levels, kept))
    # A level that lies along the cut ends on one of the parts, and meets the other drawn on a little.
    ends = [end for line in kept for end in (line[0], line[-1])]
    places = [*through, first[-1].end, last[0].start]
    near, place = min(((distance(end, at), at) for end in ends for at in places), default=(math.inf, None))
    return Line(*evenest_line(first[0].start, last[-1].end, met, through=place if near <= LEVEL_REACH_TOL_MM else None))


def _ruled_as_one(piece: Piece, edges: Sequence[TruedEdge]) -> list[TruedEdge]:
    """The edges, those of one straight steel line that is stored in parts ruled from end to end of all of it."""
    made = list(edges)
    for numbers in _steel_lines(piece):
        parts = [made[number] for number in numbers]
        sizes = list(accumulate((run_length(part.edge.segments) for part in parts), initial=0.0))
        first, last = parts[0].edge.start, parts[-1].edge.end
        whole = Line(first, last)
        if sizes[-1] <= NOTHING_MM or all(nearest(whole, part.edge.end)[1] <= FAIR_STEP_MM for part in parts):
            continue
        ends = [first, *(along(first, last, mm / sizes[-1]) for mm in sizes[1:-1]), last]
        for number, part, line in zip(numbers, parts, pairwise(ends), strict=True):
            made[number] = ruled(piece.name, part, Line(*line))
    return made


def _steel_lines(piece: Piece) -> Iterator[list[int]]:
    """The numbers of the steel edges that run on from each other as one straight line, in ring order, two or more."""
    ring = piece.edges

    def joins(number: int) -> bool:
        before, after = ring[number - 1], ring[number % len(ring)]
        stiff = before.role in STIFF_ROLES and after.role in STIFF_ROLES and is_straight(before) and is_straight(after)
        return before is not after and stiff and runs_on(before.segments[-1], after.segments[0])

    for number in range(len(ring)):
        if joins(number + 1) and not joins(number):
            line = [number]
            while joins(line[-1] + 1):
                line.append((line[-1] + 1) % len(ring))
            yield line


def _end_set(piece: Piece, parts: Sequence[Broken], number: int, run: Run, *, at_start: bool) -> EndSet:
    """The end (or start) of an edge set to a steel edge beside it."""
    old = parts[number].runs[0 if at_start else -1]
    return EndSet(
        piece=piece.name,
        edge=piece.edges[number].name,
        at_start=at_start,
        why="adjoins",
        now=run[0].start if at_start else run[-1].end,
        by_mm=run_length(run) - run_length(old),
    )


def _set_to_steel(piece: Piece, end: EndSet) -> str:
    word = "Drawn on" if end.by_mm > 0.0 else "Trimmed"
    return (
        f"{word} to meet the steel edge, which is ruled straight again with its step shared out over the levels:"
        f" {edge_words(piece.edge(end.edge))} of {piece_words(piece.name)} by {both(abs(end.by_mm))}."
    )


def _refuse_step(edge: Edge, step_mm: float) -> None:
    if step_mm > MOST_STEP_MM:
        what = f"{upper_first(edge_words(edge))} would be stepped by {both(step_mm)} at the join."
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


def _brought_to(own: Broken, corner: Point, *, at_start: bool) -> Broken:
    """The parts of an edge with its start (or end) brought to a corner."""
    runs, number = list(own.runs), 0 if at_start else len(own.runs) - 1
    run = runs[number]
    by_mm = distance(run[0].start if at_start else run[-1].end, corner)
    if by_mm > NOTHING_MM:
        runs[number] = shifted_end(run, corner, reach_for(by_mm), at_start=at_start)
    return replace(own, runs=tuple(runs), shifted=(*own.shifted, (number, run)))


def _round(edges: Sequence[TruedEdge]) -> tuple[Edge, ...]:
    """The edges meeting exactly, all the way round."""
    runs = [list(edge.edge.segments) for edge in edges]
    for before, after in zip(runs, runs[1:] + runs[:1], strict=True):
        if before is not after:
            after[0] = with_start(after[0], before[-1].end)
    if len(runs) == 1:
        runs[0][-1] = with_end(runs[0][-1], runs[0][0].start)
    return tuple(replace(edge.edge, segments=tuple(run)) for edge, run in zip(edges, runs, strict=True))


def _said(piece: Piece, one: RunRedrawn) -> str:
    why = "Stepped" if one.why == "step" else "Cornered"
    much = f"by {both(one.by_mm)} at most" if one.by_mm >= TOLD_END_MM else "by less than a ruler shows"
    where = f"{edge_words(piece.edge(one.edge))} of {piece_words(piece.name)}"
    return f"{why} at the join and redrawn: {where} over {both(one.reach_mm)}, {much}."
