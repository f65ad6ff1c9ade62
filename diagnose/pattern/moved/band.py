"""A band across a piece that follows a line, such as a level: folded out, or cut and opened, along one direction.

Millimetres. The band's two sides are the line shifted half the amount each way along `up`; what moves is carried along
`up` as well, so that all that lies across the direction stays as it lay. A negative amount opens the paper along the
line itself.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import pairwise

from diagnose.errors import FitError
from diagnose.pattern.altered import PaperOpened, StripFolded, Zone
from diagnose.pattern.geometry.plane import Affine, across, add, dot, scaled, shift
from diagnose.pattern.kept import kept
from diagnose.pattern.moved.carried_marks import Paper, Part
from diagnose.pattern.moved.gates import Crossing, Gate, Ring, gate_between, hits_of, passings
from diagnose.pattern.outline import Point, Polyline
from diagnose.pattern.tolerances import FAR_MM, NOTHING_MM, ROUNDING_MM

__all__ = ["Band", "as_heights"]


# The same levels of a piece are looked at again for every other that may cross them.
@kept(256)
def as_heights(line: Polyline, up: Point) -> Callable[[float], float] | None:
    """The line as a height along `up` at each place across it, running straight on beyond its ends.

    Returns:
        The height at a place (mm to the right, seen with `up` upwards); None for a line that doubles back.
    """
    ahead = scaled(across(up), -1.0)
    places = sorted((dot(point, ahead), dot(point, up)) for point in line)
    marks = [place for place, _ in places]
    if [dot(point, ahead) for point in line] not in (marks, marks[::-1]) or len(set(marks)) < len(marks):
        return None
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(places)]

    def height(place: float) -> float:
        n = min(max(bisect_right(marks, place) - 1, 0), len(slopes) - 1)
        return places[n][1] + slopes[n] * (place - marks[n])

    return height


class Band:
    """The band's geometry.

    Args:
        line: the line it follows, from the side edge in front to the one behind.
        up: the direction it is folded out along, of length one.
        amount: its width along `up`; negative to open the paper.
        moving: 1 where what lies above it moves, -1 where what lies below it does.
    """

    def __init__(self, line: Polyline, up: Point, amount: float, *, moving: float) -> None:
        self.up, self.amount, self.moving = up, amount, moving
        self.ahead = scaled(across(up), -1.0)
        self.half = max(0.0, amount) / 2.0
        heights = as_heights(line, up)
        if heights is None:
            what = "The level it is measured from doubles back on itself."
            raise FitError.of(
                "at",
                what,
                "Draw the level from the front edge to the back edge in one sweep.",
                code="level-doubles-back",
            )
        self.heights = heights
        places = sorted(dot(point, self.ahead) for point in line)
        self.line = tuple(self._at(u) for u in (places[0] - FAR_MM, *places, places[-1] + FAR_MM))

    def _at(self, place: float, off: float = 0.0) -> Point:
        return add(scaled(self.ahead, place), scaled(self.up, self.heights(place) + off))

    def height(self, point: Point) -> float:
        """How far above the line the point lies."""
        return dot(point, self.up) - self.heights(dot(point, self.ahead))

    def side(self, off: float) -> Polyline:
        """The line shifted so far up."""
        return tuple(add(point, scaled(self.up, off)) for point in self.line)

    def move(self) -> Affine:
        """What is done to the part that moves."""
        return shift(scaled(self.up, -self.moving * self.amount))

    def crossings(self, ring: Ring) -> list[Crossing]:
        """Where the outline passes over the line, in order from front to back."""
        places = hits_of(ring, self.line)
        return sorted(passings(ring, places, self.height), key=lambda at: at.s)

    def gates(self, ring: Ring, through: Sequence[Crossing]) -> list[Gate]:
        """What falls away at each crossing.

        Raises:
            FitError: when the band takes in the end of the paper, or an edge on its far side.
        """
        if self.amount <= 0.0:
            return [Gate(at.place, at.place, at.into_left == (self.moving > 0.0)) for at in through]
        upper, lower = ([place for place, _ in hits_of(ring, self.side(off))] for off in (self.half, -self.half))
        do = "Take a smaller amount, or set the line elsewhere."
        return [gate_between(ring, at, (upper, lower), moving=self.moving, holds=self._holds, do=do) for at in through]

    def _holds(self, point: Point) -> bool:
        """Whether the point lies in the band."""
        return abs(self.height(point)) <= self.half + ROUNDING_MM

    def paper(self) -> Paper:
        """The cut as the marks meet it."""
        half, least = self.half, max(self.half - NOTHING_MM, NOTHING_MM)

        @cache
        def part_of(point: Point) -> Part:
            height = self.height(point)
            if abs(height) < half - NOTHING_MM:
                return "strip"
            return "moves" if height * self.moving > least else "stays"

        def laid(point: Point) -> Point:
            return add(point, scaled(self.up, -self.moving * half - self.height(point)))

        cuts = (self.side(half), self.side(-half)) if half else (self.line,)
        return Paper(self.move(), cuts, part_of, laid=laid, as_one=lambda _: True)

    def zones(self, piece: str, ring: Ring, through: Sequence[Crossing]) -> Iterator[Zone]:
        """The band where it is folded out, or the opening, from one outline to the other."""
        for first, last in zip(through[::2], through[1::2], strict=False):
            spots = [ring.point(at.place) for at in (first, last)]
            low, high = (dot(spot, self.ahead) for spot in spots)
            inner = tuple(p for p in self.line if low + ROUNDING_MM < dot(p, self.ahead) < high - ROUNDING_MM)
            line = (spots[0], *inner, spots[1])
            if self.amount > 0.0:
                moving, still = (
                    tuple(add(p, scaled(self.up, way * self.half)) for p in line) for way in (self.moving, -self.moving)
                )
                yield StripFolded(piece=piece, line=line, widths=(self.amount, self.amount), moving=moving, still=still)
            else:
                move = self.move()
                yield PaperOpened(
                    piece, line, (-self.amount, -self.amount), ring=(*line, *(move(point) for point in reversed(line)))
                )
