"""Running the examples that stand inside the rules.

An entry's examples must show each of its lines: at least one example fires, and for each condition line one stays
silent because of that line alone, so that dropping the line would make it fire. Worked amounts are computed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from diagnose.errors import FitError, Mistake
from diagnose.rulebase.reading.fields import Condition, Example, Examples
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import Miss, SettleFirst
from diagnose.units import parse_length

if TYPE_CHECKING:
    from diagnose.rulebase.reading.load import RuleFolder

__all__ = ["check_examples", "example_facts"]

WORKED_TOL_MM = 0.05
Facts = dict[str, str | float]
Ways = dict[str, list[tuple[Condition, ...]]]


def example_facts(given: dict[str, str]) -> Facts:
    """An example's facts: plain numbers and lengths as numbers, everything else as words."""
    facts: Facts = {}
    for name, text in given.items():
        try:
            facts[name] = float(text)
        except ValueError:
            length_mm = parse_length(text) if any(c.isdigit() for c in text) else None
            facts[name] = text if length_mm is None else length_mm
    return facts


def check_examples(read: RuleFolder) -> Iterator[Mistake]:
    """Every example that does not show what it says, every line without its example, every wrong figure."""
    rules = read.rules
    for symptom in rules.symptoms.values():
        where = read.at("symptoms", symptom.id, "examples")
        yes = Condition(fact=symptom.id, comparison="is", value="yes")
        base = symptom.when if symptom.when and symptom.now is None else (yes,)
        ways = _gathered((link.cause, (*base, *link.only_if)) for link in symptom.causes)
        explicit = _gathered((link.cause, (*symptom.when, *link.only_if)) for link in symptom.causes)
        if symptom.now is not None:
            ways, explicit = {symptom.id: [base]}, {}
        yield from _check(
            read, symptom.examples, ways, explicit=explicit, where=where, key="causes", wanted=bool(symptom.causes)
        )
    yield from _of_lists(read)
    for question in rules.questions.values():
        where = read.at("questions", question.id, "examples")
        answers = _gathered(
            (link.cause, (Condition(fact=question.id, comparison="is", value=link.answer),))
            for link in question.points_to
        )
        yield from _check(
            read, question.examples, answers, explicit={}, where=where, key="causes", wanted=bool(answers)
        )
    for cause in rules.causes.values():
        where = read.at("causes", cause.id, "examples")
        choices = {
            name: ways[:1]  # the later ones may do the same whatever holds
            for name, ways in _gathered((one.alteration, one.only_if) for one in cause.alterations).items()
        }
        conditional = {name: ways for name, ways in choices.items() if ways[0]}
        yield from _check(
            read,
            cause.examples,
            choices,
            explicit=conditional,
            where=where,
            key="alterations",
            wanted=bool(conditional),
        )
        yield from _worked(read, cause.id)


def _of_lists(read: RuleFolder) -> Iterator[Mistake]:
    """Mistakes of the examples of the entries that stand together in one file."""
    listed: list[tuple[Miss | SettleFirst, str]] = []
    listed += [(miss, read.at("misses", "", "misses", i)) for i, miss in enumerate(read.rules.misses.misses)]
    listed += [(first, read.at("settle", "", "settle", i)) for i, first in enumerate(read.rules.settle.settle)]
    for miss, where in listed:
        for example in miss.examples.fires:
            if not all(line.holds(example_facts(example.facts)) for line in miss.when):
                yield Mistake(
                    where,
                    f"The example does not fire '{miss.id}'.",
                    "Correct its facts or the lines.",
                    code="does-not-fire",
                )
        for line in miss.when:
            if all(line.holds(example_facts(example.facts)) for example in miss.examples.silent):
                yield Mistake(
                    where, f"No silent example shows a line of '{miss.id}'.", "Add one.", code="line-not-shown"
                )


def _gathered(of: Iterable[tuple[str, tuple[Condition, ...]]]) -> Ways:
    found: Ways = {}
    for name, lines in of:
        found.setdefault(name, []).append(lines)
    return found


def _check(
    read: RuleFolder, examples: Examples, ways: Ways, explicit: Ways, where: str, key: str, wanted: bool
) -> Iterator[Mistake]:
    """Mistakes of an entry's examples.

    Args:
        read: the folder; examples: the entry's.
        ways: by cause (or alteration), the lines of each of its links (or choices), any of which will do.
        explicit: those of the lines that a silent example must show.
        where: the place of the examples; key: what they name; wanted: whether one must fire.
    """
    if wanted and not examples.fires:
        yield Mistake(where, "No example fires.", "Add one under fires.", code="no-example")
    for names, facts in _told(examples.fires, key):
        for name in names:
            if name not in ways:
                yield Mistake(
                    where,
                    f"An example names '{name}', which has no line here.",
                    "Name one that has.",
                    code="no-such-line",
                )
            elif not any(all(line.holds(facts) for line in lines) for lines in ways[name]):
                yield Mistake(
                    where,
                    f"The example does not fire '{name}'.",
                    "Correct its facts or the lines.",
                    code="does-not-fire",
                )
    silent = _told(examples.silent, key)
    for example, (names, facts) in zip(examples.silent, silent, strict=True):
        for name in names:
            if any(all(line.holds(facts) for line in lines) for lines in ways.get(name, ())):
                yield Mistake(
                    where,
                    f"The silent example fires '{name}'.",
                    "Correct its facts or the lines.",
                    code="fires-when-silent",
                )
        if example.instead is not None:
            yield from _instead(read, example, example.instead, where=where)
    shown = ((name, lines, all_) for name, of in explicit.items() for lines, all_ in zip(of, ways[name], strict=False))
    for name, lines, all_ in shown:
        for line in lines:
            if not _shown(silent, name, all_, dropped=line):
                say = f"{line.fact} {line.comparison} {line.value}"
                do = "Add one whose other lines hold and this one does not."
                yield Mistake(
                    where, f"No silent example shows the line “{say}” of '{name}'.", do, code="line-not-shown"
                )


def _told(examples: tuple[Example, ...], key: str) -> list[tuple[tuple[str, ...], Facts]]:
    """For each example what it names, and its facts."""
    return [(one.causes if key == "causes" else one.alterations, example_facts(one.facts)) for one in examples]


def _shown(
    silent: list[tuple[tuple[str, ...], Facts]], name: str, lines: tuple[Condition, ...], dropped: Condition
) -> bool:
    rest = [line for line in lines if line != dropped]
    return any(
        name in names and not dropped.holds(facts) and all(line.holds(facts) for line in rest)
        for names, facts in silent
    )


def _instead(read: RuleFolder, example: Example, instead: str, *, where: str) -> Iterator[Mistake]:
    other = read.rules.symptoms[instead]
    lines = other.when or (Condition(fact=other.id, comparison="is", value="yes"),)
    if not all(line.holds(example_facts(example.facts)) for line in lines):
        yield Mistake(
            where, f"The facts do not show '{other.id}' instead.", "Correct them, or drop instead.", code="not-instead"
        )


def _worked(read: RuleFolder, cause_id: str) -> Iterator[Mistake]:
    for i, choice in enumerate(read.rules.causes[cause_id].alterations):
        if choice.worked is None:
            continue
        where = read.at("causes", cause_id, "alterations", i, "worked")
        given = {name: str(value) for name, value in (choice.worked.model_extra or {}).items()}
        try:
            amount = parse_formula(choice.amount).value(example_facts(given))
        except FitError:
            continue
        if amount is None:
            yield Mistake(
                where,
                "The worked figure lacks a fact of the formula.",
                f"It reads: {choice.amount}.",
                code="no-worked-fact",
            )
        elif abs(amount - choice.worked.gives) > WORKED_TOL_MM:
            say = f"The formula gives {amount:.2f} mm, the worked figure says {choice.worked.gives:.2f} mm."
            yield Mistake(where, say, "Correct one of them.", code="worked-figure-differs")
