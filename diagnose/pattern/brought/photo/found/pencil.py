"""Drawn lines, dark on light paper or light on dark: which cells they enclose, and straight ones within pieces.

A line is what is darker (or lighter) than the paper close on both sides of it. The squares of squared paper are told
from the pencil by their colour, where they have one, and else by being the fainter of two kinds of line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.found.laid_pieces import LEAST_PIECE_MM2, Region
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.straightening import Straightened
from diagnose.pattern.brought.sketch import Stroke
from diagnose.pattern.outline import Line, Point

__all__ = ["drawn_regions", "inner_lines", "line_mask", "line_strength", "within_pieces"]

WIDEST_MM = 3.2
FINE_MM = 0.22
GAPS_MM = 1.2
LEAST_STRENGTH = 0.07
LEAST_LONG_MM = 14.0
WEAK_RATIO = 0.55

RIM_MM = 2.2
"""So near the outline nothing is looked for: its own line or shadow is there."""

LEAST_LINE_MM = 22.0
DASH_GAP_MM = 4.0
BESIDE_LINE_MM = 0.9
PENCIL_STRAIGHT_MM = 0.4
PENCIL_STEP_MM = 1.0
FILLED_RATIO = 0.75
TO_EDGE_MM = 6.0
ALONG_EDGE_MM = 4.5
DRAWN_ON_BY_MM = 0.6
MOST_LINES = 60


def line_strength(flat: Straightened, *, light: bool = False) -> Any:
    """How much darker (or lighter) than the paper beside it each cell is, as a part of the paper's light (8 bits)."""
    cv = opencv()
    disc = flat.disc(WIDEST_MM)
    out: Any = None
    for k in range(3):
        channel = cv.GaussianBlur(flat.picture[:, :, k], (0, 0), max(0.6, FINE_MM / flat.cell_mm))
        kind = cv.MORPH_TOPHAT if light else cv.MORPH_BLACKHAT
        deep = cv.morphologyEx(channel, kind, disc).astype(np.float32)
        round_it = cv.dilate(channel, disc).astype(np.float32)
        one = deep / np.maximum(round_it, 20.0)
        out = one if out is None else np.minimum(out, one)  # what is coloured is missing in one of the three
    out[~flat.seen] = 0
    return out


def line_mask(flat: Straightened, strength: Any, leave_out: Any) -> Any:
    """The cells of drawn lines, without the squares of squared paper."""
    cv = opencv()
    peak = (cv.dilate(strength, np.ones((3, 3), np.uint8)) <= strength) & (strength > LEAST_STRENGTH) & (leave_out == 0)
    values = strength[peak]
    if len(values) * flat.cell_mm < 60.0:
        return np.zeros(strength.shape, np.uint8)
    strong = max(_parting(values), LEAST_STRENGTH)
    weak = (strength > strong * WEAK_RATIO) & (leave_out == 0)
    _, names, stats, _ = cv.connectedComponentsWithStats(weak.astype(np.uint8), connectivity=8)
    held = np.unique(names[(strength > strong) & weak])
    long_ = np.hypot(stats[:, 2], stats[:, 3]) * flat.cell_mm > LEAST_LONG_MM
    keep = np.zeros(len(stats), bool)
    keep[held] = True
    keep &= long_
    keep[0] = False
    return keep[names].astype(np.uint8)


def _parting(values: Any) -> float:
    """The strength that parts two kinds of line, faint and strong; half of the usual where there is but one kind."""
    cv = opencv()
    scaled = np.clip(values * 255, 0, 255).astype(np.uint8).reshape(1, -1)
    cut, _ = cv.threshold(scaled, 0, 1, cv.THRESH_BINARY | cv.THRESH_OTSU)
    cut /= 255.0
    faint, strong = values[values <= cut], values[values > cut]
    if len(faint) and len(strong) and np.median(strong) > 1.7 * np.median(faint):
        return float((np.median(faint) + np.median(strong)) / 2)
    return float(np.median(values)) / 2


def drawn_regions(flat: Straightened, lines: Any, leave_out: Any) -> tuple[Region, ...]:
    """The regions that drawn lines enclose, the largest first."""
    cv = opencv()
    disc = flat.disc(GAPS_MM)
    wall = cv.dilate(lines, disc)
    free = ((wall == 0) | (leave_out > 0)).astype(np.uint8)
    padded = np.pad(free, 1, constant_values=1)
    padded[1:-1, 1:-1][~flat.seen] = 1
    filled = padded.copy()
    cv.floodFill(filled, None, (0, 0), 2)
    inside = (filled[1:-1, 1:-1] != 2).astype(np.uint8)
    inside = cv.erode(inside, disc)
    core = cv.erode(inside, cv.getStructuringElement(cv.MORPH_ELLIPSE, (2 * len(disc) + 1,) * 2))
    _, names = cv.connectedComponents(inside, connectivity=4)
    areas = np.bincount(names.ravel())
    found = []
    for name in np.unique(names[core > 0]):
        if name == 0 or areas[name] * flat.cell_mm**2 < LEAST_PIECE_MM2:
            continue
        rings, _ = cv.findContours((names == name).astype(np.uint8), cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE)
        ring = max(rings, key=cv.contourArea)
        area = float(cv.contourArea(ring)) * flat.cell_mm**2
        found.append(Region(ring.reshape(-1, 2).astype(float), False, area, hue=(0.0, 0.0, 0.0)))
    return tuple(sorted(found, key=lambda one: -one.area_mm2))


def inner_lines(flat: Straightened, rings: Sequence[Array], lines: Any) -> list[Stroke]:
    """The straight lines within the pieces.

    Args:
        flat: the straightened picture.
        rings: the traced outlines.
        lines: the cells of drawn lines within pieces (1).
    """
    return [stroke for ring in rings for stroke in _within(flat, ring, lines)]


def within_pieces(flat: Straightened, rings: Sequence[Array]) -> Any:
    """The cells (1) within the pieces, a rim left aside."""
    return opencv().erode(flat.within(rings), flat.square(RIM_MM))


def _within(flat: Straightened, ring: Array, lines: Any) -> Iterator[Stroke]:
    cv = opencv()
    cells = flat.cells(ring)
    low = np.maximum(np.floor(cells.min(0)).astype(int) - 2, 0)
    high = np.minimum(np.ceil(cells.max(0)).astype(int) + 3, flat.gray.shape[::-1])
    mask = lines[low[1] : high[1], low[0] : high[0]].copy()
    whole = np.zeros(mask.shape, np.uint8)
    cv.fillPoly(whole, [np.round(cells - low).astype(np.int32)], 1)
    mask &= whole
    least, gap = LEAST_LINE_MM / flat.cell_mm, DASH_GAP_MM / flat.cell_mm
    found = cv.HoughLinesP(mask, 1, np.pi / 720, int(least * 0.6), minLineLength=least, maxLineGap=gap)
    if found is None:
        return
    rows = sorted(
        found.reshape(-1, 4).astype(float), key=lambda row: -float(np.hypot(row[2] - row[0], row[3] - row[1]))
    )
    spots = np.argwhere(mask)[:, ::-1].astype(float)
    for row in rows[:MOST_LINES]:
        ends = _run(spots, row[:2], row[2:], cell_mm=flat.cell_mm)
        if ends is not None:
            spots = spots[~_about(spots, ends, 2.0 * BESIDE_LINE_MM / flat.cell_mm)]
        if ends is not None and not _beside_all_along(flat.table(ends + low), ring):
            a, z = _to_edge(flat.table(ends + low), ring)
            yield Stroke((Line(Point(*map(float, a)), Point(*map(float, z))),))


def _about(spots: Array, ends: Array, near: float) -> Any:
    """Which spots lie beside the line."""
    size = max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
    way = (ends[1] - ends[0]) / size
    along, off = (spots - ends[0]) @ way, (spots - ends[0]) @ np.array([-way[1], way[0]])
    return (np.abs(off) < near) & (along > -near) & (along < size + near)


def _run(spots: Array, a: Array, z: Array, cell_mm: float) -> Array | None:
    """The ends of the line that the spots near a to z make, fitted anew; None where they make none."""
    none = np.zeros(len(spots), bool)
    if len(spots) < 8:
        return None
    middle, turned = (a + z) / 2, (z - a) / max(float(np.hypot(*(z - a))), 1e-9)
    reach_to = float(np.hypot(*(z - a))) / 2
    for _ in range(3):  # the line through the spots, then those on it as far as they run on without a gap
        off, along = (spots - middle) @ np.array([-turned[1], turned[0]]), (spots - middle) @ turned
        beside = np.flatnonzero(np.abs(off) < BESIDE_LINE_MM / cell_mm)
        on = none.copy()
        on[_running_on(along, beside, reach_to, gap=DASH_GAP_MM / cell_mm)] = True
        if on.sum() < 8:
            return None
        middle = spots[on].mean(0)
        _, _, ways = np.linalg.svd(spots[on] - middle, full_matrices=False)
        turned = ways[0]
        reach = (spots[on] - middle) @ turned
        reach_to = float(np.ptp(reach)) / 2
        a, z = middle + turned * reach.min(), middle + turned * reach.max()
    size = float(reach.max() - reach.min())
    step = np.floor((reach - reach.min()) * cell_mm / PENCIL_STEP_MM).astype(int)
    count = np.bincount(step)
    across = (spots[on] - middle) @ np.array([-turned[1], turned[0]]) * cell_mm
    middles = np.bincount(step, across)[count > 0] / count[count > 0]
    filled = float((count > 0).mean())
    straight = float(np.percentile(np.abs(middles), 90)) < PENCIL_STRAIGHT_MM
    if size * cell_mm < LEAST_LINE_MM or filled < FILLED_RATIO or not straight:
        return None
    return np.stack([a, z])


def _running_on(along: Array, beside: Any, reach: float, gap: float) -> Any:
    """Of the spots beside the line those that run on, from its middle stretch, with no gap between."""
    order = beside[np.argsort(along[beside])]
    if not len(order):
        return order
    groups = np.split(order, np.flatnonzero(np.diff(along[order]) > gap) + 1)
    return max(groups, key=lambda group: int((np.abs(along[group]) <= reach).sum()))


def _beside_all_along(ends: Array, ring: Array) -> bool:
    """Whether the line runs along the outline: then it is the paper's own edge or its shadow."""
    spots = ends[0] + np.linspace(0, 1, 7)[:, None] * (ends[1] - ends[0])
    off = np.sqrt(((spots[:, None] - ring[None]) ** 2).sum(2)).min(1)
    return bool(off.max() < ALONG_EDGE_MM)


def _to_edge(ends: Array, ring: Array) -> tuple[Array, Array]:
    """The line's ends, each carried on to the outline where it ends close to it."""
    way = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
    out = []
    for end, away in ((ends[0], -way), (ends[1], way)):
        near = ring[((ring - end) ** 2).sum(1).argmin()]
        ahead = float((near - end) @ away)
        close = float(np.hypot(*(near - end))) < TO_EDGE_MM and ahead > 0
        out.append(end + away * (ahead + DRAWN_ON_BY_MM) if close else end)
    return out[0], out[1]
