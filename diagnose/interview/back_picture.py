"""A small picture of the back in plain characters: where the gap is read, and what has been read so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.model.tryon import Station

__all__ = ["back_picture"]

ROWS: Sequence[tuple[Station, str, str]] = (
    ("top", "top edge", r"   /``````|    |``````\   "),
    ("underbust", "underbust", r"  |       |    |       |  "),
    ("waist", "waist", r"   \      |    |      /   "),
    ("hip", "hip", r"   /      |    |      \   "),
    ("bottom", "bottom edge", r"  /_______|    |_______\  "),
)
GAP, ARROWS = "|    |", "|<-->|"


def back_picture(here: Station, stations: Sequence[Station], readings: Mapping[Station, str]) -> tuple[str, ...]:
    """The laced back, seen from behind, a line a height.

    Args:
        here: the station asked for, marked with arrows.
        stations: those that are read; only they are named.
        readings: what has been read so far, in words.
    """
    lines = []
    for station, name, row in ROWS:
        named = name if station in stations else ""
        drawn = row.replace(GAP, ARROWS) if station == here else row
        read = readings.get(station, "<- measure here" if station == here else "")
        lines.append(f"  {named:>11} {drawn} {read}".rstrip())
    return tuple(lines)
