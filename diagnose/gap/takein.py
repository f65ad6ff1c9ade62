"""The back take-in on bare numbers: how much, where, straight or tapered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct

from diagnose.gap.reading import GapReading
from diagnose.gap.shares import Share, share
from diagnose.model.settings import Settings
from diagnose.model.stations import Station

__all__ = ["Place", "TakeIn", "suggest_take_in"]

Place = Literal["lacing edges", "seams", "a fold inside the back panel", "nowhere", "another base size"]


class TakeIn(Struct, frozen=True):
    """What to take in (or let out) at the back: place, form, amounts by station, and the most that is wanted."""

    place: Place
    form: Literal["straight", "tapered", "none"]
    shares: Mapping[Station, Share]
    at_least: bool
    capped: bool
    most_mm: float


def suggest_take_in(reading: GapReading, seams_per_half: int | None, settings: Settings) -> TakeIn:
    """The take-in that brings the gap to its target.

    Args:
        reading: the gap with at least one station read.
        seams_per_half: how many seams a half has; 0 for a one-piece half; None when not known.
        settings: dead-band, ruler and limits.
    """
    most = max(map(abs, reading.changes))
    if reading.settled(settings.mm("dead-band")):
        return TakeIn(place="nowhere", form="none", shares={}, at_least=False, capped=False, most_mm=most)
    if most >= settings.mm("other-size"):
        return TakeIn(
            place="another base size", form="none", shares={}, at_least=reading.at_least, capped=True, most_mm=most
        )
    straight = max(reading.changes) - min(reading.changes) < settings.mm("shape-step") - 1e-6
    wanted = _wanted(reading, straight, settings)
    place = _place(wanted, straight, seams_per_half, settings=settings)
    seams = seams_per_half if place == "seams" else None
    shares = {station: share(change, seams, settings.ruler_mm) for station, change in wanted.items()}
    return TakeIn(
        place=place,
        form="straight" if straight else "tapered",
        shares=shares,
        at_least=reading.at_least,
        capped=most > settings.mm("round-most"),
        most_mm=most,
    )


def _wanted(reading: GapReading, straight: bool, settings: Settings) -> dict[Station, float]:
    """The change at each station: one mean when straight; each its own, dead-band aside, when tapered."""
    cap, dead = settings.mm("round-most"), settings.mm("dead-band")
    mean = sum(reading.changes) / len(reading.changes)
    wanted: dict[Station, float] = {}
    for station, read in reading.stations.items():
        change = mean if straight else (0.0 if abs(read.change_mm) < dead - 1e-6 else read.change_mm)
        wanted[station] = max(-cap, min(cap, change))
    return wanted


def _place(wanted: Mapping[Station, float], straight: bool, seams: int | None, settings: Settings) -> Place:
    half = max(abs(change) for change in wanted.values()) / 2
    if straight and half <= settings.mm("lacing-edge-most") + 1e-6:
        return "lacing edges"
    return "a fold inside the back panel" if seams == 0 else "seams"
