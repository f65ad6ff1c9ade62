"""The top and the bottom line of a half, from centre front to centre back, over all its pieces.

A place on such a line is `s`: millimetres along it from the front. Between two pieces that are drawn apart on the paper
the line goes on where the next piece begins.
"""

from __future__ import annotations

from itertools import accumulate, chain, pairwise
from typing import Literal

from msgspec import Struct

from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.measure import edge_length, edge_point_at, mm_of_point
from diagnose.pattern.moved.shift import runs_on
from diagnose.pattern.outline import Edge, Point, runs_along
from diagnose.plan.drawing.half import Half
from diagnose.units import INCH_MM

__all__ = ["EdgeLine", "Stretch", "edge_line"]

NEAR_LINE_MM = INCH_MM / 2


class Stretch(Struct, frozen=True):
    """One edge of the line: where on the line it begins and how long it is; `forward` if it runs to the back itself."""

    piece: str
    edge: Edge
    begin: float
    size: float
    forward: bool

    @property
    def end(self) -> float:
        """Where it ends along the line, mm."""
        return self.begin + self.size

    def along(self, s: float) -> float:
        """The share of the edge's own length, from its own start, at which the place lies."""
        share = min(max((s - self.begin) / self.size, 0.0), 1.0)
        return share if self.forward else 1.0 - share

    def point(self, s: float) -> Point:
        """The point of the place, on the edge's own piece."""
        return edge_point_at(self.edge, self.along(s) * self.size)

    def s_of(self, mm: float) -> float:
        """The place on the line, `mm` along the edge from its own start."""
        return self.begin + (mm if self.forward else self.size - mm)


class EdgeLine(Struct, frozen=True):
    """The stretches from centre front to centre back, and the role of their edges."""

    role: Literal["top", "bottom"]
    stretches: tuple[Stretch, ...]

    @property
    def size(self) -> float:
        """How long the line is, mm."""
        return self.stretches[-1].end if self.stretches else 0.0

    def at(self, s: float) -> Stretch:
        """The stretch on which the place lies."""
        return next((one for one in self.stretches if s <= one.end), self.stretches[-1])

    def point(self, s: float) -> Point:
        """The point of the place, on its own piece."""
        return self.at(s).point(s)

    def nearest(self, piece: str, point: Point) -> tuple[float, float] | None:
        """The place on that piece nearest to the point, and how far off it is; None where the piece has no part."""
        found = [(one, *mm_of_point(one.edge, point)) for one in self.stretches if one.piece == piece]
        if not found:
            return None
        one, mm, off = min(found, key=lambda hit: hit[2])
        return one.s_of(mm), off

    def landmark(self, half: Half, name: str, *, on_line: bool) -> float | None:
        """The place of a landmark (nearest to it); with `on_line` only where it lies on the line.

        Args:
            half: the half the line belongs to.
            name: the landmark's name.
            on_line: whether it has to lie on the line, within 1/2 in.
        """
        for piece in half.pieces:
            if name in piece.landmarks:
                found = self.nearest(piece.name, piece.landmarks[name])
                if found is not None and (found[1] <= NEAR_LINE_MM or not on_line):
                    return found[0]
        return None

    @property
    def corners(self) -> tuple[float, ...]:
        """Where the line has a corner of its own on one piece, such as the two of a strap's tab."""
        found: list[float] = []
        for one, after in pairwise((*self.stretches, None)):
            assert one is not None
            run = one.edge.segments
            joints = accumulate(map(length, run[:-1]))
            found += [one.s_of(mm) for mm, a, b in zip(joints, run, run[1:], strict=False) if not runs_on(a, b)]
            if after is not None and after.piece == one.piece:
                pair = (one.edge, after.edge) if one.forward else (after.edge, one.edge)
                if not runs_on(pair[0].segments[-1], pair[1].segments[0]):
                    found.append(one.end)
        return tuple(sorted(found))

    def between(self, start: float, end: float) -> tuple[Stretch, ...]:
        """The stretches that have more than a hair's breadth between the two places."""
        return tuple(one for one in self.stretches if one.begin < end - 0.5 and one.end > start + 0.5)


def edge_line(half: Half, role: Literal["top", "bottom"]) -> EdgeLine:
    """The line of that role. Outlines run counter-clockwise: bottoms to the back, tops to the front."""
    forward = role == "bottom"
    made: list[Stretch] = []
    begin = 0.0
    for piece in half.pieces:
        edges = [*chain.from_iterable(runs_along(piece, [edge.name for edge in piece.edges if edge.role == role]))]
        for edge in edges if forward else reversed(edges):
            made.append(Stretch(piece.name, edge, begin, size=edge_length(edge), forward=forward))
            begin += made[-1].size
    return EdgeLine(role, tuple(made))
