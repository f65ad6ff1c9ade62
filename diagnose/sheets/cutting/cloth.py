"""How much cloth a pattern takes, and the straps that are cut from it besides. Millimetres.

The length is that of a simple layout on cloth of a given width: upright oblongs round the pieces, grain along the
cloth; a better one by eye takes less. Straps are those that a pattern asks for by its strap marks alone, having no
piece of its own for them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from msgspec import Struct
from shapely.geometry import Polygon

from diagnose.model.settings import Settings
from diagnose.pattern.geometry.bezier import box_of
from diagnose.pattern.geometry.plane import Affine, angle, turn
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import edge_length, outline_segments
from diagnose.pattern.operations.level_order import grain_up
from diagnose.pattern.operations.strap import STRAPS_KEY
from diagnose.pattern.outline import Pattern, Piece, Point
from diagnose.sheets.cutting.allowance import Allowances, cutting_line, sewn_edges
from diagnose.sheets.cutting.packing import Oblong, shelves

__all__ = ["Cloth", "StrapPiece", "cloth_for", "strap_pieces"]

APART_ON_CLOTH_MM = 6.0
FRONT, BACK = "strap-front", "strap-back"
"""Where the operation `strap` keeps, as piece/end, by how much a strap is longer and wider than at first."""

MIDDLE_RATIO = 0.1
"""How far from the middle of an edge, as a part of it, a strap's mark may lie for the strap to be as wide."""


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
        area += piece.copies * Polygon(ring).area
        boxes += _boxes(piece, ring)
    laid = shelves(boxes, width_mm, APART_ON_CLOTH_MM)
    return Cloth(area, width_mm, laid.height if laid else None, pieces=len(boxes))


def _boxes(piece: Piece, ring: tuple[Point, ...]) -> Iterator[Oblong]:
    """The oblongs round what is cut of a piece, turned so that the grain runs up."""
    upright = turn(Point(0.0, 0.0), angle(grain_up(piece), Point(0.0, 1.0)))
    shown = [upright(p) for p in ring]
    if piece.cut == "fold":
        shown += [upright(p) for p in _mirrored(piece, ring)]
    box = box_of([shown])
    yield from [Oblong(box.wide, box.high)] * (2 if piece.cut == "pair" else 1)


def _mirrored(piece: Piece, ring: tuple[Point, ...]) -> Iterator[Point]:
    """The ring on the other side of the fold."""
    folds = [edge for edge in piece.edges if edge.role == "fold"]
    start, end = (folds[0].start, folds[0].end) if folds else (outline_segments(piece)[0].start,) * 2
    way = math.atan2(end.y - start.y, end.x - start.x)
    there = turn(start, -way).then(Affine(yy=-1.0, dy=2.0 * start.y)).then(turn(start, way))
    yield from (there(p) for p in ring)


class StrapPiece(Struct, frozen=True):
    """One strap, cut too long: its length, its widths at the front and at the back, and how many."""

    length_mm: float
    front_mm: float
    back_mm: float
    count: int


def strap_pieces(pattern: Pattern, settings: Settings) -> tuple[StrapPiece, ...]:
    """A strap for each side that the pattern marks a front or back fixing on."""
    fronts, backs = list(_ends(pattern, FRONT)), list(_ends(pattern, BACK))
    if not fronts and not backs:
        return ()
    plain = settings.mm("strap-width")
    longer = max((added for *_, added in (*fronts, *backs)), default=0.0)
    front = next((width for width, _, _ in fronts if width), plain)
    back = next((width for width, _, _ in backs if width), plain)
    count = max(sum(copies for _, copies, _ in ends) for ends in (fronts, backs))
    return (StrapPiece(settings.mm("strap-cut") + max(0.0, longer), front, back, count=count),)


def _ends(pattern: Pattern, landmark: str) -> Iterator[tuple[float, int, float]]:
    """For each fixing: the strap's width there (0 where no edge tells it), how many, and by how much it is longer."""
    for piece in pattern.pieces:
        spot = piece.landmarks.get(landmark)
        if spot is not None:
            wider, longer = (_recorded(pattern, piece, landmark, key=key) for key in ("widened_mm", "lengthened_mm"))
            width = _width(piece, spot)
            yield (width + wider if width else 0.0), piece.copies, longer


def _width(piece: Piece, spot: Point) -> float:
    """The length of the top edge whose middle the mark is."""
    for edge in piece.edges:
        if edge.role == "top":
            size = edge_length(edge)
            along, off = run_nearest(edge.segments, spot)
            if abs(along - size / 2.0) <= MIDDLE_RATIO * size and off <= MIDDLE_RATIO * size:
                return size
    return 0.0


def _recorded(pattern: Pattern, piece: Piece, landmark: str, key: str) -> float:
    straps = pattern.extra.get(STRAPS_KEY)
    name = f"{piece.name}/{landmark.removeprefix('strap-')}"
    entry = straps.get(name) if isinstance(straps, Mapping) else None
    value = entry.get(key) if isinstance(entry, Mapping) else None
    return float(value) if isinstance(value, int | float) else 0.0
