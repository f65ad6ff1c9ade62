"""The drawing board: a pattern, the operations done to it so far, and what the maker should know."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import reduce
from typing import TypeAlias, TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.model.diagnosis import Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import Note
from diagnose.pattern.measure import garment_girth, mm_of_point
from diagnose.pattern.operations import Cuts, OnPiece, Operation, SplitSides, do_part, finish
from diagnose.pattern.outline import END_ROLES, Pattern, Piece, half_name, lips_of
from diagnose.pattern.tolerances import SLIT_FOOT_TOL_MM
from diagnose.plan.wanted import Wanted
from diagnose.units import both

__all__ = ["NO_LEVEL", "Board", "NotDrawnError", "Op", "Task", "changes_mm", "touched_by"]

Op: TypeAlias = Operation
NO_LEVEL = (
    "The {stations} is not marked on all of it, so there is no place to draw the change at: rule the level on each"
    " piece, or mark the change on the toile."
)
DECIMALS = 4
PLACES = 6

T = TypeVar("T")


class NotDrawnError(Exception):
    """An alteration that this pattern cannot be given by drawing: why, and what to do by hand."""


class Task(Struct, frozen=True):
    """What is to be drawn, for whom."""

    item: Wanted
    settings: Settings

    @property
    def side(self) -> Side:
        """The side it is drawn on."""
        return self.item.side

    @property
    def halves(self) -> int:
        """How many halves of the garment the change is made on."""
        return 2 if self.item.side == "both" else 1

    def per_half(self, station: Station) -> float:
        """The change wanted in one half at the station, mm; take in positive."""
        return self.item.profile[station] / self.halves

    def on(self, side: Side) -> Task:
        """One side's part of a change that is made on both."""
        profile = {station: change / 2 for station, change in self.item.profile.items()}
        return replace(self, item=replace(self.item, side=side, profile=profile))

    @property
    def length_mm(self) -> float:
        """The amount of an alteration of length, mm."""
        return self.item.amount.length_mm or 0.0

    def say(self, length_mm: float) -> str:
        """A length as the maker reads it."""
        return both(length_mm, self.settings.unit)


class Board(Struct, frozen=True):
    """A pattern as it stands, and how it came to be so.

    Attributes:
        altered: the pattern as it stands, what was trued on it, and plain sentences for the maker.
        operations: everything done to it, in order.
        made: what each of them did.
        edges_mm: what was drawn on each stitching line of a half, by station.
        girth: whether the change of girth may be read off the levels; a redrawn top edge only cuts into them.
        cuts: what folds, darts and changes of length have put out of true, for `finished` to put right.
        length_mm: how much of a length was drawn, where there was no room for all of it.
    """

    altered: Altered
    operations: tuple[Op, ...] = ()
    made: tuple[Altered, ...] = ()
    edges_mm: Mapping[Station, tuple[float, ...]] = field(default_factory=dict)
    girth: bool = False
    cuts: Cuts = field(default_factory=Cuts)
    length_mm: float | None = None

    @property
    def pattern(self) -> Pattern:
        """The pattern as it stands."""
        return self.altered.pattern

    @property
    def notes(self) -> tuple[Note, ...]:
        """What the maker should know of it."""
        return self.altered.notes

    def do(self, operations: Sequence[Op], side: Side) -> Board:
        """The board after the operations; on one side only, each pair they touch is parted first.

        Raises:
            NotDrawnError: when the pattern refuses one of them; the sentence is the operation's own.
        """
        if not operations:
            return self
        rounded = [_rounded(operation) for operation in operations]
        steps = rounded if side == "both" else _one_sided(self.pattern, rounded, side)
        try:
            made, cuts = do_part(self.pattern, steps, self.cuts)
        except FitError as error:
            raise _not_drawn(error) from None
        return replace(
            self, altered=reduce(Altered.then, made, self.altered), operations=(*self.operations, *steps),
            made=(*self.made, *made), cuts=cuts,
        )  # fmt: skip

    def parted(self, pieces: Iterable[Piece], side: Side) -> Board:
        """The board with the pairs among the pieces parted into left and right, for a change on one side."""
        pairs = [piece.name for piece in pieces if piece.side == "both" and piece.copies == 2] if side != "both" else []
        return self.do([SplitSides(piece=name) for name in pairs], "both")

    def finished(self, before: Pattern) -> Altered:
        """What all its operations come to as one alteration: seams walked, match marks set, corners squared.

        Args:
            before: the pattern before the first of all that has been drawn into it.

        Raises:
            NotDrawnError: when a seam would come apart.
        """
        if not self.operations:
            return self.altered
        try:
            return finish(before, self.altered, self.cuts)
        except FitError as error:
            raise _not_drawn(error) from None

    def say(self, *notes: Note) -> Board:
        """The board with more to tell the maker."""
        return replace(self, altered=self.altered.then(Altered(self.pattern, notes)))

    def change_mm(self, before: Pattern, station: Station) -> float | None:
        """How much less the whole girth is than it was before (take in positive); None where no piece has the level."""
        return _change_mm(before, self.pattern, station)


def changes_mm(before: Pattern, after: Pattern) -> dict[Station, float]:
    """How much less the whole girth is at every station that the pattern has; take in positive."""
    found = {station: _change_mm(before, after, station) for station in STATIONS}
    return {station: round(change, DECIMALS) for station, change in found.items() if change is not None}


def _change_mm(before: Pattern, after: Pattern, station: Station) -> float | None:
    old, new = garment_girth(before, station), garment_girth(after, station)
    return None if old is None or new is None else old - new


def _not_drawn(error: FitError) -> NotDrawnError:
    return NotDrawnError(" ".join(dict.fromkeys(f"{m.what} {m.remedy}".strip() for m in error.mistakes)))


def touched_by(operation: Op) -> str | None:
    """The name of the piece that an operation alters; None for a change of length, which alters every piece."""
    return operation.piece if isinstance(operation, OnPiece) else None


def _rounded(value: T) -> T:
    """An operation, or a part of one, with its lengths cut to what is stored: no pencil follows the rest."""
    if isinstance(value, float):
        return type(value)(round(value, PLACES) + 0.0)
    if isinstance(value, Struct):
        return replace(value, **{name: _rounded(getattr(value, name)) for name in value.__struct_fields__})
    if isinstance(value, tuple):
        items = [_rounded(item) for item in value]
        return type(value)(*items) if hasattr(value, "_fields") else type(value)(items)
    return value


def _hanging_on(pattern: Pattern, operation: OnPiece) -> Iterator[str]:
    """The pieces that change with a piece: its sleeve, the gores along an edge redrawn, all gores where it is cut."""
    name = operation.piece
    ends = {edge.name for edge in pattern.piece(name).edges if edge.role in END_ROLES}
    for seam in pattern.seams:
        for own, other in seam.both_ways:
            if own.piece == name and (own.edge in ends or (operation.cuts and own.slit)):
                yield other.piece
    yield from _gores_along(pattern, operation)


def _one_sided(pattern: Pattern, operations: Iterable[Op], side: Side) -> list[Op]:
    """The operations on that side's own pieces, the pairs they belong to parted first."""
    shared = {piece.name for piece in pattern.pieces if piece.side == "both" and piece.copies == 2}
    steps: list[Op] = []
    parted: set[str] = set()
    for operation in operations:
        if not isinstance(operation, OnPiece) or operation.piece not in shared or isinstance(operation, SplitSides):
            steps.append(operation)
            continue
        name = operation.piece
        for one in (name, *_hanging_on(pattern, operation)):
            if one not in parted and one in shared:
                parted.add(one)
                steps.append(SplitSides(piece=one))
        steps.append(replace(operation, piece=half_name(name, side)))
    return steps


def _gores_along(pattern: Pattern, operation: OnPiece) -> list[str]:
    """The gores whose slits begin at a top or bottom edge that the operation redraws: they are drawn on with it."""
    piece = pattern.piece(operation.piece)
    edges = [edge for edge in piece.edges if edge.name in operation.redrawn and edge.role in END_ROLES]
    begun = {
        lips_of(piece.name, slit.name)
        for slit in piece.slits
        if any(mm_of_point(edge, slit.line[0])[1] <= SLIT_FOOT_TOL_MM for edge in edges)
    }
    return [own.piece for own, lips, _ in pattern.in_slits if lips in begun]
