"""Levels, grain and landmarks drawn anew by hand: the outline stays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import piece_words
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.outline import Pattern, Piece
from diagnose.sheets.hand.figures import HandStep, Ruled
from diagnose.sheets.hand.paper_places import Desk, Found, on_edge, within
from diagnose.sheets.hand.pictures import Picture

__all__ = ["mark_steps"]


def mark_steps(desk: Desk, do: Marks, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """Each line from its one end to its other, each point where it has come to lie."""
    piece = made.pattern.piece(do.piece)
    for shift in do.levels:
        line = piece.levels[shift.station]
        ends = on_edge(desk, piece, line[0]), on_edge(desk, piece, line[-1])
        over = [within(desk, piece, point) for point in line[2:-2:2]] if shift.middle is not None else []
        yield _line(piece, f"the {shift.station} line", f"level:{shift.station}", ends=ends, over=over)
    if do.grain_deg and piece.grain:
        yield _line(
            piece,
            "the grain line",
            "grain",
            ends=(within(desk, piece, piece.grain[0]), within(desk, piece, piece.grain[1])),
        )
    for moved in do.landmarks:
        found = within(desk, piece, piece.landmarks[moved.name])
        text = f"On {piece_words(piece.name)}, mark {moved.name.replace('-', ' ')} anew: {found.words}."
        yield HandStep(text, (), found.figures, pictures=(Picture(piece, {found.mark: found.spot}),), brief=text)


def _line(
    piece: Piece, name: str, what: str, ends: tuple[Found, Found], over: Sequence[Found] = ()
) -> HandStep:  # fmt: skip
    low, high = ends
    places = [low, *over, high]
    along = "–".join(found.mark for found in places)
    how = f"Draw one smooth line {along}" if over else f"Rule {along}"
    measured = "; ".join(found.words for found in (low, high, *over))
    text = f"On {piece_words(piece.name)}, draw {name} anew: {measured}. {how} and rub out the old line."
    spots = {found.mark: found.spot for found in places}
    figures = [figure for found in (low, high, *over) for figure in found.figures]
    ruled = Ruled(piece.name, what, (low.mark, high.mark), over=tuple(found.mark for found in over))
    picture = Picture(piece, spots, lines=(tuple(found.spot for found in places),))
    return HandStep(text, (), (*figures, ruled), pictures=(picture,), brief=f"Draw {name} anew, {along}.")
