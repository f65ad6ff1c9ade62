"""`split-sides`: a pair becomes a left and a right piece, so that one side can be altered alone.

Both keep the orientation of the one they came from; the right one is mirrored when it is drawn out. Every seam of the
piece is copied, one for each side; the partner is the one of that side where it has been split too, else the unsplit
pair, of which each side takes its own copy.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import piece_first, piece_words
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import Parameter, a_name, need
from diagnose.pattern.outline import HALVES, EdgeRef, Pattern, Piece, Seam, Side, half_name

__all__ = ["SplitSides"]


class SplitSides(OnPiece, frozen=True):
    """The piece to part into a left and a right one."""

    op: ClassVar[str] = "split-sides"
    called: ClassVar[str] = "the sides parted"
    parameters: ClassVar[tuple[Parameter, ...]] = (need("piece", a_name),)

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the piece as two single pieces, `NAME-left` and `NAME-right`.

        Raises:
            FitError: when the piece is already one side's, or a name it would make is taken.
        """
        piece = pattern.piece(self.piece)
        _refuse(pattern, piece)
        halves = tuple(replace(piece, name=half_name(piece.name, side), cut="single", side=side) for side in HALVES)
        pieces = tuple(half for old in pattern.pieces for half in (halves if old.name == piece.name else (old,)))
        sides = {old.name: old.side for old in pattern.pieces}
        seams = tuple(new for seam in pattern.seams for new in _seams(seam, piece.name, sides))
        return Altered(replace(pattern, pieces=pieces, seams=seams), _notes(piece))


def _refuse(pattern: Pattern, piece: Piece) -> None:
    if piece.side != "both":
        what = f"{piece_first(piece.name)} is already the {piece.side} side's own."
        raise FitError.of("piece", what, "Alter it as it is.", code="split-already")
    if piece.cut == "single":
        what = f"{piece_first(piece.name)} is cut once and serves both sides; it has no left and right to part."
        raise FitError.of("piece", what, "Name a piece that is cut as a pair or on the fold.", code="cut-once")
    taken = [name for name in pattern.names if name in {half_name(piece.name, side) for side in HALVES}]
    if taken:
        what = f"The pattern already has a piece '{taken[0]}'."
        raise FitError.of("piece", what, f"Rename it before splitting '{piece.name}'.", code="name-taken")


def _seams(seam: Seam, piece: str, sides: dict[str, Side]) -> Iterator[Seam]:
    """The seam as it is, or as the seams of the two sides."""
    names = (seam.a.piece, seam.b.piece)
    if piece not in names:
        yield seam
        return
    if seam.a == seam.b:
        # An edge sewn to its own mirror image: now the left one to the right one.
        yield replace(seam, a=_side_ref(seam.a, piece, "left"), b=_side_ref(seam.b, piece, "right"))
        return
    own = next((sides[name] for name in names if name != piece and sides[name] != "both"), None)
    for side in HALVES if own is None else (own,):
        named = seam.name if own else half_name(seam.name, side)
        yield replace(seam, name=named, a=_side_ref(seam.a, piece, side), b=_side_ref(seam.b, piece, side))


def _side_ref(ref: EdgeRef, piece: str, side: Side) -> EdgeRef:
    return EdgeRef(half_name(piece, side), ref.edge) if ref.piece == piece else ref


def _notes(piece: Piece) -> tuple[str, ...]:
    left, right = (piece_words(half_name(piece.name, side)) for side in HALVES)
    halves = f"{piece_first(piece.name)} is now {left} and {right}"
    if piece.cut == "fold":
        return (f"{halves}: it can no longer be cut on the fold. Lay the two against each other at the fold line.",)
    return (f"{halves}; mark each half left or right before cutting.",)
