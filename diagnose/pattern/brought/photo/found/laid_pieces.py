"""Pieces cut out of paper, light on a dark table or dark on a light one: which cells of the straightened picture.

The table is told from the paper by a threshold that changes from place to place: a smooth surface through the middle of
every sharp step of light (Yanowitz and Bruckstein, *Computer Vision, Graphics, and Image Processing* 46, 1989). A
shadow's edge is not sharp, and so does not count.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.straightening import Straightened

__all__ = ["LEAST_PIECE_MM2", "Region", "paper_regions"]

LEAST_PIECE_MM2 = 350.0
LIGHT_STEP_MM = 1.6
"""How wide a step of light may be and still be an edge of paper."""

LEAST_STEP = 14.0
NEAR_CARD_MM = 4.0
CLEAR_RIM = 0.15
"""Where more of the picture's rim than this is unlike the rest of it, the rim alone does not tell the table."""

SHARP_RATIO = 0.6
"""So much of a region's edge must be a sharp step."""

STEP_RATIO = 0.35
REACHES = ((8.0, 1e2), (25.0, 1.0), (160.0, 1e-2))
"""How far (mm) a step of light speaks for the threshold round it, and how loudly: beside a step it alone, so that dark
paper half in a shadow that is as dark as it is keeps its edge."""

COARSE_MM = 4.0
LINE_WIDE_MM = 2.6
"""A gap no wider is a line drawn across a piece."""

PAPER_THIN_MM = 2.0
"""What is thinner is a line, not paper."""


class Region(Struct, frozen=True):
    """One region: its outline as cells (columns, rows), whether it runs out of the picture, and its area in mm²."""

    outline: Array
    runs_out: bool
    area_mm2: float
    hue: tuple[float, float, float]


def paper_regions(flat: Straightened, sheets: Sequence[Array]) -> tuple[Region, ...]:
    """The regions that stand out from the table, the largest first; none where nothing does.

    Args:
        flat: the straightened picture.
        sheets: the corners of the cards' sheets.
    """
    cv = opencv()
    cards = flat.within(sheets)
    near_cards = cv.dilate(cards, flat.square(NEAR_CARD_MM))
    steps = _surface(flat, near_cards)
    if steps is None:
        return ()
    surface, sharp = steps
    bright = (flat.gray > surface).astype(np.uint8)
    border = cv.dilate((~flat.seen).astype(np.uint8), np.ones((5, 5), np.uint8))
    border[[0, 1, -2, -1]], border[:, [0, 1, -2, -1]] = 1, 1
    rims = (border, sharp, near_cards)
    off = (cards > 0) | ~flat.seen
    bright_rim = float(bright[_rim(flat.seen) & (near_cards == 0)].mean())
    ways = (1 - bright, bright) if bright_rim > 0.5 else (bright, 1 - bright)
    found = _standing_out(flat, ways[0], off, rims=rims)
    if CLEAR_RIM < bright_rim < 1.0 - CLEAR_RIM or not _whole_mm2(found):
        other = _standing_out(flat, ways[1], off, rims=rims)
        found = max(found, other, key=_whole_mm2)
    return found


def _whole_mm2(regions: Sequence[Region]) -> float:
    return sum(one.area_mm2 for one in regions if not one.runs_out)


def _standing_out(flat: Straightened, paper: Any, off: Any, rims: tuple[Any, Any, Any]) -> tuple[Region, ...]:
    """The regions of paper, the largest first."""
    cv = opencv()
    paper = cv.morphologyEx(paper, cv.MORPH_CLOSE, flat.disc(LINE_WIDE_MM))
    paper[off] = 0
    disc = flat.disc(PAPER_THIN_MM)
    _, names, stats, _ = cv.connectedComponentsWithStats(paper, connectivity=4)
    large = stats[:, cv.CC_STAT_AREA] * flat.cell_mm**2 >= LEAST_PIECE_MM2
    found = [
        _region(flat, names, stats[name], name=int(name), rims=rims, disc=disc)
        for name in np.flatnonzero(large)
        if name
    ]
    return tuple(sorted((one for one in found if one is not None), key=lambda one: -one.area_mm2))


def _region(
    flat: Straightened, names: Any, stats: Any, name: int, rims: tuple[Any, Any, Any], disc: Any
) -> Region | None:
    """The region; None where it is too small, or most of its edge is no sharp step."""
    cv = opencv()
    left, top, wide, high, _ = (int(value) for value in stats)
    mask = (names[top : top + high, left : left + wide] == name).astype(np.uint8)
    pad = disc.shape[0] + 2
    part = cv.morphologyEx(np.pad(mask, pad), cv.MORPH_OPEN, disc)
    rings, _ = cv.findContours(part, cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE)
    if not rings:
        return None
    ring = max(rings, key=cv.contourArea).reshape(-1, 2).astype(float) + np.array([left - pad, top - pad])
    area = float(cv.contourArea(ring.astype(np.float32))) * flat.cell_mm**2
    if area < LEAST_PIECE_MM2:
        return None
    at = np.clip(ring.astype(int), 0, [names.shape[1] - 1, names.shape[0] - 1])
    on_border, on_step, by_card = (rim[at[:, 1], at[:, 0]] > 0 for rim in rims)
    free = ~on_border & ~by_card
    if not free.any() or on_step[free].mean() < SHARP_RATIO:
        return None
    out = on_border.sum() * flat.cell_mm > 6.0
    hue = cv.mean(flat.picture[top : top + high, left : left + wide], mask)[:3]
    return Region(ring, bool(out), area, hue=(hue[0], hue[1], hue[2]))


def _rim(seen: Any) -> Any:
    """The cells along the edge of what is seen."""
    cv = opencv()
    inner = cv.erode(np.pad(seen.astype(np.uint8), 1), np.ones((31, 31), np.uint8))[1:-1, 1:-1]
    return seen & (inner == 0)


def _surface(flat: Straightened, leave_out: Any) -> tuple[Any, Any] | None:
    """For each cell the grey between paper and table there, and whether a sharp step is near; None where none is."""
    cv = opencv()
    smooth = cv.GaussianBlur(flat.gray, (0, 0), max(0.8, 0.3 / flat.cell_mm))
    size = 2 * max(1, round(LIGHT_STEP_MM / 2 / flat.cell_mm)) + 1
    square = np.ones((size, size), np.uint8)
    high, low = cv.dilate(smooth, square), cv.erode(smooth, square)
    step = cv.subtract(high, low)
    sharp = cv.Canny(smooth, 12, 30) > 0
    sharp &= (leave_out == 0) & (cv.erode(flat.seen.astype(np.uint8), square) > 0) & (step > LEAST_STEP)
    if flat.seams is not None:
        sharp &= ~flat.seams
    if sharp.sum() * flat.cell_mm < 100.0:
        return None
    sharp &= step > STEP_RATIO * float(np.percentile(step[sharp], 85))
    rows, columns = np.nonzero(sharp)
    middle = (high[sharp].astype(np.float32) + low[sharp]) / 2
    weight = step[sharp].astype(np.float32) ** 2
    shrink = COARSE_MM / flat.cell_mm
    shape = (int(flat.gray.shape[0] / shrink) + 1, int(flat.gray.shape[1] / shrink) + 1)
    spot = (rows / shrink).astype(int) * shape[1] + (columns / shrink).astype(int)
    sums = np.bincount(spot, weight * middle, shape[0] * shape[1]).reshape(shape).astype(np.float32)
    weights = np.bincount(spot, weight, shape[0] * shape[1]).reshape(shape).astype(np.float32)
    total, count = (
        np.full(shape, 1e-6 * float(np.average(middle, weights=weight)), np.float32),
        np.full(shape, 1e-6, np.float32),
    )
    for reach, trust in REACHES:
        total += trust * cv.GaussianBlur(sums, (0, 0), reach / COARSE_MM)
        count += trust * cv.GaussianBlur(weights, (0, 0), reach / COARSE_MM)
    wide = (round(shape[1] * shrink), round(shape[0] * shrink))
    surface = cv.resize(total / count, wide, interpolation=cv.INTER_LINEAR)
    near = cv.dilate(sharp.astype(np.uint8), np.ones((size + 2, size + 2), np.uint8))
    return surface[: flat.gray.shape[0], : flat.gray.shape[1]], near
