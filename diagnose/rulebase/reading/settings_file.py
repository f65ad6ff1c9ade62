"""Reading ``settings.yaml``: the defaults of what the trade leaves open.

A command on bare numbers needs nothing else of the rules, so what was read and found right is kept beside the text it
was read from, and taken from there while that text is the same.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from math import isfinite
from pathlib import Path
from typing import Any
from zlib import crc32

from diagnose.errors import FitError, Mistake, quoted
from diagnose.files import LARGEST_YAML, bytes_of
from diagnose.model.settings import Setting, Settings
from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file
from diagnose.units import Unit, parse_length

__all__ = ["read_settings"]

CACHE_FORM = 1
KEYS = ("title", "value", "because", "source")
_TYPES = (str, float, bool, str, str)


def read_settings(folder: Path, unit: Unit = "in") -> Settings:
    """The settings of a rule folder.

    Raises:
        FitError: with every mistake of the file.
    """
    path = folder / "settings.yaml"
    try:
        text = bytes_of(path, LARGEST_YAML, ordinary=True).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return Settings(_read(path, None), unit)
    kept = cache_folder() / f"settings-{CACHE_FORM}-{crc32(text.encode()):08x}.json"
    values = _kept(kept, text)
    if values is None:
        values = _read(path, text)
        plain = {name: [s.title, s.value, s.is_length, s.because, s.source] for name, s in values.items()}
        keep_file(kept, json.dumps({"text": text, "values": plain}).encode())
    return Settings(values, unit)


def _kept(path: Path, text: str) -> Mapping[str, Setting] | None:
    """What the cache holds of just this text, if anything sound."""
    try:
        kept = json.loads(kept_file(path) or b"")
        if kept["text"] != text or not all(_sound(entry) for entry in kept["values"].values()):
            return None
        return {name: Setting(*entry) for name, entry in kept["values"].items()}
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return None


def _sound(entry: Any) -> bool:
    return isinstance(entry, list) and tuple(map(type, entry)) == _TYPES


def _read(path: Path, text: str | None) -> dict[str, Setting]:
    # Imported here: YAML is read only when the cache does not hold the file.
    from diagnose.rulebase.reading.yamlfile import parse_yaml, read_yaml

    where = f"{path.parent.name}/{path.name}"
    file = read_yaml(path, where) if text is None else parse_yaml(text, where)
    mistakes: list[Mistake] = []
    values: dict[str, Setting] = {}
    if not isinstance(file.data, dict):
        raise FitError.of(
            where,
            "The file holds no settings.",
            f"Give each a name, and the keys {', '.join(KEYS)}.",
            code="no-settings",
        )
    for name, entry in file.data.items():
        if not isinstance(entry, dict) or tuple(entry) != KEYS or not all(isinstance(v, str) for v in entry.values()):
            mistakes.append(
                Mistake(
                    file.at((name,)), f"'{name}' is not a setting.", f"Keys: {', '.join(KEYS)}.", code="no-such-setting"
                )
            )
            continue
        length_mm = parse_length(entry["value"]) if any(c.isalpha() for c in entry["value"]) else None
        value = _number(entry["value"]) if length_mm is None else length_mm
        if value is None:
            at = file.at((name, "value"))
            mistakes.append(
                Mistake(at, f"{quoted(entry['value'])} is no value.", "See its neighbours.", code="no-value")
            )
            continue
        values[name] = Setting(
            entry["title"], value, length_mm is not None, because=entry["because"], source=entry["source"]
        )
    if mistakes:
        raise FitError(mistakes)
    return values


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if isfinite(number) else None
