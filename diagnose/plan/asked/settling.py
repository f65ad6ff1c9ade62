"""What is settled before anything is cut: contradictions, readings that say nothing yet, measures that amounts want,
and a miss between the gap foreseen and the gap measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from diagnose.engine.findings import BodySide, SideFindings, settled_first
from diagnose.model.diagnosis import Ask, CauseFound, HeldBack, Reopened, Side
from diagnose.model.stations import STATIONS, Station
from diagnose.model.tryon import TryOn
from diagnose.plan.give import Learnt, miss_facts
from diagnose.plan.wanted import Unmeasured, Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Facts
from diagnose.rulebase.reading.entries import Question
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import Miss, SettleFirst
from diagnose.sentences import lower_first

__all__ = ["first_asked", "held_for", "measures_wanted", "reopened_by", "stations_to_read", "to_settle"]

MOST_MEASURES = 3
READ_AT: tuple[Station, ...] = ("top", "waist", "bottom")
TO_READ = "One station tells neither the size of the whole nor its shape."
HOW_TO_READ = "Stand at ease, laced at the working tension, and lay a tape across from edge to edge at that height."


def to_settle(found: Mapping[BodySide, SideFindings], base: RuleBase) -> tuple[SettleFirst, ...]:
    """What is to be settled, as the facts of either side say."""
    return tuple({first.id: first for side in found.values() for first in settled_first(side.facts, base)}.values())


def stations_to_read(tryon: TryOn) -> tuple[Station, ...]:
    """The stations still to be read where only one was; none once there are two."""
    return tuple(s for s in STATIONS if s in READ_AT and s not in tryon.gap) if len(tryon.gap) == 1 else ()


def _gap_question(station: Station) -> str:
    """How the gap at a station is asked for."""
    return f"How wide is the gap, edge to edge, at the {station}?"


def first_asked(firsts: Iterable[SettleFirst], stations: Iterable[Station], base: RuleBase) -> tuple[Ask, ...]:
    """The questions that settle it, each with why it is asked."""
    asks: dict[str, Ask] = {}
    for station in stations:
        asks[f"gap-{station}"] = Ask(f"gap-{station}", _gap_question(station), TO_READ, how=HOW_TO_READ, settles=())
    for first in firsts:
        for name in first.ask:
            entry = base.entries.questions.get(name) or base.entries.symptoms[name]
            settles = (first.cause,) if first.cause else ()
            asks.setdefault(
                name, Ask(name, entry.ask, f"{first.title}. {first.because}", how=entry.how, settles=settles)
            )
    return tuple(asks.values())


def held_for(
    firsts: Sequence[SettleFirst], stations: Sequence[Station], wanted: Sequence[Wanted],
    causes: Sequence[CauseFound], base: RuleBase,
) -> tuple[list[Wanted], list[HeldBack]]:  # fmt: skip
    """What may go on, and what waits until it is settled.

    Args:
        firsts: what is to be settled.
        stations: the stations still to be read.
        wanted: the alterations wanted.
        causes: those settled instead, whose own alterations go on.
        base: the rule base.
    """
    going: list[Wanted] = []
    held: list[HeldBack] = []
    instead = {cause.id for cause in causes} & base.outside
    for item in wanted:
        first = next((one for one in firsts if not one.holds or item.alteration.id in one.holds), None)
        if item.cause.id in instead or (first is None and not stations):
            going.append(item)
        elif first is not None:
            held.append(
                HeldBack(item.alteration.id, item.cause.id, item.side, until=first.say, because=f"{first.title}.")
            )
        else:
            until = f"the gap is read at the {' and the '.join(stations)} as well"
            held.append(HeldBack(item.alteration.id, item.cause.id, item.side, until=until, because=TO_READ))
    return going, held


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
    return tuple(asks.values())[:MOST_MEASURES]


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
            yield Ask(f"gap-{station}", _gap_question(station), why, how=HOW_TO_READ, settles=(item.cause.id,))
        elif of == "amount" and facts.get(sign) == "yes":
            symptom = base.entries.symptoms[sign]
            question = f"{symptom.title}: how much? Measure {symptom.record.means}."
            yield Ask(name, question, why, how=symptom.how, settles=(item.cause.id,))


def reopened_by(learnt: Learnt, tryon: TryOn, base: RuleBase) -> tuple[Reopened | None, tuple[Ask, ...]]:
    """What a miss beyond the setting `reopen-miss` reopens, and the questions that tell its explanations apart.

    A question that has been answered, or that she can't answer, is not asked again.
    """
    facts = miss_facts(learnt.miss_mm, learnt.done_mm)
    size = facts.get("miss-size")
    if not isinstance(size, float) or size <= base.settings.mm("reopen-miss"):
        return None, ()
    fitting = [miss for miss in base.entries.misses.misses if all(line.holds(facts) for line in miss.when)]
    asks: dict[str, Ask] = {}
    said: list[str] = []
    ruled_out: list[str] = []
    for miss in fitting:
        question = base.entries.questions.get(miss.ask)
        if question is not None and _speaks_against(question, miss, tryon):
            ruled_out.append(lower_first(miss.title))
            continue
        said.append(f"{miss.title}? {miss.say}{_tells(question, tryon)}")
        if question is not None and miss.ask not in {*asks, *tryon.known, *tryon.cant_tell}:
            why = f"It tells whether this explains the miss: {lower_first(miss.title)}."
            asks[miss.ask] = Ask(miss.ask, question.ask, why, how=question.how, settles=miss.causes)
    if ruled_out:
        said.append(f"What you said speaks against these: {'; '.join(ruled_out)}.")
    return Reopened(learnt.miss_mm, learnt.causes, tuple(said)), tuple(asks.values())


def _speaks_against(question: Question, miss: Miss, tryon: TryOn) -> bool:
    """Whether the answer given is not the one that points to what would explain the miss."""
    pointing = {link.answer for link in question.points_to if link.cause in miss.causes}
    answer = tryon.known.get(question.id)
    return answer is not None and bool(pointing) and ("yes" if answer else "no") not in pointing


def _tells(question: Question | None, tryon: TryOn) -> str:
    """The question that tells, and its answer when there is one."""
    if question is None:
        return ""
    answer = tryon.known.get(question.id)
    said = "" if answer is None else f" You said {'yes' if answer else 'no'}."
    return f" What tells: {question.ask}{said}"
