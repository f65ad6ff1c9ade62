"""How wide words are: the widths of the letters of Helvetica, in thousandths of their height, as its makers give them.

They are kept here in short, so that a page needs no font to be laid out; a test holds them to the font's own.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

__all__ = ["lines_within", "words_wide"]

_BY_WIDTH = {
    191: "'", 222: "ijl‘’", 260: "|", 278: " !,./:;\\fItſ·\u00a0", 333: "()-`r“”", 334: "{}", 355: '"', 389: "*",
    400: "°", 469: "^", 500: "cksvxyzJ", 584: "+<=>~×±−", 611: "FTZ", 667: "&ABEKPSVXY", 722: "CDHNRUw", 778: "GOQ",
    833: "mM", 834: "½¼¾", 889: "%", 944: "W", 1000: "…—@", 350: "•",
}  # fmt: skip
_WIDTHS = {letter: width / 1000.0 for width, letters in _BY_WIDTH.items() for letter in letters}
_USUAL = 0.556
_SPACE = 0.278
_BOLD = 1.075
"""Bold letters are up to so much wider on the whole."""


def words_wide(words: str, size_mm: float, *, bold: bool = False) -> float:
    """How wide the words are, mm, set in letters of that height."""
    return _wide(words) * size_mm * (_BOLD if bold else 1.0)


@lru_cache(maxsize=4096)
def _wide(words: str) -> float:
    return sum(_WIDTHS.get(letter, _USUAL) for letter in words)


def lines_within(text: str, wide_mm: float, size_mm: float, *, bold: bool = False, hang: str = "") -> Iterator[str]:
    """The text in lines no wider than that, where words allow it; those after the first begin with `hang`."""
    most = wide_mm / (size_mm * (_BOLD if bold else 1.0))
    line, long = "", 0.0
    for word in text.split(" "):
        longer = long + _wide(word) + (_SPACE if line else 0.0)
        if line.strip() and longer > most:
            yield line
            line, long = f"{hang}{word}", _wide(hang) + _wide(word)
        else:
            line, long = f"{line} {word}" if line else word, longer
    if line.strip():
        yield line
