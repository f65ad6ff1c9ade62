"""The pictures of a fitting sheet: the pattern as it is redrawn, the gap, and the rows of the wall sheet."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis
from diagnose.plan.profiles import station_heights
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.gap_picture import draw_gap
from diagnose.sheets.drawn.pattern_drawing import draw_figures, redrawn_pieces
from diagnose.sheets.drawn.pieces_drawn import Figures, figures_of
from diagnose.sheets.drawn.screens import Screen, page_picture, readable_mm, screen_picture
from diagnose.sheets.drawn.work_layers import Lettered
from diagnose.sheets.view_model import SheetView
from diagnose.sheets.wall_sheet import drawn_high, wall_rows
from diagnose.sheets.words.view_words import predicted_gap
from diagnose.units import Unit

__all__ = ["with_pictures"]


def with_pictures(
    view: SheetView, diagnosis: Diagnosis, base: RuleBase, *, before: Pattern | None, after: Pattern | None, unit: Unit,
    wall: bool, screen: Screen | None,
) -> SheetView:  # fmt: skip
    """The sheet with its pictures; the arguments are those of `build_view`."""
    figures = _figures(before, after, unit, view=view)
    view = replace(
        view,
        gap_picture=_gap_picture(diagnosis, base, unit),
        pattern_picture=_pattern_picture(figures, view, screen) if figures else None,
    )
    if not wall:
        return view
    drawn_rows = wall_rows(figures, drawn_high(view)) if figures and figures.over else ()
    return replace(view, wall=drawn_rows, wall_gap=_gap_picture(diagnosis, base, unit, figures=False))


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


def _pattern_picture(figures: Figures, view: SheetView, screen: Screen | None) -> Drawing:
    if screen == "page":
        return page_picture(figures)
    if screen is not None:
        return screen_picture(figures, screen)[0]
    return draw_figures(figures, version=view.version, date=view.date, text_mm=readable_mm(figures))


def _worked_on(before: Pattern, after: Pattern, letters: Sequence[Lettered]) -> tuple[str, ...]:
    """The names of the pieces whose outline changed; else of those on which the steps set marks, or other changed."""
    lettered = {mark.piece for mark in letters}
    return (
        redrawn_pieces(before, after)
        or tuple(name for name in after.names if name in lettered)
        or tuple(piece.name for piece in after.pieces if piece not in before.pieces)
    )
