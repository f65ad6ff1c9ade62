"""Edges that end where the labels say: at the corners told of a round outline, and not at a corner that is none.

All else is then presumed anew.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake, gathered, quoted
from diagnose.pattern.brought.drawings.outlines import Outline
from diagnose.pattern.brought.understood.edges_presumed import LEAST_EDGES
from diagnose.pattern.brought.understood.labels import Labels, PieceLabel
from diagnose.pattern.brought.understood.proposal import Proposal, propose
from diagnose.pattern.outline import Piece, Point

__all__ = ["none_joined", "propose_joined"]


def propose_joined(outlines: Sequence[Outline], labels: Labels, name: str, closure: str) -> Proposal:
    """The pattern that the outlines come to, with the corners that the labels tell, and the edges joined that they call
    one.

    Each pair is named as the edges are called once the pairs before it are joined.

    Raises:
        FitError: with every pair that can't be one edge.
    """
    made = [replace(one, corners=_corners_of(one, labels)) for one in outlines]
    proposal = propose(made, name, closure)
    mistakes: list[Mistake] = []
    for key, label in labels.pieces.items():
        for pair in label.as_one:
            found = [n for n, one in enumerate(proposal.pieces) if key in (*one.outline.names, one.piece.name)]
            if not found:
                break  # what is said of an outline that is not there is refused with the other labels
            with gathered(mistakes):
                corner = _between(proposal.pieces[found[0]].piece, pair, label.where)
                made[found[0]] = replace(made[found[0]], smooth=(*made[found[0]].smooth, corner))
                proposal = propose(made, name, closure)
    if mistakes:
        raise FitError(mistakes)
    return proposal


def _corners_of(outline: Outline, labels: Labels) -> tuple[Point, ...]:
    """The corners that are told of it; none where it has its own."""
    return next((one.corners for key, one in labels.pieces.items() if key in outline.names), ())


def _between(piece: Piece, pair: tuple[str, str], where: str) -> Point:
    """The corner at which the two edges meet."""
    edges = {edge.name: edge for edge in piece.edges}
    names = ", ".join(edges)
    for name in pair:
        if name not in edges:
            what = f"The outline has no edge {quoted(name)}."
            raise FitError.of(where, what, f"It has: {names}.", code="no-such-edge")
    one, other = (edges[name] for name in pair)
    if len(edges) <= LEAST_EDGES:
        raise FitError.of(where, f"It has {len(edges)} edges, and can have no fewer.", "Leave them as they are.",
                          code="edges-few")  # fmt: skip
    if one is not other and one.end == other.start:
        return one.end
    if one is not other and other.end == one.start:
        return other.end
    what = f"“{pair[0]}” and “{pair[1]}” do not lie next to each other, so they are not one edge."
    raise FitError.of(where, what, "Name two that meet at a corner.", code="edges-apart")


def none_joined(pieces: Sequence[PieceLabel]) -> None:
    """Refuse edges called one, and corners told, where the file itself says which edges there are.

    Raises:
        FitError: with every piece of which it is said.
    """
    what, typed = "The file itself says where its edges end.", "Say it there, and leave out “as-one” and “corners”."
    mistakes = [
        Mistake(label.where, what, "", typed=typed, code="edges-said")
        for label in pieces
        if label.as_one or label.corners
    ]
    if mistakes:
        raise FitError(mistakes)
