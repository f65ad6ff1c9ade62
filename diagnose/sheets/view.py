"""Everything a fitting sheet shows, worked out once; the page and the terminal only lay it out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from diagnose.model.tryon import TryOn
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sheets.hand.by_hand import steps_for
from diagnose.sheets.hand.figures import HandStep
from diagnose.sheets.view_model import SheetView
from diagnose.sheets.words import wording as w
from diagnose.sheets.words.view_words import view_in_words
from diagnose.units import Unit, in_her_unit

if TYPE_CHECKING:
    from diagnose.sheets.drawn.screens import Screen

__all__ = ["build_view"]


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
    *,
    pictures: bool = True,
    wall: bool = True,
    screen: Screen | None = None,
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
        pictures: draw them; a terminal shows none.
        wall: draw the rows of the wall sheet among them, which are for paper alone.
        screen: where it is looked at, whose letters are then high enough for it; None for a sheet.

    Raises:
        FitError: when the operations cannot be done to the pattern.
    """
    words = view_in_words(
        case_name, tryon, diagnosis, base=base, unit=unit, date=date, version=version, patterns=(before, after)
    )
    first_steps = diagnosis.first_steps
    drawn = diagnosis.rounds[0].on_paper if diagnosis.rounds else None
    made = drawn.made if drawn is not None and drawn.operations == tuple(operations) else ()
    steps = tuple(_told_steps(first_steps, base.entries, unit, drawn=bool(operations)))
    if operations and before is not None and after is not None:
        steps = (*steps_for(operations, before, after, unit=unit, made=made), *steps)
    zones = drawn.altered.zones if drawn is not None and after is not None else ()
    words = replace(words, steps=steps, zones=zones)
    if not pictures:
        return words
    from diagnose.sheets.view_pictures import with_pictures  # here, for a terminal shows none

    return with_pictures(words, diagnosis, base, before=before, after=after, unit=unit, wall=wall, screen=screen)


def _told_steps(steps: Sequence[StepPlan], rules: RuleSet, unit: Unit, *, drawn: bool) -> Iterator[HandStep]:
    """The rule's own sentences with the figures in them, of steps of which nothing is drawn on her outline."""
    by_rule = [step for step in steps if step.alteration in rules.alterations and not (drawn and step.operations)]
    for step in by_rule:
        entry = rules.alterations[step.alteration]
        said = [in_her_unit(sentence, unit) for sentence in w.filled(entry.by_hand, step.amount, unit)]
        if len(steps) == 1:
            yield from map(HandStep, said)
        else:
            side = f", {w.side_words(step.side)}" if step.side != "both" else ""
            figure = " ".join(filter(None, w.big_figure(step.amount, unit, entry.ways, side=step.side)))
            brief = f"{entry.title}{side}{f': {figure}' if figure else ''}."
            yield HandStep(f"{entry.title}{side}:", tuple((f"{n}.", one) for n, one in enumerate(said, 1)), brief=brief)
