"""What lies above what on a piece: levels keep their order and room between them.

Millimetres. Paper folded out across a piece brings what lies above it nearer to what lies below. Two levels with no
room between them say two girths of one place, and the line drawn through between them makes one of them wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from diagnose.errors import Mistake
from diagnose.pattern.geometry.plane import across, dot, scaled
from diagnose.pattern.moved.band import as_heights
from diagnose.pattern.outline import Piece, Point, Polyline
from diagnose.pattern.tolerances import NOTABLE_MM, ON_EDGE_MM
from diagnose.units import INCH_MM, both

__all__ = ["LEVELS_APART_MM", "levels_too_near"]

LEVELS_APART_MM = INCH_MM * 3 / 4
"""What a change of length that says nothing of it leaves between two levels."""
BY_THE_EDGE = "bottom"
"""It lies along the hem, so that no seam is shaped between it and the level above."""


def levels_too_near(before: Piece, now: Piece, up: Point, *, least_mm: float) -> Iterator[Mistake]:
    """A mistake for each two levels that have come nearer to each other than `least_mm`, or over each other."""
    stations = [name for name in now.levels if name in before.levels and name != BY_THE_EDGE]
    for one, other in combinations(stations, 2):
        was, left = (_apart(piece.levels[one], piece.levels[other], up) for piece in (before, now))
        if was is None or left is None or (was[0] <= NOTABLE_MM and was[1] >= -NOTABLE_MM):
            continue
        upper, lower, room, left_mm = (
            (one, other, was[0], left[0]) if was[0] > NOTABLE_MM else (other, one, -was[1], -left[1])
        )
        if left_mm < min(least_mm - NOTABLE_MM, room - ON_EDGE_MM):
            where = "on or under" if left_mm <= NOTABLE_MM else f"only {both(left_mm)} above"
            what = f"The {upper} level would lie {where} the {lower} level."
            do = f"Take a smaller amount, that leaves {both(least_mm)} between the two."
            yield Mistake("amount", what, do, code="no-room-between")


def _apart(one: Polyline, other: Polyline, up: Point) -> tuple[float, float] | None:
    """By how much the one lies above the other where both run: least and most; None where they do not."""
    ahead, first, second = scaled(across(up), -1.0), as_heights(one, up), as_heights(other, up)
    if first is None or second is None:
        return None
    rows = [[dot(point, ahead) for point in line] for line in (one, other)]
    start, end = max(map(min, rows)), min(map(max, rows))
    found = [first(at) - second(at) for at in (start, *rows[0], *rows[1], end) if start <= at <= end]
    return (min(found), max(found)) if found else None
