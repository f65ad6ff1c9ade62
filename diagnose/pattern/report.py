"""What an alteration did: every measure of the pattern before and after. Lengths in mm, areas in mm²."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct

from diagnose.model.stations import STATIONS
from diagnose.pattern.measure import (
    channel_length,
    garment_girth,
    piece_area,
    seam_difference,
    slit_length,
    station_width,
)
from diagnose.pattern.outline import Pattern, Piece

__all__ = ["Change", "ChangeReport", "PieceChange", "change_report"]


class Change(Struct, frozen=True):
    """One measure before and after; None where it was not there."""

    before: float | None
    after: float | None

    @property
    def by(self) -> float | None:
        """How much it grew; None when it was not there before or is not there now."""
        return None if self.before is None or self.after is None else self.after - self.before

    def to_json(self) -> dict[str, float | None]:
        """The figures by name, mm, rounded for print."""
        return {key: _rounded(value) for key, value in zip(_KEYS, (self.before, self.after, self.by), strict=True)}


_KEYS = ("before_mm", "after_mm", "by_mm")
_SQUARE_KEYS = ("before_mm2", "after_mm2", "by_mm2")


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4) + 0.0


class PieceChange(Struct, frozen=True):
    """The measures of one piece, by station, channel and slit."""

    area: Change
    widths: Mapping[str, Change]
    channels: Mapping[str, Change]
    slits: Mapping[str, Change]

    def to_json(self) -> dict[str, object]:
        """The whole report as JSON, mm and mm²."""
        return {
            "area": dict(zip(_SQUARE_KEYS, self.area.to_json().values(), strict=True)),
            "widths": _all_json(self.widths),
            "channels": _all_json(self.channels),
            "slits": _all_json(self.slits),
        }


def _all_json(changes: Mapping[str, Change]) -> dict[str, dict[str, float | None]]:
    return {name: change.to_json() for name, change in changes.items()}


class ChangeReport(Struct, frozen=True):
    """Two patterns side by side: pieces by name, whole girths by station, what each seam's sides differ by."""

    added: tuple[str, ...]
    removed: tuple[str, ...]
    pieces: Mapping[str, PieceChange]
    girths: Mapping[str, Change]
    seams: Mapping[str, Change]

    def to_json(self) -> dict[str, object]:
        """The report as plain JSON values; keys of lengths end in `_mm`, of areas in `_mm2`."""
        return {
            "added": list(self.added),
            "removed": list(self.removed),
            "girths": _all_json(self.girths),
            "pieces": {name: piece.to_json() for name, piece in self.pieces.items()},
            "seam_differences": _all_json(self.seams),
        }


def change_report(before: Pattern, after: Pattern) -> ChangeReport:
    """What differs between two patterns, piece by piece and seam by seam, whether or not it changed."""
    old = {piece.name: piece for piece in before.pieces}
    new = {piece.name: piece for piece in after.pieces}
    return ChangeReport(
        added=tuple(name for name in new if name not in old),
        removed=tuple(name for name in old if name not in new),
        pieces={name: _piece_change(old.get(name), new.get(name)) for name in {**old, **new}},
        girths=_changes(_girths(before), _girths(after)),
        seams=_changes(_seams(before), _seams(after)),
    )


def _piece_change(old: Piece | None, new: Piece | None) -> PieceChange:
    def each(measure: Callable[[Piece], Mapping[str, float]]) -> dict[str, Change]:
        return _changes(measure(old) if old else {}, measure(new) if new else {})

    return PieceChange(
        area=each(lambda piece: {"area": piece_area(piece)})["area"],
        widths=each(lambda piece: {s: station_width(piece, s) for s in _stations(piece.levels)}),
        channels=each(lambda piece: {c.name: channel_length(c) for c in piece.channels}),
        slits=each(lambda piece: {s.name: slit_length(s) for s in piece.slits}),
    )


def _stations(found: Iterable[str]) -> list[str]:
    """The stations from top to bottom."""
    order: tuple[str, ...] = STATIONS
    return sorted(found, key=order.index)


def _girths(pattern: Pattern) -> dict[str, float]:
    girths = {station: garment_girth(pattern, station) for station in STATIONS}
    return {station: girth for station, girth in girths.items() if girth is not None}


def _seams(pattern: Pattern) -> dict[str, float]:
    return {seam.name: seam_difference(pattern, seam) for seam in pattern.seams}


def _changes(old: Mapping[str, float], new: Mapping[str, float]) -> dict[str, Change]:
    return {name: Change(old.get(name), new.get(name)) for name in {**old, **new}}
