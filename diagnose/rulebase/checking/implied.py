"""Condition lines set against each other: which follow from which, and which can never hold together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.rulebase.neutral import Comparison
from diagnose.rulebase.reading.fields import Condition

__all__ = ["follow", "never_together"]

LOW: frozenset[Comparison] = frozenset({"at-least", "more-than"})
HIGH: frozenset[Comparison] = frozenset({"at-most", "less-than"})
STRICT: frozenset[Comparison] = frozenset({"more-than", "less-than"})


def follow(lines: Iterable[Condition], given: Iterable[Condition]) -> bool:
    """Whether all the lines hold wherever all the given ones do; False where that can't be seen line by line."""
    known = tuple(given)
    return all(any(_implies(other, line) for other in known) for line in lines)


def _implies(given: Condition, line: Condition) -> bool:
    if given.fact != line.fact:
        return False
    if given.comparison == line.comparison and given.value == line.value:
        return True
    if isinstance(given.value, str) or isinstance(line.value, str):
        return given.comparison == "is" and line.comparison == "is-not" and given.value != line.value
    stricter = given.comparison in STRICT or line.comparison not in STRICT
    if given.comparison in LOW and line.comparison in LOW:
        return given.value > line.value or (given.value == line.value and stricter)
    if given.comparison in HIGH and line.comparison in HIGH:
        return given.value < line.value or (given.value == line.value and stricter)
    return False


def never_together(lines: Iterable[Condition], words: Mapping[str, tuple[str, ...] | None]) -> tuple[str, ...]:
    """The facts whose lines can never hold together.

    Args:
        lines: conditions that must all hold.
        words: for each fact its words, None for a number.
    """
    by_fact: dict[str, list[Condition]] = {}
    for line in lines:
        by_fact.setdefault(line.fact, []).append(line)
    return tuple(fact for fact, own in by_fact.items() if _clash(own, words.get(fact)))


def _clash(lines: list[Condition], words: tuple[str, ...] | None) -> bool:
    wanted = {line.value for line in lines if line.comparison == "is"}
    barred = {line.value for line in lines if line.comparison == "is-not"}
    if len(wanted) > 1 or wanted & barred or (words is not None and barred >= set(words)):
        return True
    lows = [(float(line.value), line.comparison in STRICT) for line in lines if line.comparison in LOW]
    highs = [(float(line.value), line.comparison in STRICT) for line in lines if line.comparison in HIGH]
    return any(low > high or (low == high and (a or b)) for low, a in lows for high, b in highs)
