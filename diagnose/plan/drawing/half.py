"""One half of the garment, its pieces in order from centre front to centre back.

The order is read off the outlines, not off names. They run counter-clockwise, so the edge that goes up is the back edge
of its piece and the one that goes down its front edge; a seam joins the back edge of one piece to the front edge of the
next. A pattern that lists no seams is ordered by where its pieces lie on the paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from msgspec import Struct

from diagnose.model.diagnosis import Side
from diagnose.pattern.measure import SLIT_PREFIX, bounds, edge_length, station_width
from diagnose.pattern.outline import SIDE_ROLES, STIFF_ROLES, Edge, EdgeRef, Pattern, Piece, Seam
from diagnose.plan.drawing.board import NotDrawnError

__all__ = ["Half", "Join", "back_edges", "front_edges", "halves_of", "sewn_slits"]

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
    """

    side: Side
    pieces: tuple[Piece, ...]
    seams: tuple[tuple[Join, ...], ...]

    def piece(self, name: str) -> Piece:
        """The piece of that name."""
        return next(piece for piece in self.pieces if piece.name == name)

    def shares(self) -> tuple[float, ...]:
        """Where each seam stands, as a share of the half's width from the front: at the underbust, else the waist."""
        widths = [_width(piece) for piece in self.pieces]
        whole = sum(widths)
        return tuple(sum(widths[: index + 1]) / whole for index in range(len(widths) - 1))


def halves_of(pattern: Pattern, side: Side) -> tuple[Half, ...]:
    """The halves that a change on that side is drawn on: one, or left and right where pairs have been parted.

    Args:
        pattern: the pattern.
        side: `both` for a change on the whole garment.

    Raises:
        NotDrawnError: when no piece of that side runs from a front to a back edge with a level across it.
    """
    sides: tuple[Side, ...] = (side,)
    if side == "both" and any(piece.side != "both" for piece in pattern.pieces):
        sides = ("left", "right")
    found = tuple(half for one in sides if (half := _half(pattern, one)) is not None)
    if not found:
        raise NotDrawnError(NO_BODY)
    return found


def sewn_slits(pattern: Pattern) -> set[tuple[str, str]]:
    """The piece and the name of every slit that a gore is sewn into; the others part tabs."""
    refs = (ref for seam in pattern.seams for ref in (seam.a, seam.b))
    return {(ref.piece, ref.edge.removeprefix(SLIT_PREFIX)) for ref in refs if ref.edge.startswith(SLIT_PREFIX)}


def back_edges(piece: Piece) -> list[Edge]:
    """The edges that go up: the piece's back side."""
    return [edge for edge in piece.edges if edge.role in SIDE_ROLES and edge.end.y > edge.start.y]


def front_edges(piece: Piece) -> list[Edge]:
    """The edges that go down: the piece's front side."""
    return [edge for edge in piece.edges if edge.role in SIDE_ROLES and edge.end.y < edge.start.y]


def _half(pattern: Pattern, side: Side) -> Half | None:
    own = [piece for piece in pattern.pieces if "both" in (piece.side, side) or piece.side == side]
    slitted = {
        ref.piece
        for seam in pattern.seams
        for ref, other in ((seam.a, seam.b), (seam.b, seam.a))
        if other.edge.startswith(SLIT_PREFIX)
    }
    body = [piece for piece in own if piece.name not in slitted and _has_sides(piece)]
    if not body:
        return None
    chain, seams = _by_seams(pattern.seams, body)
    if len(chain) == 1 and len(body) > 1:
        chain, seams = _by_place(body)
    return Half(side, tuple(chain), tuple(seams))


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
        for own, other in ((seam.a, seam.b), (seam.b, seam.a)):
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
