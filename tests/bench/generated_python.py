"""The rules written out as straight Python, a function a stage: the fastest that rules can be in this language.

Each rule becomes one ``if`` over local variables, numbers as whole thousandths, as the matchers compare them. It checks
nothing of the facts it is given and would have to be made anew for every rule base; it is here to be measured against.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from diagnose.engine.comparing import firing_of
from diagnose.rulebase.neutral import Facts, Firing, Rule, Test

__all__ = ["GeneratedMatcher", "source_of"]

OPERATORS = {
    "is": "==", "is-not": "!=", "at-least": ">=", "at-most": "<=", "more-than": ">", "less-than": "<",
}  # fmt: skip
Stage = Callable[[Facts], list[int]]


class GeneratedMatcher:
    """Finds which rules of a stage hold; used as the other matchers are."""

    def __init__(self, rules: Sequence[Rule]) -> None:
        self._firings = [firing_of(rule) for rule in rules]
        self._stages: Mapping[str, Stage] = {
            stage: _compiled([(n, rule) for n, rule in enumerate(rules) if rule.stage == stage])
            for stage in dict.fromkeys(rule.stage for rule in rules)
        }

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        """The rules of the stage that hold on these facts, in the order of the rule base."""
        found = self._stages.get(stage)
        return tuple([self._firings[number] for number in found(facts)]) if found else ()


def source_of(rules: Sequence[tuple[int, Rule]]) -> str:
    """The function of a stage; the rules carry their numbers in the rule base."""
    facts = {fact: f"v{n}" for n, fact in enumerate(dict.fromkeys(t.fact for _, rule in rules for t in rule.tests))}
    numbers = {t.fact for _, rule in rules for t in rule.tests if not isinstance(t.value, str)}
    lines = ["def stage(facts):", "    fired = []", "    get = facts.get"]
    for fact, name in facts.items():
        lines.append(f"    {name} = get({fact!r})")
        if fact in numbers:
            lines.append(f"    if {name} is not None: {name} = round({name} * 1000)")
    for number, rule in rules:
        tests = " and ".join(_test(test, facts[test.fact]) for test in rule.tests) or "True"
        lines.append(f"    if {tests}: fired.append({number})")
    return "\n".join([*lines, "    return fired"])


def _test(test: Test, name: str) -> str:
    if test.comparison == "is":
        return f"{name} == {test.value!r}"
    value = test.value if isinstance(test.value, str) else round(test.value * 1000)
    return f"{name} is not None and {name} {OPERATORS[test.comparison]} {value!r}"


def _compiled(rules: Sequence[tuple[int, Rule]]) -> Stage:
    made: dict[str, Stage] = {}
    exec(compile(source_of(rules), "generated", "exec"), made)
    return made["stage"]
