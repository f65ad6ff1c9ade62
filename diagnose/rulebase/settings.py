"""Reading ``settings.yaml``: the defaults of what the trade leaves open."""

from __future__ import annotations

from pathlib import Path

from diagnose.errors import FitError, Mistake
from diagnose.model.settings import Setting, Settings
from diagnose.rulebase.yamlfile import read_yaml
from diagnose.units import Unit, parse_length

__all__ = ["read_settings"]

KEYS = ("title", "value", "because", "source")


def read_settings(folder: Path, unit: Unit = "in") -> Settings:
    """The settings of a rule folder.

    Raises:
        FitError: with every mistake of the file.
    """
    file = read_yaml(folder / "settings.yaml", f"{folder.name}/settings.yaml")
    mistakes: list[Mistake] = []
    values: dict[str, Setting] = {}
    for name, entry in (file.data or {}).items():
        if not isinstance(entry, dict) or tuple(entry) != KEYS:
            mistakes.append(Mistake(file.at((name,)), f"'{name}' is not a setting.", f"Keys: {', '.join(KEYS)}."))
            continue
        length_mm = parse_length(entry["value"]) if any(c.isalpha() for c in entry["value"]) else None
        try:
            value = float(entry["value"]) if length_mm is None else length_mm
        except ValueError:
            where = file.at((name, "value"))
            mistakes.append(Mistake(where, f"“{entry['value']}” is no value.", "See its neighbours."))
            continue
        values[name] = Setting(entry["title"], value, length_mm is not None, entry["because"], entry["source"])
    if mistakes:
        raise FitError(mistakes)
    return Settings(values, unit)
