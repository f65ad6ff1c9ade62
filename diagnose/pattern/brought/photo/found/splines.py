"""Smooth runs fitted to places: a straight line where they are one, else a spline of as few spans as lie on them."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from diagnose.pattern.brought.photo.found.tracing import TRACED_EVERY_MM, lengths_to
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.outline import Cubic, Line, Point, Segment

__all__ = ["MOST_KNOTS", "averaged", "basis", "is_straight", "side_of", "spline", "trust"]

EDGE_STRAIGHT_MM, BOW_MM = 0.12, 0.07
"""An edge is straight when its places lie off by less, and it is bowed as a whole by less."""

CLOSE_MM = 0.045
WINDOW_MM = 8.0
MOST_KNOTS = 5
LEAST_SPAN_MM = 12.0
NO_BETTER = 1.2
"""Fewer spans do that stray at most so many times as far as the best."""

ROUNDS, LAST_ROUNDS = 3, 8
NEARBY = 5
STRAY_SD = 2.0


def side_of(run: Array, start: Array, end: Array) -> tuple[Segment, ...]:
    """Segments from corner to corner along a run."""
    if len(run) < 8 or is_straight(_chord_off(run, start, end), (run - start) @ (end - start)):
        return (Line(_point(start), _point(end)),)
    knots: list[float] = []
    tried: list[tuple[list[float], float]] = []
    while True:
        _, away, u = spline(run, start, end, knots=knots)
        tried.append((list(knots), _stray(away)))
        if tried[-1][1] < CLOSE_MM or len(knots) == MOST_KNOTS:
            break
        more = _next_knot(run, u, knots)
        if more is None:
            break
        knots = sorted([*knots, more])
    enough = max(CLOSE_MM, NO_BETTER * min(stray for _, stray in tried))
    knots = next(knots for knots, stray in tried if stray <= enough)
    curve, _, _ = spline(run, start, end, knots=knots, rounds=LAST_ROUNDS)
    return tuple(_cubics(curve, knots))


def _next_knot(run: Array, u: Array, knots: list[float]) -> float | None:
    """Where along the run (places at parameters u) one more knot helps most; None where there is no room."""
    few = slice(None, None, max(1, len(run) // 90))
    places, spots = run[few], u[few]
    least = max(0.06, LEAST_SPAN_MM / max(float(np.hypot(*np.diff(run, axis=0).T).sum()), 1.0))
    room = [t for t in np.linspace(0.08, 0.92, 15) if min(abs(t - k) for k in (0.0, 1.0, *knots)) > least]
    if not room:
        return None

    def left(t: float) -> float:
        design = basis(spots, sorted([*knots, t]))
        control, *_ = np.linalg.lstsq(design, places, rcond=None)
        return float(((design @ control - places) ** 2).sum())

    best = float(min(room, key=left))
    for step in (0.028, 0.014, 0.007):
        best = min((best, best - step, best + step), key=left)
    return best


def _stray(off: Array) -> float:
    """How far a fitted line strays from the trace, noise and a single crease left aside."""
    smooth = np.abs(averaged(off))
    return float(max(np.percentile(smooth, 85), np.percentile(smooth, 97) / 1.5))


def _chord_off(run: Array, start: Array, end: Array) -> Array:
    way = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    return (run - start) @ np.array([-way[1], way[0]])


def averaged(off: Array, window_mm: float = WINDOW_MM) -> Array:
    """A running mean along the run, so that noise doesn't look like shape."""
    size = max(1, min(round(window_mm / TRACED_EVERY_MM), len(off) // 3))
    kernel = np.ones(size) / size
    return np.convolve(np.pad(off, (size // 2, size - 1 - size // 2), mode="edge"), kernel, "valid")


def is_straight(off: Array, along: Array) -> bool:
    """Whether places off a line by so much are those of a straight edge: a crease bends it at one place alone."""
    u = (along - along[0]) / max(float(along[-1] - along[0]), 1e-9)
    design = np.stack([np.ones(len(u)), u, 4.0 * u * (1.0 - u)], axis=1)
    weight = np.ones(len(u))
    for _ in range(ROUNDS):
        fit, *_ = np.linalg.lstsq(design * weight[:, None], off * weight, rcond=None)
        weight = trust(off - design @ fit)
    return abs(float(fit[2])) < BOW_MM and float(np.percentile(np.abs(averaged(off)), 90)) < EDGE_STRAIGHT_MM


def trust(off: Array) -> Array:
    """Weights that fall where a place strays."""
    size = np.abs(off)
    sd = max(1.4826 * float(np.median(size)), 0.02)
    return np.sqrt(np.minimum(1.0, STRAY_SD * sd / np.maximum(size, 1e-9)))


def spline(
    run: Array, start: Array, end: Array, knots: list[float], rounds: int = ROUNDS
) -> tuple[Array, Array, Array]:
    """The cubic spline from start to end nearest to the run: control points, how far each place lies off, and where."""
    path = np.r_[start[None], run, end[None]]
    along = lengths_to(path)
    u = along[1:-1] / along[-1]
    weight = np.ones(len(run))
    control, off = np.zeros((2 * len(knots) + 4, 2)), np.zeros(len(run))
    fine = np.linspace(0, 1, 64 + 32 * len(knots))
    fine_basis = basis(fine, knots)
    for _ in range(rounds):
        design = basis(u, knots)
        known = design[:, :1] * start + design[:, -1:] * end
        inner, *_ = np.linalg.lstsq(design[:, 1:-1] * weight[:, None], (run - known) * weight[:, None], rcond=None)
        control = np.r_[start[None], inner, end[None]]
        u, off = _nearest(run, fine_basis @ control, fine, u=u)
        weight = trust(off)
    return control, off, u


def _nearest(run: Array, places: Array, fine: Array, u: Array) -> tuple[Array, Array]:
    """For each place of the run the parameter of the nearest place of a fine polyline, and the signed distance.

    It is looked for only near the parameter that the place had.
    """
    a, d = places[:-1], np.diff(places, axis=0)
    k = np.clip(np.searchsorted(fine, u)[:, None] - 1 + np.arange(-NEARBY, NEARBY + 1), 0, len(a) - 1)
    t = np.clip(((run[:, None] - a[k]) * d[k]).sum(2) / np.maximum((d[k] ** 2).sum(2), 1e-12), 0, 1)
    away = run[:, None] - a[k] - t[..., None] * d[k]
    size = np.hypot(away[..., 0], away[..., 1])
    best = size.argmin(1)
    rows = np.arange(len(run))
    k, t, away, size = k[rows, best], t[rows, best], away[rows, best], size[rows, best]
    left = d[k][:, 0] * away[:, 1] - d[k][:, 1] * away[:, 0]
    return fine[k] + t * (fine[k + 1] - fine[k]), np.where(left < 0, -size, size)


def basis(u: Array, inner: list[float]) -> Array:
    """The cubic B-splines (de Boor) on 0 to 1 at each u: slope and place run on over the inner knots, no more."""
    knots = np.r_[np.zeros(4), np.repeat(inner, 2), np.ones(4)]
    u = np.clip(u, 0, 1 - 1e-12)
    rows = ((u[:, None] >= knots[None, :-1]) & (u[:, None] < knots[None, 1:])).astype(float)
    for k in range(1, 4):
        wide, after = knots[k:-1] - knots[: -k - 1], knots[k + 1 :] - knots[1:-k]
        with np.errstate(invalid="ignore", divide="ignore"):
            left = np.where(wide > 0, (u[:, None] - knots[None, : -k - 1]) / wide, 0.0)
            right = np.where(after > 0, (knots[None, k + 1 :] - u[:, None]) / after, 0.0)
        rows = left * rows[:, :-1] + right * rows[:, 1:]
    return rows


def _cubics(control: Array, knots: list[float]) -> list[Segment]:
    """The spline as one cubic a span, exactly: two inner control points of each are its own."""
    ends = [control[0], *(basis(np.array([k]), knots)[0] @ control for k in knots), control[-1]]
    out: list[Segment] = []
    for n, (a, z) in enumerate(pairwise(ends)):
        begin = out[-1].end if out else _point(a)
        out.append(Cubic(begin, _point(control[2 * n + 1]), _point(control[2 * n + 2]), _point(z)))
    return out


def _point(xy: Any) -> Point:
    return Point(float(xy[0]), float(xy[1]))
