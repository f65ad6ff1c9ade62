"""Outlines turned into pieces: edges between corners, each with a name and a role as far as they can be presumed.

Counter-clockwise from the bottom front corner: the bottom, the back, the top, the front. What is presumed is said in
plain sentences; what can't be is kept as a mistake that a labels file may mend.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import cast

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import Mistake
from diagnose.pattern.brought.drawings.corners import four_corners
from diagnose.pattern.brought.drawings.outlines import Outline
from diagnose.pattern.brought.told import told_extra, told_seams
from diagnose.pattern.brought.understood.edges_presumed import (
    EDGE_NAMES,
    edge_name,
    named_edges,
    parted_outline,
    plain_role,
    run_between,
    sided,
    told_four,
)
from diagnose.pattern.form.reader import CLOSURES
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.geometry.plane import cross, distance, sub, unit
from diagnose.pattern.geometry.runs import run_length
from diagnose.pattern.in_words import piece_quoted
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import (
    CUTS,
    SIDES,
    Cut,
    Edge,
    Piece,
    Role,
    Seam,
    run_of,
)
from diagnose.units import INCH_MM

__all__ = [
    "OfEdges", "Proposal", "Proposed", "as_stored", "chained", "front_unsure", "is_made_apart", "is_straight",
    "propose", "tells_apart", "with_ends",
]  # fmt: skip

STRAIGHT_TOL_MM = INCH_MM / 32
UPRIGHT_EDGE_RATIO = 0.02
SET_IN_RATIO = 0.5
"""A piece that is lower than this part of the highest is a gusset or a gore."""

_MADE_APART = re.compile(r"stomacher|sleeve|strap|collar|facing|pocket|modesty", re.IGNORECASE)
_SET_IN = re.compile(r"gusset|\bgore\b|godet", re.IGNORECASE)
EDGE_CHORD_TOL_MM = 0.2


class Proposed(Struct, frozen=True):
    """One piece as presumed.

    `sides` says of each edge whether it is part of the bottom, back, top or front (empty where that can't be told);
    `given` says of each whether its role stands in the drawing or the labels; `unsure` is what could not be presumed.
    """

    outline: Outline
    piece: Piece
    sides: tuple[str, ...]
    given: tuple[bool, ...]
    unsure: Mistake | None = None

    @property
    def is_stored(self) -> bool:
        """Whether all of it stands in the drawing as it was stored."""
        return self.outline.ring.is_stored and all(self.given)


class OfEdges(Struct, frozen=True):
    """What was presumed of the edges of the outline of that number; {} stands for the name of its piece."""

    outline: int
    text: str


class Proposal(Struct, frozen=True):
    """The whole pattern as presumed; levels and seams are found last, unless they are given.

    `heights_mm` are levels straight across all pieces, up from the lowest point of all outlines.
    """

    name: str
    closure: str
    pieces: tuple[Proposed, ...]
    said: tuple[str | OfEdges, ...] = ()
    seams: tuple[Seam, ...] | None = None
    heights_mm: Mapping[str, float] = field(default_factory=dict)
    extra: Mapping[str, object] = field(default_factory=dict)
    is_table: bool = False
    asks: tuple[Mistake, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """What was presumed, each piece called as it now is."""
        names = {one.outline.number: piece_quoted(one.piece.name) for one in self.pieces}
        return tuple(one if isinstance(one, str) else one.text.format(names[one.outline]) for one in self.said)


def propose(outlines: Sequence[Outline], name: str = "", closure: str = "back") -> Proposal:
    """The pattern that outlines come to.

    Args:
        outlines: from the front (left) to the back (right).
        name: what to call the pattern.
        closure: where it is laced or hooked: back, front or both.
    """
    pieces = [_proposed(outline) for outline in outlines]
    said: tuple[OfEdges, ...] = ()
    if not all(one.is_stored for one in pieces):
        pieces, said = with_ends(pieces, closure)
    return Proposal(name, closure, tuple(pieces), said=said)


def as_stored(proposal: Proposal) -> Proposal:
    """The proposal with the name, closure, seams and added keys that its drawing tells of the stored pattern."""
    told = [one.outline.ring.told for one in proposal.pieces]
    seams, said = told_seams([one.piece for one in proposal.pieces], told)
    closure = _first(told, "closure")
    return replace(
        proposal,
        name=_first(told, "pattern") or proposal.name,
        closure=closure if closure in CLOSURES else proposal.closure,
        said=(*proposal.said, *said),
        seams=seams,
        extra=told_extra(_first(told, "pattern-extra"), "pattern"),
    )


def _first(told: Sequence[Mapping[str, str]], key: str) -> str:
    return next((data[key] for data in told if key in data), "")


def _proposed(outline: Outline) -> Proposed:
    ring, breaks, names, roles = parted_outline(outline)
    corners = [ring.segments[n].start for n in breaks]
    four = told_four(corners) if outline.corners else four_corners(corners)
    begin = four.bottom_front if four and not (outline.ring.is_stored and all(roles)) else 0
    order = [*range(begin, len(breaks)), *range(begin)]
    runs = [run_between(ring, breaks, n) for n in order]
    sides = sided(len(runs), tuple((n - begin) % len(breaks) for n in four)) if four else ("",) * len(runs)
    edges = [
        Edge(names[n], cast(Role, roles[n] or plain_role(side)), run)
        for n, run, side in zip(order, runs, sides, strict=True)
    ]
    given = tuple(bool(roles[n]) for n in order)
    edges, sides, given = _with_one_bottom(edges, sides, given)
    unsure = None if four or all(given) else _unsure(outline, len(breaks))
    piece = _bare_piece(outline, named_edges(edges, sides))
    return Proposed(outline, piece, sides, given=given, unsure=unsure)


def _bare_piece(outline: Outline, edges: tuple[Edge, ...]) -> Piece:
    """The piece, its cut as the drawing's data or the words on it say."""
    data = outline.ring.told
    side = data.get("side", "")
    cut = data.get("cut", "") if data.get("cut") in CUTS else outline.cut or "pair"
    extra = told_extra(data.get("extra", ""), "pieces")
    return Piece(outline.name, cast(Cut, cut), side if side in SIDES else "both", edges=edges, extra=extra)


def _with_one_bottom(
    edges: list[Edge], sides: tuple[str, ...], given: tuple[bool, ...]
) -> tuple[list[Edge], tuple[str, ...], tuple[bool, ...]]:
    """The edges, those of the bottom made one where the drawing names none of them: tabs are no edges of their own."""
    count = sides.count("bottom")
    if count < 2 or any(given[:count]) or any(edge.name for edge in edges[:count]):
        return edges, sides, given
    whole = Edge("", "bottom", run_of(edges[:count]))
    return [whole, *edges[count:]], sides[count - 1 :], given[count - 1 :]


def _unsure(outline: Outline, count: int) -> Mistake:
    corners = "one corner" if count == 1 else f"{count} corners" if count else "no corner"
    what = f"It has {corners}, and it can't be told which edges are its bottom, back, top and front."
    typed = "Say in a labels file where its bottom and its top begin and end: corners: [[x, y], …], four of them."
    where = f"outline {outline.number} “{outline.name}”"
    return Mistake(where, what, "", typed=typed, code="edges-unsure", about=str(outline.number))


def is_made_apart(name: str) -> bool:
    """Whether a piece of that name is made by itself, and sewn to the half later or not at all."""
    return bool(_MADE_APART.search(name))


def tells_apart(name: str) -> bool:
    """Whether a name says that a piece is no part of the half's chain: made apart, or set in."""
    return is_made_apart(name) or bool(_SET_IN.search(name))


def chained(pieces: Sequence[Proposed]) -> list[int]:
    """The numbers of the pieces that make the half, from the front on: without what is set in, or made apart."""
    highs = [bounds(one.piece).high for one in pieces]
    found = [
        n for n, one in enumerate(pieces)
        if not tells_apart(one.piece.name) and highs[n] >= SET_IN_RATIO * max(highs)
    ]  # fmt: skip
    return found or list(range(len(pieces)))


def with_ends(pieces: Sequence[Proposed], closure: str = "back") -> tuple[list[Proposed], tuple[OfEdges, ...]]:
    """The first piece with its front edge, and the last with its back edge, where they are straight enough.

    What closes is laced, and the other end lies on the fold; a garment laced behind may open in front.
    """
    made, said = list(pieces), list[OfEdges]()
    chain = chained(pieces)
    first, last = chain[0], chain[-1]
    given = {edge.role for one in made for edge in one.piece.edges}

    def end(n: int, side: str, *roles: Role) -> None:
        made[n], told = _ended(made[n], side, roles)
        said.append(told)

    if closure == "back":
        if not given & {"fold", "opening"}:
            end(first, "front", *(("opening",) if made[first].outline.cut == "pair" else ("fold", "opening")))
        if "lacing" not in given:
            end(last, "back", "lacing")
    else:
        if "lacing" not in given:
            end(first, "front", "lacing")
        if closure == "both" and not any(edge.role == "lacing" for edge in made[last].piece.edges):
            end(last, "back", "lacing")
        elif closure == "front" and "fold" not in given:
            end(last, "back", "fold")
    for n, one in enumerate(made):
        on_fold = any(edge.role == "fold" for edge in one.piece.edges)
        if on_fold and one.piece.cut == "pair" and one.outline.cut != "pair":
            made[n] = replace(one, piece=replace(one.piece, cut="fold"))
    return made, tuple(said)


def front_unsure(pieces: Sequence[Proposed]) -> bool:
    """Whether the pieces may lie from the back: a slanting edge at the front, and an upright one at the back, as is
    usual the other way round."""
    chain = chained(pieces)
    ends = []
    for number, side in ((chain[0], "front"), (chain[-1], "back")):
        one = pieces[number]
        straight = [
            edge for edge, where, given in zip(one.piece.edges, one.sides, one.given, strict=True)
            if where == side and not given and is_straight(edge)
        ]  # fmt: skip
        ends.append(max(straight, key=lambda edge: run_length(edge.segments), default=None))
    front, back = ends
    return front is not None and back is not None and not _is_upright(front) and _is_upright(back)


_SAID: Mapping[str, str] = {"fold": "to lie on the fold", "opening": "to open", "lacing": "to be laced"}


def _ended(one: Proposed, side: str, roles: Sequence[Role]) -> tuple[Proposed, OfEdges]:
    """The piece, the longest straight edge on a side with the first of the roles that it may have, and what is said.

    Only what is upright may lie on the fold.
    """
    found = _longest(one, side)
    fits = [r for r in roles if found is not None and (r != "fold" or _is_upright(one.piece.edges[found]))]
    if found is None or not fits:
        edge = "straight upright edge" if roles == ("fold",) else "straight edge"
        none = " or ".join(_SAID[role] for role in roles)
        return one, OfEdges(one.outline.number, f"No {edge} at the {side} of {{}}: none was presumed {none}.")
    made = _with_spare(_with_role(one, found, fits[0]), found)
    return made, OfEdges(one.outline.number, f"The {side} edge of {{}} was presumed {_SAID[fits[0]]}.")


def _longest(one: Proposed, side: str) -> int | None:
    """The longest straight edge of that side whose role is not given."""
    rows = zip(one.piece.edges, one.sides, one.given, strict=True)
    found = [n for n, (e, where, given) in enumerate(rows) if where == side and not given and is_straight(e)]
    return max(found, key=lambda n: run_length(one.piece.edges[n].segments), default=None)


def is_straight(edge: Edge) -> bool:
    """Whether the edge strays from its chord by no more than half a mark of the ruler."""
    way = unit(sub(edge.end, edge.start))
    points = [point for segment in edge.segments for point in flatten(segment, EDGE_CHORD_TOL_MM)]
    return distance(edge.start, edge.end) > 0.0 and all(
        abs(cross(way, sub(point, edge.start))) <= STRAIGHT_TOL_MM for point in points
    )


def _is_upright(edge: Edge) -> bool:
    return abs(edge.end.x - edge.start.x) <= UPRIGHT_EDGE_RATIO * distance(edge.start, edge.end)


def _with_role(one: Proposed, number: int, role: Role) -> Proposed:
    """The piece with the role of one edge presumed, and the name that goes with it where it had none of its own."""
    edges = list(one.piece.edges)
    old = edges[number]
    plain = old.name.startswith(EDGE_NAMES[one.sides[number]])
    edges[number] = replace(old, role=role, name=edge_name(role, one.sides[number]) if plain else old.name)
    return replace(one, piece=replace(one.piece, edges=tuple(edges)))


def _with_spare(one: Proposed, end: int) -> Proposed:
    """The piece, the other edges of the side on which one edge ends the garment given to the top and the bottom."""
    edges = list(one.piece.edges)
    for n, (edge, where, given) in enumerate(zip(edges, one.sides, one.given, strict=True)):
        if where == one.sides[end] and n != end and not given:
            above = (n > end) == (where == "back")
            edges[n] = replace(edge, role="top" if above else "bottom")
    return replace(one, piece=replace(one.piece, edges=tuple(edges)))
