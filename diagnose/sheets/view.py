"""Everything a fitting sheet shows, worked out once; the page and the terminal only lay it out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from diagnose.plan.planned import StepPlan
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sheets.hand.by_hand import steps_for
from diagnose.sheets.hand.figures import HandStep
from diagnose.sheets.view_model import SheetView, Tried
from diagnose.sheets.words import wording as w
from diagnose.sheets.words.view_words import view_in_words
from diagnose.units import Unit, in_her_unit

if TYPE_CHECKING:
    from diagnose.sheets.drawn.screens import Screen

__all__ = ["build_view"]


def build_view(tried: Tried, *, pictures: bool = True, wall: bool = True, screen: Screen | None = None) -> SheetView:
    """The sheet of one try-on.

    Args:
        tried: the try-on, worked out.
        pictures: draw them; a terminal shows none.
        wall: draw the rows of the wall sheet among them, which are for paper alone.
        screen: where it is looked at, whose letters are then high enough for it; None for a sheet.
    """
    words, drawn, unit = view_in_words(tried), tried.drawn, tried.unit
    steps = tuple(_told_steps(tried.diagnosis.first_steps, tried.base.entries, unit, drawn=drawn is not None))
    if drawn is not None:
        by_hand = steps_for(drawn.operations, drawn.before, drawn.after, unit=unit, made=drawn.made)
        words = replace(words, zones=drawn.altered.zones)
        steps = (*by_hand, *steps)
    words = replace(words, steps=steps)
    if not pictures:
        return words
    from diagnose.sheets.view_pictures import with_pictures  # here, for a terminal shows none

    return with_pictures(words, tried, wall=wall, screen=screen)


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
