"""Levels, grain and landmarks drawn anew by hand: the outline stays."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.pattern.altered import Altered
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.outline import Pattern, Piece
from diagnose.sheets.hand.figures import HandStep, Ruled
from diagnose.sheets.hand.paper_places import Desk, Found, on_edge, within
from diagnose.sheets.hand.pictures import picture
from diagnose.sheets.words.names import piece_words

__all__ = ["mark_steps"]


def mark_steps(desk: Desk, do: Marks, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """Each line from its one end to its other, each point where it has come to lie."""
    piece = made.pattern.piece(do.piece)
    for shift in do.levels:
        line = piece.levels[shift.station]
        ends = on_edge(desk, piece, line[0]), on_edge(desk, piece, line[-1])
        yield _line(piece, f"the {shift.station} line", f"level:{shift.station}", ends)
    if do.grain_deg and piece.grain:
        yield _line(
            piece, "the grain line", "grain", (within(desk, piece, piece.grain[0]), within(desk, piece, piece.grain[1]))
        )
    for moved in do.landmarks:
        found = within(desk, piece, piece.landmarks[moved.name])
        text = f"On {piece_words(piece)}, mark {moved.name.replace('-', ' ')} anew: {found.words}."
        yield HandStep(text, (), found.figures, picture(piece, {found.mark: found.spot}, title=text), brief=text)


def _line(piece: Piece, name: str, what: str, ends: tuple[Found, Found]) -> HandStep:
    low, high = ends
    text = (
        f"On {piece_words(piece)}, draw {name} anew: {low.words}; {high.words}. Rule {low.mark}–{high.mark} and rub out"
        " the old line."
    )
    spots = {found.mark: found.spot for found in ends}
    figures = (*low.figures, *high.figures, Ruled(piece.name, what, (low.mark, high.mark)))
    return HandStep(text, (), figures, picture(piece, spots, lines=((low.spot, high.spot),), title=text),
                    brief=f"Draw {name} anew, {low.mark}–{high.mark}.")  # fmt: skip
