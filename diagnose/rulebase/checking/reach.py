"""What can never come into play: entries that nothing leads to, lines that are never true, facts nobody gives."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.errors import FitError, Mistake
from diagnose.model.stations import STATIONS
from diagnose.model.tryon import BODY_FACTS, GARMENT_FACTS
from diagnose.rulebase.checking.implied import follow
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice, Cause
from diagnose.rulebase.reading.formula import Formula, parse_formula
from diagnose.rulebase.reading.load import RuleFolder
from diagnose.rulebase.reading.references import conditions, references

__all__ = ["GIVEN_FACTS", "PARTS", "check_reach", "fact_kinds"]

PARTS = frozenset(name.replace("_", "-") for name in GARMENT_FACTS)
"""The facts that say what parts the garment has."""
_GARMENT = (*PARTS, "tension", "seams-per-half", "panel-seam-edges", "allowance")
_WEARER = (*BODY_FACTS.values(), "reduction-ratio")
_WHOLE = (
    "change-mean", "change-most", "change-least", "largest-girth-change", "gap-fall", "gap-waist-over-ends",
    "gap-ends-over-waist", "gap-spread", "target-told", "gap-closed-at", "gap-average", "gap-widest", "miss-mean",
    "miss-most",    "miss-size", "miss-spread", "miss-waist-apart", "miss-highest", "miss-unaltered", "done-waist",
    "bottom-change-on-a-line",
)  # fmt: skip

GIVEN_FACTS = frozenset(
    {*_GARMENT, *_WEARER, *_WHOLE, *(f"{of}-{station}" for of in ("gap", "change", "miss") for station in STATIONS)}
)
"""What the program itself gives, worked out from the readings or taken from garment, wearer and pattern. Every other
fact is a sign or a question; one that is declared and is none of these can never be known."""


Range = tuple[float | None, float | None]
GRADES = (1.0, 3.0)
NEVER = {
    "at-least": lambda value, low, high: high is not None and value > high,
    "more-than": lambda value, low, high: high is not None and value >= high,
    "at-most": lambda value, low, high: low is not None and value < low,
    "less-than": lambda value, low, high: low is not None and value <= low,
}


def check_reach(read: RuleFolder) -> Iterator[Mistake]:
    """Every entry and line that can never come into play."""
    yield from _unreached(read)
    yield from _leading_nowhere(read)
    yield from _never_given(read)
    yield from _never_true(read)
    for cause in read.rules.causes.values():
        yield from _shadowed(read, cause)


def fact_kinds(read: RuleFolder) -> dict[str, tuple[str, ...] | None]:
    """Every fact there is: its words, or None for a number."""
    rules = read.rules
    kinds: dict[str, tuple[str, ...] | None] = {name: fact.words or None for name, fact in rules.facts.items()}
    for symptom in rules.symptoms.values():
        kinds[symptom.id] = ("yes", "no")
        kinds[f"{symptom.id}.grade"] = None
        if symptom.record.amount != "none":
            kinds[f"{symptom.id}.amount"] = None
    return kinds | dict.fromkeys(rules.questions, ("yes", "no"))


def _unreached(read: RuleFolder) -> Iterator[Mistake]:
    rules = read.rules
    named = {(found.kind, found.points_to, found.word) for found in references(read)}
    shown = {word for kind, of, word in named if of == "cause" and kind in ("symptoms", "questions")}
    used = {word for kind, of, word in named if of == "alteration" and kind == "causes"}
    for cause in rules.causes.values():
        if cause.id not in shown:
            yield Mistake(
                read.at("causes", cause.id),
                f"Nothing shows the cause '{cause.id}'.",
                "Link a sign to it.",
                code="cause-never-shown",
            )
        if not cause.alterations:
            yield Mistake(
                read.at("causes", cause.id),
                f"'{cause.id}' leads to no alteration.",
                "Say what mends it.",
                code="cause-without-alteration",
            )
    for alteration in rules.alterations:
        if alteration not in used:
            where = read.at("alterations", alteration)
            yield Mistake(
                where,
                f"No cause leads to '{alteration}'.",
                "Name it in a cause, or take it out.",
                code="alteration-never-reached",
            )


def _leading_nowhere(read: RuleFolder) -> Iterator[Mistake]:
    """Signs and questions that would be asked for nothing."""
    rules = read.rules
    read_by = {line.fact for line, _ in conditions(read)}
    for symptom in rules.symptoms.values():
        if not symptom.causes and symptom.now is None and symptom.id not in read_by:
            say = f"The sign '{symptom.id}' leads to no cause, and no line reads it."
            yield Mistake(
                read.at("symptoms", symptom.id), say, "Link it to a cause, or take it out.", code="leads-nowhere"
            )
    for question in rules.questions.values():
        if not question.points_to and question.id not in read_by:
            say = f"The answer to '{question.id}' points to no cause, and no line reads it."
            yield Mistake(
                read.at("questions", question.id),
                say,
                "Say what an answer points to, or take it out.",
                code="leads-nowhere",
            )


def _never_given(read: RuleFolder) -> Iterator[Mistake]:
    for name in read.rules.facts:
        if name not in GIVEN_FACTS:
            say = f"Nobody asks for '{name}', and the program does not work it out."
            yield Mistake(
                read.at("facts", "", name),
                say,
                "Make it a question (questions/ID.yaml), or take it out.",
                code="never-asked",
            )


def _never_true(read: RuleFolder) -> Iterator[Mistake]:
    ranges = _ranges(read)
    for line, where in conditions(read):
        never = NEVER.get(line.comparison)
        if never is None or isinstance(line.value, str) or line.fact not in ranges:
            continue
        if never(line.value, *ranges[line.fact]):
            say = f"'{line.fact}' is never {line.comparison.replace('-', ' ')} that."
            yield Mistake(where, say, "Keep within its believable range, low to high.", code="never-true")


def _ranges(read: RuleFolder) -> dict[str, Range]:
    ranges: dict[str, Range] = {name: (fact.low, fact.high) for name, fact in read.rules.facts.items() if fact.unit}
    for symptom in read.rules.symptoms.values():
        ranges[f"{symptom.id}.grade"] = GRADES
        if symptom.record.amount != "none":
            ranges[f"{symptom.id}.amount"] = (symptom.record.low, symptom.record.high)
    return ranges


def _shadowed(read: RuleFolder, cause: Cause) -> Iterator[Mistake]:
    """Choices that are never come to, since an earlier one does whenever they could."""
    alterations = read.rules.alterations
    for i, later in enumerate(cause.alterations):
        for k, earlier in enumerate(cause.alterations[:i]):
            both_known = earlier.alteration in alterations and later.alteration in alterations
            if both_known and _does_first(earlier, later, alterations) and follow(earlier.only_if, later.only_if):
                where = read.at("causes", cause.id, "alterations", i)
                say = f"Choice {i + 1}, '{later.alteration}', is never reached: choice {k + 1}, "
                say += f"'{earlier.alteration}', does whenever its lines hold."
                yield Mistake(
                    where, say, "Put it earlier, or give the earlier one a line that parts them.", code="never-reached"
                )
                break


def _does_first(earlier: AlterationChoice, later: AlterationChoice, alterations: dict[str, Alteration]) -> bool:
    """Whether, the conditions of both holding, the earlier choice is taken wherever the later could be."""
    if earlier.amount == "none":
        return True
    first, second = alterations[earlier.alteration], alterations[later.alteration]
    if earlier.amount == later.amount:
        no_smaller = (first.smallest or 0.0) <= (second.smallest or 0.0)
        return no_smaller and (first.kind, first.direction) == (second.kind, second.direction)
    formula = _formula(earlier.amount)
    if formula is None or formula.names or (first.kind == "girth" and first.direction != "either"):
        return False
    value = formula.value({})
    return value is not None and value > 0 and value >= (first.smallest or 0.0)


def _formula(text: str) -> Formula | None:
    try:
        return parse_formula(text)
    except FitError:
        return None
