"""The shoulder of a bodice sloped anew, and its armhole raised for the sleeve; the sleeve follows."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.pattern.finish.walking import name_before
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.measure import edge_length, ends_at
from diagnose.pattern.operations import MoveEdge, ReshapeEdge
from diagnose.pattern.operations.move_edge import Place, from_end_to_end
from diagnose.pattern.outline import Edge, Pattern, Piece
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.verbs.redrawn_edges import edge
from diagnose.rulebase.reading.moves import Move

__all__ = ["armhole_raise", "shoulder"]

NO_SHOULDER = "No seam of this pattern is named as its shoulder. Draw the shoulder by hand, at the loose end."
NO_ARMHOLE = "No edge of this pattern is named as its armhole. Raise it by hand, and the sleeve's underarm as much."
LOOSE_END = "Drawn for a loose outer end. If it is the neck end that stands off, answer so and draw it again."
UNDERARM_UP = Move(do="edge", place="underarm", direction="up")
SLEEVE_BY_HAND = "No sleeve is among these pieces: raise its underarm by {much} too."
BLEND, BLEND_OF_TWO = 0.9, 0.5


def shoulder(move: Move, task: Task, board: Board) -> Board:
    """Both shoulder lines lowered at the loose end, to nothing at the other; at the arm the armhole comes too."""
    amount = task.length_mm
    if not amount:
        return board
    at_neck = move.end == "neck"
    sloped = [op for piece in _of_side(board, task) for op in _sloped(piece, amount, at_neck)]
    if not sloped:
        raise NotDrawnError(NO_SHOULDER)
    done = board.do(sloped, task.side)
    if at_neck:
        return done
    brought = [op for piece in _of_side(done, task) for op in _brought_down(piece, board.pattern, amount)]
    return done.do(brought, task.side).say(LOOSE_END)


def _of_side(board: Board, task: Task) -> list[Piece]:
    return [piece for piece in board.pattern.pieces if task.side == "both" or piece.side in ("both", task.side)]


def _shoulders(piece: Piece) -> Iterator[tuple[Edge, Edge]]:
    """The shoulder lines of a piece, each with the armhole that it ends at."""
    for line in piece.edges:
        hole = next((h for h in _armholes(piece) if ends_at(line, h.start) or ends_at(line, h.end)), None)
        if "shoulder" in line.name and hole is not None:
            yield line, hole


def _sloped(piece: Piece, amount: float, at_neck: bool) -> Iterator[Op]:
    """The shoulder line lowered at the arm, or at the neck."""
    for line, hole in _shoulders(piece):
        first, last = (amount, 0.0) if ends_at(hole, line.start) is not at_neck else (0.0, amount)
        by = from_end_to_end(first, last)
        yield MoveEdge(piece=piece.name, edge=line.name, by=by, channels="stay")


def _brought_down(piece: Piece, before: Pattern, amount: float) -> Iterator[Op]:
    """The armhole brought down with its shoulder, and in by what the shoulder line has grown: both keep their size."""
    old = before.piece(name_before(piece.name, before) or piece.name)
    for line, hole in _shoulders(piece):
        grown = edge_length(line) - edge_length(old.edge(line.name))
        level = abs(line.end.x - line.start.x) / distance(line.start, line.end)
        arm_first = ends_at(line, hole.start)
        arm, foot = (hole.start, hole.end) if arm_first else (hole.end, hole.start)
        by = from_end_to_end(grown * level, 0.0) if arm_first else from_end_to_end(0.0, grown * level)
        yield ReshapeEdge(
            piece=piece.name, edges=(hole.name,), from_=arm, peak=foot, to=foot, height=amount, direction="down"
        )
        yield MoveEdge(piece=piece.name, edge=hole.name, by=by, channels="stay")


def _armholes(piece: Piece) -> list[Edge]:
    return [line for line in piece.edges if "armhole" in line.name]


def armhole_raise(move: Move, task: Task, board: Board) -> Board:
    """The foot of the armhole raised to nothing half way up, and the ends of the sleeve's cap as much."""
    amount = task.length_mm
    if not any(_armholes(piece) for piece in board.pattern.pieces):
        raise NotDrawnError(NO_ARMHOLE)
    if not amount:
        return board
    capped = [p for p in _of_side(board, task) if _armholes(p) or "sleeve" in p.name]
    board = board.parted(capped, task.side)
    rises = [op for piece in _of_side(board, task) for op in _foot_raised(piece, amount)]
    done = board.do(rises, task.side) if rises else edge(UNDERARM_UP, task, board)
    caps = [(p, line) for p in _of_side(done, task) for line in p.edges if "cap" in line.name and "sleeve" in p.name]
    if not caps:
        return done.say(SLEEVE_BY_HAND.format(much=task.say(amount)))
    return done.do([_cap_op(piece, line, amount) for piece, line in caps], task.side)


def _foot_raised(piece: Piece, amount: float) -> Iterator[Op]:
    """The foot of an armhole that ends at the side seam raised straight up, to nothing at its other end.

    Straight up and not square to the line: an offset would draw the hollow at the foot together.
    """
    seams = [line for line in piece.edges if line.role == "seam" and "shoulder" not in line.name]
    for hole in _armholes(piece):
        foot, arm = sorted((hole.start, hole.end), key=lambda end: end.y)
        if any(ends_at(seam, foot) for seam in seams):
            yield ReshapeEdge(
                piece=piece.name, edges=(hole.name,), from_=arm, peak=foot, to=foot, height=amount, direction="up"
            )


def _cap_op(piece: Piece, line: Edge, amount: float) -> MoveEdge:
    """The cap's end at the underarm raised, to nothing before its middle."""
    seams = [other for other in piece.edges if other.role == "seam"]
    at_start = any(ends_at(seam, line.start) for seam in seams)
    both_ends = at_start and any(ends_at(seam, line.end) for seam in seams)
    shares = [(0.0, -amount), (BLEND, 0.0)] if at_start else [(1.0 - BLEND, 0.0), (1.0, -amount)]
    if both_ends:
        shares = [(0.0, -amount), (BLEND_OF_TWO, 0.0), (1.0, -amount)]
    by = tuple(Place(along=at, mm=mm) for at, mm in shares)
    return MoveEdge(piece=piece.name, edge=line.name, by=by, channels="stay")
