"""Which of what is found are the pieces: paper cut out, or outlines drawn on it; the sheets of the cards are none.

By them it is told whether photographs that show one card show one table.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM, opencv
from diagnose.pattern.brought.photo.found.laid_pieces import Region, paper_regions
from diagnose.pattern.brought.photo.found.pencil import drawn_regions, line_mask, line_strength
from diagnose.pattern.brought.photo.found.tracing import What
from diagnose.pattern.brought.photo.lens import Array, View
from diagnose.pattern.brought.photo.solving import Lies, placed, unplaced
from diagnose.pattern.brought.photo.straightening import Straightened, straightened

__all__ = ["Looked", "is_one_table", "looked_at", "pieces_seen", "sheet_corners"]

SHEET_ROUND_MM = (9.0, 20.0, 25.0, 20.0)
"""How far what is on a card's sheet reaches beyond its board: left, below, right, above."""

GROWN_MM, MOSTLY = 10.0, 0.8
FILL_RATIO = 0.15
BANDS_MM = (2.5, 6.0)
SAME_LIGHT = 0.12
LIKE_MM = 8.0
"""Outlines no farther apart are one, seen from two places and roughly."""

SPOTS = 200


def sheet_corners(lies: Lies) -> Array:
    """The corners of what is printed on a card's sheet: board, rule and words."""
    return _board(lies, *SHEET_ROUND_MM)


def pieces_seen(
    flat: Straightened, boards: Mapping[int, Lies], lines: Sequence[What]
) -> tuple[tuple[Region, ...], What, Any]:
    """The pieces, how their outlines show, and how plain a line runs through each cell.

    Args:
        flat: the straightened picture.
        boards: where the cards lie.
        lines: the kinds of drawn line that are looked for beside paper that was cut out.
    """
    sheets = [_board(lies) for lies in boards.values()]
    grown = [_board(lies, *(mm + GROWN_MM for mm in SHEET_ROUND_MM)) for lies in boards.values()]
    found = [one for one in paper_regions(flat, sheets) if not _is_sheet(flat, one, grown)]
    whole = [one for one in found if not one.runs_out]
    leave_out = flat.within([sheet_corners(lies) for lies in boards.values()])
    first: Any = None
    for what in lines:
        if what == "light line" and whole and not _is_line(flat, whole[0]):
            continue  # chalk is looked for where no paper is
        strength = line_strength(flat, light=what == "light line")
        first = strength if first is None else first
        drawn = drawn_regions(flat, line_mask(flat, strength, leave_out), leave_out)
        if sum(one.area_mm2 for one in drawn) > FILL_RATIO * sum(one.area_mm2 for one in whole) and (
            not _alike(drawn, whole) or _is_line(flat, drawn[0])
        ):
            return drawn, what, strength
    return tuple(found), "step", first


def _alike(lines: Sequence[Region], whole: Sequence[Region]) -> bool:
    """Whether the drawn regions are but the pieces themselves, their edges taken for lines."""
    return bool(whole) and abs(sum(o.area_mm2 for o in lines) / sum(o.area_mm2 for o in whole) - 1.0) < 0.1


def _is_line(flat: Straightened, region: Region) -> bool:
    """Whether a region's edge is a line on one and the same paper, and not the end of paper: it is as light outside."""
    cv = opencv()
    mask = np.zeros(flat.gray.shape, np.uint8)
    cv.fillPoly(mask, [np.round(region.outline).astype(np.int32)], 1)
    near, far = map(flat.square, BANDS_MM)
    inside = (cv.erode(mask, near) > 0) & (cv.erode(mask, far) == 0)
    outside = (cv.dilate(mask, near) == 0) & (cv.dilate(mask, far) > 0) & flat.seen
    if not inside.any() or not outside.any():
        return True
    a, z = float(np.median(flat.gray[inside])), float(np.median(flat.gray[outside]))
    return abs(a - z) < SAME_LIGHT * max(a, z)


def _is_sheet(flat: Straightened, region: Region, sheets: Sequence[Array]) -> bool:
    """Whether the region is the paper that a card is printed on, or what of it is in view."""
    cv = opencv()
    spots = region.outline[:: max(1, len(region.outline) // 200)]
    for sheet in sheets:
        ring = flat.cells(sheet).astype(np.float32).reshape(-1, 1, 2)
        inside = [cv.pointPolygonTest(ring, (float(x), float(y)), False) >= 0 for x, y in spots]
        if np.mean(inside) > MOSTLY:
            return True
    return False


def _board(lies: Lies, left: float = 0.0, below: float = 0.0, right: float = 0.0, above: float = 0.0) -> Array:
    """The corners of a card's board, grown by so much."""
    wide, high = CARD_WIDE_MM + right, CARD_HIGH_MM + above
    return placed(np.array([(-left, -below), (wide, -below), (wide, high), (-left, high)]), lies)


class Looked(Struct, frozen=True):
    """What one photograph shows, roughly: the table from above, and the outlines of the whole pieces on it, in mm."""

    flat: Straightened
    pieces: tuple[Array, ...]


def looked_at(pixels: Any, view: View, boards: Mapping[int, Lies], most_cells: float) -> Looked:
    """What one photograph shows, in its own frame."""
    flat = straightened([(pixels, view)], most_cells=most_cells)
    regions, _, _ = pieces_seen(flat, boards, ("dark line", "light line"))
    return Looked(flat, tuple(flat.table(one.outline) for one in regions if not one.runs_out))


def is_one_table(one: Looked, other: Looked, lies: Lies) -> bool:
    """Whether what both see is the same: a piece at a time may be laid beside a card, and taken.

    Args:
        one: what the first shows.
        other: what the second shows.
        lies: where the second's frame lies in that of the first, by the card in both.
    """
    there = [placed(ring, lies) for ring in other.pieces]
    here = [unplaced(ring, lies) for ring in one.pieces]
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
