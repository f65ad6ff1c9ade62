"""The table as seen straight from above at one scale: one photograph, or several joined in one frame."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.lens import Array, View
from diagnose.pattern.geometry.bezier import Box

__all__ = ["GAMMA", "Straightened", "straightened"]

MOST_CELLS = 13_000_000
LEAST_CELL_MM = 0.16
COARSE = 16
WORST_SHRINK = 5.0
"""Where the table is seen so much smaller than at its best, it is not looked at."""

LARGEST_MM = 3000.0
AROUND_MM = 8.0
"""So much round an outline is taken from the same photograph."""

BESIDE_JOIN_MM = 2.5
"""So near to where two photographs meet a step of light is theirs."""

GAMMA = 2.2
_LIGHT = np.round(65535.0 * (np.arange(256) / 255.0) ** GAMMA).astype(np.uint16)


class Straightened(Struct, frozen=True):
    """The picture (rows downwards, blue-green-red), its grey, its light, what of it was seen, and where it lies.

    The light is linear (16 bits): laid down as light and not as the picture's tones, an edge stays where it is.

    Along `seams` (None of one photograph) one photograph ends and another, in other light, begins.

    Row 0, column 0 has its middle at `left_mm`, `top_mm` of the table; a cell is `cell_mm` wide.
    """

    picture: Any
    gray: Any
    light: Any
    seen: Any
    cell_mm: float
    left_mm: float
    top_mm: float
    seams: Any = None

    def cells(self, xy: Array) -> Array:
        """Columns and rows of places of the table."""
        return np.c_[(xy[:, 0] - self.left_mm) / self.cell_mm, (self.top_mm - xy[:, 1]) / self.cell_mm]

    def within(self, rings: Sequence[Array]) -> Any:
        """The cells within the rings (1) and the others (0)."""
        mask = np.zeros(self.gray.shape, np.uint8)
        for ring in rings:
            opencv().fillPoly(mask, [np.round(self.cells(ring)).astype(np.int32)], 1)
        return mask

    def square(self, mm: float) -> Any:
        """What grows or shrinks cells by so much all round, squarely."""
        return np.ones((2 * round(mm / self.cell_mm) + 1,) * 2, np.uint8)

    def disc(self, mm: float) -> Any:
        """What closes gaps between cells that are no wider, roundly."""
        size = 2 * max(1, round(mm / 2 / self.cell_mm)) + 1
        return opencv().getStructuringElement(opencv().MORPH_ELLIPSE, (size, size))

    def table(self, cells: Array) -> Array:
        """Places of the table of columns and rows."""
        return np.c_[self.left_mm + cells[:, 0] * self.cell_mm, self.top_mm - cells[:, 1] * self.cell_mm]


def straightened(
    shots: Sequence[tuple[Any, View]],
    within: Box | None = None,
    most_cells: float = MOST_CELLS,
    whole: Sequence[tuple[Array, int]] = (),
) -> Straightened:
    """Photographs laid on the table; where two see a place, the nearer is taken.

    Args:
        shots: the pixels of each, and its camera in the frame that all have in common.
        within: what of the table to show; all that is seen well unless given.
        most_cells: how many cells the picture may have.
        whole: outlines on the table, each with the number of the photograph that it is to be taken from.
    """
    cv = opencv()
    boxes, cells = zip(*(_reach(pixels, view) for pixels, view in shots), strict=True)
    left, low = np.min([box[:2] for box in boxes], axis=0)
    right, top = np.max([box[2:] for box in boxes], axis=0)
    if within is not None:
        left, low = max(left, within.left), max(low, within.bottom)
        right, top = min(right, within.right), min(top, within.top)
    cell = max(min(cells), LEAST_CELL_MM, float(np.sqrt((right - left) * (top - low) / most_cells)))
    wide, high = int((right - left) / cell) + 1, int((top - low) / cell) + 1
    picture: Any = None
    light: Any = None
    nearest: Any = None
    source = np.zeros((high, wide), np.uint8)
    for n, (pixels, view) in enumerate(shots):
        x, y, far = _maps(view, (left, top, cell), (wide, high))
        how = cv.INTER_CUBIC if cell < 0.3 else cv.INTER_LINEAR
        laid = cv.remap(pixels, x, y, how)
        inside = (x >= 1) & (y >= 1) & (x < pixels.shape[1] - 2) & (y < pixels.shape[0] - 2)
        own = np.zeros(far.shape, np.uint8)
        for ring in (ring for ring, number in whole if number == n):
            cells_of = np.c_[(ring[:, 0] - left) / cell, (top - ring[:, 1]) / cell]
            cv.fillPoly(own, [np.round(cells_of).astype(np.int32)], 1)
        if own.any():
            far[cv.dilate(own, np.ones((2 * round(AROUND_MM / cell) + 1,) * 2, np.uint8)) > 0] = -1.0
        far = np.where(inside, far, np.inf).astype(np.float32)
        bright = cv.remap(_LIGHT[cv.cvtColor(pixels, cv.COLOR_BGR2GRAY)], x, y, how)
        if picture is None:
            picture, light, nearest = laid, bright, far
        else:
            better = far < nearest
            picture[better], light[better], nearest[better] = laid[better], bright[better], far[better]
            source[better] = n
    seen = np.isfinite(nearest)
    gray = cv.cvtColor(picture, cv.COLOR_BGR2GRAY)
    seams = _seams(source, cell) if len(shots) > 1 else None
    return Straightened(
        picture, gray, light, seams=seams, seen=seen, cell_mm=cell, left_mm=float(left), top_mm=float(top)
    )


def _seams(source: Any, cell_mm: float) -> Any:
    """Where the number of the photograph that cells come from changes (true), and close by."""
    cv = opencv()
    size = 2 * round(BESIDE_JOIN_MM / cell_mm) + 1
    square = np.ones((size, size), np.uint8)
    return cv.dilate(source, square) != cv.erode(source, square)


def _reach(pixels: Any, view: View) -> tuple[tuple[float, float, float, float], float]:
    """What of the table the picture shows well, and how large a pixel is there at its best."""
    high, wide = pixels.shape[:2]
    x, y = np.meshgrid(np.linspace(0, wide - 1, 33), np.linspace(0, high - 1, 25))
    px = np.c_[x.ravel(), y.ravel()]
    here, aside, below = view.table(px), view.table(px + np.array([1.0, 0.0])), view.table(px + np.array([0.0, 1.0]))
    size = np.maximum(np.hypot(*(aside - here).T), np.hypot(*(below - here).T))
    ahead = (np.c_[here, np.zeros(len(here))] @ view.rotation.T + view.numbers[3:6])[:, 2] > 0
    best = float(size[ahead].min())
    eye = view.eye[:2]
    good = ahead & (size < WORST_SHRINK * best) & (np.abs(here - eye).max(1) < LARGEST_MM)
    low, up = here[good].min(0), here[good].max(0)
    return (float(low[0]), float(low[1]), float(up[0]), float(up[1])), float(np.median(size[good])) * 0.9


def _maps(view: View, frame: tuple[float, float, float], size: tuple[int, int]) -> tuple[Any, Any, Any]:
    """The pixel that each cell is seen at, and how far it lies from under the camera; worked out coarsely between."""
    cv = opencv()
    (left, top, cell), (wide, high) = frame, size
    columns = np.arange(-1, wide // COARSE + 2) * COARSE + (COARSE - 1) / 2
    rows = np.arange(-1, high // COARSE + 2) * COARSE + (COARSE - 1) / 2
    x, y = np.meshgrid(left + columns * cell, top - rows * cell)
    xy = np.c_[x.ravel(), y.ravel()]
    px = view.project(xy)
    depth = (np.c_[xy, np.zeros(len(xy))] @ view.rotation.T + view.numbers[3:6])[:, 2]
    px[depth <= 0] = -1e4
    far = np.hypot(*(xy - view.eye[:2]).T)
    out = []
    for values in (px[:, 0], px[:, 1], far):
        small = np.clip(values, -1e4, 1e5).reshape(x.shape).astype(np.float32)
        large = cv.resize(small, (small.shape[1] * COARSE, small.shape[0] * COARSE), interpolation=cv.INTER_LINEAR)
        out.append(np.ascontiguousarray(large[COARSE : COARSE + high, COARSE : COARSE + wide]))
    return out[0], out[1], out[2]
