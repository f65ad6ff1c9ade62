"""Lines laid out for a terminal, against rich, which lays out the same on its own."""

from __future__ import annotations

import io

from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from diagnose.sheets.words.columns import WIDTH, item, paragraph, table

WORDS = st.lists(st.text("abcé針織,.-", min_size=1, max_size=100), max_size=30).map(" ".join)
SHORT = st.lists(st.text("abc 3/8", min_size=1, max_size=8), max_size=2).map(" ".join)


def by_rich(shown: RenderableType) -> list[str]:
    out = io.StringIO()
    Console(file=out, width=WIDTH, no_color=True, highlight=False, markup=False, emoji=False).print(shown)
    return [line.rstrip() for line in out.getvalue().splitlines()]


@settings(max_examples=150, deadline=None)
@given(WORDS, st.integers(0, 6))
def test_a_paragraph_is_cut_where_rich_cuts_it(text: str, indent: int) -> None:
    assert list(paragraph(text, indent)) == by_rich(Padding(Text(text, overflow="fold"), (0, 0, 0, indent)))


@settings(max_examples=150, deadline=None)
@given(WORDS, st.sampled_from(["-", "1.", "12.", "+++"]))
def test_an_item_stands_where_rich_puts_it(text: str, mark: str) -> None:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=max(2, len(mark)), justify="right")
    grid.add_column(overflow="fold")
    grid.add_row(Text(mark), Text(text, overflow="fold"))
    assert list(item(text, mark)) == by_rich(grid)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(SHORT, SHORT, SHORT), min_size=1, max_size=5))
def test_a_table_that_has_room_is_as_rich_draws_it(rows: list[tuple[str, ...]]) -> None:
    heads = ("at the", "read", "wants")
    grid = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="")
    for head in heads:
        grid.add_column(Text(head), overflow="fold")
    for row in rows:
        grid.add_row(*map(Text, row))
    assert list(table(heads, rows, 2)) == by_rich(Padding(grid, (0, 0, 0, 2)))


@given(st.lists(st.tuples(WORDS, WORDS, WORDS), min_size=1, max_size=4))
def test_a_table_too_wide_gives_way_and_loses_no_word(rows: list[tuple[str, ...]]) -> None:
    lines = list(table(("", "", ""), rows))
    assert max(map(cell_len, lines)) <= WIDTH
    shown = sorted("".join(lines).replace(" ", ""))
    assert shown == sorted("".join(cell for row in rows for cell in row).replace(" ", ""))


def test_nothing_to_say_is_an_empty_line_and_no_character_drives_the_terminal() -> None:
    assert list(paragraph("")) == [""]
    assert list(paragraph("a\x1b[31m b\tc\nd")) == ["a?[31m b c d"]
