"""The paper alterations are drawn into, one on the other, and what each of them did to it."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from msgspec import Struct

from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import Note
from diagnose.pattern.kept import OfLate
from diagnose.pattern.measure import channel_length, piece_area
from diagnose.pattern.operations import Cuts, Operation
from diagnose.pattern.outline import Pattern, pair_and_side

__all__ = ["Cost", "OnPaper", "Paper"]

MOST_KEPT = 30
BONE_MM = 1.0
"""A bone whose channel is longer or shorter by more than this is cut anew."""


class Paper(Struct, frozen=True):
    """A pattern into which alterations are drawn one after the other, to be stored as one version.

    Attributes:
        before: the pattern before the first of them.
        pattern: the pattern with all of them, finished.
        loose: the pattern with all of them, not yet finished; the next one is drawn on it.
        cuts: what their cuts have put out of true.
        notes: what finishing has said so far.
    """

    before: Pattern
    pattern: Pattern
    loose: Pattern
    cuts: Cuts
    notes: tuple[Note, ...] = ()

    @classmethod
    def of(cls, pattern: Pattern) -> Paper:
        """A pattern with nothing drawn into it; one pattern has one paper, so that what was drawn on it is found."""
        return _OF_LATE.get((pattern,), None, lambda: cls(before=pattern, pattern=pattern, loose=pattern, cuts=Cuts()))


_OF_LATE = OfLate[Paper](MOST_KEPT)


class Cost(Struct, frozen=True):
    """What a way costs the maker.

    Attributes:
        cloth_mm2: cloth to be added to the pieces (below 0 where they grow smaller), over the whole garment.
        seams: the seams to be opened.
        bones: the bones to be cut anew.
        new_pieces: pieces that were not there.
        off_the_fold: pieces that can no longer be cut on the fold, or in one pair.
    """

    cloth_mm2: float = 0.0
    seams: tuple[str, ...] = ()
    bones: tuple[str, ...] = ()
    new_pieces: tuple[str, ...] = ()
    off_the_fold: tuple[str, ...] = ()


class OnPaper(Struct, frozen=True):
    """What was drawn into a pattern: the pattern before, the operations, what each did, and all of it finished."""

    before: Pattern
    altered: Altered
    operations: tuple[Operation, ...]
    made: tuple[Altered, ...] = ()

    @property
    def after(self) -> Pattern:
        """The pattern with it drawn in."""
        return self.altered.pattern

    def then(self, later: OnPaper) -> OnPaper:
        """This drawing and the one made on it afterwards, as one."""
        return OnPaper(
            before=self.before, altered=self.altered.then(later.altered),
            operations=(*self.operations, *later.operations), made=(*self.made, *later.made),
        )  # fmt: skip

    @property
    def cost(self) -> Cost:
        """What it costs the maker, measured on the pattern before and after it."""
        before = {piece.name: piece for piece in self.before.pieces}
        after = {piece.name: piece for piece in self.after.pieces}
        moved = {
            (piece.name, edge.name)
            for piece in after.values()
            for edge in piece.edges
            if piece.name in before and edge not in before[piece.name].edges and edge.role == "seam"
        }
        seams = [s.name for s in self.after.seams if {(s.a.piece, s.a.edge), (s.b.piece, s.b.edge)} & moved]
        return Cost(
            cloth_mm2=round(_cloth(self.after) - _cloth(self.before), 1),
            seams=tuple(seams),
            bones=tuple(_bones(self)),
            new_pieces=tuple(name for name in after if name not in before and not _parted(name, before)),
            off_the_fold=tuple(name for name, piece in before.items() if piece.side == "both" and name not in after),
        )


def _parted(name: str, before: Collection[str]) -> bool:
    return pair_and_side(name)[0] in before


def _cloth(pattern: Pattern) -> float:
    return sum(piece_area(piece) * piece.copies for piece in pattern.pieces)


def _bones(drawing: OnPaper) -> Iterable[str]:
    """The channels that are no longer as long as they were, each on the piece that it lies on now."""
    old = {piece.name: {c.name: channel_length(c) for c in piece.channels} for piece in drawing.before.pieces}
    for piece in drawing.after.pieces:
        whole = next((name for name in old if _parted(piece.name, (name,))), piece.name)
        was = old.get(piece.name, old.get(whole, {}))
        for channel in piece.channels:
            if channel.name not in was or abs(channel_length(channel) - was[channel.name]) > BONE_MM:
                yield f"{piece.name} {channel.name}"
