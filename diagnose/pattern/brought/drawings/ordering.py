"""In what order outlines stand in the garment, from the centre front to the centre back.

Told by numbers in their names; else the order, from the left or row by row, in which most neighbours agree in the
length of the edges that face each other; else, where the pieces lie anywhere, the only chain that agrees throughout.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.brought.drawings.corners import corners_of, four_corners
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.geometry.curves import run_length
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM

__all__ = ["Lying", "agreeing", "is_from_back", "lying_of", "order_of"]

MOST_TRIED = 9
"""So many pieces at most are tried in every order."""

SAME_ROW_RATIO = 0.5
_FRONT = re.compile(r"\b(?:centre|center)?[ _-]?front\b|\bcf\b", re.IGNORECASE)
_BACK = re.compile(r"\b(?:centre|center)?[ _-]?back\b|\bcb\b", re.IGNORECASE)
_NUMBER = re.compile(r"(?<![\d.])(\d{1,2})(?![\d.])")


class Lying(Struct, frozen=True):
    """How an outline lies: its name, its box, and the lengths of the edges of its front and its back."""

    name: str
    left: float
    bottom: float
    right: float
    top: float
    front: tuple[float, ...]
    back: tuple[float, ...]


def lying_of(ring: Ring, name: str) -> Lying:
    """How the ring lies on the drawing."""
    xs, ys = [s.start.x for s in ring.segments], [s.start.y for s in ring.segments]
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
        sides = (_lengths(turned, starts[3], starts[4], inner), _lengths(turned, starts[1], starts[2], inner))
    return Lying(name, min(xs), min(ys), max(xs), max(ys), *sides)


def _lengths(ring: Ring, first: int, last: int, breaks: Sequence[int]) -> tuple[float, ...]:
    """The lengths of the edges from one place to another, and of all of them together."""
    cuts = [n for n in breaks if first <= n <= last]
    parts = [run_length(ring.segments[a:b]) for a, b in pairwise(cuts)]
    return (*parts, sum(parts)) if len(parts) > 1 else tuple(parts)


def order_of(rows: Sequence[Lying]) -> tuple[tuple[int, ...], str]:
    """The numbers of the outlines in order, and a sentence where it was not plainly from the left."""
    from_left = tuple(sorted(range(len(rows)), key=lambda n: (rows[n].left, rows[n].right)))
    ways = [(way, said) for way, said in (
        (_by_names(rows), ""), (from_left, ""),
        (_by_rows(rows, -1.0), "The pieces were taken row by row, from the top left."),
        (_by_rows(rows, 1.0), "The pieces were taken row by row, from the bottom left."),
    ) if way]  # fmt: skip
    best, said = max(ways, key=lambda way: agreeing(rows, way[0]))
    if agreeing(rows, best) < len(rows) - 1 and len(rows) <= MOST_TRIED:
        chain = _only_chain(rows)
        if chain:
            return chain, "The order of the pieces was presumed from the edges that agree in length."
    return best, said if best != from_left else ""


def _by_names(rows: Sequence[Lying]) -> tuple[int, ...] | None:
    """By the numbers in their names, where each has one of its own."""
    found = [_NUMBER.search(row.name) for row in rows]
    numbers = [int(one[1]) for one in found if one]
    if len(numbers) < len(rows) or len(set(numbers)) < len(numbers):
        return None
    return tuple(sorted(range(len(rows)), key=lambda n: numbers[n]))


def _by_rows(rows: Sequence[Lying], upwards: float) -> tuple[int, ...]:
    left = sorted(range(len(rows)), key=lambda n: upwards * (rows[n].bottom + rows[n].top))
    order: list[int] = []
    while left:
        first = rows[left[0]]
        row = [n for n in left if _in_row(first, rows[n])]
        order += sorted(row, key=lambda n: rows[n].left)
        left = [n for n in left if n not in row]
    return tuple(order)


def _in_row(one: Lying, other: Lying) -> bool:
    shared = min(one.top, other.top) - max(one.bottom, other.bottom)
    return shared >= SAME_ROW_RATIO * min(one.top - one.bottom, other.top - other.bottom)


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


def is_from_back(names: Sequence[str]) -> bool:
    """Whether the names say that the first piece is the back and the last the front."""
    front = [n for n, name in enumerate(names) if _FRONT.search(name) and not _BACK.search(name)]
    back = [n for n, name in enumerate(names) if _BACK.search(name) and not _FRONT.search(name)]
    return bool(front and back) and max(back) < min(front)
