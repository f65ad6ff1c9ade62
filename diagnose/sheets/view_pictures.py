"""The pictures of a fitting sheet: the pattern as it is redrawn, the gap, and the rows of the wall sheet."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.pattern.outline import Pattern
from diagnose.plan.profiles import station_heights
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.gap_picture import draw_gap
from diagnose.sheets.drawn.pattern_drawing import draw_figures, redrawn_pieces
from diagnose.sheets.drawn.pieces_drawn import Figures, figures_of
from diagnose.sheets.drawn.screens import Screen, page_picture, readable_mm, screen_picture
from diagnose.sheets.drawn.work_layers import Lettered
from diagnose.sheets.view_model import SheetView, Tried
from diagnose.sheets.wall_sheet import drawn_high, wall_rows
from diagnose.sheets.words.view_words import predicted_gap

__all__ = ["with_pictures"]


def with_pictures(view: SheetView, tried: Tried, *, wall: bool, screen: Screen | None) -> SheetView:
    """The sheet with its pictures.

    Args:
        view: the sheet in words.
        tried: the try-on, worked out.
        wall: draw the rows of the wall sheet too.
        screen: where it is looked at; None for a sheet.
    """
    figures = _figures(tried, view)
    view = replace(
        view,
        gap_picture=_gap_picture(tried),
        pattern_picture=_pattern_picture(figures, view, screen) if figures else None,
    )
    if not wall:
        return view
    drawn_rows = wall_rows(figures, drawn_high(view)) if figures and figures.over else ()
    return replace(view, wall=drawn_rows, wall_gap=_gap_picture(tried, figures=False))


def _gap_picture(tried: Tried, *, figures: bool = True) -> Drawing | None:
    found, settings = tried.diagnosis, tried.base.settings
    if not found.gap.stations:
        return None
    predicted = predicted_gap(found.first_steps, found.gap)
    return draw_gap(found.gap, station_heights(settings), tried.unit, predicted=predicted, figures=figures)


def _figures(tried: Tried, view: SheetView) -> Figures | None:
    """The changed pieces over the old ones; the whole pattern where nothing changed."""
    before, after, unit = tried.before, tried.after, tried.unit
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
