"""Outlines drawn as lines, dark on light paper or light on dark: which cells they enclose, and lines within pieces.

A line is what is darker (or lighter) than the paper close on both sides of it. The squares of squared paper are told
from the pencil by their colour, where they have one, and else by being the fainter of two kinds of line.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.laid_pieces import LEAST_PIECE_MM2, Region
from diagnose.pattern.brought.photo.straightening import Straightened

__all__ = ["drawn_regions", "line_mask", "line_strength"]

WIDEST_MM = 3.2
FINE_MM = 0.22
GAPS_MM = 1.2
LEAST_STRENGTH = 0.07
LEAST_LONG_MM = 14.0
WEAK_RATIO = 0.55
PIECE_FILL = 0.25


def line_strength(flat: Straightened, *, light: bool = False) -> Any:
    """How much darker (or lighter) than the paper beside it each cell is, as a part of the paper's light (8 bits)."""
    cv = opencv()
    size = 2 * max(1, round(WIDEST_MM / 2 / flat.cell_mm)) + 1
    square = cv.getStructuringElement(cv.MORPH_ELLIPSE, (size, size))
    out: Any = None
    for k in range(3):
        channel = cv.GaussianBlur(flat.picture[:, :, k], (0, 0), max(0.6, FINE_MM / flat.cell_mm))
        kind = cv.MORPH_TOPHAT if light else cv.MORPH_BLACKHAT
        deep = cv.morphologyEx(channel, kind, square).astype(np.float32)
        round_it = cv.dilate(channel, square).astype(np.float32)
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
    grow = max(1, round(GAPS_MM / 2 / flat.cell_mm))
    disc = cv.getStructuringElement(cv.MORPH_ELLIPSE, (2 * grow + 1, 2 * grow + 1))
    wall = cv.dilate(lines, disc)
    free = ((wall == 0) | (leave_out > 0)).astype(np.uint8)
    padded = np.pad(free, 1, constant_values=1)
    padded[1:-1, 1:-1][~flat.seen] = 1
    filled = padded.copy()
    cv.floodFill(filled, None, (0, 0), 2)
    inside = (filled[1:-1, 1:-1] != 2).astype(np.uint8)
    inside = cv.erode(inside, disc)
    core = cv.erode(inside, cv.getStructuringElement(cv.MORPH_ELLIPSE, (4 * grow + 3, 4 * grow + 3)))
    _, names = cv.connectedComponents(inside, connectivity=4)
    areas = np.bincount(names.ravel())
    found = []
    for name in np.unique(names[core > 0]):
        if name == 0 or areas[name] * flat.cell_mm**2 < LEAST_PIECE_MM2:
            continue
        rings, _ = cv.findContours((names == name).astype(np.uint8), cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE)
        ring = max(rings, key=cv.contourArea)
        area = float(cv.contourArea(ring)) * flat.cell_mm**2
        found.append(Region(ring.reshape(-1, 2).astype(float), False, area, (0.0, 0.0, 0.0)))
    return tuple(sorted(found, key=lambda one: -one.area_mm2))
