"""Redrawing the top and bottom edges."""

from __future__ import annotations

import math
from functools import partial
from itertools import pairwise

from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.runs import run_place
from diagnose.pattern.operations import MoveEdge, ReshapeEdge
from diagnose.pattern.operations.move_edge import Place
from diagnose.pattern.operations.reshape_edge import Direction
from diagnose.pattern.outline import Point
from diagnose.plan.drawing.board import Board, Op, Task
from diagnose.plan.drawing.edge_lines import Stretch
from diagnose.plan.drawing.half import Half, by_halves
from diagnose.plan.drawing.named_places import Place as Stretched
from diagnose.plan.drawing.named_places import place_named
from diagnose.rulebase.reading.moves import Move

__all__ = ["edge", "tangent_at"]

DIRECTIONS: tuple[Direction, ...] = ("up", "out", "in", "down")
END_MARK_MM = 0.5
PARTS = 8


def edge(move: Move, task: Task, board: Board) -> Board:
    """A place of the top or bottom edge redrawn by the amount: up, down, out or in."""
    name, way = move.place, next(one for one in DIRECTIONS if one == move.direction)
    make = partial(_edge_ops, name=name, way=way, height=task.length_mm)
    return by_halves(board, task, make)


def _edge_ops(half: Half, name: str, way: Direction, height: float) -> list[Op]:
    if not height:
        return []
    place = place_named(half, name).with_room(height)
    pieces = {one.piece for one in place.stretches}
    at_end = place.peak_from in (0.0, place.line.size) or place.peak_to in (0.0, place.line.size)
    if len(pieces) == 1 and (place.peak_from == place.peak_to or not at_end):
        return [_one_hump(place, way, height, most_deg=half.settings.mm("edge-slant-most"))]
    return [_moved(one, place, way, height=height) for one in place.stretches]


def _one_hump(place: Stretched, way: Direction, height: float, most_deg: float) -> ReshapeEdge:
    return ReshapeEdge(
        piece=place.stretches[0].piece,
        edges=tuple(one.edge.name for one in place.stretches),
        from_=place.point(place.start),
        peak=place.point(place.peak),
        to=place.point(place.end),
        height=height,
        direction=_direction(place, way, most_deg),
    )


def _direction(place: Stretched, way: Direction, most_deg: float) -> Direction:
    """The direction on the paper: up and down where the edge lies about level, else square to the edge (out and in)."""
    slant = abs(math.degrees(math.atan2(*reversed(tangent_at(place.at(place.peak), place.peak)))))
    if min(slant, 180.0 - slant) <= most_deg:
        return way
    top = place.line.role == "top"
    square: dict[str, Direction] = {"up": "out" if top else "in", "down": "in" if top else "out"}
    return square.get(way, way)


def tangent_at(one: Stretch, s: float) -> Point:
    """The direction of the edge at the place, of length one."""
    index, t = run_place(one.edge.segments, one.along(s) * one.size)
    return tangent(one.edge.segments[index], t)


def _moved(one: Stretch, place: Stretched, way: Direction, height: float) -> MoveEdge:
    """One stretch of a place over several pieces, moved straight up or down, or square to itself in or out."""
    marks = [place.start, place.peak_from, place.peak_to, place.end]
    inner = [s for s in marks if one.begin + END_MARK_MM < s < one.end - END_MARK_MM]
    stops = sorted({one.begin, *inner, one.end})
    stops = sorted(a + (b - a) * n / PARTS for a, b in pairwise(stops) for n in range(PARTS)) + stops[-1:]
    by_mm = height if way in ("up", "in") else -height
    by = tuple(Place(along=one.along(s), mm=by_mm * place.part_at(s)) for s in stops)
    upright = way in ("up", "down")
    return MoveEdge(piece=one.piece, edge=one.edge.name, by=by, channels="follow", way="up" if upright else "square")
