"""Mistakes as a page tells them: where they stand in her words, and what to do on the page."""

from __future__ import annotations

import pytest

from diagnose.errors import Mistake
from diagnose.workroom.telling import do_here, where_here


def mistake(where: str, what: str = "It is wrong.", do: str = "", code: str = "any", typed: str = "") -> Mistake:
    return Mistake(where, what, do, code=code, typed=typed)


@pytest.mark.parametrize(
    ("where", "told"),
    [
        ("pattern.svg, piece side-front, level waist", "Side front, level waist"),
        ("what you said, piece front, edge back-seam-1", "Front, back seam 1"),
        ("outline 2 “back”", "Back"),
        ("hip", "Hip"),
        ("At the waist", "At the waist"),
        ("pattern.csv, line 7", "Line 7"),
        ("pattern-2.jpg", "Photograph 2"),
        ("patterns/0001.json, piece front", "patterns/0001.json, front"),
        ("--way", ""), ("7.1", ""), ("target.top", ""), ("plan", ""), ("", ""),
    ],
)  # fmt: skip
def test_a_place_is_told_as_she_would_say_it_and_one_of_the_programs_own_is_not(where: str, told: str) -> None:
    assert where_here(mistake(where)) == told


def test_what_the_sentence_names_itself_is_not_told_twice() -> None:
    assert not where_here(mistake("Amount", "“Amount” is missing."))
    assert not where_here(mistake("waist", "The waist can't be presumed."))
    assert where_here(mistake("piece front", "The hem runs from back to front.")) == "Front"
    assert not where_here(mistake("piece p2", "The hem of the second panel is open."))
    assert where_here(mistake("piece back, level hip", "The hip of “back” is drawn twice.")) == "Level hip"


def test_what_is_done_in_a_terminal_or_a_file_is_told_as_it_is_done_on_a_page() -> None:
    typed = "Go back with: diagnose back CASE N"
    back = mistake("1.1", "This step is in the newest version.", code="done-already", typed=typed)
    assert do_here(back) == "To be without it, go back to an older version, under Versions."
    sewn = mistake("plan", "Round 1 is in the pattern already.", "Sew, try on and answer again.", "done-already")
    assert do_here(sewn) == "Sew, try on and answer again."


@pytest.mark.parametrize(
    ("code", "typed"),
    [
        ("no-card", "Print one (diagnose card --out card.pdf) and lay it beside."),
        ("card-twice", "Lay different ones: diagnose card --cards 2 prints a card 1 and a card 2."),
        ("printed-size", "Measure the rule on it and give it, for example --ruler '198.5 mm'; or print it again."),
        ("extra-missing", "In the program's folder: .venv/bin/pip install '.[photo]'"),
        ("any", "Say in a labels file where it lies. Or draw it again with --unit mm."),
    ],
)
def test_no_page_tells_a_command_an_option_or_a_file_of_the_program(code: str, typed: str) -> None:
    told = do_here(mistake("x", typed=typed, code=code))
    assert told
    assert not any(word in told for word in ("diagnose", "--", "labels file", "pip"))


def test_of_what_is_told_to_be_done_the_part_that_a_page_has_a_way_for_stays() -> None:
    both = mistake("x", do="Draw it anew.", typed="Or say --unit mm.")
    assert do_here(both) == "Draw it anew."
    assert str(both) == "x: It is wrong. Draw it anew. Or say --unit mm."
    assert both.to_json()["do"] == "Draw it anew. Or say --unit mm."
