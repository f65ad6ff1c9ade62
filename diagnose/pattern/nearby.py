"""The place of a long run nearest to a point, looking only at the segments that can hold it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnose.pattern.bezier import controls
from diagnose.pattern.curves import length, nearest, run_length, split
from diagnose.pattern.outline import Line, Point, Segment

__all__ = ["box_distance", "place_on"]


def place_on(segments: Sequence[Segment], point: Point) -> tuple[float, float]:
    """How far along the run (mm) the place nearest to `point` lies, and its distance from it (mm)."""
    least = sorted((box_distance(segment, point), index) for index, segment in enumerate(segments))
    best = (math.inf, 0, 0.0)
    for box, index in least:
        if box > best[0]:
            break
        t, away = nearest(segments[index], point)
        best = min(best, (away, index, t))
    away, index, t = best
    inside = 0.0 if t == 0.0 else length(segments[index]) if t == 1.0 else length(split(segments[index], t)[0])
    return run_length(segments[:index]) + inside, away


def box_distance(segment: Segment, point: Point) -> float:
    """How far the point is from the box of the segment's handles: never more than from the segment itself."""
    corners = (segment.start, segment.end) if isinstance(segment, Line) else controls(segment)
    xs, ys = [p.x for p in corners], [p.y for p in corners]
    return math.hypot(max(min(xs) - point.x, 0.0, point.x - max(xs)), max(min(ys) - point.y, 0.0, point.y - max(ys)))
