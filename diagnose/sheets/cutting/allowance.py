"""The cutting line round a piece: each edge's allowance outside its stitching line, corners mitred.

Millimetres. Allowances go by the role of the edge; a top or bottom edge that is sewn to another, as an armhole is to
its sleeve, has the seam's. An edge with none is its own cutting line, and the line of the edge
beside it is cut off where it would pass it: nothing is ever cut beyond a fold.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.errors import FitError, Mistake, nearest
from diagnose.model.settings import Settings
from diagnose.pattern.geometry.bezier import flatten, outline_points
from diagnose.pattern.geometry.plane import add, cross, distance, dot, scaled, unit
from diagnose.pattern.outline import ROLES, Edge, Pattern, Piece, Point, Role
from diagnose.units import INCH_MM

__all__ = ["MOST_ALLOWANCE_MM", "Allowances", "allowances_of", "cutting_line", "own_allowances", "sewn_edges"]

Allowances = Mapping[Role, float]
"""The allowance of each role's edges in mm; a role left out has none."""

MOST_ALLOWANCE_MM = 100.0
"""A wider allowance is a mistake of unit."""

LEAST_ALLOWANCE_MM = 0.01
"""A narrower allowance is none."""

NARROW_TOL_MM = 0.5
LEAST_PRESSED_MM = INCH_MM / 4
"""A seam can still be sewn and pressed on 1/4 in; common practice, no source."""

CURVE_TOL_MM = 0.005
"""How far the chords of an offset curve stray from it."""

MITRE_RATIO = 3.0
"""A corner whose mitre is longer than this many allowances is capped square instead."""

TRIM_RATIO = 6.0
"""As many allowances long may a corner be where one of its two edges has none, and so cuts the other's off."""


def allowances_of(settings: Settings, chosen: Mapping[str, float] | None = None) -> dict[Role, float]:
    """The allowances of the settings, some of them chosen otherwise.

    Args:
        settings: with an entry ``allowance-ROLE`` for each role but the fold.
        chosen: role → mm, in place of the default.

    Raises:
        FitError: when a role is unknown, an allowance is no length of 0 to 100 mm, or the fold is given one.
    """
    mistakes = [mistake for role, mm in (chosen or {}).items() if (mistake := _mistake(role, mm))]
    if mistakes:
        raise FitError(mistakes)
    default = {role: settings.mm(f"allowance-{role}") for role in ROLES if role != "fold"}
    return {**default, **{role: mm for role, mm in (chosen or {}).items() if role in ROLES}}  # type: ignore[dict-item]


def _mistake(role: str, mm: float) -> Mistake | None:
    where = f"allowance {role}"
    if role not in ROLES:
        return Mistake(where, f"There is no edge of role '{role}'.", nearest(role, ROLES), code="no-such-role")
    if not 0.0 <= mm <= MOST_ALLOWANCE_MM:
        return Mistake(
            where, "An allowance is at least 0 and at most 100 mm (4 in).", "Give another.", code="out-of-range"
        )
    if role == "fold" and mm > 0.0:
        return Mistake(
            where, "A fold has no allowance: the cloth goes on there.", "Leave it out.", code="fold-has-none"
        )
    return None


def sewn_edges(pattern: Pattern, piece: Piece) -> frozenset[str]:
    """The names of the piece's edges that are sewn to another."""
    refs = (ref for seam in pattern.seams for ref in seam.refs)
    return frozenset(ref.edge for ref in refs if ref.piece == piece.name)


def cutting_line(piece: Piece, allowances: Allowances, sewn: Collection[str] = ()) -> tuple[Point, ...]:
    """The cutting line as a ring of points within 0.02 mm of it, counter-clockwise; the first point closes it again.

    Args:
        piece: the piece; allowances: by role; sewn: the names of its edges that are sewn to another.
    """
    allowances = own_allowances(piece, allowances)
    ends = [_by("seam" if edge.name in sewn else edge.role, allowances) for edge in piece.edges]
    runs = [_offset(edge, by_mm) for edge, by_mm in zip(piece.edges, ends, strict=True)]
    for n in range(len(runs)):
        after = (n + 1) % len(runs)
        if after != n and max(ends[n], ends[after]) > 0.0:
            runs[n], runs[after] = _joined(runs[n], runs[after], piece.edges[n], by_mm=ends[n], after_mm=ends[after])
    ring = [point for run in runs for point in run]
    return _sound(ring, piece)


def own_allowances(piece: Piece, allowances: Allowances) -> Allowances:
    """The allowances that suit the piece: on a narrow one, a gore say, none is wider than half the piece."""
    box = shapely.minimum_rotated_rectangle(Polygon(outline_points(piece, NARROW_TOL_MM)))
    ring = [Point(x, y) for x, y in getattr(box, "exterior", box).coords]
    narrow = min(distance(ring[0], ring[1]), distance(ring[1], ring[2])) if len(ring) > 2 else 0.0
    most = max(LEAST_PRESSED_MM, narrow / 2.0)
    return {role: min(mm, most) for role, mm in allowances.items()}


def _by(role: Role, allowances: Allowances) -> float:
    by_mm = allowances.get(role, 0.0)
    return by_mm if by_mm >= LEAST_ALLOWANCE_MM else 0.0


def _offset(edge: Edge, by_mm: float) -> tuple[Point, ...]:
    """The edge moved to its right, which is outside, by the allowance."""
    line = _points(edge)
    if by_mm <= 0.0:
        return line
    moved = shapely.offset_curve(LineString(line), -by_mm, join_style="mitre", mitre_limit=MITRE_RATIO)
    parts = [part for part in getattr(moved, "geoms", [moved]) if not part.is_empty]
    if not parts:
        return line
    points = tuple(Point(x, y) for x, y in max(parts, key=lambda part: part.length).coords)
    forward = distance(points[0], line[0]) <= distance(points[-1], line[0])
    return points if forward else points[::-1]


def _points(edge: Edge) -> tuple[Point, ...]:
    points = [edge.start]
    for segment in edge.segments:
        points += [p for p in flatten(segment, CURVE_TOL_MM)[1:] if p != points[-1]]
    return tuple(points)


def _joined(
    run: tuple[Point, ...], after: tuple[Point, ...], edge: Edge, by_mm: float, after_mm: float
) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Two neighbours' lines, drawn on or cut off to where they meet at the corner between them."""
    corner, most = edge.end, max(by_mm, after_mm)
    reach = most * (TRIM_RATIO if min(by_mm, after_mm) == 0.0 else MITRE_RATIO)
    way, way_on = unit(_way(run[-2], run[-1])), unit(_way(after[0], after[1]))
    one = LineString([*run, add(run[-1], scaled(way, reach))])
    two = LineString([add(after[0], scaled(way_on, -reach)), *after])
    met = shapely.intersection(one, two)
    spot = _nearest(met, corner)
    if spot is not None and distance(spot, corner) <= reach:
        return _upto(one, spot), _upto(two.reverse(), spot)[::-1]
    if cross(way, way_on) > 0.0 and dot(way, way_on) < 0.0:  # too sharp to be mitred: capped square
        return (*run, add(run[-1], scaled(way, most))), (add(after[0], scaled(way_on, -most)), *after)
    return run, after


def _way(a: Point, b: Point) -> Point:
    return Point(b.x - a.x, b.y - a.y)


def _nearest(met: BaseGeometry, corner: Point) -> Point | None:
    if met.is_empty:
        return None
    spot = shapely.shortest_line(met, shapely.Point(corner)).coords[0]
    return Point(spot[0], spot[1])


def _upto(line: LineString, spot: Point) -> tuple[Point, ...]:
    """The line from its start to the spot on it."""
    size = line.project(shapely.Point(spot))
    kept, gone, last = list[Point](), 0.0, None
    for x, y in line.coords:
        here = Point(x, y)
        gone += distance(last, here) if last is not None else 0.0
        last = here
        if gone >= size:
            break
        kept.append(here)
    return (*kept, spot)


def _sound(ring: list[Point], piece: Piece) -> tuple[Point, ...]:
    """The ring without loops, round all of the piece."""
    shape = Polygon(ring)
    if not shape.is_valid:
        shape = shapely.union(shapely.make_valid(shape), Polygon(outline_points(piece, CURVE_TOL_MM)).buffer(0.0))
        parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)]
        shape = max(parts, key=lambda part: part.area)
    around = shapely.geometry.polygon.orient(shape)
    return tuple(Point(x, y) for x, y in around.exterior.coords)
