"""Lines for a terminal: paragraphs, items behind a mark, and tables, none wider than it is.

Widths are counted in the cells of a terminal, of which some characters take two. No character that could drive the
terminal comes through, and a word too long for a line is cut.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest

__all__ = ["WIDTH", "hanging", "item", "paragraph", "table", "wrapped"]

WIDTH = 80
MARGIN = 2
GAP = 2
_WORD = re.compile(r"\s*\S+\s*")
_NARROW = re.compile("[ -~\u00a0-\u00ac\u00ae-\u02ff\u2010-\u2027]*")
"""Text of which every character takes one cell; only of other text the widths are looked up."""


def wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """The text in lines with a margin on the right, the first behind `first`, the others behind `rest`.

    Where no `rest` is given they are set in as far as the first.
    """
    rest = " " * _cells(first) if rest is None else rest
    lines = _cut(text, WIDTH - MARGIN - _cells(rest), _cells(first) - _cells(rest))
    return [f"{rest if number else first}{line}" for number, line in enumerate(lines)]


def hanging(texts: Iterable[str]) -> Iterator[str]:
    """Each of the texts in lines, with those after its first set in."""
    for text in texts:
        yield from wrapped(text, "", "  ")


def paragraph(text: str, indent: int = 0) -> Iterator[str]:
    """The text in lines, all set in by so many cells; nothing gives one empty line."""
    for line in _cut(text, WIDTH - indent):
        yield f"{' ' * indent}{line}".rstrip()


def item(text: str, mark: str = "-") -> Iterator[str]:
    """The text in lines behind a mark, which stands at the right of at least two cells."""
    wide = max(2, _cells(mark))
    for line, before in zip_longest(_cut(text, WIDTH - wide - 1), [mark.rjust(wide)], fillvalue=" " * wide):
        yield f"{before} {line}".rstrip()


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], indent: int = 0) -> Iterator[str]:
    """Rows under their heads (none, where all heads are empty), each column as wide as its longest cell.

    Where that is too wide the widest columns give way, and their cells run on below.
    """
    shown = [*([tuple(heads)] if any(heads) else []), *map(tuple, rows)]
    widths = [max(map(_cells, column)) for column in zip(*shown, strict=True)]
    room = WIDTH - indent - GAP * len(widths)
    while sum(widths) > room and max(widths) > 1:
        widths[widths.index(max(widths))] -= 1
    for row in shown:
        cells = [_cut(cell, width) for cell, width in zip(row, widths, strict=True)]
        for parts in zip_longest(*cells, fillvalue=""):
            columns = (part + " " * (width - _cells(part)) for part, width in zip(parts, widths, strict=True))
            yield f"{' ' * indent}{(' ' * GAP).join(columns)}".rstrip()


def _cut(text: str, width: int, filled: int = 0) -> list[str]:
    """The text cut between words, and in a word only where it is longer than a line; the first may be part full."""
    clean = "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in text)
    lines = [""]
    for word in _WORD.findall(clean):
        size = _cells(word.rstrip())
        if size > width:
            pieces = _chopped(word, width)
            lines += pieces if filled else [lines.pop() + pieces[0], *pieces[1:]]
            filled = 0
        elif filled + size > width:
            lines.append(word)
            filled = 0
        else:
            lines[-1] += word
        filled = filled + _cells(word) if size <= width else _cells(lines[-1])
    return [line.rstrip() for line in lines]


def _cells(text: str) -> int:
    """How many cells the text takes."""
    if _NARROW.fullmatch(text):
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)


def _chopped(word: str, width: int) -> list[str]:
    from rich.cells import chop_cells

    return chop_cells(word, width)
