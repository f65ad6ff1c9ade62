"""Where a traced outline turns: its true corners, and where the runs between them meet.

A corner is where the line that comes and the line that goes, each carried on by its own curve, do not run into one
another. They are carried on to where they meet, so that a corner blurred in the picture, or rounded by scissors, comes
out as drawn.
"""

from __future__ import annotations

import numpy as np

from diagnose.pattern.brought.photo.found.splines import ROUNDS, is_straight, trust
from diagnose.pattern.brought.photo.found.tracing import TRACED_EVERY_MM, lengths_to
from diagnose.pattern.brought.photo.lens import Array

__all__ = ["CORNER_MOVES_MM", "angle_between", "corners_of", "meeting", "runs_between"]

SKIP_MM = 2.0
ARM_MM, SHORT_ARM_MM = 13.0, 6.5
SEEN_CORNER_DEG, SHORT_CORNER_DEG = 13.0, 26.0
CORNERS_APART_MM = 7.0
JUMP_MM = 1.4
"""How far the two lines may miss one another at a corner."""

END_ARM_MM = 16.0
CORNER_MOVES_MM = 4.0
TIP_DEG, TIP_JUMP_MM, TIP_THIN_MM, TIP_LONG_MM = 120.0, 4.0, 1.6, 36.0
"""At a sharp tip the trace turns back where the paper gets too thin for it; its true end may lie so far beyond."""


def corners_of(ring: Array) -> list[int]:
    """The numbers of the places that are corners, in order; two at least: a smooth ring is begun anywhere."""
    corners = _true_ones(ring, _corners(ring))
    if len(corners) < 2:  # smooth all round, or a drop: it is begun anywhere, and parted opposite
        begin = corners[0] if corners else 0
        return [begin, (begin + len(ring) // 2) % len(ring)]
    return corners


def runs_between(ring: Array, corners: list[int]) -> list[Array]:
    """The places from each corner to the next, without those that the corners blur."""
    return [_places_between(ring, a, z) for a, z in zip(corners, [*corners[1:], *corners[:1]], strict=True)]


def _true_ones(ring: Array, corners: list[int]) -> list[int]:
    """The corners that stay ones when each is looked at no farther than to the next: the weakest goes first."""
    left = list(corners)
    ends: dict[tuple[int, int], tuple[Array, Array]] = {}
    while len(left) > 2:
        for key in zip(left, [*left[1:], *left[:1]], strict=True):
            if key not in ends:
                run = _places_between(ring, *key)
                ends[key] = (_end_curve(run), _end_curve(run[::-1]))
        turns = [
            _turn_deg(ends[left[n - 1], at][1], ends[at, left[(n + 1) % len(left)]][0], ring[at])
            for n, at in enumerate(left)
        ]
        weakest = int(np.argmin(turns))
        if turns[weakest] >= SEEN_CORNER_DEG:
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
    for arm, least in ((ARM_MM, SEEN_CORNER_DEG), (SHORT_ARM_MM, SHORT_CORNER_DEG)):
        turn, jump = _turns(ring, arm)
        ratio = np.abs(turn) / least
        ratio[jump > np.where(np.abs(turn) > TIP_DEG, TIP_JUMP_MM, JUMP_MM)] = 0.0
        score = np.maximum(score, ratio)
    found: list[int] = []
    reach = round(CORNERS_APART_MM / TRACED_EVERY_MM)
    for n in np.argsort(-score):
        if score[n] < 1.0:
            break
        if all(min(abs(n - k), len(ring) - abs(n - k)) > reach for k in found):
            found.append(int(n))
    return sorted(found)


def _turns(ring: Array, arm_mm: float) -> tuple[Array, Array]:
    """At each place the turn (degrees) between the line that comes and the one that goes, and how far they miss."""
    s = np.arange(SKIP_MM, arm_mm, TRACED_EVERY_MM)
    order = 2 if arm_mm > 10 else 1
    design = np.stack([s**k for k in range(order + 1)], axis=1)
    solve = np.linalg.pinv(design)
    steps = np.round(s / TRACED_EVERY_MM).astype(int)
    at = np.arange(len(ring))
    ahead = ring[(at[:, None] + steps) % len(ring)]
    behind = ring[(at[:, None] - steps) % len(ring)]
    go, come = np.einsum("ks,nsx->nkx", solve, ahead), np.einsum("ks,nsx->nkx", solve, behind)
    a, b = -come[:, 1], go[:, 1]
    turn = np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(1)))
    if order == 1:  # straight arms on a curve turn by the curve: what a longer look says is the curve's is left out
        far = _turns(ring, 2.0 * arm_mm)[0] if len(ring) * TRACED_EVERY_MM > 8 * arm_mm else turn
        turn = np.where(np.abs(far) < SEEN_CORNER_DEG * 0.6, 0.0, turn)
    return turn, np.hypot(*(go[:, 0] - come[:, 0]).T)


def _places_between(ring: Array, a: int, z: int) -> Array:
    """The places from one corner to the next, without those that the corners blur."""
    count = (z - a) % len(ring) or len(ring)
    skip = min(round(SKIP_MM / TRACED_EVERY_MM), max(count // 4, 0))
    return ring[np.arange(a + skip, a + count - skip + 1) % len(ring)]


def meeting(come: Array, go: Array, near: Array) -> Array:
    """Where the run that comes, carried on, meets the run that goes, carried back; the trace's own place if nowhere."""
    first, second = _end_curve(come[::-1]), _end_curve(go)
    at, farthest = (
        np.zeros(2),
        CORNER_MOVES_MM + min(TIP_THIN_MM / np.tan(max(angle_between(first[1], second[1]), 0.05) / 2.0), TIP_LONG_MM),
    )
    for _ in range(20):
        p, dp = _on(first, at[0])
        q, dq = _on(second, at[1])
        try:
            step = np.linalg.solve(np.stack([dp, -dq], axis=1), q - p)
        except np.linalg.LinAlgError:
            return near
        at = np.clip(at + np.clip(step, -3, 3), -farthest - SKIP_MM, END_ARM_MM)
    p, _ = _on(first, at[0])
    q, _ = _on(second, at[1])
    spot = (p + q) / 2
    return spot if np.hypot(*(p - q)) < 0.05 and np.hypot(*(spot - near)) < farthest else near


def _end_curve(run: Array) -> Array:
    """The first stretch of a run as x(s), y(s): straight where it is, else bent evenly. Rows: constant, s, s²."""
    along = lengths_to(run)
    whole = is_straight(_line_off(run), along)
    keep = along <= (along[-1] if whole else END_ARM_MM)
    order = 1 if whole or keep.sum() < 10 else 2
    s, xy, weight = along[keep], run[keep], np.ones(keep.sum())
    for _ in range(ROUNDS):
        design = np.stack([s**k for k in range(order + 1)], axis=1)
        fit, *_ = np.linalg.lstsq(design * weight[:, None], xy * weight[:, None], rcond=None)
        weight = trust(np.hypot(*(design @ fit - xy).T))
    return np.asarray(fit if order == 2 else np.r_[fit, np.zeros((1, 2))], float)


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
        weight = trust(off) ** 2
    return off


def angle_between(a: Array, z: Array) -> float:
    """The angle between two ways (rad), without sign."""
    return float(np.arctan2(abs(a[0] * z[1] - a[1] * z[0]), a @ z))
