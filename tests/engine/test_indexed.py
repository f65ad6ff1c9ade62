from __future__ import annotations

import math

import pytest

from diagnose.engine.indexed import IndexedMatcher
from diagnose.errors import FitError
from diagnose.rulebase.neutral import Facts, Firing, Rule, Test

RULES = [
    Rule("closed", "signs", (Test("gap", "at-most", 5.0), Test("laced", "is", "yes"))),
    Rule("wide", "signs", (Test("gap", "more-than", 50.0),)),
    Rule("seen", "links", (Test("laced", "is-not", "-"),)),
]


def mistakes(error: FitError) -> list[str]:
    return [mistake.where for mistake in error.mistakes]


def test_a_worked_case_fires_by_hand() -> None:
    matcher = IndexedMatcher(RULES)
    assert matcher.match("signs", {"gap": 0.0, "laced": "yes"}) == (Firing("closed", ("gap", "laced")),)
    assert matcher.match("signs", {"gap": 60.0, "laced": "yes"}) == (Firing("wide", ("gap",)),)
    assert matcher.match("links", {"laced": "no"}) == (Firing("seen", ("laced",)),)


@pytest.mark.parametrize("value", ["5", "", True, None, math.nan, math.inf, -math.inf, 1_000_000.5])
def test_only_a_bounded_number_passes_for_a_number(value: object) -> None:
    with pytest.raises(FitError) as caught:
        IndexedMatcher(RULES).match("signs", {"gap": value})  # type: ignore[dict-item]
    assert mistakes(caught.value) == ["gap"]


@pytest.mark.parametrize("value", [1.0, 1, True, None])
def test_only_a_text_passes_for_a_word(value: object) -> None:
    with pytest.raises(FitError) as caught:
        IndexedMatcher(RULES).match("links", {"laced": value})  # type: ignore[dict-item]
    assert mistakes(caught.value) == ["laced"]


def test_all_wrong_facts_are_named_at_once() -> None:
    facts: Facts = {"laced": 3.0, "other": True, "gap": "wide"}
    with pytest.raises(FitError) as caught:
        IndexedMatcher(RULES).match("signs", facts)
    assert mistakes(caught.value) == ["laced", "gap"]


def test_wrong_rules_are_named_at_once() -> None:
    rules = [
        Rule("a", "signs", (Test("gap", "at-least", 5.0),)),
        Rule("a", "links", (Test("gap", "at-least", 5.0),)),
        Rule("b", "signs", (Test("gap", "is", "yes"),)),
        Rule("c", "signs", (Test("hip", "at-least", "5"), Test("bust", "is", 5.0))),
        Rule("d", "signs", (Test("hip", "at-least", True), Test("hip", "at-most", math.inf))),
        Rule("e", "signs", (Test("hip", "atleast", 5.0),)),  # type: ignore[arg-type]
    ]
    with pytest.raises(FitError) as caught:
        IndexedMatcher(rules)
    assert mistakes(caught.value) == ["rule a", "rule b", "rule c", "rule c", "rule d", "rule d", "rule e"]
    assert "at-least" in caught.value.mistakes[-1].do
