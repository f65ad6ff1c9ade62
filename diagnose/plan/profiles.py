"""How a change of girth runs from station to station.

A profile is the change of the whole girth, in mm, at each station: take in positive, let out negative. Between the
stations that an alteration names it runs evenly with the height; beyond them it stays what it is at the last.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice
from diagnose.rulebase.reading.moves import How

__all__ = ["Profile", "named_stations", "profile_of", "run_between", "station_heights"]

Profile = dict[Station, float]
LIMITS = {"in": (0.0, math.inf), "out": (-math.inf, 0.0), "either": (-math.inf, math.inf)}


def station_heights(settings: Settings) -> dict[Station, float]:
    """Heights over the waist (mm) where no pattern tells them."""
    return {
        "top": settings.mm("height-top"),
        "underbust": settings.mm("height-underbust"),
        "waist": 0.0,
        "hip": -settings.mm("height-hip"),
        "bottom": -settings.mm("height-bottom"),
    }


def named_stations(alteration: Alteration) -> dict[Station, How]:
    """The stations that the alteration's first move of the seams names, and how: full, own or nothing."""
    return next((dict(move.by) for move in alteration.moves if move.by is not None), {})


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
        alteration: names where the move is full, where it takes what the station itself asks, and where nothing.
        choice: the amount at the stations named (where none is, at those that the alteration calls full); with
            `each`, wherever a gap was read, each its own change instead; `all` the same everywhere.
        settings: dead-band and heights.
    """
    heights = station_heights(settings)
    named = named_stations(alteration)
    if "all" in choice.stations or not (named or "each" in choice.stations):
        return dict.fromkeys(STATIONS, amount_mm)
    wanted = {station: _that_way(change, alteration, settings) for station, change in changes.items()}
    full = [station for station, how in named.items() if how == "full"]
    if "each" in choice.stations and any(named.get(station, "full") != "nothing" for station in wanted):
        asked = run_between(wanted, heights)
        known = {station: asked[station] for station in full or STATIONS}
    else:
        known = dict.fromkeys([station for station in STATIONS if station in choice.stations] or full, amount_mm)
    own = {station: wanted[station] for station, how in named.items() if how == "own" and station in wanted}
    rest = {station: 0.0 for station, how in named.items() if how != "own"}
    return run_between({**rest, **own, **known}, heights)


def _that_way(change: float, alteration: Alteration, settings: Settings) -> float:
    """The change wanted as far as the alteration may go that way; nothing within the dead-band."""
    if abs(change) < settings.mm("dead-band") - NOISE_MM:
        return 0.0
    least, most = LIMITS[alteration.direction]
    return min(max(change, least), most)


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
