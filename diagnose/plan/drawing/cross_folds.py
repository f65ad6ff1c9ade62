"""Folds across a piece, from its back to its front, evenly or as a wedge."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import accumulate, pairwise
from typing import Literal

from diagnose.pattern.geometry.plane import across, add, distance, scaled, sub, unit
from diagnose.pattern.measure import station_ends, station_width
from diagnose.pattern.operations import Fold
from diagnose.pattern.outline import Piece, Point

__all__ = ["ABOVE_LEVEL_MM", "fold_across", "wedge_over"]

PAST_EDGE_MM = 5.0
PAST_HINGE_MM = 1.0
ABOVE_LEVEL_MM = 1.0


def fold_across(
    piece: Piece, start: Point, end: Point, at_start: float, at_end: float, move: Literal["left", "right"] = "right"
) -> Fold:
    """A fold from the back to the front of a piece, just above its line, drawn on a little beyond the edges.

    What lies above it moves (`right`), so that the lower part stays and the level with it. A wedge that comes to
    nothing does so a hair beyond the edge.

    Args:
        piece: the piece.
        start: where the line meets its back edge.
        end: where it meets its front edge.
        at_start: the strip's width at the back, mm; negative to spread.
        at_end: its width at the front, mm; negative to spread.
        move: the side of the line that moves.
    """
    size = distance(start, end)
    way = unit(sub(end, start))
    up = scaled(across(way), -(max(at_start, at_end, 0.0) / 2.0 + ABOVE_LEVEL_MM))
    first, last = (PAST_EDGE_MM if amount else PAST_HINGE_MM for amount in (at_start, at_end))
    slope = (at_end - at_start) / size
    return Fold(
        piece=piece.name,
        from_=add(sub(start, scaled(way, first)), up),
        to=add(add(end, scaled(way, last)), up),
        amount_from=at_start - slope * first if at_start else 0.0,
        amount_to=at_end + slope * last if at_end else 0.0,
        move=move,
    )


def wedge_over(pieces: Iterable[Piece], station: str, at_front: float, at_back: float) -> list[Fold]:
    """A wedge across the pieces that have the level, evenly from the front of the first to the back of the last."""
    there = [(piece, ends) for piece in pieces if (ends := station_ends(piece, station)) is not None]
    done = [*accumulate((station_width(piece, station) for piece, _ in there), initial=0.0)]
    amounts = [at_front + (at_back - at_front) * (mm / (done[-1] or 1.0)) for mm in done]
    return [
        fold_across(piece, behind, before, at_start=back, at_end=front)
        for (piece, (before, behind)), (front, back) in zip(there, pairwise(amounts), strict=True)
    ]
