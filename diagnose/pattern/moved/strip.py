"""The strip of a fold: two straight lines half its width to each side of a middle line, and the move that closes it.

Millimetres. s runs along the middle line from 0 at its start to 1 at its end; sides are 1 for left and -1 for right. A
negative width is a spread: the paper is cut along the middle line and moved off.
"""

from __future__ import annotations

import math
from functools import cache

from diagnose.pattern.geometry.plane import Affine, across, add, along, dot, scaled, shift, sub, turn, turned, unit
from diagnose.pattern.moved.carried_marks import Paper, Part
from diagnose.pattern.moved.regions import Regions
from diagnose.pattern.outline import Point, Polyline
from diagnose.pattern.tolerances import FAR_MM, NOTHING_MM, PAST_MM, ROUNDING_MM

__all__ = ["Strip"]

SLANT = 2.0


class Strip:
    """The strip's geometry.

    Args:
        start: a point of the middle line.
        end: another.
        widths: the strip's width, square to the middle line, at the two points.
        moving: the side that moves.
    """

    def __init__(self, start: Point, end: Point, widths: tuple[float, float], *, moving: float) -> None:
        self.start, self.end, self.widths, self.moving = start, end, widths, moving
        self.span = sub(end, start)
        self.size = math.hypot(*self.span)
        self.left = across(unit(self.span))
        self.folds = max(widths) > 0.0

    def width(self, s: float) -> float:
        """The strip's width there; negative where the paper is spread."""
        return self.widths[0] + (self.widths[1] - self.widths[0]) * s

    def line(self, side: float) -> tuple[Point, Point]:
        """Two points of that side of the strip, abreast of from and to."""
        return self._at(0.0, side * self.width(0.0) / 2.0), self._at(1.0, side * self.width(1.0) / 2.0)

    def _at(self, s: float, height: float) -> Point:
        return add(along(self.start, self.end, s), scaled(self.left, height))

    def placed(self, point: Point) -> tuple[float, float]:
        """How far along the line (0 to 1) and how far to its left a point lies."""
        off = sub(point, self.start)
        return dot(off, self.span) / (self.size * self.size), dot(off, self.left)

    def holds(self, point: Point) -> bool:
        """Whether the point lies in the strip, or no further beyond its ends than a slanting edge can carry it."""
        s, height = self.placed(point)
        beyond = SLANT * max(map(abs, self.widths)) / self.size
        return abs(height) <= abs(self.width(s)) / 2.0 + ROUNDING_MM and -beyond <= s <= 1.0 + beyond

    def move(self) -> Affine:
        """What is done to the side that moves."""
        narrowing = self.widths[1] - self.widths[0]
        if narrowing == 0.0:
            return shift(scaled(self.left, -self.moving * self.widths[0]))
        if self.folds:
            start, end = self.line(self.moving)[0], self.line(-self.moving)[0]
            angle = -2.0 * self.moving * math.atan(narrowing / (2.0 * self.size))
        else:
            # The inverse of the fold that would close it: the chord from→from' is square to the middle of the spread.
            half = math.asin(max(-1.0, min(1.0, -narrowing / (2.0 * self.size)))) * self.moving
            start, angle = self.start, 2.0 * half
            end = add(start, turned(scaled(self.left, -self.moving * self.widths[0]), half))
        return turn(start, angle).then(shift(sub(end, start)))

    def edge(self, side: float, reach: tuple[float, float]) -> Polyline:
        """The cut along that side of the strip, where it folds, and along the line itself, where it spreads."""
        hinge = self.widths[0] / (self.widths[0] - self.widths[1]) if self._tapers() else 0.0
        stops = sorted({reach[0], reach[1], *([hinge] if self._tapers() and reach[0] < hinge < reach[1] else [])})
        return tuple(self._at(s, side * self.half(s)) for s in stops)

    def half(self, s: float) -> float:
        """How far the strip reaches to each side of its middle line there; a spread takes no paper, nor does a fold
        beyond the place where it has come to nothing.
        """
        return max(0.0, self.width(s)) / 2.0 if self.folds else 0.0

    def _tapers(self) -> bool:
        return self.widths[0] != self.widths[1]

    def paper(self, reach: tuple[float, float] | None, regions: Regions | None) -> Paper:
        """The cut as the marks meet it: between `reach` only, where the line drawn on meets the piece elsewhere."""
        slack = (PAST_MM if reach else FAR_MM) / self.size
        least, most = reach or (0.0, 1.0)
        span = (least - slack, most + slack)

        @cache
        def part_of(point: Point) -> Part:
            s, height = self.placed(point)
            half = self.half(s)
            if abs(height) < half - NOTHING_MM and (
                span[0] <= s <= span[1] or (regions is not None and not regions.holds(point))
            ):
                return "strip"
            if regions is not None:
                return regions.part_of(point)
            return "moves" if height * self.moving > max(half - NOTHING_MM, NOTHING_MM) else "stays"

        def laid(point: Point) -> Point:
            return self._at(s := self.placed(point)[0], -self.moving * self.width(s) / 2.0)

        return Paper(
            self.move(),
            (self.edge(1.0, span), self.edge(-1.0, span)),
            part_of,
            laid=laid,
            as_one=lambda role: role == "seam",
        )
