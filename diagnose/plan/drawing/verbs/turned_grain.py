"""The grain line turned on the paper; the outline stays."""

from __future__ import annotations

import math
from functools import partial

from diagnose.pattern.geometry.plane import across, cross, dot, sub, unit
from diagnose.pattern.operations import Marks
from diagnose.pattern.outline import Piece
from diagnose.plan.drawing.board import Board, Move, NotDrawnError, Task
from diagnose.plan.drawing.half import Half
from diagnose.plan.drawing.verbs.moved_seams import on_halves

__all__ = ["grain"]

STANDS = (
    "On this pattern every panel's grain line that may be turned stands square to its waist already: see whether the"
    " panel that ripples was laid on the cloth by it."
)


def grain(move: Move, task: Task, board: Board) -> Board:
    """The grain of each panel set square to its waist, where it leans by more than the least and less than the most."""
    least, most = (float(str(move[key])) for key in ("least_deg", "most_deg"))
    operations = on_halves(board.pattern, task, partial(_grain_ops, least=least, most=most))
    if not operations:
        raise NotDrawnError(STANDS)
    return board.do(operations, task.side)


def _grain_ops(half: Half, least: float, most: float) -> list[Marks]:
    leans = {piece.name: _lean_deg(piece) for piece in half.pieces if not _on_fold(piece)}
    return [Marks(piece=name, grain_deg=-lean) for name, lean in leans.items() if least <= abs(lean) <= most]


def _on_fold(piece: Piece) -> bool:
    """Whether the piece is cut on the fold, which lies on the thread and ties its grain to it."""
    return any(edge.role == "fold" for edge in piece.edges)


def _lean_deg(piece: Piece) -> float:
    """How far the grain line leans from square to the waist, counter-clockwise positive; 0 where one is not drawn."""
    if piece.grain is None or "waist" not in piece.levels:
        return 0.0
    level = piece.levels["waist"]
    low, high = sorted(piece.grain, key=lambda point: point.y)
    way, square = unit(sub(high, low)), across(unit(sub(level[-1], level[0])))
    return math.degrees(math.atan2(cross(square, way), dot(square, way)))
