"""The rows of a point table: each a point of an edge of a piece, in order, from cells parted in any usual way."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from typing import NamedTuple

from diagnose.errors import nearest
from diagnose.pattern.form.strict import Reading, quoted
from diagnose.pattern.outline import Point

__all__ = ["TableRow", "rows_of"]

COLUMNS = ("piece", "edge", "role", "point", "out", "up", "kind")
LEAST_COLUMNS = ("piece", "edge", "out")
KINDS = ("corner", "curve")
MOST_ROWS = 100_000
LONGEST_LINE = 1000
_COMMA = re.compile(r"(?<=\d),(?=\d)")


class TableRow(NamedTuple):
    """One row: a point of an edge, its place in the file, and whether a curve runs through it."""

    where: str
    piece: str
    edge: str
    role: str
    label: str
    at: Point
    curve: bool


def rows_of(lines: Sequence[tuple[str, str]], where: str, reading: Reading) -> list[TableRow]:
    """The rows under the heading; each line comes with its place, and what is wrong with it is noted."""
    heading = ",".join(COLUMNS)
    if not 1 < len(lines) <= MOST_ROWS:
        reading.note(
            where,
            f"The table has {len(lines)} lines.",
            f"Give 2 to {MOST_ROWS}, the first being {heading}.",
            code="wrong-length",
        )
        return []
    mark = max(",;\t", key=lines[0][1].count)
    columns = [cell.strip().lower() for cell in _cells(lines[0][1], mark)]
    while columns and not columns[-1]:
        columns.pop()
    wrong = [name for name in columns if name not in (*COLUMNS, "down")]
    height = "down" if "down" in columns and "up" not in columns else "up"
    missing = [name for name in (*LEAST_COLUMNS, height) if name not in columns]
    if wrong or missing or len(set(columns)) < len(columns):
        why = f" It has no column {quoted(missing[0])}." if missing else ""
        why += f" {nearest(wrong[0], (*COLUMNS, 'down'))}" if wrong else ""
        what = f"The heading is {quoted(mark.join(columns))}."
        reading.note(lines[0][0], what, f"Give {heading} (or down instead of up).{why}", code="bad-heading")
        return []
    found: list[TableRow] = []
    for at, line in lines[1:]:
        row = _row(at, line, columns, mark, found[-1] if found else None, reading)
        if row is not None:
            found.append(row)
    return found


def _cells(line: str, mark: str) -> list[str]:
    return next(csv.reader([line], delimiter=mark), []) if len(line) <= LONGEST_LINE else []


def _row(
    at: str, line: str, columns: Sequence[str], mark: str, before: TableRow | None, reading: Reading
) -> TableRow | None:
    cells = _cells(line, mark)
    while len(cells) > len(columns) and not cells[-1].strip():
        cells.pop()
    if len(cells) != len(columns):
        comma = " Save it with semicolons, where lengths have decimal commas." if mark == "," else ""
        reading.note(
            at,
            f"The line has {len(cells)} cells.",
            f"Give {len(columns)}: {','.join(columns)}.{comma}",
            code="wrong-length",
        )
        return None
    cell = {column: value.strip() for column, value in zip(columns, cells, strict=True)}
    piece = reading.name(cell["piece"] or (before.piece if before else ""), at, "piece")
    is_same = before is not None and before.piece == piece
    edge = reading.name(cell["edge"] or (before.edge if before and is_same else ""), at, "edge")
    role = cell.get("role", "").lower() or (before.role if before and is_same and before.edge == edge else "")
    kind = reading.word((cell.get("kind") or "corner").lower(), KINDS, at, "kind")
    height = "up" if "up" in columns else "down"
    out, up = (reading.number(_COMMA.sub(".", cell[name]), f"{at}, {name}") for name in ("out", height))
    if piece is None or edge is None or kind is None or out is None or up is None:
        return None
    spot = Point(out, -up if height == "down" else up)
    return TableRow(at, piece, edge, role=role, label=cell.get("point", ""), at=spot, curve=kind == "curve")
