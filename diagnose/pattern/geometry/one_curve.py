"""A run of segments drawn as one curve: the cubic that leaves and arrives as the run does and keeps nearest to it."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.geometry.plane import add, distance, dot, scaled, sub
from diagnose.pattern.geometry.runs import run_length, run_points_at
from diagnose.pattern.outline import Cubic, Point, Run

__all__ = ["one_curve"]

SAMPLES = 24
ROUNDS = 4
LEAST_HANDLE = 0.1
"""A handle shorter than this part of the chord would make the end a corner to the eye."""
MOST_HANDLE = 0.7


def one_curve(run: Run, ways: tuple[Point, Point] | None = None) -> tuple[Cubic, float] | None:
    """The cubic nearest to a run, of its ends and its directions there, and how far apart the two are at most, mm.

    The lengths of its two handles are those of least squares over places along the run, each set against the place of
    the curve nearest to it (Schneider 1990). None where a handle would be too short or too long for a fair curve.

    Args:
        run: the run.
        ways: the directions of travel at its two ends, where they are not to be the run's own.
    """
    size = run_length(run)
    spots = run_points_at(run, [size * n / SAMPLES for n in range(1, SAMPLES)])
    ts = [n / SAMPLES for n in range(1, SAMPLES)]
    made = None
    for _ in range(ROUNDS):
        made = _fitted(run, ways or (tangent(run[0], 0.0), tangent(run[-1], 1.0)), spots, ts=ts)
        if made is None:
            return None
        ts = [nearest(made, spot)[0] for spot in spots]
    assert made is not None
    return made, max(nearest(made, spot)[1] for spot in spots)


def _fitted(run: Run, ways: tuple[Point, Point], spots: Sequence[Point], *, ts: Sequence[float]) -> Cubic | None:
    start, end = run[0].start, run[-1].end
    out, on = ways[0], scaled(ways[1], -1.0)
    aa = ab = bb = ay = by = 0.0
    for spot, t in zip(spots, ts, strict=True):
        u = 1.0 - t
        a, b = scaled(out, 3.0 * u * u * t), scaled(on, 3.0 * u * t * t)
        base = add(scaled(start, u * u * (u + 3.0 * t)), scaled(end, t * t * (t + 3.0 * u)))
        left = sub(spot, base)
        aa, ab, bb = aa + dot(a, a), ab + dot(a, b), bb + dot(b, b)
        ay, by = ay + dot(a, left), by + dot(b, left)
    whole = aa * bb - ab * ab
    if abs(whole) < 1e-12:
        return None
    first, last, chord = (ay * bb - by * ab) / whole, (aa * by - ab * ay) / whole, distance(start, end)
    if not all(LEAST_HANDLE * chord <= handle <= MOST_HANDLE * chord for handle in (first, last)):
        return None
    return Cubic(start, add(start, scaled(out, first)), add(end, scaled(on, last)), end)
