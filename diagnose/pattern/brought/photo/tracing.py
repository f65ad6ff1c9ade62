"""An outline of whole cells drawn finely: each place of it moved, square to it, to where the light steps or dips."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.straightening import Straightened

__all__ = ["STEP_MM", "evenly", "traced"]

STEP_MM = 0.6
"""How far apart the places of a traced outline lie."""

REACH_MM = 2.4
SMOOTH_MM = 1.2
FILTER_MM = 0.35
NEAR_PENALTY = 0.12
ROUNDS = 2


def traced(flat: Straightened, outline: Array, what: Literal["step", "line"]) -> tuple[Array, Array]:
    """The outline on the table (mm, closed, counter-clockwise, evenly spaced), and how plain the edge is at each place.

    Args:
        flat: the straightened picture.
        outline: cells, closed.
        what: whether paper ends there, or a line is drawn.
    """
    ring = flat.table(outline)
    if _area(ring) < 0:
        ring = ring[::-1]
    ring, strength = evenly(_smooth(evenly(ring), SMOOTH_MM)), np.empty(0)
    for n in range(ROUNDS):
        moved, strength = _moved(flat, ring, what, REACH_MM if n == 0 else REACH_MM / 2)
        ring = moved if n == ROUNDS - 1 else evenly(_smooth(moved, 0.8))
    return ring, strength


def _area(ring: Array) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


def evenly(ring: Array, step_mm: float = STEP_MM) -> Array:
    """The closed line with places evenly spaced along it."""
    closed = np.r_[ring, ring[:1]]
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    count = max(16, round(along[-1] / step_mm))
    at = np.arange(count) * along[-1] / count
    return np.c_[np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])]


def _smooth(ring: Array, sd_mm: float) -> Array:
    sd = sd_mm / STEP_MM
    reach = int(4 * sd) + 1
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sd) ** 2)
    kernel /= kernel.sum()
    return np.stack([np.convolve(np.r_[v[-reach:], v, v[:reach]], kernel, "valid") for v in ring.T], axis=1)


def _moved(flat: Straightened, ring: Array, what: str, reach_mm: float) -> tuple[Array, Array]:
    cv = opencv()
    tangent = np.roll(ring, -2, 0) - np.roll(ring, 2, 0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    out = np.c_[tangent[:, 1], -tangent[:, 0]]
    step = flat.cell_mm / 2
    offsets = np.arange(-reach_mm - 4 * step, reach_mm + 4 * step, step)
    spots = flat.cells((ring[:, None] + out[:, None] * offsets[None, :, None]).reshape(-1, 2))
    shape = (len(ring), len(offsets))
    x, y = (spots[:, k].reshape(shape).astype(np.float32) for k in (0, 1))
    seen = cv.remap(flat.light, x, y, cv.INTER_LINEAR, borderMode=cv.BORDER_REPLICATE)
    light = _along(seen.astype(np.float64) / 65535.0)
    sd = max(FILTER_MM, 0.9 * flat.cell_mm) / step
    size = np.arange(-int(3 * sd) - 1, int(3 * sd) + 2, dtype=float)
    bell = np.exp(-0.5 * (size / sd) ** 2)
    if what == "step":
        shape_ = -size * bell
        kernel = shape_ / np.abs(shape_).sum() * 2
    else:
        shape_ = bell * (1 - (size / sd) ** 2)
        shape_ = shape_.mean() - shape_
        kernel = shape_ / np.abs(shape_).sum() * 2
    answer = cv.filter2D(light, cv.CV_64F, kernel[None, ::-1], borderType=cv.BORDER_REPLICATE)
    if what == "step":
        # which side is lighter is the same all round
        sign = -1.0 if np.median(answer[:, len(offsets) // 4 : -len(offsets) // 4].sum(1)) < 0 else 1.0
        answer = sign * answer
    # in shadow all light is less: what counts is the ratio
    answer = answer / np.maximum(light.max(1, keepdims=True), 1e-3)
    answer = answer - NEAR_PENALTY * np.maximum(answer.max(1, keepdims=True), 0) * (offsets / reach_mm) ** 2
    inner = answer[:, 4:-4]
    best = inner.argmax(1) + 4
    rows = np.arange(len(ring))
    a, m, z = answer[rows, best - 1], answer[rows, best], answer[rows, best + 1]
    bow = a - 2 * m + z
    part = np.where(np.abs(bow) > 1e-12, 0.5 * (a - z) / np.where(np.abs(bow) > 1e-12, bow, 1.0), 0.0)
    at = offsets[best] + np.clip(part, -1, 1) * step
    return ring + out * at[:, None], m


def _along(light: Any) -> Any:
    """Averaged a little along the outline, against noise."""
    return (np.roll(light, 1, 0) + 2 * light + np.roll(light, -1, 0)) / 4
