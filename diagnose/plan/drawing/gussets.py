"""A gusset let into a slit so that a station gets back what it was to have."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from diagnose.model.diagnosis import Side
from diagnose.model.stations import Station
from diagnose.pattern.in_words import slit_title
from diagnose.pattern.operations import InsertGore
from diagnose.pattern.outline import Pattern, Piece, Slit, half_name
from diagnose.plan.drawing.board import Board, NotDrawnError, Task
from diagnose.plan.drawing.landing import landed, misses_mm

__all__ = ["gore_op", "let_in", "own_piece"]


def let_in(board: Board, before: Board, piece: str, slit: str, wanted: Mapping[Station, float], task: Task) -> Board:
    """The board with a gusset in the slit, as wide as brings the station's change to what was wanted of one half.

    Args:
        board: the board as it stands.
        before: the board before the whole alteration, against which the change is measured.
        piece: the piece, by the name it had before it may have been parted.
        slit: the slit's name.
        wanted: the change of one half at one station, mm.
        task: gives side, ruler and halves.
    """
    own = own_piece(board.pattern, piece, task.side)
    cut = next(one for one in own.slits if one.name == slit)
    missing = misses_mm(board, wanted, before, task=task)

    def draw(amounts: Mapping[Station, float]) -> Board:
        width = -sum(amounts.values())
        return replace(board.do([gore_op(own, cut, width)], task.side), girth=True) if width > 0.0 else board

    try:
        return landed(draw, missing, board, task=task)
    except NotDrawnError as why:
        return board.say(f"No gusset could be let into {slit_title(slit)}: {why}")


def gore_op(piece: Piece, slit: Slit, width: float) -> InsertGore:
    """A gore of that width at the foot of a slit that is there, its tip at the slit's own."""
    return InsertGore(piece=piece.name, slit_foot=slit.line[0], tip=slit.line[-1], width=width)


def own_piece(pattern: Pattern, name: str, side: Side) -> Piece:
    """The piece of that name, or the side's own piece that it has been parted into."""
    names = pattern.names
    return pattern.piece(name if name in names else half_name(name, side))
