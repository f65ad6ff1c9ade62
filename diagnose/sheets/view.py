"""Everything a fitting sheet shows, worked out once; the page and the terminal only lay it out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from diagnose.model.tryon import TryOn
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.plan.profiles import station_heights
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.gap_picture import draw_gap
from diagnose.sheets.drawn.pattern_drawing import draw_figures, redrawn_pieces
from diagnose.sheets.drawn.pieces_drawn import Figures, figures_of
from diagnose.sheets.drawn.screens import Screen, page_picture, readable_mm, screen_picture
from diagnose.sheets.drawn.wall_sheet import drawn_high, wall_rows
from diagnose.sheets.hand.by_hand import steps_for
from diagnose.sheets.hand.figures import HandStep, Lettered
from diagnose.sheets.view_model import SheetView
from diagnose.sheets.words import wording as w
from diagnose.sheets.words.view_words import predicted_gap, view_in_words
from diagnose.units import Unit, in_her_unit

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
    figures = _figures(before, after, unit, view=words)
    words = replace(
        words,
        gap_picture=_gap_picture(diagnosis, base, unit),
        pattern_picture=_pattern_picture(figures, version, date, screen=screen) if figures else None,
    )
    if not wall:
        return words
    drawn_rows = wall_rows(figures, drawn_high(words)) if figures and figures.over else ()
    return replace(words, wall=drawn_rows, wall_gap=_gap_picture(diagnosis, base, unit, figures=False))


def _gap_picture(diagnosis: Diagnosis, base: RuleBase, unit: Unit, *, figures: bool = True) -> Drawing | None:
    if not diagnosis.gap.stations:
        return None
    predicted = predicted_gap(diagnosis.first_steps, diagnosis.gap)
    return draw_gap(diagnosis.gap, station_heights(base.settings), unit, predicted=predicted, figures=figures)


def _figures(before: Pattern | None, after: Pattern | None, unit: Unit, view: SheetView) -> Figures | None:
    """The changed pieces over the old ones; the whole pattern where nothing changed."""
    if before is not None and after is not None and (names := _worked_on(before, after, view.letters)):
        return figures_of(after, before, unit, only=names, zones=view.zones, letters=view.letters)
    shown = after or before
    return figures_of(shown, None, unit, zones=view.zones, letters=view.letters) if shown is not None else None


def _pattern_picture(figures: Figures, version: str, date: str, screen: Screen | None) -> Drawing:
    if screen == "page":
        return page_picture(figures)
    if screen is not None:
        return screen_picture(figures, screen)[0]
    return draw_figures(figures, version=version, date=date, text_mm=readable_mm(figures))


def _worked_on(before: Pattern, after: Pattern, letters: Sequence[Lettered]) -> tuple[str, ...]:
    """The names of the pieces whose outline changed; else of those on which the steps set marks, or other changed."""
    lettered = {mark.piece for mark in letters}
    return (
        redrawn_pieces(before, after)
        or tuple(name for name in after.names if name in lettered)
        or tuple(piece.name for piece in after.pieces if piece not in before.pieces)
    )


def _told_steps(steps: Sequence[StepPlan], rules: RuleSet, unit: Unit, *, drawn: bool) -> Iterator[HandStep]:
    """The rule's own sentences with the figures in them, of steps of which nothing is drawn on her outline."""
    by_rule = [step for step in steps if step.alteration in rules.alterations and not (drawn and step.operations)]
    for step in by_rule:
        entry = rules.alterations[step.alteration]
        said = [in_her_unit(sentence, unit) for sentence in w.filled(entry.by_hand, step, unit)]
        if len(steps) == 1:
            yield from map(HandStep, said)
        else:
            side = f", {w.side_words(step.side)}" if step.side != "both" else ""
            figure = " ".join(filter(None, w.big_figure(step.amount, unit, entry.ways, side=step.side)))
            brief = f"{entry.title}{side}{f': {figure}' if figure else ''}."
            yield HandStep(f"{entry.title}{side}:", tuple((f"{n}.", one) for n, one in enumerate(said, 1)), brief=brief)
