"""What a try-on came to, in the maker's words: what to do now, why, what waits, and what the next one should show."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.model.diagnosis import CauseFound, Diagnosis, HeldBack, Side, StepPlan
from diagnose.model.tryon import STATIONS
from diagnose.rulebase.base import RuleBase
from diagnose.units import Unit, both

__all__ = ["Outcome", "OutcomeStep", "amount_words", "outcome_of"]

SURE = (
    (0.85, "almost surely"),
    (0.65, "probably"),
    (0.5, "more likely than not"),
    (0.3, "perhaps"),
    (0.0, "less likely"),
)
ON_SIDE: dict[Side, str] = {"left": "left side only", "right": "right side only", "both": "both sides"}


@dataclass(frozen=True, slots=True)
class OutcomeStep:
    """One thing to do before the next try-on."""

    id: str
    title: str
    amount: tuple[str, ...]
    where: str
    side: str
    why: str
    more: tuple[str, ...]
    by_hand: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """Everything said at the end of a try-on.

    Attributes:
        stop: titles of the stop flags; stop_do: what to do at once.
        findings: the signs that show.
        causes: each cause with how sure.
        now: the steps of the first round; later: titles of what later rounds hold.
        expect: what the next try-on should show; predicted: the gap it should show, by station.
        held: what waits, until when and why.
        ask: what could still be looked at.
    """

    stop: tuple[str, ...]
    stop_do: str
    findings: tuple[str, ...]
    causes: tuple[str, ...]
    now: tuple[OutcomeStep, ...]
    later: tuple[str, ...]
    expect: tuple[str, ...]
    predicted: tuple[tuple[str, str], ...]
    held: tuple[str, ...]
    ask: tuple[str, ...]
    presumed: tuple[str, ...]
    cautions: tuple[str, ...]


def outcome_of(diagnosis: Diagnosis, base: RuleBase, unit: Unit) -> Outcome:
    """A diagnosis in words.

    Args:
        diagnosis: what the try-on came to; base: the rule base it came of; unit: how lengths are shown.
    """
    entries = base.entries
    first = diagnosis.rounds[0] if diagnosis.rounds else None
    steps = first.steps if first else ()
    later = tuple(
        f"Round {round_.number}: {entries.alterations[step.alteration].title}"
        for round_ in diagnosis.rounds[1:]
        for step in round_.steps
    )
    return Outcome(
        tuple(entries.symptoms[flag].title for flag in diagnosis.stop.flags) if diagnosis.stop else (),
        diagnosis.stop.do if diagnosis.stop else "",
        _findings(diagnosis, base), tuple(_cause(cause, base) for cause in diagnosis.causes),
        tuple(_step(step, base, unit) for step in steps), later, first.expect if first else (),
        _predicted(steps, unit), tuple(dict.fromkeys(_held(held, base) for held in diagnosis.held_back)),
        tuple(ask.question for ask in diagnosis.ask), diagnosis.presumed, diagnosis.cautions,
    )  # fmt: skip


def _findings(diagnosis: Diagnosis, base: RuleBase) -> tuple[str, ...]:
    """Signs that show, with the side where only one shows it."""
    sides: dict[str, list[str]] = {}
    for side, found in diagnosis.findings.items():
        for name, word in found.items():
            if word == "yes" and name in base.entries.symptoms:
                sides.setdefault(name, []).append(side)
    both_looked = len(diagnosis.findings) > 1
    return tuple(
        f"{base.entries.symptoms[name].title}{f' ({on[0]} side)' if both_looked and len(on) == 1 else ''}"
        for name, on in sides.items()
    )


def _cause(cause: CauseFound, base: RuleBase) -> str:
    word = next(word for least, word in SURE if cause.probability >= least)
    side = "" if cause.side == "both" else f", {ON_SIDE[cause.side]}"
    return f"{base.entries.causes[cause.id].title}: {word}{side}"


def _step(step: StepPlan, base: RuleBase, unit: Unit) -> OutcomeStep:
    entry = base.entries.alterations[step.alteration]
    more = [step.beyond] if step.capped and step.beyond else []
    if step.at_least:
        more.append("The gap was closed, so this is the least; lace again and read it before cutting the cloth.")
    return OutcomeStep(
        step.id, entry.title, amount_words(step, unit), step.at, ON_SIDE[step.side], step.why,
        (*more, *step.notes), entry.by_hand,
    )  # fmt: skip


def amount_words(step: StepPlan, unit: Unit) -> tuple[str, ...]:
    """How much, a line a station where the stations differ; nothing for what has no amount."""
    amount = step.amount
    if amount.length_mm is not None:
        return (both(abs(amount.length_mm), unit),)
    if amount.whole_mm is None:
        return ()
    changes = {name: round(mm, 2) for name, mm in amount.by_station_mm.items()}
    if len(set(changes.values())) > 1:
        return tuple(f"{name}: {_change(changes[name], unit)}" for name in STATIONS if name in changes)
    return (_change(amount.whole_mm, unit),)


def _change(whole_mm: float, unit: Unit) -> str:
    if not whole_mm:
        return "nothing"
    verb = "take in" if whole_mm > 0 else "let out"
    return f"{verb} {both(abs(whole_mm), unit)} in all, {both(abs(whole_mm) / 2, unit)} on each half"


def _predicted(steps: tuple[StepPlan, ...], unit: Unit) -> tuple[tuple[str, str], ...]:
    if not steps:
        return ()
    last = steps[-1].predicted_gap_mm
    return tuple((name, both(last[name], unit) if last[name] else "closed") for name in STATIONS if name in last)


def _held(held: HeldBack, base: RuleBase) -> str:
    return f"{base.entries.alterations[held.alteration].title}: until {held.until}. {held.because}"
