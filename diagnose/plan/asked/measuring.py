"""The measures that amounts wait for: what a step is worked out from, and nobody has measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose.model.diagnosis import Ask, Side
from diagnose.model.tryon import STATIONS
from diagnose.plan.asked.settling import HOW_TO_READ, gap_question
from diagnose.plan.wanted import Unmeasured, Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.formula import parse_formula

__all__ = ["measures_wanted"]

MOST = 3
Facts = Mapping[str, str | float]


def measures_wanted(
    wanted: Sequence[Wanted], unmeasured: Sequence[Unmeasured], facts_of: Mapping[Side, Facts], base: RuleBase
) -> tuple[Ask, ...]:
    """A question for each measure that an alteration waits for, or that would replace a figure taken for want of it.

    Args:
        wanted: the alterations of the first round.
        unmeasured: those that wait.
        facts_of: the facts by side.
        base: the rule base.
    """
    asks: dict[str, Ask] = {}
    items: list[Wanted | Unmeasured] = [*unmeasured, *wanted]
    for item in items:
        for ask in _asks(item, facts_of.get(item.side, facts_of["both"]), base):
            asks.setdefault(ask.id, ask)
    return tuple(asks.values())[:MOST]


def _asks(item: Wanted | Unmeasured, facts: Facts, base: RuleBase) -> Iterator[Ask]:
    """The measures that its formula reads; none where one that does is known already."""
    formula = parse_formula(item.choice.amount) if item.choice.amount != "none" else None
    if formula is None or len(formula.missing(facts)) < len(set(formula.names)):
        return
    why = f"“{item.alteration.title}” is worked out from it."
    for name in dict.fromkeys(formula.names):
        sign, _, of = name.partition(".")
        station = next((one for one in STATIONS if name == f"change-{one}"), None)
        if station is not None:
            yield Ask(f"gap-{station}", gap_question(station), why, HOW_TO_READ, (item.cause.id,))
        elif of == "amount" and facts.get(sign) == "yes":
            symptom = base.entries.symptoms[sign]
            question = f"{symptom.title}: how much? Measure {symptom.record.means}."
            yield Ask(name, question, why, symptom.how, (item.cause.id,))
