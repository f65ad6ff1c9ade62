"""The front line recut for a stance: hollowed, tipped, or laid straight; and a stomacher recut."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec.structs import replace

from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import bounds, cut_level
from diagnose.pattern.operations import Fold, MoveEdge, ReshapeEdge
from diagnose.pattern.operations.move_edge import from_end_to_end
from diagnose.pattern.outline import SIDE_ROLES, STIFF_ROLES, Edge, Piece, Point, runs_along
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.cross_folds import wedge_over
from diagnose.plan.drawing.half import Half, by_halves, front_edges
from diagnose.plan.drawing.named_places import NOT_TO_FRONT, seams_named
from diagnose.plan.drawing.verbs.slid_shapes import front_straight
from diagnose.rulebase.reading.moves import Move

__all__ = ["front_line", "stomacher"]

ON_THE_FOLD = (
    "The front is cut on the fold, and a fold is straight. Cut it with a seam at centre front, hollow that by the"
    " amount at the underbust, and bend the busk alike."
)
NO_FRONT = "No edge of this pattern is marked as its front edge. Draw the front line by hand."
NO_LEVELS = "The underbust is not drawn on the front panel, so there is no place to hollow it. Draw it by hand."
NO_STOMACHER = "No piece of this pattern is named as its stomacher. Draw the stomacher itself by hand."
PAST_LINE_MM = 5.0
BEND_THE_BUSK = "Bend the busk, or the first bones, to the hollow; with a straight busk leave the edge straight."


def front_line(move: Move, task: Task, board: Board) -> Board:
    """The front edge hollowed under the bust, the front lengthened at the waist, or the edge laid straight."""
    what = move.what
    if what == "straighten":
        return front_straight(move, task, board)
    make = partial(_hollow_ops if what == "hollow" else _tip_ops, amount=task.length_mm)
    done = replace(by_halves(board, task, make), girth=True)
    return done.say(BEND_THE_BUSK) if what == "hollow" else done


def _front_edge(half: Half) -> tuple[Piece, Edge]:
    piece = half.pieces[0]
    found = [edge for edge in front_edges(piece) if edge.role in STIFF_ROLES]
    if not found:
        raise NotDrawnError(NO_FRONT)
    return piece, max(found, key=lambda edge: edge.start.y - edge.end.y)


def _hollow_ops(half: Half, amount: float) -> list[Op]:
    """Nothing at the edge's top and at the waist, the amount at the underbust."""
    piece, edge = _front_edge(half)
    if edge.role == "fold":
        raise NotDrawnError(ON_THE_FOLD)
    if not {"underbust", "waist"} <= piece.levels.keys():
        raise NotDrawnError(NO_LEVELS)
    if not amount:
        return []
    under, waist = (
        run_nearest(edge.segments, cut_level(piece, piece.level(station)).parts[0][0])[0]
        for station in ("underbust", "waist")
    )
    hollow = ReshapeEdge(
        piece=piece.name, edges=(edge.name,), from_=0.0, peak=under, to=waist, height=amount, direction="in"
    )
    return [hollow]


def _tip_ops(half: Half, amount: float) -> Sequence[Op]:
    """A spread just above the waist, the amount at centre front and nothing at the side seam."""
    if not amount:
        return []
    if not half.to_front:
        raise NotDrawnError(NOT_TO_FRONT)
    joins = seams_named(half, "side") if half.seams else []
    last = joins[0][0].front.piece if joins else half.pieces[0].name
    names = [piece.name for piece in half.pieces]
    return wedge_over(half.pieces[: names.index(last) + 1], "waist", at_front=-amount, at_back=0.0)


def stomacher(move: Move, task: Task, board: Board) -> Board:
    """The stomacher's side moved out from top to foot, or its foot carried down; it is a piece of its own."""
    piece = next((piece for piece in board.pattern.pieces if "stomacher" in piece.name), None)
    if piece is None:
        raise NotDrawnError(NO_STOMACHER)
    if not task.length_mm:
        return board
    if move.what == "lengthen":
        return board.do([_spread(piece, task.length_mm, task.settings.mm("stomacher-cut-at"))], "both")
    by = from_end_to_end(-task.length_mm, -task.length_mm)
    made = [
        MoveEdge(piece=piece.name, edge=first.name, by=by, on=tuple(edge.name for edge in on), channels="stay")
        for first, *on in runs_along(piece, [edge.name for edge in _outer(piece)])
    ]
    return board.do(made, "both")


def _spread(piece: Piece, amount: float, share: float) -> Fold:
    """Cut straight across at that share of its height and spread, so that the foot keeps its shape."""
    box = bounds(piece)
    y = box.bottom + share * (box.top - box.bottom)
    start, end = Point(box.left - PAST_LINE_MM, y), Point(box.right + PAST_LINE_MM, y)
    return Fold(
        piece=piece.name, from_=start, to=end, amount_from=-amount, amount_to=-amount, move="right"
    )  # fmt: skip


def _outer(piece: Piece) -> list[Edge]:
    """The free sides of a piece: one where it is cut on the fold, else both."""
    sides = [edge for edge in piece.edges if edge.role in SIDE_ROLES and edge.role != "fold"]
    middle = (bounds(piece).left + bounds(piece).right) / 2.0
    return sides if piece.cut != "fold" else [edge for edge in sides if max(edge.start.x, edge.end.x) > middle]
