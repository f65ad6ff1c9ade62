"""The one error base. An error says where, what is wrong, and what to do about it.

Only errors of this family are shown to the user without a traceback, and they end the program with exit code 2.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

__all__ = ["FitError", "Mistake", "nearest"]


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing the user can put right: where it stands, what is wrong, what to do."""

    where: str
    what: str
    do: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {self.do}".strip() if self.where else f"{self.what} {self.do}".strip()


class FitError(Exception):
    """Everything wrong with one input, all at once.

    Args:
        mistakes: at least one mistake, in the order they stand in the input.
    """

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))

    @classmethod
    def of(cls, where: str, what: str, do: str = "") -> FitError:
        """An error of a single mistake."""
        return cls([Mistake(where, what, do)])


def nearest(word: str, known: Iterable[str]) -> str:
    """The sentence that offers near spellings of `word`, or lists what is known when nothing is near."""
    options = sorted(known)
    near = get_close_matches(word, options, n=3, cutoff=0.6)
    if near:
        return f"Did you mean {' or '.join(near)}?"
    if len(options) <= 12:
        return f"Known: {', '.join(options)}."
    return f"{len(options)} are known; none is spelt nearly so."
