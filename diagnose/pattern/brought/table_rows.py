"""The rows of a point table: each a point of an edge of a piece, in order, from cells parted in any usual way.

A cell left blank is as in the row above. Rows that hold no point (a title, a total, a heading over again) are left out;
one that holds a piece's name alone names the rows below it.

By rule a corner is written at the end of an edge. A table whose every edge begins with its own first corner, and leaves
out the one it ends at, would have each name one step too early: what roles or names say of hem, top and sides tells
the two apart.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.brought.table_heading import Heading, cells_of
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.outline import Point
from diagnose.pattern.tolerances import CLOSE_TOL_MM
from diagnose.sentences import counted

__all__ = ["TableRow", "edges_in", "rows_of"]

KINDS = ("corner", "curve")
_KIND_WORDS: Mapping[str, str] = {
    "": "corner", "sharp": "corner", "angle": "corner", "straight": "corner", "smooth": "curve", "curved": "curve",
    "round": "curve",
}  # fmt: skip
_ROLE_WORDS: Mapping[str, str] = {
    "hem": "bottom", "bottom edge": "bottom", "top edge": "top", "neck": "top", "laced": "lacing", "lace": "lacing",
    "eyelets": "lacing", "on fold": "fold", "on the fold": "fold", "cut on fold": "fold", "sewn": "seam",
    "stitched": "seam", "busk": "opening", "opens": "opening", "open": "opening",
}  # fmt: skip
_SUM = re.compile(r"(?:sub[ -]?|grand )?(?:totals?|sums?|average|mean)\b", re.IGNORECASE)
_TITLE = re.compile(r"^(?:piece|panel|part)\s*[:=]\s*", re.IGNORECASE)
_COMMA = re.compile(r"(?<=\d),(?=\d)")
LOW_RATIO = 0.25
"""A hem lies within this part of the piece's height from its lowest point, as a top edge does from its highest."""

RISES_RATIO = 0.5
"""An edge at the front or back rises over at least this part of the height."""

_NAMED = {
    "bottom": re.compile(r"hem|bottom|lower", re.IGNORECASE), "top": re.compile(r"top|neck|upper", re.IGNORECASE),
    "seam": re.compile(r"side|seam|front|back|centre|fold|lac", re.IGNORECASE),
}  # fmt: skip


class TableRow(Struct, frozen=True):
    """One row: a point of an edge, its place in the file, and whether a curve runs through it."""

    where: str
    piece: str
    edge: str
    role: str
    label: str
    at: Point
    curve: bool

    def lies_on(self, other: TableRow) -> bool:
        """Whether the two are one point."""
        return distance(self.at, other.at) <= CLOSE_TOL_MM


def rows_of(
    lines: Sequence[tuple[str, str]], heading: Heading, reading: Reading
) -> tuple[list[TableRow], tuple[str, ...]]:
    """The rows under the heading, each edge with its last corner, and what is said; what is wrong is noted."""
    above = cells_of(lines[heading.line][1], heading.mark)
    found: list[TableRow] = []
    left, named = 0, ""
    for at, line in lines[heading.line + 1 :]:
        cells = cells_of(line, heading.mark)
        if cells == above:
            continue
        cell = _by_column(at, cells, heading, reading=reading)
        if cell is None:
            continue
        told = [name for name, value in cell.items() if value]
        is_sum = bool(_SUM.match(cell["piece"]))
        if is_sum or not any(cell[name] for name in ("edge", "out", heading.height)):
            named = _TITLE.sub("", cell["piece"]) if told == ["piece"] and not is_sum else ""
            left += not named
            continue
        row = _row(at, cell, heading, before=found[-1] if found and not named else None, named=named, reading=reading)
        if row is not None:
            found.append(row)
            named = ""
    begun = _begun(found)
    said = (counted(left, _LEFT_OUT),) if left else ()
    return begun or found, (*said, _BEGUN) if begun else said


_LEFT_OUT = "row[ that holds|s that hold] no point, such as titles and totals, [was|were] left out."
_BEGUN = "The rows of each edge begin at its own first corner: each was taken to end at the first row of the next."


def _by_column(at: str, cells: list[str], heading: Heading, reading: Reading) -> dict[str, str] | None:
    """The cells by what they hold; None once it is noted that they are too few or too many."""
    columns = heading.columns
    while len(cells) > len(columns) and not cells[-1]:
        cells.pop()
    if len(cells) == 1 and not re.search("[,;\t]", cells[0]):
        cells += [""] * (len(columns) - 1)
    if len(cells) != len(columns):
        comma = " Save it with semicolons, where lengths have decimal commas." if heading.mark == "," else ""
        wanted = ",".join(name or "note" for name in columns)
        what = f"The line has {len(cells)} cells."
        reading.note(at, what, f"Give {len(columns)}: {wanted}.{comma}", code="wrong-length")
        return None
    return {column: value for column, value in zip(columns, cells, strict=True) if column}


def _row(
    at: str, cell: Mapping[str, str], heading: Heading, before: TableRow | None, named: str, reading: Reading
) -> TableRow | None:
    piece = reading.name(cell["piece"] or named or (before.piece if before else ""), at, "piece")
    is_same = before is not None and before.piece == piece
    edge = reading.name(cell["edge"] or (before.edge if before and is_same else ""), at, "edge")
    role = cell.get("role", "").lower() or (before.role if before and is_same and before.edge == edge else "")
    told = cell.get("kind", "").lower()
    kind = reading.word(_KIND_WORDS.get(told, told), KINDS, at, key="kind")
    out, up = (reading.number(_COMMA.sub(".", cell[name]), f"{at}, {name}") for name in ("out", heading.height))
    if piece is None or edge is None or kind is None or out is None or up is None:
        return None
    spot = Point(out, -up if heading.height == "down" else up)
    return TableRow(
        at, piece, edge, role=_ROLE_WORDS.get(role, role), label=cell.get("point", ""), at=spot, curve=kind == "curve"
    )


def _begun(rows: Sequence[TableRow]) -> list[TableRow]:
    """The rows of a table whose edges begin with their own first corners, each edge with the one at which it ends.

    None where the rows say it themselves.
    """
    pieces = [edges_in(group) for _, group in groupby(rows, lambda row: row.piece)]
    if any(_is_written_twice(edges) or len(edges) < 3 for edges in pieces):
        return []
    ends, begins = (sum(_fits(edges, begins=way) for edges in pieces) for way in (False, True))
    if begins <= ends:
        return []
    return [row for edges in pieces for n, edge in enumerate(edges) for row in (*edge, _ending(edge, edges, n))]


def edges_in(rows: Iterable[TableRow]) -> list[list[TableRow]]:
    """The rows of a piece by its edges, in their order."""
    return [list(group) for _, group in groupby(rows, lambda row: row.edge)]


def _ending(edge: Sequence[TableRow], edges: Sequence[Sequence[TableRow]], n: int) -> TableRow:
    """The corner at which the edge ends: the first of the next, as a row of this one."""
    corner = edges[(n + 1) % len(edges)][0]
    return replace(edge[-1], label="", at=corner.at, curve=corner.curve, where=corner.where)


def _is_written_twice(edges: Sequence[Sequence[TableRow]]) -> bool:
    """Whether the corner between two edges is written with both."""
    return any(edges[n - 1][-1].lies_on(edge[0]) for n, edge in enumerate(edges))


def _fits(edges: Sequence[Sequence[TableRow]], *, begins: bool) -> int:
    """How many edges lie where their role says, or their name where they have none, when they begin so."""
    ups = [row.at.y for edge in edges for row in edge]
    low, high = min(ups), max(ups)
    return sum(
        _lies(_role(edge[0]), _points(edges, n, begins=begins), low=low, high=high) for n, edge in enumerate(edges)
    )


def _role(row: TableRow) -> str:
    return row.role or next((role for role, words in _NAMED.items() if words.search(row.edge)), "")


def _points(edges: Sequence[Sequence[TableRow]], n: int, *, begins: bool) -> list[Point]:
    own = [row.at for row in edges[n]]
    return [*own, edges[(n + 1) % len(edges)][0].at] if begins else [edges[n - 1][-1].at, *own]


def _lies(role: str, points: Sequence[Point], low: float, high: float) -> bool:
    tall = max(high - low, 1e-9)
    middle = sum(point.y for point in points) / len(points)
    if role == "bottom":
        return middle <= low + LOW_RATIO * tall
    if role == "top":
        return middle >= high - LOW_RATIO * tall
    return bool(role) and abs(points[-1].y - points[0].y) >= RISES_RATIO * tall
