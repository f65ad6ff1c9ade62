"""Answers of a try-on, and what a case is about, from a file of JSON or YAML."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from diagnose.casebook.jsonfile import object_of
from diagnose.errors import FitError
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
    import yaml

    from diagnose.rulebase.reading.yamlfile import parse_yaml

    parse_yaml(text, name)  # refuses what is not YAML, aliases and doubled keys, with the line
    try:
        return yaml.safe_load(text)
    except (yaml.YAMLError, ValueError, TypeError, RecursionError):
        raise FitError.of(name, "A value in it can't be read.", "Put quotes round dates and odd words.") from None
