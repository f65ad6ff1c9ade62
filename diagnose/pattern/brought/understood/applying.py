"""Labels laid over a proposal, and the draft of a labels file that a proposal comes to."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake, gathered, quoted
from diagnose.pattern.brought.drawings.corners import cut_at
from diagnose.pattern.brought.understood.edges_presumed import corner_sides, named_edges, plain_role
from diagnose.pattern.brought.understood.labels import EdgeLabel, Labels, PieceLabel
from diagnose.pattern.brought.understood.levels import drawn_level
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Cut, Edge, Piece, Seam
from diagnose.units import Unit, both

__all__ = ["apply_labels", "draft", "lowest_mm"]

FROM_TOL_MM = 5.0
_PLAIN_WORD = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")


def apply_labels(proposal: Proposal, labels: Labels, unit: Unit = "in") -> Proposal:
    """The proposal with everything that the labels say; what they don't say stays as presumed.

    Lengths in sentences are in her unit.

    Raises:
        FitError: with every label that fits nothing in the drawing.
    """
    named, mistakes = _named(proposal, labels)
    told = {proposal.pieces[n].outline.number for n, label in named.items() if label.edges}
    low = lowest_mm(proposal)
    pieces = []
    for n, one in enumerate(proposal.pieces):
        with gathered(mistakes):
            pieces.append(_labelled(one, named[n], low, unit=unit) if n in named else one)
    mistakes += _missed(proposal, labels, low, unit=unit)
    if mistakes:
        raise FitError(mistakes)
    return replace(
        proposal,
        name=labels.name or proposal.name,
        closure=labels.closure or proposal.closure,
        pieces=tuple(pieces),
        said=tuple(one for one in proposal.said if isinstance(one, str) or one.outline not in told),
        seams=proposal.seams if labels.seams is None else labels.seams,
        heights_mm=labels.levels,
    )


def _missed(proposal: Proposal, labels: Labels, low_mm: float, unit: Unit) -> Iterator[Mistake]:
    """The levels straight across all pieces that no piece is high enough for."""
    high = max(bounds(one.piece).top for one in proposal.pieces) - low_mm
    for station, height in labels.levels.items():
        if not any(drawn_level(one.piece, low_mm + height) for one in proposal.pieces):
            beyond = (
                f"none is higher than {both(high, unit)}" if height > high else "at that height it runs between them"
            )
            what = f"The level {station} misses every piece: {beyond}."
            do = "Give its height up from the lowest point of all outlines, the pieces lying beside one another."
            yield Mistake("levels", what, do, code="level-misses")


def _named(proposal: Proposal, labels: Labels) -> tuple[dict[int, PieceLabel], list[Mistake]]:
    """The labels by the number of the piece they mean, and a mistake for each that means none."""
    mistakes: list[Mistake] = []
    named: dict[int, PieceLabel] = {}
    for key, label in labels.pieces.items():
        found = [n for n, one in enumerate(proposal.pieces) if key in (*one.outline.names, one.piece.name)]
        if found and found[0] not in named:
            named[found[0]] = label
        else:
            mistakes.append(_no_outline(proposal, key, label, twice=bool(found)))
    return named, mistakes


def _no_outline(proposal: Proposal, key: str, label: PieceLabel, *, twice: bool) -> Mistake:
    if twice:
        what = f"Outline {quoted(key)} is labelled twice."
        return Mistake(label.where, what, "Keep one of the two.", code="labelled-twice")
    known = ", ".join(f"{one.outline.number} “{one.outline.name}”" for one in proposal.pieces[:20])
    what = f"The drawing has no outline {quoted(key)}."
    return Mistake(label.where, what, f"It has: {known}.", code="no-such-outline")


def lowest_mm(proposal: Proposal) -> float:
    """The height of the lowest point of all outlines."""
    return min(bounds(one.piece).bottom for one in proposal.pieces)


def _labelled(one: Proposed, label: PieceLabel, low_mm: float, unit: Unit) -> Proposed:
    made = _with_edges(one, label, unit) if label.edges else one
    piece = replace(made.piece, name=label.name or made.piece.name, cut=label.cut or _cut(made.piece))
    levels = dict(piece.levels)
    for station, height in label.levels.items():
        line = drawn_level(piece, low_mm + height) if isinstance(height, float) else height
        if line is None:
            what = f"The level {station} misses the piece."
            do = "Give its height up from the lowest point of all outlines."
            raise FitError.of(label.where, what, do, code="level-misses")
        levels[station] = line
    return replace(made, piece=replace(piece, levels=levels))


def _cut(piece: Piece) -> Cut:
    """On the fold where an edge lies on it, and only there."""
    on_fold = any(edge.role == "fold" for edge in piece.edges)
    return "fold" if on_fold else "pair" if piece.cut == "fold" else piece.cut


def _with_edges(one: Proposed, label: PieceLabel, unit: Unit) -> Proposed:
    placed = [edge.start is not None for edge in label.edges]
    if all(placed) and not label.edges[0].old:
        return _recut(one, label, unit)
    if any(placed):
        what, do = "Some edges have “from” and some have not.", "Give it to all, or to none."
        raise FitError.of(label.where, what, do, code="from-here-and-there")
    if label.edges[0].old:
        return _changed(one, label)
    if len(label.edges) != len(one.piece.edges):
        names = ", ".join(edge.name for edge in one.piece.edges)
        what = f"{len(label.edges)} edges are labelled, but the outline has {len(one.piece.edges)} ({names})."
        do = "Label all in order, or say with “from” where each begins."
        raise FitError.of(label.where, what, do, code="edges-counted-otherwise")
    return _relabelled(one, label.edges, one.piece.edges, sides=one.sides)


def _changed(one: Proposed, label: PieceLabel) -> Proposed:
    """The piece with the edges changed that are called by name."""
    by_name = {edge.old: edge for edge in label.edges}
    unknown = [name for name in by_name if name not in {edge.name for edge in one.piece.edges}]
    if unknown:
        names = ", ".join(edge.name for edge in one.piece.edges)
        what = f"The outline has no edge {quoted(unknown[0])}."
        raise FitError.of(label.where, what, f"It has: {names}.", code="no-such-edge")
    rows = [by_name.get(edge.name, EdgeLabel()) for edge in one.piece.edges]
    return _relabelled(one, rows, one.piece.edges, sides=one.sides)


def _relabelled(one: Proposed, rows: Sequence[EdgeLabel], edges: Sequence[Edge], sides: Sequence[str]) -> Proposed:
    made = tuple(
        replace(edge, name=row.name or edge.name, role=row.role or edge.role)
        for row, edge in zip(rows, edges, strict=True)
    )
    given = tuple(bool(row.role) or old for row, old in zip(rows, one.given, strict=True))
    unsure = one.unsure if not all(given) else None
    return replace(one, piece=replace(one.piece, edges=made), sides=tuple(sides), given=given, unsure=unsure)


def _recut(one: Proposed, label: PieceLabel, unit: Unit) -> Proposed:
    """The piece with its edges begun where the labels say."""
    ring, starts = one.outline.ring, [edge.start for edge in label.edges if edge.start is not None]
    for place in starts:
        off = run_nearest(ring.segments, place)[1]
        if off > FROM_TOL_MM:
            what = f"The point {place.x:g} mm out and {place.y:g} mm up lies {both(off, unit)} off the outline."
            do = "Give a point of the outline, in mm of the drawing, y upwards."
            raise FitError.of(label.where, what, do, code="off-outline")
    for place in starts:
        ring, _ = cut_at(ring, place)
    first = cut_at(ring, starts[0])[1]
    ring = ring.turned_to(first)
    begins = [0, *(cut_at(ring, place)[1] for place in starts[1:]), len(ring.segments)]
    if any(after <= before for before, after in pairwise(begins)):
        what = "The edges do not begin one after the other."
        raise FitError.of(label.where, what, "List them counter-clockwise.", code="edges-out-of-order")
    runs = [ring.segments[a:b] for a, b in pairwise(begins)]
    sides = corner_sides([run[0].start for run in runs])
    edges = [
        Edge(row.name, row.role or plain_role(side), run)
        for row, run, side in zip(label.edges, runs, sides, strict=True)
    ]
    given = tuple(bool(row.role) for row in label.edges)
    unsure = None if all(given) or any(sides) else one.unsure
    piece = replace(one.piece, edges=named_edges(edges, sides))
    return replace(one, piece=piece, sides=sides, given=given, unsure=unsure)


def draft(proposal: Proposal, seams: Sequence[Seam] = ()) -> str:
    """A labels file that says what was presumed, to be corrected and kept."""
    return "\n".join(_draft(proposal, seams))


def _draft(proposal: Proposal, seams: Sequence[Seam]) -> Iterator[str]:
    yield "# Outlines are numbered from the left; edges stand counter-clockwise; lengths are mm, heights upwards."
    yield "unit: mm"
    yield f"closure: {proposal.closure}"
    yield "pieces:"
    for one in proposal.pieces:
        yield f"  {one.outline.number}:"
        yield f"    name: {_word(one.piece.name)}"
        yield f"    cut: {one.piece.cut}"
        yield "    edges:"
        for edge in one.piece.edges:
            at = edge.start
            yield f"      - {{name: {_word(edge.name)}, role: {edge.role}, from: [{at.x:.2f}, {at.y:.2f}]}}"
    yield "levels:  # up from the lowest point of all outlines"
    low = lowest_mm(proposal)
    middle = (max(bounds(one.piece).top for one in proposal.pieces) - low) / 2.0
    guess = "" if "waist" in proposal.heights_mm else "  # half the height, a mere guess: put in the true one"
    yield f"  waist: {proposal.heights_mm.get('waist', middle):.1f}{guess}"
    if seams:
        yield "seams:"
    for seam in seams:
        a, b = ("/".join(ref) for ref in seam.refs)
        yield f"  - {{name: {_word(seam.name)}, a: {_word(a)}, b: {_word(b)}}}"


def _word(text: str) -> str:
    return text if _PLAIN_WORD.fullmatch(text) else json.dumps(text, ensure_ascii=False)
