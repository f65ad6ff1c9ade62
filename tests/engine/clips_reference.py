"""The same rules in CLIPS, an engine of other people's making (clipspy): the outside reference of the matchers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import clips

from diagnose.rulebase.neutral import Facts, Firing, Rule, Test

WORD = "(word (fact {fact}) (value {value}))"
OTHER = "(word (fact {fact}) (value ?v{n}&~{value}))"
NUMBER = "(number (fact {fact}) (value ?v{n}&:({operator} ?v{n} {value})))"
OPERATORS = {"at-least": ">=", "at-most": "<=", "more-than": ">", "less-than": "<"}


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def rounded(value: float) -> float:
    return round(value * 1000) / 1000


def pattern(test: Test, n: int) -> str:
    fact = quoted(test.fact)
    if isinstance(test.value, str):
        form = WORD if test.comparison == "is" else OTHER
        return form.format(fact=fact, value=quoted(test.value), n=n)
    value = repr(float(rounded(test.value)))
    return NUMBER.format(fact=fact, value=value, operator=OPERATORS[test.comparison], n=n)


class ClipsMatcher:
    """One environment a stage; a rule that fires asserts its own number."""

    def __init__(self, rules: Sequence[Rule]) -> None:
        self.rules = list(rules)
        self.stages: dict[str, clips.Environment] = {}
        numbers: defaultdict[str, list[int]] = defaultdict(list)
        for number, rule in enumerate(self.rules):
            numbers[rule.stage].append(number)
        for stage, own in numbers.items():
            environment = self.stages[stage] = clips.Environment()
            environment.build("(deftemplate word (slot fact (type STRING)) (slot value (type STRING)))")
            environment.build("(deftemplate number (slot fact (type STRING)) (slot value (type FLOAT)))")
            environment.build("(deftemplate fired (slot rule (type INTEGER)))")
            for number in own:
                patterns = " ".join(pattern(test, n) for n, test in enumerate(self.rules[number].tests))
                environment.build(f"(defrule r{number} {patterns} => (assert (fired (rule {number}))))")

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        environment = self.stages.get(stage)
        if environment is None:
            return ()
        environment.reset()
        word, number = environment.find_template("word"), environment.find_template("number")
        for fact, value in facts.items():
            if isinstance(value, str):
                word.assert_fact(fact=fact, value=value)
            else:
                number.assert_fact(fact=fact, value=float(rounded(value)))
        environment.run()
        fired = sorted(fact["rule"] for fact in environment.find_template("fired").facts())
        firings = [self.rules[number] for number in fired]
        return tuple(Firing(rule.id, tuple(dict.fromkeys(test.fact for test in rule.tests))) for rule in firings)
