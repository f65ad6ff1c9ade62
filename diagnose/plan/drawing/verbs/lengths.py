"""The length of the garment: every piece made shorter or longer at one height; on one side, most at the side seam."""

from __future__ import annotations

from functools import partial

from diagnose.pattern.geometry.plane import across, add, scaled, sub, unit
from diagnose.pattern.measure import cut_level
from diagnose.pattern.operations import Length
from diagnose.pattern.outline import Piece, Point
from diagnose.plan.drawing.board import Board, Move, NotDrawnError, Op, Task
from diagnose.plan.drawing.cross_folds import fold_across
from diagnose.plan.drawing.half import Half
from diagnose.plan.drawing.verbs.moved_seams import girth_kept, on_halves
from diagnose.plan.drawing.verbs.slid_shapes import side_parts
from diagnose.units import on_ruler, parse_length

__all__ = ["length"]

DRAWN_ON_MM = 50.8
NO_SIDE = (
    "A half cut in one piece cannot be made longer or shorter at its side alone: centre front and the lacing edge have"
    " to keep their length. Slash it at the side by hand, to nothing at both ends."
)
AT_SIDE = "Only the {side} side is altered: the whole amount at its side seam, nothing at centre front and back."


def length(move: Move, task: Task, board: Board) -> Board:
    """Every piece made shorter or longer at one height."""
    station, offset = str(move["station"]), parse_length(str(move.get("offset", "0 in"))) or 0.0
    amount = task.length_mm if move.get("way") == "shorten" else -task.length_mm
    if not amount:
        return board
    if task.side == "both":
        done = board.do([Length(station=station, offset=offset, amount=amount)], task.side)
        return girth_kept(done, board, task)
    make = partial(_side_ops, station=station, offset=offset, amount=amount, ruler_mm=task.settings.ruler_mm)
    done = board.do(on_halves(board.pattern, task, make), task.side).say(AT_SIDE.format(side=task.side))
    return girth_kept(done, board, task)


def _side_ops(half: Half, station: str, offset: float, amount: float, ruler_mm: float) -> list[Op]:
    """A wedge in each piece, from one end's share of the amount to the other's."""
    if not half.seams:
        raise NotDrawnError(NO_SIDE)
    amounts = [on_ruler(amount * part, ruler_mm) for part in side_parts(half)]
    made: list[Op] = []
    for piece, front, back in zip(half.pieces, amounts, amounts[1:], strict=False):
        ends = _line(piece, station, offset)
        if ends is not None and (front or back):
            made.append(fold_across(piece, ends[1], ends[0], back, front, "right" if offset >= 0.0 else "left"))
    return made


def _line(piece: Piece, station: str, offset: float) -> tuple[Point, Point] | None:
    """Where a line so far above the level (square to it) meets the front and the back of the piece."""
    if station not in piece.levels:
        return None
    level = piece.levels[station]
    way = unit(sub(level[-1], level[0]))
    up = scaled(across(way), offset)
    ends = add(sub(level[0], scaled(way, DRAWN_ON_MM)), up), add(add(level[-1], scaled(way, DRAWN_ON_MM)), up)
    parts = cut_level(piece, ends).parts
    return (parts[0][0], parts[-1][1]) if parts else None
