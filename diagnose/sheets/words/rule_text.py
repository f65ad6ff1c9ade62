"""Entries of the rule base as a maker reads them: pages for the terminal; conditions, amounts and sources in words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import ClassVar

from msgspec import Struct

from diagnose.errors import FitError, nearest
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice, Cause, Question, Symptom
from diagnose.rulebase.reading.fields import Condition, source_keys
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sentences import lower_first
from diagnose.sheets.words.parts import Said, paragraph, wrapped
from diagnose.units import Unit, both

__all__ = ["RuleWords", "condition_words", "entry_lines", "listing_lines", "measured_words", "source_words"]


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
        yield from wrapped(RuleWords(rules).source(link.source), "    Source: ")
        yield ""


def _cause(rules: RuleSet, cause: Cause) -> Iterator[Said]:
    yield from _head(f"cause, {cause.common}", cause.title, cause.id)
    yield from wrapped(cause.because)
    yield from wrapped(RuleWords(rules).source(cause.source), "Source: ")
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
        yield from wrapped(RuleWords(rules).amount(choice.amount), "     How much: ")
    yield from wrapped(choice.at, "     Where: ")
    if choice.limit is not None:
        yield from wrapped(f"{RuleWords(rules).at_most(choice)} in one round", "     At most ")
        yield from wrapped(choice.beyond, "     Beyond that: ")
    yield from wrapped(choice.because, "     ")
    yield from wrapped(RuleWords(rules).source(choice.source), "     Source: ")


def _alteration(rules: RuleSet, alteration: Alteration) -> Iterator[Said]:
    yield from _head("alteration", alteration.title, alteration.id)
    yield from wrapped(alteration.because)
    yield from wrapped(RuleWords(rules).source(alteration.source), "Source: ")
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
        yield from wrapped(RuleWords(rules).source(link.source), "    Source: ")
        yield ""


def condition_words(line: Condition, rules: RuleSet) -> str:
    """A condition in words, with the id of its fact: ``“It rides up” shows (rides-up)``."""
    return f"{RuleWords(rules).condition(line)} ({line.fact})"


COMPARED = {"at-least": "at least", "at-most": "at most", "more-than": "more than", "less-than": "less than"}
LIMITED = {"edge": " on each stitching line", "seam": " on each seam", "half": " on each half",
           "whole": " of the whole girth"}  # fmt: skip
_NAME = re.compile(r"[a-z][a-z0-9]*(?:[-.][a-z0-9]+)*")


class RuleWords(Struct, frozen=True):
    """Conditions, amounts, limits and sources of the rules in words; what they name is called by its title.

    The handbook names the same things by links (`diagnose.sheets.handbook.linking`): `said` is what texts are made of.
    """

    said: ClassVar[type[str]] = str

    rules: RuleSet
    unit: Unit = "in"

    def finding(self, name: str) -> str:
        """What a sign or a question is called."""
        return (self.rules.questions if name in self.rules.questions else self.rules.symptoms)[name].title

    def fact(self, name: str) -> str:
        """What a fact is called: the reading, or what is measured of a sign."""
        sign, _, of = name.partition(".")
        if sign in self.rules.symptoms:
            symptom = self.rules.symptoms[sign]
            return f"“{symptom.title}”: {symptom.record.means if of == 'amount' else 'how bad it is, from 1 to 3,'}"
        return self.rules.facts[name].title if name in self.rules.facts else name

    def source_title(self, key: str) -> str:
        """What a source is called."""
        return self.rules.sources[key].title if key in self.rules.sources else key

    def condition(self, line: Condition) -> str:
        """A condition: ``“It rides up” shows``, ``Gap at the waist is at least 1/2 in (13 mm)``."""
        yes = (line.value == "yes") == (line.comparison == "is")
        if line.fact in self.rules.symptoms:
            return self.said("“{}” {}").format(self.finding(line.fact), "shows" if yes else "does not show")
        if line.fact in self.rules.questions:
            return self.said("“{}” is answered {}").format(self.finding(line.fact), "yes" if yes else "no")
        if isinstance(line.value, str):
            is_not = "" if line.comparison == "is" else "not "
            return self.said("{}: {}{}").format(self.fact(line.fact), is_not, line.value)
        value = self._value(line.fact, line.value)
        return self.said("{} is {} {}").format(self.fact(line.fact), COMPARED[line.comparison], value)

    def _value(self, fact: str, value: float) -> str:
        sign, _, of = fact.partition(".")
        if sign in self.rules.symptoms:
            unit: str = self.rules.symptoms[sign].record.amount if of == "amount" else "count"
        else:
            unit = (self.rules.facts[fact].unit if fact in self.rules.facts else None) or "count"
        return both(value, self.unit) if unit == "length" else f"{value:g}{' minutes' if unit == 'minutes' else ''}"

    def amount(self, text: str) -> str:
        """A formula, each fact in it as what is measured for it."""
        first = re.fullmatch(r"first\(([^()]*)\)", text)
        names, parts, at = set(parse_formula(text).names), list[str](), 0
        formula = first[1] if first else text
        for match in _NAME.finditer(formula):
            if match[0] in names:
                parts += [formula[at : match.start()], self.said("[{}]").format(self.fact(match[0]))]
                at = match.end()
        words = self.said("").join((*parts, formula[at:]))
        return self.said("the first that is known of {}").format(words) if first else words

    def at_most(self, choice: AlterationChoice) -> str:
        """The most that a round takes; empty where there is no limit."""
        if choice.limit is None:
            return ""
        return f"{both(choice.limit, self.unit)}{LIMITED.get(choice.limit_on, '')}"

    def source(self, line: str) -> str:
        """A source line with the titles of its keys written out."""
        return source_words(line, self.source_title, self.said)


def source_words(line: str, title: Callable[[str], str], said: type[str] = str) -> str:
    """A source line with each key called by its title, and the place in it."""
    places = [part.partition(",")[2].strip() for part in line.split(";")]
    return said("; ").join(
        said("{}{}").format(title(key), f" ({place})" if place else "")
        for key, place in zip(source_keys(line), places, strict=True)
    )


def measured_words(fact: str, rules: RuleSet) -> str:
    """What is measured for a fact, in running words."""
    sign, _, of = fact.partition(".")
    if of == "amount" and sign in rules.symptoms:
        return rules.symptoms[sign].record.means or rules.symptoms[sign].title
    return lower_first(rules.facts[fact].title) if fact in rules.facts else fact.replace("-", " ")
