"""Loose strokes joined end to end into closed rings, each running counter-clockwise."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.pattern.brought.sketch import Stroke, box_of_strokes, without_idle_steps
from diagnose.pattern.brought.told import told_number
from diagnose.pattern.geometry.bezier import Box, area, box_of, point_at, reverse, tangent
from diagnose.pattern.geometry.joins import with_end, with_start
from diagnose.pattern.geometry.plane import distance, dot, scaled
from diagnose.pattern.outline import Point, Segment
from diagnose.units import INCH_MM

__all__ = ["Ring", "joined_rings"]

LOOSE_ENDS_MM = INCH_MM / 32
"""Loose ends no farther apart than this are one corner: half a mark of the maker's ruler."""

STROKE_LEVEL_RATIO = 0.2
"""A line from side to side rises no more than this part of its width."""

JOIN_TOL_RATIO = 1 / 300
"""… and no farther than this part of the whole drawing, so that one read in too small a unit keeps its corners."""


class Ring(Struct, frozen=True):
    """A closed run of segments, counter-clockwise, and the stroke that each came from.

    `is_turned` says that it was drawn clockwise; `told` is all that the data of its piece's lines tell.
    """

    segments: tuple[Segment, ...]
    owners: tuple[Stroke, ...]
    is_turned: bool = False
    told: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_stored(self) -> bool:
        """Whether it was drawn by us from a stored pattern."""
        return told_number(self.told) is not None

    @property
    def area_mm2(self) -> float:
        """What the ring encloses, mm², with its sign."""
        return area(self.segments)

    @property
    def corners_box(self) -> Box:
        """The box round the places at which its segments meet."""
        return box_of([[segment.start for segment in self.segments]])

    @property
    def piece(self) -> str:
        """The name of the piece that its strokes give; empty where none does."""
        return next((stroke.piece for stroke in self.owners if stroke.piece), "")

    def turned_to(self, first: int) -> Ring:
        """The ring begun at another of its segments."""
        return Ring((*self.segments[first:], *self.segments[:first]), (*self.owners[first:], *self.owners[:first]))


def _join_tol_mm(strokes: Sequence[Stroke]) -> float:
    """How far apart two ends may lie that are joined."""
    box = box_of_strokes(strokes)
    return min(LOOSE_ENDS_MM, JOIN_TOL_RATIO * max(box.wide, box.high))


def joined_rings(strokes: Sequence[Stroke]) -> tuple[list[Ring], list[Stroke]]:
    """The closed rings, and the strokes that close to none.

    Strokes of one piece's name are joined first, then whatever is left, nearest ends first.
    """
    tol_mm = _join_tol_mm(strokes)
    whole = [stroke for stroke in strokes if _closes(stroke, tol_mm)]
    rings = [_ring([stroke]) for stroke in whole]
    by_piece: dict[str, list[Stroke]] = defaultdict(list)
    for stroke in _without_doubles([one for one in strokes if not _closes(one, tol_mm)], tol_mm):
        by_piece[stroke.piece].append(stroke)
    left = by_piece.pop("", [])
    for own in by_piece.values():
        chains, loose = _chains(own, tol_mm)
        rings += map(_ring, chains)
        left += loose
    chains, loose = _chains(left, tol_mm)
    return [ring for ring in (*rings, *map(_ring, chains)) if ring.segments], loose


def _closes(stroke: Stroke, tol_mm: float) -> bool:
    return stroke.closed or (len(stroke.segments) > 1 and distance(stroke.start, stroke.end) <= tol_mm)


def _without_doubles(strokes: Sequence[Stroke], tol_mm: float) -> list[Stroke]:
    """The strokes, a line drawn twice over taken once."""
    kept: dict[tuple[object, ...], Stroke] = {}
    for stroke in strokes:
        middle = point_at(stroke.segments[len(stroke.segments) // 2], 0.5)
        spots = [(round(p.x / tol_mm), round(p.y / tol_mm)) for p in (stroke.start, stroke.end)] if tol_mm else []
        key = (*sorted(spots), round(middle.x, 3), round(middle.y, 3), stroke.piece)
        kept.setdefault(key, stroke)
    return list(kept.values())


class _Ends:
    """The loose ends by where they lie."""

    def __init__(self, strokes: Sequence[Stroke], tol_mm: float) -> None:
        self.tol_mm = tol_mm
        self.cell_mm = max(tol_mm, 1e-6)
        self.found: dict[tuple[int, int], list[tuple[int, bool, Point]]] = defaultdict(list)
        for number, stroke in enumerate(strokes):
            for at_start, point in ((True, stroke.start), (False, stroke.end)):
                self.found[self._cell(point)].append((number, at_start, point))

    def _cell(self, point: Point) -> tuple[int, int]:
        return int(point.x // self.cell_mm), int(point.y // self.cell_mm)

    def near(self, point: Point, unused: set[int]) -> Iterator[tuple[float, int, bool]]:
        """The unused strokes with an end near enough to the point: how far, which, and whether that is its start."""
        x, y = self._cell(point)
        for cell in product((x - 1, x, x + 1), (y - 1, y, y + 1)):
            for number, at_start, at in self.found.get(cell, ()):
                if number in unused and distance(point, at) <= self.tol_mm:
                    yield distance(point, at), number, at_start


def _chains(strokes: Sequence[Stroke], tol_mm: float) -> tuple[list[list[Stroke]], list[Stroke]]:
    """The strokes in closed chains, each turned the way the chain runs, and those left over."""
    ends = _Ends(strokes, tol_mm)
    unused = _without_side_lines(strokes, ends)
    chains: list[list[Stroke]] = []
    loose = [stroke for n, stroke in enumerate(strokes) if n not in unused]
    for first in range(len(strokes)):
        if first not in unused:
            continue
        unused.remove(first)
        chain = [strokes[first]]
        while near := [*ends.near(chain[-1].end, unused)]:
            closes = len(chain) > 1 and distance(chain[-1].end, chain[0].start) <= tol_mm
            _, number, at_start = min(near, key=lambda one: (_turn(chain[-1], strokes[one[1]], one[2]), one))
            onward = chain[0].start if closes else _end(strokes[number], at_start)
            bridge = _bridge(strokes, near, chain[-1].end, onward=onward)
            if closes and bridge is None:
                break
            number, at_start = bridge or (number, at_start)
            unused.remove(number)
            chain.append(strokes[number] if at_start else _turned(strokes[number]))
        closed = len(chain) > 1 and distance(chain[-1].end, chain[0].start) <= tol_mm
        if closed:
            chains.append(chain)
        else:
            loose += chain
    return chains, loose


def _bridge(
    strokes: Sequence[Stroke], near: Iterable[tuple[float, int, bool]], at: Point, onward: Point
) -> tuple[int, bool] | None:
    """The stroke, shorter than loose ends may lie apart, that leads from one place nearer to the next; None without.

    Both its neighbours' ends lie within reach of each other, so it would be passed over and the outline lose it.
    """
    found = ((distance(_end(strokes[number], not at_start), onward), number, at_start) for _, number, at_start in near)
    gap, number, at_start = min(found, default=(distance(at, onward), -1, True))
    return (number, at_start) if gap < distance(at, onward) else None


def _end(stroke: Stroke, at_start: bool) -> Point:
    return stroke.start if at_start else stroke.end


def _without_side_lines(strokes: Sequence[Stroke], ends: _Ends) -> set[int]:
    """The strokes that may be outline: without those an end of which meets nothing, and lines from side to side."""
    kept = set(range(len(strokes)))
    # Both ends of a stroke shorter than loose ends may lie apart are at one corner: it parts no side there.
    long = {n for n in kept if distance(strokes[n].start, strokes[n].end) > ends.tol_mm}

    def beside(number: int, point: Point, among: set[int]) -> Iterator[int]:
        return (n for _, n, _ in ends.near(point, among) if n != number)

    for number, stroke in enumerate(strokes):
        (x0, y0), (x1, y1) = stroke.start, stroke.end
        is_level = len(stroke.segments) == 1 and abs(y1 - y0) <= STROKE_LEVEL_RATIO * abs(x1 - x0)
        both = stroke.start, stroke.end
        if is_level and number in long and all(len({*beside(number, at, long)}) > 1 for at in both):
            kept.discard(number)
            long.discard(number)
    left = set(kept)
    while left:
        n = left.pop()
        both = strokes[n].start, strokes[n].end
        if not all(any(True for _ in beside(n, at, kept)) for at in both):
            kept.discard(n)
            left.update(m for at in both for m in beside(n, at, kept))  # they may meet nothing now
    return kept


def _turn(before: Stroke, after: Stroke, at_start: bool) -> float:
    """How far the way turns from the end of one stroke into another: 0 for straight on, 1 for a quarter turn."""
    way = tangent(before.segments[-1], 1.0)
    onward = tangent(after.segments[0], 0.0) if at_start else scaled(tangent(after.segments[-1], 1.0), -1.0)
    return round(1.0 - dot(way, onward), 3)


def _turned(stroke: Stroke) -> Stroke:
    return replace(stroke, segments=tuple(map(reverse, stroke.segments[::-1])))


def _ring(chain: Sequence[Stroke]) -> Ring:
    """The chain closed up: each stroke begun where the one before it ends."""
    segments: list[Segment] = []
    owners: list[Stroke] = []
    for stroke in chain:
        run = stroke.segments
        if segments:
            run = without_idle_steps((with_start(run[0], segments[-1].end), *run[1:]))
        segments += run
        owners += [stroke] * len(run)
    if segments[-1].end != segments[0].start:
        segments[-1] = with_end(segments[-1], segments[0].start)
    if area(segments) < 0.0:
        return Ring(tuple(map(reverse, segments[::-1])), tuple(owners[::-1]), is_turned=True)
    return Ring(tuple(segments), tuple(owners))
