"""The places at which a gap or a girth is read."""

from __future__ import annotations

from typing import Literal

__all__ = ["STATIONS", "Station"]

Station = Literal["top", "underbust", "waist", "hip", "bottom"]
STATIONS: tuple[Station, ...] = ("top", "underbust", "waist", "hip", "bottom")
