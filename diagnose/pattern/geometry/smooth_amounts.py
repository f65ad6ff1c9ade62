"""An amount that changes smoothly along a run of segments.

Millimetres; `mm` along a run is measured from the run's start.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from itertools import pairwise

from msgspec import Struct

__all__ = ["Knot", "Profile", "bump", "smooth_profile"]


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
    """Amounts run through the places without overshoot (monotone cubics, Fritsch and Carlson 1980).

    Beyond an outermost place the amount stays; a place within `end_mm` of the run's end counts as standing there, so
    that two amounts at the ends of an edge run evenly from one to the other.

    Args:
        places: (mm along the run, amount), in any order, no two at one place.
        size_mm: the run's length.
        end_mm: how near an end a place counts as the end itself.
    """
    points = sorted(places)
    if len(points) == 1:
        return Profile((Knot(*points[0]),))
    secants = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)]
    gaps = [b[0] - a[0] for a, b in pairwise(points)]
    inner = [_monotone(*pair, *spans) for pair, spans in zip(pairwise(secants), pairwise(gaps), strict=True)]
    at_start, at_end = points[0][0] <= end_mm, points[-1][0] >= size_mm - end_mm
    if not inner and at_start and at_end:
        slopes = [secants[0], secants[0]]
    else:
        first = _natural(secants[0], inner[0] if inner else 0.0) if at_start else 0.0
        last = _natural(secants[-1], inner[-1] if inner else 0.0) if at_end else 0.0
        slopes = [first, *inner, last]
    return Profile(tuple(Knot(mm, amount, slope) for (mm, amount), slope in zip(points, slopes, strict=True)))


def _monotone(before: float, after: float, span_before: float, span_after: float) -> float:
    """The slope at an inner place: nothing at a turn, else the weighted harmonic mean of the slopes beside it."""
    if before * after <= 0.0:
        return 0.0
    w0, w1 = 2.0 * span_after + span_before, span_after + 2.0 * span_before
    return (w0 + w1) / (w0 / before + w1 / after)


def _natural(secant: float, beyond: float) -> float:
    """The slope at an end that leaves no bend there, kept within what cannot overshoot."""
    slope = 1.5 * secant - 0.5 * beyond
    if slope * secant <= 0.0:
        return 0.0
    return math.copysign(min(abs(slope), 3.0 * abs(secant)), secant)


def bump(from_mm: float, peak_mm: float, to_mm: float, height: float) -> Profile:
    """Nothing at `from_mm` and `to_mm`, `height` at the peak, level at all three; a peak may stand at either end."""
    knots = [Knot(peak_mm, height)]
    if from_mm < peak_mm:
        knots.insert(0, Knot(from_mm, 0.0))
    if to_mm > peak_mm:
        knots.append(Knot(to_mm, 0.0))
    return Profile(tuple(knots))
