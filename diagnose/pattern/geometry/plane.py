"""Arithmetic of points and of the moves that carry paper about: plain floats, millimetres, y upwards.

Angles are radians, positive counter-clockwise. A vector is a `Point` too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

from diagnose.pattern.outline import Point

__all__ = [
    "TURNED_OVER", "UNMOVED", "UP", "Affine", "across", "add", "along", "angle", "corner_deg", "cross", "distance",
    "dot", "mid", "scaled", "shift", "spot", "sub", "turn", "turned", "unit",
]  # fmt: skip

# What is most often done of all; a named tuple's own constructor takes twice as long.
spot: Callable[[tuple[float, float]], Point] = partial(tuple.__new__, Point)
"""The point of two coordinates."""

distance: Callable[[Point, Point], float] = math.dist
"""How far apart two points are."""


def add(p: Point, q: Point) -> Point:
    """The sum of two vectors."""
    return spot((p[0] + q[0], p[1] + q[1]))


def sub(p: Point, q: Point) -> Point:
    """The vector from `q` to `p`."""
    return spot((p[0] - q[0], p[1] - q[1]))


def scaled(p: Point, factor: float) -> Point:
    """The vector `factor` times as long."""
    return spot((p.x * factor, p.y * factor))


def dot(p: Point, q: Point) -> float:
    """The scalar product."""
    return p.x * q.x + p.y * q.y


def cross(p: Point, q: Point) -> float:
    """The z of the vector product: positive when `q` lies to the left of `p`."""
    return p.x * q.y - p.y * q.x


def unit(p: Point) -> Point:
    """The direction of a vector, of length one; a vector of no length stays (0, 0)."""
    size = math.hypot(p.x, p.y)
    return spot((p.x / size, p.y / size)) if size > 0.0 else Point(0.0, 0.0)


def along(p: Point, q: Point, part: float) -> Point:
    """The point at the fraction `part` of the way from `p` to `q`; exact at both ends."""
    if part == 1.0:
        return q
    return spot((p.x + (q.x - p.x) * part, p.y + (q.y - p.y) * part))


def mid(p: Point, q: Point) -> Point:
    """The point half way."""
    return spot(((p.x + q.x) / 2.0, (p.y + q.y) / 2.0))


def across(p: Point) -> Point:
    """The vector turned a quarter counter-clockwise, so that it points to the left of `p`."""
    return spot((-p.y, p.x))


def angle(out: Point, on: Point) -> float:
    """By how much the second direction is turned from the first, radians: positive to the left."""
    return math.atan2(cross(out, on), dot(out, on))


def corner_deg(out: Point, on: Point) -> float:
    """The angle between two directions, 0 to 180 degrees."""
    return math.degrees(abs(angle(out, on)))


class Affine(NamedTuple):
    """The map (x, y) → (xx·x + xy·y + dx, yx·x + yy·y + dy)."""

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    dx: float = 0.0
    dy: float = 0.0

    def __call__(self, p: Point) -> Point:
        """The point where `p` comes to lie."""
        return spot((self.xx * p.x + self.xy * p.y + self.dx, self.yx * p.x + self.yy * p.y + self.dy))

    def then(self, after: Affine) -> Affine:
        """This move followed by `after`."""
        return Affine(
            after.xx * self.xx + after.xy * self.yx,
            after.xx * self.xy + after.xy * self.yy,
            after.yx * self.xx + after.yy * self.yx,
            after.yx * self.xy + after.yy * self.yy,
            *after(Point(self.dx, self.dy)),
        )


UNMOVED = Affine()
TURNED_OVER = Affine(xx=-1.0)
UP = Point(0.0, 1.0)


def shift(by: Point) -> Affine:
    """The move that carries everything by that vector."""
    return Affine(dx=by.x, dy=by.y)


def turn(about: Point, angle_rad: float) -> Affine:
    """The turn about a point, counter-clockwise when positive."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return Affine(cos, -sin, sin, cos, about.x - cos * about.x + sin * about.y, about.y - sin * about.x - cos * about.y)


def turned(way: Point, angle_rad: float) -> Point:
    """The vector turned, counter-clockwise when positive."""
    return turn(Point(0.0, 0.0), angle_rad)(way)
