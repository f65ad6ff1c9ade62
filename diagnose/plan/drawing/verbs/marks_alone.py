"""Marks drawn anew while the outline stays: the grain line turned, the eyelets set closer at the waist."""

from __future__ import annotations

import math
from functools import partial

from diagnose.pattern.geometry.plane import across, angle, sub, unit
from diagnose.pattern.operations import Eyelets, Marks
from diagnose.pattern.outline import Piece
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.half import Half, by_halves
from diagnose.rulebase.reading.moves import Move

__all__ = ["eyelets", "grain"]

NO_LACING = "No edge of this pattern is marked as its lacing edge, so it bears no eyelets. Space them by hand."
STANDS = (
    "On this pattern every panel's grain line that may be turned stands square to its waist already: see whether the"
    " panel that ripples was laid on the cloth by it."
)


def grain(move: Move, task: Task, board: Board) -> Board:
    """The grain of each panel set square to its waist, where it leans by more than the least and less than the most."""
    done = by_halves(board, task, partial(_grain_ops, least=move.least_deg, most=move.most_deg))
    if done is board:
        raise NotDrawnError(STANDS)
    return done


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
    return math.degrees(angle(square, way))


def eyelets(move: Move, task: Task, board: Board) -> Board:
    """Twice as many holes for a little above and below the waist, where the edge scallops; the outline stays."""
    if not any(evidence.finding == "waist-puckers-between-eyelets" for evidence in task.item.cause.for_):
        return board.say("The lace alone is longer: no hole is added, and nothing is drawn.")
    made: list[Op] = [
        Eyelets(piece=piece.name, edge=edge.name, span=task.settings.mm("eyelets-closer"))
        for piece in board.pattern.pieces
        for edge in piece.edges
        if edge.role == "lacing" and "waist" in piece.levels
    ]
    if not made:
        raise NotDrawnError(NO_LACING)
    return board.do(made, "both")
