"""What contradicts itself or stands twice: lines that can't hold together, doubled links, alterations at odds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from diagnose.errors import Mistake
from diagnose.rulebase.checking.implied import never_together
from diagnose.rulebase.checking.reach import fact_kinds
from diagnose.rulebase.reading.entries import Alteration
from diagnose.rulebase.reading.fields import Condition
from diagnose.rulebase.reading.load import RuleFolder
from diagnose.rulebase.reading.references import condition_lists

__all__ = ["check_clashes"]


def check_clashes(read: RuleFolder) -> Iterator[Mistake]:
    """Every contradiction and every doubled line."""
    yield from _contradictions(read)
    yield from _same_signs(read)
    yield from _doubled_links(read)
    yield from _doubled_choices(read)
    yield from _at_odds(read)
    yield from _conflicts(read)
    yield from _holds(read)


def _contradictions(read: RuleFolder) -> Iterator[Mistake]:
    kinds = fact_kinds(read)
    for lines, at in condition_lists(read):
        # A sign's own link comes into play where the sign is there.
        linked = at.kind == "symptoms" and at.place[0] == "causes"
        there = (Condition(fact=at.entry, comparison="is", value="yes"),) if linked else ()
        where = read.at(at.kind, at.entry, *(at.place[:-1] or at.place))
        for fact in never_together((*there, *lines), kinds):
            yield Mistake(
                where, f"The lines about '{fact}' can never hold together.", "Change or drop one.", code="contradiction"
            )


def _sorted(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
    return tuple(sorted(conditions, key=str))


def _same_signs(read: RuleFolder) -> Iterator[Mistake]:
    """Signs that follow from the very same readings."""
    seen: dict[tuple[Condition, ...], str] = {}
    for symptom in read.rules.symptoms.values():
        lines = _sorted(symptom.when)
        if lines and lines in seen:
            where = read.at("symptoms", symptom.id, "when")
            yield Mistake(
                where,
                f"'{symptom.id}' has the conditions of '{seen[lines]}'.",
                "Part them, or keep one.",
                code="same-conditions",
            )
        seen.setdefault(lines, symptom.id)


def _doubled_links(read: RuleFolder) -> Iterator[Mistake]:
    for symptom in read.rules.symptoms.values():
        for cause, count in Counter(link.cause for link in symptom.causes).items():
            lines = [_sorted(link.only_if) for link in symptom.causes if link.cause == cause]
            if count > 1 and (() in lines or len(set(lines)) < count):
                yield Mistake(
                    read.at("symptoms", symptom.id),
                    f"'{cause}' is linked {count} times.",
                    "Keep one link, or give each conditions of its own.",
                    code="doubled-link",
                )
    for question in read.rules.questions.values():
        for (answer, cause), count in Counter((a.answer, a.cause) for a in question.points_to).items():
            if count > 1:
                where = read.at("questions", question.id)
                yield Mistake(where, f"'{answer}' points to '{cause}' {count} times.", "Keep one.", code="doubled-link")


def _doubled_choices(read: RuleFolder) -> Iterator[Mistake]:
    for cause in read.rules.causes.values():
        seen: set[tuple[str, tuple[Condition, ...]]] = set()
        for i, choice in enumerate(cause.alterations):
            key = (choice.alteration, _sorted(choice.only_if))
            if key in seen:
                where = read.at("causes", cause.id, "alterations", i)
                yield Mistake(
                    where,
                    f"'{choice.alteration}' stands twice on the same conditions.",
                    "Keep one.",
                    code="doubled-choice",
                )
            seen.add(key)


def _at_odds(read: RuleFolder) -> Iterator[Mistake]:
    for alteration in read.rules.alterations.values():
        if alteration.direction in ("either", "-"):  # done the one way it may cure what the other way it brings on
            continue
        for sign in sorted(set(alteration.improves) & set(alteration.worsens)):
            where = read.at("alterations", alteration.id, "worsens", alteration.worsens.index(sign))
            yield Mistake(where, f"'{alteration.id}' both improves and worsens '{sign}'.", "Say which.", code="at-odds")


def _conflicts(read: RuleFolder) -> Iterator[Mistake]:
    seen: set[frozenset[str]] = set()
    for i, conflict in enumerate(read.rules.order.conflicts):
        pair = frozenset((conflict.one, conflict.other))
        if len(pair) == 1:
            yield Mistake(
                read.at("order", "", "conflicts", i),
                f"'{conflict.one}' conflicts with itself.",
                "Drop it.",
                code="conflict-with-itself",
            )
        elif pair in seen:
            say = f"'{conflict.one}' and '{conflict.other}' conflict twice."
            yield Mistake(read.at("order", "", "conflicts", i), say, "Keep one.", code="doubled-conflict")
        seen.add(pair)


def _holds(read: RuleFolder) -> Iterator[Mistake]:
    """Alterations that wait for themselves, and pairs of which each waits for the other."""
    waits = [
        (held, hold.until, read.at("order", "", "holds", i))
        for i, hold in enumerate(read.rules.order.holds)
        for name in hold.hold
        if (held := read.rules.alterations.get(name)) is not None
    ]
    for n, (one, until, where) in enumerate(waits):
        if until in _places(one):
            yield Mistake(
                where, f"'{one.id}' waits for itself.", "Name another family or step.", code="waits-for-itself"
            )
        for other, others_until, _ in waits[:n]:
            if until in _places(other) and others_until in _places(one) and one.id != other.id:
                yield Mistake(
                    where,
                    f"'{one.id}' and '{other.id}' wait for each other.",
                    "Drop one of the holds.",
                    code="waits-for-each-other",
                )


def _places(alteration: Alteration) -> tuple[str, str]:
    return alteration.family, alteration.step
