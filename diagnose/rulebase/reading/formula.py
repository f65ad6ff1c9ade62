"""Amounts as formulas over named facts: ``1 in - digs-under-arm.amount``, ``min(change-top, 2 in)``.

Numbers are plain or lengths with a unit (held in mm). ``+ - * /`` stand with spaces round them, since a name may hold
a hyphen. Functions: min, max, abs, first (the first argument that is known). A fact that is not known makes the whole
unknown.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache

from msgspec import Struct

from diagnose.errors import FitError
from diagnose.units import parse_length

__all__ = ["Formula", "parse_formula"]

_TOKEN = re.compile(
    r"""\s*(?:
      (?P<length>(?:\d+[\s-]+)?\d+/\d+\s*(?:in|mm|cm)\b|\d*\.?\d+\s*(?:in|mm|cm)\b)
    | (?P<number>\d*\.?\d+(?![\w/]))
    | (?P<name>[a-z][a-z0-9]*(?:[-.][a-z0-9]+)*)
    | (?P<mark>[-+*/(),])
    )""",
    re.VERBOSE | re.ASCII,
)
LONGEST = 500
Values = Mapping[str, str | float]
_Node = Callable[[Values], float | None]


class Formula(Struct, frozen=True):
    """A parsed formula: `names` are the facts it reads; calling `value` gives mm (or a number), None if unknown."""

    text: str
    names: tuple[str, ...]
    _node: _Node

    def value(self, facts: Values) -> float | None:
        """The amount on these facts, or None when one it needs is not known (or it divides by nothing)."""
        return self._node(facts)

    def missing(self, facts: Values) -> tuple[str, ...]:
        """The facts it reads that are not known."""
        return tuple(name for name in self.names if name not in facts)


@lru_cache(maxsize=2048)
def parse_formula(text: str) -> Formula:
    """The formula of a text.

    Raises:
        FitError: when the text is not a formula; it says at which place.
    """
    return _Parser(text).formula()


class _Parser:
    """Recursive descent over the tokens of one formula."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens: list[tuple[str, str]] = []
        self.names: list[str] = []
        at = 0
        if len(text) > LONGEST:  # deeper brackets than anyone reads would run the parser out of stack
            raise self._wrong(f"{text[:20]}…, {len(text)} letters")
        while at < len(text.rstrip()):
            match = _TOKEN.match(text, at)
            if match is None:
                raise self._wrong(text[at:].strip()[:20])
            kind = str(match.lastgroup)
            self.tokens.append((kind, match[kind]))
            at = match.end()
        self.at = 0

    def formula(self) -> Formula:
        node = self._sum()
        if self.at < len(self.tokens):
            raise self._wrong(self.tokens[self.at][1])
        return Formula(self.text, tuple(dict.fromkeys(self.names)), node)

    def _wrong(self, near: str) -> FitError:
        return FitError.of(
            "amount", f"“{self.text}” is not a formula (near “{near}”).",
            "Use names of facts, lengths such as 1/4 in, + - * / with spaces round them, min, max, abs and first.",
            code="bad-formula",
        )  # fmt: skip

    def _peek(self) -> str:
        return self.tokens[self.at][1] if self.at < len(self.tokens) else ""

    def _take(self) -> tuple[str, str]:
        if self.at >= len(self.tokens):
            raise self._wrong("the end")
        self.at += 1
        return self.tokens[self.at - 1]

    def _sum(self) -> _Node:
        node = self._product()
        while self._peek() in ("+", "-"):
            sign = 1 if self._take()[1] == "+" else -1
            node = _two(node, self._product(), lambda a, b, s=sign: a + s * b)  # type: ignore[misc]
        return node

    def _product(self) -> _Node:
        node = self._unit()
        while self._peek() in ("*", "/"):
            times = self._take()[1] == "*"
            node = _two(node, self._unit(), (lambda a, b: a * b) if times else (lambda a, b: a / b if b else None))
        return node

    def _unit(self) -> _Node:
        kind, word = self._take()
        if kind == "length":
            length_mm = parse_length(word)
            if length_mm is None:
                raise self._wrong(word)
            return lambda facts: length_mm
        if kind == "number":
            number = float(word)
            return lambda facts: number
        if kind == "name":
            return self._call(word) if self._peek() == "(" else self._fact(word)
        if word == "(":
            node = self._sum()
            self._expect(")")
            return node
        if word == "-":
            node = self._unit()
            return lambda facts: None if (value := node(facts)) is None else -value
        raise self._wrong(word)

    def _fact(self, name: str) -> _Node:
        self.names.append(name)

        def fact(facts: Values) -> float | None:
            value = facts.get(name)
            return value if isinstance(value, float) else None

        return fact

    def _call(self, name: str) -> _Node:
        self._expect("(")
        parts = [self._sum()]
        while self._peek() == ",":
            self._take()
            parts.append(self._sum())
        self._expect(")")
        if name == "first":
            return lambda facts: next((v for part in parts if (v := part(facts)) is not None), None)
        functions: dict[str, Callable[[list[float]], float]] = {
            "min": min, "max": max, "abs": lambda values: abs(values[0]),
        }  # fmt: skip
        function = functions.get(name)
        if function is None or (name == "abs" and len(parts) > 1):
            raise self._wrong(name)

        def call(facts: Values) -> float | None:
            values = [part(facts) for part in parts]
            known = [value for value in values if value is not None]
            return function(known) if len(known) == len(values) else None

        return call

    def _expect(self, mark: str) -> None:
        if self._take()[1] != mark:
            raise self._wrong(self.tokens[self.at - 1][1])


def _two(left: _Node, right: _Node, join: Callable[[float, float], float | None]) -> _Node:
    def node(facts: Values) -> float | None:
        a, b = left(facts), right(facts)
        return None if a is None or b is None else join(a, b)

    return node
