"""What is said, in parts that rich lays out: weight, tables, a rule between parts in a terminal; plain elsewhere.

A part printed by rich takes the width it is given. As text (`str`) it is plain, 80 columns wide, with nothing at the
ends of its lines. Nothing that the maker or a file wrote is taken for markup, or can drive the terminal.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from io import StringIO
from typing import TYPE_CHECKING

from msgspec import Struct

from diagnose.errors import printable
from diagnose.sentences import HARD

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions, RenderResult

__all__ = [
    "WIDTH", "Heading", "Part", "Said", "Words", "hanging", "heading", "item", "paragraph", "plain_lines", "table",
    "wrapped",
]  # fmt: skip

WIDTH = 80
GAP = 2
STANDING_IN = "⍽"
"""Words joined by hard blanks stay on one line: rich would break there, so that a mark stands in for them meanwhile."""


class Part(Struct, frozen=True):
    """A part of what is said."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """What rich makes of it."""
        raise NotImplementedError

    def __str__(self) -> str:
        return "\n".join(plain_lines([self]))


Said = str | Part
"""One thing said: a line as it stands, however long, or a part that is laid out."""


class Words(Part, frozen=True):
    """Text in lines, the first behind `first`, the others behind `rest` or set in as far where none is told."""

    text: str
    first: str = ""
    rest: str | None = ""
    style: str = ""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The lines, as many as the width asks for."""
        from rich.text import Text

        first = Text(printable(self.first))
        rest = Text(" " * first.cell_len if self.rest is None else printable(self.rest))
        margin = max(first.cell_len, rest.cell_len)
        text = Text(printable(self.text, but=HARD).replace(HARD, STANDING_IN), self.style)
        for number, line in enumerate(text.wrap(console, max(1, options.max_width - margin)) or [Text()]):
            line.rstrip()
            line.plain = line.plain.replace(STANDING_IN, " ")
            yield Text.assemble(rest if number else first, line)


class Heading(Part, frozen=True):
    """Where a part begins: a blank line and its title, which a terminal shows heavy, with a rule to its end."""

    text: str
    style: str = "bold"

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The blank line and the title."""
        from rich.rule import Rule
        from rich.text import Text

        title = Text(printable(self.text), self.style)
        yield Text()
        yield Rule(title, align="left", style="dim") if console.is_terminal else title


class Rows(Part, frozen=True):
    """Rows under their heads (none, where all heads are empty); set in, they are so by a column's gap at least."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    indent: int = 0

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The table."""
        from rich.padding import Padding
        from rich.table import Table
        from rich.text import Text

        grid = Table(
            box=None, pad_edge=self.indent > 0, padding=(0, 0, 0, GAP), show_header=any(self.heads), header_style="dim"
        )  # fmt: skip
        for head in self.heads:
            grid.add_column(Text(printable(head)))
        for row in self.rows:
            grid.add_row(*(Text(printable(cell)) for cell in row))
        yield Padding(grid, (0, 0, 0, self.indent - GAP)) if self.indent > GAP else grid


def wrapped(text: str, first: str = "", rest: str | None = None, style: str = "") -> Iterator[Part]:
    """The text behind `first`; its further lines behind `rest`, or set in as far as the first where none is told."""
    yield Words(text, first, rest, style=style)


def hanging(texts: Iterable[str]) -> Iterator[Part]:
    """Each of the texts, with its lines after the first set in."""
    for text in texts:
        yield from wrapped(text, "", "  ")


def paragraph(text: str, indent: int = 0, style: str = "") -> Iterator[Part]:
    """The text, all set in by so many cells; nothing gives one empty line."""
    yield from wrapped(text, " " * indent, style=style)


def heading(text: str, style: str = "bold") -> Iterator[Part]:
    """The title of a part, after a blank line."""
    yield Heading(text, style)


def item(text: str, mark: str = "-") -> Iterator[Part]:
    """The text behind a mark, which stands at the right of at least two cells."""
    yield from wrapped(text, f"{mark.rjust(2)} ")


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], indent: int = 0) -> Iterator[Part]:
    """Rows under their heads (none, where all heads are empty), in columns as wide as they need."""
    yield Rows(tuple(heads), tuple(map(tuple, rows)), indent)


def plain_lines(said: Iterable[Said]) -> Iterator[str]:
    """What is said as plain lines of text, each at most 80 cells wide but where it is a line of its own."""
    for part in said:
        if isinstance(part, str):
            yield from (line.rstrip() for line in printable(part, but="\n").split("\n"))
        else:
            for line in _plain_console().render_lines(part, pad=False):
                yield "".join(segment.text for segment in line).rstrip()


@cache
def _plain_console() -> Console:
    # Imported here, as all of rich: what says a line or two, or answers in JSON, needs no layout.
    from rich.console import Console

    # Of a height too, which nothing here hangs on: rich would look for a terminal's for every part.
    return Console(
        file=StringIO(), width=WIDTH, height=WIDTH, color_system=None, force_terminal=False, legacy_windows=False
    )
