"""Halves of our own making, from whose figures it is known what a file of them should come to.

Every seam bends alike on both pieces, so that its two edges are equally long, and not at all at the waist: the girth of
the whole there is twice the sum of the panels' widths.
"""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from diagnose.pattern.geometry.bezier import flatten, moved, reverse
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.geometry.runs import smooth_through
from diagnose.pattern.outline import Line, Point, Segment

__all__ = ["HALVES", "IN_MM", "ROOM_MM", "Half", "OddFile", "Run", "box", "laid", "panels", "points"]

IN_MM = 25.4
ROOM_MM = 30.0
Run = list[Segment]


class Half(Struct, frozen=True):
    """A half: its panels from the centre front on, each by its name and its width at the waist, and how seams bend.

    `bends` are the widths that each side of a seam adds at the `heights`, from the hem up; the waist, at 0, has none.
    """

    names: tuple[str, ...]
    waists: tuple[float, ...]
    heights: tuple[float, ...] = (-130.0, -80.0, 0.0, 80.0, 150.0)
    bends: tuple[float, ...] = (22.0, 10.0, 0.0, 10.0, 16.0)
    closure: str = "back"

    @property
    def waist_mm(self) -> float:
        """Of the whole, edge to edge."""
        return 2.0 * sum(self.waists)

    def corners(self, n: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The x of the front and the back edge of a panel at the heights, its front edge at the waist at 0."""
        front = tuple(-bend * (n > 0) for bend in self.bends)
        last = n == len(self.names) - 1
        return front, tuple(self.waists[n] + bend * (not last) for bend in self.bends)

    def ends(self, n: int) -> tuple[float, float]:
        """How far hem and top edge reach beyond the first and the last height at the seam before panel n."""
        return -6.0 * (n % 3), 7.0 * ((n + 1) % 3)


HALVES = {
    "rose": Half(("front", "side front", "side back", "back"), (74.0, 72.0, 78.0, 81.0)),
    "linnet": Half(("front", "side", "back"), (98.0, 116.0, 102.0), (-80.0, -45.0, 0.0, 45.0, 150.0),
                   (13.0, 6.0, 0.0, 6.0, 17.0)),
    "teal": Half(("front", "side front", "side", "side back", "back"), (60.0, 58.0, 64.0, 66.0, 57.0)),
}  # fmt: skip


class Edged(Struct, frozen=True):
    """One panel's four edges from the bottom front corner round, counter-clockwise."""

    name: str
    hem: Run
    back: Run
    top: Run
    front: Run

    @property
    def run(self) -> Run:
        return [*self.hem, *self.back, *self.top, *self.front]


@cache
def panels(name: str) -> tuple[Edged, ...]:
    """The panels, each with its front edge at 0 at the waist."""
    half = HALVES[name]
    made = []
    for n, called in enumerate(half.names):
        front_x, back_x = half.corners(n)
        sides = []
        for xs, k in ((front_x, n), (back_x, n + 1)):
            low, high = half.ends(k)
            ys = [half.heights[0] + low, *half.heights[1:-1], half.heights[-1] + high]
            points = [Point(x, y) for x, y in zip(xs, ys, strict=True)]
            bent = len({point.x for point in points}) > 1
            sides.append(list(smooth_through(points)) if bent else [Line(points[0], points[-1])])
        front, back = sides
        hem: Run = [Line(front[0].start, back[0].start)]
        top: Run = [Line(back[-1].end, front[-1].end)]
        made.append(Edged(called, hem, back, top, [reverse(one) for one in front[::-1]]))
    return tuple(made)


def laid(name: str, room: float = ROOM_MM) -> list[Run]:
    """The outlines one beside the other."""
    made, x = list[Run](), 0.0
    for one in panels(name):
        left = min(s.start.x for s in one.run)
        made.append([moved(s, Affine(dx=x - left)) for s in one.run])
        x += max(s.start.x for s in one.run) - left + room
    return made


class OddFile(Struct, frozen=True):
    """One file, what is told with it, and the one remedy where it must be asked about: a unit, words, or labels."""

    half: str
    way: str
    file: str
    data: bytes
    told: str = ""
    remedy: dict[str, object] = {}

    @property
    def name(self) -> str:
        return f"{self.half}, {self.way}"


def points(run: Run, tol_mm: float = 0.1) -> list[Point]:
    """The outline flattened."""
    return [point for s in run for point in flatten(s, tol_mm)[:-1]]


def box(run: Run) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the outline."""
    rows = points(run)
    xs, ys = [p.x for p in rows], [p.y for p in rows]
    return min(xs), min(ys), max(xs), max(ys)
