"""How a change of girth runs from station to station.

A profile is the change of the whole girth, in mm, at each station: take in positive, let out negative. Between the
stations that an alteration names it runs evenly with the height; beyond them it stays what it is at the last.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from diagnose.model.settings import Settings
from diagnose.model.tryon import STATIONS, Station
from diagnose.rulebase.schema import Alteration, AlterationChoice

__all__ = ["Profile", "named_stations", "profile_of", "run_between", "station_heights"]

Profile = dict[Station, float]


def station_heights(settings: Settings) -> dict[Station, float]:
    """Heights over the waist (mm) where no pattern tells them."""
    return {
        "top": settings.mm("height-top"),
        "underbust": settings.mm("height-underbust"),
        "waist": 0.0,
        "hip": -settings.mm("height-hip"),
        "bottom": -settings.mm("height-bottom"),
    }


def named_stations(alteration: Alteration) -> dict[Station, bool]:
    """The stations that the alteration's first move of the seams names: True full, False nothing."""
    for move in alteration.does:
        by = move.get("by")
        if isinstance(by, Mapping):
            return {station: by[station] == "full" for station in STATIONS if station in by}
    return {}


def profile_of(
    amount_mm: float,
    changes: Mapping[Station, float],
    alteration: Alteration,
    choice: AlterationChoice,
    settings: Settings,
) -> Profile:
    """The change of the whole girth at every station.

    Args:
        amount_mm: what the formula of the choice gives.
        changes: the change still wanted at each station read.
        alteration: names where the move is full and where nothing.
        choice: `each` station its own change, at those that the alteration names (all, where it names none);
            `all` the same everywhere; or the stations named.
        settings: dead-band and heights.
    """
    heights = station_heights(settings)
    if "each" in choice.stations:
        dead = settings.mm("dead-band") - 1e-6
        own = run_between({s: (c if abs(c) >= dead else 0.0) for s, c in changes.items()}, heights)
        named = named_stations(alteration)
        return run_between({s: own[s] if is_full else 0.0 for s, is_full in named.items()}, heights) if named else own
    if "all" in choice.stations or not named_stations(alteration):
        return dict.fromkeys(STATIONS, amount_mm)
    named = named_stations(alteration)
    full: set[str] = set(choice.stations) or {s for s, is_full in named.items() if is_full}
    return run_between({s: amount_mm if s in full else 0.0 for s in STATIONS if s in named or s in full}, heights)


def run_between(known: Mapping[Station, float], heights: Mapping[Station, float]) -> Profile:
    """The values known at some stations carried to all: evenly with height between, constant beyond."""
    if not known:
        return dict.fromkeys(STATIONS, 0.0)
    places = sorted((heights[station], value) for station, value in known.items())
    return {station: _at(heights[station], places) for station in STATIONS}


def _at(height: float, places: Sequence[tuple[float, float]]) -> float:
    if height <= places[0][0]:
        return places[0][1]
    for (low, below), (high, above) in pairwise(places):
        if height <= high:
            return below + (above - below) * (height - low) / (high - low)
    return places[-1][1]
