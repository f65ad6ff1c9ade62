"""The hem and the top edge drawn to meet the seams as they did: squarely at a fold, running on across a seam.

Where the two edges of a corner were square, or ran on from the piece beside, and an alteration has turned the one
against the other, the end of the top or bottom edge is turned back, fading to nothing. Across a seam it is the line
over both pieces that has to run on: each turns by half of what is missing, or the one that was altered by all of it.
A line that bent across the seam before is let bend less, and not more.
The line is turned over two inches, less where the edge is short or a level would lose more than 1/32 in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import RunRedrawn
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.blend import LEAST_REACH_MM, shifted_end
from diagnose.pattern.geometry.plane import angle, turned
from diagnose.pattern.geometry.runs import run_length
from diagnose.pattern.measure import station_width
from diagnose.pattern.moved.carry import followed
from diagnose.pattern.moved.fairing import MOST_NARROWING_MM, end_redrawn
from diagnose.pattern.outline import END_ROLES, STIFF_ROLES, Edge, EdgeRef, Pattern, Piece, Point

__all__ = ["corner_turn", "keeps_square", "squared"]

SQUARE_RAD = math.radians(3.0)
RUNS_ON_RAD = math.radians(10.0)
"""A line that bends by no more where it crosses a seam was meant to run on: paper is no truer (no source)."""
MOST_BENT_RAD = math.radians(60.0)
"""A line that bends by so much across a seam, or less, is not to bend more; one that bends more has a corner there."""
MOST_TURNED_RAD = math.radians(20.0)
"""A line that only about ran on is turned back by no more than this: by more, its end would hook (no source)."""
SMOOTH_RAD = math.radians(1.0)
OFF_RAD = math.radians(0.5)
LEAST_EDGE_MM = 5.0
BULGE = 4.0 / 27.0
"""How far a line whose end is turned strays from where it lay, for a reach and a turn of one (most of u²(1 - u))."""


class _End(Struct, frozen=True):
    """An end of an edge to be turned, and the direction of travel it is to have there."""

    edge: str
    at_start: bool
    way: Point


def squared(before: Pattern, now: Pattern, old: Piece, piece: Piece) -> tuple[Piece, tuple[RunRedrawn, ...]]:
    """The piece with its top and bottom edges meeting its other edges, and those of the pieces beside, as before.

    Args:
        before: the pattern before the alteration.
        now: the pattern after it, before any corner is squared.
        old: the piece as it stood before.
        piece: the piece as it is now, of the same edges.
    """
    trued: list[RunRedrawn] = []
    for number in range(len(piece.edges)):
        for end in _ends_off(before, now, old, piece=piece, number=number):
            is_sewn = any(EdgeRef(piece.name, end.edge) in seam.refs for seam in now.seams)
            piece, one = _turned(piece, end, is_sewn=is_sewn)
            trued += one
    return piece, tuple(trued)


def corner_turn(piece: Piece, number: int) -> float:
    """By how much the outline turns (radians, left positive) from the edge of that number to the one after it."""
    out, on = tangent(piece.edges[number].segments[-1], 1.0), tangent(_after(piece, number).segments[0], 0.0)
    return angle(out, on)


def _after(piece: Piece, number: int) -> Edge:
    return piece.edges[(number + 1) % len(piece.edges)]


def _ends_off(before: Pattern, now: Pattern, old: Piece, piece: Piece, number: int) -> Iterator[_End]:
    first, second = piece.edges[number], _after(piece, number)
    off = _off(before, now, old, piece=piece, number=number)
    if abs(off) <= OFF_RAD:
        return
    out, on = tangent(first.segments[-1], 1.0), tangent(second.segments[0], 0.0)
    if first.role == second.role:
        yield _End(first.name, False, turned(out, off / 2.0))
        yield _End(second.name, True, turned(on, -off / 2.0))
    elif first.role in END_ROLES:
        yield _End(first.name, False, turned(out, off))
    else:
        yield _End(second.name, True, turned(on, -off))


def _off(before: Pattern, now: Pattern, old: Piece, piece: Piece, number: int) -> float:
    """By how much the end of the top or bottom edge has to turn at the corner (radians)."""
    is_kept = keeps_square(before, old, number)
    sewn = _sewn_on(before, now, old, piece=piece, number=number, most=MOST_BENT_RAD)
    if sewn is not None and abs(corner_turn(old, number) + sewn[0] - math.pi) > RUNS_ON_RAD:
        is_kept = (
            False  # square by chance on one side of a seam across which the line bends: it is the line that counts
        )
    own = corner_turn(piece, number) - corner_turn(old, number)
    if sewn is not None:
        was, beside, altered = sewn
        bent = corner_turn(old, number) + was - math.pi
        more = own + beside - was
        if not is_kept:
            more = math.copysign(max(0.0, abs(bent + more) - abs(bent)), bent + more)
        off = more / (2.0 if altered else 1.0)
        return math.copysign(min(abs(off), MOST_TURNED_RAD), off) if abs(bent) > SQUARE_RAD else off
    if not is_kept:
        return 0.0
    from_, to = (corner_turn(one, number) - math.pi / 2.0 for one in (old, piece))
    about = OFF_RAD < abs(from_) <= SQUARE_RAD and all(part and part.role != "fold" for part in _parts(old, number))
    return math.copysign(max(0.0, abs(to) - SQUARE_RAD), to) if about else own


def _sewn_on(
    before: Pattern, now: Pattern, old: Piece, piece: Piece, number: int, most: float
) -> tuple[float, float, bool] | None:
    """The turn beside the corner across its seam, before and now, and whether the piece there was altered as well.

    None where the corner is at no seam, or the line bent across it by more than `most`.
    """
    side, end = _parts(old, number)
    if side is None or end is None:
        return None
    turned = corner_turn(old, number)
    pairs = zip(
        _beside(before, EdgeRef(old.name, side.name), end.role, at_end=side is old.edges[number]),
        _beside(now, EdgeRef(piece.name, side.name), end.role, at_end=side is old.edges[number]),
        strict=False,
    )
    for (was_piece, was), (now_piece, beside) in pairs:
        if abs(turned + was - math.pi) <= most:
            return was, beside, now_piece is not was_piece
    return None


def _parts(piece: Piece, number: int) -> tuple[Edge | None, Edge | None]:
    """The side edge and the top or bottom edge of the corner; None for the one that it has not."""
    pair = (piece.edges[number], _after(piece, number))
    return (
        next((edge for edge in pair if edge.role not in END_ROLES), None),
        next((edge for edge in pair if edge.role in END_ROLES), None),
    )


def keeps_square(pattern: Pattern, piece: Piece, number: int) -> bool:
    """Whether a corner must stay as it is: a top or bottom edge square to a side or running on across its seam.

    Args:
        pattern: the pattern the piece stands in.
        piece: the piece.
        number: the number of the edge before the corner.
    """
    first, second = piece.edges[number], _after(piece, number)
    ends = [edge for edge in (first, second) if edge.role in END_ROLES]
    turned = corner_turn(piece, number)
    if first.role == second.role and first.role not in STIFF_ROLES:
        return abs(turned) <= SMOOTH_RAD
    if len(ends) != 1:
        return False
    if abs(turned - math.pi / 2.0) <= SQUARE_RAD:
        return True
    side = second if ends[0] is first else first
    return any(
        abs(turned + beside - math.pi) <= RUNS_ON_RAD
        for _, beside in _beside(pattern, EdgeRef(piece.name, side.name), ends[0].role, at_end=side is first)
    )


def _beside(pattern: Pattern, own: EdgeRef, role: str, *, at_end: bool) -> Iterator[tuple[Piece, float]]:
    """The pieces sewn to that edge, each with the turn at the same end of its seam to the top or bottom edge there.

    Outlines run one way round, so an edge ends where the one sewn to it begins: that tells the two ends of a shoulder
    apart, which has a top edge at both.
    """
    for seam in (one for one in pattern.seams if own in one.refs):
        ref = seam.b if seam.a == own else seam.a
        piece = pattern.piece(ref.piece)
        for number in _corners_of(piece, ref.edge, role, at_start=at_end):
            yield piece, corner_turn(piece, number)


def _corners_of(piece: Piece, edge: str, role: str, *, at_start: bool) -> list[int]:
    """The corner of an edge with an edge of that role, at its start (or end); the one there is, where there is one."""
    after = next((number for number, one in enumerate(piece.edges) if one.name == edge), None)
    if after is None:
        return []  # a slit
    before = (after - 1) % len(piece.edges)
    found = [n for n in (before, after) if role in (piece.edges[n].role, _after(piece, n).role)]
    return [n for n in found if len(found) == 1 or (n == before) is at_start]


def _turned(piece: Piece, end: _End, *, is_sewn: bool) -> tuple[Piece, list[RunRedrawn]]:
    """The piece with an end of an edge turned, and what was redrawn; one that is sewn to another keeps its length."""
    edge = piece.edge(end.edge)
    size = run_length(edge.segments)
    own = tangent(edge.segments[0], 0.0) if end.at_start else tangent(edge.segments[-1], 1.0)
    bend = abs(angle(own, end.way))
    if size < LEAST_EDGE_MM or bend == 0.0:
        return piece, []
    reach = min(LEAST_REACH_MM, size)
    made = _turned_over(piece, edge, end, reach=reach, bend=bend)
    if max(_lost(piece, made[0]), default=0.0) > MOST_NARROWING_MM:
        made = _turned_over(piece, edge, end, reach=min(reach, MOST_NARROWING_MM / (BULGE * bend)), bend=bend)
    gained = abs(run_length(made[0].edge(end.edge).segments) - size) if is_sewn else 0.0
    if gained > MOST_NARROWING_MM:
        made = _turned_over(piece, edge, end, reach=reach * MOST_NARROWING_MM / gained, bend=bend)
    return made


def _lost(was: Piece, made: Piece) -> Iterator[float]:
    """What each level that the turned edge has cut into loses, mm."""
    for station, level in made.levels.items():
        if level != was.levels[station]:
            yield station_width(was, station) - station_width(made, station)


def _turned_over(piece: Piece, edge: Edge, end: _End, reach: float, bend: float) -> tuple[Piece, list[RunRedrawn]]:
    to = edge.start if end.at_start else edge.end
    redrawn = replace(edge, segments=shifted_end(edge.segments, to, reach, at_start=end.at_start, way=end.way))
    now = run_length(redrawn.segments)
    zone = end_redrawn(
        piece.name, edge, redrawn, reach_mm=reach, by_mm=BULGE * reach * bend, at_start=end.at_start, why="square"
    )
    return followed(piece, piece.with_edge(redrawn).with_notches_at({edge.name: lambda mm: min(mm, now)}), [zone]), [
        zone
    ]
