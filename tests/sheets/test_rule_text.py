"""Entries of the rule base as a maker reads them in a terminal."""

from __future__ import annotations

import pytest

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.fields import Condition
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.rule_text import RuleWords, condition_words, entry_lines


def test_every_page_keeps_inside_eighty_columns(base: RuleBase) -> None:
    entries = base.entries
    names = [*entries.symptoms, *entries.causes, *entries.alterations, *entries.questions]
    wide = {name: line for name in names for line in plain_lines(entry_lines(entries, name)) if len(line) > 80}
    assert wide == {}


@pytest.mark.parametrize(
    ("fact", "comparison", "value", "words"),
    [
        ("rides-up", "is", "yes", "“It rides up” shows (rides-up)"),
        ("rides-up", "is", "no", "“It rides up” does not show (rides-up)"),
        ("rides-up", "is-not", "no", "“It rides up” shows (rides-up)"),
        ("seated-only", "is", "yes", "“Does it happen only when sitting?” is answered yes (seated-only)"),
        ("tabs", "is-not", "none", "Tabs below the waist: not none (tabs)"),
        ("gap-spread", "less-than", 12.7, "Unevenness of the gap is less than 1/2 in (13 mm) (gap-spread)"),
        ("marks-on-skin.amount", "more-than", 30.0,
         "“Red marks on the skin”: minutes until faded is more than 30 minutes (marks-on-skin.amount)"),
        ("seams-per-half", "at-least", 1.0,
         "Seams in one half, lacing edge and folds left out is at least 1 (seams-per-half)"),
    ],
)  # fmt: skip
def test_a_condition_is_read_as_words_with_the_id_of_its_fact(
    fact: str, comparison: str, value: str | float, words: str, base: RuleBase
) -> None:
    line = Condition.model_validate({"fact": fact, "comparison": comparison, "value": value})
    assert condition_words(line, base.entries) == words


def test_an_amount_names_what_is_measured_for_it(base: RuleBase) -> None:
    words = RuleWords(base.entries).amount("first(busk-bottom-digs.amount, 3/4 in)")
    assert words == "the first that is known of [“Foot of the busk digs”: length to lose, seated], 3/4 in"
    assert "[" not in RuleWords(base.entries).amount("1/2 in")


def test_the_most_of_a_round_says_what_it_is_counted_on(base: RuleBase) -> None:
    words = RuleWords(base.entries)
    said = {words.at_most(choice) for cause in base.entries.causes.values() for choice in cause.alterations}
    assert "" in said
    assert any(most.endswith("on each stitching line") for most in said)
    assert any(most.endswith("of the whole girth") for most in said)
