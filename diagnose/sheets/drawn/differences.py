"""What two outlines of one piece differ by: the paper taken away and added, and how far each line moved where.

Millimetres; both pieces lie where they are drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from msgspec.structs import replace
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.bezier import flatten, outline_points, tangent
from diagnose.pattern.geometry.plane import distance, dot, sub
from diagnose.pattern.geometry.runs import (
    nearest_of,
    run_length,
    run_met,
    run_nearest,
    run_place,
    run_point_at,
    run_points_at,
)
from diagnose.pattern.measure import cut_level, is_inside
from diagnose.pattern.outline import SIDE_ROLES, Edge, Piece, Point, Segment
from diagnose.sheets.drawn.drawing import Area, Measure, Path, polyline
from diagnose.units import INCH_MM, Unit, short

__all__ = ["LEAST_SHOWN_MM", "added_paper", "hatched", "line_moves", "paper_of", "patches_of", "taken_paper"]

PAPER_CHORD_TOL_MM = 0.05
NEAR_TOL_MM = 0.02
LEAST_HALF_WIDE_MM = 0.25
LEAST_SHOWN_MM = INCH_MM / 32
END_ON_EDGE_MM = 1.0
COMPARED_EVERY_MM = 3.0
MOST_MOVED_MM = 150.0
EVENLY_MM = 0.2
AT_THE_END_MM = 0.5
BESIDE_RATIO = 0.1


def taken_paper(old: Piece, new: Piece) -> tuple[Area, ...]:
    """The patches of paper inside the old line and outside the new one."""
    return patches_of(paper_of(old).difference(paper_of(new)))


def added_paper(old: Piece, new: Piece) -> tuple[Area, ...]:
    """The patches of paper inside the new line and outside the old one."""
    return patches_of(paper_of(new).difference(paper_of(old)))


def paper_of(piece: Piece) -> BaseGeometry:
    """The paper inside the outline."""
    return Polygon(outline_points(piece, PAPER_CHORD_TOL_MM)).buffer(0.0)


def patches_of(shape: BaseGeometry) -> tuple[Area, ...]:
    """The shape's parts, slivers left out."""
    parts: list[Polygon] = []
    for part in getattr(shape, "geoms", [shape]):
        if isinstance(part, Polygon) and not part.buffer(-LEAST_HALF_WIDE_MM).is_empty:
            parts.append(part)
    return tuple(Area(tuple(_ring(r.coords) for r in (p.exterior, *p.interiors))) for p in parts)


def _ring(coords: Sequence[tuple[float, ...]]) -> tuple[Point, ...]:
    return tuple(Point(x, y) for x, y, *_ in coords)


def hatched(area: Area, spacing_mm: float, *, rising: bool) -> tuple[Path, ...]:
    """Parallel lines at 45 degrees across the patch, so that it reads in black and white; rising ones like ``/``."""
    # A wedge may cross itself by a rounding at its point, and lines can't be cut at what crosses itself.
    shape = shapely.make_valid(Polygon(area.rings[0], list(area.rings[1:])))
    left, bottom, right, top = shape.bounds
    reach, step = top - bottom, spacing_mm * math.sqrt(2.0)
    # Lines stand on a grid of the whole drawing, so that neighbouring patches are hatched alike.
    count = math.floor((left - reach) / step) - 1, math.ceil((right + reach) / step) + 1
    way = 1.0 if rising else -1.0
    lines = []
    for n in range(*count):
        x = n * step + way * math.fmod(bottom, step)
        lines.append(LineString([(x, bottom), (x + way * reach, top)]))
    clipped = shapely.intersection(MultiLineString(lines), shape) if lines else MultiLineString()
    parts = getattr(clipped, "geoms", [clipped])
    return tuple(polyline(_ring(part.coords)) for part in parts if isinstance(part, LineString) and part.length > 0.2)


def line_moves(old: Piece, new: Piece, unit_: Unit) -> tuple[Measure, ...]:
    """How far each side edge moved at each level, and every other edge that moved, where it moved most."""
    sides = tuple(_side_moves(old, new, unit_))
    done, kept = {measure.edge for measure in sides}, {edge.name: edge for edge in new.edges}
    rest = [(edge, kept[edge.name]) for edge in old.edges if edge.name in kept and edge.name not in done]
    most = (_most_moved(old, edge, now, unit_=unit_) for edge, now in rest if edge.segments != now.segments)
    return sides + tuple(measure for measure in most if measure is not None)


def _side_moves(old: Piece, new: Piece, unit_: Unit) -> Iterator[Measure]:
    kept = {edge.name: edge for edge in new.edges}
    for station in STATIONS:
        if station not in old.levels or station not in new.levels:
            continue
        for inner, end in _level_ends(old, station):
            edge = _edge_at(old, end)
            moved = _along(kept[edge.name], inner, end) if edge and edge.name in kept else None
            if edge and moved is not None and distance(end, moved) >= LEAST_SHOWN_MM:
                words = short(distance(end, moved), unit_)
                yield _outward(inner, Measure(end, moved, words, size_mm=1.0, edge=edge.name, at=station))


def _level_ends(piece: Piece, station: str) -> tuple[tuple[Point, Point], ...]:
    """Both ends of the level on the outline, each with the place before it on the level."""
    parts = cut_level(piece, piece.levels[station]).parts
    if not parts:
        return ()
    (start, after), (before, end) = parts[0], parts[-1]
    return (after, start), (before, end)


def _edge_at(piece: Piece, spot: Point) -> Edge | None:
    sides = [edge for edge in piece.edges if edge.role in SIDE_ROLES]
    away = [(nearest_of(edge.segments, spot)[2], n) for n, edge in enumerate(sides)]
    best = min(away, default=(math.inf, 0))
    return sides[best[1]] if best[0] <= END_ON_EDGE_MM else None


def _along(edge: Edge, inner: Point, end: Point) -> Point | None:
    """Where the level, run on, meets the edge now."""
    if inner == end:
        return None
    near = run_met(edge.segments, inner, end, near=end)
    return near if near is not None and distance(near, end) < MOST_MOVED_MM else None


def _outward(inner: Point, measure: Measure) -> Measure:
    """The dimension with its words on the side away from the piece."""
    if distance(measure.start, inner) >= distance(measure.end, inner):
        return measure
    return replace(measure, start=measure.end, end=measure.start)


def _most_moved(old: Piece, edge: Edge, now: Edge, unit_: Unit) -> Measure | None:
    """How far the edge moved square to itself where it moved most, near its middle where it moved evenly."""
    size = run_length(edge.segments)
    count = max(2, math.ceil(size / COMPARED_EVERY_MM))
    spots = run_points_at(edge.segments, [size * n / count for n in range(count + 1)])
    away = distances(now.segments, spots)
    by_most = sorted((n for n in range(count + 1) if away[n] >= LEAST_SHOWN_MM), key=lambda n: -away[n])
    most = next((away[n] for n in by_most if _square_to(now, spots[n])), None)
    if most is None:
        return None
    as_far = [n for n in by_most if away[n] >= most - EVENLY_MM and _square_to(now, spots[n])]
    n = min(as_far, key=lambda n: abs(n - count / 2.0))
    there = _square_to(now, spots[n]) or spots[n]
    # The words stand on the side away from the paper.
    outer, inner = (spots[n], there) if is_inside(old, there) else (there, spots[n])
    at = "all along" if min(away[1:-1]) > most - LEAST_SHOWN_MM else "at its most"
    return Measure(outer, inner, short(away[n], unit_), size_mm=1.0, edge=edge.name, at=at)


def _square_to(edge: Edge, spot: Point) -> Point | None:
    """The place of the edge nearest to the spot; None where the spot lies past the edge's end, not beside it."""
    size = run_length(edge.segments)
    along, off = run_nearest(edge.segments, spot)
    there = run_point_at(edge.segments, along)
    if AT_THE_END_MM < along < size - AT_THE_END_MM:
        return there
    index, t = run_place(edge.segments, min(max(along, 0.0), size))
    way = tangent(edge.segments[index], t)
    return there if abs(dot(sub(spot, there), way)) <= BESIDE_RATIO * off else None


def distances(segments: Sequence[Segment], spots: Sequence[Point]) -> list[float]:
    """How far each place lies from the nearest of the segments, to 0.02 mm."""
    lines = shapely.MultiLineString([flatten(segment, NEAR_TOL_MM) for segment in segments])
    return [float(off) for off in shapely.distance(lines, shapely.points(spots))]
