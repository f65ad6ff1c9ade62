"""Places that can be found on paper, in words and figures: corners, marks along edges, landmarks, crossing arcs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from msgspec import Struct, field

from diagnose.pattern.geometry.bezier import point_at, tangent
from diagnose.pattern.geometry.plane import across, add, cross, distance, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_place, run_point_at, run_points_at
from diagnose.pattern.in_words import Bones, edge_words
from diagnose.pattern.outline import SIDE_ROLES, Edge, Piece, Point
from diagnose.sheets.hand.figures import Arcs, AtPlace, Corner, End, Figure, Inset, OnEdge
from diagnose.units import INCH_MM, Unit, both, on_ruler

__all__ = [
    "Desk", "Found", "arcs_cross", "corner_words", "end_words", "on_edge", "side_ended", "side_words", "way_words",
    "within",
]  # fmt: skip

SAME_SPOT_MM = 0.5
MOST_INSET_MM = 180.0
FROM_CORNER_MM = 3.0


class Desk(Struct):
    """What is on the table: the ruler, the numbers of the bones, and which letters have been used for marks and where.

    `lengths` are those of the channels before anything was done.
    """

    unit: Unit
    bones: Bones = field(default_factory=dict)
    lengths: dict[tuple[str, str], float] = field(default_factory=dict)
    used: int = 0
    spots: dict[str, Point] = field(default_factory=dict)

    @property
    def step_mm(self) -> float:
        """The ruler's division."""
        return INCH_MM / 16 if self.unit == "in" else 1.0

    def read(self, mm: float) -> float:
        """The length on the nearest mark of the ruler."""
        return on_ruler(mm, self.step_mm)

    def say(self, mm: float) -> str:
        """The length as read off the ruler, in words, without a sign."""
        return both(abs(self.read(mm)), self.unit)

    def mark(self, spot: Point) -> str:
        """The letter of a mark that is set there."""
        letter = self.letter()
        self.spots[letter] = spot
        return letter

    def letter(self) -> str:
        """The next letter for a mark: A to Z without I and O, then A', B'…"""
        letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
        turn, index = divmod(self.used, len(letters))
        self.used += 1
        return letters[index] + "'" * turn


class Found(Struct, frozen=True):
    """A mark: its letter, where it lies, how to say it, and the figure of it."""

    mark: str
    spot: Point
    words: str
    figures: tuple[Figure, ...]


def corner_words(piece: Piece, corner: Corner) -> str:
    """A corner as in running words: the top of the lacing edge; where the neck meets the armhole."""
    side = side_ended(piece, corner)
    if side is not None:
        return f"the {end_words(*side)} of {edge_words(side[0])}"
    return f"where {edge_words(piece.edge(corner.edge))} meets {edge_words(_beside(piece, corner)[0])}"


def side_ended(piece: Piece, corner: Corner) -> tuple[Edge, End] | None:
    """The one edge at the side that ends at the corner, and which of its ends; None where neither or both are such."""
    both = (piece.edge(corner.edge), corner.end), _beside(piece, corner)
    sides = [(edge, end) for edge, end in both if edge.role in SIDE_ROLES]
    return sides[0] if len(sides) == 1 else None


def _beside(piece: Piece, corner: Corner) -> tuple[Edge, End]:
    """The edge that shares the corner, and which of its ends lies there."""
    index = next(n for n, edge in enumerate(piece.edges) if edge.name == corner.edge)
    if corner.end == "start":
        return piece.edges[index - 1], "end"
    return piece.edges[(index + 1) % len(piece.edges)], "start"


def end_words(edge: Edge, end: End) -> str:
    """Which end of an edge that is: its top, or its front end …"""
    here, there = (edge.start, edge.end) if end == "start" else (edge.end, edge.start)
    if abs(here.y - there.y) >= abs(here.x - there.x):
        return "top" if here.y > there.y else "bottom"
    return "front end" if here.x < there.x else "back end"


def way_words(way: Point) -> str:
    """A direction on the paper: towards the front, the back, the top or the bottom."""
    if abs(way.x) >= abs(way.y):
        return "towards the back" if way.x > 0 else "towards the front"
    return "upwards" if way.y > 0 else "downwards"


def side_words(piece: Piece, a: Point, b: Point, left: float) -> str:
    """The part of the piece to one side of the line a→b (left 1, right -1), by an edge that lies wholly in it."""
    way = unit(sub(b, a))

    def off(edge: Edge) -> float:
        size = run_length(edge.segments)
        spots = run_points_at(edge.segments, [size * n / 4.0 for n in range(5)])
        return min(left * cross(way, sub(spot, a)) for spot in spots)

    offs = [(edge, off(edge)) for edge in piece.edges]
    inside = [(edge.role not in SIDE_ROLES, -mm, edge.name) for edge, mm in offs if mm > -SAME_SPOT_MM]
    if inside:
        return f"the part with {edge_words(piece.edge(min(inside)[2]))}"
    square = Point(-way.y * left, way.x * left)
    return f"the part {way_words(square)}"


def _nearer_end(edge: Edge, mm: float) -> tuple[End, float]:
    """The end of the edge that a place `mm` from its start is nearer to, and how far it is from that end."""
    size = run_length(edge.segments)
    return ("start", mm) if mm <= size / 2.0 else ("end", size - mm)


def on_edge(desk: Desk, piece: Piece, point: Point) -> Found:
    """The mark on the outline nearest to a point, as measured along its edge from the nearer corner."""
    best = min(piece.edges, key=lambda edge: run_nearest(edge.segments, point)[1])
    size = run_length(best.segments)
    end, away = _nearer_end(best, run_nearest(best.segments, point)[0])
    away = desk.read(away)
    spot = run_point_at(best.segments, away if end == "start" else size - away)
    mark = desk.mark(spot)
    at = Corner(best.name, end)
    corner = corner_words(piece, at)
    if away == 0.0:
        words = f"mark {mark} {'at ' if side_ended(piece, at) else ''}{corner}"
    else:
        words = f"from {corner} measure {desk.say(away)} along {edge_words(best)} and mark {mark}"
    return Found(mark, spot, words, figures=(OnEdge(mark, piece.name, best.name, end=end, mm=away),))


def within(desk: Desk, piece: Piece, point: Point) -> Found:
    """A mark anywhere on the paper: at a landmark, on an edge, or where arcs from two corners cross."""
    for name, spot in piece.landmarks.items():
        if distance(spot, point) <= SAME_SPOT_MM:
            mark = desk.mark(spot)
            words = f"mark {mark} at the {name.replace('-', ' ')}"
            return Found(mark, spot, words, figures=(AtPlace(mark, piece.name, name),))
    if min(run_nearest(edge.segments, point)[1] for edge in piece.edges) <= SAME_SPOT_MM:
        return on_edge(desk, piece, point)
    return _inset(desk, piece, point) or _by_arcs(desk, piece, point)


def _inset(desk: Desk, piece: Piece, point: Point) -> Found | None:
    """The point square in from the nearest edge; None where none is near, or only a corner of one is."""
    found = [(run_nearest(edge.segments, point), edge) for edge in piece.edges]
    for (mm, away), edge in sorted(found, key=lambda one: one[0][1]):
        size = run_length(edge.segments)
        if away > MOST_INSET_MM or not FROM_CORNER_MM < mm < size - FROM_CORNER_MM:
            continue
        end, along = _nearer_end(edge, mm)
        along, off = desk.read(along), desk.read(away)
        index, t = run_place(edge.segments, along if end == "start" else size - along)
        inward = scaled(across(tangent(edge.segments[index], t)), off)
        spot = add(point_at(edge.segments[index], t), inward)
        if distance(spot, point) > desk.step_mm:
            continue
        mark = desk.mark(spot)
        words = (
            f"from {corner_words(piece, Corner(edge.name, end))} measure {desk.say(along)} along {edge_words(edge)}, "
            f"then {desk.say(off)} inwards, square to it, and mark {mark}"
        )
        return Found(mark, spot, words, figures=(Inset(mark, piece.name, edge.name, end=end, mm=along, in_mm=off),))
    return None


def _by_arcs(desk: Desk, piece: Piece, point: Point) -> Found:
    first, second = max(_pairs(piece, point), key=lambda pair: pair[0])[1]
    a, b = piece.edge(first.edge).start, piece.edge(second.edge).start
    a_mm, b_mm = desk.read(distance(a, point)), desk.read(distance(b, point))
    left = cross(sub(b, a), sub(point, a)) > 0.0
    spot = arcs_cross(a, a_mm, b, b_mm=b_mm, left=left)
    mark = desk.mark(spot)
    figure = Arcs(mark, piece.name, first, first_mm=a_mm, second=second, second_mm=b_mm, left=left)
    words = (
        f"mark {mark} inside the piece, {desk.say(a_mm)} from {corner_words(piece, first)} and {desk.say(b_mm)} "
        f"from {corner_words(piece, second)} (strike an arc from each)"
    )
    return Found(mark, spot, words, figures=(figure,))


def _pairs(piece: Piece, point: Point) -> Iterator[tuple[float, tuple[Corner, Corner]]]:
    """Pairs of corners, each an edge's start, and how well arcs from them cross at the point: square and near is best.

    The point lies on no edge.
    """
    for first, second in combinations(piece.edges, 2):
        one, two = sub(first.start, point), sub(second.start, point)
        sizes = math.hypot(*one), math.hypot(*two)
        sine = abs(cross(one, two)) / (sizes[0] * sizes[1])
        yield sine - 0.0005 * sum(sizes), (Corner(first.name, "start"), Corner(second.name, "start"))


def arcs_cross(a: Point, a_mm: float, b: Point, b_mm: float, *, left: bool) -> Point:
    """Where the arcs about two points cross, on that side of a→b; where they do not reach, the place between."""
    size = distance(a, b)
    along = (size * size + a_mm * a_mm - b_mm * b_mm) / (2.0 * size)
    up = math.sqrt(max(0.0, a_mm * a_mm - along * along)) * (1.0 if left else -1.0)
    way = unit(sub(b, a))
    return Point(a.x + way.x * along - way.y * up, a.y + way.y * along + way.x * up)
