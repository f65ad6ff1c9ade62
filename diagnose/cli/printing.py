"""The one printer: a command's result as text, or as one JSON object on stdout."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from typing import Any

__all__ = ["clean", "json_line", "show", "talk"]

WIDTH = 80


def clean(text: str) -> str:
    """The text without control characters, so that nothing a user or a file says can drive the terminal."""
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)


def json_line(data: Any) -> str:
    """JSON on one line. What does not print is escaped; so is all but ASCII where stdout is not in Unicode."""
    text = json.dumps(data, ensure_ascii=not _in_unicode(), allow_nan=False)
    return text if text.isprintable() else "".join(c if c.isprintable() else json.dumps(c)[1:-1] for c in text)


def _in_unicode() -> bool:
    return (getattr(sys.stdout, "encoding", None) or "utf-8").lower().startswith("utf")


def show(lines: Iterable[str], data: dict[str, Any], as_json: bool) -> None:
    """A result on stdout: its lines, or its data as one JSON object."""
    if as_json:
        sys.stdout.write(json_line({"version": 1, **data}) + "\n")
    else:
        sys.stdout.write(clean("\n".join(line.rstrip() for line in lines)) + "\n")


def talk(text: str) -> None:
    """A sentence beside the result, on stderr."""
    print(clean(text), file=sys.stderr)
