"""The drawing board: a pattern, the operations done to it so far, and what the maker should know."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.model.diagnosis import Side
from diagnose.model.settings import Settings
from diagnose.model.tryon import STATIONS, Station
from diagnose.pattern.altered import Altered
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.operations import Cuts, do_part, finish, parse_operations
from diagnose.pattern.outline import Pattern, Point
from diagnose.plan.choosing import Wanted
from diagnose.units import both

__all__ = ["Board", "Move", "NotDrawnError", "Op", "Task", "point_json"]

Op = dict[str, Any]
Move = Mapping[str, object]
DECIMALS = 4


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
        pattern: the pattern as it stands.
        operations: everything done to it, as JSON in mm.
        notes: plain sentences for the maker.
        edges_mm: what was drawn on each stitching line of a half, by station.
        girth: whether the change of girth may be read off the levels; a redrawn top edge only cuts into them.
        cuts: what folds, darts and changes of length have put out of true, for `finished` to put right.
    """

    pattern: Pattern
    operations: tuple[Op, ...] = ()
    notes: tuple[str, ...] = ()
    edges_mm: Mapping[Station, tuple[float, ...]] = field(default_factory=dict)
    girth: bool = False
    cuts: Cuts = field(default_factory=Cuts)

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
            done, cuts = do_part(self.pattern, parse_operations(list(steps)), self.cuts)
        except FitError as error:
            raise _not_drawn(error) from None
        notes = tuple(dict.fromkeys((*self.notes, *done.notes)))
        return replace(self, pattern=done.pattern, operations=(*self.operations, *steps), notes=notes, cuts=cuts)

    def finished(self, before: Pattern) -> Board:
        """The board with all its operations done as one alteration: seams walked, match marks set, corners squared.

        Args:
            before: the pattern before the whole alteration.

        Raises:
            NotDrawnError: when a seam would come apart.
        """
        if not self.operations:
            return self
        try:
            done = finish(before, Altered(self.pattern, self.notes), self.cuts)
        except FitError as error:
            raise _not_drawn(error) from None
        return replace(self, pattern=done.pattern, notes=tuple(dict.fromkeys((*self.notes, *done.notes))))

    def say(self, *notes: str) -> Board:
        """The board with more to tell the maker."""
        return replace(self, notes=tuple(dict.fromkeys((*self.notes, *notes))))

    def change_mm(self, before: Pattern, station: Station) -> float | None:
        """How much less the whole girth is than it was before (take in positive); None where no piece has the level."""
        old, new = garment_girth(before, station), garment_girth(self.pattern, station)
        return None if old is None or new is None else old - new

    def changes_mm(self, before: Pattern) -> dict[Station, float]:
        """The change of the whole girth at every station that the pattern has."""
        found = {station: self.change_mm(before, station) for station in STATIONS}
        return {station: round(change, DECIMALS) for station, change in found.items() if change is not None}


def _not_drawn(error: FitError) -> NotDrawnError:
    return NotDrawnError(" ".join(f"{m.what} {m.do}".strip() for m in error.mistakes))


def point_json(point: Point) -> list[float]:
    """A point as the JSON of an operation."""
    return [round(point.x, DECIMALS), round(point.y, DECIMALS)]


def _rounded(value: Any) -> Any:
    """Lengths without the tail of digits that no pencil can follow."""
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    return [_rounded(item) for item in value] if isinstance(value, list) else value


def _one_sided(pattern: Pattern, operations: Iterable[Op], side: Side) -> list[Op]:
    """The operations on that side's own pieces, the pairs they belong to parted first."""
    shared = {piece.name for piece in pattern.pieces if piece.side == "both" and piece.copies == 2}
    steps: list[Op] = []
    parted: set[str] = set()
    for operation in operations:
        name = operation.get("piece")
        if operation["op"] == "split-sides" or name not in shared:
            steps.append(operation)
            continue
        if name not in parted:
            parted.add(name)
            steps.append({"op": "split-sides", "piece": name})
        steps.append({**operation, "piece": f"{name}-{side}"})
    return steps
