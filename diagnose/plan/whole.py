"""One way through: a try-on to its diagnosis and plan; and, while she stands laced in, to what to look at next."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from functools import partial

from msgspec.structs import replace

from diagnose.engine.findings import BodySide, SideFindings, find_sides
from diagnose.engine.ranking import evidence
from diagnose.gap.reading import GapReading, read_gap
from diagnose.model.diagnosis import Ask, CauseFound, HeldBack, Side, Stop
from diagnose.model.settings import Settings
from diagnose.model.tryon import TryOn, of_no_part
from diagnose.pattern.outline import Pattern
from diagnose.plan.choosing import options_of
from diagnose.plan.give import Learnt
from diagnose.plan.planned import Diagnosis, Round
from diagnose.plan.rounds import arrange
from diagnose.plan.shown import Shown, asked_next, beyond_the_cut, seams_of, shown_by, without
from diagnose.plan.stepping import planned_rounds
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.schema import Limit
from diagnose.units import both

__all__ = ["cautions_of", "diagnose", "finish_lines", "late_questions"]


def diagnose(
    tryon: TryOn,
    base: RuleBase,
    matcher: Matcher,
    pattern: Pattern | None = None,
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
        exact_asking: weigh the next question by full inference (slower).
        only: draw only these plan steps into the pattern; all unless given.
        learnt: what the rounds before teach of this wearer.
        ways: for a step by its id, the way she asks for instead of the first.

    Raises:
        FitError: when answers contradict the readings.
    """
    reading = read_gap(tryon, base.settings)
    found = find_sides(tryon, reading, base, matcher=matcher, more=seams_of(tryon, pattern, base))
    stops = tuple(dict.fromkeys(flag for side in found.values() for flag in side.stops))
    findings: dict[Side, Mapping[str, str]] = {side: _signs(side_found) for side, side_found in found.items()}
    cautions = cautions_of(found["left"], base)
    presumed = _presumed(tryon, reading, base, pattern=pattern)
    if stops:
        stop = Stop(stops, _what_now(stops, base))
        return Diagnosis(
            id=tryon.id, stop=stop, gap=reading, causes=(), rounds=(), held_back=(), ask=(), cautions=cautions,
            presumed=presumed, findings=findings,
        )  # fmt: skip
    learnt = learnt or Learnt()
    shown = shown_by(tryon, reading, found, base=base, matcher=matcher, learnt=learnt)
    draw_rounds = partial(
        planned_rounds, reading=reading, base=base, pattern=pattern, learnt=learnt, ways=ways,
        allowance_mm=tryon.garment.allowance_mm,
    )  # fmt: skip
    rounds, planned, held = _in_rounds(shown, base, matcher, draw_rounds=draw_rounds)
    if only is not None and not {step.id for round_ in planned for step in round_.steps if step.drawn} <= set(only):
        planned = draw_rounds(rounds, only=only)
    return Diagnosis(
        id=tryon.id,
        stop=None,
        gap=reading,
        causes=_causes_said(shown, found, planned, base=base),
        rounds=planned,
        held_back=tuple(held),
        ask=asked_next(tryon, shown, rounds, base=base, exact=exact_asking),
        cautions=cautions,
        presumed=presumed,
        findings=findings,
        reopened=shown.reopened,
        finish=finish_lines(reading, planned, held, base=base),
        exact=all(side.chances.exact for side in found.values()),
    )


def _in_rounds(
    shown: Shown, base: RuleBase, matcher: Matcher, *, draw_rounds: Callable[..., tuple[Round, ...]]
) -> tuple[list[list[Wanted]], tuple[Round, ...], list[HeldBack]]:
    """What goes into which round, the rounds drawn, and what is held back: what is beyond her cut holds nothing up."""
    rounds, held = arrange(shown.going, shown.unmeasured, base, matcher=matcher)
    planned = draw_rounds(rounds)
    beyond = list(beyond_the_cut(planned))
    if beyond:
        rounds, held = arrange(without(shown.going, beyond), shown.unmeasured, base, matcher=matcher)
        planned = draw_rounds(rounds)
    return rounds, planned, [*held, *_after_gates(shown, base, matcher), *beyond, *shown.waiting]


def _causes_said(
    shown: Shown, found: Mapping[BodySide, SideFindings], planned: Sequence[Round], *, base: RuleBase
) -> tuple[CauseFound, ...]:
    """The causes that may be there, and those that a step is planned for."""
    maybe = base.entries.words.thresholds["maybe"]
    planned_for = {step.cause for one in planned for step in one.steps}
    return tuple(
        cause if cause.probability >= maybe else _argued(cause, found)
        for cause in shown.causes
        if cause.probability >= maybe or cause.id in planned_for
    )


def _argued(cause: CauseFound, found: Mapping[BodySide, SideFindings]) -> CauseFound:
    """A cause too unlikely to be argued by itself, with what speaks for and against it after all."""
    likeliest = max((side.chances for side in found.values()), key=lambda chances: chances.probability[cause.id])
    for_, against = evidence(cause.id, likeliest)
    return replace(cause, for_=for_, against=against)


def _signs(found: SideFindings) -> dict[str, str]:
    return {**dict.fromkeys(found.present, "yes"), **dict.fromkeys(found.absent, "no")}


def _what_now(stops: Sequence[str], base: RuleBase) -> str:
    parts: list[str] = []
    for flag in stops:
        entry = base.entries.symptoms[flag]
        parts += [text for text in (entry.now, entry.see_whom) if text and text not in parts]
    return " ".join(parts)


def _presumed(tryon: TryOn, reading: GapReading, base: RuleBase, pattern: Pattern | None) -> tuple[str, ...]:
    presumed = []
    if pattern is None and tryon.garment.seams_per_half is None:
        presumed.append(f"A half has {base.settings.mm('seams-usual'):g} seams, since neither pattern nor answer says.")
    if reading.presumed_target and reading.stations:
        presumed.append("The target gap is the usual one, since none was given.")
    laced = tryon.garment.fastening in (None, "laced")
    if tryon.gap and laced and tryon.tension is None:
        presumed.append("The lace was at its working tension when the gap was read.")
    known = {*tryon.known, *of_no_part(tryon.garment, base.parts)}
    return (*presumed, *(say for question, say in base.presumed.items() if question not in known))


def _after_gates(shown: Shown, base: RuleBase, matcher: Matcher) -> list[HeldBack]:
    """With a cause that is not the pattern's, every alteration of the pattern waits."""
    if not shown.gates:
        return []
    title = base.entries.causes[shown.gates[0].id].title
    because = f"“{title}” makes every other reading doubtful."
    held = []
    for cause in shown.acted:
        choices = options_of([cause], shown.facts_of[cause.side], base, matcher=matcher).get(cause.id, ())
        if cause.id not in base.outside and choices:
            until = "that is put right and the toile is tried on again"
            held.append(HeldBack(choices[0].alteration, cause.id, cause.side, until=until, because=because))
    return held


def finish_lines(
    reading: GapReading, rounds: Sequence[Round], held: Sequence[HeldBack], base: RuleBase
) -> tuple[str, ...]:
    """What carries over to the garment and what still waits; nothing while the toile has a step to come.

    Args:
        reading: the gap; it must be at its target at every station read.
        rounds: the plan; it must be empty.
        held: the alterations that wait.
        base: the rule base.
    """
    if rounds or not reading.settled(base.settings.mm("dead-band")):
        return ()
    titles = base.entries.alterations
    waiting = tuple(f"Still waiting: {titles[one.alteration].title.lower()}, until {one.until}." for one in held)
    return (*(line.say for line in base.entries.order.carry_over), *waiting)


def cautions_of(found: SideFindings, base: RuleBase) -> tuple[str, ...]:
    """The cautions for one try-on: first the limits that its facts pass, then those that always hold."""
    passed = [
        _said(limit, value, base.settings)
        for limit in base.entries.cautions.limits
        if isinstance(value := found.facts.get(limit.fact), float) and value > base.settings.mm(limit.setting)
    ]
    return (*passed, *(caution.say for caution in base.entries.cautions.always))


def _said(limit: Limit, value: float, settings: Settings) -> str:
    setting = settings.values[limit.setting]
    shown = [both(number, settings.unit) if setting.is_length else f"{number:.3g}" for number in (value, setting.value)]
    if not setting.is_length and setting.value < 1:
        shown = [f"{100 * number:.3g} %" for number in (value, setting.value)]
    return limit.say.replace("{value}", shown[0]).replace("{most}", shown[1])


def late_questions(
    tryon: TryOn, base: RuleBase, matcher: Matcher, *, pattern: Pattern | None, learnt: Learnt
) -> tuple[Ask, ...]:
    """What to look at next, best first; none where a stop flag is up, or no answer would change round 1.

    Of the plan no more is drawn than shows which step stands first: she stands laced in while the next question is
    found.

    Args:
        tryon: the try-on so far, checked.
        base: the rule base; matcher: compiled from it.
        pattern: her pattern; None where there is none.
        learnt: what the rounds before teach of this wearer.

    Raises:
        FitError: when answers contradict the readings.
    """
    reading = read_gap(tryon, base.settings)
    found = find_sides(tryon, reading, base, matcher=matcher, more=seams_of(tryon, pattern, base))
    if any(side.stops for side in found.values()):
        return ()
    shown = shown_by(tryon, reading, found, base=base, matcher=matcher, learnt=learnt)
    going = shown.going
    while True:
        rounds, _ = arrange(going, shown.unmeasured, base, matcher=matcher)
        first = rounds[0] if rounds else ()
        planned = planned_rounds(
            [first] if any(item.alteration.kind == "girth" for item in first) else [],
            reading, base, pattern=pattern, learnt=learnt, allowance_mm=tryon.garment.allowance_mm,
        )  # fmt: skip
        beyond = list(beyond_the_cut(planned))
        if not beyond:
            return asked_next(tryon, shown, rounds, base=base, exact=True)
        going = without(going, beyond)
