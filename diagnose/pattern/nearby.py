"""Other names under which the drawing of alterations knows what `curves` holds."""

from __future__ import annotations

from diagnose.pattern.curves import box_distance
from diagnose.pattern.curves import run_nearest as place_on

__all__ = ["box_distance", "place_on"]
