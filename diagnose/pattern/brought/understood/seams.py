"""Seams presumed between neighbours: edges that face one another and whose lengths agree."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec.structs import replace

from diagnose.errors import Mistake
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed, chained, is_made_apart
from diagnose.pattern.in_words import piece_quoted
from diagnose.pattern.measure import edge_length, slit_length
from diagnose.pattern.outline import Edge, EdgeRef, Role, Seam, Slit
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.units import Unit, both, short

__all__ = ["apart_of", "presumed_seams", "set_in", "unsewn"]


def presumed_seams(
    pieces: Sequence[Proposed], unit: Unit
) -> tuple[tuple[Proposed, ...], tuple[Seam, ...], tuple[str, ...]]:
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
            said.append(_unlike(one, other, mine, theirs=theirs, unit=unit))
        seams += [
            Seam(f"seam-{len(seams) + k}", EdgeRef(one.piece.name, one.piece.edges[mine[i]].name),
                 EdgeRef(other.piece.name, other.piece.edges[theirs[j]].name))
            for k, (i, j) in enumerate(pairs, 1)
        ]  # fmt: skip
        if pairs:
            made[n] = _without_spare(made[n], mine, [mine[i] for i, _ in pairs])
            made[m] = _without_spare(made[m], theirs, [theirs[j] for _, j in pairs])
    return tuple(made), tuple(seams), tuple(said)


def set_in(pieces: Sequence[Proposed]) -> tuple[tuple[Seam, ...], tuple[str, ...]]:
    """The seams of pieces that are set into slits: two legs of one length that a slit has too.

    Of several slits of one length each takes a piece, in their order; where there are not as many as pieces, none is
    presumed.
    """
    chain = set(chained(pieces))
    legs = {n: _legs(one) for n, one in enumerate(pieces) if n not in chain}
    slits = [(one.piece.name, slit) for n, one in enumerate(pieces) if n in chain for slit in one.piece.slits]
    seams, said, used = list[Seam](), list[str](), set[tuple[str, str]]()
    for n, pair in legs.items():
        if pair is None:
            continue
        one = pieces[n].piece
        fits = [(name, slit) for name, slit in slits if _fits(pair, slit)]
        rivals = [m for m, other in legs.items() if other and any(_fits(other, slit) for _, slit in fits)]
        left = [(name, slit) for name, slit in fits if (name, slit.name) not in used]
        if not left or len(rivals) != len(fits):
            continue
        name, slit = left[0]
        used.add((name, slit.name))
        seams += [
            Seam(f"{one.name}-{edge.name}", EdgeRef(one.name, edge.name), EdgeRef(name, f"slit:{slit.name}"))
            for edge in pair
        ]  # fmt: skip
        where = f"the slit of {piece_quoted(name)}"
        said.append(f"{piece_quoted(one.name)} was presumed to be set into {where}: its legs are as long.")
    return tuple(seams), tuple(said)


def _legs(one: Proposed) -> tuple[Edge, Edge] | None:
    """The two edges of a gusset or gore that meet at its tip; None where it has no such two."""
    edges = one.piece.edges
    pairs = [
        (edge, edges[(n + 1) % len(edges)]) for n, edge in enumerate(edges)
        if edge.role == "seam" and edges[(n + 1) % len(edges)].role == "seam"
    ]  # fmt: skip
    return pairs[0] if len(pairs) == 1 and _agree(*pairs[0]) and len(edges) == LEG_EDGES else None


LEG_EDGES = 3


def _fits(legs: tuple[Edge, Edge], slit: Slit) -> bool:
    return all(abs(edge_length(edge) - slit_length(slit)) <= SEAM_MATCH_TOL_MM for edge in legs)


def unsewn(proposal: Proposal, seams: Sequence[Seam], unit: Unit) -> list[Mistake]:
    """What is to be asked where neighbours are not sewn together, with the lines that would say how."""
    pieces = proposal.pieces
    joined = {seam.pieces for seam in seams}
    names = [one.piece.name for one in pieces]
    bare = [(n, m) for n, m in _neighbours(pieces) if frozenset((names[n], names[m])) not in joined]
    if not bare:
        return list(_loose(proposal, seams))
    rows = [(seam.name, seam.a, seam.b, 0.0) for seam in seams]
    for n, m in bare:
        ends = [_longest(pieces[n], "back"), _longest(pieces[m], "front")]
        if ends[0] is None or ends[1] is None:
            continue
        a, b = (EdgeRef(pieces[k].piece.name, edge.name) for k, edge in zip((n, m), ends, strict=True) if edge)
        rows.append((f"seam-{len(rows) + 1}", a, b, edge_length(ends[0]) - edge_length(ends[1])))
    lines = "\n".join(_line(*row, unit=unit, is_table=proposal.is_table) for row in rows)
    apart = ", ".join(f"“{names[n]}” and “{names[m]}”" for n, m in bare)
    where, head = ("table", "") if proposal.is_table else ("labels file", "seams:\n")
    typed = f"Write in the {where} what is sewn to what, or say --sure seams if nothing is:\n{head}{lines}"
    return [Mistake("seams", f"No seam was found between {apart}.", "", typed=typed, code="sure-seams")]


def apart_of(pieces: Sequence[Proposed], seams: Sequence[Seam]) -> list[str]:
    """The names of the pieces that are no part of the half and sewn to nothing yet."""
    sewn = {ref.piece for seam in seams for ref in seam.refs}
    chain = set(chained(pieces))
    return [one.piece.name for n, one in enumerate(pieces) if n not in chain and one.piece.name not in sewn]


def _loose(proposal: Proposal, seams: Sequence[Seam]) -> Iterator[Mistake]:
    """Gores and gussets that are sewn to nothing, with the lines that would say to what."""
    names = [name for name in apart_of(proposal.pieces, seams) if not is_made_apart(name)]
    if not names:
        return
    first = next(one for one in proposal.pieces if one.piece.name == names[0])
    host = proposal.pieces[chained(proposal.pieces)[0]].piece.name
    legs = [edge.name for edge in first.piece.edges if edge.role == "seam"][:2] or ["leg"]
    where, slit = (
        ("table", f"# slit: {host} s1 3,-3 3,0\n") if proposal.is_table
        else ("labels file, once the slit that it is set into is drawn", "seams:\n")
    )  # fmt: skip
    lines = "\n".join(
        _line(f"{names[0]}-{leg}", EdgeRef(names[0], leg), EdgeRef(host, "slit:s1"), ease_mm=0.0, unit="in",
              is_table=proposal.is_table)
        for leg in legs
    )  # fmt: skip
    said = ", ".join(map(piece_quoted, names))
    what = f"{said}: sewn to nothing as yet, and so counted in no girth."
    typed = f"Draw the slits that they are set into, or write in the {where}:\n{slit}{lines}\nor say --sure seams."
    yield Mistake("seams", what, "", typed=typed, code="sure-seams")


def _longest(one: Proposed, side: str) -> Edge | None:
    """The longest edge of that side that might be sewn."""
    found = [one.piece.edges[n] for n in _facing(one, side)] or [
        edge for edge in one.piece.edges if edge.role == "seam"
    ]
    return max(found, key=edge_length, default=None)


def _line(name: str, a: EdgeRef, b: EdgeRef, ease_mm: float, *, unit: Unit, is_table: bool) -> str:
    """A seam as it is written in a table or in a labels file."""
    far = abs(ease_mm) > SEAM_MATCH_TOL_MM
    ease = short(ease_mm, unit)
    if is_table:
        eased = f" ease={ease.replace(' in', '').replace(' ', '-')}" if far else ""
        return f"# seam: {name} {'/'.join(a)} {'/'.join(b)}{eased}"
    return f"  - {{name: {name}, a: {'/'.join(a)}, b: {'/'.join(b)}" + (f", ease: {ease}" * far) + "}"


def _neighbours(pieces: Sequence[Proposed]) -> list[tuple[int, int]]:
    """Each piece with the next on its body side; a piece of both sides may have a left and a right neighbour."""
    found = [
        pair
        for body in ("left", "right")
        for pair in pairwise(n for n in chained(pieces) if pieces[n].piece.side in ("both", body))
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


def _unlike(one: Proposed, other: Proposed, mine: Sequence[int], *, theirs: Sequence[int], unit: Unit) -> str:
    a, b = (max(edge_length(p.piece.edges[k]) for k in numbers) for p, numbers in ((one, mine), (other, theirs)))
    names = f"{piece_quoted(one.piece.name)} ({both(a, unit)}) and {piece_quoted(other.piece.name)} ({both(b, unit)})"
    most = short(SEAM_MATCH_TOL_MM, unit)
    why = f"No seam was presumed between {names}: the lengths differ by more than {most}."
    return f"{why} If they are sewn, say so, with the ease."


def _without_spare(one: Proposed, side: Sequence[int], sewn: Sequence[int]) -> Proposed:
    """The piece with the side's edges (from the bottom up) beyond its seams given to the bottom and the top."""
    edges = list(one.piece.edges)
    low, high = side.index(sewn[0]), side.index(sewn[-1])
    for place, number in enumerate(side):
        role: Role = "bottom" if place < low else "top"
        if (place < low or place > high) and not one.given[number]:
            edges[number] = replace(edges[number], role=role)
    return replace(one, piece=replace(one.piece, edges=tuple(edges)))
