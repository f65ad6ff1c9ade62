"""What a fitting sheet says, without what is drawn on it: all that a terminal shows before anything is to be cut."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose.gap.reading import GapReading, StationGap
from diagnose.model.diagnosis import CauseFound, Evidence, Side
from diagnose.model.stations import Station
from diagnose.model.tryon import TryOn
from diagnose.pattern.in_words import Bones, bone_numbers, notes_said
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sentences import listed
from diagnose.sheets.view_model import (
    FROM_THE_GAP,
    CauseView,
    Fact,
    GapRow,
    RoundView,
    SheetView,
    Sign,
    StepView,
    StopView,
    Tried,
    Weight,
)
from diagnose.sheets.words import wording as w
from diagnose.sheets.words.gap_text import SHAPES, change_words, gap_words, range_lines
from diagnose.sheets.words.rule_text import measured_words
from diagnose.units import Unit, both, in_her_unit

__all__ = ["predicted_gap", "view_in_words"]

GAP_CHANGED_MM = 0.5


def view_in_words(tried: Tried) -> SheetView:
    """The sheet of one try-on without its pictures, the dimensions in them and the steps by hand."""
    tryon, diagnosis, base, unit = tried.tryon, tried.diagnosis, tried.base, tried.unit
    bones, rules, first_steps = bone_numbers(tried.before, tried.after), base.entries, diagnosis.first_steps
    predicted = predicted_gap(first_steps, diagnosis.gap)
    view = SheetView(
        title=tried.title,
        garment=w.garment_words(tryon),
        date=tried.date,
        version=tried.version,
        stop=_stop(diagnosis, rules),
        first=tuple(_step(step, rules, unit, bones=bones) for step in first_steps),
        nothing=_nothing(diagnosis),
        findings=tuple(_findings(diagnosis, tryon, rules, unit=unit)),
        absent=tuple(w.finding_title(rules, name) for name, seen in tryon.seen.items() if not seen.shown),
        answered=tuple(w.question_words(rules, name, answer) for name, answer in tryon.known.items()),
        causes=tuple(_cause(cause, rules) for cause in diagnosis.causes),
        near=" ".join(filter(None, ("" if diagnosis.exact else w.NEARLY, _own_heights(diagnosis, base)))),
        gap_shape=SHAPES.get(diagnosis.gap.shape or "", ""),
        gap=tuple(
            _gap_row(name, one, base, unit=unit, predicted=predicted) for name, one in diagnosis.gap.stations.items()
        ),
        paper=tuple(w.said_once(_on_the_paper(first_steps, bones))),
        later=tuple(
            RoundView(r.number, tuple(_step(step, rules, unit, bones=bones) for step in r.steps))
            for r in diagnosis.rounds[1:]
        ),
        held=tuple(_held(diagnosis, rules)),
        expect=diagnosis.rounds[0].expect if diagnosis.rounds else (),
        ask=tuple(Fact(ask.question, " ".join(part for part in (ask.how, ask.why) if part)) for ask in diagnosis.ask),
        presumed=diagnosis.presumed,
        cautions=diagnosis.cautions,
        lacing=tuple(caution.say for caution in rules.cautions.while_) if diagnosis.stop is None else (),
        body=tuple(range_lines(tryon, diagnosis.gap, predicted, base=base, unit=unit)),
        reopened=tuple(_reopened(diagnosis, base, unit)),
        finish=diagnosis.finish,
        halves=w.halves_words(first_steps, unit),
    )
    return view if unit == "in" else w.each_text(view, lambda text: in_her_unit(text, unit))


def predicted_gap(steps: Sequence[StepPlan], reading: GapReading) -> Mapping[Station, float]:
    """The gap that round 1 should leave at the stations read; nothing where it leaves the gap alone."""
    after = steps[-1].predicted_gap_mm if steps else {}
    changed = any(
        abs(after.get(name, one.gap_mm) - one.gap_mm) > GAP_CHANGED_MM for name, one in reading.stations.items()
    )
    return {name: after[name] for name in reading.stations if name in after} if changed else {}


def _own_heights(diagnosis: Diagnosis, base: RuleBase) -> str:
    """Where two causes of one kind are acted on, each read off the gap at a height of its own: that neither is the
    other's doing, and by how much each height is off."""
    act = base.entries.words.thresholds["act"]
    acted = [cause.id for cause in diagnosis.causes if cause.probability >= act]
    for narrower in (True, False):
        off = []
        for station, one in diagnosis.gap.stations.items():
            own = base.behind_readings.get((station, narrower), ())[:1]
            if own and own[0] in acted and (one.change_mm > 0.0) is narrower:
                off.append(f"{both(abs(one.change_mm))} at the {station}")
        if len(off) > 1:
            return (
                f"Each is off at its own height, {listed(off)}: neither explains the other, and each is mended where it"
                " is."
            )
    return ""


def _stop(diagnosis: Diagnosis, rules: RuleSet) -> StopView | None:
    if diagnosis.stop is None:
        return None
    return StopView(tuple(_flag(flag, rules) for flag in diagnosis.stop.flags))


def _flag(flag: str, rules: RuleSet) -> Fact:
    """A stop flag, and what to do about it at once."""
    entry = rules.symptoms[flag]
    return Fact(entry.title, " ".join(text for text in (entry.now, entry.see_whom) if text))


def _nothing(diagnosis: Diagnosis) -> str:
    if diagnosis.stop or diagnosis.first_steps:
        return ""
    if diagnosis.finish and not diagnosis.causes:
        return "Nothing is left to alter: the gap is as near its target as it can be read, and no fault was seen."
    below = " Answer what is asked below, and look again." if diagnosis.ask else ""
    if diagnosis.causes:
        return f"Nothing is sure enough to cut for.{below}"
    if not diagnosis.gap.stations:
        return f"Too little is known to say what to do: above all, the gap was not read.{below}"
    return f"Nothing that was seen calls for an alteration. Leave the pattern as it is.{below}"


def _reopened(diagnosis: Diagnosis, base: RuleBase, unit: Unit) -> Iterator[str]:
    """What missed and by how much, what is in doubt again, and what would explain it."""
    found = diagnosis.reopened
    if found is None:
        return
    least = min(base.settings.mm("dead-band"), max(map(abs, found.miss_mm.values())))
    missed = {name: miss for name, miss in found.miss_mm.items() if abs(miss) >= least}
    said = [f"{name} {both(abs(miss), unit)} {'wider' if miss > 0 else 'narrower'}" for name, miss in missed.items()]
    yield f"The gap is not what was foreseen: at the {'; at the '.join(said)}."
    if found.causes:
        titles = "; ".join(w.cause_title(base.entries, cause).lower() for cause in found.causes)
        yield f"So this is in doubt again: {titles}."
    yield from found.explanations


def _on_the_paper(steps: Sequence[StepPlan], bones: Bones) -> Iterator[str]:
    """What the drawing of the steps had to say."""
    drawn = (step for step in steps if step.operations)
    return (note for step in drawn for note in notes_said(step.notes, bones) if note not in step.taught)


def _step(step: StepPlan, rules: RuleSet, unit: Unit, bones: Bones) -> StepView:
    entry = rules.alterations.get(step.alteration)
    figure, of = w.big_figure(step.amount, unit, entry.ways if entry else None, side=step.side)
    if step.parts:
        figure, of = w.parts_figure(step, unit)
    remarks = list[str]()
    if step.at_least:
        remarks.append("At least: the gap was closed. Lace on again and read it before cutting the cloth.")
    if step.capped:
        remarks.append(f"More is wanted than one round should take. {step.beyond}".strip())
    return StepView(
        w.way_title(rules, step.way or step.alteration), w.side_words(step.side), figure, figure_of=of,
        rows=w.parts_rows(step, unit) if step.parts else w.amount_rows(step.amount, unit, step.side),
        rows_of=w.half_words(step.side), at=step.at, why=step.why,
        remarks=(*remarks, *(step.taught if step.operations else notes_said(step.notes, bones))),
    )  # fmt: skip


def _findings(diagnosis: Diagnosis, tryon: TryOn, rules: RuleSet, unit: Unit) -> Iterator[Fact]:
    """The signs that show, those seen before those worked out from the gap, each with its side."""
    seen = [name for name, one in tryon.seen.items() if one.shown]
    held = [name for found in diagnosis.findings.values() for name, answer in found.items() if answer == "yes"]
    worked = [name for name in held if name in rules.symptoms]
    for name in dict.fromkeys((*seen, *worked)):
        one = tryon.seen.get(name)
        side: Side = one.side if one is not None and one.side else "both"
        entry = rules.symptoms.get(name)
        sign = Sign(entry.picture, tryon.garment.style, entry.title) if entry and entry.picture else None
        yield Fact(w.seen_words(rules, name, one, unit=unit), w.side_words(side) if one else FROM_THE_GAP, sign)


def _cause(cause: CauseFound, rules: RuleSet) -> CauseView:
    entry = rules.causes.get(cause.id)
    return CauseView(
        w.cause_title(rules, cause.id), w.side_words(cause.side), w.how_sure(cause.probability),
        chance=w.chance_words(cause.probability), because=entry.because if entry else "",
        for_=tuple(_weight(e, rules) for e in cause.for_),
        against=tuple(_weight(e, rules) for e in cause.against),
    )  # fmt: skip


FULL_BAR = 20.0


def _weight(evidence: Evidence, rules: RuleSet) -> Weight:
    share = min(1.0, max(0.04, (evidence.weight - 1.0) / (FULL_BAR - 1.0)) ** 0.5)
    return Weight(w.evidence_words(rules, evidence), w.how_strong(evidence.weight), share)


def _gap_row(name: Station, one: StationGap, base: RuleBase, unit: Unit, predicted: Mapping[Station, float]) -> GapRow:
    read = "closed" if one.closed and not one.overlap_mm else gap_words(-one.overlap_mm or one.gap_mm, unit)
    after = (
        "" if name not in predicted else both(predicted[name], unit) if predicted[name] > GAP_CHANGED_MM else "closed"
    )
    return GapRow(
        name,
        read,
        both(one.target_mm, unit),
        change=change_words(one, base.settings.mm("dead-band"), unit),
        predicted=after,
    )


def _held(diagnosis: Diagnosis, rules: RuleSet) -> Iterator[Fact]:
    for held in diagnosis.held_back:
        side = f" ({w.side_words(held.side)})" if held.side != "both" else ""
        title = w.step_title(rules, held.alteration)
        kind, colon, facts = held.until.partition("measured: ")
        waits = f"is measured: {listed([measured_words(f, rules) for f in facts.split(' and ')])}" if colon else kind
        yield Fact(f"{title}{side}", f"Waits until {waits}. {held.because}")
