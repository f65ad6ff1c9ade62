"""A traced outline made into true corners, straight lines and few cubics.

It is looked at again along what was first fitted, square to it: a trace rounds corners, and strays beside them. What
the picture shows in the end beside what was fitted says how true it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.found.splines import MOST_KNOTS, averaged, basis, side_of, spline
from diagnose.pattern.brought.photo.found.tracing import TRACED_EVERY_MM, lengths_to
from diagnose.pattern.brought.photo.found.true_corners import (
    CORNER_MOVES_MM,
    angle_between,
    corners_of,
    meeting,
    runs_between,
)
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.outline import Cubic, Segment

__all__ = ["Fitted", "fitted"]

Look = Callable[[Sequence[tuple[Array, Array]]], Sequence[Array]]
LOOKS = 2
LOOK_SPAN_MM = 60.0
CORNER_CLEAR_MM, LEAST_SLOPE = 1.3, 0.2
"""So far from a corner its other side is out of sight; farther where it is sharp."""

LEAST_SEEN, LEAST_PLACES = 0.5, 3
JUDGED_MM = 4.0
CORNER_ARM_MM, LEAST_OFF_MM, LEAST_CORNER_SINE = 12.0, 0.02, 0.03
CORNER_LOST_MM = 9.0
FINE = 80


class Fitted(Struct, frozen=True):
    """An outline: its segments by side (corner to corner), counter-clockwise.

    `stray_mm` is how far the picture's edge lies off it at the worst place, noise averaged away.
    """

    sides: tuple[tuple[Segment, ...], ...]
    stray_mm: float

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All of them in order."""
        return tuple(segment for side in self.sides for segment in side)


def fitted(ring: Array, look: Look) -> Fitted:
    """The outline that a traced ring makes.

    Args:
        ring: places of the trace, closed, counter-clockwise, evenly spaced.
        look: how far outwards of places of the outline its edge is seen.
    """
    corners = corners_of(ring)
    runs, turns = runs_between(ring, corners), [ring[at] for at in corners]
    spots, tips = turns, [True] * len(corners)
    for _ in range(LOOKS):
        spots = _meetings(runs, spots)
        along = _along([_smooth_line(*one) for one in zip(runs, spots, [*spots[1:], spots[0]], strict=True)])
        offs = look(along)
        tips = [_is_seen_to(spot, turns[n], offs[n - 1], go=offs[n]) for n, spot in enumerate(spots)]
        runs = [_seen_anew(*one, off, run) for one, off, run in zip(along, offs, runs, strict=True)]
    spots = _meetings(runs, [s if tip else at for s, at, tip in zip(spots, turns, tips, strict=True)])
    sides = tuple(side_of(*one) for one in zip(runs, spots, [*spots[1:], spots[0]], strict=True))
    lines = [_fine(side) for side in sides]
    return Fitted(sides, _judged(lines, look(_along(lines))))


def _meetings(runs: Sequence[Array], near: Sequence[Array]) -> list[Array]:
    """The corners, where each run meets the one before."""
    return [meeting(runs[n - 1], run, near[n]) for n, run in enumerate(runs)]


def _is_seen_to(spot: Array, near: Array, come: Array, go: Array) -> bool:
    """Whether edges are seen on to a corner that lies far beyond where the trace turned: a tip too thin for it."""
    away = float(np.hypot(*(spot - near)))
    count = int(away / TRACED_EVERY_MM)
    return away < CORNER_MOVES_MM or bool(np.isfinite(np.r_[come[-count:], go[:count]]).mean() > LEAST_SEEN)


def _seen_anew(places: Array, out: Array, off: Array, run: Array) -> Array:
    """The run as it was seen again; as it was where too little of it was."""
    sound = np.isfinite(off)
    return places[sound] + out[sound] * off[sound, None] if sound.mean() > LEAST_SEEN and sound.sum() > 8 else run


def _judged(lines: Sequence[Array], offs: Sequence[Array]) -> float:
    """How far the edge as seen lies off at the worst place.

    What two sides are off beside a corner, the corner is off by more, the sharper it is.
    """
    sound = [off[np.isfinite(off)] for off in offs]
    if any(len(off) < LEAST_PLACES for off in sound):
        return CORNER_LOST_MM
    smooth = [averaged(off, JUDGED_MM) for off in sound]
    few, worst = round(CORNER_ARM_MM / TRACED_EVERY_MM), max(float(np.abs(one).max()) for one in smooth)
    for n, line in enumerate(lines):
        beside = np.r_[smooth[n - 1][-few:], smooth[n][:few]]
        off = float(np.sqrt((beside**2).mean())) + LEAST_OFF_MM
        worst = max(worst, off / max(np.sin(_between(lines[n - 1], line) / 2.0), LEAST_CORNER_SINE))
    return worst


def _between(come: Array, go: Array) -> float:
    """The angle (rad) between two sides at the corner where one ends and the next begins."""
    return angle_between(come[-2] - come[-1], go[1] - go[0])


def _smooth_line(run: Array, start: Array, end: Array) -> Array:
    """A smooth line along the run, near enough to look across it."""
    count = min(MOST_KNOTS, int(np.hypot(*np.diff(run, axis=0).T).sum() / LOOK_SPAN_MM))
    knots = [(k + 1) / (count + 1) for k in range(count)]
    control, _, _ = spline(run, start, end, knots=knots, rounds=1)
    return np.asarray(basis(np.linspace(0, 1, FINE * (count + 1)), knots) @ control)


def _along(lines: Sequence[Array]) -> list[tuple[Array, Array]]:
    """Places evenly along each side and the ways outwards there, clear of what its neighbours blur at the corners."""
    clear = []
    for n, line in enumerate(lines):
        between = _between(lines[n - 1], line)
        clear.append(CORNER_CLEAR_MM / max(np.tan(between), LEAST_SLOPE) if between < np.pi / 4 else CORNER_CLEAR_MM)
    out = []
    for line, first, last in zip(lines, clear, [*clear[1:], clear[0]], strict=True):
        size = lengths_to(line)
        low, high = min(first, size[-1] / 4), size[-1] - min(last, size[-1] / 4)
        at = np.linspace(low, high, max(4, round((high - low) / TRACED_EVERY_MM) + 1))
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
