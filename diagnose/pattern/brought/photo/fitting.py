"""A traced outline made into true corners, straight lines and few cubics.

A corner is where the line that comes and the line that goes, each carried on by its own curve, do not run into one
another. Between corners a smooth run (a spline of as few spans as lie on the trace) is fitted by least squares, strays
counting for less; it is then carried on to where it meets its neighbours, so that a corner blurred in the picture, or
rounded by scissors, comes out as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.tracing import STEP_MM
from diagnose.pattern.outline import Cubic, Line, Point, Segment

__all__ = ["Fitted", "fitted"]

Look = Callable[[Sequence[tuple[Array, Array]]], Sequence[Array]]
LOOKS = 2
CLEAR_MM = 1.3
LEAST_SEEN = 0.5
JUDGED_MM = 4.0
LOST_MM = 9.0
FINE = 80
LOOK_SPAN_MM = 60.0

SKIP_MM = 2.0
ARM_MM, SHORT_ARM_MM = 13.0, 6.5
CORNER_DEG, SHORT_CORNER_DEG = 13.0, 26.0
APART_MM = 7.0
JUMP_MM = 1.4
"""How far the two lines may miss one another at a corner."""

END_ARM_MM = 16.0
FARTHEST_MM = 4.0
STRAIGHT_MM, BOW_MM = 0.12, 0.07
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


class Fitted(Struct, frozen=True):
    """An outline: its segments by side (corner to corner), counter-clockwise.

    `stray_mm` is how far the picture's edge lies off it at the worst place, noise averaged away; `noise_mm` that noise.
    """

    sides: tuple[tuple[Segment, ...], ...]
    stray_mm: float
    noise_mm: float

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All of them in order."""
        return tuple(segment for side in self.sides for segment in side)


def fitted(ring: Array, look: Look) -> Fitted:
    """The outline that a traced ring makes.

    It is looked at again along what was first fitted, square to it: a trace rounds corners, and strays beside them.

    Args:
        ring: places of the trace, closed, counter-clockwise, evenly spaced.
        look: how far outwards of places of the outline its edge is seen.
    """
    corners = _true_ones(ring, _corners(ring))
    if len(corners) < 2:  # smooth all round, or a drop: it is begun anywhere, and parted opposite
        first = corners[0] if corners else 0
        corners = [first, (first + len(ring) // 2) % len(ring)]
    runs, spots = _runs(ring, corners), [ring[at] for at in corners]
    for _ in range(LOOKS):
        spots = _meetings(runs, spots)
        along = _along([_smooth_line(*one) for one in zip(runs, spots, [*spots[1:], spots[0]], strict=True)])
        runs = [_seen_anew(*one, off, run) for one, off, run in zip(along, look(along), runs, strict=True)]
    spots = _meetings(runs, spots)
    sides = tuple(_run(*one) for one in zip(runs, spots, [*spots[1:], spots[0]], strict=True))
    return Fitted(sides, *_judged(look(_along([_fine(side) for side in sides]))))


def _seen_anew(places: Array, out: Array, off: Array, run: Array) -> Array:
    """The run as it was seen again; as it was where too little of it was."""
    sound = np.isfinite(off)
    return places[sound] + out[sound] * off[sound, None] if sound.mean() > LEAST_SEEN and sound.sum() > 8 else run


def _judged(offs: Sequence[Array]) -> tuple[float, float]:
    """How far the edge as seen lies off at the worst place, and the noise of one place."""
    sound = [off[np.isfinite(off)] for off in offs]
    smooth = [_averaged(off, JUDGED_MM) for off in sound if len(off) > 2]
    rest = [off - mean for off, mean in zip((off for off in sound if len(off) > 2), smooth, strict=True)]
    if not smooth:
        return LOST_MM, LOST_MM
    return float(np.abs(np.concatenate(smooth)).max()), float(1.4826 * np.median(np.abs(np.concatenate(rest))))


def _meetings(runs: Sequence[Array], near: Sequence[Array]) -> list[Array]:
    """The corners, where each run meets the one before."""
    return [_meeting(runs[n - 1], run, near[n]) for n, run in enumerate(runs)]


def _smooth_line(run: Array, start: Array, end: Array) -> Array:
    """A smooth line along the run, near enough to look across it."""
    count = min(MOST_KNOTS, int(np.hypot(*np.diff(run, axis=0).T).sum() / LOOK_SPAN_MM))
    knots = [(k + 1) / (count + 1) for k in range(count)]
    control, _, _ = _spline(run, start, end, knots, 1)
    return np.asarray(_basis(np.linspace(0, 1, FINE * (count + 1)), knots) @ control)


def _along(lines: Sequence[Array]) -> list[tuple[Array, Array]]:
    """Places evenly along each side and the ways outwards there, clear of what its neighbours blur at the corners."""
    clear = []
    for n, line in enumerate(lines):
        a, z = lines[n - 1][-2] - lines[n - 1][-1], line[1] - line[0]
        between = float(np.arctan2(abs(a[0] * z[1] - a[1] * z[0]), a @ z))
        clear.append(CLEAR_MM / max(np.tan(between), 0.3) if between < np.pi / 4 else CLEAR_MM)
    out = []
    for line, first, last in zip(lines, clear, [*clear[1:], clear[0]], strict=True):
        size = np.r_[0.0, np.cumsum(np.hypot(*np.diff(line, axis=0).T))]
        low, high = min(first, size[-1] / 4), size[-1] - min(last, size[-1] / 4)
        at = np.linspace(low, high, max(4, round((high - low) / STEP_MM) + 1))
        xy, d = (np.c_[np.interp(at + e, size, line[:, 0]), np.interp(at + e, size, line[:, 1])] for e in (0.0, 0.3))
        back = np.c_[np.interp(at - 0.3, size, line[:, 0]), np.interp(at - 0.3, size, line[:, 1])]
        way = (d - back) / np.maximum(np.hypot(*(d - back).T), 1e-9)[:, None]
        out.append((xy, np.c_[way[:, 1], -way[:, 0]]))
    return out


def _fine(side: Sequence[Segment]) -> Array:
    """The segments as a fine polyline."""
    places = [np.array([side[0].start])]
    for one in side:
        if isinstance(one, Cubic):
            t = np.linspace(0.0, 1.0, FINE)[1:, None]
            a, b, c, d = (np.array(p) for p in (one.start, one.c1, one.c2, one.end))
            places.append((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d)
        else:
            places.append(np.array([one.end]))
    return np.concatenate(places)


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
    whole = _is_straight(_line_off(run), along)
    keep = along <= (along[-1] if whole else END_ARM_MM)
    order = 1 if whole or keep.sum() < 10 else 2
    s, xy, weight = along[keep], run[keep], np.ones(keep.sum())
    for _ in range(ROUNDS):
        design = np.stack([s**k for k in range(order + 1)], axis=1)
        fit, *_ = np.linalg.lstsq(design * weight[:, None], xy * weight[:, None], rcond=None)
        weight = _trust(np.hypot(*(design @ fit - xy).T))
    return fit if order == 2 else np.r_[fit, np.zeros((1, 2))]


def _is_straight(off: Array, along: Array) -> bool:
    """Whether places off a line by so much are those of a straight edge: a crease bends it at one place alone."""
    u = (along - along[0]) / max(float(along[-1] - along[0]), 1e-9)
    design = np.stack([np.ones(len(u)), u, 4.0 * u * (1.0 - u)], axis=1)
    weight = np.ones(len(u))
    for _ in range(ROUNDS):
        fit, *_ = np.linalg.lstsq(design * weight[:, None], off * weight, rcond=None)
        weight = _trust(off - design @ fit)
    return abs(float(fit[2])) < BOW_MM and float(np.percentile(np.abs(_averaged(off)), 90)) < STRAIGHT_MM


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


def _run(run: Array, start: Array, end: Array) -> tuple[Segment, ...]:
    """Segments from corner to corner along a run."""
    if len(run) < 8 or _is_straight(_chord_off(run, start, end), (run - start) @ (end - start)):
        return (Line(_point(start), _point(end)),)
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
    curve, _, _ = _spline(run, start, end, knots, LAST_ROUNDS)
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


def _averaged(off: Array, window_mm: float = WINDOW_MM) -> Array:
    """A running mean along the run, so that noise doesn't look like shape."""
    size = max(1, min(round(window_mm / STEP_MM), len(off) // 3))
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
