"""Where the edges of a point table begin: at the corner where the edge before ended, or at the first of their own rows.

Either way the points are the same; only which edge lies between which two of them differs. By rule a corner is written
at the end of an edge. A table whose every edge begins with its own first corner, and leaves out the one it ends at,
would have each name one step too early: what roles or names say of hem, top and sides tells the two apart.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import groupby
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.brought.table_rows import TableRow
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.outline import Point
from diagnose.pattern.tolerances import CLOSE_TOL_MM

__all__ = ["Begun", "begun_of"]

Way = Literal["ends", "begins"]
LOW_RATIO = 0.25
"""A hem lies within this part of the piece's height from its lowest point, as a top edge does from its highest."""

UPRIGHT_RATIO = 0.5
"""An edge at the front or back rises over at least this part of the height."""

_NAMED = {
    "bottom": re.compile(r"hem|bottom|lower", re.IGNORECASE), "top": re.compile(r"top|neck|upper", re.IGNORECASE),
    "seam": re.compile(r"side|seam|front|back|centre|fold|lac", re.IGNORECASE),
}  # fmt: skip


class Begun(Struct, frozen=True):
    """The rows with every edge's last corner among its own, and whether they had to be put so."""

    rows: tuple[TableRow, ...]
    was_begun: bool = False


def begun_of(rows: Sequence[TableRow]) -> Begun:
    """The rows of a table with the corner at which an edge ends among the edge's own."""
    pieces = [_edges(list(group)) for _, group in groupby(rows, lambda row: row.piece)]
    if any(_is_written_twice(edges) for edges in pieces) or any(len(edges) < 3 for edges in pieces):
        return Begun(tuple(rows))
    ways: tuple[Way, Way] = ("ends", "begins")
    ends, begins = (sum(_fits(edges, way) for edges in pieces) for way in ways)
    if begins <= ends:
        return Begun(tuple(rows))
    made = [row for edges in pieces for n, edge in enumerate(edges) for row in (*edge, _ending(edge, edges, n))]
    return Begun(tuple(made), was_begun=True)


def _edges(rows: Sequence[TableRow]) -> list[list[TableRow]]:
    return [list(group) for _, group in groupby(rows, lambda row: row.edge)]


def _ending(edge: Sequence[TableRow], edges: Sequence[Sequence[TableRow]], n: int) -> TableRow:
    """The corner at which the edge ends: the first of the next, as a row of this one."""
    corner = edges[(n + 1) % len(edges)][0]
    return replace(edge[-1], label="", at=corner.at, curve=corner.curve, where=corner.where)


def _is_written_twice(edges: Sequence[Sequence[TableRow]]) -> bool:
    """Whether the corner between two edges is written with both."""
    return any(distance(edges[n - 1][-1].at, edge[0].at) <= CLOSE_TOL_MM for n, edge in enumerate(edges))


def _fits(edges: Sequence[Sequence[TableRow]], way: Way) -> int:
    """How many edges lie where their role says, or their name where they have none, when they begin so."""
    ups = [row.at.y for edge in edges for row in edge]
    low, high = min(ups), max(ups)
    return sum(_lies(_role(edge[0]), _points(edges, n, way), low=low, high=high) for n, edge in enumerate(edges))


def _role(row: TableRow) -> str:
    return row.role or next((role for role, words in _NAMED.items() if words.search(row.edge)), "")


def _points(edges: Sequence[Sequence[TableRow]], n: int, way: Way) -> list[Point]:
    own = [row.at for row in edges[n]]
    return [edges[n - 1][-1].at, *own] if way == "ends" else [*own, edges[(n + 1) % len(edges)][0].at]


def _lies(role: str, points: Sequence[Point], low: float, high: float) -> bool:
    tall = max(high - low, 1e-9)
    middle = sum(point.y for point in points) / len(points)
    if role == "bottom":
        return middle <= low + LOW_RATIO * tall
    if role == "top":
        return middle >= high - LOW_RATIO * tall
    return bool(role) and abs(points[-1].y - points[0].y) >= UPRIGHT_RATIO * tall
