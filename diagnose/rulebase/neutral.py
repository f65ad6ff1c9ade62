"""The compiled form of the rules: plain data that any matcher can read.

A rule is an id and a conjunction of tests; a test is one fact, one comparison, one value. Facts are named values: a
word, or a number (millimetres for lengths). A fact that is not known is simply not there, and a rule that needs it
stays silent; that something was looked for and is absent is a fact of its own (the word ``no``). Three matchers read
this form: durable-rules (the engine of the product), an indexed matcher in plain Python, and CLIPS in the tests.

A number is compared as whole thousandths (of a millimetre for lengths), so that 0.1 + 0.2 is 0.3, 5 is 5.0, and nothing
that reads a condition ever differs by the last bit of a float.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping
from typing import Any, ClassVar, Literal, Protocol, get_args

from msgspec import Struct

__all__ = [
    "COMPARE", "COMPARISONS", "THOUSANDTHS", "Comparison", "Facts", "Firing", "Matcher", "Rule", "Test", "Value",
    "read_value",
]  # fmt: skip

Comparison = Literal["is", "is-not", "at-least", "at-most", "more-than", "less-than"]
COMPARISONS: tuple[Comparison, ...] = get_args(Comparison)
Facts = Mapping[str, str | float]
Value = str | int
"""A word, or a number in whole thousandths."""

THOUSANDTHS = 1000
"""Of these a whole number is made up, in which numbers are compared."""

COMPARE: Mapping[Comparison, Callable[[Any, Any], bool]] = {
    "is": operator.eq,
    "is-not": operator.ne,
    "at-least": operator.ge,
    "at-most": operator.le,
    "more-than": operator.gt,
    "less-than": operator.lt,
}


def read_value(value: str | float) -> Value:
    """A value as it is compared: a word as it stands, a number rounded to whole thousandths."""
    return value if isinstance(value, str) else round(value * THOUSANDTHS)


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
