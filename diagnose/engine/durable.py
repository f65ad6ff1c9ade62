"""The rule engine: durable-rules behind walls. The only module that imports it.

The package is no longer developed and has traps (measured, and read in its C source, version 2.0.28), so it is used in
one narrow way:

- Its C module is called directly: no host (its timer threads repeat actions), no Python actions (it swallows their
  errors). Importing the C module takes half a millisecond, its Python side a hundred times that.
- All facts of a try-on that a stage tests are one flat fact, a field each, so every rule is a single pattern: no joins,
  no negation, no alternatives, whose faults then cannot arise, and no order of facts to depend on.
- Only whole numbers go in. A measure is whole thousandths; a word is its number in the list of words the rules name,
  or 0 for any other. Fields are f0, f1, ...: nothing a user or a rule writes ever reaches the C module.
- Rules with the same condition are compiled once. Rules beyond the package's limits (it hangs, or fails) are spread
  over several rulesets, counted beforehand; a ruleset in which no rule can fire is not entered.
- Each ruleset keeps one state for its life, opened by a fact of our own that always fires (deleting a state in which
  nothing ever fired crashes). A try-on is asserted, drained and retracted. If anything breaks off in between, the state
  is thrown away before the next try-on. A state for each try-on was two to eight times as slow (20 to 2,000 rules).
"""

from __future__ import annotations

import os
import threading
import weakref
from collections.abc import Iterable, Mapping, Sequence
from typing import Self

import durable_rules_engine as engine

from diagnose.engine.comparing import LARGEST, Kind, read_facts
from diagnose.engine.rulesets import FORM, Compiled, Ruleset, compile_rules
from diagnose.errors import FitError
from diagnose.rulebase.neutral import COMPARISONS, THOUSANDTHS, Comparison, Facts, Firing, Rule

__all__ = ["DurableMatcher", "compile_rules"]

_TESTS: Mapping[Comparison, str] = {
    "is": '{"f%d":%d}',
    "is-not": '{"$neq":{"f%d":%d}}',
    "at-least": '{"$gte":{"f%d":%d}}',
    "at-most": '{"$lte":{"f%d":%d}}',
    "more-than": '{"$gt":{"f%d":%d}}',
    "less-than": '{"$lt":{"f%d":%d}}',
}
_BOOT_TEST = '{"boot":1}'
_ALWAYS_TEST = '{"always":1}'
_FACT = '{"id":"m"'
_BOOT_FIELD = ',"boot":1}'
_NOTHING_MATCHED = 1


class DurableMatcher:
    """Finds which rules of a stage hold, with the rule engine. Close it after use, or use it in a ``with``.

    Args:
        rules: the rule base, in its order.

    Raises:
        FitError: on rules that cannot be read or are beyond the limits of the engine.
    """

    def __init__(self, rules: Sequence[Rule]) -> None:
        self._start(compile_rules(rules))

    @classmethod
    def from_compiled(cls, compiled: Compiled) -> Self:
        """A matcher of rules compiled before, by `compile_rules`.

        Raises:
            FitError: when the compiled rules are of another version, or damaged.
        """
        matcher = cls.__new__(cls)
        try:
            if compiled["form"] != FORM:
                raise ValueError(f"form {compiled['form']}")
            matcher._start(compiled)
        except (LookupError, TypeError, ValueError, OverflowError, AttributeError, engine.error) as problem:
            what = f"The stored rules cannot be read ({problem})."
            raise FitError.of(
                "compiled rules", what, "Delete the stored form; it is made afresh.", code="unreadable"
            ) from problem
        return matcher

    def _start(self, compiled: Compiled) -> None:
        self._owner = _here()
        self._firings = [Firing(*pair) for pair in zip(compiled["ids"], map(tuple, compiled["facts"]), strict=True)]
        self._stages = {stage: _Stage(parts, compiled["words"]) for stage, parts in compiled["stages"].items()}
        open_parts = [part for stage in self._stages.values() for part in stage.parts]
        self.close = weakref.finalize(self, _close, open_parts)
        """Gives back what the engine holds; may be called again. Done at the latest when the matcher is forgotten."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        """The rules of the stage that hold on these facts, in the order of the rule base.

        Raises:
            FitError: on facts of the wrong kind, all at once; when the matcher was closed, or made in another thread
                or process.
        """
        if self._owner != _here():
            what = "This matcher was made in another thread or process."
            raise FitError.of("rule engine", what, "Make one matcher in each.", code="another-thread")
        if not self.close.alive:
            raise FitError.of("rule engine", "This matcher was closed.", "Make a new one.", code="closed")
        found = self._stages.get(stage)
        if found is None:
            return ()
        try:
            return tuple(self._firings[rule] for rule in sorted(found.match(facts)))
        except engine.error as problem:
            raise FitError.of(
                "rule engine", f"It broke off in stage {stage}: {problem}.", "Try again.", code="broke-off"
            ) from problem


def _here() -> tuple[int, int]:
    return os.getpid(), threading.get_ident()


def _close(parts: Iterable[_Part]) -> None:
    for part in parts:
        part.close()


class _Stage:
    """The rulesets of one stage."""

    def __init__(self, rulesets: Iterable[Ruleset], words: Mapping[str, dict[str, int]]) -> None:
        self.parts = [_Part(ruleset) for ruleset in rulesets]
        facts = {fact for part in self.parts for fact in part.fields}
        self._words = {fact: words.get(fact) for fact in facts}
        self._kinds: dict[str, Kind] = {fact: "word" if fact in words else "number" for fact in facts}

    def match(self, facts: Facts) -> list[int]:
        values = self._coded(facts)
        return [rule for part in self.parts if part.can_fire(values) for rule in part.match(values)]

    def _coded(self, facts: Facts) -> dict[str, int]:
        """The facts that the rules test, as whole numbers."""
        values = {}
        for fact in self._words.keys() & facts.keys():
            words, value = self._words[fact], facts[fact]
            if words is not None and type(value) is str:
                values[fact] = words.get(value, 0)
            elif words is None and type(value) is float and -LARGEST <= value <= LARGEST:
                values[fact] = round(value * THOUSANDTHS)
            else:
                return self._read_with_care(facts)
        return values

    def _read_with_care(self, facts: Facts) -> dict[str, int]:
        """The facts as numbers, where one is no plain word or number: all that are wrong are told at once."""
        return {
            fact: (self._words[fact] or {}).get(value, 0) if isinstance(value, str) else value
            for fact, value in read_facts(facts, self._kinds).items()
        }


class _Part:
    """One ruleset in the engine, with its one state."""

    def __init__(self, ruleset: Ruleset) -> None:
        conditions = ruleset["conditions"]
        self.fields = {fact: f',"f{number}":' for number, fact in enumerate(ruleset["facts"])}
        self._rules = [[], *ruleset["rules"]]
        self._needed = frozenset(ruleset["facts"][tests[0][0]] for tests in conditions if tests)
        self._always = [] in conditions
        self._more = ',"always":1}' if self._always else "}"
        self._handle: int = engine.create_ruleset("rules", _text(conditions))
        self._opened = self._broken_off = False
        self._open()

    def can_fire(self, values: Mapping[str, int]) -> bool:
        """Whether any rule could hold: each needs the fact of its first test."""
        return self._always or not self._needed.isdisjoint(values)

    def match(self, values: Mapping[str, int]) -> list[int]:
        """The numbers of the rules that hold."""
        if self._broken_off:
            self._reopen()
        fields = self.fields
        told = "".join([fields[fact] + str(values[fact]) for fact in fields.keys() & values.keys()])
        self._broken_off = True
        fired = self._fired(_FACT + told + self._more)
        self._broken_off = False
        return [rule for condition in fired for rule in self._rules[condition]]

    def close(self) -> None:
        if self._opened:
            engine.delete_state(self._handle, None)
        engine.delete_ruleset(self._handle)

    def _open(self) -> None:
        self._opened = False
        self._opened = self._fired(_FACT + _BOOT_FIELD) == [0]
        self._broken_off = not self._opened

    def _reopen(self) -> None:
        if not self._opened:
            raise FitError.of(
                "rule engine", "It broke off while it was started.", "Make a new matcher.", code="broke-off"
            )
        engine.delete_state(self._handle, None)
        self._open()

    def _fired(self, fact: str) -> list[int]:
        """Tells the engine one fact, takes the numbers of the conditions that fire, and takes the fact back."""
        heard, state = engine.assert_fact(self._handle, fact)
        if heard == _NOTHING_MATCHED:
            return []
        fired = []
        firing: str | None = engine.start_action_for_state(self._handle, state)[1]
        while firing is not None:
            fired.append(int(firing[2 : firing.index('"', 2)]))
            firing = engine.complete_and_start_action(self._handle, state)
        engine.retract_fact(self._handle, _FACT + "}")
        return fired


def _text(conditions: Iterable[Sequence[Sequence[int]]]) -> str:
    """The ruleset as the engine reads it; condition 0 is the one that the opening fact fires."""
    rules = [f'"0":{_rule(_BOOT_TEST)}']
    for number, tests in enumerate(conditions, 1):
        each = ",".join(_TESTS[COMPARISONS[how]] % (field, value) for field, how, value in tests)
        rules.append(f'"{number}":{_rule(each or _ALWAYS_TEST)}')
    return "{" + ",".join(rules) + "}"


def _rule(tests: str) -> str:
    # Several keys in one test object would drop all but the first, hence $and.
    return f'{{"all":[{{"m":{{"$and":[{tests}]}}}}]}}'
