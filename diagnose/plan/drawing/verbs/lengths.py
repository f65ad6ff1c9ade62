"""The length of the garment: every piece made shorter or longer at one height; on one side, most at the side seam."""

from __future__ import annotations

import math
from functools import partial

from msgspec.structs import replace

from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.finish.given_back import gains
from diagnose.pattern.geometry.plane import across, add, scaled, sub, unit
from diagnose.pattern.measure import cut_level
from diagnose.pattern.operations import Length, MoveEdge, Tabs
from diagnose.pattern.operations.move_edge import Place
from diagnose.pattern.outline import EdgeRef, Pattern, Piece, Point
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.cross_folds import fold_across
from diagnose.plan.drawing.half import Half, by_halves, halves_of
from diagnose.plan.drawing.verbs.moved_seams import girth_kept
from diagnose.plan.drawing.verbs.redrawn_edges import edge
from diagnose.plan.drawing.verbs.slid_shapes import side_parts
from diagnose.rulebase.reading.moves import Move
from diagnose.units import INCH_MM, on_ruler

__all__ = ["length"]

CARRIED_ON_MM = 2 * INCH_MM
ONE_PIECE = (
    "Only the {side} side is altered. With no seam at the side, what is wanted there is drawn at the {edge}: the whole"
    " amount at the side, nothing at centre front and back."
)
AT_HEM = (
    "This half is cut in one piece, with no seam to take up what a cut across it would change in its widths. So the"
    " length is drawn at the lower edge, along the slits and the straight edges beside it; every level above it stays."
)
NO_MORE_ROOM = "{drawn} is drawn, not the {wanted} that is wanted. With all of it: {why}"
AT_SIDE = "Only the {side} side is altered: the whole amount at its side seam, nothing at centre front and back."


def length(move: Move, task: Task, board: Board) -> Board:
    """Every piece made shorter or longer at one height."""
    station, offset = move.station, move.offset_mm
    amount = task.length_mm if move.way == "shorten" else -task.length_mm
    if not amount:
        return board
    one_piece = not halves_of(board.pattern, task.side, task.settings)[0].seams
    if task.side == "both":
        done = _at_hem(task, board, amount) if one_piece and not _is_above(station, offset) else None
        if done is not None:
            return done
        whole = Length(station=station, offset=offset, amount=amount, between=task.settings.mm("levels-apart-least"))
        made = _as_much_as_goes(board, task, whole)
        return girth_kept(made, board, task)
    if one_piece:
        return _edge_at_side(task, board, station, offset=offset, amount=amount)
    make = partial(_side_ops, station=station, offset=offset, amount=amount, ruler_mm=task.settings.ruler_mm)
    done = by_halves(board, task, make).say(AT_SIDE.format(side=task.side))
    done = _steel_given_back(done, board, task)
    still: tuple[Station, ...] = ("top",) if _is_sewn_on(board.pattern, task) else ()
    return girth_kept(done, board, task, still=still)


def _as_much_as_goes(board: Board, task: Task, whole: Length) -> Board:
    """The board after the change of length, or of as much of it, in whole marks of the ruler, as the levels leave room
    for; no less than the alteration is worth doing for.

    Raises:
        NotDrawnError: when there is no room for that either, as the whole of it is refused.
    """
    try:
        return board.do([whole], task.side)
    except NotDrawnError as refused:
        mark, least = task.settings.ruler_mm, task.item.alteration.smallest or 0.0
        low, high = max(1, math.ceil(least / mark - NOISE_MM)), math.ceil(abs(whole.amount) / mark - NOISE_MM)
        found: tuple[float, Board] | None = None
        while low < high:
            middle = (low + high) // 2
            part = replace(whole, amount=math.copysign(middle * mark, whole.amount))
            try:
                found, low = (middle * mark, board.do([part], task.side)), middle + 1
            except NotDrawnError:
                high = middle
        if found is None:
            raise
        drawn_mm, drawn = found
        said = NO_MORE_ROOM.format(drawn=task.say(drawn_mm), wanted=task.say(abs(whole.amount)), why=refused)
        return replace(drawn, length_mm=drawn_mm).say(said)


def _at_hem(task: Task, board: Board, amount: float) -> Board | None:
    """The length drawn at the lower edge of a half in one piece, along its slits and the straight edges beside it; None
    where there is no room for it there.
    """
    try:
        done = board.do([Tabs(piece=piece.name, lengthen=-amount) for piece in board.pattern.pieces], task.side)
    except NotDrawnError:
        return None
    return done.say(AT_HEM)


def _is_above(station: str, offset: float) -> bool:
    return offset > 0.0 or (station != "waist" and STATIONS.index(station) < STATIONS.index("waist"))


def _edge_at_side(task: Task, board: Board, station: str, offset: float, amount: float) -> Board:
    """A half in one piece has nothing shaped at its side between waist and edge: the edge itself is drawn anew."""
    above = _is_above(station, offset)
    way = "up" if above == (amount < 0.0) else "down"
    move = Move(do="edge", place="underarm" if above else "side-hem", direction=way)
    drawn = replace(task, item=replace(task.item, amount=replace(task.item.amount, length_mm=abs(amount))))
    done = edge(move, drawn, board)
    return done.say(ONE_PIECE.format(side=task.side, edge="top edge" if above else "lower edge"))


def _is_sewn_on(pattern: Pattern, task: Task) -> bool:
    """Whether a piece is sewn to the half's top edge that is none of it, as a sleeve is."""
    tops = {
        EdgeRef(p.name, edge.name)
        for p in halves_of(pattern, task.side, task.settings)[0].pieces
        for edge in p.edges
        if edge.role == "top"
    }
    return any(ref in tops for seam in pattern.seams for ref in seam.refs)


def _side_ops(half: Half, station: str, offset: float, amount: float, ruler_mm: float) -> list[Op]:
    """A wedge in each piece, from one end's share of the amount to the other's."""
    amounts = [on_ruler(amount * part, ruler_mm) for part in side_parts(half)]
    made: list[Op] = []
    for piece, front, back in zip(half.pieces, amounts, amounts[1:], strict=False):
        ends = _line(piece, station, offset)
        if ends is not None and (front or back):
            made.append(
                fold_across(
                    piece, ends[1], ends[0], at_start=back, at_end=front, move="right" if offset >= 0.0 else "left"
                )
            )
    return made


def _steel_given_back(board: Board, before: Board, task: Task) -> Board:
    """The board with what the steel edges, kinked by the wedges and ruled straight, have given or taken at each level
    taken or given again at the seam across. Whole marks of a ruler would make that seam bend to and fro.
    """
    made: list[Op] = []
    now, then = (halves_of(one.pattern, task.side, task.settings)[0].pieces for one in (board, before))
    for piece, was in zip(now, then, strict=True):
        for seam in (one for one in piece.edges if one.role == "seam"):
            by = tuple(Place(at=one.station, mm=one.by_mm) for one in gains(piece, was, seam))
            made += [MoveEdge(piece=piece.name, edge=seam.name, by=by)] if by else []
    return board.do(made, task.side) if made else board


def _line(piece: Piece, station: str, offset: float) -> tuple[Point, Point] | None:
    """Where a line so far above the level (square to it) meets the front and the back of the piece."""
    if station not in piece.levels:
        return None
    level = piece.levels[station]
    way = unit(sub(level[-1], level[0]))
    up = scaled(across(way), offset)
    ends = (
        add(sub(level[0], scaled(way, CARRIED_ON_MM)), up),
        add(add(level[-1], scaled(way, CARRIED_ON_MM)), up),
    )
    return cut_level(piece, ends).ends
