"""Sliding the shape of an edge along it: its hollow or its fullness goes up or down, and its ends stay.

A place is `u`: millimetres along the edge from its lower end. The shape is how far the edge lies inwards of the
straight line between the two places where the slide comes to nothing.
"""

from __future__ import annotations

import math

from msgspec import Struct

from diagnose.pattern.geometry.plane import cross, sub, unit
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import edge_length, edge_point_at, station_ends
from diagnose.pattern.operations import MoveEdge
from diagnose.pattern.operations.move_edge import Place
from diagnose.pattern.outline import Edge, Piece, Point
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM

__all__ = ["Upright"]

PLACES = 16
LEAST_SLIDE_MM = 0.05


class Upright(Struct, frozen=True):
    """An edge of a piece that runs from hem to top, measured from its lower end."""

    piece: Piece
    edge: Edge

    @property
    def rises(self) -> bool:
        """Whether the edge runs upwards as it is stored."""
        return self.edge.end.y > self.edge.start.y

    @property
    def size(self) -> float:
        """How long the edge is, mm."""
        return edge_length(self.edge)

    def point(self, u: float) -> Point:
        """The point at the place."""
        return edge_point_at(self.edge, u if self.rises else self.size - u)

    def place(self, point: Point) -> float:
        """The place nearest to the point."""
        mm = run_nearest(self.edge.segments, point)[0]
        return mm if self.rises else self.size - mm

    def along(self, u: float) -> float:
        """The part of the edge's length from its start."""
        part = min(max(u / self.size, 0.0), 1.0)
        return part if self.rises else 1.0 - part

    def station(self, station: str) -> float | None:
        """The place at which the level meets the edge; None where it does not."""
        ends = [run_nearest(self.edge.segments, end) for end in station_ends(self.piece, station) or ()]
        mm, off = min(ends, key=lambda found: found[1], default=(0.0, math.inf))
        return None if off > SEAM_MATCH_TOL_MM else (mm if self.rises else self.size - mm)

    def inwards(self, u: float, low: float, high: float) -> float:
        """How far the place lies inwards of the straight line from `low` to `high`."""
        ends = (low, high) if self.rises else (high, low)
        start, end = map(self.point, ends)
        return cross(unit(sub(end, start)), sub(self.point(u), start))

    def fullest(self, low: float, high: float) -> float:
        """The place between the two that lies farthest from the straight line between them."""
        places = [low + (high - low) * i / PLACES for i in range(1, PLACES)]
        return max(places, key=lambda u: abs(self.inwards(u, low, high)))

    def moved(self, amounts: list[tuple[float, float]]) -> list[MoveEdge]:
        """The edge moved by those amounts (inwards positive) at those places; nothing where none is to move."""
        if not any(abs(mm) > LEAST_SLIDE_MM for _, mm in amounts):
            return []
        by = tuple(Place(along=self.along(u), mm=mm) for u, mm in amounts)
        return [MoveEdge(piece=self.piece.name, edge=self.edge.name, by=by)]

    def slid(self, low: float, centre: float, high: float, up_mm: float, least_mm: float = 0.0) -> list[MoveEdge]:
        """The shape between `low` and `high` slid by so much at `centre`, fading to nothing at both.

        It fades over `least_mm` at least. Where an end of the edge is nearer, and the shape is pushed towards it, the
        end goes along; where the shape is drawn away from it, the end stays and the shape between is stretched. Pinned
        or pushed in so short a way, the edge would hook.
        """
        upwards, amounts = up_mm > 0.0, []
        crest = centre + up_mm if (centre - low if upwards else high - centre) < least_mm else centre
        for number in range(PLACES + 1):
            u = low + (high - low) * number / PLACES
            arm = high - crest if u > crest else crest - low
            if (u > crest) == upwards:
                arm = max(arm, least_mm)
            fade = (1.0 + math.cos(math.pi * min(1.0, abs(u - crest) / arm))) / 2.0 if arm else 0.0
            from_ = min(max(u - up_mm * fade, low), high)
            amounts.append((u, self.inwards(from_, low, high) - self.inwards(u, low, high)))
        return self.moved(amounts)
