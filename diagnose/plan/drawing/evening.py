"""Walking the seams after an alteration, and truing at top or bottom those that no longer match.

Partners are walked from the waist, up and then down. An arm that has come out too long or too short by more than
1/16 in is put right at its end, on the piece that was altered (where both were, on the longer): the top or bottom edge
is redrawn to it, fading to nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from diagnose.pattern.finish.walking import arms_change, beside_end, owed, rises
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.blend import reach_for
from diagnose.pattern.geometry.plane import cross
from diagnose.pattern.in_words import place_title
from diagnose.pattern.measure import edge_length, edge_point_at
from diagnose.pattern.operations import ReshapeEdge
from diagnose.pattern.outline import Edge, EdgeRef, Pattern, Piece, Seam
from diagnose.plan.drawing.board import Board, NotDrawnError, Task, touched_by
from diagnose.plan.drawing.sleeve_heads import is_head_seam

__all__ = ["evened"]

LEAST_EDGE_SINE = 0.3
AGAIN = 3


def evened(board: Board, before: Pattern, task: Task) -> Board:
    """The board with every seam that the alteration has made uneven trued.

    Args:
        board: the board after the alteration.
        before: the pattern before it.
        task: gives the unit for what is said.
    """
    touched = {name for operation in board.operations if (name := touched_by(operation))}
    for _ in range(AGAIN):
        for seam in board.pattern.seams:
            if seam.a == seam.b or is_head_seam(board.pattern, seam):
                continue
            for upper, longer_mm in [*owed(board.pattern, seam, arms_change(before, board.pattern, seam))]:
                board = _trued(board, seam, longer_mm, touched=touched, task=task, upper=upper)
    return board


def _trued(board: Board, seam: Seam, longer_mm: float, touched: Collection[str], task: Task, *, upper: bool) -> Board:
    for ref, by_mm in _sides(seam, longer_mm, touched):
        made = _ended(board, ref, by_mm, upper=upper)
        if made is not None:
            way, end = "longer" if by_mm > 0.0 else "shorter", "top" if upper else "bottom"
            said = f"{place_title(board.pattern, *ref)} is drawn {task.say(abs(by_mm))} {way} at the {end}."
            return made.say(f"Walked against its partner: {said}")
    return board


def _sides(seam: Seam, longer_mm: float, touched: Collection[str]) -> Iterator[tuple[EdgeRef, float]]:
    """Which side to true and by how much, best first; `longer_mm` is how much longer side a has become."""
    sides = [(seam.a, -longer_mm), (seam.b, longer_mm)]
    yield from sorted(sides, key=lambda side: (side[0].piece not in touched, side[1]))


def _ended(board: Board, ref: EdgeRef, by_mm: float, *, upper: bool) -> Board | None:
    """The board with the edge that much longer at its top or bottom end; None where it cannot be."""
    piece = board.pattern.piece(ref.piece)
    edge = piece.edge(ref.edge)
    beside = beside_end(piece, edge, upper=upper)
    if beside is None:
        return None
    try:
        return board.do([_ending(piece, edge, beside, by_mm=by_mm, at_start=rises(edge) == upper)], "both")
    except NotDrawnError:
        return None


def _ending(piece: Piece, edge: Edge, beside: Edge, by_mm: float, *, at_start: bool) -> ReshapeEdge:
    """The edge beside redrawn at their corner, square to itself, by so much that the edge becomes that much longer."""
    size = edge_length(beside)
    along = tangent(edge.segments[-1], 1.0) if at_start else tangent(edge.segments[0], 0.0)
    level = tangent(beside.segments[0], 0.0) if at_start else tangent(beside.segments[-1], 1.0)
    by_mm *= max(LEAST_EDGE_SINE, abs(cross(along, level)))
    reach = min(size, reach_for(by_mm))
    corner, far = (0.0, reach) if at_start else (size, size - reach)
    return ReshapeEdge(
        piece=piece.name,
        edges=(beside.name,),
        from_=edge_point_at(beside, corner),
        peak=edge_point_at(beside, corner),
        to=edge_point_at(beside, far),
        height=abs(by_mm),
        direction="out" if by_mm > 0.0 else "in",
    )
