"""Changing the maker's standing settings."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import cast

from msgspec.structs import replace

from diagnose.casebook.jsonfile import json_text
from diagnose.casebook.safely import refusal, write_text
from diagnose.errors import FitError, Mistake, gathered, nearest, quoted
from diagnose.model.settings import Settings
from diagnose.model.standing import PAPERS, Standing, settings_file, standing
from diagnose.units import UNITS, Unit

__all__ = ["change_standing"]

FORMAT = "fit-settings"
SHORT = {"ruler": "ruler-inch", "allowance": "allowance-seam", "target": "target-gap", "page": "paper"}
"""What a maker would call a setting, and its name; the ruler is that of the unit she works in."""


def change_standing(changes: Sequence[str], settings: Settings) -> Standing:
    """Change her settings, all of them or, where one can't be, none.

    Args:
        changes: each as ``NAME=VALUE``; without a value the usual stands again.
        settings: of the rules, for the names and what they are.

    Raises:
        FitError: for every change that can't be made, or when they can't be kept.
    """
    kept, mistakes = standing(), list[Mistake]()
    for text in changes:
        with gathered(mistakes):
            kept = _changed(kept, text, settings)
    if mistakes:
        raise FitError(mistakes)
    path = settings_file()
    if path.is_relative_to(os.devnull):
        what = "This machine does not say where your own folder is, so they can't be kept."
        raise FitError.of("settings", what, "Tell it by the variable HOME.", code="no-home")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refusal(path.parent, error) from None
    write_text(path, json_text({"format": FORMAT, "version": 1, "settings": kept.to_json()}, path.name))
    return kept


def _changed(kept: Standing, text: str, settings: Settings) -> Standing:
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals:
        raise FitError.of(
            "settings", f"{quoted(text)} gives no value.", "Write it like 'unit=cm' or 'ruler=1/8 in'.", code="no-value"
        )
    name = SHORT.get(name, name)
    unit = kept.unit or "in"
    if name == "ruler-inch" and unit != "in":
        name = "ruler-metric"
    words = {"unit": UNITS, "paper": PAPERS}
    if name in words:
        if value and value.casefold() not in words[name]:
            raise FitError.of(
                name, f"{quoted(value)} is none.", f"Give one of: {', '.join(words[name])}.", code="not-a-word"
            )
        word = value.casefold() or None
        return replace(kept, unit=cast(Unit | None, word)) if name == "unit" else replace(kept, paper=word)
    if name not in settings.values:
        names = [*words, *SHORT, *settings.values]
        raise FitError.of("settings", f"There is no setting {quoted(name)}.", nearest(name, names), code="unknown-name")
    if not value:
        return replace(kept, values={k: v for k, v in kept.values.items() if k != name})
    return replace(kept, values={**kept.values, name: settings.in_unit(unit).read(name, value, name)})
