"""An amount that changes smoothly along a run of segments.

Millimetres; `mm` along a run is measured from the run's start.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

__all__ = ["Knot", "Profile", "bump", "never_back", "smooth_profile"]

FREE_FALL = 2.0
"""How many times the mean slope a parabola has at its end."""
DRAWN_PLACES = 6
"""So many places are a line that was drawn and measured, whose turns lie between two of them; fewer are amounts given,
of which none is passed."""


class Knot(Struct, frozen=True):
    """The amount and its slope (mm a mm) at one place of a run."""

    mm: float
    amount: float
    slope: float = 0.0


class Profile(Struct, frozen=True):
    """An amount along a run: cubic between the knots, straight on beyond the outermost ones."""

    knots: tuple[Knot, ...]

    def at(self, mm: float) -> tuple[float, float]:
        """The amount and its slope at `mm` along the run."""
        index = bisect_right([knot.mm for knot in self.knots], mm)
        if index == 0 or index == len(self.knots):
            end = self.knots[min(index, len(self.knots) - 1)]
            return end.amount + end.slope * (mm - end.mm), end.slope
        return _hermite(self.knots[index - 1], self.knots[index], mm)

    def straight(self, start_mm: float, end_mm: float) -> bool:
        """Whether the amount changes evenly all the way between two places."""
        stops = [start_mm, *self._between(start_mm, end_mm), end_mm]
        found = [self.at(mm) for mm in stops]
        secant = (found[-1][0] - found[0][0]) / (end_mm - start_mm)
        size = 1e-9 * max(1.0, *(abs(amount) for amount, _ in found)) / (end_mm - start_mm)
        return all(abs(slope - secant) <= size for _, slope in found) and all(
            abs(amount - found[0][0] - secant * (mm - start_mm)) <= 1e-9
            for (amount, _), mm in zip(found, stops, strict=True)
        )

    def idle(self, start_mm: float, end_mm: float) -> bool:
        """Whether the amount is nothing all the way between two places."""
        stops = [start_mm, *self._between(start_mm, end_mm), end_mm]
        return all(self.at(mm) == (0.0, 0.0) for mm in stops)

    @property
    def span(self) -> tuple[float, float]:
        """From where to where along the run the amount may be more than nothing; endless where it stays."""
        first, last = self.knots[0], self.knots[-1]
        return (
            first.mm if (first.amount, first.slope) == (0.0, 0.0) else -math.inf,
            last.mm if (last.amount, last.slope) == (0.0, 0.0) else math.inf,
        )

    def cuts(self, start_mm: float, end_mm: float) -> list[float]:
        """The knots strictly between two places."""
        return [mm for mm in self._between(start_mm, end_mm) if start_mm + 1e-7 < mm < end_mm - 1e-7]

    def _between(self, start_mm: float, end_mm: float) -> list[float]:
        return [knot.mm for knot in self.knots if start_mm < knot.mm < end_mm]


def _hermite(before: Knot, after: Knot, mm: float) -> tuple[float, float]:
    span = after.mm - before.mm
    q = (mm - before.mm) / span
    rise = after.amount - before.amount
    m0, m1 = before.slope * span, after.slope * span
    amount = before.amount + q * (m0 + q * ((3.0 * rise - 2.0 * m0 - m1) + q * (m0 + m1 - 2.0 * rise)))
    slope = m0 + q * (2.0 * (3.0 * rise - 2.0 * m0 - m1) + 3.0 * q * (m0 + m1 - 2.0 * rise))
    return amount, slope / span


def smooth_profile(places: Iterable[tuple[float, float]], size_mm: float, end_mm: float) -> Profile:
    """Amounts run through the places as a spline lath would (cubics, C2), held back where it would overshoot.

    Between two places of one amount the line is straight, and from one place to the next it never goes back (Hyman
    1983). Beyond an outermost place the amount stays; a place within `end_mm` of the run's end counts as standing
    there, so that two amounts at the ends of an edge run evenly from one to the other.

    Args:
        places: (mm along the run, amount), in any order, no two at one place.
        size_mm: the run's length.
        end_mm: how near an end a place counts as the end itself.
    """
    points = sorted(places)
    if len(points) == 1:
        return Profile((Knot(*points[0]),))
    gaps = [b[0] - a[0] for a, b in pairwise(points)]
    secants = [(b[1] - a[1]) / gap for (a, b), gap in zip(pairwise(points), gaps, strict=True)]
    free = points[0][0] <= end_mm, points[-1][0] >= size_mm - end_mm
    slopes = _lath(gaps, secants, free)
    turns = len(points) >= DRAWN_PLACES
    inner = [_held(slope, *pair, turns=turns) for slope, pair in zip(slopes[1:-1], pairwise(secants), strict=True)]
    ends = [_end_held(slope, secant) for slope, secant in ((slopes[0], secants[0]), (slopes[-1], secants[-1]))]
    return Profile(
        tuple(Knot(mm, amount, slope) for (mm, amount), slope in zip(points, (ends[0], *inner, ends[1]), strict=True))
    )


def _lath(gaps: Sequence[float], secants: Sequence[float], free: tuple[bool, bool]) -> list[float]:
    """The slopes of the cubic spline through the places: level at an end, or running out as a parabola where free."""
    import numpy as np  # imported late: it takes longer to import than a pattern takes to read

    if len(gaps) == 1 and all(free):
        return [secants[0], secants[0]]
    rows, sides = np.eye(len(gaps) + 1), np.zeros(len(gaps) + 1)
    for end, inner, secant in ((0, 1, secants[0]), (-1, -2, secants[-1])):
        if free[end]:
            rows[end, inner], sides[end] = 1.0, 2.0 * secant
    for n, ((before, after), (one, two)) in enumerate(zip(pairwise(gaps), pairwise(secants), strict=True), 1):
        rows[n, n - 1 : n + 2] = after, 2.0 * (before + after), before
        sides[n] = 3.0 * (after * one + before * two)
    return [float(slope) for slope in np.linalg.solve(rows, sides)]


def _held(slope: float, before: float, after: float, *, turns: bool) -> float:
    """The slope at an inner place, no steeper than what runs on without going back on either side."""
    held = turns if before * after < 0.0 else slope * (before + after) > 0.0
    return math.copysign(min(abs(slope), 3.0 * min(abs(before), abs(after))), slope) if held else 0.0


def _end_held(slope: float, secant: float) -> float:
    return math.copysign(min(abs(slope), 3.0 * abs(secant)), slope) if slope * secant > 0.0 else 0.0


def never_back(places: Sequence[tuple[float, float]]) -> tuple[Knot, ...]:
    """Knots through the places, in order, level at the first and the last: the amount nowhere goes back.

    Each inner slope is the harmonic mean of the two beside it (Fritsch and Butland 1984), nothing where they differ in
    sign.
    """
    means = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(places)]
    inner = [2.0 * a * b / (a + b) if a * b > 0.0 else 0.0 for a, b in pairwise(means)]
    return tuple(Knot(*place, slope) for place, slope in zip(places, (0.0, *inner, 0.0), strict=True))


def bump(
    from_mm: float, peak_mm: float, to_mm: float, height: float, *, free: tuple[bool, bool] = (False, False)
) -> Profile:
    """Nothing at `from_mm` and `to_mm`, `height` at the peak, level at all three; a peak may stand at either end.

    Args:
        from_mm: where it begins.
        peak_mm: where it is greatest.
        to_mm: where it ends.
        height: how much at the peak.
        free: whether it runs out at its beginning, and at its end, without levelling off, where the line has a corner
            of its own: it then falls from the peak as a parabola.
    """
    knots = [Knot(peak_mm, height)]
    if from_mm < peak_mm:
        knots.insert(0, Knot(from_mm, 0.0, FREE_FALL * height / (peak_mm - from_mm) if free[0] else 0.0))
    if to_mm > peak_mm:
        knots.append(Knot(to_mm, 0.0, -FREE_FALL * height / (to_mm - peak_mm) if free[1] else 0.0))
    return Profile(tuple(knots))
