"""Entries of the rule base as a maker reads them: pages for the terminal; conditions, amounts and sources in words."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diagnose.errors import FitError, nearest
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import Alteration, AlterationChoice, Cause, Condition, Question, RuleSet, Symptom
from diagnose.sentences import lower_first
from diagnose.sheets.words.parts import Said, paragraph, wrapped
from diagnose.units import both

__all__ = [
    "amount_words", "condition_words", "entry_lines", "limit_words", "listing_lines", "measured_words",
    "source_words",
]  # fmt: skip


def listing_lines(rules: RuleSet) -> Iterator[Said]:
    """Every entry by kind and group, a line each: id and title."""
    for kind, entries in rules.by_kind.items():
        yield from paragraph(f"{kind.capitalize()} ({len(entries)})", style="bold")
        group = None
        for entry in entries.values():
            if getattr(entry, "group", None) != group:
                group = getattr(entry, "group", None)
                yield f"  {str(group).replace('-', ' ')}"
            yield from wrapped(entry.title, f"    {entry.id:32} ", " " * 37)
        yield ""


def entry_lines(rules: RuleSet, name: str) -> Iterator[Said]:
    """One entry as a page.

    Raises:
        FitError: when no entry has that id.
    """
    if name in rules.symptoms:
        return _symptom(rules, rules.symptoms[name])
    if name in rules.causes:
        return _cause(rules, rules.causes[name])
    if name in rules.alterations:
        return _alteration(rules, rules.alterations[name])
    if name in rules.questions:
        return _question(rules, rules.questions[name])
    known = [known for entries in rules.by_kind.values() for known in entries]
    raise FitError.of(name, f"No entry is called '{name}'.", nearest(name, known), code="no-such-entry")


def _head(kind: str, title: str, name: str) -> Iterator[Said]:
    yield from wrapped(title, style="bold")
    yield f"{kind} · {name}"
    yield ""


def _symptom(rules: RuleSet, symptom: Symptom) -> Iterator[Said]:
    yield from _head("sign", symptom.title, symptom.id)
    yield from wrapped(symptom.see)
    yield from wrapped(symptom.ask, "Ask   ")
    yield from wrapped(symptom.how, "Look  ")
    if symptom.record.means:
        yield from wrapped(symptom.record.means, "Note  ")
    for line in symptom.when:
        yield from wrapped(condition_words(line, rules), "When  ")
    yield ""
    if symptom.now is not None:
        yield from wrapped(symptom.now, "Now   ")
        yield from wrapped(str(symptom.see_whom), "See   ")
    for link in symptom.causes:
        yield f"  {rules.causes[link.cause].title} ({link.cause})"
        yield f"    shows it {link.shows.replace('-', ' ')}"
        for line in link.only_if:
            yield from wrapped(condition_words(line, rules), "    only if ")
        yield from wrapped(link.because, "    ")
        yield from wrapped(source_words(rules, link.source), "    Source: ")
        yield ""


def _cause(rules: RuleSet, cause: Cause) -> Iterator[Said]:
    yield from _head(f"cause, {cause.common}", cause.title, cause.id)
    yield from wrapped(cause.because)
    yield from wrapped(source_words(rules, cause.source), "Source: ")
    yield ""
    signs = [s.id for s in rules.symptoms.values() if any(link.cause == cause.id for link in s.causes)]
    yield from wrapped(", ".join(signs) or "none", "Shown by    ")
    yield from wrapped(", ".join(cause.tell_apart) or "none", "Told apart by  ")
    yield ""
    yield "What mends it, first choice first"
    for number, choice in enumerate(cause.alterations, 1):
        yield from _choice(rules, choice, number)


def _choice(rules: RuleSet, choice: AlterationChoice, number: int) -> Iterator[Said]:
    yield ""
    yield f"  {number}. {rules.alterations[choice.alteration].title} ({choice.alteration})"
    for line in choice.only_if:
        yield from wrapped(condition_words(line, rules), "     only if ")
    if choice.amount != "none":
        yield from wrapped(amount_words(choice.amount, rules), "     How much: ")
    yield from wrapped(choice.at, "     Where: ")
    if choice.limit is not None:
        yield from wrapped(limit_words(choice), "     At most ")
        yield from wrapped(choice.beyond, "     Beyond that: ")
    yield from wrapped(choice.because, "     ")
    yield from wrapped(source_words(rules, choice.source), "     Source: ")


def _alteration(rules: RuleSet, alteration: Alteration) -> Iterator[Said]:
    yield from _head("alteration", alteration.title, alteration.id)
    yield from wrapped(alteration.because)
    yield from wrapped(source_words(rules, alteration.source), "Source: ")
    yield ""
    yield "With ruler and pencil"
    for number, step in enumerate(alteration.by_hand, 1):
        yield from wrapped(_figures(step), f"  {number}. ")
    yield ""
    yield from wrapped(alteration.expect, "Expect  ")
    yield from wrapped(", ".join(alteration.improves) or "nothing by itself", "Better  ")
    yield from wrapped(", ".join(alteration.worsens) or "nothing known", "Worse   ")
    users = [c.id for c in rules.causes.values() if any(a.alteration == alteration.id for a in c.alterations)]
    yield from wrapped(", ".join(users), "Mends   ")


def _figures(step: str) -> str:
    named = {"amount": "the amount", "half": "the amount of a half", "seam": "the amount of a seam",
             "edge": "the amount of a stitching line"}  # fmt: skip
    for name, words in named.items():
        step = step.replace(f"{{{name}}}", words)
    return step


def _question(rules: RuleSet, question: Question) -> Iterator[Said]:
    yield from _head("question", question.ask, question.id)
    yield from wrapped(question.why, "Why   ")
    yield from wrapped(question.how, "Look  ")
    if question.about:
        yield from wrapped("; ".join(rules.symptoms[sign].title for sign in question.about), "About ")
    yield ""
    for link in question.points_to:
        cause = f"{rules.causes[link.cause].title} ({link.cause}), {link.shows.replace('-', ' ')}"
        yield from wrapped(cause, f"  {link.answer}: ")
        yield from wrapped(link.because, "    ")
        yield from wrapped(source_words(rules, link.source), "    Source: ")
        yield ""


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


def measured_words(fact: str, rules: RuleSet) -> str:
    """What is measured for a fact, in running words."""
    sign, _, of = fact.partition(".")
    if of == "amount" and sign in rules.symptoms:
        return rules.symptoms[sign].record.means or rules.symptoms[sign].title
    return lower_first(rules.facts[fact].title) if fact in rules.facts else fact.replace("-", " ")


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
