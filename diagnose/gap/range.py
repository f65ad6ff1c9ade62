"""A body that changes: the gap over the whole of her range, and the take-in that keeps it inside.

At one pull a larger body stands the lacing edges further apart, by as much as its girth has grown: the laced girth is
the garment and the gap together. So the gap is narrowest at her smallest and widest at her largest, and a target that
is meant for her usual body, which lies midway, becomes a range. All lengths are millimetres of the whole girth; a take
in is positive, letting out negative.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeAlias

from msgspec import Struct

__all__ = ["WHERE_IN_RANGE", "GapRange", "TakeInRange", "Today", "gap_range", "take_in_over_range"]

Today: TypeAlias = Literal["smallest", "usual", "largest"]

WHERE_IN_RANGE: Mapping[Today, float] = {"smallest": 0.0, "usual": 0.5, "largest": 1.0}
"""Where today lies in her range, as a share of it from her smallest."""


class GapRange(Struct, frozen=True):
    """The gap at one station over her range; below 0 it is a lap that the edges would want."""

    narrowest_mm: float
    widest_mm: float

    def moved(self, by_mm: float) -> GapRange:
        """The range after a take-in, which widens the gap by as much."""
        return GapRange(self.narrowest_mm + by_mm, self.widest_mm + by_mm)

    def inside(self, limits: GapRange) -> bool:
        """Whether the gap stays within limits over all of her range."""
        return self.narrowest_mm >= limits.narrowest_mm - 1e-6 and self.widest_mm <= limits.widest_mm + 1e-6


class TakeInRange(Struct, frozen=True):
    """The take-in at one station for a body that changes.

    Attributes:
        best_mm: the one that brings the gap of her usual body to the target, as far as the limits let it.
        after: the gap over her range with it; outside the limits at both ends when her range is wider than they are.
    """

    best_mm: float
    after: GapRange


def gap_range(gap_mm: float, today: Today, changes_by_mm: float) -> GapRange:
    """The gap over her range, from today's.

    Args:
        gap_mm: as read today; a lap counts below 0.
        today: where her body stands today.
        changes_by_mm: how much the girth changes from her smallest to her largest, 0 or more.
    """
    narrowest = gap_mm - WHERE_IN_RANGE[today] * changes_by_mm
    return GapRange(narrowest, narrowest + changes_by_mm)


def take_in_over_range(
    gap_mm: float, target_mm: float, today: Today, changes_by_mm: float, limits: GapRange
) -> TakeInRange:
    """The take-in that keeps the gap inside its limits over her range.

    Aimed at is the target on her usual body. Where that would pass a limit at one end of her range, the amount stops at
    that limit; where the range is wider than the limits, both ends are missed by the same.

    Args:
        gap_mm: as read today; a lap counts below 0.
        target_mm: the gap meant for her usual body.
        today, changes_by_mm: as for `gap_range`.
        limits: the narrowest and the widest gap that will do.
    """
    before = gap_range(gap_mm, today, changes_by_mm)
    least = limits.narrowest_mm - before.narrowest_mm
    most = limits.widest_mm - before.widest_mm
    aimed = target_mm - (before.narrowest_mm + before.widest_mm) / 2
    best = (least + most) / 2 if least > most else min(most, max(least, aimed))
    return TakeInRange(best, before.moved(best))
