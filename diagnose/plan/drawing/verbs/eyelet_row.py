"""The eyelets of every lacing edge set closer at the waist."""

from __future__ import annotations

from diagnose.pattern.operations import Eyelets
from diagnose.plan.drawing.board import Board, Move, NotDrawnError, Op, Task

__all__ = ["eyelets"]

SPAN_MM = 50.8
NO_LACING = "No edge of this pattern is marked as its lacing edge, so it bears no eyelets. Space them by hand."


def eyelets(move: Move, task: Task, board: Board) -> Board:
    """Twice as many holes for 2 in above and below the waist, where the edge scallops; the outline stays."""
    if not any(evidence.finding == "waist-puckers-between-eyelets" for evidence in task.item.cause.for_):
        return board.say("The lace alone is longer: no hole is added, and nothing is drawn.")
    made: list[Op] = [
        Eyelets(piece=piece.name, edge=edge.name, span=SPAN_MM)
        for piece in board.pattern.pieces
        for edge in piece.edges
        if edge.role == "lacing" and "waist" in piece.levels
    ]
    if not made:
        raise NotDrawnError(NO_LACING)
    return board.do(made, "both")
