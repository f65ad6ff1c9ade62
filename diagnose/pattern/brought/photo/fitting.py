"""A traced outline made into true corners, straight lines and few cubics.

A corner is where the line that comes and the line that goes, each carried on by its own curve, do not run into one
another. Between corners a smooth run (a spline of as few spans as lie on the trace) is fitted by least squares, strays
counting for less; it is then carried on to where it meets its neighbours, so that a corner blurred in the picture, or
rounded by scissors, comes out as drawn.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.tracing import STEP_MM
from diagnose.pattern.outline import Cubic, Line, Point, Segment

__all__ = ["fitted"]

SKIP_MM = 2.0
ARM_MM, SHORT_ARM_MM = 13.0, 6.5
CORNER_DEG, SHORT_CORNER_DEG = 13.0, 26.0
APART_MM = 7.0
JUMP_MM = 1.4
"""How far the two lines may miss one another at a corner."""

END_ARM_MM = 16.0
FARTHEST_MM = 4.0
STRAIGHT_MM = 0.22
CLOSE_MM = 0.045
WINDOW_MM = 8.0
MOST_KNOTS = 5
LEAST_SPAN_MM = 12.0
NO_BETTER = 1.2
"""Fewer spans do that stray at most so many times as far as the best."""

ROUNDS, LAST_ROUNDS = 3, 8
NEARBY = 5
STRAY_SD = 2.0


def fitted(ring: Array) -> tuple[tuple[Segment, ...], float]:
    """The outline as segments, counter-clockwise, and how far the trace strays from it (mm, robust)."""
    corners = _true_ones(ring, _corners(ring))
    if len(corners) < 2:  # smooth all round, or a drop: it is begun anywhere, and parted opposite
        first = corners[0] if corners else 0
        corners = [first, (first + len(ring) // 2) % len(ring)]
    runs = _runs(ring, corners)
    spots = [_meeting(runs[n - 1], runs[n], ring[at]) for n, at in enumerate(corners)]
    segments: list[Segment] = []
    off = []
    for n, run in enumerate(runs):
        made, away = _run(run, spots[n], spots[(n + 1) % len(spots)])
        segments += made
        off.append(away)
    every = np.concatenate(off)
    return tuple(segments), float(1.4826 * np.median(np.abs(every)))


def _runs(ring: Array, corners: list[int]) -> list[Array]:
    return [_between(ring, a, z) for a, z in zip(corners, [*corners[1:], *corners[:1]], strict=True)]


def _true_ones(ring: Array, corners: list[int]) -> list[int]:
    """The corners that stay ones when each is looked at no farther than to the next: the weakest goes first."""
    left = list(corners)
    ends: dict[tuple[int, int], tuple[Array, Array]] = {}
    while len(left) > 2:
        for key in zip(left, [*left[1:], *left[:1]], strict=True):
            if key not in ends:
                run = _between(ring, *key)
                ends[key] = (_end_curve(run), _end_curve(run[::-1]))
        turns = [
            _turn_deg(ends[left[n - 1], at][1], ends[at, left[(n + 1) % len(left)]][0], ring[at])
            for n, at in enumerate(left)
        ]
        weakest = int(np.argmin(turns))
        if turns[weakest] >= CORNER_DEG:
            break
        del left[weakest]
    return left


def _turn_deg(come: Array, go: Array, spot: Array) -> float:
    """By how much the line turns at the spot, from one curve that ends there (its run reversed) to one that begins."""
    a, z = -_on(come, _nearest_s(come, spot))[1], _on(go, _nearest_s(go, spot))[1]
    return float(abs(np.degrees(np.arctan2(a[0] * z[1] - a[1] * z[0], a @ z))))


def _nearest_s(curve: Array, spot: Array) -> float:
    """Where along the start of the curve, carried back, the spot lies."""
    return float(max(-2 * SKIP_MM, min(0.0, (spot - curve[0]) @ curve[1] / max(curve[1] @ curve[1], 1e-9))))


def _corners(ring: Array) -> list[int]:
    """The numbers of the places that are corners, in order."""
    score = np.zeros(len(ring))
    for arm, least in ((ARM_MM, CORNER_DEG), (SHORT_ARM_MM, SHORT_CORNER_DEG)):
        turn, jump = _turns(ring, arm)
        ratio = np.abs(turn) / least
        ratio[jump > JUMP_MM] = 0.0
        score = np.maximum(score, ratio)
    found: list[int] = []
    reach = round(APART_MM / STEP_MM)
    for n in np.argsort(-score):
        if score[n] < 1.0:
            break
        if all(min(abs(n - k), len(ring) - abs(n - k)) > reach for k in found):
            found.append(int(n))
    return sorted(found)


def _turns(ring: Array, arm_mm: float) -> tuple[Array, Array]:
    """At each place the turn (degrees) between the line that comes and the one that goes, and how far they miss."""
    s = np.arange(SKIP_MM, arm_mm, STEP_MM)
    order = 2 if arm_mm > 10 else 1
    design = np.stack([s**k for k in range(order + 1)], axis=1)
    solve = np.linalg.pinv(design)
    steps = np.round(s / STEP_MM).astype(int)
    at = np.arange(len(ring))
    ahead = ring[(at[:, None] + steps) % len(ring)]
    behind = ring[(at[:, None] - steps) % len(ring)]
    go, come = np.einsum("ks,nsx->nkx", solve, ahead), np.einsum("ks,nsx->nkx", solve, behind)
    a, b = -come[:, 1], go[:, 1]
    turn = np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(1)))
    if order == 1:  # straight arms on a curve turn by the curve: what a longer look says is the curve's is left out
        far = _turns(ring, 2.0 * arm_mm)[0] if len(ring) * STEP_MM > 8 * arm_mm else turn
        turn = np.where(np.abs(far) < CORNER_DEG * 0.6, 0.0, turn)
    return turn, np.hypot(*(go[:, 0] - come[:, 0]).T)


def _between(ring: Array, a: int, z: int) -> Array:
    """The places from one corner to the next, without those that the corners blur."""
    count = (z - a) % len(ring) or len(ring)
    skip = min(round(SKIP_MM / STEP_MM), max(count // 4, 0))
    return ring[np.arange(a + skip, a + count - skip + 1) % len(ring)]


def _meeting(come: Array, go: Array, near: Array) -> Array:
    """Where the run that comes, carried on, meets the run that goes, carried back; the trace's own place if nowhere."""
    first, second = _end_curve(come[::-1]), _end_curve(go)
    at = np.zeros(2)
    for _ in range(12):
        p, dp = _on(first, at[0])
        q, dq = _on(second, at[1])
        try:
            step = np.linalg.solve(np.stack([dp, -dq], axis=1), q - p)
        except np.linalg.LinAlgError:
            return near
        at = np.clip(at + np.clip(step, -2, 2), -FARTHEST_MM - SKIP_MM, END_ARM_MM)
    p, _ = _on(first, at[0])
    q, _ = _on(second, at[1])
    spot = (p + q) / 2
    return spot if np.hypot(*(p - q)) < 0.05 and np.hypot(*(spot - near)) < FARTHEST_MM else near


def _end_curve(run: Array) -> Array:
    """The first stretch of a run as x(s), y(s): straight where it is, else bent evenly. Rows: constant, s, s²."""
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(run, axis=0).T))]
    straight = _line_off(run)
    whole = float(np.percentile(np.abs(straight), 90)) < STRAIGHT_MM
    keep = along <= (along[-1] if whole else END_ARM_MM)
    order = 1 if whole or keep.sum() < 10 else 2
    s, xy, weight = along[keep], run[keep], np.ones(keep.sum())
    for _ in range(ROUNDS):
        design = np.stack([s**k for k in range(order + 1)], axis=1)
        fit, *_ = np.linalg.lstsq(design * weight[:, None], xy * weight[:, None], rcond=None)
        weight = _trust(np.hypot(*(design @ fit - xy).T))
    return fit if order == 2 else np.r_[fit, np.zeros((1, 2))]


def _on(curve: Array, s: float) -> tuple[Array, Array]:
    return curve[0] + curve[1] * s + curve[2] * s * s, curve[1] + 2 * curve[2] * s


def _line_off(run: Array) -> Array:
    """How far each place of the run lies from the straight line that fits it best."""
    weight = np.ones(len(run))
    off = np.zeros(len(run))
    for _ in range(ROUNDS):
        middle = (run * weight[:, None]).sum(0) / weight.sum()
        _, _, ways = np.linalg.svd((run - middle) * np.sqrt(weight)[:, None], full_matrices=False)
        off = (run - middle) @ np.array([-ways[0][1], ways[0][0]])
        weight = _trust(off) ** 2
    return off


def _trust(off: Array) -> Array:
    """Weights that fall where a place strays."""
    size = np.abs(off)
    sd = max(1.4826 * float(np.median(size)), 0.02)
    return np.sqrt(np.minimum(1.0, STRAY_SD * sd / np.maximum(size, 1e-9)))


def _run(run: Array, start: Array, end: Array) -> tuple[list[Segment], Array]:
    """Segments from corner to corner along a run, and how far each place of it lies off them."""
    off = _chord_off(run, start, end)
    if float(np.percentile(np.abs(_averaged(off)), 90)) < STRAIGHT_MM or len(run) < 8:
        return [Line(_point(start), _point(end))], off
    knots: list[float] = []
    tried: list[tuple[list[float], float]] = []
    while True:
        _, away, u = _spline(run, start, end, knots)
        tried.append((list(knots), _stray(away)))
        if tried[-1][1] < CLOSE_MM or len(knots) == MOST_KNOTS:
            break
        more = _next_knot(run, u, knots)
        if more is None:
            break
        knots = sorted([*knots, more])
    enough = max(CLOSE_MM, NO_BETTER * min(stray for _, stray in tried))
    knots = next(knots for knots, stray in tried if stray <= enough)
    curve, away, _ = _spline(run, start, end, knots, LAST_ROUNDS)
    return _cubics(curve, knots), away


def _next_knot(run: Array, u: Array, knots: list[float]) -> float | None:
    """Where along the run (places at parameters u) one more knot helps most; None where there is no room."""
    few = slice(None, None, max(1, len(run) // 90))
    places, spots = run[few], u[few]
    least = max(0.06, LEAST_SPAN_MM / max(float(np.hypot(*np.diff(run, axis=0).T).sum()), 1.0))
    room = [t for t in np.linspace(0.08, 0.92, 15) if min(abs(t - k) for k in (0.0, 1.0, *knots)) > least]
    if not room:
        return None

    def left(t: float) -> float:
        design = _basis(spots, sorted([*knots, t]))
        control, *_ = np.linalg.lstsq(design, places, rcond=None)
        return float(((design @ control - places) ** 2).sum())

    best = float(min(room, key=left))
    for step in (0.028, 0.014, 0.007):
        best = min((best, best - step, best + step), key=left)
    return best


def _stray(off: Array) -> float:
    """How far a fitted line strays from the trace, noise and a single crease left aside."""
    smooth = np.abs(_averaged(off))
    return float(max(np.percentile(smooth, 85), np.percentile(smooth, 97) / 1.5))


def _chord_off(run: Array, start: Array, end: Array) -> Array:
    way = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    return (run - start) @ np.array([-way[1], way[0]])


def _averaged(off: Array) -> Array:
    """A running mean along the run, so that noise doesn't look like shape."""
    size = max(1, min(round(WINDOW_MM / STEP_MM), len(off) // 3))
    kernel = np.ones(size) / size
    return np.convolve(np.pad(off, (size // 2, size - 1 - size // 2), mode="edge"), kernel, "valid")


def _spline(
    run: Array, start: Array, end: Array, knots: list[float], rounds: int = ROUNDS
) -> tuple[Array, Array, Array]:
    """The cubic spline from start to end nearest to the run: control points, how far each place lies off, and where."""
    path = np.r_[start[None], run, end[None]]
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(path, axis=0).T))]
    u = along[1:-1] / along[-1]
    weight = np.ones(len(run))
    control, off = np.zeros((2 * len(knots) + 4, 2)), np.zeros(len(run))
    fine = np.linspace(0, 1, 64 + 32 * len(knots))
    fine_basis = _basis(fine, knots)
    for _ in range(rounds):
        design = _basis(u, knots)
        known = design[:, :1] * start + design[:, -1:] * end
        inner, *_ = np.linalg.lstsq(design[:, 1:-1] * weight[:, None], (run - known) * weight[:, None], rcond=None)
        control = np.r_[start[None], inner, end[None]]
        u, off = _nearest(run, fine_basis @ control, fine, u)
        weight = _trust(off)
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


def _basis(u: Array, inner: list[float]) -> Array:
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
    ends = [control[0], *(_basis(np.array([k]), knots)[0] @ control for k in knots), control[-1]]
    out: list[Segment] = []
    for n, (a, z) in enumerate(pairwise(ends)):
        begin = out[-1].end if out else _point(a)
        out.append(Cubic(begin, _point(control[2 * n + 1]), _point(control[2 * n + 2]), _point(z)))
    return out


def _point(xy: Any) -> Point:
    return Point(float(xy[0]), float(xy[1]))
