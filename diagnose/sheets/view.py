"""Everything a fitting sheet shows, worked out once; the page and the terminal only lay it out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose.gap.reading import GapReading, StationGap
from diagnose.model.diagnosis import CauseFound, Diagnosis, Evidence, Side, StepPlan
from diagnose.model.tryon import Station, TryOn
from diagnose.pattern.measure import bounds
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.plan.profile import station_heights
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.schema import RuleSet
from diagnose.sheets import wording as w
from diagnose.sheets.by_hand import HandStep, steps_for
from diagnose.sheets.drawing import Drawing
from diagnose.sheets.gap_picture import draw_gap
from diagnose.sheets.gap_text import SHAPES
from diagnose.sheets.pattern_drawing import changed_pieces, draw_pattern, measures_of
from diagnose.sheets.view_model import CauseView, Fact, GapRow, RoundView, SheetView, StepView, StopView, Weight
from diagnose.units import Unit, both

__all__ = ["SheetView", "build_view"]

LETTERS_PER_WIDTH = 58.0
LEAST_TEXT_MM = 4.0
CHANGED_MM = 0.5


def build_view(
    case_name: str,
    tryon: TryOn,
    diagnosis: Diagnosis,
    base: RuleBase,
    before: Pattern | None,
    after: Pattern | None,
    operations: Sequence[Operation],
    unit: Unit,
    date: str,
    version: str,
) -> SheetView:
    """The sheet of one try-on.

    Args:
        case_name: whose it is, in the maker's words.
        tryon: what was measured, seen and answered.
        diagnosis: what it came to.
        base: the rule base, for the words.
        before: the pattern that was tried on; None when there is none.
        after: the pattern with round 1 drawn in; None when nothing was drawn.
        operations: what led from the one to the other.
        unit: the maker's unit.
        date: the day of the try-on.
        version: the name of the new pattern version.

    Raises:
        FitError: when the operations cannot be done to the pattern.
    """
    rules, first = base.entries, diagnosis.rounds[0] if diagnosis.rounds else None
    first_steps = first.steps if first else ()
    predicted = _predicted(first_steps, diagnosis.gap)
    drawing = _pattern_picture(before, after, unit, version, date)
    return SheetView(
        title=case_name,
        garment=w.garment_words(tryon),
        date=date,
        version=version,
        stop=_stop(diagnosis, rules),
        first=tuple(_step(step, rules, unit) for step in first_steps),
        nothing=_nothing(diagnosis),
        findings=tuple(_findings(diagnosis, tryon, rules, unit)),
        absent=tuple(w.finding_title(rules, name) for name, seen in tryon.seen.items() if not seen.shown),
        answered=tuple(w.question_words(rules, name, answer) for name, answer in tryon.known.items()),
        causes=tuple(_cause(cause, rules, diagnosis) for cause in diagnosis.causes),
        gap_shape=SHAPES.get(diagnosis.gap.shape or "", ""),
        gap=tuple(_gap_row(name, one, base, unit, predicted) for name, one in diagnosis.gap.stations.items()),
        gap_picture=_gap_picture(diagnosis.gap, base, unit, predicted),
        pattern_picture=drawing,
        measures=tuple(_measures(before, after, unit)),
        steps=tuple(_hand_steps(first_steps, rules, before, after, operations, unit)),
        paper=tuple(note for step in first_steps if step.operations for note in step.notes),
        later=tuple(
            RoundView(r.number, tuple(_step(step, rules, unit) for step in r.steps)) for r in diagnosis.rounds[1:]
        ),
        held=tuple(_held(diagnosis, rules)),
        expect=first.expect if first else (),
        ask=tuple(Fact(ask.question, " ".join(part for part in (ask.how, ask.why) if part)) for ask in diagnosis.ask),
        presumed=diagnosis.presumed,
        cautions=diagnosis.cautions,
        lacing=tuple(caution.say for caution in rules.cautions.while_) if diagnosis.stop is None else (),
    )


def _predicted(steps: Sequence[StepPlan], reading: GapReading) -> Mapping[Station, float]:
    """The gap that round 1 should leave at the stations read; nothing where it leaves the gap alone."""
    after = steps[-1].predicted_gap_mm if steps else {}
    changed = any(abs(after.get(name, one.gap_mm) - one.gap_mm) > CHANGED_MM for name, one in reading.stations.items())
    return {name: after[name] for name in reading.stations if name in after} if changed else {}


def _stop(diagnosis: Diagnosis, rules: RuleSet) -> StopView | None:
    if diagnosis.stop is None:
        return None
    return StopView(tuple(w.finding_title(rules, flag) for flag in diagnosis.stop.flags), diagnosis.stop.do)


def _nothing(diagnosis: Diagnosis) -> str:
    if diagnosis.stop or (diagnosis.rounds and diagnosis.rounds[0].steps):
        return ""
    if diagnosis.causes:
        return "Nothing is sure enough to cut for. Answer what is asked below, and look again."
    return "Nothing fits what was seen. Leave the pattern as it is, or answer what is asked below."


def _step(step: StepPlan, rules: RuleSet, unit: Unit) -> StepView:
    figure, of = w.big_figure(step.amount, unit)
    remarks = list[str]()
    if step.at_least:
        remarks.append("At least: the gap was closed. Lace on again and read it before cutting the cloth.")
    if step.capped:
        remarks.append(f"More is wanted than one round should take. {step.beyond}".strip())
    return StepView(
        w.step_title(rules, step.alteration), w.side_words(step.side), figure, of, w.amount_rows(step.amount, unit),
        step.at, step.why, (*remarks, *(() if step.operations else step.notes)),
    )  # fmt: skip


def _findings(diagnosis: Diagnosis, tryon: TryOn, rules: RuleSet, unit: Unit) -> Iterator[Fact]:
    """The signs that show, those seen before those worked out from the gap, each with its side."""
    seen = [name for name, one in tryon.seen.items() if one.shown]
    held = [name for found in diagnosis.findings.values() for name, answer in found.items() if answer == "yes"]
    worked = [name for name in held if name in rules.symptoms]
    for name in dict.fromkeys((*seen, *worked)):
        one = tryon.seen.get(name)
        side: Side = one.side if one is not None and one.side else "both"
        yield Fact(w.seen_words(rules, name, one, unit), w.side_words(side) if one else "from the gap readings")


def _cause(cause: CauseFound, rules: RuleSet, diagnosis: Diagnosis) -> CauseView:
    entry = rules.causes.get(cause.id)
    return CauseView(
        w.cause_title(rules, cause.id), w.side_words(cause.side), w.how_sure(cause.probability),
        round(100 * cause.probability), entry.because if entry else "",
        tuple(_weight(e, rules, diagnosis) for e in cause.for_),
        tuple(_weight(e, rules, diagnosis) for e in cause.against),
    )  # fmt: skip


FULL_BAR = 20.0


def _weight(evidence: Evidence, rules: RuleSet, diagnosis: Diagnosis) -> Weight:
    share = min(1.0, max(0.04, (evidence.weight - 1.0) / (FULL_BAR - 1.0)) ** 0.5)
    return Weight(w.evidence_words(rules, evidence, diagnosis), w.how_strong(evidence.weight), share)


def _gap_row(name: Station, one: StationGap, base: RuleBase, unit: Unit, predicted: Mapping[Station, float]) -> GapRow:
    read = "closed" if one.closed else both(one.gap_mm, unit)
    if one.overlap_mm:
        read = f"laps over {both(one.overlap_mm, unit)}"
    after = both(predicted[name], unit) if name in predicted else ""
    return GapRow(name, read, both(one.target_mm, unit), _change(one, base, unit), after)


def _change(one: StationGap, base: RuleBase, unit: Unit) -> str:
    if abs(one.change_mm) < base.settings.mm("dead-band"):
        return "right, or more" if one.at_least else "right"
    verb = "take in" if one.change_mm > 0 else "let out"
    return f"{verb} {'at least ' if one.at_least else ''}{both(abs(one.change_mm), unit)}"


def _gap_picture(reading: GapReading, base: RuleBase, unit: Unit, predicted: Mapping[Station, float]) -> Drawing | None:
    if not reading.stations:
        return None
    return draw_gap(reading, station_heights(base.settings), unit, predicted)


def _pattern_picture(
    before: Pattern | None, after: Pattern | None, unit: Unit, version: str, date: str
) -> Drawing | None:
    """The changed pieces over the old ones; the whole pattern where nothing changed."""
    shown = after or before
    if shown is None:
        return None
    only = changed_pieces(after, before) if after and before else ()
    names = only or tuple(piece.name for piece in shown.pieces)
    boxes = [bounds(shown.piece(name)) for name in names]
    wide = sum(box.right - box.left + 25.0 for box in boxes)
    text_mm = max(LEAST_TEXT_MM, wide / LETTERS_PER_WIDTH)
    return draw_pattern(shown, before if only else None, unit, version=version, date=date, text_mm=text_mm, only=names)


def _measures(before: Pattern | None, after: Pattern | None, unit: Unit) -> Iterator[Fact]:
    """The dimensions of the drawing as a list, piece by piece."""
    if before is None or after is None:
        return
    for name in changed_pieces(after, before):
        moves = measures_of(draw_pattern(after, before, unit, only=(name,)))
        for edge in dict.fromkeys(move.edge for move in moves):
            said = [f"{move.at}: {move.words}" for move in moves if move.edge == edge]
            yield Fact(f"{name}, {edge.replace('-', ' ')}", " · ".join(said))


def _hand_steps(
    steps: Sequence[StepPlan], rules: RuleSet, before: Pattern | None, after: Pattern | None,
    operations: Sequence[Operation], unit: Unit,
) -> Iterator[HandStep]:  # fmt: skip
    """Worked out on her outline where operations were drawn; else the rule's own sentences with the figures in them."""
    if operations and before is not None and after is not None:
        yield from steps_for(operations, before, after, unit)
    for step in steps:
        entry = rules.alterations.get(step.alteration)
        if entry is not None and (not operations or not step.operations):
            for sentence in w.filled(entry.by_hand, step, unit):
                yield HandStep(sentence)


def _held(diagnosis: Diagnosis, rules: RuleSet) -> Iterator[Fact]:
    for held in diagnosis.held_back:
        side = f" ({w.side_words(held.side)})" if held.side != "both" else ""
        title = w.step_title(rules, held.alteration)
        yield Fact(f"{title}{side}", f"Waits until {held.until}. {held.because}")
