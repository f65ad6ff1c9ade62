"""Checking a whole rule base: beyond the form of each entry, that they belong together and say what their examples say.

A finding of the check is a `Mistake` with file and line. `check_folder` returns all of them, at once.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.examples import check_examples
from diagnose.rulebase.formula import parse_formula
from diagnose.rulebase.load import RuleFolder, read_rules
from diagnose.rulebase.schema import Condition

__all__ = ["check_folder"]

FILLER = ("todo", "tbd", "placeholder", "lorem", "fixme", "unknown cause", "to be written")


def check_folder(folder: Path) -> tuple[Mistake, ...]:
    """Every mistake of a folder of rules; none means that the base may be used."""
    try:
        read = read_rules(folder)
    except FitError as error:
        return error.mistakes
    return check_read(read)


def check_read(read: RuleFolder) -> tuple[Mistake, ...]:
    """Every mistake of a folder whose entries are each of the right form."""
    parts: tuple[Iterable[Mistake], ...] = (
        _references(read), _conditions(read), _formulas(read), _sources(read), _filler(read), _reach(read),
        _doubles(read),
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
    for i, conflict in enumerate(rules.order.conflicts):
        yield from named(conflict.one, "alteration", read.at("order", "", "conflicts", i))
        yield from named(conflict.other, "alteration", read.at("order", "", "conflicts", i))
    for i, hold in enumerate(rules.order.holds):
        yield from named(hold.until, "family or step", read.at("order", "", "holds", i))
        for word in hold.hold:
            yield from named(word, "alteration", read.at("order", "", "holds", i))


def _all_conditions(read: RuleFolder) -> Iterator[tuple[Condition, str]]:
    for symptom in read.rules.symptoms.values():
        for i, line in enumerate(symptom.when):
            yield line, read.at("symptoms", symptom.id, "when", i)
        for i, link in enumerate(symptom.causes):
            for k, line in enumerate(link.only_if):
                yield line, read.at("symptoms", symptom.id, "causes", i, "only_if", k)
    for cause in read.rules.causes.values():
        for i, choice in enumerate(cause.alterations):
            for k, line in enumerate(choice.only_if):
                yield line, read.at("causes", cause.id, "alterations", i, "only_if", k)


def _fact_kinds(read: RuleFolder) -> dict[str, tuple[str, ...] | None]:
    """Every fact there is: its words, or None for a number."""
    rules = read.rules
    kinds: dict[str, tuple[str, ...] | None] = {name: fact.words or None for name, fact in rules.facts.items()}
    for symptom in rules.symptoms.values():
        kinds[symptom.id] = ("yes", "no")
        kinds[f"{symptom.id}.grade"] = None
        if symptom.record.amount != "none":
            kinds[f"{symptom.id}.amount"] = None
    kinds |= dict.fromkeys(rules.questions, ("yes", "no"))
    return kinds


def _conditions(read: RuleFolder) -> Iterator[Mistake]:
    kinds = _fact_kinds(read)
    for line, where in _all_conditions(read):
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
    kinds = _fact_kinds(read)
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
    for part in ("steps", "round_rules", "conflicts", "holds", "carry_over"):
        for i, entry in enumerate(getattr(rules.order, part)):
            yield from keys(entry.source, read.at("order", "", part, i, "source"))


def _filler(read: RuleFolder) -> Iterator[Mistake]:
    for (kind, entry), file in read.files.items():
        for place, text in _texts(file.data, ()):
            if any(word in text.lower().split() or text.lower().startswith(word) for word in FILLER):
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


def _reach(read: RuleFolder) -> Iterator[Mistake]:
    """Causes that nothing shows, causes with nothing to do, alterations that no cause leads to, facts nobody asks."""
    rules = read.rules
    shown = {link.cause for symptom in rules.symptoms.values() for link in symptom.causes}
    shown |= {answer.cause for question in rules.questions.values() for answer in question.points_to}
    used = {choice.alteration for cause in rules.causes.values() for choice in cause.alterations}
    for cause in rules.causes.values():
        if cause.id not in shown:
            yield Mistake(read.at("causes", cause.id), f"Nothing shows the cause '{cause.id}'.", "Link a sign to it.")
        if not cause.alterations:
            yield Mistake(read.at("causes", cause.id), f"'{cause.id}' leads to no alteration.", "Say what mends it.")
    for alteration in rules.alterations:
        if alteration not in used:
            where = read.at("alterations", alteration)
            yield Mistake(where, f"No cause leads to '{alteration}'.", "Name it in a cause, or take it out.")


def _doubles(read: RuleFolder) -> Iterator[Mistake]:
    """A cause named twice by a sign, choices that can never be reached, conditions that contradict each other."""
    for symptom in read.rules.symptoms.values():
        for cause, count in Counter(link.cause for link in symptom.causes).items():
            if count > 1:
                yield Mistake(read.at("symptoms", symptom.id), f"'{cause}' is linked {count} times.", "Keep one link.")
    for question in read.rules.questions.values():
        for (answer, cause), count in Counter((a.answer, a.cause) for a in question.points_to).items():
            if count > 1:
                where = read.at("questions", question.id)
                yield Mistake(where, f"'{answer}' points to '{cause}' {count} times.", "Keep one.")
    for cause_entry in read.rules.causes.values():
        seen: dict[tuple[str, tuple[Condition, ...]], int] = {}
        for i, choice in enumerate(cause_entry.alterations):
            key = (choice.alteration, tuple(sorted(choice.only_if, key=str)))
            if key in seen:
                where = read.at("causes", cause_entry.id, "alterations", i)
                yield Mistake(where, f"'{choice.alteration}' stands twice on the same conditions.", "Keep one.")
            seen[key] = i
    for conditions, where in _condition_lists(read):
        yield from _contradictions(conditions, where)


def _condition_lists(read: RuleFolder) -> Iterator[tuple[tuple[Condition, ...], str]]:
    for symptom in read.rules.symptoms.values():
        yield symptom.when, read.at("symptoms", symptom.id, "when")
        for i, link in enumerate(symptom.causes):
            yield link.only_if, read.at("symptoms", symptom.id, "causes", i)
    for cause in read.rules.causes.values():
        for i, choice in enumerate(cause.alterations):
            yield choice.only_if, read.at("causes", cause.id, "alterations", i)


def _contradictions(conditions: tuple[Condition, ...], where: str) -> Iterator[Mistake]:
    by_fact: dict[str, list[Condition]] = defaultdict(list)
    for line in conditions:
        by_fact[line.fact].append(line)
    for fact, lines in by_fact.items():
        words = {line.value for line in lines if line.comparison == "is"}
        low = max((line.value for line in lines if line.comparison in ("at-least", "more-than")), default=None)
        high = min((line.value for line in lines if line.comparison in ("at-most", "less-than")), default=None)
        crossed = low is not None and high is not None and low > high  # type: ignore[operator]
        if len(words) > 1 or crossed or words & {line.value for line in lines if line.comparison == "is-not"}:
            yield Mistake(where, f"The lines about '{fact}' can never hold together.", "Change or drop one.")


if __name__ == "__main__":
    wrong = check_folder(Path(sys.argv[1] if len(sys.argv) > 1 else "rules"))
    for mistake in wrong:
        print(mistake)
    sys.exit(2 if wrong else 0)
