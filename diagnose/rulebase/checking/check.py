"""Checking a whole rule base: beyond the form of each entry, that they belong together and say what their examples say.

A finding of the check is a `Mistake` with file and line. `check_folder` returns all of them, at once.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.checking.clashes import check_clashes
from diagnose.rulebase.checking.examples import check_examples
from diagnose.rulebase.checking.idle import check_settings
from diagnose.rulebase.checking.reach import all_conditions, check_reach, fact_kinds
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.load import RuleFolder, read_rules
from diagnose.rulebase.reading.moves import wrong_with
from diagnose.rulebase.reading.words import check_words

__all__ = ["check_folder", "check_read"]

FILLER = ("todo", "tbd", "placeholder", "lorem", "fixme", "unknown cause", "to be written")

FILLER_WORDS = frozenset(FILLER)


def check_folder(folder: Path) -> tuple[Mistake, ...]:
    """Every mistake of a folder of rules; none means that the base may be used."""
    try:
        read = read_rules(folder)
    except FitError as error:
        return error.mistakes
    return (*check_read(read), *check_settings(folder, read))


def check_read(read: RuleFolder) -> tuple[Mistake, ...]:
    """Every mistake of a folder whose entries are each of the right form."""
    parts: tuple[Iterable[Mistake], ...] = (
        _references(read), _conditions(read), _formulas(read), _sources(read), _moves(read),
        _filler(read),
        check_words(read), check_reach(read), check_clashes(read),
    )  # fmt: skip
    found = [mistake for part in parts for mistake in part]
    return tuple(found) if found else tuple(check_examples(read))


def _references(read: RuleFolder) -> Iterator[Mistake]:
    rules = read.rules
    steps = {step.id for step in rules.order.steps}
    families = {family.id for family in rules.order.families}
    known: dict[str, Iterable[str]] = {
        "cause": rules.causes, "alteration": rules.alterations, "symptom": rules.symptoms, "step": steps,
        "family": families, "question or symptom": {**rules.questions, **rules.symptoms},
        "family or step": steps | families,
    }  # fmt: skip

    def named(word: str, kind: str, where: str) -> Iterator[Mistake]:
        if word not in known[kind]:
            yield Mistake(where, f"There is no {kind} '{word}'.", nearest(word, known[kind]))

    for symptom in rules.symptoms.values():
        for i, link in enumerate(symptom.causes):
            yield from named(link.cause, "cause", read.at("symptoms", symptom.id, "causes", i))
    for question in rules.questions.values():
        for i, answer in enumerate(question.points_to):
            yield from named(answer.cause, "cause", read.at("questions", question.id, "points_to", i))
        for i, word in enumerate(question.about):
            yield from named(word, "symptom", read.at("questions", question.id, "about", i))
    for cause in rules.causes.values():
        for i, word in enumerate(cause.tell_apart):
            yield from named(word, "question or symptom", read.at("causes", cause.id, "tell_apart", i))
        for i, choice in enumerate(cause.alterations):
            yield from named(choice.alteration, "alteration", read.at("causes", cause.id, "alterations", i))
    for alteration in rules.alterations.values():
        yield from named(alteration.family, "family", read.at("alterations", alteration.id, "family"))
        yield from named(alteration.step, "step", read.at("alterations", alteration.id, "step"))
        for key in ("improves", "worsens"):
            for i, word in enumerate(getattr(alteration, key)):
                yield from named(word, "symptom", read.at("alterations", alteration.id, key, i))
    for i, miss in enumerate(rules.misses.misses):
        for word in miss.causes:
            yield from named(word, "cause", read.at("misses", "", "misses", i, "causes"))
        yield from named(miss.ask, "question or symptom", read.at("misses", "", "misses", i, "ask"))
    for i, conflict in enumerate(rules.order.conflicts):
        yield from named(conflict.one, "alteration", read.at("order", "", "conflicts", i))
        yield from named(conflict.other, "alteration", read.at("order", "", "conflicts", i))
    for i, hold in enumerate(rules.order.holds):
        yield from named(hold.until, "family or step", read.at("order", "", "holds", i))
        for word in hold.hold:
            yield from named(word, "alteration", read.at("order", "", "holds", i))


def _conditions(read: RuleFolder) -> Iterator[Mistake]:
    kinds = fact_kinds(read)
    for line, where in all_conditions(read):
        if line.fact not in kinds:
            yield Mistake(where, f"There is no fact '{line.fact}'.", nearest(line.fact, kinds))
            continue
        words = kinds[line.fact]
        is_word = line.comparison in ("is", "is-not")
        if is_word != (words is not None):
            kind = "a word: use is or is-not" if words else "a number: use at-least, at-most, more-than or less-than"
            yield Mistake(where, f"'{line.fact}' is {kind.split(':')[0]}.", kind.split(": ")[1].capitalize() + ".")
        elif words is not None and line.value not in words:
            yield Mistake(where, f"'{line.fact}' is never “{line.value}”.", f"It is one of: {', '.join(words)}.")
    for name, fact in read.rules.facts.items():
        if bool(fact.words) == (fact.unit is not None) or (fact.unit and (fact.low is None or fact.high is None)):
            where = read.at("facts", "", name)
            yield Mistake(where, f"'{name}' needs words, or a unit with low and high.", "Give one or the other.")


def _formulas(read: RuleFolder) -> Iterator[Mistake]:
    kinds = fact_kinds(read)
    for cause in read.rules.causes.values():
        for i, choice in enumerate(cause.alterations):
            if choice.amount == "none":
                continue
            where = read.at("causes", cause.id, "alterations", i, "amount")
            try:
                names = parse_formula(choice.amount).names
            except FitError as error:
                yield Mistake(where, error.mistakes[0].what, error.mistakes[0].do)
                continue
            for name in names:
                if kinds.get(name, ()) is not None:
                    yield Mistake(where, f"The amount reads '{name}', which is no number.", nearest(name, kinds))
            if choice.worked is None:
                yield Mistake(where, "The amount has no worked figure.", "Add worked: {FACT: …, gives: …}.")


def _sources(read: RuleFolder) -> Iterator[Mistake]:
    rules = read.rules

    def keys(text: str, where: str) -> Iterator[Mistake]:
        for part in text.split(";"):
            key = part.split(",")[0].strip()
            if not key:
                yield Mistake(where, "source is empty.", "Name a key of sources.yaml and the place in it.")
            elif key not in rules.sources:
                yield Mistake(where, f"There is no source '{key}'.", nearest(key, rules.sources))

    for name, fact in rules.facts.items():
        if fact.source is not None:
            yield from keys(fact.source, read.at("facts", "", name, "source"))
    for symptom in rules.symptoms.values():
        for i, link in enumerate(symptom.causes):
            yield from keys(link.source, read.at("symptoms", symptom.id, "causes", i, "source"))
    for question in rules.questions.values():
        for i, answer in enumerate(question.points_to):
            yield from keys(answer.source, read.at("questions", question.id, "points_to", i, "source"))
    for cause in rules.causes.values():
        yield from keys(cause.source, read.at("causes", cause.id, "source"))
        for i, choice in enumerate(cause.alterations):
            yield from keys(choice.source, read.at("causes", cause.id, "alterations", i, "source"))
    for alteration in rules.alterations.values():
        yield from keys(alteration.source, read.at("alterations", alteration.id, "source"))
    for i, miss in enumerate(rules.misses.misses):
        yield from keys(miss.source, read.at("misses", "", "misses", i, "source"))
    for part in ("steps", "round_rules", "conflicts", "holds", "carry_over"):
        for i, entry in enumerate(getattr(rules.order, part)):
            yield from keys(entry.source, read.at("order", "", part, i, "source"))
    for part in ("always", "before", "while_", "limits"):
        for i, entry in enumerate(getattr(rules.cautions, part)):
            yield from keys(entry.source, read.at("cautions", "", part.rstrip("_"), i, "source"))


def _moves(read: RuleFolder) -> Iterator[Mistake]:
    """What alterations do to the outline: known moves, with known words."""
    for alteration in read.rules.alterations.values():
        for i, move in enumerate(alteration.does):
            for what, todo in wrong_with(move, read.rules.symptoms):
                yield Mistake(read.at("alterations", alteration.id, "does", i), what, todo)


def _filler(read: RuleFolder) -> Iterator[Mistake]:
    for (kind, entry), file in read.files.items():
        all_of_it = json.dumps(file.data, ensure_ascii=False).lower()
        if not any(word in all_of_it for word in FILLER):
            continue
        for place, text in _texts(file.data, ()):
            low = text.lower()
            if low.startswith(FILLER) or not FILLER_WORDS.isdisjoint(low.split()):
                yield Mistake(read.at(kind, entry, *place), f"“{text[:40]}” is filler.", "Say it, or take it out.")


def _texts(data: object, place: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    if isinstance(data, str):
        yield place, data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield from _texts(value, (*place, key))
    elif isinstance(data, list):
        for i, value in enumerate(data):
            yield from _texts(value, (*place, i))


if __name__ == "__main__":
    wrong = check_folder(Path(sys.argv[1] if len(sys.argv) > 1 else "rules"))
    for mistake in wrong:
        print(mistake)
    sys.exit(2 if wrong else 0)
