"""Whether photographs that show one card show one table: a piece at a time may be laid beside it, and taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.found.which_pieces import pieces_seen
from diagnose.pattern.brought.photo.lens import Array, View
from diagnose.pattern.brought.photo.solving import Lies, placed
from diagnose.pattern.brought.photo.straightening import Straightened, straightened

__all__ = ["Looked", "is_one_table", "looked_at"]

LIKE_MM = 8.0
"""Outlines no farther apart are one, seen from two places and roughly."""
SPOTS = 200


class Looked(Struct, frozen=True):
    """What one photograph shows, roughly: the table from above, and the outlines of the whole pieces on it, in mm."""

    flat: Straightened
    pieces: tuple[Array, ...]


def looked_at(pixels: Any, view: View, boards: Mapping[int, Lies], most_cells: float) -> Looked:
    """What one photograph shows, in its own frame."""
    flat = straightened([(pixels, view)], most_cells=most_cells)
    regions, _, _ = pieces_seen(flat, boards, ("dark line", "light line"))
    return Looked(flat, tuple(flat.table(one.outline) for one in regions if not one.runs_out))


def is_one_table(one: Looked, other: Looked, lies: Lies, back: Lies) -> bool:
    """Whether what both see is the same.

    Args:
        one: what the first shows.
        other: what the second shows.
        lies: where the second's frame lies in that of the first, by the card in both; `back` the other way.
    """
    there = [placed(ring, lies) for ring in other.pieces]
    here = [placed(ring, back) for ring in one.pieces]
    return _all_found(one.flat, one.pieces, there) and _all_found(other.flat, other.pieces, here)


def _all_found(flat: Straightened, own: Sequence[Array], others: Sequence[Array]) -> bool:
    """Whether each of the other's pieces that is wholly in view was found here too."""
    return all(any(_is_like(mine, ring) for mine in own) for ring in others if _in_view(flat, ring))


def _in_view(flat: Straightened, ring: Array) -> bool:
    cells = np.round(flat.cells(ring)).astype(int)
    high, wide = flat.gray.shape
    inside = (cells >= 1).all(1) & (cells[:, 0] < wide - 1) & (cells[:, 1] < high - 1)
    return bool(inside.all() and flat.seen[cells[:, 1], cells[:, 0]].all())


def _is_like(one: Array, other: Array) -> bool:
    return max(_farthest(one, other), _farthest(other, one)) < LIKE_MM


def _farthest(spots: Array, ring: Array) -> float:
    """How far a spot of the one outline lies off the other, at the most."""
    around = ring.astype(np.float32).reshape(-1, 1, 2)
    some = spots[:: max(1, len(spots) // SPOTS)]
    return max(abs(opencv().pointPolygonTest(around, (float(x), float(y)), True)) for x, y in some)
