"""Seams presumed between neighbours: edges that face one another and whose lengths agree."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec.structs import replace

from diagnose.pattern.brought.understood.proposal import Proposed
from diagnose.pattern.measure import edge_length
from diagnose.pattern.outline import Edge, EdgeRef, Role, Seam
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.units import both

__all__ = ["presumed_seams"]


def presumed_seams(pieces: Sequence[Proposed]) -> tuple[tuple[Proposed, ...], tuple[Seam, ...], tuple[str, ...]]:
    """The seams of each piece with the next, the pieces with edges that proved to be none, and what was presumed.

    Where of several edges on one side one finds its partner, those above it belong to the top, those below it to the
    bottom (an armhole, a hip spring).
    """
    made, seams, said = list(pieces), list[Seam](), list[str]()
    for n, m in _neighbours(pieces):
        one, other = pieces[n], pieces[m]
        mine, theirs = _facing(one, "back"), _facing(other, "front")
        pairs = _matched([one.piece.edges[k] for k in mine], [other.piece.edges[k] for k in theirs])
        if mine and theirs and not pairs:
            said.append(_unlike(one, other, mine, theirs))
        seams += [
            Seam(f"seam-{len(seams) + k}", EdgeRef(one.piece.name, one.piece.edges[mine[i]].name),
                 EdgeRef(other.piece.name, other.piece.edges[theirs[j]].name))
            for k, (i, j) in enumerate(pairs, 1)
        ]  # fmt: skip
        if pairs:
            made[n] = _without_spare(made[n], mine, [mine[i] for i, _ in pairs])
            made[m] = _without_spare(made[m], theirs, [theirs[j] for _, j in pairs])
    return tuple(made), tuple(seams), tuple(said)


def _neighbours(pieces: Sequence[Proposed]) -> list[tuple[int, int]]:
    """Each piece with the next on its body side; a piece of both sides may have a left and a right neighbour."""
    found = [
        pair
        for body in ("left", "right")
        for pair in pairwise(n for n, one in enumerate(pieces) if one.piece.side in ("both", body))
    ]
    return sorted(set(found))


def _facing(one: Proposed, side: str) -> list[int]:
    """The seam edges of that side, from the bottom up."""
    found = [n for n, (e, where) in enumerate(zip(one.piece.edges, one.sides, strict=True))
             if where == side and e.role == "seam"]  # fmt: skip
    return found if side == "back" else found[::-1]


def _matched(mine: Sequence[Edge], theirs: Sequence[Edge]) -> list[tuple[int, int]]:
    """Pairs of edges of like length, from the bottom up, none crossing another."""
    pairs: list[tuple[int, int]] = []
    after = 0
    for i, edge in enumerate(mine):
        near = [j for j in range(after, len(theirs)) if _agree(edge, theirs[j])]
        if near:
            pairs.append((i, near[0]))
            after = near[0] + 1
    return pairs


def _agree(edge: Edge, other: Edge) -> bool:
    return abs(edge_length(edge) - edge_length(other)) <= SEAM_MATCH_TOL_MM


def _unlike(one: Proposed, other: Proposed, mine: Sequence[int], theirs: Sequence[int]) -> str:
    a, b = (max(edge_length(p.piece.edges[k]) for k in numbers) for p, numbers in ((one, mine), (other, theirs)))
    names = f"“{one.piece.name}” ({both(a)}) and “{other.piece.name}” ({both(b)})"
    return f"No seam was presumed between {names}: the lengths differ by more than 1/8 in. Name it, with its ease."


def _without_spare(one: Proposed, side: Sequence[int], sewn: Sequence[int]) -> Proposed:
    """The piece with the side's edges (from the bottom up) beyond its seams given to the bottom and the top."""
    edges = list(one.piece.edges)
    low, high = side.index(sewn[0]), side.index(sewn[-1])
    for place, number in enumerate(side):
        role: Role = "bottom" if place < low else "top"
        if (place < low or place > high) and not one.given[number]:
            edges[number] = replace(edges[number], role=role)
    return replace(one, piece=replace(one.piece, edges=tuple(edges)))
