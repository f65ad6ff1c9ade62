"""Small pieces of paper whose measures are known by hand, for the tests of the operations. Millimetres, y upwards."""

from __future__ import annotations

from itertools import pairwise

from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.geometry.runs import run_split
from diagnose.pattern.outline import (
    Channel,
    Cubic,
    Edge,
    EdgeRef,
    Line,
    Notch,
    Pattern,
    Piece,
    Point,
    Role,
    Seam,
    Segment,
)

__all__ = ["curved", "edge", "in_two", "line_of", "oblong", "one", "pair_of", "ring"]


def line_of(*points: tuple[float, float]) -> tuple[Segment, ...]:
    return tuple(Line(Point(*a), Point(*b)) for a, b in pairwise(points))


def edge(name: str, role: Role, *points: tuple[float, float]) -> Edge:
    return Edge(name, role, line_of(*points))


def oblong(name: str = "side", width: float = 100.0, height: float = 200.0, x: float = 0.0) -> Piece:
    """An upright oblong whose waist stands at half its height, with one channel 10 mm from the back seam."""
    right = x + width
    return Piece(
        name, "pair", "both",
        (
            edge("hem", "bottom", (x, 0.0), (right, 0.0)), edge("back", "seam", (right, 0.0), (right, height)),
            edge("neck", "top", (right, height), (x, height)), edge("front", "seam", (x, height), (x, 0.0)),
        ),
        levels={
            "top": (Point(x, height - 20.0), Point(right, height - 20.0)),
            "waist": (Point(x, height / 2.0), Point(right, height / 2.0)),
            "bottom": (Point(x, 20.0), Point(right, 20.0)),
        },
        landmarks={"apex": Point(x + width / 2.0, height)},
        channels=(
            Channel("f1", (Point(x + 20.0, 6.0), Point(x + 20.0, height - 6.0)), 9.5),
            Channel("b1", (Point(right - 10.0, 6.0), Point(right - 10.0, height - 6.0)), 9.5),
        ),
        notches=(Notch("back", height / 2.0), Notch("front", height / 2.0)),
        grain=(Point(x + width / 2.0, 30.0), Point(x + width / 2.0, height - 30.0)),
    )  # fmt: skip


def curved() -> Piece:
    """The oblong with a back seam hollowed 20 mm at the waist, and a neck that dips 30 mm."""
    piece = oblong()
    hollow = Cubic(Point(100.0, 0.0), Point(73.0, 70.0), Point(73.0, 130.0), Point(100.0, 200.0))
    dip = Cubic(Point(100.0, 200.0), Point(70.0, 160.0), Point(30.0, 160.0), Point(0.0, 200.0))
    made = piece.with_edge(Edge("back", "seam", (hollow,))).with_edge(Edge("neck", "top", (dip,)))
    return replace(made, channels=(), landmarks={})


def one(piece: Piece, **more: object) -> Pattern:
    return Pattern("a test", "back", (replace(piece, **more),))  # type: ignore[arg-type]


def pair_of(first: Piece, second: Piece) -> Pattern:
    """Two pieces, the first one's back edge sewn to the second one's front edge."""
    return Pattern(
        "a test", "back", (first, second), (Seam("s", EdgeRef(first.name, "back"), EdgeRef(second.name, "front")),)
    )


def ring(piece: Piece, tol_mm: float = 0.001) -> list[Point]:
    return [p for e in piece.edges for s in e.segments for p in flatten(s, tol_mm)[:-1]]


def in_two(piece: Piece, name: str, mm: float) -> Piece:
    """The piece with that edge stored in two parts that run on from each other, the first of that length."""
    whole = piece.edge(name)
    low, up = run_split(whole.segments, mm)
    parts = (replace(whole, name=f"{name}-1", segments=low), replace(whole, name=f"{name}-2", segments=up))
    edges = tuple(part for edge in piece.edges for part in (parts if edge.name == name else (edge,)))
    return replace(piece, edges=edges, notches=tuple(notch for notch in piece.notches if notch.edge != name))
