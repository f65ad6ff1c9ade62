"""Checking a whole rule base: beyond the form of each entry, that they belong together and say what their examples say.

A finding of the check is a `Mistake` with file and line. `check_folder` returns all of them, at once.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import get_args

from diagnose.errors import FitError, Mistake, nearest
from diagnose.model.tryon import GRADE_WORDS
from diagnose.rulebase.checking.clashes import check_clashes
from diagnose.rulebase.checking.firing_examples import check_examples
from diagnose.rulebase.checking.idle import check_settings
from diagnose.rulebase.checking.reach import PARTS, check_reach, fact_kinds
from diagnose.rulebase.reading.entries import Cause
from diagnose.rulebase.reading.fields import PartCondition, Shows, Unexplained, source_keys
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.load import RuleFolder, read_rules
from diagnose.rulebase.reading.moves import wrong_with
from diagnose.rulebase.reading.references import Reference, conditions, references

__all__ = ["check_folder", "check_read"]

BY_HAND_FIGURES = ("amount", "half", "seam", "edge")
"""What may stand in braces in a by-hand step."""
MOST_TIMES = 10.0
"""By how many times a grade may make a sign likelier to show by itself."""
GIRTH_ONLY = ("half", "seam", "edge")
WORDS: Mapping[str, tuple[str, ...]] = {
    "shows": get_args(Shows),
    "common": get_args(Cause.model_fields["common"].annotation),
    "unexplained": get_args(Unexplained),
    "graded": tuple(GRADE_WORDS.values()),
    "thresholds": ("act", "maybe"),
}
_BRACES = re.compile(r"\{([^{}]*)\}?|\}")

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
        _references(read), _conditions(read), _formulas(read), _moves(read), _filler(read),
        _words(read), _terms(read), check_reach(read), check_clashes(read),
    )  # fmt: skip
    found = [mistake for part in parts for mistake in part]
    return tuple(found) if found else tuple(check_examples(read))


def _references(read: RuleFolder) -> Iterator[Mistake]:
    """Words that name what is not there; the settings are looked for with their own file."""
    known = _known(read)
    for found in references(read):
        words = source_keys(found.word) if found.points_to == "source" else (found.word,)
        for word in words if found.points_to in known else ():
            if not word:
                yield Mistake(
                    _at(read, found),
                    "source is empty.",
                    "Name a key of sources.yaml and the place in it.",
                    code="no-source",
                )
            elif word not in known[found.points_to]:
                say = f"There is no {found.points_to} '{word}'."
                yield Mistake(_at(read, found), say, nearest(word, known[found.points_to]), code="no-such-entry")


def _known(read: RuleFolder) -> dict[str, Collection[str]]:
    """By kind, the names there are."""
    rules = read.rules
    steps = {step.id for step in rules.order.steps}
    families = {family.id for family in rules.order.families}
    return {
        "cause": rules.causes, "alteration": rules.alterations, "symptom": rules.symptoms, "step": steps,
        "family": families, "question": rules.questions, "question or symptom": {**rules.questions, **rules.symptoms},
        "family or step": steps | families, "source": rules.sources,
        "entry": [name for entries in rules.by_kind.values() for name in entries],
    }  # fmt: skip


def _at(read: RuleFolder, found: Reference) -> str:
    return read.at(found.kind, found.entry, *found.place)


def _conditions(read: RuleFolder) -> Iterator[Mistake]:
    kinds = fact_kinds(read)
    for line, where in conditions(read):
        if line.fact not in kinds:
            yield Mistake(where, f"There is no fact '{line.fact}'.", nearest(line.fact, kinds), code="no-such-fact")
            continue
        words = kinds[line.fact]
        is_word = line.comparison in ("is", "is-not")
        if is_word != (words is not None):
            kind = "a word: use is or is-not" if words else "a number: use at-least, at-most, more-than or less-than"
            yield Mistake(
                where,
                f"'{line.fact}' is {kind.split(':')[0]}.",
                kind.split(": ")[1].capitalize() + ".",
                code="wrong-kind",
            )
        elif words is not None and line.value not in words:
            yield Mistake(
                where,
                f"'{line.fact}' is never “{line.value}”.",
                f"It is one of: {', '.join(words)}.",
                code="not-a-word",
            )
        if isinstance(line, PartCondition) and line.fact not in PARTS:
            say = f"'{line.fact}' says nothing of a part of the garment."
            yield Mistake(where, say, nearest(line.fact, PARTS), code="not-of-a-part")
    for name, fact in read.rules.facts.items():
        if fact.usual is not None and fact.usual not in fact.words:
            say = f"'{name}' is never “{fact.usual}”."
            yield Mistake(
                read.at("facts", "", name, "usual"), say, nearest(fact.usual, fact.words), code="usual-not-a-word"
            )
        if bool(fact.words) == (fact.unit is not None) or (fact.unit and (fact.low is None or fact.high is None)):
            where = read.at("facts", "", name)
            yield Mistake(
                where, f"'{name}' needs words, or a unit with low and high.", "Give one or the other.", code="no-words"
            )


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
                yield Mistake(where, error.mistakes[0].what, error.mistakes[0].do, code="bad-formula")
                continue
            for name in names:
                if kinds.get(name, ()) is not None:
                    yield Mistake(
                        where,
                        f"The amount reads '{name}', which is no number.",
                        nearest(name, kinds),
                        code="not-a-number",
                    )
            if choice.worked is None:
                yield Mistake(
                    where,
                    "The amount has no worked figure.",
                    "Add worked: {FACT: …, gives: …}.",
                    code="no-worked-figure",
                )


def _moves(read: RuleFolder) -> Iterator[Mistake]:
    """What alterations do to the outline: known moves, with known words."""
    for alteration in read.rules.alterations.values():
        for i, move in enumerate(alteration.does):
            for what, todo in wrong_with(move.do, move.of_its_verb):
                yield Mistake(read.at("alterations", alteration.id, "does", i), what, todo, code="bad-move")


def _words(read: RuleFolder) -> Iterator[Mistake]:
    """Every word of strength without its number, or with a wrong one; every unknown figure in a by-hand step."""
    for kind, words in WORDS.items():
        yield from _strengths(read, kind, words, given=getattr(read.rules.words, kind))
    for alteration in read.rules.alterations.values():
        for i, step in enumerate(alteration.by_hand):
            where = read.at("alterations", alteration.id, "by_hand", i)
            yield from _figures(step, where, girth=alteration.kind == "girth")


def _terms(read: RuleFolder) -> Iterator[Mistake]:
    """Words of the trade that stand twice: a word on a page could not tell which it leads to."""
    ids, said = set[str](), dict[str, str]()
    for i, term in enumerate(read.rules.terms.terms):
        where = read.at("terms", "", "terms", i)
        if term.id in ids:
            yield Mistake(where, f"'{term.id}' stands twice.", "Keep one.", code="term-twice")
        ids.add(term.id)
        for form in (term.word, *term.also):
            other = said.setdefault(form.casefold(), term.id)
            if other != term.id:
                yield Mistake(where, f"“{form}” stands under '{other}' too.", "Keep it under one.", code="term-twice")


def _strengths(read: RuleFolder, kind: str, words: tuple[str, ...], given: Mapping[str, float]) -> Iterator[Mistake]:
    where = read.at("words", "", kind)
    for word in words:
        if word not in given:
            yield Mistake(
                where, f"'{word}' has no number under {kind}.", "Add it: a chance between 0 and 1.", code="no-number"
            )
    for word, value in given.items():
        here = read.at("words", "", kind, word)
        if word not in words:
            yield Mistake(
                here,
                f"No entry may use the word '{word}' under {kind}.",
                f"Words: {', '.join(words)}.",
                code="unknown-word",
            )
        elif kind == "graded" and not 0.0 < value <= MOST_TIMES:
            yield Mistake(
                here,
                f"'{word}' is worth {value:g} times.",
                f"Give more than 0, at most {MOST_TIMES:g}.",
                code="not-a-factor",
            )
        elif kind != "graded" and not 0.0 < value < 1.0:
            yield Mistake(
                here,
                f"'{word}' is worth {value:g}, which is no chance.",
                "Give more than 0, less than 1.",
                code="not-a-chance",
            )
    ranked = [given[word] for word in words if word in given]
    if ranked != sorted(ranked, reverse=True):
        yield Mistake(
            where,
            f"The numbers under {kind} do not fall with their words.",
            f"Order: {', '.join(words)}.",
            code="strengths-out-of-order",
        )


def _figures(step: str, where: str, *, girth: bool) -> Iterator[Mistake]:
    known = BY_HAND_FIGURES if girth else tuple(name for name in BY_HAND_FIGURES if name not in GIRTH_ONLY)
    for match in _BRACES.finditer(step):
        if match[1] not in known or not match[0].endswith("}"):
            say = f"A step by hand has “{match[0]}”, which is no figure{'' if girth else ' of a length'}."
            yield Mistake(where, say, f"Figures: {', '.join(f'{{{name}}}' for name in known)}.", code="not-a-figure")


def _filler(read: RuleFolder) -> Iterator[Mistake]:
    for (kind, entry), file in read.files.items():
        all_of_it = json.dumps(file.data, ensure_ascii=False).lower()
        if not any(word in all_of_it for word in FILLER):
            continue
        for place, text in _texts(file.data, ()):
            low = text.lower()
            if low.startswith(FILLER) or not FILLER_WORDS.isdisjoint(low.split()):
                yield Mistake(
                    read.at(kind, entry, *place), f"“{text[:40]}” is filler.", "Say it, or take it out.", code="filler"
                )


def _texts(data: object, place: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    if isinstance(data, str):
        yield place, data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield from _texts(value, (*place, key))
    elif isinstance(data, list):
        for i, value in enumerate(data):
            yield from _texts(value, (*place, i))
