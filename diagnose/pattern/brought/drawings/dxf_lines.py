"""The lines of DXF as runs of lines and cubics: bulges and arcs within `ARC_TOL_MM`, cubic splines exactly."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from diagnose.errors import FitError
from diagnose.pattern.brought.sketch import arc_parts, line_to, too_many, without_idle_steps
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Segment

__all__ = ["LINES", "segments_of"]

MOST_POINTS = 2_000
MOST_DEGREE = 11
LEAST_PARTS = 200
PARTS_A_POINT = 8
_PARTS_OF_LIBRARY = 3
"""The library draws a bulge with a third of the curves it is asked for."""

LINES = ("LINE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ARC", "CIRCLE", "ELLIPSE")
_ROUND = ("ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE")


def segments_of(entity: Any, move: Affine, at: str) -> tuple[tuple[Segment, ...], bool]:
    """The run of an entity of `LINES`, carried by the move, and whether it is closed; a mesh has no run.

    Raises:
        FitError: when it is unsound or endless; `at` is its place in messages.
    """
    from ezdxf.path import make_path  # late: it takes longer to import than a pattern takes to read

    kind = entity.dxftype()
    if kind == "SPLINE":
        _check_spline(entity, at)
        run = without_idle_steps(line_to([v for p in one for v in (p.x, p.y)], move, at) for one in _beziers(entity))
        return run, bool(entity.closed)
    if kind == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):
        return (), False
    parts = _arc_parts(entity, kind, _stretch(move)) if kind in _ROUND else 1
    path = make_path(entity, segments=parts * _PARTS_OF_LIBRARY if "POLYLINE" in kind else parts)
    return without_idle_steps(_segments(path, move, at)), bool(path.is_closed)


def _beziers(spline: Any) -> Iterator[Any]:
    """The control points of the cubics that a spline is made of; one that is none, or is weighted, is laid through."""
    curve = spline.construction_tool()
    if curve.is_rational or curve.degree > 3 or not curve.is_clamped:
        parts = max(LEAST_PARTS, PARTS_A_POINT * curve.count)
        yield from (bezier.control_points for bezier in curve.cubic_bezier_approximation(segments=parts))
        return
    cubic = curve if curve.degree == 3 else curve.degree_elevation(3 - curve.degree)
    yield from cubic.bezier_decomposition()


def _check_spline(entity: Any, at: str) -> None:
    if max(entity.control_point_count(), entity.fit_point_count(), entity.knot_count()) > MOST_POINTS + MOST_DEGREE + 1:
        raise too_many(at, f"A spline has more than {MOST_POINTS} points.", of_a_line=True)
    if not 1 <= entity.dxf.degree <= MOST_DEGREE:
        what = f"A spline of degree {entity.dxf.degree} can't be drawn."
        raise FitError.of(at, what, "Redraw it as a cubic.", code="bad-spline")


def _arc_parts(entity: Any, kind: str, stretch: float) -> int:
    """Into how many cubics each of its arcs must be parted."""
    if kind in ("ARC", "CIRCLE", "ELLIPSE"):
        radius = entity.dxf.major_axis.magnitude if kind == "ELLIPSE" else entity.dxf.radius
        return arc_parts(abs(float(radius)) * stretch, math.tau)
    if kind == "LWPOLYLINE":
        points = list(entity.get_points("xyb"))
    else:
        points = [vertex.format("xyb") for vertex in entity.vertices]
    return max((_bulge_parts(a, b, stretch) for a, b in pairwise([*points, *points[:1]])), default=1)


def _bulge_parts(a: tuple[float, ...], b: tuple[float, ...], stretch: float) -> int:
    """How many parts one step of a polyline is drawn in; its bulge is the tangent of a quarter of the arc's angle."""
    chord, bulge = math.hypot(a[0] - b[0], a[1] - b[1]), abs(float(a[2]))
    if not 1e-9 < bulge < 1e9:
        return 1
    return arc_parts(chord * (1.0 + bulge * bulge) / (4.0 * bulge) * stretch, 4.0 * math.atan(bulge))


def _stretch(move: Affine) -> float:
    return max(abs(part) for part in move[:4]) * 1.5


def _segments(path: Any, move: Affine, at: str) -> Iterator[Segment]:
    """The library's path as lines and cubics."""
    here = path.start
    for command in path.commands():
        end = command.end
        name = command.type.name
        if name == "CURVE4_TO":
            yield line_to((*here.vec2, *command.ctrl1.vec2, *command.ctrl2.vec2, *end.vec2), move, at)
        elif name == "CURVE3_TO":
            c = command.ctrl
            one, two = here + (c - here) * (2.0 / 3.0), end + (c - end) * (2.0 / 3.0)
            yield line_to((*here.vec2, *one.vec2, *two.vec2, *end.vec2), move, at)
        elif name == "LINE_TO":
            yield line_to((*here.vec2, *end.vec2), move, at)
        here = end
