"""The paper that moves and the paper that stays as two regions, for cuts that no single line describes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from diagnose.pattern.geometry.bezier import area, flatten
from diagnose.pattern.geometry.polylines import leg_gap
from diagnose.pattern.moved.gates import Gate, Ring, stretches
from diagnose.pattern.outline import Line, Point, Segment

__all__ = ["Regions", "regions_of"]

REGION_TOL_MM = 0.2


class Regions(Struct, frozen=True):
    """The two regions, each a closed ring of points."""

    moving: tuple[Point, ...]
    staying: tuple[Point, ...]

    def part_of(self, point: Point) -> Literal["stays", "moves"]:
        """The region a point lies in; outside both, the nearer one."""
        if _inside(self.moving, point):
            return "moves"
        if _inside(self.staying, point):
            return "stays"
        return "moves" if _off(self.moving, point) < _off(self.staying, point) else "stays"

    def holds(self, point: Point) -> bool:
        """Whether the point lies in either region."""
        return _inside(self.moving, point) or _inside(self.staying, point)

    @property
    def areas(self) -> tuple[float, float]:
        """The areas in mm², the moving one first."""
        moving, staying = (area(Line(p, q) for p, q in pairwise(ring)) for ring in (self.moving, self.staying))
        return moving, staying


def regions_of(ring: Ring, gates: Sequence[Gate], pivot: Point | None = None) -> Regions:
    """The regions between the gates; with a pivot the cut runs from gate to gate by way of it.

    Raises:
        FitError: when one gate runs into the next.
    """
    parts = stretches(ring, gates)
    moving = [segment for part in parts if part.moves for segment in part.run]
    staying = [segment for part in parts if not part.moves for segment in part.run]
    return Regions(_points(moving, pivot), _points(staying, pivot))


def _points(segments: Sequence[Segment], pivot: Point | None) -> tuple[Point, ...]:
    flat = [point for segment in segments for point in flatten(segment, REGION_TOL_MM)]
    return (*flat, *([pivot] if pivot else []))


def _inside(ring: Sequence[Point], point: Point) -> bool:
    odd = False
    for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (p.y > point.y) != (q.y > point.y) and point.x < p.x + (q.x - p.x) * (point.y - p.y) / (q.y - p.y):
            odd = not odd
    return odd


def _off(ring: Sequence[Point], point: Point) -> float:
    return min(leg_gap(point, p, q) for p, q in zip(ring, (*ring[1:], ring[0]), strict=True))
