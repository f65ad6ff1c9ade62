"""How far outlines read from a photograph lie off the paper that was photographed; measured by shapely."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from painting import Laid, Scene, rotation
from shapely import LinearRing, LineString, Point, Polygon

from diagnose.pattern.brought.photo.photographs import Photographed
from diagnose.pattern.brought.photo.solving import placed
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.outline import Pattern

Array = NDArray[np.float64]
STEP_MM = 2.0
LEAST_SINE = 0.5


class Judged(Struct, frozen=True):
    """By piece, how far its outline lies off in mm (both ways, every 2 mm); and girths off, whole, by station."""

    off_mm: dict[str, Array]
    girth_off_mm: dict[str, float]
    lost: tuple[str, ...]
    pieces_found: int

    @property
    def every(self) -> Array:
        return np.concatenate(list(self.off_mm.values())) if self.off_mm else np.array([np.inf])


def judged(scene: Scene, pattern: Pattern, found: Photographed) -> Judged:
    """The outlines found against those that were laid, each piece moved and turned to lie best."""
    card = min(scene.cards, key=lambda one: one.number)
    rings = [
        placed(_ring([p for s in stroke.segments for p in flatten(s, 0.02)[:-1]]), (*card.at, card.turned_rad))
        for stroke in found.sketch.strokes
        if stroke.kind == "outline"
    ]
    off, lost, widths = {}, [], {}
    for laid in scene.pieces:
        near = [ring for ring in rings if _overlap(ring, laid.outline) > 0.8]
        if not near:
            lost.append(laid.name)
            continue
        ring = _aligned(near[0], laid.outline)
        off[laid.name] = _off(ring, laid.outline)
        widths[laid.name] = ring
    girths = {
        station: sum(_wider(pattern, laid, widths[laid.name], station) for laid in scene.pieces)
        for station in ("top", "underbust", "waist", "hip", "bottom")
        if not lost and all(station in piece.levels for piece in pattern.pieces)
    }
    return Judged(off, girths, tuple(lost), len(rings))


def _ring(points: object) -> Array:
    return np.array(points, dtype=float)


def _overlap(one: Array, other: Array) -> float:
    a, z = Polygon(one).buffer(0), Polygon(other).buffer(0)
    return a.intersection(z).area / max(a.union(z).area, 1e-9)


def _dense(ring: Array, step: float) -> Array:
    line = LinearRing(ring)
    return shapely.get_coordinates(shapely.line_interpolate_point(line, np.arange(0, line.length, step)))


def _aligned(ring: Array, true: Array) -> Array:
    """The ring moved and turned, never stretched, to lie nearest to the true one."""
    line = LinearRing(true)
    for _ in range(12):
        spots = _dense(ring, STEP_MM)
        on = shapely.get_coordinates(
            shapely.line_interpolate_point(line, shapely.line_locate_point(line, shapely.points(spots)))
        )
        a, z = spots - spots.mean(0), on - on.mean(0)
        angle = np.arctan2((a[:, 0] * z[:, 1] - a[:, 1] * z[:, 0]).sum(), (a * z).sum())
        ring = (ring - spots.mean(0)) @ rotation(angle).T + on.mean(0)
    return ring


def _off(ring: Array, true: Array) -> Array:
    one, other = LinearRing(ring), LinearRing(true)
    there = shapely.distance(other, shapely.points(_dense(ring, STEP_MM)))
    back = shapely.distance(one, shapely.points(_dense(true, STEP_MM)))
    return np.r_[there, back]


def _wider(pattern: Pattern, laid: Laid, ring: Array, station: str) -> float:
    """How much wider the piece was read than it is at a station, whole."""
    piece = pattern.piece(laid.name)
    level = _on_both_ways(np.array(piece.levels[station], dtype=float)) @ rotation(laid.turned_rad).T + laid.shift
    within = LineString(level).intersection(Polygon(laid.outline).buffer(0))
    ends = shapely.get_coordinates(max(shapely.get_parts(within), key=shapely.length))[[0, -1]]
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    return (_beyond(ends[1], way, laid.outline, ring) + _beyond(ends[0], -way, laid.outline, ring)) * piece.copies


def _beyond(end: Array, way: Array, true: Array, read: Array) -> float:
    """How much farther along a level the read outline lies than the true one does at the level's end.

    A level that runs nearly along an edge (a hem, a top) ends where the edge's own place is, not far along it.
    """
    line = LinearRing(true)
    at = line.project(Point(end))
    before, after = (np.array(line.interpolate((at + step) % line.length).coords[0]) for step in (-1.0, 1.0))
    tangent = (after - before) / max(float(np.hypot(*(after - before))), 1e-9)
    across = np.array([tangent[1], -tangent[0]])
    other = LinearRing(read)
    near = np.array(other.interpolate(other.project(Point(end))).coords[0])
    sine = float(across @ way)
    return float((near - end) @ across) / (sine if abs(sine) > LEAST_SINE else np.copysign(LEAST_SINE, sine))


def _on_both_ways(line: Array) -> Array:
    """The level carried on beyond the outline at both its ends."""
    first, last = line[0] - line[1], line[-1] - line[-2]
    return np.r_[[line[0] + 9.0 * first / np.hypot(*first)], line, [line[-1] + 9.0 * last / np.hypot(*last)]]
