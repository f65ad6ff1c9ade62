"""Rules to rulesets: the compiled form of the rule engine, within what it can take. Plain data in, plain data out.

A fact becomes a field, a word its number in the list of words that the rules name, a measure whole thousandths. Rules
with the same condition are one condition. The limits are those of durable-rules 2.0.28, read in its C source and tried:
beyond them it hangs, crashes or fails, so they are counted here, on the tree of tests that it builds.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import TypedDict

from diagnose.engine.comparing import Kind, firing_of, kinds_of, tests_of
from diagnose.errors import FitError, Mistake
from diagnose.rulebase.neutral import COMPARE, COMPARISONS, Rule, Test

__all__ = ["FORM", "Compiled", "Ruleset", "compile_rules"]

FORM = 1
"""The number of the compiled form; a stored one with another number is refused."""

MOST_FACTS = 240
"""Facts in one ruleset; a fact of the package has at most 252 fields."""
MOST_TESTS = 240
"""Tests in one rule, so that any rule fits into a ruleset of its own."""
MOST_RULES = 1000
"""Conditions in one ruleset; the package takes 4,096, but each firing walks past all those before it."""
MOST_SIBLINGS = 480
"""Tests that follow one test; at 512 the package hangs."""
MOST_OPEN = 60
"""Tests that can hold at once and wait for their turn; the package fails beyond 64."""

"""The comparisons in the order of their numbers in the compiled form."""

_Coded = tuple[str, int, int]
"""A test as it is compiled: the fact, the number of the comparison, the value as a whole number."""
_Condition = tuple[_Coded, ...]
_Node = dict[_Coded, "_Node"]


class Ruleset(TypedDict):
    """One ruleset: its facts in the order of their fields, its conditions, and the rules each condition stands for.

    A test of a condition is three numbers: field, comparison, value.
    """

    facts: list[str]
    conditions: list[list[list[int]]]
    rules: list[list[int]]


class Compiled(TypedDict):
    """The compiled rule base: plain data that JSON can hold. Rules are named by their number in `ids`."""

    form: int
    words: dict[str, dict[str, int]]
    ids: list[str]
    facts: list[list[str]]
    stages: dict[str, list[Ruleset]]


def compile_rules(rules: Sequence[Rule]) -> Compiled:
    """The rules as the engine takes them.

    Raises:
        FitError: every rule that cannot be read, or is beyond the limits of the engine.
    """
    kinds = kinds_of(rules)
    too_long = [rule for rule in rules if len(rule.tests) > MOST_TESTS]
    if too_long:
        do = f"Split it: the rule engine takes {MOST_TESTS} tests."
        raise FitError(
            Mistake(f"rule {rule.id}", f"It has {len(rule.tests)} tests.", do, code="too-many-tests")
            for rule in too_long
        )
    words = _words(rules, kinds)
    stages: defaultdict[str, defaultdict[frozenset[_Coded], list[int]]] = defaultdict(lambda: defaultdict(list))
    for number, rule in enumerate(rules):
        stages[rule.stage][frozenset(_coded(test, words) for test in tests_of(rule))].append(number)
    firings = [firing_of(rule) for rule in rules]
    return {
        "form": FORM,
        "words": words,
        "ids": [firing.rule for firing in firings],
        "facts": [list(firing.facts) for firing in firings],
        "stages": {stage: _rulesets(found) for stage, found in stages.items()},
    }


def _words(rules: Iterable[Rule], kinds: Mapping[str, Kind]) -> dict[str, dict[str, int]]:
    words: dict[str, dict[str, int]] = {fact: {} for fact, kind in kinds.items() if kind == "word"}
    for test in (test for rule in rules for test in rule.tests):
        if isinstance(test.value, str):
            known = words[test.fact]
            known.setdefault(test.value, len(known) + 1)
    return words


def _coded(test: Test, words: Mapping[str, Mapping[str, int]]) -> _Coded:
    value = words[test.fact][test.value] if isinstance(test.value, str) else int(test.value)
    return test.fact, COMPARISONS.index(test.comparison), value


def _rulesets(found: Mapping[frozenset[_Coded], list[int]]) -> list[Ruleset]:
    used = Counter(fact for tests in found for fact, _, _ in tests)

    def place(test: _Coded) -> tuple[int, int, _Coded]:
        # Word tests first, since they fail soonest; then the commonest facts, so that rules share their first tests.
        return test[1], -used[test[0]], test

    in_order = {tuple(sorted(tests, key=place)): own for tests, own in found.items()}
    conditions = sorted(in_order, key=lambda condition: [place(test) for test in condition])
    return [_ruleset(part, in_order) for part in _parts(conditions)]


def _parts(conditions: Sequence[_Condition]) -> list[Sequence[_Condition]]:
    if _fits(conditions):
        return [conditions]
    half = len(conditions) // 2
    return [*_parts(conditions[:half]), *_parts(conditions[half:])]


def _fits(conditions: Sequence[_Condition]) -> bool:
    if len(conditions) > MOST_RULES or len({test[0] for condition in conditions for test in condition}) > MOST_FACTS:
        return False
    root: _Node = {}
    for condition in conditions:
        node = root
        for test in condition:
            node = node.setdefault(test, {})
    siblings, still_open = _extent(root)
    return siblings <= MOST_SIBLINGS and still_open <= MOST_OPEN


def _extent(node: _Node) -> tuple[int, int]:
    """The most tests that follow one test, and the most that can be open at once, from this test on."""
    by_fact: defaultdict[str, list[_Coded]] = defaultdict(list)
    for test in node:
        by_fact[test[0]].append(test)
    at_once = sum(_most_at_once(tests) for tests in by_fact.values())
    below = [_extent(child) for child in node.values()]
    siblings = max([len(node), *(wide for wide, _ in below)])
    return siblings, at_once - 1 + max([1, *(still_open for _, still_open in below)])


def _most_at_once(tests: Sequence[_Coded]) -> int:
    """How many of these tests of one fact hold at once, at the value where most do."""
    if len(tests) == 1:
        return 1
    compared = [(COMPARE[COMPARISONS[comparison]], bound) for _, comparison, bound in tests]
    values = {bound + step for _, bound in compared for step in (-1, 0, 1)}
    return max(sum(compare(value, bound) for compare, bound in compared) for value in values)


def _ruleset(conditions: Sequence[_Condition], rules: Mapping[_Condition, list[int]]) -> Ruleset:
    facts = list(dict.fromkeys(fact for condition in conditions for fact, _, _ in condition))
    field = {fact: number for number, fact in enumerate(facts)}
    return {
        "facts": facts,
        "conditions": [[[field[fact], how, value] for fact, how, value in condition] for condition in conditions],
        "rules": [rules[condition] for condition in conditions],
    }
