"""Lines for a terminal: paragraphs, items behind a mark, and tables, none wider than it is.

Widths are counted in the cells of a terminal, of which some characters take two. No character that could drive the
terminal comes through, and a word too long for a line is cut.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from rich.cells import cell_len, chop_cells, set_cell_size

__all__ = ["WIDTH", "item", "paragraph", "table"]

WIDTH = 80
GAP = 2
_WORD = re.compile(r"\s*\S+\s*")


def paragraph(text: str, indent: int = 0) -> Iterator[str]:
    """The text in lines, all set in by so many cells; nothing gives one empty line."""
    for line in _wrapped(text, WIDTH - indent):
        yield f"{' ' * indent}{line}".rstrip()


def item(text: str, mark: str = "-") -> Iterator[str]:
    """The text in lines behind a mark, which stands at the right of at least two cells."""
    wide = max(2, cell_len(mark))
    for line, before in zip_longest(_wrapped(text, WIDTH - wide - 1), [mark.rjust(wide)], fillvalue=" " * wide):
        yield f"{before} {line}".rstrip()


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], indent: int = 0) -> Iterator[str]:
    """Rows under their heads (none, where all heads are empty), each column as wide as its longest cell.

    Where that is too wide the widest columns give way, and their cells run on below.
    """
    shown = [*([tuple(heads)] if any(heads) else []), *map(tuple, rows)]
    widths = [max(map(cell_len, column)) for column in zip(*shown, strict=True)]
    room = WIDTH - indent - GAP * len(widths)
    while sum(widths) > room and max(widths) > 1:
        widths[widths.index(max(widths))] -= 1
    for row in shown:
        cells = [_wrapped(cell, width) for cell, width in zip(row, widths, strict=True)]
        for parts in zip_longest(*cells, fillvalue=""):
            columns = (set_cell_size(part, width) for part, width in zip(parts, widths, strict=True))
            yield f"{' ' * indent}{(' ' * GAP).join(columns)}".rstrip()


def _wrapped(text: str, width: int) -> list[str]:
    """The text cut between words, and in a word only where it is longer than a line."""
    clean = "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in text)
    lines, filled = [""], 0
    for word in _WORD.findall(clean):
        if filled + cell_len(word.rstrip()) > width:
            pieces = chop_cells(word, width) if cell_len(word.rstrip()) > width else [word]
            lines += pieces[:-1]
            word, filled = pieces[-1], 0
            lines.append("")
        lines[-1] += word
        filled += cell_len(word)
    kept = lines[1:] if lines[0] == "" and len(lines) > 1 else lines
    return [line.rstrip() for line in kept]
