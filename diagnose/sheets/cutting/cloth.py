"""How much cloth a pattern takes: its area, and the length of a simple layout on cloth of a given width. Millimetres.

The layout is of upright oblongs round the pieces, grain along the cloth; a better one by eye takes less.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.bezier import box_of
from diagnose.pattern.geometry.plane import Affine, turn
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.outline import Pattern, Piece, Point
from diagnose.sheets.cutting.allowance import Allowances, cutting_line, sewn_edges
from diagnose.sheets.cutting.packing import Oblong, shelves

__all__ = ["Cloth", "cloth_for"]

APART_ON_CLOTH_MM = 6.0


class Cloth(Struct, frozen=True):
    """One layer of cloth: the pieces' own area with allowances, the cloth's width, the length that a layout takes.

    `length_mm` is None where a piece is wider than the cloth; `pieces` counts what is cut, a piece on the fold as one.
    """

    area_mm2: float
    width_mm: float
    length_mm: float | None
    pieces: int


def cloth_for(pattern: Pattern, allowances: Allowances, width_mm: float) -> Cloth:
    """The cloth for one layer of the whole garment."""
    area, boxes = 0.0, list[Oblong]()
    for piece in pattern.pieces:
        ring = cutting_line(piece, allowances, sewn_edges(pattern, piece))
        area += piece.copies * _area(ring)
        boxes += _boxes(piece, ring)
    laid = shelves(boxes, width_mm, APART_ON_CLOTH_MM)
    return Cloth(area, width_mm, laid.height if laid else None, pieces=len(boxes))


def _area(ring: tuple[Point, ...]) -> float:
    return abs(sum(a.x * b.y - b.x * a.y for a, b in pairwise(ring))) / 2.0


def _boxes(piece: Piece, ring: tuple[Point, ...]) -> Iterator[Oblong]:
    """The oblongs round what is cut of a piece, turned so that the grain runs up."""
    upright = _upright(piece)
    shown = [upright(p) for p in ring]
    if piece.cut == "fold":
        shown += [upright(p) for p in _mirrored(piece, ring)]
    box = box_of([shown])
    yield from [Oblong(box.wide, box.high)] * (2 if piece.cut == "pair" else 1)


def _upright(piece: Piece) -> Affine:
    if piece.grain is None:
        return Affine()
    (a, b), origin = piece.grain, Point(0.0, 0.0)
    return turn(origin, math.pi / 2.0 - math.atan2(b.y - a.y, b.x - a.x))


def _mirrored(piece: Piece, ring: tuple[Point, ...]) -> Iterator[Point]:
    """The ring on the other side of the fold."""
    folds = [edge for edge in piece.edges if edge.role == "fold"]
    start, end = (folds[0].start, folds[0].end) if folds else (outline_segments(piece)[0].start,) * 2
    way = math.atan2(end.y - start.y, end.x - start.x)
    there = turn(start, -way).then(Affine(yy=-1.0, dy=2.0 * start.y)).then(turn(start, way))
    yield from (there(p) for p in ring)
