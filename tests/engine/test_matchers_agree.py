"""Three matchers, one meaning: the rule engine where it can be had, the indexed matcher, and CLIPS as the oracle."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from random import Random

import pytest
from clips_reference import ClipsMatcher
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_rules import invented_facts, invented_rules

from diagnose.engine.indexed import IndexedMatcher
from diagnose.engine.matching import has_durable
from diagnose.rulebase.neutral import Comparison, Facts, Firing, Matcher, Rule, Test

MATCHERS: list[type[Matcher]] = [IndexedMatcher, ClipsMatcher]
if has_durable():
    from diagnose.engine.durable import DurableMatcher

    MATCHERS.append(DurableMatcher)
STAGES = ("stage-0", "stage-1", "stage-2")


def fired(rules: Sequence[Rule], facts: Facts, stage: str = "signs") -> list[list[str]]:
    """The ids of the rules that fire, by each matcher."""
    return [[firing.rule for firing in matcher(rules).match(stage, facts)] for matcher in MATCHERS]


def one(comparison: Comparison, value: str | float) -> list[Rule]:
    return [Rule("r", "signs", (Test("gap", comparison, value),))]


def assert_same(matchers: Sequence[Matcher], stage: str, facts: Facts) -> tuple[Firing, ...]:
    first, *others = (matcher.match(stage, facts) for matcher in matchers)
    assert others
    assert all(other == first for other in others)
    return first


@pytest.mark.parametrize("seed", range(40))
def test_matchers_agree_on_rule_bases_of_chance(seed: int) -> None:
    chance = Random(seed)
    facts = chance.choice((3, 8, 40))
    rules = invented_rules(chance.choice((5, 40, 150)), facts=facts, stages=3, chance=chance)
    matchers = [matcher(rules) for matcher in MATCHERS]
    firings = 0
    for _ in range(60):
        known = invented_facts(chance.randint(0, facts), facts=facts, chance=chance)
        firings += sum(len(assert_same(matchers, stage, known)) for stage in STAGES)
    assert firings > 0


def test_one_large_rule_base_fires_alike_whatever_the_order_of_facts() -> None:
    chance = Random(7)
    rules = invented_rules(400, facts=60, stages=4, chance=chance)
    matchers = [matcher(rules) for matcher in MATCHERS]
    for _ in range(50):
        known = invented_facts(20, facts=60, chance=chance)
        turned = dict(chance.sample(list(known.items()), len(known)))
        assert assert_same(matchers, "stage-1", known) == assert_same(matchers, "stage-1", turned)


NAMES = st.sampled_from(("gap", "bust", "hip"))
WORDS = st.sampled_from(("yes", "no", "", "é", 'a"b', "back\\slash", "}", "Yes", "yes "))
NUMBERS = st.one_of(
    st.integers(-3, 3),
    st.integers(-3000, 3000).map(lambda thousandths: thousandths / 1000),
    st.floats(-1_000_000, 1_000_000),
    st.sampled_from((0.1 + 0.2, 0.3, -0.0, 1e-05, 0.0005, 0.0015, 1_000_000.0, -1_000_000)),
)


@st.composite
def cases(draw: st.DrawFn) -> tuple[list[Rule], list[dict[str, str | float]]]:
    words = draw(st.sets(NAMES))

    def value(fact: str) -> str | float:
        return draw(WORDS if fact in words else NUMBERS)

    def test() -> Test:
        fact = draw(NAMES)
        of_words: tuple[Comparison, ...] = ("is", "is-not")
        of_numbers: tuple[Comparison, ...] = ("at-least", "at-most", "more-than", "less-than")
        return Test(fact, draw(st.sampled_from(of_words if fact in words else of_numbers)), value(fact))

    rules = [
        Rule(f"r{n}", draw(st.sampled_from(STAGES[:2])), tuple(test() for _ in range(draw(st.integers(0, 4)))))
        for n in range(draw(st.integers(1, 8)))
    ]
    known = [{fact: value(fact) for fact in draw(st.sets(NAMES))} for _ in range(draw(st.integers(1, 5)))]
    return rules, known


@settings(max_examples=300, deadline=None)
@given(cases())
def test_matchers_agree_on_awkward_words_and_numbers(case: tuple[list[Rule], list[dict[str, str | float]]]) -> None:
    rules, all_facts = case
    matchers = [matcher(rules) for matcher in MATCHERS]
    for facts, stage in product(all_facts, STAGES[:2]):
        assert_same(matchers, stage, facts)


@pytest.mark.parametrize(
    ("comparison", "bound", "value", "holds"),
    [
        ("at-least", 0.3, 0.1 + 0.2, True),
        ("at-most", 0.3, 0.1 + 0.2, True),
        ("more-than", 0.3, 0.1 + 0.2, False),
        ("less-than", 0.1 + 0.2, 0.3, False),
        ("at-least", 5, 5.0, True),
        ("at-least", 5.0, 5, True),
        ("at-most", 5.0, 5, True),
        ("more-than", 5, 5.0, False),
        ("at-least", 5.0, 4.9996, True),
        ("at-least", 5.0, 4.9994, False),
        ("more-than", 0, 1e-05, False),
        ("more-than", 0, 0.001, True),
        ("at-least", -0.0, 0.0, True),
        ("less-than", 10.0, 9.0, True),
        ("less-than", -9.0, -10.0, True),
    ],
)
def test_numbers_are_compared_by_the_thousandth(
    comparison: Comparison, bound: float, value: float, holds: bool
) -> None:
    assert fired(one(comparison, bound), {"gap": value}) == [["r"] if holds else []] * len(MATCHERS)


@pytest.mark.parametrize(
    ("facts", "holds"),
    [({}, False), ({"bust": "yes"}, False), ({"gap": "yes"}, False), ({"gap": "no"}, True), ({"gap": "odd"}, True)],
)
def test_is_not_needs_the_fact_to_be_known(facts: Facts, holds: bool) -> None:
    assert fired(one("is-not", "yes"), facts) == [["r"] if holds else []] * len(MATCHERS)


def test_a_rule_that_lacks_a_fact_stays_silent() -> None:
    rules = [Rule("r", "signs", (Test("gap", "at-least", 5.0), Test("bust", "is", "yes")))]
    assert fired(rules, {"gap": 6.0}) == [[]] * len(MATCHERS)
    assert fired(rules, {"bust": "yes"}) == [[]] * len(MATCHERS)
    assert fired(rules, {"bust": "yes", "gap": 6.0}) == [["r"]] * len(MATCHERS)


def test_two_tests_of_one_fact_make_a_range() -> None:
    rules = [Rule("r", "signs", (Test("gap", "at-least", 5.0), Test("gap", "less-than", 10.0)))]
    assert [fired(rules, {"gap": gap})[0] for gap in (4.999, 5.0, 9.999, 10.0)] == [[], ["r"], ["r"], []]
    assert fired(rules, {"gap": 7.5}) == [["r"]] * len(MATCHERS)


def test_a_test_that_stands_twice_counts_once() -> None:
    rules = [Rule("r", "signs", (Test("gap", "at-least", 5), Test("gap", "at-least", 5.0), Test("bust", "is", "yes")))]
    assert fired(rules, {"gap": 5.0}) == [[]] * len(MATCHERS)
    assert fired(rules, {"gap": 5.0, "bust": "yes"}) == [["r"]] * len(MATCHERS)


def test_a_rule_without_tests_always_holds() -> None:
    rules = [Rule("r", "signs", ()), Rule("s", "signs", (Test("gap", "is", "yes"),))]
    assert fired(rules, {}) == [["r"]] * len(MATCHERS)
    assert fired(rules, {"gap": "yes"}) == [["r", "s"]] * len(MATCHERS)


def test_a_firing_names_its_facts_once_in_the_order_of_the_tests() -> None:
    tests = (Test("hip", "is", "yes"), Test("gap", "at-least", 1.0), Test("hip", "is-not", "no"))
    for matcher in MATCHERS:
        found = matcher([Rule("r", "signs", tests)]).match("signs", {"gap": 2.0, "hip": "yes"})
        assert found == (Firing("r", ("hip", "gap")),)


def test_firings_come_in_the_order_of_the_rule_base() -> None:
    facts = ("hip", "bust", "waist")
    rules = [Rule(fact, "signs", (Test(fact, "is", "yes"),)) for fact in facts]
    assert fired(rules, dict.fromkeys(sorted(facts), "yes")) == [list(facts)] * len(MATCHERS)


def test_only_the_stage_asked_for_fires_and_an_unknown_stage_is_empty() -> None:
    rules = [Rule("r", "signs", (Test("gap", "is", "yes"),)), Rule("s", "links", (Test("gap", "is", "yes"),))]
    assert fired(rules, {"gap": "yes"}, "links") == [["s"]] * len(MATCHERS)
    assert fired(rules, {"gap": "yes"}, "nowhere") == [[]] * len(MATCHERS)


def test_facts_that_no_rule_tests_change_nothing() -> None:
    odd: Facts = {
        "gap": "yes",
        "id": "m",
        "sid": "1",
        "$s": 1.0,
        "f0": 3.0,
        "boot": 1.0,
        "always": 1.0,
        "": "",
        "é": "é",
    }
    assert fired(one("is", "yes"), odd) == [["r"]] * len(MATCHERS)


def test_names_of_facts_and_rules_may_be_anything() -> None:
    for name in ("id", "sid", "$and", 'a"b', "a.b", "f1", "boot", " ", "é", "{}"):
        rules = [Rule(name, "signs", (Test(name, "is", "yes"), Test("f0", "at-least", 1.0)))]
        assert fired(rules, {name: "yes", "f0": 1.0}) == [[name]] * len(MATCHERS)
        assert fired(rules, {name: "no", "f0": 1.0}) == [[]] * len(MATCHERS)
