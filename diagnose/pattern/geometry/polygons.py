"""A polygon that stands for a curve, as a drawing program saves one, made the curve again.

Lengths in millimetres, angles in degrees. A run of straight lines counts as such a polygon where each turns a little
from the one before, so little that the curve through its corners is hardly to be told from it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import accumulate, pairwise

from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.plane import corner_deg
from diagnose.pattern.geometry.runs import smooth_through
from diagnose.pattern.outline import Line, Run, Segment
from diagnose.pattern.tolerances import NOTHING_MM

__all__ = ["curved_again"]

LEAST_LINES = 4
POLYGON_CORNER_DEG = 12.0
LEAST_TURN_DEG = 0.1
MOST_OFF_MM = 0.4


def curved_again(run: Run, start_mm: float, end_mm: float) -> Run:
    """The run with each polygon in it that stands for a curve drawn as that curve, between two places along it.

    Its corners stay where they are, and a line that does not lie wholly between the two places stays straight.
    """
    ends = [0.0, *accumulate(map(length, run))]
    made = list(run)
    for first, last in _polygons(run):
        curves = smooth_through([run[first].start, *(segment.end for segment in run[first:last])])
        for number, curve in enumerate(curves, first):
            if (
                len(curves) == last - first
                and start_mm <= ends[number] + NOTHING_MM
                and ends[number + 1] <= end_mm + NOTHING_MM
            ):
                made[number] = curve
    return tuple(made)


def _polygons(run: Run) -> Iterator[tuple[int, int]]:
    """From which to which segment (that one left out) each polygon runs that stands for a curve."""
    first = 0
    for number, (before, after) in enumerate(pairwise(run), 1):
        if not _is_of_curve(before, after):
            if number - first >= LEAST_LINES:
                yield first, number
            first = number
    if len(run) - first >= LEAST_LINES:
        yield first, len(run)


def _is_of_curve(before: Segment, after: Segment) -> bool:
    """Whether two lines meet as two sides of such a polygon do."""
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return False
    turn = corner_deg(tangent(before, 1.0), tangent(after, 0.0))
    off_mm = math.radians(turn) * max(length(before), length(after)) / 8.0
    return LEAST_TURN_DEG < turn < POLYGON_CORNER_DEG and off_mm < MOST_OFF_MM
