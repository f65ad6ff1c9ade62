"""The head of a sleeve kept to its armhole: where the hole has changed, the sleeve's underarm seams are drawn to suit.

A head sewn to a hole is as much longer than it afterwards as it was before (its ease), whatever was done to the hole.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.pattern.finish.walking import as_before
from diagnose.pattern.measure import ends_at, seam_difference
from diagnose.pattern.operations import MoveEdge
from diagnose.pattern.operations.move_edge import from_end_to_end
from diagnose.pattern.outline import Edge, Pattern, Piece, Seam
from diagnose.plan.drawing.board import Board, Task

__all__ = ["heads_matched", "is_head_seam"]

HEAD_TO_HOLE = "The sleeve's underarm is drawn to suit, so that its head measures with the armhole as it did."
LEAST_RAISED_MM = 0.4
ROUNDS = 3


def heads_matched(board: Board, before: Pattern, task: Task) -> Board:
    """The board with every sleeve's head as much longer than its armhole as it was.

    Args:
        board: the board after the alteration.
        before: the pattern before it.
        task: gives the side that is altered.
    """
    made = board
    for _ in range(ROUNDS):
        steps = list(_steps(made.pattern, before))
        if not steps:
            break
        made = made.do(steps, task.side)
    return made.say(HEAD_TO_HOLE) if made is not board else board


def is_head_seam(pattern: Pattern, seam: Seam) -> bool:
    """Whether it sews a top edge to a top edge: a sleeve's head to an armhole."""
    return all(not ref.slit and pattern.piece(ref.piece).edge(ref.edge).role == "top" for ref in seam.refs)


def _steps(pattern: Pattern, before: Pattern) -> Iterator[MoveEdge]:
    for seam in pattern.seams:
        was = as_before(seam, before)
        if was is None or not is_head_seam(pattern, seam):
            continue
        longer = seam_difference(pattern, seam) - seam_difference(before, was)
        for ref, over in ((seam.a, longer), (seam.b, -longer)):
            piece = pattern.piece(ref.piece)
            # The body has levels, the sleeve none: the sleeve is drawn to the body.
            if piece.levels or abs(over) <= LEAST_RAISED_MM:
                continue
            seams = _underarm_seams(piece, ref.edge)
            yield from (_taken_in(piece, one, piece.edge(ref.edge), over=over / len(seams)) for one in seams)


def _underarm_seams(piece: Piece, head: str) -> list[Edge]:
    """The sleeve's seams that end where that edge of its head does."""
    line = piece.edge(head)
    return [
        seam for seam in piece.edges
        if seam.role == "seam" and any(ends_at(line, end) for end in (seam.start, seam.end))
    ]  # fmt: skip


def _taken_in(piece: Piece, seam: Edge, head: Edge, over: float) -> MoveEdge:
    """The sleeve's seam taken in at the underarm by what the head is too long, to nothing at the wrist."""
    by = from_end_to_end(over, 0.0) if ends_at(head, seam.start) else from_end_to_end(0.0, over)
    return MoveEdge(piece=piece.name, edge=seam.name, by=by, channels="stay")
