"""The maker's standing settings as they are kept; a case, then a command, overrides them."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct
from platformdirs import user_config_dir

from diagnose.errors import FitError
from diagnose.files import bytes_of
from diagnose.model.settings import Settings
from diagnose.places import own_folder
from diagnose.units import UNITS, Unit

__all__ = ["PAPERS", "Standing", "settings_file", "standing", "under_standing"]

LARGEST = 100_000
"""Bytes of the file."""
PAPERS = ("a4", "letter", "one-sheet")


class Standing(Struct, frozen=True):
    """What she has settled for all her cases; None, and a name left out, where the usual is to stand."""

    unit: Unit | None = None
    paper: str | None = None
    values: Mapping[str, float] = {}

    def to_json(self) -> dict[str, Any]:
        """The settings by name; lengths in mm."""
        words = {"unit": self.unit, "paper": self.paper}
        return {**{name: word for name, word in words.items() if word is not None}, **self.values}


def settings_file() -> Path:
    """Where they are kept."""
    return own_folder(user_config_dir) / "settings.json"


def standing() -> Standing:
    """Her settings as they are kept; none where nothing is.

    Raises:
        FitError: when the file is there and can't be read.
    """
    path = settings_file()
    if not os.path.isfile(path):
        return Standing()
    try:
        kept = json.loads(bytes_of(path, LARGEST, ordinary=True))["settings"]
        values = {str(k): float(v) for k, v in kept.items() if isinstance(v, int | float) and not isinstance(v, bool)}
        return Standing(
            kept.get("unit") if kept.get("unit") in UNITS else None,
            kept.get("paper") if kept.get("paper") in PAPERS else None,
            values,
        )
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError):
        what = "Your settings can't be read."
        raise FitError.of(
            str(path), what, "Put the file right, or take it away and set them anew.", code="unreadable"
        ) from None


def under_standing(settings: Settings, kept: Standing | None = None) -> Settings:
    """The settings with hers in place of the usual; a name that the rules no longer know is passed over."""
    for name, value in (kept or standing()).values.items():
        if name in settings.values:
            settings = settings.with_value(name, value)
    return settings
