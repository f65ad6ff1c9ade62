"""Where each piece is drawn, and which older piece it is laid over.

Pieces are drawn where they lie in the pattern; those that would lie on others are set beside them. The right one of a
pair that has been split is drawn turned over.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from diagnose.pattern.finish.walking import name_before
from diagnose.pattern.geometry.bezier import Box, box_of, flatten, moved
from diagnose.pattern.geometry.plane import TURNED_OVER, Affine
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Channel, Edge, Pattern, Piece, Point, Slit

__all__ = ["Placed", "Standing", "carried", "older_piece", "placed_pieces", "places_of", "standing_pieces"]

UNDER_RATIO = 0.5
ROWS_APART_MM = 25.0
PLACING_CHORD_TOL_MM = 1.0
MOST_SLIDES = 12
SLACK_MM = 1.0


class Placed(Struct, frozen=True):
    """A piece, the older piece it is laid over, the move that puts both on the drawing, and the box they take there."""

    piece: Piece
    old: Piece | None
    move: Affine
    box: Box


class Standing(Struct, frozen=True):
    """A piece and the older one beneath it where they lie in the pattern, with the box and the shape of both."""

    piece: Piece
    old: Piece | None
    move: Affine
    box: Box
    shape: BaseGeometry


def placed_pieces(
    pattern: Pattern, before: Pattern | None = None, only: Container[str] | None = None, between_mm: float = 0.0
) -> tuple[Placed, ...]:
    """The pieces with their places; an older piece that is no more is not among them.

    Args:
        pattern: the pattern as it is.
        before: as it was.
        only: names of the pieces wanted; all of them when left out.
        between_mm: how far apart pieces must lie at least; those that lie closer are moved towards the back.
    """
    return places_of(standing_pieces(pattern, before, only), between_mm)


def standing_pieces(
    pattern: Pattern, before: Pattern | None = None, only: Container[str] | None = None
) -> tuple[Standing, ...]:
    """The pieces wanted (all of them when `only` is left out) before they have their places."""
    return tuple(_standing(piece, before) for piece in pattern.pieces if only is None or piece.name in only)


def _standing(piece: Piece, before: Pattern | None) -> Standing:
    old = older_piece(piece.name, before) if before else None
    move = TURNED_OVER if piece.side == "right" else Affine()
    return Standing(piece, old, move, box=_box(piece, old, move), shape=_shape(piece, old, move))


def places_of(standing: Sequence[Standing], between_mm: float, rows: int = 1) -> tuple[Placed, ...]:
    """Each piece in its place, at least so far from the others, in so many rows; in none, where it lies."""
    if not rows:
        return tuple(Placed(one.piece, one.old, one.move, box=one.box) for one in standing)
    placed = tuple(_places(standing, between_mm))
    return placed if rows < 2 else tuple(_in_rows(placed, rows, between_mm))


def _in_rows(placed: Sequence[Placed], rows: int, between_mm: float) -> Iterator[Placed]:
    """The pieces as even rows from left to right, each begun where the first is and set under the one before; room that
    other rows' pieces have left is closed. Words stand beside one another less high than long. Those of the right side
    come last, as the pattern has them."""
    between_mm, under_mm = (max(mm, ROWS_APART_MM) for mm in (between_mm, between_mm * UNDER_RATIO))
    by_left = sorted(placed, key=_reading_order)
    size, left, under = -(-len(placed) // rows), by_left[0].box.left, 0.0
    for first in range(0, len(placed), size):
        row = by_left[first : first + size]
        dx = left - row[0].box.left
        dy = under - under_mm - max(at.box.top for at in row) if first else 0.0
        under = min(at.box.bottom for at in row) + dy
        right = left
        for at in row:
            room = at.box.left + dx - right - between_mm
            dx -= room if at.piece.side == "right" and at is not row[0] else max(0.0, room)
            right = max(right, at.box.right + dx)
            yield replace(at, move=at.move.then(Affine(dx=dx, dy=dy)), box=at.box.shifted(dx, dy))


def _reading_order(at: Placed) -> tuple[bool, float]:
    """Pieces of the right side, which are turned over, lie from the back on: they are taken as the pattern has them."""
    return (True, 0.0) if at.piece.side == "right" else (False, at.box.left)


def _places(standing: Sequence[Standing], between_mm: float) -> Iterator[Placed]:
    taken, shapes = list[Box](), list[BaseGeometry]()
    for one in standing:
        move, box, shape = one.move, one.box, one.shape
        if between_mm and taken and not one.piece.levels:
            # No level ties it to the others' height: it is drawn at theirs, which takes the least room.
            up = (max(b.top for b in taken) + min(b.bottom for b in taken) - box.top - box.bottom) / 2.0
            move, box, shape = move.then(Affine(dy=up)), box.shifted(0.0, up), _slid(shape, 0.0, up)
        if any(_overlap(box, other, between_mm) for other in taken):
            least = max(between_mm, ROWS_APART_MM)
            by = max(other.right for other in taken) + least - box.left
            by -= _nearer(_slid(shape, by), shapes, least)
            move, box = move.then(Affine(dx=by)), box.shifted(by, 0.0)
            shape = _slid(shape, by)
        taken.append(box)
        shapes.append(shape)
        yield Placed(one.piece, one.old, move, box=box)


def _slid(shape: BaseGeometry, right: float, up: float = 0.0) -> BaseGeometry:
    """The shape so far to the right, and up."""
    return shapely.transform(shape, lambda spots: np.add(spots, (right, up)))


def older_piece(name: str, before: Pattern) -> Piece | None:
    """The piece of that name, or the pair that it was a half of."""
    old = name_before(name, before)
    return before.piece(old) if old else None


def _box(piece: Piece, old: Piece | None, move: Affine) -> Box:
    boxes = [bounds(one) for one in (piece, old) if one is not None]
    corners = [move(Point(x, y)) for box in boxes for x in (box.left, box.right) for y in (box.bottom, box.top)]
    return box_of([corners])


def _shape(piece: Piece, old: Piece | None, move: Affine) -> BaseGeometry:
    """What the piece and the older one cover together."""
    rings = [
        [
            move(point)
            for edge in one.edges
            for segment in edge.segments
            for point in flatten(segment, PLACING_CHORD_TOL_MM)
        ]
        for one in (piece, old)
        if one is not None
    ]
    return shapely.union_all([shapely.Polygon(ring).convex_hull for ring in rings])


def _nearer(shape: BaseGeometry, others: Sequence[BaseGeometry], least_mm: float) -> float:
    """How far towards the others the shape can be slid before it is nearer than that to one of them."""
    beside, slid = shapely.union_all(others), 0.0
    for _ in range(MOST_SLIDES):
        # No point comes nearer by more than it is slid, so that the slack can always be taken up.
        slack = float(shapely.distance(_slid(shape, -slid), beside)) - least_mm
        if slack < SLACK_MM:
            break
        slid += slack
    return slid


def _overlap(one: Box, other: Box, between_mm: float) -> bool:
    beside = one.left < other.right + between_mm and other.left < one.right + between_mm
    return beside and one.bottom < other.top and other.bottom < one.top


def carried(piece: Piece, move: Affine) -> Piece:
    """The piece with all that is drawn of it carried by the move. Turned over, its outline runs clockwise."""

    def line(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple(move(p) for p in points)

    return Piece(
        piece.name, piece.cut, piece.side,
        edges=tuple(Edge(e.name, e.role, tuple(moved(s, move) for s in e.segments)) for e in piece.edges),
        levels={name: line(points) for name, points in piece.levels.items()},
        landmarks={name: move(point) for name, point in piece.landmarks.items()},
        channels=tuple(Channel(c.name, line(c.line), c.width) for c in piece.channels),
        slits=tuple(Slit(s.name, line(s.line)) for s in piece.slits),
        notches=piece.notches, grain=(move(piece.grain[0]), move(piece.grain[1])) if piece.grain else None,
        extra=piece.extra,
    )  # fmt: skip
