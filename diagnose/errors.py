"""The one error base. An error says where, what is wrong, and what to do about it.

Only errors of this family are shown to the user without a traceback, and they end the program with exit code 2.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from difflib import get_close_matches

from msgspec import Struct

__all__ = [
    "MOST_SHOWN", "FitError", "Mistake", "first_ones", "gathered", "nearest", "one_line", "printable", "quoted",
    "shown", "shown_path",
]  # fmt: skip

MOST_SHOWN = 100
LONGEST_QUOTED = 60
LONGEST_LINE = 2000
LONGEST_PATH = 300
SURE = "sure-"
_JSON_WORDS = {"True": "true", "False": "false", "None": "null"}


class Mistake(Struct, frozen=True):
    """One thing the user can put right.

    Attributes:
        where: where it stands.
        what: what is wrong, a sentence.
        do: what to do about it, a sentence.
        code: what kind of mistake it is, a word or two joined by hyphens (`outline-crosses`); mistakes are told apart
            by it and never by their sentences.
        typed: what to do about it, besides or instead, at a prompt or in a file; a page, which has neither, leaves it
            out.
        about: what it is about, as the program knows it, where a page offers to put it right: the name of a seam, the
            number of an outline.
    """

    where: str
    what: str
    do: str
    code: str
    typed: str = ""
    about: str = ""

    @property
    def sure_word(self) -> str:
        """The word that settles what is only beyond belief, whose code is ``sure-WORD``; empty for everything else."""
        return self.code.removeprefix(SURE) if self.code.startswith(SURE) else ""

    @property
    def remedy(self) -> str:
        """All that can be done about it."""
        return f"{self.do} {self.typed}".strip()

    def to_json(self) -> dict[str, str]:
        """The mistake as it stands in JSON that is given out."""
        return {"where": self.where, "what": self.what, "do": self.remedy, "code": self.code}

    def __str__(self) -> str:
        said = f"{self.what} {self.remedy}".strip()
        return f"{self.where}: {said}" if self.where else said


class FitError(Exception):
    """Everything wrong with one input, all at once.

    Args:
        mistakes: at least one mistake, in the order they stand in the input.
    """

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))

    @classmethod
    def of(cls, where: str, what: str, do: str = "", *, code: str, typed: str = "") -> FitError:
        """An error of a single mistake."""
        return cls([Mistake(where, what, do, code=code, typed=typed)])

    @property
    def codes(self) -> frozenset[str]:
        """The kinds of its mistakes."""
        return frozenset(mistake.code for mistake in self.mistakes)


@contextmanager
def gathered(mistakes: list[Mistake]) -> Iterator[None]:
    """Add to `mistakes` what the block refuses, and go on."""
    try:
        yield
    except FitError as error:
        mistakes += error.mistakes


def nearest(word: str, known: Iterable[str]) -> str:
    """The sentence that offers near spellings of `word`, or lists what is known when nothing is near."""
    options = sorted(known)
    near = get_close_matches(word[:LONGEST_QUOTED], options, n=3, cutoff=0.6)
    if near:
        return f"Did you mean {' or '.join(near)}?"
    if not options:
        return "There is none to name."
    if len(options) <= 12:
        return f"Known: {', '.join(options)}."
    return f"{len(options)} are known; none is spelt nearly so."


def first_ones(mistakes: Sequence[Mistake], where: str = "") -> Sequence[Mistake]:
    """The mistakes; of a long list only the first, and how many there are besides."""
    left = len(mistakes) - MOST_SHOWN
    if left <= 0:
        return mistakes
    more = Mistake(
        where, f"There are {left} mistakes more.", "Put these right first and read it again.", code="more-mistakes"
    )
    return [*mistakes[:MOST_SHOWN], more]


def printable(text: str, *, but: str = "", instead: str = "?") -> str:
    """The text with every character that does not print (but those of `but`) replaced, so that it can drive nothing."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() or c in but else " " if c.isspace() else instead for c in text)


def one_line(text: str, most: int = LONGEST_LINE) -> str:
    """The text on one line: white space as single blanks, anything else that does not print as ``?``, cut at `most`."""
    clean = printable(" ".join(text[: 4 * most].split()))
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def shown_path(path: object) -> str:
    """A path as it may be shown."""
    return one_line(str(path), LONGEST_PATH)


def quoted(value: object) -> str:
    """The value as the user wrote it, in quotes, cut short and free of control characters."""
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, Mapping):
        return f"an object of {len(value)} keys"
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**15:
        return "a number of many digits"
    return f"“{shown(value)}”"


def shown(value: object) -> str:
    """A value as the user wrote it, without quotes, cut short and free of control characters."""
    text = value if isinstance(value, str) else _JSON_WORDS.get(repr(value), repr(value))
    return f"{printable(text[:LONGEST_QUOTED])}{'…' if len(text) > LONGEST_QUOTED else ''}"
