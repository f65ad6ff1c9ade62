"""The gap and its changes as the JSON of the fixed interface, lengths in `_mm` numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.gap.reading import GapReading
from diagnose.gap.shares import Share

__all__ = ["gap_to_json", "numbers", "share_to_json", "two"]


def gap_to_json(reading: GapReading) -> dict[str, Any]:
    """The gap by station, its shape (front and back each for itself too), and the change of girth wanted."""
    return {
        "shape": reading.shape,
        **{f"{part}_shape": shape for part, shape in reading.part_shapes.items()},
        "stations": {
            name: {
                "gap_mm": two(station.gap_mm),
                "target_mm": two(station.target_mm),
                "change_mm": two(station.change_mm),
                "closed": station.closed,
                "at_least": station.at_least,
            }
            for name, station in reading.stations.items()
        },
    }


def share_to_json(share: Share) -> dict[str, Any]:
    """A change of girth in its parts; parts that do not apply are left out."""
    parts = {"whole": share.whole_mm, "per_half": share.per_half_mm, "per_seam": share.per_seam_mm,
             "per_edge": share.per_edge_mm}  # fmt: skip
    return numbers(parts)


def numbers(values: Mapping[Any, float | None]) -> dict[str, float]:
    """The values that there are, to two places."""
    return {str(name): two(value) for name, value in values.items() if value is not None}


def two(value: float) -> float:
    """To two places, and never -0."""
    return round(value, 2) + 0.0
