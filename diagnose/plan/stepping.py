"""The rounds drawn, step by step: each on the paper that the one before it has left, and held against the gap.

A step is drawn in the first of its ways that can be drawn on this pattern and spoils no station: what it leaves is
measured on the drawing before it is promised. Where every way spoils something, the one that leaves the gap nearest to
its target is taken and the loss said; where none brings it nearer, or none can be drawn, the step is for the hand.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.gap.reading import GapReading
from diagnose.pattern.outline import Pattern
from diagnose.plan.by_figures import by_the_figures
from diagnose.plan.drawing.paper import Paper
from diagnose.plan.foreseeing import Foreseen
from diagnose.plan.give import Learnt, give_notes
from diagnose.plan.planned import Round, StepPlan
from diagnose.plan.wanted import Wanted, is_the_rounds, on_few_seams
from diagnose.plan.ways import Part, Way, all_ways, parts_of, way_of
from diagnose.rulebase.base import RuleBase
from diagnose.units import both

__all__ = ["planned_rounds", "ways_of"]

NO_GAIN = "Not drawn on the pattern. On this cut every way of drawing it takes as much from the gap as it gives:"
NO_NEARER = "the gap would be no nearer to its target."
LEAST_GAIN_MM = 1.5
THEN = "try on again"


class _Bench(Struct, frozen=True):
    """What every step of a plan is made with."""

    reading: GapReading
    base: RuleBase
    learnt: Learnt
    only: Collection[str] | None
    asked: Mapping[str, str]
    allowance_mm: float | None


def planned_rounds(
    rounds: Sequence[Sequence[Wanted]], reading: GapReading, base: RuleBase, pattern: Pattern | None, learnt: Learnt,
    *, only: Collection[str] | None = None, ways: Mapping[str, str] | None = None, allowance_mm: float | None = None,
) -> tuple[Round, ...]:  # fmt: skip
    """The rounds with each step drawn; what this cut cannot be given at all is for the hand.

    Args:
        rounds: what is wanted, round by round.
        reading: the gap as it was read.
        base: the rule base.
        pattern: her pattern; None where there is none.
        learnt: what the rounds before teach of this wearer.
        only: draw only these steps; all unless given.
        ways: for a step by its id, the way she asks for: ``ALTERATION`` or ``ONE:1/2+OTHER:1/2``.
        allowance_mm: the allowance outside the stitching lines, where it is known.

    Raises:
        FitError: when a way asked for is none of the step.
    """
    bench = _Bench(reading, base, learnt, only=only, asked=ways or {}, allowance_mm=allowance_mm)
    paper = Paper.of(pattern) if pattern is not None else None
    gap = Foreseen.read(reading, learnt, base.settings)
    made = []
    for number, items in enumerate(rounds, 1):
        steps: list[StepPlan] = []
        for item in items:
            step, paper, gap = _step(f"{number}.{len(steps) + 1}", item, paper, gap=gap, bench=bench)
            steps.append(step)
        expect = tuple(dict.fromkeys(base.entries.alterations[step.alteration].expect for step in steps))
        made.append(Round(number, tuple(steps), THEN, expect=expect))
    return tuple(made)


def ways_of(step: StepPlan, ask: str | None = None) -> tuple[Way, ...]:
    """The ways of a step, best first, each drawn on the paper as it was before the step.

    Args:
        step: a step of a plan.
        ask: only this way, which may be shared: ``ONE:1/2+OTHER:1/2``.

    Raises:
        FitError: when the way asked for is none of the step.
    """
    before = step.before
    if before is None:
        return ()
    asked = [parts_of(ask, step.ways)] if ask is not None else [(Part(one),) for one in step.ways]
    found = [way_of(parts, step.started, before).with_losses(before) for parts in asked]
    return tuple(found) if ask is not None else tuple(sorted(found, key=lambda way: not way.drawn))


def _step(
    id_: str, item: Wanted, paper: Paper | None, gap: Foreseen, bench: _Bench
) -> tuple[StepPlan, Paper | None, Foreseen]:
    base, settings = bench.base, bench.base.settings
    ways = all_ways(item, base, paper.pattern if paper is not None else None)
    on = paper if bench.only is None or id_ in bench.only else None
    told = bench.asked.get(id_)
    made = _best(ways, on, gap) if told is None else _as_asked(told, ways, on, gap=gap)
    taken = made.item
    taught = give_notes(made.profile, bench.learnt, settings, asked=taken.asked)
    ways = (taken, *(one for one in ways if one.alteration.id != taken.alteration.id))
    step = StepPlan(
        id=id_,
        alteration=taken.alteration.id,
        cause=item.cause.id,
        side=item.side,
        amount=made.amount,
        at=" ".join(filter(None, (made.at, on_few_seams(taken, made.amount, settings)))),
        parts=taken.parts,
        at_least=any(item.profile.values()) and bench.reading.at_least,
        capped=made.capped,
        why=f"{base.entries.causes[item.cause.id].title}. {taken.choice.because}",
        beyond=_beyond(taken, bench) if made.capped else "",
        predicted_gap_mm=made.predicted_gap_mm,
        drawn=made.drawn,
        ways=ways,
        way=told or "",
        started=on,
        before=gap,
        on_paper=made.on_paper,
        notes=(
            *taught,
            *made.notes,
            *_allowance_left(made, bench),
            *by_the_figures(taken, bench.reading, paper.pattern if paper is not None else None, settings=settings),
        ),
        taught=taught,
        in_vain=made.in_vain,
    )
    return step, made.paper or paper, made.gap


def _best(ways: Sequence[Wanted], paper: Paper | None, gap: Foreseen) -> Way:
    """The first way that can be drawn and spoils nothing; else the one that leaves the gap nearest, or none."""
    first = ways[0]
    if paper is None:
        return way_of([Part(first)], paper, gap)
    aim = gap.aimed_at(first.profile) if first.exchanged else gap
    useless: Way | None = None
    spoiling: list[tuple[float, Way]] = []
    refused: Way | None = None
    for item in ways:
        made = way_of([Part(item)], paper, gap)
        then = replace(aim, apart_mm=made.gap.apart_mm)
        if not made.drawn:
            refused = refused or made
        elif item.parts:  # the whole gap is the sum of two: what the front takes the back gives
            return made
        elif first.alteration.kind == "girth" and (
            _gains_nothing(aim, then) or (item.side == "both" and gap.undone_by(made.profile))
        ):
            useless = useless or made
        elif not aim.spoilt_by(then):
            return made
        else:
            spoiling.append((then.whole_off_mm, made))
    if not spoiling and useless is not None:
        return _no_gain(first, useless.gap, gap, paper=paper)
    if not spoiling:
        assert refused is not None  # each way was refused
        return refused
    left, best = min(spoiling, key=lambda one: one[0])
    if first.alteration.kind == "girth" and left >= aim.whole_off_mm:
        return _no_gain(first, best.gap, gap, paper=paper)
    return best if first.exchanged else best.with_losses(gap)


def _gains_nothing(before: Foreseen, after: Foreseen) -> bool:
    """Whether a change of girth leaves the gap as far from its target as it was."""
    return bool(before.apart_mm) and after.whole_off_mm > before.whole_off_mm - LEAST_GAIN_MM


def _no_gain(item: Wanted, best: Foreseen, gap: Foreseen, paper: Paper) -> Way:
    """A change of girth that this cut cannot be given."""
    in_vain = " ".join((NO_GAIN, *(tuple(gap.losses(best)) or (NO_NEARER,))))
    return Way(
        (Part(item),), item.amount, dict.fromkeys(item.profile, 0.0), gap=gap, drawn=False, capped=item.capped,
        notes=(in_vain,), paper=paper, in_vain=in_vain,
    )  # fmt: skip


def _as_asked(told: str, ways: Sequence[Wanted], paper: Paper | None, gap: Foreseen) -> Way:
    """The way that she asks for, whatever it leaves."""
    return way_of(parts_of(told, ways, "--way"), paper, gap).with_losses(gap)


def _beyond(item: Wanted, bench: _Bench) -> str:
    """What to do about what is left, and when it is another size."""
    settings = bench.base.settings
    most = max(item.asked.values(), key=abs, default=0.0)
    beyond = item.choice.beyond
    if is_the_rounds(item, settings):
        round_most = settings.values["round-most"]
        beyond = f"Draw {both(round_most.value, settings.unit)} of the whole girth and try on. {round_most.because}"
    if abs(most) < settings.mm("other-size"):
        return beyond
    whole = f"In all {both(abs(most), settings.unit)} is wanted there. {settings.values['other-size'].because}"
    return f"{beyond} {whole}"


def _allowance_left(made: Way, bench: _Bench) -> tuple[str, ...]:
    """What is left of the allowance where stitching lines are let out."""
    out = [-mm for each in made.amount.edges_mm.values() for mm in each if mm < 0.0]
    if bench.allowance_mm is None or not out or not made.drawn:
        return ()
    unit, most = bench.base.settings.unit, max(out)
    left, least = bench.allowance_mm - most, bench.base.settings.mm("allowance-kept")
    if left < least:
        return (
            f"A line is let out {both(most, unit)}, and the allowance is {both(bench.allowance_mm, unit)}; a seam wants"
            f" {both(least, unit)} to be sewn by: the toile is cut anew there, or a strip let in.",
        )
    return (f"Of the allowance {both(left, unit)} is left on the line that is let out most.",)
