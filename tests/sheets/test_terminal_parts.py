"""Parts of what is said: plain at 80 columns as text, with weight and a rule in a terminal, never driven by a name."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from diagnose.sheets.words.parts import (
    WIDTH,
    Said,
    hanging,
    heading,
    item,
    paragraph,
    plain_lines,
    table,
    wrapped,
)

LONG = "The right arm digs in still, and a hand passes under the waist of the bodies when she stands up straight. " * 2
WIDE = "前身頃" * 12


def in_a_terminal(*said: Said, width: int = 80) -> str:
    stream = io.StringIO()
    console = Console(file=stream, force_terminal=True, color_system="standard", width=width, legacy_windows=False)
    for part in said:
        console.print(part)
    return stream.getvalue()


def test_further_lines_are_set_in_as_far_as_the_first_unless_told_otherwise() -> None:
    first, *rest = plain_lines(wrapped(LONG, "Look  "))
    assert first.startswith("Look  The right arm")
    assert all(line.startswith("      ") and line[6] != " " for line in rest)
    first, second, *_ = plain_lines(hanging([LONG]))
    assert (first[0], second[:3]) == ("T", "  " + second[2])


@pytest.mark.parametrize("said", [wrapped(LONG), paragraph(LONG, 4), item(LONG), item(WIDE * 3, "12.")])
def test_no_line_is_wider_than_eighty_cells_and_no_word_is_lost(said: list[Said]) -> None:
    lines = list(plain_lines(said))
    assert max(map(cell_len, lines)) <= WIDTH
    assert len(lines) > 1


def test_nothing_said_is_one_empty_line() -> None:
    assert list(plain_lines(paragraph(""))) == [""]


def test_a_table_stands_in_columns_and_gives_way_where_it_is_too_wide() -> None:
    assert list(plain_lines(table(("at the", "read"), [("top", "1 in"), ("underbust", "2 in")], 2))) == [
        "  at the     read", "  top        1 in", "  underbust  2 in",
    ]  # fmt: skip
    wide = list(plain_lines(table(("", ""), [("top", LONG)])))
    assert max(map(cell_len, wide)) <= WIDTH
    assert "".join(wide).replace(" ", "") == ("top" + LONG).replace(" ", "")


def test_words_joined_by_a_hard_blank_stay_on_one_line() -> None:
    for filling in range(60, 82):
        lines = list(plain_lines(wrapped(f"{'x' * filling} 1\u00a01/2\u00a0in")))
        assert any("1 1/2 in" in line for line in lines)


def test_a_line_as_it_stands_is_never_broken_for_it_may_be_copied() -> None:
    path = "/home/" + "x" * 200
    assert list(plain_lines([f"Written: {path}"])) == [f"Written: {path}"]


def test_a_terminal_gets_weight_and_a_rule_between_parts_and_a_file_neither() -> None:
    shown = in_a_terminal(*heading("Do this first"))
    assert "\x1b[1m" in shown
    assert "──" in shown
    assert list(plain_lines(heading("Do this first"))) == ["", "Do this first"]


@given(st.text(max_size=200))
def test_nothing_written_is_taken_for_markup_or_drives_a_terminal(text: str) -> None:
    said = [*wrapped(f"[red]{text}", text), *heading(text), *table((text, "x"), [(text, "[b]y")]), text]
    assert all(line.isprintable() for line in plain_lines(said))
    assert "[red]" in "".join(plain_lines(wrapped("[red]x")))
    assert "[b]y" in "".join(plain_lines(table(("", ""), [("", "[b]y")])))
