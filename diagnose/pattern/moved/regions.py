"""The paper that moves and the paper that stays as two regions, for cuts that no single line describes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.moved.gates import Gate, Ring, stretches
from diagnose.pattern.outline import Point

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["Regions", "regions_of"]

REGION_TOL_MM = 0.2


class Regions(Struct, frozen=True):
    """The two regions."""

    moving: Polygon
    staying: Polygon

    def part_of(self, point: Point) -> Literal["stays", "moves"]:
        """The region a point lies in; outside both, the nearer one."""
        moving, staying = self._off(point)
        return "moves" if moving < staying else "stays"

    def holds(self, point: Point) -> bool:
        """Whether the point lies in either region."""
        return 0.0 in self._off(point)

    def _off(self, point: Point) -> tuple[float, float]:
        """How far the point lies outside each of them, 0 inside."""
        from shapely import Point as Spot

        spot = Spot(point)
        return self.moving.distance(spot), self.staying.distance(spot)


def regions_of(ring: Ring, gates: Sequence[Gate], pivot: Point | None = None) -> Regions:
    """The regions between the gates; with a pivot the cut runs from gate to gate by way of it.

    Raises:
        FitError: when one gate runs into the next.
    """
    from shapely import Polygon  # imported late: it takes longer to import than a pattern takes to read

    by_way = [pivot] if pivot else []
    rings: dict[bool, list[Point]] = {True: [], False: []}
    for part in stretches(ring, gates):
        rings[part.moves] += [point for segment in part.run for point in flatten(segment, REGION_TOL_MM)]
    # Its first point stands twice, so that what is left of an edge that is hardly bent, two points, is a ring too.
    moving, staying = (Polygon([*own[:1], *own, *by_way]) for own in rings.values())
    return Regions(moving, staying)
