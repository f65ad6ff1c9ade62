"""Text from files, names and paths, made fit to be shown: nothing in it can steer a terminal."""

from __future__ import annotations

from pathlib import Path

__all__ = ["plain", "shown"]

LONGEST_PATH = 300


def plain(text: str, most: int = 2000) -> str:
    """The text on one line: white space as single blanks, anything else that does not print as ``?``, cut at `most`."""
    clean = "".join(c if c.isprintable() else "?" for c in " ".join(text[: 4 * most].split()))
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def shown(path: Path) -> str:
    """A path as it may be shown."""
    return plain(str(path), LONGEST_PATH)
