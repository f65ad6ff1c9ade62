"""What the case knows before anything is asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct, field

from diagnose.casebook import Case
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.measure import garment_girth, station_width
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["Known"]

USUAL: tuple[Station, ...] = ("top", "waist", "bottom")


class Known(Struct, frozen=True):
    """What need not be asked: the garment, the target, the wearer, and what was answered the last time.

    Attributes:
        garment, wearer, target: as in a try-on; target None when there is none.
        unit: of lengths written without one.
        stations: where the gap is read, top to bottom.
        last: the answers of the try-on before, as given; empty when this is the first.
        widths_mm: of each piece of the flat pattern at each station, from stitching line to stitching line.
        girths_mm: of the whole flat pattern at each station, edge to edge.
    """

    garment: Mapping[str, Any] = field(default_factory=dict)
    wearer: Mapping[str, Any] = field(default_factory=dict)
    target: Any = None
    unit: Unit = "in"
    stations: tuple[Station, ...] = USUAL
    last: Mapping[str, Any] = field(default_factory=dict)
    widths_mm: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    girths_mm: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def of_case(cls, case: Case) -> Known:
        """What a case knows."""
        last = dict(case.tryons[-1].answers) if case.tryons else {}
        garment = {**_group(last, "garment"), **case.garment}
        wearer = {**_group(last, "wearer"), **case.wearer}
        target = case.target if case.target is not None else last.get("target")
        stations = _stations(case.pattern, target, last)
        widths = {str(station): _widths(case.pattern, station) for station in STATIONS}
        girths = {str(station): mm for station in STATIONS if (mm := garment_girth(case.pattern, station)) is not None}
        return cls(
            garment=garment,
            wearer=wearer,
            target=target,
            unit=case.unit,
            stations=stations,
            last=last,
            widths_mm=widths,
            girths_mm=girths,
        )

    def last_of(self, group: str, name: str) -> Any:
        """What was answered the last time under ``group.name``; None when nothing was."""
        return _group(self.last, group).get(name)


def _widths(pattern: Pattern, station: Station) -> dict[str, float]:
    """The width of each piece that has the station, as it lies on the paper."""
    return {piece.name: station_width(piece, station) for piece in pattern.pieces if station in piece.levels}


def _group(raw: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    group = raw.get(name)
    return group if isinstance(group, Mapping) else {}


def _stations(pattern: Pattern, target: Any, last: Mapping[str, Any]) -> tuple[Station, ...]:
    """The usual three, and what target or last try-on name besides, as far as the pattern has them."""
    named = {*USUAL, *_group(last, "gap"), *(target if isinstance(target, Mapping) else ())}
    levels = {level for piece in pattern.pieces for level in piece.levels}
    return tuple(s for s in STATIONS if s in named and s in levels) or USUAL
