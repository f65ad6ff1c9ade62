"""In what order outlines stand in the garment, from the centre front to the centre back.

Told by numbers in their names; else the order, from the left or row by row, in which most neighbours agree in the
length of the edges that face each other; else, where the pieces lie anywhere, the only chain that agrees throughout.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.brought.drawings.corners import corners_of, four_corners
from diagnose.pattern.brought.drawings.halves import shape_of
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.brought.sketch import Stroke, Words
from diagnose.pattern.geometry.bezier import Box, moved
from diagnose.pattern.geometry.plane import Affine, along, distance, mid, turn
from diagnose.pattern.geometry.runs import run_length
from diagnose.pattern.outline import Point
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.sentences import counted

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = [
    "BY_EDGES", "Lying", "agreeing", "back_and_front", "from_left", "is_from_back", "lying_of", "order_of",
    "tells_side", "turned_upright",
]  # fmt: skip

MOST_TRIED = 9
"""So many pieces at most are tried in every order."""

SAME_ROW_RATIO = 0.5
STRAIGHT_RATIO = 0.998
LEAST_GRAIN_MM = 40.0
UPRIGHT_DEG = 4.0
"""A grain line that leans no more is drawn upright."""

GRAIN_RATIO = 0.8
"""A grain line is no longer than this part of the paper it runs over."""

BY_EDGES = "The order of the pieces was presumed from the edges that agree in length."
_FRONT = re.compile(r"\b(?:centre|center)?[ _-]?front\b|\bcf\b", re.IGNORECASE)
_BACK = re.compile(r"\b(?:centre|center)?[ _-]?back\b|\bcb\b", re.IGNORECASE)
_CENTRE_FRONT = re.compile(r"\b(?:centre|center)[ _-]?front\b|\bc\.?f\.?\b", re.IGNORECASE)
_CENTRE_BACK = re.compile(r"\b(?:centre|center)[ _-]?back\b|\bc\.?b\.?\b", re.IGNORECASE)
_NUMBER = re.compile(r"(?<![\d.])(\d{1,2})(?![\d.])")


class Lying(Struct, frozen=True):
    """How an outline lies: its name, its box, and the lengths of the edges of its front and its back."""

    name: str
    box: Box
    front: tuple[float, ...]
    back: tuple[float, ...]


def lying_of(ring: Ring, name: str) -> Lying:
    """How the ring lies on the drawing."""
    breaks = corners_of(ring)
    corners = [ring.segments[n].start for n in breaks]
    four = four_corners(corners)
    sides: tuple[tuple[float, ...], tuple[float, ...]] = ((), ())
    if four:
        begin, back, top, front = (breaks[n] for n in four)
        turned = ring.turned_to(begin)
        count = len(ring.segments)
        starts = [0, *((n - begin) % count for n in (back, top, front)), count]
        inner = sorted({(n - begin) % count for n in breaks} | {count})
        sides = (
            _lengths(turned, starts[3], starts[4], breaks=inner),
            _lengths(turned, starts[1], starts[2], breaks=inner),
        )
    return Lying(name, ring.corners_box, *sides)


def _lengths(ring: Ring, first: int, last: int, breaks: Sequence[int]) -> tuple[float, ...]:
    """The lengths of the edges from one place to another, and of all of them together."""
    cuts = [n for n in breaks if first <= n <= last]
    parts = [run_length(ring.segments[a:b]) for a, b in pairwise(cuts)]
    return (*parts, sum(parts)) if len(parts) > 1 else tuple(parts)


def order_of(rows: Sequence[Lying]) -> tuple[tuple[int, ...], str]:
    """The numbers of the outlines in order, and a sentence where it was not plainly from the left."""
    left = from_left(rows)
    ways = [(way, said) for way, said in (
        (_by_names(rows), ""), (left, ""),
        (_by_rows(rows, -1.0), "The pieces were taken row by row, from the top left."),
        (_by_rows(rows, 1.0), "The pieces were taken row by row, from the bottom left."),
    ) if way]  # fmt: skip
    best, said = max(ways, key=lambda way: agreeing(rows, way[0]))
    is_named = any(tells_side(row.name) for row in rows)
    if agreeing(rows, best) < len(rows) - 1 and len(rows) <= MOST_TRIED and not is_named:
        chain = _only_chain(rows)
        if chain:
            return chain, BY_EDGES
    return best, said if best != left else ""


def from_left(rows: Sequence[Lying]) -> tuple[int, ...]:
    """The order as the pieces lie, from the left."""
    return tuple(sorted(range(len(rows)), key=lambda n: (rows[n].box.left, rows[n].box.right)))


def _by_names(rows: Sequence[Lying]) -> tuple[int, ...] | None:
    """By the numbers in their names, where each has one of its own."""
    found = [_NUMBER.search(row.name) for row in rows]
    numbers = [int(one[1]) for one in found if one]
    if len(numbers) < len(rows) or len(set(numbers)) < len(numbers):
        return None
    return tuple(sorted(range(len(rows)), key=lambda n: numbers[n]))


def _by_rows(rows: Sequence[Lying], upwards: float) -> tuple[int, ...]:
    left = sorted(range(len(rows)), key=lambda n: upwards * rows[n].box.middle.y)
    order: list[int] = []
    while left:
        first = rows[left[0]].box
        row = [n for n in left if _in_row(first, rows[n].box)]
        order += sorted(row, key=lambda n: rows[n].box.left)
        left = [n for n in left if n not in row]
    return tuple(order)


def _in_row(one: Box, other: Box) -> bool:
    shared = min(one.top, other.top) - max(one.bottom, other.bottom)
    return shared >= SAME_ROW_RATIO * min(one.high, other.high)


def agreeing(rows: Sequence[Lying], order: Sequence[int]) -> int:
    """How many neighbours have a facing edge of one length."""
    return sum(_agree(rows[a], rows[b]) for a, b in pairwise(order))


def _agree(one: Lying, other: Lying) -> bool:
    return any(abs(a - b) <= SEAM_MATCH_TOL_MM for a in one.back for b in other.front)


def _only_chain(rows: Sequence[Lying]) -> tuple[int, ...] | None:
    """The one order in which all neighbours agree; None when there is none, or more than one."""
    after = [[m for m in range(len(rows)) if m != n and _agree(rows[n], rows[m])] for n in range(len(rows))]
    found: list[tuple[int, ...]] = []

    def walk(chain: tuple[int, ...]) -> None:
        if len(found) > 1:
            return
        if len(chain) == len(rows):
            found.append(chain)
        for m in after[chain[-1]]:
            if m not in chain:
                walk((*chain, m))

    for first in range(len(rows)):
        walk((first,))
    return found[0] if len(found) == 1 else None


def tells_side(name: str) -> bool:
    """Whether the name says front or back."""
    return bool(_FRONT.search(name) or _BACK.search(name))


def turned_upright(
    loose: Sequence[Stroke], rings: Sequence[Ring]
) -> tuple[tuple[Stroke, ...], list[Ring], tuple[str, ...]]:
    """The loose lines and the rings, each ring with a lone slanting line (its grain) turned until that is upright."""
    from shapely import Point as Spot  # late: it takes longer to import than a pattern takes to read

    lines, made, count = list(loose), list[Ring](), 0
    for ring in rings:
        shape = shape_of(ring)
        spots = [Spot(mid(one.start, one.end)) for one in lines]
        inside = [n for n, one in enumerate(lines) if not one.closed and shape.contains(spots[n])]
        slants = [n for n in inside if _is_slanting(lines[n], shape)]
        straight = [n for n in inside if _is_straight(lines[n])]
        if len(slants) != 1 or len(straight) != 1:
            made.append(ring)
            continue
        one = lines[slants[0]]
        across, up = one.end.x - one.start.x, one.end.y - one.start.y
        angle = math.atan2(across, up) if up >= 0.0 else math.atan2(-across, -up)
        move = turn(Point(*shape.centroid.coords[0]), angle)
        upright = _carried(ring, move)
        if abs(angle) > math.pi / 4.0 and _is_wide(upright) and not _is_wide(ring):
            made.append(ring)  # a panel is higher than wide, and lies as it should: the line is no grain
            continue
        for n in inside:
            lines[n] = replace(lines[n], segments=tuple(moved(s, move) for s in lines[n].segments))
        made.append(upright)
        count += 1
    said = counted(count, "piece[ lies|s lie] slanting on the drawing: each was turned until its grain is upright.")
    return tuple(lines), made, (said,) if count else ()


def _carried(ring: Ring, move: Affine) -> Ring:
    """The ring carried by the move."""
    return replace(ring, segments=tuple(moved(one, move) for one in ring.segments))


def _is_wide(ring: Ring) -> bool:
    return ring.corners_box.wide > ring.corners_box.high


def _is_straight(stroke: Stroke) -> bool:
    run = run_length(stroke.segments)
    return distance(stroke.start, stroke.end) > STRAIGHT_RATIO * run and run >= LEAST_GRAIN_MM


def _is_slanting(stroke: Stroke, shape: Polygon) -> bool:
    """Whether it is straight, not upright, and stops well short of the outline at both ends, as a grain line does."""
    from shapely import LineString

    if not _is_straight(stroke):
        return False
    across, up = stroke.end.x - stroke.start.x, stroke.end.y - stroke.start.y
    size = math.hypot(across, up)
    if abs(across) <= math.sin(math.radians(UPRIGHT_DEG)) * size:
        return False
    far = LineString([along(stroke.start, stroke.end, -50.0), along(stroke.start, stroke.end, 51.0)])
    return bool(size <= GRAIN_RATIO * far.intersection(shape).length)


def back_and_front(words: Sequence[Words]) -> tuple[list[float], list[float]]:
    """Where, from the left, words on the drawing name the centre back and the centre front."""
    rows = [(one.at.x, bool(_CENTRE_BACK.search(one.text)), bool(_CENTRE_FRONT.search(one.text))) for one in words]
    return [x for x, is_back, is_front in rows if is_back > is_front], [x for x, b, f in rows if f > b]


def is_from_back(names: Sequence[str]) -> bool:
    """Whether the names say that the first piece is the back and the last the front."""
    front = [n for n, name in enumerate(names) if _FRONT.search(name) and not _BACK.search(name)]
    back = [n for n, name in enumerate(names) if _BACK.search(name) and not _FRONT.search(name)]
    return bool(front and back) and max(back) < min(front)
