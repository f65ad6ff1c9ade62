"""An outline of whole cells drawn finely: each place of it moved, square to it, to where the light steps or dips."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.straightening import Straightened

__all__ = ["TRACED_EVERY_MM", "What", "counter_clockwise", "edge_off", "evenly", "lengths_to", "traced"]

What = Literal["step", "dark line", "light line"]
"""How an outline shows: paper ends there, or a line is drawn, darker or lighter than the paper beside it."""

TRACED_EVERY_MM = 0.6
"""How far apart the places of a traced outline lie."""

REACH_MM = 2.4
SMOOTH_MM = 1.2
FILTER_MM = 0.35
NEAR_PENALTY = 0.12
ROUNDS = 2
LOOK_MM = 1.2
PLAIN_PEAK_RATIO = 0.3


def traced(flat: Straightened, outline: Array, what: What) -> Array:
    """The outline on the table (mm, closed, counter-clockwise, evenly spaced).

    Args:
        flat: the straightened picture.
        outline: cells, closed.
        what: how it shows.
    """
    ring = evenly(_smooth(evenly(counter_clockwise(flat.table(outline))), SMOOTH_MM))
    for n in range(ROUNDS):
        tangent = np.roll(ring, -2, 0) - np.roll(ring, 2, 0)
        tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
        closed = [(np.r_[v[-1:], v, v[:1]]) for v in (ring, tangent)]
        off = edge_off(flat, [(closed[0], _right(closed[1]))], what, reach_mm=REACH_MM if n == 0 else REACH_MM / 2)[0][
            1:-1
        ]
        moved = ring + _right(tangent) * np.nan_to_num(off)[:, None]
        ring = moved if n == ROUNDS - 1 else evenly(_smooth(moved, 0.8))
    return ring


def counter_clockwise(ring: Array) -> Array:
    """The closed line, turned where it runs clockwise."""
    x, y = ring.T
    return ring[::-1] if (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() < 0.0 else ring


def _right(tangent: Array) -> Array:
    return np.c_[tangent[:, 1], -tangent[:, 0]]


def lengths_to(line: Array) -> Array:
    """How far along a line each of its places lies."""
    return np.r_[0.0, np.cumsum(np.hypot(*np.diff(line, axis=0).T))]


def evenly(ring: Array, count: int = 0) -> Array:
    """The closed line with so many places evenly spaced along it; as far apart as those of a trace unless told."""
    closed = np.r_[ring, ring[:1]]
    along = lengths_to(closed)
    count = count or max(16, round(along[-1] / TRACED_EVERY_MM))
    at = np.arange(count) * along[-1] / count
    return np.c_[np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])]


def _smooth(ring: Array, sd_mm: float) -> Array:
    sd = sd_mm / TRACED_EVERY_MM
    reach = int(4 * sd) + 1
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sd) ** 2)
    kernel /= kernel.sum()
    return np.stack([np.convolve(np.r_[v[-reach:], v, v[:reach]], kernel, "valid") for v in ring.T], axis=1)


def edge_off(
    flat: Straightened, runs: Sequence[tuple[Array, Array]], what: What, reach_mm: float = LOOK_MM
) -> list[Array]:
    """How far outwards of each place the edge is seen, in mm; NaN where none is plain.

    Args:
        flat: the straightened picture.
        runs: parts of one outline, each as places on the table, evenly spaced, and the ways outwards there.
        what: how the outline shows.
        reach_mm: how far off it is looked for.
    """
    step = flat.cell_mm / 2
    offsets = np.arange(-reach_mm - 4 * step, reach_mm + 4 * step, step)
    seen = [_seen(flat, places, out, offsets=offsets) for places, out in runs]
    kernel = _kernel(what, max(FILTER_MM, 0.9 * flat.cell_mm) / step)
    answers = [opencv().filter2D(light, -1, kernel[None, ::-1], borderType=opencv().BORDER_REPLICATE) for light in seen]
    if what == "step":  # which side is lighter is the same all round
        inner = np.concatenate([one[:, len(offsets) // 4 : -len(offsets) // 4].sum(1) for one in answers])
        sign = -1.0 if np.median(inner) < 0 else 1.0
        answers = [sign * one for one in answers]
    # in shadow all light is less: what counts is the ratio
    answers = [a / np.maximum(light.max(1, keepdims=True), 1e-3) for a, light in zip(answers, seen, strict=True)]
    peaks = [_peak(one, offsets, reach_mm) for one in answers]
    plain = PLAIN_PEAK_RATIO * float(np.median(np.concatenate([height for _, height in peaks])))
    return [np.where(height > plain, at, np.nan) for at, height in peaks]


def _seen(flat: Straightened, places: Array, out: Array, offsets: Array) -> Array:
    """The light across the outline at each place, averaged a little along it against noise."""
    cv = opencv()
    spots = flat.cells((places[:, None] + out[:, None] * offsets[None, :, None]).reshape(-1, 2))
    x, y = (spots[:, k].reshape(len(places), len(offsets)).astype(np.float32) for k in (0, 1))
    light = cv.remap(flat.light, x, y, cv.INTER_LINEAR, borderMode=cv.BORDER_REPLICATE).astype(np.float64) / 65535.0
    padded = np.pad(light, ((1, 1), (0, 0)), mode="edge")
    return np.asarray((padded[:-2] + 2 * light + padded[2:]) / 4)


def _kernel(what: What, sd: float) -> Array:
    """What answers most where light steps, or dips, over so many cells."""
    size = np.arange(-int(3 * sd) - 1, int(3 * sd) + 2, dtype=float)
    bell = np.exp(-0.5 * (size / sd) ** 2)
    if what == "step":
        shape = -size * bell
    else:
        shape = bell * (1 - (size / sd) ** 2)
        shape = (shape - shape.mean()) * (1.0 if what == "light line" else -1.0)
    return np.asarray(shape / np.abs(shape).sum() * 2)


def _peak(answer: Array, offsets: Array, reach_mm: float) -> tuple[Array, Array]:
    """Where the answer is greatest, to a part of a cell, the nearer of two alike; and how great."""
    nearer = answer - NEAR_PENALTY * np.maximum(answer.max(1, keepdims=True), 0) * (offsets / reach_mm) ** 2
    best = nearer[:, 4:-4].argmax(1) + 4
    rows = np.arange(len(answer))
    a, m, z = nearer[rows, best - 1], nearer[rows, best], nearer[rows, best + 1]
    bow = a - 2 * m + z
    part = np.where(np.abs(bow) > 1e-12, 0.5 * (a - z) / np.where(np.abs(bow) > 1e-12, bow, 1.0), 0.0)
    return offsets[best] + np.clip(part, -1, 1) * (offsets[1] - offsets[0]), m
