"""Answers of a try-on, and what a case is about, from a file of JSON or YAML."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from diagnose.casebook.jsonfile import object_of
from diagnose.errors import FitError, Mistake, first_ones, quoted, shown
from diagnose.files import LARGEST_YAML, bytes_of

__all__ = ["read_answers"]


def read_answers(path: Path) -> dict[str, Any]:
    """The answers of a try-on from a file of JSON or YAML.

    Raises:
        FitError: when it can't be read or holds no mapping.
    """
    try:
        text = bytes_of(path, LARGEST_YAML).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise FitError.of(path.name, f"The answers can't be read ({reason}).", "Name a JSON or YAML file.") from None
    raw = object_of(text, path.name) if path.suffix.lower() == ".json" else _from_yaml(text, path.name)
    if not isinstance(raw, dict):
        raise FitError.of(path.name, "The file holds no answers.", "See the README for an example.")
    return raw


def _from_yaml(text: str, name: str) -> Any:
    """What stands in YAML, where it is plain what each length is: YAML reads 010 as 8 and 1:30 as 90, and no unit says.

    In JSON, which programs write, a number is millimetres; YAML is written by hand, where 2 may be inches.
    """
    import yaml

    from diagnose.rulebase.reading.yamlfile import parse_yaml

    written = parse_yaml(text, name)  # refuses what is not YAML, aliases and doubled keys, with the line
    try:
        found = yaml.safe_load(text)
    except (yaml.YAMLError, ValueError, TypeError, RecursionError):
        raise FitError.of(name, "A value in it can't be read.", "Put quotes round dates and odd words.") from None
    mistakes = [
        Mistake(f"{name}:{written.lines.get(place, 1)}", *_bare(".".join(map(str, place)), raw), "bare-number")
        for place, raw, value in _leaves(written.data, found, ())
        if _is_length(place) and not isinstance(value, str | bool | None) and value != 0
    ]
    if mistakes:
        raise FitError(first_ones(mistakes, name))
    return found


def _bare(where: str, raw: object) -> tuple[str, str]:
    number = shown(raw)
    return (
        f"{where} is {quoted(raw)}, without a unit.",
        f"Write {number} in, {number} cm or {number} mm, as you mean it.",
    )


def _leaves(raw: Any, value: Any, place: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any, Any]]:
    """Every single value: where it stands, as it was written, and as YAML reads it."""
    if isinstance(raw, dict) and isinstance(value, dict):
        for (key, inner), read in zip(raw.items(), value.values(), strict=False):
            yield from _leaves(inner, read, (*place, key))
    elif isinstance(raw, list) and isinstance(value, list):
        for number, (inner, read) in enumerate(zip(raw, value, strict=False)):
            yield from _leaves(inner, read, (*place, number))
    else:
        yield place, raw, value


def _is_length(place: tuple[str | int, ...]) -> bool:
    """Whether a length belongs there."""
    first, last = (place[0], place[-1]) if place else ("", "")
    if first == "seen":
        return last == "amount" and len(place) == 3 and _amount_is_length(str(place[1]))
    if first == "garment":
        return last == "allowance"
    return first in ("gap", "gap_front", "overlap", "target") or (first == "wearer" and last != "today")


def _amount_is_length(sign: str) -> bool:
    from diagnose.rulebase.base import load_rulebase

    return load_rulebase().vocabulary.signs.get(sign, ("none",))[0] == "length"
