"""Reading ``settings.yaml``: the defaults of what the trade leaves open.

A command on bare numbers needs nothing else of the rules, so what was read and found right is kept beside the text it
was read from, and taken from there while that text is the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from pathlib import Path
from zlib import crc32

from msgspec import DecodeError, Struct
from msgspec.json import decode, encode

from diagnose.errors import FitError, Mistake, quoted
from diagnose.files import LARGEST_YAML, bytes_of
from diagnose.model.believable import outside
from diagnose.model.settings import Setting, Settings
from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file
from diagnose.units import Unit, parse_length

__all__ = ["read_settings"]

CACHE_FORM = 2
KEYS = ("title", "value", "low", "high", "because", "source")
MAY_BE_MISSING = ("low", "high")


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
        keep_file(kept, encode(_Kept(text, values)))
    return Settings(values, unit)


class _Kept(Struct, frozen=True):
    text: str
    values: dict[str, Setting]


def _kept(path: Path, text: str) -> Mapping[str, Setting] | None:
    """What the cache holds of just this text, if anything sound."""
    try:
        kept = decode(kept_file(path) or b"", type=_Kept)
    except (DecodeError, RecursionError):
        return None
    return kept.values if kept.text == text else None


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
        keys = (
            tuple(key for key in KEYS if key in entry or key not in MAY_BE_MISSING) if isinstance(entry, dict) else ()
        )
        if not keys or tuple(entry) != keys or not all(isinstance(v, str) for v in entry.values()):
            say, do = f"'{name}' is not a setting.", f"Keys: {', '.join(KEYS)}."
            mistakes.append(Mistake(file.at((name,)), say, do, code="no-such-setting"))
            continue
        figures = {key: _figure(entry[key]) for key in ("value", "low", "high") if key in entry}
        wrong = [key for key, figure in figures.items() if figure is None]
        mistakes += [
            Mistake(file.at((name, key)), f"{quoted(entry[key])} is no value.", "See its neighbours.", code="no-value")
            for key in wrong
        ]
        if wrong:
            continue
        known = {key: figure for key, figure in figures.items() if figure is not None}
        is_length = any(c.isalpha() for c in entry["value"])
        low, high = known.get("low", 0.0), known.get("high")
        values[name] = Setting(
            entry["title"], known["value"], is_length, because=entry["because"], source=entry["source"],
            low=low, high=high,
        )  # fmt: skip
        if outside(known["value"], low, high) is not None:
            what, do = f"The setting '{name}' lies outside its own low and high.", "Put one of them right."
            mistakes.append(Mistake(file.at((name, "value")), what, do, code="out-of-range"))
    if mistakes:
        raise FitError(mistakes)
    return values


def _is_setting(entry: object) -> bool:
    """Whether it has the keys of a setting, in their order, and a text for each."""
    if not isinstance(entry, dict) or not all(isinstance(text, str) for text in entry.values()):
        return False
    return tuple(entry) == tuple(key for key in KEYS if key in entry or key not in MAY_BE_MISSING)


def _figure(text: str) -> float | None:
    """A length in mm, or a plain number; None where it is neither."""
    if any(c.isalpha() for c in text):
        return parse_length(text)
    try:
        number = float(text)
    except ValueError:
        return None
    return number if isfinite(number) else None
