"""Redrawing the top and bottom edges, and the channels that end at them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import partial
from itertools import pairwise

from diagnose.pattern.curves import nearest, run_place, tangent
from diagnose.pattern.operations.bones import EDGE_CLEARANCE_MM, ENDED_THERE_MM, exit_of
from diagnose.pattern.outline import Channel, Edge, Piece, Point
from diagnose.pattern.plane import across, scaled
from diagnose.plan.drawing.board import Board, Move, NotDrawnError, Op, Task, point_json
from diagnose.plan.drawing.half import Half
from diagnose.plan.drawing.lines import Stretch
from diagnose.plan.drawing.places import Place, place_named
from diagnose.plan.drawing.verbs_seams import on_halves

__all__ = ["channels", "edge"]

MOST_SLANT_DEG = 15.0
AT_END_MM = 0.5
TOO_NEAR_MM = 0.5


def edge(move: Move, task: Task, board: Board) -> Board:
    """A place of the top or bottom edge redrawn by the amount: up, down, out or in."""
    name, way = str(move.get("place", "")), str(move.get("direction", "up"))
    make = partial(_edge_ops, name=name, way=way, height=task.length_mm)
    return board.do(on_halves(board.pattern, task, make), task.side)


def _edge_ops(half: Half, name: str, way: str, height: float) -> list[Op]:
    place = place_named(half, name)
    if not height:
        return []
    pieces = {one.piece for one in place.stretches}
    at_end = place.peak_from in (0.0, place.line.size) or place.peak_to in (0.0, place.line.size)
    if len(pieces) == 1 and (place.peak_from == place.peak_to or not at_end):
        return [_one_hump(place, way, height)]
    return [op for one in place.stretches for op in _moved(one, place, _outward(place, way) * height)]


def _one_hump(place: Place, way: str, height: float) -> Op:
    points = {"from": place.start, "peak": place.peak, "to": place.end}
    return {
        "op": "reshape-edge",
        "piece": place.stretches[0].piece,
        "edge": [one.edge.name for one in place.stretches],
        **{key: point_json(place.point(s)) for key, s in points.items()},
        "height": height,
        "direction": _direction(place, way),
    }


def _direction(place: Place, way: str) -> str:
    """The direction on the paper: up and down where the edge lies level, else square to the edge (out and in)."""
    slant = abs(math.degrees(math.atan2(*reversed(_tangent(place.at(place.peak), place.peak)))))
    if min(slant, 180.0 - slant) <= MOST_SLANT_DEG:
        return way
    top = place.line.role == "top"
    return {"up": "out" if top else "in", "down": "in" if top else "out"}.get(way, way)


def _tangent(one: Stretch, s: float) -> Point:
    index, t = run_place(one.edge.segments, one.along(s) * one.size)
    return tangent(one.edge.segments[index], t)


def _outward(place: Place, way: str) -> float:
    """1 where the direction leads off the paper, -1 where it leads into it."""
    return 1.0 if way == "out" or way == ("up" if place.line.role == "top" else "down") else -1.0


def _moved(one: Stretch, place: Place, height: float) -> list[Op]:
    """One stretch of a place that runs over several pieces; amounts of `move-edge` are positive inwards."""
    marks = [place.start, place.peak_from, place.peak_to, place.end]
    inner = [s for s in marks if one.begin + AT_END_MM < s < one.end - AT_END_MM]
    stops = sorted({one.begin, *inner, one.end})
    stops = sorted({*stops, *((a + b) / 2.0 for a, b in pairwise(stops))})
    by = [{"along": one.along(s), "mm": -height * place.part_at(s)} for s in stops]
    return [{"op": "move-edge", "piece": one.piece, "edge": one.edge.name, "by": by, "channels": "follow"}]


def channels(move: Move, task: Task, board: Board) -> Board:
    """The channels at a place: carried to the edge, cut back from it, or moved aside; what cannot be is said."""
    name, what = str(move.get("place", "")), str(move.get("what", ""))
    if what == "add":
        return board.say("Draw the new channel by hand, where the instructions say, clear of seams and slits.")
    make = partial(_channel_ops, name=name, what=what, by_mm=task.length_mm)
    operations = on_halves(board.pattern, task, make)
    if not operations and not board.operations:
        return board.say("The channels there already end where they should.")
    try:
        return board.do(operations, task.side)
    except NotDrawnError as why:
        return board.say(f"The channels there are left as they are: {why}")


def _channel_ops(half: Half, name: str, what: str, by_mm: float) -> list[Op]:
    place = place_named(half, name)
    role = place.line.role
    made: list[Op] = []
    for piece_name in dict.fromkeys(one.piece for one in place.stretches):
        piece = half.piece(piece_name)
        if what == "move":
            made += _aside(piece, place, by_mm)
            continue
        names = [c.name for c in piece.channels if _to_carry(piece, c, place, what)]
        clearance = {"clearance": EDGE_CLEARANCE_MM}
        made += [{"op": "channels", "piece": piece.name, "extend": names, "to": role, **clearance}] if names else []
    return made


def _to_carry(piece: Piece, channel: Channel, place: Place, what: str) -> bool:
    """Whether it ends at the place too far from the edge (`extend`) or too near it (`shorten`)."""
    line = channel.line
    upwards = (line[-1].y >= line[0].y) == (place.line.role == "top")
    leave = exit_of(piece, line if upwards else line[::-1])
    if leave is None or leave.edge.role != place.line.role:
        return False
    found = place.line.nearest(piece.name, leave.point)
    if found is None or not place.start <= found[0] <= place.end:
        return False
    return leave.gap_mm > ENDED_THERE_MM if what == "extend" else leave.gap_mm < EDGE_CLEARANCE_MM - TOO_NEAR_MM


def _aside(piece: Piece, place: Place, by_mm: float) -> list[Op]:
    """The channels that have come too near the edge moved off it, square to it at the peak."""
    own = [one for one in place.stretches if one.piece == piece.name]
    near = [c for c in piece.channels if _gap(c, own) < c.width / 2.0 + EDGE_CLEARANCE_MM - TOO_NEAR_MM]
    if not near:
        return []
    inward = scaled(across(_tangent(place.at(place.peak), place.peak)), by_mm)
    level = [round(inward.x, 3), 0.0]
    return [{"op": "channels", "piece": piece.name, "move": [{"name": c.name, "by": level} for c in near]}]


def _gap(channel: Channel, stretches: Iterable[Stretch]) -> float:
    """How far the channel's sides lie from the edges; its ends, which stop at the edge, do not count."""
    inner = [Point(a.x + (b.x - a.x) * k, a.y + (b.y - a.y) * k) for a, b in pairwise(channel.line) for k in (0.7, 0.9)]
    return min(_off(one.edge, point) for one in stretches for point in inner)


def _off(edge_: Edge, point: Point) -> float:
    return min(nearest(segment, point)[1] for segment in edge_.segments)
