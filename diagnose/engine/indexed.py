"""The matcher in plain Python: rules indexed by fact, satisfied tests counted down.

It carries a maker's very large rule base, of thousands of rules, and is the reference that the rule engine is held to.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

from diagnose.engine.comparing import Kind, firing_of, kinds_of, read_facts, tests_of
from diagnose.rulebase.neutral import COMPARE, Facts, Firing, Rule, Value

__all__ = ["IndexedMatcher"]


class IndexedMatcher:
    """Finds which rules of a stage hold.

    Args:
        rules: the rule base, in its order.

    Raises:
        FitError: on rules that no matcher can read.
    """

    def __init__(self, rules: Sequence[Rule]) -> None:
        kinds = kinds_of(rules)
        by_stage: defaultdict[str, list[Rule]] = defaultdict(list)
        for rule in rules:
            by_stage[rule.stage].append(rule)
        self._stages = {stage: _Stage(own, kinds) for stage, own in by_stage.items()}

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        """The rules of the stage that hold on these facts, in the order of the rule base.

        Raises:
            FitError: on facts of the wrong kind, all at once.
        """
        found = self._stages.get(stage)
        return found.match(facts) if found else ()


class _Stage:
    def __init__(self, rules: Sequence[Rule], kinds: dict[str, Kind]) -> None:
        self._rules = rules
        self._always = [number for number, rule in enumerate(rules) if not rule.tests]
        self._wanted: list[int] = []
        self._words: defaultdict[str, dict[Value, list[int]]] = defaultdict(dict)
        self._others: defaultdict[str, dict[tuple[Callable[..., bool], Value], list[int]]] = defaultdict(dict)
        for number, rule in enumerate(rules):
            tests = tests_of(rule)
            self._wanted.append(len(tests))
            for test in tests:
                value: Value = test.value if isinstance(test.value, str) else int(test.value)
                if test.comparison == "is":
                    self._words[test.fact].setdefault(value, []).append(number)
                else:
                    self._others[test.fact].setdefault((COMPARE[test.comparison], value), []).append(number)
        self._kinds = {fact: kinds[fact] for fact in (*self._words, *self._others)}

    def match(self, facts: Facts) -> tuple[Firing, ...]:
        left = self._wanted.copy()
        fired = self._always.copy()
        for fact, value in read_facts(facts, self._kinds).items():
            satisfied = [self._words[fact].get(value, [])] if fact in self._words else []
            if fact in self._others:
                satisfied += [own for (compare, bound), own in self._others[fact].items() if compare(value, bound)]
            for rules in satisfied:
                for number in rules:
                    left[number] -= 1
                    if not left[number]:
                        fired.append(number)
        return tuple(firing_of(self._rules[number]) for number in sorted(fired))
