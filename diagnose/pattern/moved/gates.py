"""The outline cut at gates and closed up again: what fold, dart and length have in common.

The outline is taken as a ring of segments, counter-clockwise. A gate is a stretch of the ring that falls away (of no
length where the paper is only cut). What lies between two gates is a stretch of paper edge; every other one is moved
rigidly, and the ends are put together edge by edge, so that an edge cut in two stays one edge.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from msgspec import Struct

from diagnose.errors import FitError
from diagnose.pattern.geometry.arclength import length_to
from diagnose.pattern.geometry.bezier import moved, part, point_at, tangent
from diagnose.pattern.geometry.hits import line_hits, near_line
from diagnose.pattern.geometry.plane import Affine, cross, distance, dot, sub, unit
from diagnose.pattern.geometry.runs import nearest_of, run_length
from diagnose.pattern.in_words import edge_words, piece_words
from diagnose.pattern.outline import Piece, Point, Polyline, Run, Segment
from diagnose.pattern.tolerances import ON_LINE_MM

__all__ = [
    "Broken", "Crossing", "Gate", "Place", "Ring", "Stretch", "broken", "crossings", "gate_between",
    "hits", "hits_of", "passings", "place_of", "ring_of", "stretches",
]  # fmt: skip

SNAP_MM = 1e-5
SLIVER_T = 1e-12
CORNER_COSINE = 0.9962
"""The edge has a corner of its own where it turns by more than 5 degrees: no truing takes that away."""


class Place(NamedTuple):
    """A place on the ring: `t` of segment number `at`; below 1, since a segment's end is the next one's start."""

    at: int
    t: float


class Crossing(Struct, frozen=True):
    """Where the ring passes over a line: the place, how far along the line, and to which side it goes."""

    place: Place
    s: float
    into_left: bool


class Gate(Struct, frozen=True):
    """The stretch that falls away, in ring order; of no length where the paper is only cut."""

    leave: Place
    enter: Place
    into_moved: bool


class Ring(Struct, frozen=True):
    """The outline's segments in order, and for each the index of its edge."""

    segments: Run
    owners: tuple[int, ...]

    def after(self, place: Place, other: Place) -> float:
        """How far `other` comes after `place` in ring order, in segments."""
        return (other.at + other.t - place.at - place.t) % len(self.segments)

    def point(self, place: Place) -> Point:
        """The point of that place."""
        return point_at(self.segments[place.at], place.t)

    def snapped(self, index: int, t: float) -> Place:
        """The place, set on the segment's end when it is nearer than anyone can draw."""
        segment = self.segments[index]
        point = point_at(segment, t)
        if distance(point, segment.end) <= SNAP_MM:
            return Place((index + 1) % len(self.segments), 0.0)
        return Place(index, 0.0 if distance(point, segment.start) <= SNAP_MM else t)


def ring_of(piece: Piece) -> Ring:
    """The piece's outline as a ring."""
    pairs = [(segment, number) for number, edge in enumerate(piece.edges) for segment in edge.segments]
    return Ring(tuple(segment for segment, _ in pairs), tuple(number for _, number in pairs))


def hits(ring: Ring, a: Point, b: Point) -> list[tuple[Place, float]]:
    """Where the ring meets the endless line a→b, in ring order; s is 0 at a and 1 at b."""
    found: dict[Place, float] = {}
    for index, segment in enumerate(ring.segments):
        for t, s in line_hits(segment, a, b):
            found.setdefault(ring.snapped(index, t), s)
    return sorted(found.items())


def place_of(ring: Ring, point: Point) -> tuple[Place, float]:
    """The place of the ring nearest to a point, and its distance in mm."""
    index, t, off = nearest_of(ring.segments, point)
    return ring.snapped(index, t), off


def crossings(ring: Ring, a: Point, b: Point) -> list[Crossing]:
    """Where the ring passes from one side of the endless line a→b to the other, in ring order; a touch is none."""
    way = unit(sub(b, a))
    return passings(ring, hits(ring, a, b), lambda point: cross(way, sub(point, a)))


def hits_of(ring: Ring, line: Polyline) -> list[tuple[Place, float]]:
    """Where the ring meets a polyline, in ring order; s is the number of the leg and the part of it."""
    found: dict[Place, float] = {}
    for number, (a, b) in enumerate(pairwise(line)):
        # What meets the line at one of its own points lies, by rounding, on neither of the legs there.
        slack = ON_LINE_MM / max(distance(a, b), ON_LINE_MM)
        near = {id(segment) for segment, *_ in near_line(ring.segments, a, unit(sub(b, a)))}
        for index, segment in enumerate(ring.segments):
            for t, s in line_hits(segment, a, b) if id(segment) in near else ():
                if -slack <= s <= 1.0 + slack:
                    found.setdefault(ring.snapped(index, t), number + s)
    return sorted(found.items())


def passings(ring: Ring, places: Sequence[tuple[Place, float]], height: Callable[[Point], float]) -> list[Crossing]:
    """Where the ring passes from one side of a line to the other, in ring order; a touch is none.

    Args:
        ring: the outline.
        places: where it meets the line, in ring order, and how far along the line.
        height: how far to the left of the line a point lies.
    """
    sides = [
        _side(ring, p, q, height_of=height) for (p, _), (q, _) in zip(places, [*places[1:], *places[:1]], strict=True)
    ]
    found, last = [], next((side for side in reversed(sides) if side), 0)
    since: tuple[Place, float] | None = None
    for hit, side in zip(places, sides, strict=True):
        since = since or hit
        if side and side != last:
            found.append(Crossing(*since, side > 0))
        if side:
            last, since = side, None
    return found


def _side(ring: Ring, start: Place, stop: Place, height_of: Callable[[Point], float]) -> int:
    """On which side of the line the ring runs between two neighbouring hits: 1 left, -1 right, 0 along it."""
    same = start.at == stop.at and stop.t > start.t
    point = point_at(ring.segments[start.at], (start.t + (stop.t if same else 1.0)) / 2.0)
    height = height_of(point)
    return 0 if abs(height) <= ON_LINE_MM else (1 if height > 0.0 else -1)


def gate_between(
    ring: Ring,
    at: Crossing,
    sides: tuple[Sequence[Place], Sequence[Place]],
    *,
    moving: float,
    holds: Callable[[Point], bool],
    do: str,
) -> Gate:
    """The gate of a strip round a crossing of its middle: from the side that is met ahead of it to the other behind it.

    Args:
        ring: the outline.
        at: the crossing.
        sides: where the outline meets the strip's left side, and its right one.
        moving: 1 where what lies to the left moves, -1 where what lies to the right does.
        holds: whether a place lies in the strip.
        do: what to do about a strip that takes in more.

    Raises:
        FitError: when the strip takes in the end of the paper, so that there is nothing to cut, or an edge beyond.
    """
    after, before = sides if at.into_left else sides[::-1]
    if not before or not after:
        raise FitError.of(
            "amount",
            "So much would take in everything on one side of the line.",
            "Take a smaller amount.",
            code="too-much",
        )
    leave = min(before, key=lambda place: ring.after(place, at.place))
    enter = min(after, key=lambda place: ring.after(at.place, place))
    gate = Gate(leave, enter, at.into_left == (moving > 0.0))
    if not all(map(holds, _dropped_points(ring, gate))):
        what = "The strip takes in paper on the far side of the edge it should cross."
        raise FitError.of("amount", what, do, code="strip-over-edge")
    return gate


def _dropped_points(ring: Ring, gate: Gate) -> list[Point]:
    """The ends of the stretch that falls away, and the joints and middles of the segments in it."""
    size = len(ring.segments)
    stop = gate.leave.at + gate.leave.t + ring.after(gate.leave, gate.enter)
    inner = (half / 2.0 for half in range(2 * gate.leave.at, math.ceil(2.0 * stop)))
    places = (Place(int(at) % size, at % 1.0) for at in inner if gate.leave.at + gate.leave.t < at < stop)
    return [ring.point(place) for place in (gate.leave, *places, gate.enter)]


class Stretch(Struct, frozen=True):
    """A part of one edge that stays paper: its segments as they lay, where they began, and whether they move."""

    edge: int
    run: Run
    start: Place
    moves: bool


def stretches(ring: Ring, gates: Sequence[Gate]) -> list[Stretch]:
    """What is left between the gates, in ring order beginning behind the first gate.

    Raises:
        FitError: when one gate runs into the next.
    """
    size = len(ring.segments)
    ordered = sorted(gates, key=lambda gate: gate.enter.at + gate.enter.t)
    found: list[Stretch] = []
    for gate, following in zip(ordered, ordered[1:] + ordered[:1], strict=True):
        reach = ring.after(gate.enter, following.leave)
        if reach > ring.after(gate.enter, following.enter) or gate.into_moved == following.into_moved or not reach:
            raise FitError.of(
                "amount", "So much would take in all the paper at one place.", "Take a smaller amount.", code="too-much"
            )
        stop = gate.enter.at + gate.enter.t + reach
        found += _chain(ring, gate.enter, stop, size=size, moves=gate.into_moved)
    return found


def _chain(ring: Ring, start: Place, stop: float, size: int, moves: bool) -> Iterator[Stretch]:
    run: list[Segment] = []
    began = start
    index, t = start
    while index + t < stop - SLIVER_T:
        t1 = min(1.0, stop - index)
        at = index % size
        if run and (ring.owners[at] != ring.owners[began.at] or at < began.at):
            yield Stretch(ring.owners[began.at], tuple(run), began, moves=moves)
            run = []
        began = began if run else Place(at, t)
        run.append(part(ring.segments[at], t, t1))
        index, t = index + 1, 0.0
    if run:
        yield Stretch(ring.owners[began.at], tuple(run), began, moves=moves)


class Broken(Struct, frozen=True):
    """One edge after the move, before its parts are put together.

    Attributes:
        runs: the parts in order, moved to where they lie now; between two of them was a gate.
        began_mm: for each part, how far along the old edge it began.
        cornered: for each gate, whether the old edge had a corner of its own there.
        shifted: the parts whose end was moved to a new corner: for each its number, and its segments before that.
    """

    runs: tuple[Run, ...]
    began_mm: tuple[float, ...]
    cornered: tuple[bool, ...]
    shifted: tuple[tuple[int, Run], ...] = ()

    @property
    def whole(self) -> bool:
        """Whether no gate lies inside the edge."""
        return len(self.runs) == 1


def broken(piece: Piece, ring: Ring, parts: Sequence[Stretch], move: Affine) -> list[Broken]:
    """The parts sorted to their edges and moved.

    Raises:
        FitError: when an edge has fallen away altogether.
    """
    by_edge: list[list[Stretch]] = [[] for _ in piece.edges]
    for stretch in parts:
        by_edge[stretch.edge].append(stretch)
    gone = [edge for edge, own in zip(piece.edges, by_edge, strict=True) if not own]
    if gone:
        what = f"The whole of {edge_words(gone[0])} of {piece_words(piece.name)} would be taken away."
        raise FitError.of("amount", what, "Take a smaller amount, or set the line elsewhere.", code="edge-gone")
    return [_broken(ring, sorted(own, key=lambda s: s.start), move) for own in by_edge]


def _broken(ring: Ring, own: Sequence[Stretch], move: Affine) -> Broken:
    first = ring.owners.index(own[0].edge)
    began = tuple(_mm_before(ring, first, stretch.start) for stretch in own)
    runs = tuple(tuple(moved(s, move) for s in stretch.run) if stretch.moves else stretch.run for stretch in own)
    return Broken(runs, began, tuple(_cornered(ring, p, q) for p, q in pairwise(own)))


def _mm_before(ring: Ring, first: int, place: Place) -> float:
    return run_length(ring.segments[first : place.at]) + length_to(ring.segments[place.at], place.t)


def _cornered(ring: Ring, before: Stretch, after: Stretch) -> bool:
    """Whether the edge turned sharply anywhere in the part that fell away, its ends included."""
    last = before.start.at + len(before.run) - 1
    joints = range(last + 1, after.start.at + 1)
    return any(dot(tangent(ring.segments[i - 1], 1.0), tangent(ring.segments[i], 0.0)) < CORNER_COSINE for i in joints)
