"""Small turns that every sentence takes: its first letter, and words in a row."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["HARD", "counted", "listed", "lower_first", "unbroken", "upper_first"]

HARD = "\u00a0"
"""A blank at which no line is broken."""


def counted(count: int, sentence: str) -> str:
    """A sentence that begins with how many there are; what differs for one and for more stands in it as [was|were]."""
    return f"{count} " + re.sub(r"\[([^|\]]*)\|([^\]]*)\]", r"\1" if count == 1 else r"\2", sentence)


def upper_first(words: str) -> str:
    """The words as they begin a sentence."""
    return words[:1].upper() + words[1:]


def lower_first(words: str) -> str:
    """The words as they stand within a sentence."""
    return words[:1].lower() + words[1:]


def unbroken(words: str) -> str:
    """The words with blanks at which no line is broken."""
    return words.replace(" ", HARD)


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words in a row: a, b and c."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""
