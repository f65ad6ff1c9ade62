"""The one printer: a command's result as text, or as one JSON object on stdout."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from typing import Any

__all__ = ["clean", "show", "talk"]

WIDTH = 80


def clean(text: str) -> str:
    """The text without control characters, so that nothing a user or a file says can drive the terminal."""
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)


def show(lines: Iterable[str], data: dict[str, Any], as_json: bool) -> None:
    """A result on stdout: its lines, or its data as one JSON object."""
    if as_json:
        sys.stdout.write(json.dumps({"version": 1, **data}, ensure_ascii=False, allow_nan=False) + "\n")
    else:
        sys.stdout.write(clean("\n".join(line.rstrip() for line in lines)) + "\n")


def talk(text: str) -> None:
    """A sentence beside the result, on stderr."""
    print(clean(text), file=sys.stderr)
