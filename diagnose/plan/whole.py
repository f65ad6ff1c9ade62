"""One way through: a try-on to its diagnosis and plan."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import partial

from diagnose.engine.findings import BodySide, SideFindings, find_sides
from diagnose.engine.ranking import evidence, rank_sides
from diagnose.gap.reading import GapReading, read_gap
from diagnose.model.diagnosis import CauseFound, HeldBack, Side, Stop
from diagnose.model.tryon import TryOn
from diagnose.pattern.measure import seams_per_half
from diagnose.pattern.outline import Pattern
from diagnose.plan.asked.next_questions import questions_to_ask
from diagnose.plan.asked.reopening import reopened_by
from diagnose.plan.asked.settling import first_asked, held_for, settled_first, stations_to_read
from diagnose.plan.beside import cautions_of, finish_lines
from diagnose.plan.choosing import choose, options_of
from diagnose.plan.give import Learnt, scaled_changes
from diagnose.plan.planned import Diagnosis, Round
from diagnose.plan.rounds import arrange
from diagnose.plan.stepping import NO_GAIN, planned_rounds
from diagnose.plan.two_lacings import for_each_lacing
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.schema import SettleFirst

__all__ = ["diagnose"]

UNTIL_PINNED = "it is pinned out on the toile: her cut has no line for it"
PLAIN = 2
"""The grade from which a sign is plain."""


def diagnose(
    tryon: TryOn,
    base: RuleBase,
    matcher: Matcher,
    pattern: Pattern | None = None,
    more_facts: Mapping[str, str | float] | None = None,
    exact_asking: bool = False,
    only: Collection[str] | None = None,
    learnt: Learnt | None = None,
    ways: Mapping[str, str] | None = None,
) -> Diagnosis:
    """What a try-on shows, what to change first and by how much.

    Args:
        tryon: the try-on, checked.
        base: the rule base.
        matcher: compiled from the same base.
        pattern: her pattern; with it, amounts are worked out on the outline.
        more_facts: facts known from elsewhere (the case).
        exact_asking: weigh the next question by full inference (slower).
        only: draw only these plan steps into the pattern; all unless given.
        learnt: what the rounds before teach of this wearer.
        ways: for a step by its id, the way she asks for instead of the first.

    Raises:
        FitError: when answers contradict the readings.
    """
    reading = read_gap(tryon, base.settings)
    facts = {**_seams(tryon, pattern, base), **(more_facts or {})}
    found = find_sides(tryon, reading, base, matcher, facts)
    stops = tuple(dict.fromkeys(flag for side in found.values() for flag in side.stops))
    findings: dict[Side, Mapping[str, str]] = {side: _signs(side_found) for side, side_found in found.items()}
    cautions = cautions_of(found["left"], base)
    presumed = _presumed(tryon, reading, base, pattern)
    if stops:
        stop = Stop(stops, _what_now(stops, base))
        return Diagnosis(
            id=tryon.id, stop=stop, gap=reading, causes=(), rounds=(), held_back=(), ask=(), cautions=cautions,
            presumed=presumed, findings=findings,
        )  # fmt: skip
    causes = rank_sides(found, base)
    act, maybe = base.entries.words.thresholds["act"], base.entries.words.thresholds["maybe"]
    acted = [cause for cause in causes if cause.probability >= act]
    firsts, stations = settled_first(found, base), stations_to_read(tryon)
    gates = _gates(causes, found, base)
    instead = {first.cause for first in firsts if first.cause}
    gates += [cause for cause in causes if cause.id in instead and cause not in gates]
    blocked = bool(stations) or any(not first.holds for first in firsts)
    acted += [gate for gate in gates if gate not in acted]
    acted += () if gates else _for_signs_left(causes, acted, found, base)
    learnt = learnt or Learnt()
    facts_of = _with_give(_facts_by_side(found), learnt, base)
    others = () if gates or blocked else [cause for cause in causes if cause not in acted]
    chosen, unmeasured = choose(gates or acted, facts_of, base, matcher, others)
    if not (gates or blocked) and reading.parts:
        count = facts_of["both"].get("seams-per-half")
        seams = int(count) if isinstance(count, float) else None
        chosen += for_each_lacing(reading, chosen, causes, base, seams)
    going, waiting = held_for(firsts, stations, chosen, gates, base)
    rounds, held = arrange(going, unmeasured, base, matcher)
    held += _after_gates(gates, acted, facts_of, base, matcher)
    draw_rounds = partial(
        planned_rounds, reading=reading, base=base, pattern=pattern, learnt=learnt, ways=ways,
        allowance_mm=tryon.garment.allowance_mm,
    )  # fmt: skip
    planned = draw_rounds(rounds)
    beyond = list(_beyond_the_cut(planned))
    if beyond:
        ids = {(one.alteration, one.cause, one.side) for one in beyond}
        going = [one for one in going if (one.alteration.id, one.cause.id, one.side) not in ids]
        rounds, held = arrange(going, unmeasured, base, matcher)
        planned = draw_rounds(rounds)
        held += beyond
    if only is not None and not {step.id for round_ in planned for step in round_.steps if step.drawn} <= set(only):
        planned = draw_rounds(rounds, only=only)
    held += waiting
    first_rank = base.step_rank[rounds[0][0].alteration.step] if rounds else None
    ask = questions_to_ask(tryon, found, causes, base, exact_asking, first_rank, gates or acted)
    planned_for = {step.cause for one in planned for step in one.steps}
    shown = tuple(
        cause if cause.probability >= maybe else _argued(cause, found)
        for cause in causes
        if cause.probability >= maybe or cause.id in planned_for
    )
    reopened, first = reopened_by(learnt, tryon, base)
    first = (*first_asked(_holding(firsts, waiting, gates), stations, base), *first)
    ask = (*first, *(one for one in ask if one.id not in {other.id for other in first}))
    finish = finish_lines(reading, planned, held, base)
    return Diagnosis(
        id=tryon.id,
        stop=None,
        gap=reading,
        causes=shown,
        rounds=planned,
        held_back=tuple(held),
        ask=ask,
        cautions=cautions,
        presumed=presumed,
        findings=findings,
        reopened=reopened,
        finish=finish,
        exact=all(side.chances.exact for side in found.values()),
    )


def _argued(cause: CauseFound, found: Mapping[BodySide, SideFindings]) -> CauseFound:
    """A cause too unlikely to be argued by itself, with what speaks for and against it after all."""
    likeliest = max((side.chances for side in found.values()), key=lambda chances: chances.probability[cause.id])
    for_, against = evidence(cause.id, likeliest)
    return cause._replace(for_=for_, against=against)


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
    maybe = base.entries.words.thresholds["maybe"]
    for sign in dict.fromkeys(sign for side in found.values() for sign in side.present):
        sides = [side for side, one in found.items() if sign in one.present and _is_strong(sign, one.facts)]
        behind = {link.cause for side in sides for link in found[side].by_finding[sign]}
        if not sides or behind & done:
            continue
        likeliest = next((cause for cause in causes if cause.id in behind), None)
        if likeliest is None or likeliest.id in base.outside or likeliest.probability < maybe:
            continue
        one_sided = len(found) > 1 and len(sides) == 1 and likeliest.side == "both"
        done.add(likeliest.id)
        yield likeliest._replace(side=sides[0]) if one_sided else likeliest


def _is_strong(sign: str, facts: Mapping[str, str | float]) -> bool:
    grade = facts.get(f"{sign}.grade")
    return isinstance(facts.get(f"{sign}.amount"), float) or (isinstance(grade, float) and grade >= PLAIN)


def _beyond_the_cut(planned: Sequence[Round]) -> Iterator[HeldBack]:
    """The changes of girth that her cut cannot be given by any line: they wait, and hold nothing else up."""
    for round_ in planned:
        for step in round_.steps:
            reasons = [note for note in step.notes if note.startswith(NO_GAIN)]
            if reasons and not step.drawn:
                yield HeldBack(step.alteration, step.cause, step.side, UNTIL_PINNED, reasons[0])


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


def _signs(found: SideFindings) -> dict[str, str]:
    return {**dict.fromkeys(found.present, "yes"), **dict.fromkeys(found.absent, "no")}


def _what_now(stops: Sequence[str], base: RuleBase) -> str:
    parts: list[str] = []
    for flag in stops:
        entry = base.entries.symptoms[flag]
        parts += [text for text in (entry.now, entry.see_whom) if text and text not in parts]
    return " ".join(parts)


def _facts_by_side(found: Mapping[BodySide, SideFindings]) -> dict[Side, Mapping[str, str | float]]:
    facts: dict[Side, Mapping[str, str | float]] = {side: one.facts for side, one in found.items()}
    left = found["left"].facts
    if "right" not in found:
        return {"both": left, **facts}
    right = found["right"].facts
    shared = {name: value for name, value in left.items() if right.get(name) == value}
    return {"both": {**right, **left, **shared}, **facts}


def _seams(tryon: TryOn, pattern: Pattern | None, base: RuleBase) -> dict[str, float]:
    """How many seams a half has: as the pattern shows, as answered (which `find` prefers), or the usual number."""
    if pattern is not None:
        return {"seams-per-half": float(seams_per_half(pattern))}
    return {} if tryon.garment.seams_per_half is not None else {"seams-per-half": base.settings.mm("seams-usual")}


def _presumed(tryon: TryOn, reading: GapReading, base: RuleBase, pattern: Pattern | None) -> tuple[str, ...]:
    presumed = []
    if pattern is None and tryon.garment.seams_per_half is None:
        presumed.append(f"A half has {base.settings.mm('seams-usual'):g} seams, since neither pattern nor answer says.")
    if reading.presumed_target and reading.stations:
        presumed.append("The target gap is the usual one, since none was given.")
    if tryon.gap and tryon.tension is None:
        presumed.append("The lace was at its working tension when the gap was read.")
    return (*presumed, *(say for question, say in base.presumed.items() if question not in tryon.known))


def _after_gates(
    gates: Sequence[CauseFound], acted: Sequence[CauseFound], facts_of: Mapping[Side, Mapping[str, str | float]],
    base: RuleBase, matcher: Matcher,
) -> list[HeldBack]:  # fmt: skip
    """With a cause that is not the pattern's, every alteration of the pattern waits."""
    if not gates:
        return []
    title = base.entries.causes[gates[0].id].title
    because = f"“{title}” makes every other reading doubtful."
    held = []
    for cause in acted:
        choices = options_of([cause], facts_of[cause.side], base, matcher).get(cause.id, ())
        if cause.id not in base.outside and choices:
            until = "that is put right and the toile is tried on again"
            held.append(HeldBack(choices[0].alteration, cause.id, cause.side, until, because))
    return held


def _with_give(
    facts_of: dict[Side, Mapping[str, str | float]], learnt: Learnt, base: RuleBase
) -> dict[Side, Mapping[str, str | float]]:
    """The facts with each change wanted divided by this wearer's give, where that is sure."""
    if not learnt.give:
        return facts_of
    return {side: {**facts, **scaled_changes(facts, learnt.give, base.settings)} for side, facts in facts_of.items()}
