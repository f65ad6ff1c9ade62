"""Small turns that every sentence takes: its first letter, and words in a row."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["HARD", "counted", "kept_together", "listed", "lower_first", "unbroken", "upper_first"]

HARD = "\u00a0"
"""A blank at which no line is broken."""

_IN_ONE = re.compile(r"(?<=\d) (?=\d+/\d|(?:in|mm|cm|m|yd)\b)")


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


def kept_together(text: str) -> str:
    """The text with each length in one piece, wherever the line ends: 1 3/4 in stays together."""
    return _IN_ONE.sub(HARD, text)


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words in a row: a, b and c."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""
