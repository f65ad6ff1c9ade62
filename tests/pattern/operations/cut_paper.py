"""Pieces of paper to cut, whose measures are known by hand. Millimetres, y upwards, counter-clockwise."""

from __future__ import annotations

import math
from itertools import pairwise

from msgspec.structs import replace
from shapely import LineString, Polygon

from diagnose.pattern.geometry.bezier import flatten, tangent
from diagnose.pattern.outline import (
    Channel,
    Cubic,
    Edge,
    Line,
    Notch,
    Pattern,
    Piece,
    Point,
    Role,
    Slit,
)

__all__ = [
    "INCH", "alone", "corners_deg", "curved_hem", "leaning", "only", "polygon", "sheet", "shut",
]  # fmt: skip

INCH = 25.4
NAMES: tuple[tuple[str, Role], ...] = (("hem", "bottom"), ("back", "seam"), ("neck", "top"), ("front", "seam"))


def alone(piece: Piece) -> Pattern:
    return Pattern("a test", "back", (piece,))


def only(pattern: Pattern) -> Piece:
    (piece,) = pattern.pieces
    return piece


def sheet(width: float = 300.0, height: float = 400.0, back: Role = "seam") -> Piece:
    """An upright oblong from (0, 0): levels at 100, 200 and 300, two channels, a notch on either side, a slit."""
    corners = [Point(0, 0), Point(width, 0), Point(width, height), Point(0, height)]
    edges = tuple(
        Edge(name, back if name == "back" else role, (Line(corners[i], corners[(i + 1) % 4]),))
        for i, (name, role) in enumerate(NAMES)
    )
    return Piece(
        "sheet", "pair", "both", edges,
        levels={
            name: (Point(0, y), Point(width, y)) for name, y in (("hip", 100.0), ("waist", 200.0), ("top", 300.0))
        },
        landmarks={"bust-point": Point(60, 320)},
        channels=(
            Channel("c1", (Point(40, 6), Point(40, height - 6)), 9.5),
            Channel("c2", (Point(width - 40, 6), Point(width - 40, height - 6)), 9.5),
        ),
        slits=(Slit("s1", (Point(80, 0), Point(80, 60))),),
        notches=(Notch("back", 200.0), Notch("front", 200.0)),
        grain=(Point(20, 50), Point(20, height - 50)),
    )  # fmt: skip


def shut(points: list[Point], names: tuple[tuple[str, Role], ...] = NAMES) -> Piece:
    """A plain four-sided piece of those corners, with no marks."""
    edges = tuple(
        Edge(name, role, (Line(p, q),))
        for (name, role), p, q in zip(names, points, points[1:] + points[:1], strict=True)
    )
    return Piece("sheet", "single", "both", edges)


def leaning(slope_deg: float, width: float = 300.0, height: float = 400.0) -> Piece:
    """The sheet with its back seam leaning outwards by that much from upright; the hem is `width`."""
    out = height * math.tan(math.radians(slope_deg))
    made = shut([Point(0, 0), Point(width, 0), Point(width + out, height), Point(0, height)])
    at = width + out / 2.0
    return replace(made, levels={"waist": (Point(0, height / 2.0), Point(at, height / 2.0))})


def curved_hem() -> Piece:
    """The sheet whose hem is one deep curve and whose neck dips."""
    piece = sheet()
    hem = Cubic(Point(0, 0), Point(100, -60), Point(200, -60), Point(300, 0))
    neck = Cubic(Point(300, 400), Point(220, 340), Point(90, 350), Point(0, 400))
    made = piece.with_edge(Edge("hem", "bottom", (hem,))).with_edge(Edge("neck", "top", (neck,)))
    return replace(made, slits=(), channels=())


def polygon(piece: Piece) -> Polygon:
    return Polygon([p for e in piece.edges for s in e.segments for p in flatten(s, 1e-3)[:-1]])


def corners_deg(edge: Edge) -> list[float]:
    """The turn at each joint inside the edge."""
    found = []
    for a, b in pairwise(edge.segments):
        out, on = tangent(a, 1.0), tangent(b, 0.0)
        found.append(math.degrees(abs(math.atan2(out.x * on.y - out.y * on.x, out.x * on.x + out.y * on.y))))
    return found


def width_inside(piece: Piece, level: tuple[Point, ...]) -> float:
    """The level's length inside the outline, by an independent library."""
    return float(polygon(piece).intersection(LineString(level)).length)
