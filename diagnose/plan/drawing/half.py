"""One half of the garment, its pieces in order from centre front to centre back.

The order is read off the outlines, not off names. They run counter-clockwise, so the edge that goes up is the back edge
of its piece and the one that goes down its front edge; a seam joins the back edge of one piece to the front edge of the
next. A pattern that lists no seams is ordered by where its pieces lie on the paper.

A pattern may be a part of a garment: a half that ends in a curved edge sewn to nothing lacks the panels beyond it, and
with them the centre.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from msgspec import Struct

from diagnose.model.diagnosis import Side
from diagnose.model.settings import Settings
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.geometry.polylines import leg_gap
from diagnose.pattern.measure import bounds, edge_length, station_width
from diagnose.pattern.outline import SIDE_ROLES, STIFF_ROLES, Edge, EdgeRef, Pattern, Piece, Seam, runs_along
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task, touched_by

__all__ = [
    "Half", "Join", "back_edges", "by_halves", "closing_edge", "front_edges", "halves_of", "on_halves", "seam_sides",
    "sewn_slits",
]  # fmt: skip

CHORD_TOL_MM = 0.5
NO_BODY = "No piece of this pattern runs from a front edge to a back edge with a level drawn across it."


class Join(NamedTuple):
    """A seam of the half: the back edge of the piece in front, and the front edge of the piece behind it."""

    front: EdgeRef
    back: EdgeRef


class Half(Struct, frozen=True):
    """One half.

    Attributes:
        side: whose it is.
        pieces: from centre front to centre back.
        seams: between each two pieces that follow on: the joins they are sewn by (one, unless the seam is in parts).
        to_front: whether it goes on to centre front.
        to_back: whether it goes on to centre back.
        settings: where the places lie on it that nothing marks.
    """

    side: Side
    pieces: tuple[Piece, ...]
    seams: tuple[tuple[Join, ...], ...]
    settings: Settings
    to_front: bool = True
    to_back: bool = True

    def piece(self, name: str) -> Piece:
        """The piece of that name."""
        return next(piece for piece in self.pieces if piece.name == name)

    def shares(self) -> tuple[float, ...]:
        """Where each seam stands, as a share of the half's width from the front: at the underbust, else the waist."""
        widths = [_width(piece) for piece in self.pieces]
        whole = sum(widths)
        return tuple(sum(widths[: index + 1]) / whole for index in range(len(widths) - 1))


def halves_of(pattern: Pattern, side: Side, settings: Settings) -> tuple[Half, ...]:
    """The halves that a change on that side is drawn on: one, or left and right where pairs have been parted.

    Args:
        pattern: the pattern.
        side: `both` for a change on the whole garment.
        settings: where the places lie that nothing marks.

    Raises:
        NotDrawnError: when no piece of that side runs from a front to a back edge with a level across it.
    """
    sides: tuple[Side, ...] = (side,)
    if side == "both" and any(piece.side != "both" for piece in pattern.pieces):
        sides = ("left", "right")
    found = tuple(half for one in sides if (half := _half(pattern, one, settings)) is not None)
    if not found:
        raise NotDrawnError(NO_BODY)
    return found


def by_halves(board: Board, task: Task, make: Callable[[Half], Sequence[Op]]) -> Board:
    """The board with what is made for each half done."""
    return board.do(on_halves(board.pattern, task, make), task.side)


def on_halves(pattern: Pattern, task: Task, make: Callable[[Half], Sequence[Op]]) -> list[Op]:
    """What is made for each half, in order; a piece that serves both halves is altered once."""
    made: list[Op] = []
    for half in halves_of(pattern, task.side, task.settings):
        done = set(map(touched_by, made))
        made += [operation for operation in make(half) if touched_by(operation) not in done]
    return made


def seam_sides(joins: Sequence[tuple[Join, ...]]) -> list[list[EdgeRef]]:
    """The two sides of each seam, from front to back; a seam in parts has several edges to a side."""
    return [[join[side] for join in parts] for parts in joins for side in (0, 1)]


def closing_edge(half: Half, *, lacing: bool = True) -> tuple[Piece, tuple[Edge, ...]] | None:
    """The piece and its lacing edge: the one at the back where there are two; or the straight edge at the back.

    One that is stored in parts is given as its parts, in the order in which the outline goes round.
    """
    ends = [(half.pieces[-1], back_edges(half.pieces[-1])), (half.pieces[0], front_edges(half.pieces[0]))]
    roles = ("lacing",) if lacing else STIFF_ROLES
    for piece, edges in ends:
        own = {edge.name for edge in edges if edge.role == next((e.role for e in edges if e.role in roles), None)}
        if own:
            return piece, runs_along(piece, own)[0]
    return None


def sewn_slits(pattern: Pattern) -> set[tuple[str, str]]:
    """The piece and the name of every slit that a gore is sewn into; the others part tabs."""
    return {(lips.piece, lips.slit) for _, lips, _ in pattern.in_slits}


def back_edges(piece: Piece) -> list[Edge]:
    """The edges that go up: the piece's back side."""
    return [edge for edge in piece.edges if edge.role in SIDE_ROLES and edge.end.y > edge.start.y]


def front_edges(piece: Piece) -> list[Edge]:
    """The edges that go down: the piece's front side."""
    return [edge for edge in piece.edges if edge.role in SIDE_ROLES and edge.end.y < edge.start.y]


def _half(pattern: Pattern, side: Side, settings: Settings) -> Half | None:
    own = [piece for piece in pattern.pieces if "both" in (piece.side, side) or piece.side == side]
    gores = {own.piece for own, _, _ in pattern.in_slits}
    body = [piece for piece in own if piece.name not in gores and _has_sides(piece)]
    if not body:
        return None
    chain, seams = _by_seams(pattern.seams, body)
    if len(chain) == 1 and len(body) > 1:
        chain, seams = _by_place(body)
    to_front, to_back = _centres(pattern, chain, settings.mm("centre-bow-most"))
    return Half(side, tuple(chain), tuple(seams), settings=settings, to_front=to_front, to_back=to_back)


def _centres(pattern: Pattern, chain: Sequence[Piece], most_bow_mm: float) -> tuple[bool, bool]:
    """Whether the pieces go on to centre front and to centre back.

    What closes, lies on the fold or is sewn to its mirror image is a centre, and a straight edge may be one; a curved
    edge may be one where the other end closes and the garment does not close at this.
    """
    mirrored = {seam.a for seam in pattern.seams if seam.a == seam.b}
    ends = [(chain[0], front_edges(chain[0])), (chain[-1], back_edges(chain[-1]))]
    closed = [any(e.role in STIFF_ROLES or EdgeRef(piece.name, e.name) in mirrored for e in own) for piece, own in ends]
    found = []
    for own, other, here, (_, edges) in zip(("front", "back"), closed[::-1], closed, ends, strict=True):
        may = other and pattern.closure not in (own, "both")
        found.append(here or may or all(_bow_mm(edge) <= most_bow_mm for edge in edges))
    return found[0], found[1]


def _bow_mm(edge: Edge) -> float:
    """How far the edge strays from the straight line between its ends."""
    points = (point for segment in edge.segments for point in flatten(segment, CHORD_TOL_MM))
    return max(leg_gap(point, edge.start, edge.end) for point in points)


def _has_sides(piece: Piece) -> bool:
    """Whether it belongs to the body: it has a front and a back side, and a level runs across it."""
    return bool(piece.levels and front_edges(piece) and back_edges(piece))


def _by_seams(seams: Sequence[Seam], body: Sequence[Piece]) -> tuple[list[Piece], list[tuple[Join, ...]]]:
    closing = [p for p in body if any(edge.role in STIFF_ROLES for edge in front_edges(p))]
    first = min(closing or body, key=lambda piece: bounds(piece).left)
    chain, found = [first], list[tuple[Join, ...]]()
    pool = {piece.name: piece for piece in body if piece is not first}
    while joins := _onward(seams, chain[-1], pool):
        chain.append(pool.pop(joins[0].back.piece))
        found.append(joins)
    return chain, found


def _onward(seams: Sequence[Seam], piece: Piece, pool: dict[str, Piece]) -> tuple[Join, ...]:
    """The joins to the next piece; where there are several, to the one it is sewn to over the greatest length."""
    lengths = {edge.name: edge_length(edge) for edge in back_edges(piece)}
    found: dict[str, list[Join]] = {}
    for seam in seams:
        for own, other in seam.both_ways:
            if own.piece == piece.name and own.edge in lengths and other.piece in pool:
                found.setdefault(other.piece, []).append(Join(own, other))
    if not found:
        return ()
    return tuple(max(found.values(), key=lambda joins: sum(lengths[join.front.edge] for join in joins)))


def _by_place(body: Sequence[Piece]) -> tuple[list[Piece], list[tuple[Join, ...]]]:
    chain = sorted(body, key=lambda piece: bounds(piece).left)
    joins: list[tuple[Join, ...]] = [
        (Join(EdgeRef(a.name, _longest(back_edges(a))), EdgeRef(b.name, _longest(front_edges(b)))),)
        for a, b in pairwise(chain)
    ]
    return chain, joins


def _longest(edges: Sequence[Edge]) -> str:
    return max(edges, key=edge_length).name


def _width(piece: Piece) -> float:
    for station in ("underbust", "waist"):
        if station in piece.levels:
            return station_width(piece, station)
    box = bounds(piece)
    return box.right - box.left
