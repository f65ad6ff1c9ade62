"""The compiled form of the rules: plain data that any matcher can read.

A rule is an id and a conjunction of tests; a test is one fact, one comparison, one value. Facts are named values: a
word, or a number (millimetres for lengths). A fact that is not known is simply not there, and a rule that needs it
stays silent; that something was looked for and is absent is a fact of its own (the word ``no``). Three matchers read
this form: durable-rules (the engine of the product), an indexed matcher in plain Python, and CLIPS in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal, Protocol, get_args

from msgspec import Struct

__all__ = ["COMPARISONS", "Comparison", "Facts", "Firing", "Matcher", "Rule", "Test"]

Comparison = Literal["is", "is-not", "at-least", "at-most", "more-than", "less-than"]
COMPARISONS: tuple[Comparison, ...] = get_args(Comparison)
Facts = Mapping[str, str | float]


class Test(Struct, frozen=True):
    """One fact, one comparison, one value. ``is`` and ``is-not`` compare words, the others numbers."""

    __test__: ClassVar[bool] = False
    fact: str
    comparison: Comparison
    value: str | float


class Rule(Struct, frozen=True):
    """A condition with a name; what follows from it is looked up by the id, outside the matcher."""

    id: str
    stage: str
    tests: tuple[Test, ...]


class Firing(Struct, frozen=True):
    """A rule that holds, and the facts it stood on, in the order of its tests."""

    rule: str
    facts: tuple[str, ...]


class Matcher(Protocol):
    """Anything that finds which rules of a stage hold."""

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        """The rules of the stage that hold on these facts, in the order of the rule base."""
        ...
