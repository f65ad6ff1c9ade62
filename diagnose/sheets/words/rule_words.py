"""Conditions, amounts and sources of the rule base in plain words, conditions with the id of their fact."""

from __future__ import annotations

import re

from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import AlterationChoice, Condition, RuleSet
from diagnose.units import both

__all__ = ["amount_words", "condition_words", "limit_words", "source_words"]

COMPARED = {"at-least": "at least", "at-most": "at most", "more-than": "more than", "less-than": "less than"}
LIMITED = {"edge": " on each stitching line", "seam": " on each seam", "half": " on each half",
           "whole": " of the whole girth"}  # fmt: skip
_NAME = re.compile(r"[a-z][a-z0-9-]*(?:\.[a-z]+)?")


def condition_words(line: Condition, rules: RuleSet) -> str:
    """A condition in words: ``“It rides up” shows (rides-up)``, ``Gap at the waist is at least 1/2 in (13 mm) (…)``."""
    yes = (line.value == "yes") == (line.comparison == "is")
    if line.fact in rules.symptoms:
        return f"“{rules.symptoms[line.fact].title}” {'shows' if yes else 'does not show'} ({line.fact})"
    if line.fact in rules.questions:
        return f"“{rules.questions[line.fact].ask}” is answered {'yes' if yes else 'no'} ({line.fact})"
    if isinstance(line.value, str):
        is_not = "" if line.comparison == "is" else "not "
        return f"{_title(line.fact, rules)}: {is_not}{line.value} ({line.fact})"
    return f"{_title(line.fact, rules)} is {COMPARED[line.comparison]} {_value(line, line.value, rules)} ({line.fact})"


def amount_words(text: str, rules: RuleSet) -> str:
    """An amount in words, each fact as what is measured for it."""
    names = set(parse_formula(text).names)
    words = _NAME.sub(lambda match: f"[{_title(match[0], rules)}]" if match[0] in names else match[0], text)
    first = re.fullmatch(r"first\((.*)\)", words)
    return words if first is None or "(" in first[1] else f"the first that is known of {first[1]}"


def limit_words(choice: AlterationChoice) -> str:
    """The most that one round takes; empty where there is no limit."""
    if choice.limit is None:
        return ""
    return f"{both(choice.limit)}{LIMITED.get(choice.limit_on, '')} in one round"


def source_words(rules: RuleSet, source: str) -> str:
    """A source line with the titles of its keys written out."""
    parts = []
    for part in source.split(";"):
        key, _, place = part.strip().partition(",")
        title = rules.sources[key.strip()].title if key.strip() in rules.sources else key
        parts.append(f"{title}{f' ({place.strip()})' if place else ''}")
    return "; ".join(parts)


def _title(fact: str, rules: RuleSet) -> str:
    sign, _, of = fact.partition(".")
    if sign in rules.symptoms:
        symptom = rules.symptoms[sign]
        return f"“{symptom.title}”: {symptom.record.means if of == 'amount' else 'how bad it is, from 1 to 3,'}"
    return rules.facts[fact].title if fact in rules.facts else fact


def _value(line: Condition, value: float, rules: RuleSet) -> str:
    sign, _, of = line.fact.partition(".")
    if sign in rules.symptoms:
        unit: str = rules.symptoms[sign].record.amount if of == "amount" else "count"
    else:
        unit = (rules.facts[line.fact].unit if line.fact in rules.facts else None) or "count"
    return both(value) if unit == "length" else f"{value:g}{' minutes' if unit == 'minutes' else ''}"
