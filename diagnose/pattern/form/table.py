"""The point table: a pattern measured off paper with a ruler, as CSV.

The heading is ``piece,edge,role,point,out,up,kind``: `out` from the centre front, `up` from the waist (a ``down``
column may stand instead). The rows go round each piece counter-clockwise: along the bottom from front to back, up the
back, along the top to the front, and down. An edge begins where the edge before it ended; that corner is written at
the end of the edge before, and may be written again at the start of the next. `kind` is ``corner`` or ``curve``: a
smooth curve is laid through curve points from corner to corner. `point` is a label; numbers must rise along an edge.

Lines that begin with # say the rest (see `diagnose.pattern.form.table_notes`); all of them may be missing.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.form.reader import FORMAT, VERSION, read_pattern
from diagnose.pattern.form.strict import Reading, quoted
from diagnose.pattern.form.table_notes import Notes, read_notes
from diagnose.pattern.geometry.curves import smooth_through
from diagnose.pattern.geometry.plane import distance, sub
from diagnose.pattern.measure import Bounds, bounds, edge_x_at
from diagnose.pattern.outline import STATIONS, Cubic, Pattern, Piece, Point
from diagnose.pattern.tolerances import CLOSE_TOL_MM

__all__ = ["read_table"]

COLUMNS = ("piece", "edge", "role", "point", "out", "up", "kind")
KINDS = ("corner", "curve")
MOST_ROWS = 100_000
LONGEST_LINE = 1000


class _Row(NamedTuple):
    where: str
    piece: str
    edge: str
    role: str
    label: str
    at: Point
    curve: bool


def read_table(text: str, where: str = "table") -> Pattern:
    """The pattern of a point table.

    Args:
        text: the CSV.
        where: what the places of its mistakes begin with.

    Raises:
        FitError: first every mistake of writing, then every mistake of the pattern it makes.
    """
    reading = Reading()
    lines = [(f"{where}, line {n}", line) for n, line in enumerate(text.splitlines(), 1) if line.strip(" \t,")]
    notes = read_notes([(at, line) for at, line in lines if line.lstrip().startswith("#")], reading)
    rows = _rows([(at, line) for at, line in lines if not line.lstrip().startswith("#")], where, reading)
    for at, piece in notes.named:
        if piece not in {row.piece for row in rows}:
            reading.note(at, f"The table has no piece {quoted(piece)}.", "Name a piece of the piece column.")
    pieces = [_piece(name, list(group), notes, reading) for name, group in groupby(rows, lambda row: row.piece)]
    reading.finish(where)
    raw = {
        "format": FORMAT,
        "version": VERSION,
        "name": notes.name or where.removesuffix(".csv"),
        "closure": notes.closure,
    }
    return _with_levels(read_pattern({**raw, "pieces": pieces, "seams": notes.seams}, where), notes)


def _rows(lines: Sequence[tuple[str, str]], where: str, reading: Reading) -> list[_Row]:
    heading = ",".join(COLUMNS)
    if not 1 < len(lines) <= MOST_ROWS:
        reading.note(where, f"The table has {len(lines)} lines.", f"Give 2 to {MOST_ROWS}, the first being {heading}.")
        return []
    at, first = lines[0]
    columns = [cell.strip().lower() for cell in _cells(first)]
    if sorted("up" if column == "down" else column for column in columns) != sorted(COLUMNS):
        reading.note(at, f"The heading is {quoted(first)}.", f"Write {heading} (or down for up), each once.")
        return []
    found = [_row(columns, _cells(line), at, reading) for at, line in lines[1:]]
    return [row for row in found if row is not None]


def _cells(line: str) -> list[str]:
    return [] if len(line) > LONGEST_LINE else next(csv.reader([line]), [])


def _row(columns: Sequence[str], cells: Sequence[str], at: str, reading: Reading) -> _Row | None:
    if len(cells) != len(columns):
        reading.note(at, f"The line has {len(cells)} cells.", f"Give {len(columns)}: {','.join(columns)}.")
        return None
    cell = {column: value.strip() for column, value in zip(columns, cells, strict=True)}
    piece, edge, role = (reading.name(cell[key], at, key) for key in ("piece", "edge", "role"))
    kind = reading.word(cell["kind"].lower(), KINDS, at, "kind")
    height = "down" if "down" in cell else "up"
    out, up = reading.number(cell["out"], f"{at}, out"), reading.number(cell[height], f"{at}, {height}")
    if piece is None or edge is None or role is None or kind is None or out is None or up is None:
        return None
    return _Row(at, piece, edge, role, cell["point"], Point(out, -up if height == "down" else up), kind == "curve")


def _piece(name: str, rows: Sequence[_Row], notes: Notes, reading: Reading) -> dict[str, object]:
    """The piece in the stored form, without its levels."""
    edges = [list(group) for _, group in groupby(rows, lambda row: row.edge)]
    for edge in edges:
        _check_edge(edge, reading)
    nodes = _ring(edges)
    steps = _steps([row for _, row in nodes]) if _all_apart([row for _, row in nodes], reading) else []
    paths = [[step for (at, _), step in zip(nodes, steps, strict=False) if at == n] for n in range(len(edges))]
    cut = "fold" if any(edge[0].role == "fold" for edge in edges) else "pair"
    return {
        "name": name,
        "cut": notes.cuts.get(name, cut),
        "start": list(nodes[-1][1].at),
        "edges": [
            {"name": edge[0].edge, "role": edge[0].role, "path": path} for edge, path in zip(edges, paths, strict=True)
        ],
        **notes.marks(name),
    }


def _check_edge(rows: Sequence[_Row], reading: Reading) -> None:
    for row, after in pairwise(rows):
        if after.role != row.role:
            what = f"Edge {quoted(row.edge)} has two roles, {quoted(row.role)} and {quoted(after.role)}."
            reading.note(after.where, what, "Give it one.")
        if row.label.isdecimal() and after.label.isdecimal() and int(after.label) <= int(row.label):
            what = f"Point {quoted(after.label)} comes after point {quoted(row.label)}."
            reading.note(after.where, what, "Write the points in the order in which the edge runs.")


def _ring(edges: Sequence[Sequence[_Row]]) -> list[tuple[int, _Row]]:
    """The points round the piece, each once, with the number of the edge that ends or goes on there."""
    nodes: list[tuple[int, _Row]] = []
    for n, edge in enumerate(edges):
        rows = edge[1:] if len(edge) > 1 and _same(edges[n - 1][-1], edge[0]) else edge
        following = edges[(n + 1) % len(edges)][0]
        # A corner written twice is a corner as soon as one of its two lines says so.
        curve = rows[-1].curve and (following.curve or not _same(rows[-1], following))
        nodes += [(n, row) for row in (*rows[:-1], rows[-1]._replace(curve=curve))]
    return nodes


def _same(row: _Row, other: _Row) -> bool:
    return distance(row.at, other.at) <= CLOSE_TOL_MM


def _all_apart(rows: Sequence[_Row], reading: Reading) -> bool:
    close = [row for n, row in enumerate(rows) if _same(rows[n - 1], row)]
    for row in close:
        reading.note(row.where, "The point lies on the one before it.", "Leave one of the two lines out.")
    return not close


def _steps(rows: Sequence[_Row]) -> list[list[object]]:
    """The step that leads to each point: straight between two corners, else part of a smooth curve."""
    points = [row.at for row in rows]
    corners = [n for n, row in enumerate(rows) if not row.curve]
    if not corners:
        tangent = sub(points[0], points[-2])
        return [_curved(cubic) for cubic in smooth_through([points[-1], *points], tangent, tangent)]
    steps: dict[int, list[object]] = {}
    for begin, end in zip([corners[-1] - len(points), *corners], corners, strict=False):
        run = range(begin + 1, end + 1)
        if len(run) == 1:
            steps[end] = ["L", *points[end]]
        else:
            cubics = smooth_through([points[begin], *(points[n] for n in run)])
            steps |= {n % len(points): _curved(cubic) for n, cubic in zip(run, cubics, strict=True)}
    return [steps[n] for n in range(len(points))]


def _curved(cubic: Cubic) -> list[object]:
    return ["C", *cubic.c1, *cubic.c2, *cubic.end]


def _with_levels(pattern: Pattern, notes: Notes) -> Pattern:
    """The pattern with its levels drawn straight across the pieces they cross."""
    everywhere = {"waist": 0.0, **_extremes(pattern), **{n.station: n.up_mm for n in notes.levels if not n.piece}}
    own = {(n.piece, n.station): n.up_mm for n in notes.levels if n.piece}
    pieces = []
    for piece in pattern.pieces:
        heights = {s: own.get((piece.name, s), everywhere.get(s)) for s in STATIONS}
        drawn = {s: _level(piece, height) for s, height in heights.items() if height is not None}
        pieces.append(replace(piece, levels={station: line for station, line in drawn.items() if line}))
    levelled = replace(pattern, pieces=tuple(pieces))
    missed = [n for n in notes.levels if not any(n.station in p.levels for p in pieces if n.piece in (None, p.name))]
    if missed:
        raise FitError(Mistake(n.where, f"The level {n.station} misses the paper.", "Give its height.") for n in missed)
    return levelled


def _extremes(pattern: Pattern) -> dict[str, float]:
    """The highest and the lowest height at which every piece lies whole between its top and its bottom edge."""
    tops = [box.bottom for box in _boxes(pattern, "top")]
    bottoms = [box.top for box in _boxes(pattern, "bottom")]
    if not tops or not bottoms or min(tops) <= max(bottoms):
        return {}
    return {"top": min(tops), "bottom": max(bottoms)}


def _boxes(pattern: Pattern, role: str) -> list[Bounds]:
    """The bounds of each piece's edges of that role."""
    parts = [(piece, tuple(edge for edge in piece.edges if edge.role == role)) for piece in pattern.pieces]
    return [bounds(replace(piece, edges=edges)) for piece, edges in parts if edges]


def _level(piece: Piece, y_mm: float) -> tuple[Point, ...] | None:
    found = edge_x_at(piece, y_mm)
    if len(found) < 2:
        return None
    return Point(found[0], y_mm), Point(found[-1], y_mm)
