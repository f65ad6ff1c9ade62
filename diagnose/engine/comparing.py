"""What every matcher does first: check the rules, check the facts, and bring both to words and whole numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Literal

from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.neutral import COMPARE, COMPARISONS, Facts, Firing, Rule, Test, Value, read_value

__all__ = ["LARGEST", "Kind", "firing_of", "kinds_of", "read_facts", "tests_of"]

Kind = Literal["word", "number"]

LARGEST = 1_000_000.0
"""The largest number a fact or a test may hold, either sign: a kilometre, and in thousandths still within 32 bits."""


def kinds_of(rules: Iterable[Rule]) -> dict[str, Kind]:
    """The kind of every fact that the rules test.

    Raises:
        FitError: every rule whose id stands twice, whose test compares with the wrong kind of value, or that tests
            as a word what another rule tests as a number.
    """
    rules = tuple(rules)
    kinds: dict[str, Kind] = {}
    twice = [rule for rule, count in Counter(rule.id for rule in rules).items() if count > 1]
    mistakes = [
        Mistake(f"rule {rule}", "This id stands more than once.", "Give each rule its own.", code="doubled-id")
        for rule in twice
    ]
    for rule in rules:
        mistakes.extend(_mistakes(rule, kinds))
    if mistakes:
        raise FitError(mistakes)
    return kinds


def _mistakes(rule: Rule, kinds: dict[str, Kind]) -> Iterator[Mistake]:
    where = f"rule {rule.id}"
    for test in rule.tests:
        if test.comparison not in COMPARE:
            what = f"'{test.comparison}' is not a comparison."
            yield Mistake(where, what, nearest(str(test.comparison), COMPARISONS), code="unknown-comparison")
            continue
        kind: Kind = "word" if test.comparison in ("is", "is-not") else "number"
        wrong = _wrong(kind, test.value)
        if wrong:
            yield Mistake(
                where, f"{test.fact} {test.comparison} {test.value!r}: {wrong}", _WANTED[kind], code="wrong-comparison"
            )
        elif kinds.setdefault(test.fact, kind) != kind:
            what = f"{test.fact} is compared as a {kind}, but another rule compares it as a {kinds[test.fact]}."
            yield Mistake(where, what, "Let all rules treat it alike.", code="mixed-kinds")


_WANTED: Mapping[Kind, str] = {
    "word": "Words go with is and is-not.",
    "number": f"Numbers, no larger than {LARGEST:,.0f}, go with at-least, at-most, more-than and less-than.",
}


def _wrong(kind: Kind, value: object) -> str:
    if kind == "word":
        return "" if isinstance(value, str) else "that is not a word."
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "that is not a number."
    return "" if -LARGEST <= value <= LARGEST else "that number is out of range."


def read_facts(facts: Facts, kinds: Mapping[str, Kind]) -> dict[str, Value]:
    """The facts among `facts` that rules test, as they are compared; the others are left out.

    Raises:
        FitError: every fact of the wrong kind: a text, a truth value or a number without bounds where the rules want
            a number; anything but a text where they want a word.
    """
    found: dict[str, Value] = {}
    mistakes = []
    for fact, value in facts.items():
        kind = kinds.get(fact)
        if kind is None:
            continue
        if kind == "word" and isinstance(value, str):
            found[fact] = value
        elif wrong := _wrong(kind, value):
            mistakes.append(Mistake(fact, f"{value!r} was given; {wrong}", f"Give a {kind}.", code="wrong-kind"))
        else:
            found[fact] = read_value(value)
    if mistakes:
        raise FitError(mistakes)
    return found


def firing_of(rule: Rule) -> Firing:
    """What a rule says when it holds: its facts, each once, in the order of its tests."""
    return Firing(rule.id, tuple(dict.fromkeys(test.fact for test in rule.tests)))


def tests_of(rule: Rule) -> frozenset[Test]:
    """The tests of a rule, each once, its numbers as they are compared."""
    return frozenset(Test(test.fact, test.comparison, read_value(test.value)) for test in rule.tests)
