"""What a try-on shows and what is wanted of it, before anything is drawn; and what is asked next.

Of both the whole diagnosis and the late questions of a try-on under way are made.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.engine.findings import BodySide, SideFindings
from diagnose.engine.ranking import rank_sides
from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import Ask, CauseFound, HeldBack, Reopened, Side
from diagnose.model.stations import Station
from diagnose.model.tryon import TryOn
from diagnose.pattern.measure import seams_per_half
from diagnose.pattern.outline import Pattern
from diagnose.plan.asked.next_questions import questions_to_ask
from diagnose.plan.asked.settling import (
    first_asked,
    held_for,
    measures_wanted,
    reopened_by,
    stations_to_read,
    to_settle,
)
from diagnose.plan.choosing import choose
from diagnose.plan.give import Learnt, scaled_changes
from diagnose.plan.planned import Round
from diagnose.plan.sides import for_each_lacing
from diagnose.plan.wanted import Unmeasured, Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Facts, Matcher
from diagnose.rulebase.reading.schema import SettleFirst

__all__ = ["Shown", "asked_next", "beyond_the_cut", "seams_of", "shown_by", "without"]

UNTIL_PINNED = "it is pinned out on the toile: her cut has no line for it"
PLAIN = 2
"""The grade from which a sign is plain."""


class Shown(Struct, frozen=True):
    """What a try-on shows and what is wanted of it, before anything is drawn.

    Attributes:
        reading: the gap; found: the findings by body side; facts_of: their facts, with what this body gives.
        causes: as ranked, most probable first.
        gates: those that are settled before the pattern; acted: those acted on, gates among them.
        firsts, stations: what must be settled or read first.
        going: the alterations wanted now; waiting: those held for what is to be settled; unmeasured: those held for a
            figure.
        reopened, again: what a miss reopens, and the questions that tell its explanations apart.
    """

    reading: GapReading
    found: Mapping[BodySide, SideFindings]
    facts_of: Mapping[Side, Facts]
    causes: Sequence[CauseFound]
    gates: Sequence[CauseFound]
    acted: Sequence[CauseFound]
    firsts: Sequence[SettleFirst]
    stations: Sequence[Station]
    going: Sequence[Wanted]
    waiting: Sequence[HeldBack]
    unmeasured: Sequence[Unmeasured]
    reopened: Reopened | None
    again: Sequence[Ask]


def shown_by(
    tryon: TryOn, reading: GapReading, found: Mapping[BodySide, SideFindings], base: RuleBase, matcher: Matcher,
    learnt: Learnt,
) -> Shown:  # fmt: skip
    """What the findings come to: the causes, what is settled first, and the alterations wanted of the rest.

    Args:
        tryon: the try-on, checked.
        reading: its gap.
        found: the findings of each side.
        base: the rule base; matcher: compiled from it.
        learnt: what the rounds before teach of this wearer.
    """
    causes = rank_sides(found, base)
    act = base.entries.words.thresholds["act"]
    acted = [cause for cause in causes if cause.probability >= act]
    firsts, stations = to_settle(found, base), stations_to_read(tryon)
    gates = _gates(causes, found, base)
    instead = {first.cause for first in firsts if first.cause}
    gates += [cause for cause in causes if cause.id in instead and cause not in gates]
    blocked = bool(stations) or any(not first.holds for first in firsts)
    acted += [gate for gate in gates if gate not in acted]
    acted += () if gates else _for_signs_left(causes, acted, found, base=base)
    facts_of = _with_give(_facts_by_side(found), learnt, base)
    others = () if gates or blocked else [cause for cause in causes if cause not in acted]
    chosen, unmeasured = choose(gates or acted, facts_of, base, matcher=matcher, others=others)
    if not (gates or blocked) and reading.parts:
        count = facts_of["both"].get("seams-per-half")
        seams = int(count) if isinstance(count, float) else None
        chosen += for_each_lacing(reading, chosen, causes, base=base, seams=seams)
    going, waiting = held_for(firsts, stations, chosen, causes=gates, base=base)
    reopened, again = reopened_by(learnt, tryon, base)
    return Shown(
        reading=reading, found=found, facts_of=facts_of, causes=causes, gates=gates, acted=acted, firsts=firsts,
        stations=stations, going=going, waiting=waiting, unmeasured=unmeasured, reopened=reopened, again=again,
    )  # fmt: skip


def asked_next(
    tryon: TryOn, shown: Shown, rounds: Sequence[Sequence[Wanted]], base: RuleBase, *, exact: bool
) -> tuple[Ask, ...]:
    """What to look at next: what is to be settled first, then what would change round 1 as it stands."""
    first_rank = base.step_rank[rounds[0][0].alteration.step] if rounds else None
    ask = questions_to_ask(
        tryon,
        shown.found,
        shown.causes,
        base=base,
        exact=exact,
        first_rank=first_rank,
        acted=shown.gates or shown.acted,
    )
    first = (*first_asked(_holding(shown.firsts, shown.waiting, shown.gates), shown.stations, base), *shown.again)
    if tryon.gap and not shown.gates:
        measures = measures_wanted(rounds[0] if rounds else (), shown.unmeasured, shown.facts_of, base=base)
        first += tuple(one for one in measures if one.id not in {other.id for other in first})
    return (*first, *(one for one in ask if one.id not in {other.id for other in first}))


def seams_of(tryon: TryOn, pattern: Pattern | None, base: RuleBase) -> dict[str, float]:
    """How many seams a half has: as the pattern shows, as answered (which `find` prefers), or the usual number."""
    if pattern is not None:
        return {"seams-per-half": float(seams_per_half(pattern))}
    return {} if tryon.garment.seams_per_half is not None else {"seams-per-half": base.settings.mm("seams-usual")}


def beyond_the_cut(planned: Sequence[Round]) -> Iterator[HeldBack]:
    """The changes of girth that her cut cannot be given by any line: they wait, and hold nothing else up."""
    for round_ in planned:
        for step in round_.steps:
            if step.in_vain and not step.drawn:
                yield HeldBack(step.alteration, step.cause, step.side, until=UNTIL_PINNED, because=step.in_vain)


def without(going: Sequence[Wanted], beyond: Sequence[HeldBack]) -> list[Wanted]:
    """The alterations wanted less those that her cut has no line for."""
    ids = {(one.alteration, one.cause, one.side) for one in beyond}
    return [one for one in going if (one.alteration.id, one.cause.id, one.side) not in ids]


def _gates(causes: Sequence[CauseFound], found: Mapping[BodySide, SideFindings], base: RuleBase) -> list[CauseFound]:
    """The causes that are not the pattern's and must be settled first, most probable first.

    Those acted on; and where a gate question was answered badly, the likeliest of the causes it points to, as soon as
    it is likely enough that any of them is there: two that share the evidence do not let each other through.
    """
    act = base.entries.words.thresholds["act"]
    outside = [cause for cause in causes if cause.id in base.outside]
    gates = [cause for cause in outside if cause.probability >= act]
    pointed = _pointed_by_bad_answers(found, base)
    suspects = [cause for cause in outside if cause.id in pointed]
    if not any(gate.id in pointed for gate in gates) and suspects:
        none_of_them = math.prod(1 - cause.probability for cause in suspects)
        if 1 - none_of_them >= act:
            gates.append(suspects[0])
    return gates


def _for_signs_left(
    causes: Sequence[CauseFound], acted: Sequence[CauseFound], found: Mapping[BodySide, SideFindings], base: RuleBase
) -> Iterator[CauseFound]:
    """For each strong sign that no cause acted on explains, its likeliest cause, where that is the pattern's.

    A sign is strong when it was measured, or called plain or severe. One such sign alone seldom lifts a cause to where
    it is acted on, and yet there is something to mend.
    """
    done = {cause.id for cause in acted}
    maybe, times = base.entries.words.thresholds["maybe"], base.settings.mm("ruled-out")
    for sign in dict.fromkeys(sign for side in found.values() for sign in side.present):
        sides = [side for side, one in found.items() if sign in one.present and _is_strong(sign, one.facts)]
        behind = {link.cause for side in sides for link in found[side].by_finding[sign]}
        if not sides or behind & done:
            continue
        likeliest = next(
            (cause for cause in causes if cause.id in behind and not _all_but_ruled_out(cause, times)), None
        )
        if likeliest is None or likeliest.id in base.outside or likeliest.probability < maybe:
            continue
        one_sided = len(found) > 1 and len(sides) == 1 and likeliest.side == "both"
        done.add(likeliest.id)
        yield replace(likeliest, side=sides[0]) if one_sided else likeliest


def _all_but_ruled_out(cause: CauseFound, times: float) -> bool:
    """Whether a sign that this cause nearly always shows was looked for and is not there."""
    return any(one.absent and one.weight >= times for one in cause.against)


def _is_strong(sign: str, facts: Facts) -> bool:
    grade = facts.get(f"{sign}.grade")
    return isinstance(facts.get(f"{sign}.amount"), float) or (isinstance(grade, float) and grade >= PLAIN)


def _holding(
    firsts: Sequence[SettleFirst], waiting: Sequence[HeldBack], gates: Sequence[CauseFound]
) -> Iterator[SettleFirst]:
    """Of what is to be settled, that which holds something back and is not being put right already."""
    held = {one.alteration for one in waiting}
    doing = {gate.id for gate in gates}
    for first in firsts:
        if first.cause not in doing and (not first.holds or held & set(first.holds)):
            yield first


def _pointed_by_bad_answers(found: Mapping[BodySide, SideFindings], base: RuleBase) -> set[str]:
    """The causes to which the answers given to gate questions point."""
    return {
        link.cause
        for side in found.values()
        for finding in side.present
        if finding.partition("=")[0] in base.settled_first
        for link in side.by_finding[finding]
    }


def _facts_by_side(found: Mapping[BodySide, SideFindings]) -> dict[Side, Facts]:
    facts: dict[Side, Facts] = {side: one.facts for side, one in found.items()}
    left = found["left"].facts
    if "right" not in found:
        return {"both": left, **facts}
    right = found["right"].facts
    shared = {name: value for name, value in left.items() if right.get(name) == value}
    return {"both": {**right, **left, **shared}, **facts}


def _with_give(facts_of: dict[Side, Facts], learnt: Learnt, base: RuleBase) -> dict[Side, Facts]:
    """The facts with each change wanted divided by this wearer's give, where that is sure."""
    if not learnt.give:
        return facts_of
    return {side: {**facts, **scaled_changes(facts, learnt.give, base.settings)} for side, facts in facts_of.items()}
