"""What is done now, what is sure for later, and what waits: the order of work, conflicts and holds.

One family a round. The round begins with the earliest step in the order of work; what a step of the round is known to
cure or to worsen waits until it has been tried on, and so does what the order of work holds back.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.diagnosis import HeldBack
from diagnose.plan.wanted import Unmeasured, Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import chosen_fact
from diagnose.rulebase.neutral import Firing, Matcher

__all__ = ["arrange"]

LEAST_OPPOSED_MM = 1.5
TWICE = (
    "Both change the same place, and the gap asks there for no more than the one. Do the one, and read the gap again."
)


def arrange(
    wanted: Sequence[Wanted], unmeasured: Sequence[Unmeasured], base: RuleBase, matcher: Matcher
) -> tuple[list[list[Wanted]], list[HeldBack]]:
    """The rounds (the first is what to do now) and what is held back.

    Args:
        wanted: the alterations wanted, in the order of work.
        unmeasured: those whose amount waits for a measurement.
        base: the rule base; matcher: compiled from it.
    """
    held = [_waits_for_measure(item) for item in unmeasured]
    if not wanted:
        return [], held
    every: list[Wanted | Unmeasured] = [*wanted, *unmeasured]
    fired = matcher.match("order", {chosen_fact(item.alteration.id): "yes" for item in every})
    wanted, waiting = _without_the_less_likely(wanted, unmeasured, fired, base=base)
    held += waiting
    if not wanted:
        return [], held
    family = wanted[0].alteration.family
    first = _without_conflicts([item for item in wanted if item.alteration.family == family], fired, base)
    rest = [item for item in wanted if item not in first]
    later: list[Wanted] = []
    for item in rest:
        reason = _held(item, first, fired, base=base)
        if reason is None:
            later.append(item)
        else:
            held.append(HeldBack(item.alteration.id, item.cause.id, item.side, *reason))
    return [first, *_later_rounds(later)], held


def _waits_for_measure(item: Unmeasured) -> HeldBack:
    missing = " and ".join(item.missing)
    because = "Its amount is worked out from that figure, and none was given."
    return HeldBack(item.alteration.id, item.cause.id, item.side, until=f"measured: {missing}", because=because)


def _without_the_less_likely(
    wanted: Sequence[Wanted], unmeasured: Sequence[Unmeasured], fired: Sequence[Firing], base: RuleBase
) -> tuple[list[Wanted], list[HeldBack]]:
    """The alterations, less those that a likelier one forbids which only waits for a measure; and those, held back.

    Drawn because the likelier lacks a figure, they would do the opposite of what is most probably wanted.
    """
    going: list[Wanted] = []
    held: list[HeldBack] = []
    for item in wanted:
        likelier = [one for one in unmeasured if one.cause.probability > item.cause.probability]
        first = next(((one, why) for one in likelier if (why := _forbidden(item, one, fired, base=base))), None)
        if first is None:
            going.append(item)
        else:
            until = f"{first[0].alteration.title.lower()} has been measured for and tried on"
            held.append(HeldBack(item.alteration.id, item.cause.id, item.side, until=until, because=first[1]))
    return going, held


def _without_conflicts(items: list[Wanted], fired: Sequence[Firing], base: RuleBase) -> list[Wanted]:
    """The items of a family, less those that a more probable one forbids in the same round."""
    kept: list[Wanted] = []
    for item in sorted(items, key=lambda w: -w.cause.probability):
        if not (item.overdoes and len(items) > 1) and not any(
            _conflict(item, other, fired, base=base) for other in kept
        ):
            kept.append(item)
    return [item for item in items if item in kept]


def _conflict(one: Wanted, other: Wanted, fired: Sequence[Firing], base: RuleBase) -> str | None:
    """Why two alterations may not stand in one round, or None; `fired` are the rules of order for all wanted."""
    if one.exchanged and other.exchanged:
        return None  # one half gives what the other is given
    return _forbidden(one, other, fired, base=base) or _opposed(one, other)


def _forbidden(
    one: Wanted | Unmeasured, other: Wanted | Unmeasured, fired: Sequence[Firing], base: RuleBase
) -> str | None:
    """Why the order of work forbids two alterations in one round, or None."""
    chosen = {chosen_fact(one.alteration.id), chosen_fact(other.alteration.id)}
    for firing in fired:
        pair = base.conflicts.get(firing.rule)
        if pair is None or not chosen.issuperset(firing.facts):
            continue
        if pair.same == "any" or _sides_meet(one, other):
            return pair.because
    return None


def _sides_meet(one: Wanted | Unmeasured, other: Wanted | Unmeasured) -> bool:
    return "both" in (one.side, other.side) or one.side == other.side


def _opposed(one: Wanted, other: Wanted) -> str | None:
    """Why two changes of girth may not stand in one plan: at some station the one takes in what the other lets out."""
    if not _sides_meet(one, other):
        return None
    for station, much in one.profile.items():
        back = other.profile[station]
        if much * back < 0.0 and min(abs(much), abs(back)) > LEAST_OPPOSED_MM:
            return f"At the {station} one takes in what the other lets out. Do the one, and read the gap again."
    return None


def _held(item: Wanted, first: Sequence[Wanted], fired: Sequence[Firing], base: RuleBase) -> tuple[str, str] | None:
    """Until when an alteration waits on those of the first round and why, or None when it need not."""
    chosen = (chosen_fact(item.alteration.id),)
    rules = [base.holds[firing.rule] for firing in fired if firing.rule in base.holds and firing.facts == chosen]
    titles = {family.id: family.title for family in base.entries.order.families}
    titles |= {step.id: step.title for step in base.entries.order.steps}
    for done in first:
        for hold in rules:
            if hold.until in (done.alteration.family, done.alteration.step):
                return f"{titles[hold.until].lower()} is settled and tried on again", hold.because
        reason = (
            _conflict(item, done, fired, base=base) or _touched(item, done, base) or (TWICE if item.overdoes else None)
        )
        if reason is not None:
            return f"{done.alteration.title.lower()} has been tried on", reason
    return None


def _touched(item: Wanted, done: Wanted, base: RuleBase) -> str | None:
    """Whether a step of the first round is known to cure or to worsen what this alteration is for."""
    symptoms = base.entries.symptoms
    for verb, signs in (("cure", done.alteration.improves), ("bring on", done.alteration.worsens)):
        for sign in item.alteration.improves:
            if sign in signs and any(e.finding == sign for e in item.cause.for_):
                return f"“{done.alteration.title}” may itself {verb}: {symptoms[sign].title.lower()}."
    return None


def _later_rounds(items: Sequence[Wanted]) -> list[list[Wanted]]:
    rounds: dict[str, list[Wanted]] = {}
    for item in items:
        rounds.setdefault(item.alteration.family, []).append(item)
    return list(rounds.values())
