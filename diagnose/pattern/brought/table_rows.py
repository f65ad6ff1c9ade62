"""The rows of a point table: each a point of an edge of a piece, in order, from cells parted in any usual way.

A cell left blank is as in the row above. Rows that hold no point (a title, a total, a heading over again) are left out;
one that holds a piece's name alone names the rows below it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from msgspec import Struct

from diagnose.pattern.brought.table_heading import Heading, cells_of
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.outline import Point
from diagnose.sentences import counted

__all__ = ["TableRow", "rows_of"]

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


class TableRow(Struct, frozen=True):
    """One row: a point of an edge, its place in the file, and whether a curve runs through it."""

    where: str
    piece: str
    edge: str
    role: str
    label: str
    at: Point
    curve: bool


def rows_of(
    lines: Sequence[tuple[str, str]], heading: Heading, reading: Reading
) -> tuple[list[TableRow], tuple[str, ...]]:
    """The rows under the heading, and what is said of those left out; what is wrong with a line is noted."""
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
    said = counted(left, "row[ that holds|s that hold] no point, such as titles and totals, [was|were] left out.")
    return found, (said,) if left else ()


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
