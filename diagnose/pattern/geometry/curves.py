"""The geometry of segments and of runs of segments, in one place; millimetres, y upwards.

`t` runs from 0 at a segment's start to 1 at its end. Lengths are true to 1e-9 of themselves, areas exactly, and a
cubic cut, turned or moved is a cubic.
"""

from __future__ import annotations

from diagnose.pattern.geometry.arclength import length, length_to, t_at_length
from diagnose.pattern.geometry.bezier import (
    area,
    box_distance,
    derivative,
    flatten,
    moved,
    outline_points,
    part,
    point_at,
    reverse,
    split,
    tangent,
)
from diagnose.pattern.geometry.hits import line_hits, nearest
from diagnose.pattern.geometry.runs import (
    run_backwards,
    run_length,
    run_nearest,
    run_place,
    run_point_at,
    run_split,
    smooth_through,
)

__all__ = [
    "area", "box_distance", "derivative", "flatten", "length", "length_to", "line_hits", "moved", "nearest",
    "outline_points", "part", "point_at", "reverse", "run_backwards", "run_length", "run_nearest", "run_place",
    "run_point_at", "run_split", "smooth_through", "split", "t_at_length", "tangent",
]  # fmt: skip
