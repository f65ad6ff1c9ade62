"""Readings on their own, without the rest of a try-on: a few numbers need none of what a whole answers file does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.gap.reading import Readings, readings_of
from diagnose.model.stations import STATIONS, Station
from diagnose.units import Unit, parse_length

__all__ = ["read_readings"]

PLAIN = {"id", "gap", "target", "overlap", "garment"}
PLAIN_GARMENT = {"seams_per_half", "meant_to_meet"}


def read_readings(raw: Mapping[str, Any], unit: Unit) -> tuple[Readings, int | None]:
    """The readings of a try-on as it stands in a batch line, and the seams of one half.

    Args:
        raw: the try-on; signs and answers in it are refused.
        unit: what a length written without a unit is in.

    Raises:
        FitError: with every mistake, as `diagnose.model.tryon.read_tryon` words them.
    """
    garment = raw["garment"]
    plain = _plain(raw, garment, unit) if raw.keys() <= PLAIN and garment.keys() <= PLAIN_GARMENT else None
    if plain is not None:
        return plain, garment.get("seams_per_half")
    # Imported here: loading the model of the whole takes longer than everything else that bare numbers need.
    from diagnose.model.tryon import Vocabulary, read_tryon

    tryon = read_tryon(raw, Vocabulary({}, frozenset()), unit)
    return readings_of(tryon), tryon.garment.seams_per_half


def _plain(raw: Mapping[str, Any], garment: Mapping[str, Any], unit: Unit) -> Readings | None:
    """Lengths as a maker writes them at stations that there are; None where there is anything to be said of them."""
    gap, overlap, target = (_lengths(raw.get(key, {}), unit) for key in ("gap", "overlap", "target"))
    if gap is None or overlap is None or target is None:
        return None
    if any(lap_mm > 0.0 and gap.get(station, 0.0) > 0.0 for station, lap_mm in overlap.items()):
        return None
    return Readings(gap, overlap, target, meets=garment.get("meant_to_meet") is True)


def _lengths(texts: Mapping[str, Any], unit: Unit) -> dict[Station, float] | None:
    found: dict[Station, float] = {}
    for station in STATIONS:
        if station in texts:
            text = texts[station]
            length_mm = parse_length(text, unit) if isinstance(text, str) else None
            if length_mm is None or length_mm < 0.0:
                return None
            found[station] = length_mm
    return found if len(found) == len(texts) else None
