"""Examples inside the rules: their facts, when a line holds, and that each line has one which only it keeps silent."""

from pathlib import Path

import pytest
from small_rules import changed, small_folder

from diagnose.rulebase.checking.firing_examples import check_examples, example_facts
from diagnose.rulebase.reading.fields import Condition
from diagnose.rulebase.reading.load import read_rules

BITES = "symptoms/back/edge-bites.yaml"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path / "rules")


def said(folder: Path) -> list[str]:
    return [mistake.what for mistake in check_examples(read_rules(folder))]


def test_facts_are_numbers_lengths_in_mm_or_words() -> None:
    given = {"a": "2", "b": "1/2 in", "c": "-3 mm", "d": "yes", "e": "none", "f": "0"}
    assert example_facts(given) == {"a": 2.0, "b": 12.7, "c": -3.0, "d": "yes", "e": "none", "f": 0.0}


@pytest.mark.parametrize(
    ("comparison", "below", "on", "above"),
    [("at-least", False, True, True), ("more-than", False, False, True), ("at-most", True, True, False),
     ("less-than", True, False, False)],
)  # fmt: skip
def test_a_number_is_compared_below_on_and_above_the_limit(comparison: str, below: bool, on: bool, above: bool) -> None:
    line = Condition.model_validate({"fact": "gap-fall", "comparison": comparison, "value": 10.0})
    assert [line.holds({"gap-fall": value}) for value in (9.99, 10.0, 10.01)] == [below, on, above]


def test_the_last_bit_of_a_float_tells_nothing() -> None:
    line = Condition.model_validate({"fact": "gap-fall", "comparison": "at-most", "value": 0.3})
    assert line.holds({"gap-fall": 0.1 + 0.2})


def test_a_word_is_or_is_not_another_and_what_is_unknown_or_of_another_kind_never_holds() -> None:
    is_, is_not = (Condition(fact="tabs", comparison=word, value="none") for word in ("is", "is-not"))
    number = Condition(fact="tabs", comparison="at-least", value=1.0)
    assert [line.holds({"tabs": "none"}) for line in (is_, is_not, number)] == [True, False, False]
    assert [line.holds({"tabs": "plain"}) for line in (is_, is_not)] == [False, True]
    assert not any(line.holds({}) for line in (is_, is_not, number))
    assert not any(line.holds({"tabs": 2.0}) for line in (is_, is_not))


def test_the_small_folder_shows_each_of_its_lines(folder: Path) -> None:
    assert said(folder) == []


def test_a_silent_example_that_fails_two_lines_at_once_shows_neither(folder: Path) -> None:
    changed(folder, BITES, "is-not: none}\n", "is-not: none}\n      - {fact: straps, is: none}\n")
    changed(folder, BITES, "tabs: plain}", "tabs: plain, straps: none}")
    changed(folder, BITES, "yes, tabs: none}", "yes, tabs: none, straps: fixed}")
    assert said(folder) == [
        "No silent example shows the line “tabs is-not none” of 'too-wide'.",
        "No silent example shows the line “straps is none” of 'too-wide'.",
    ]


def test_a_silent_example_that_merely_leaves_the_fact_out_shows_its_line(folder: Path) -> None:
    changed(folder, BITES, "yes, tabs: none}", "yes}")
    assert said(folder) == []


def test_a_worked_figure_a_twentieth_of_a_millimetre_off_passes_and_a_tenth_does_not(folder: Path) -> None:
    cause = "causes/height/edge-low.yaml"
    changed(folder, cause, "gives: 3/4 in", "gives: 19.09 mm")
    assert said(folder) == []
    changed(folder, cause, "gives: 19.09 mm", "gives: 19.15 mm")
    assert said(folder) == ["The formula gives 19.05 mm, the worked figure says 19.15 mm."]
