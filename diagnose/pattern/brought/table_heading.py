"""The heading of a point table: which column holds what, in any usual words, and in what unit.

Lines above it are titles; one of them may name the unit (``unit,cm``). A column whose heading is blank, or says that
it holds remarks, is left out; one that is called anything else is refused, since what it tells would be lost.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence

from msgspec import Struct

from diagnose.errors import nearest, quoted
from diagnose.pattern.form.strict import Reading
from diagnose.sentences import counted
from diagnose.units import Unit

__all__ = ["COLUMNS", "Heading", "cells_of", "heading_of"]

COLUMNS = ("piece", "edge", "role", "point", "out", "up", "kind")
LEAST_COLUMNS = ("piece", "edge", "out")
MOST_ROWS = 100_000
MOST_TITLES = 40
LONGEST_LINE = 1000
_REMARKS = "remarks"
_WORDS: Mapping[str, Sequence[str]] = {
    "piece": ("panel", "part", "piece name", "panel name", "pattern piece"),
    "edge": ("line", "side", "border", "edge name"),
    "role": ("edge kind", "kind of edge", "edge type"),
    "point": ("pt", "no", "nr", "number", "#", "point no", "point number"),
    "out": ("x", "across", "from front", "out from front", "from centre front", "from cf"),
    "up": ("y", "height", "above waist", "up from waist", "from waist"),
    "down": ("below", "below waist", "down from waist"),
    "kind": ("type", "shape", "kind of point", "point type", "corner or curve"),
    _REMARKS: ("", "note", "notes", "remark", "comment", "comments", "description", "length", "distance"),
}
_COLUMN_OF = {word: name for name, words in _WORDS.items() for word in (name, *words)}
_UNIT_OF: Mapping[str, Unit] = {
    "in": "in", "inch": "in", "inches": "in", '"': "in", "cm": "cm", "centimetres": "cm", "centimeters": "cm",
    "mm": "mm", "millimetres": "mm", "millimeters": "mm",
}  # fmt: skip
_A_UNIT = "|".join(re.escape(word) for word in sorted(_UNIT_OF, key=len, reverse=True))
_IN_UNIT = re.compile(rf"\s*(?:[\[(/,]\s*|\bin\s+|\s)({_A_UNIT})\s*[\])]?$", re.IGNORECASE)
_TITLE_UNIT = re.compile(rf"\bunits?\b[\s:=,;\"]*({_A_UNIT})(?![^\W_])", re.IGNORECASE)


class Heading(Struct, frozen=True):
    """The heading of a table.

    Attributes:
        line: which of the lines it is, from 0.
        mark: what parts the cells.
        columns: what each column holds; empty for one that is left out.
        unit: of the lengths, as it or a title above it names it.
    """

    line: int
    mark: str
    columns: tuple[str, ...]
    unit: Unit | None = None

    @property
    def height(self) -> str:
        """The column of the heights: up or down."""
        return "up" if "up" in self.columns else "down"


def cells_of(line: str, mark: str) -> list[str]:
    """The cells of a line; none where it is too long to be one."""
    return [one.strip() for one in next(csv.reader([line], delimiter=mark), [])] if len(line) <= LONGEST_LINE else []


def heading_of(lines: Sequence[tuple[str, str]], where: str, reading: Reading) -> Heading | None:
    """The heading among the first lines, each with its place; None once it is noted that there is none."""
    if not 1 < len(lines) <= MOST_ROWS:
        what = f"The table has {counted(len(lines), 'line[|s].')}"
        reading.note(where, what, f"Give 2 to {MOST_ROWS}, the first being {','.join(COLUMNS)}.", code="wrong-length")
        return None
    for number, (at, line) in enumerate(lines[:MOST_TITLES]):
        mark = max(",;\t", key=line.count)
        named = [_named(cell) for cell in cells_of(line, mark)]
        columns = [name for name, _ in named]
        if all(name in columns for name in LEAST_COLUMNS) and {"up", "down"} & set(columns):
            return _checked(
                number, mark, line, named=named, titles=[text for _, text in lines[:number]], at=at, reading=reading
            )
    at, line = lines[0]
    mark = max(",;\t", key=line.count)
    columns = [_named(cell)[0] for cell in cells_of(line, mark)]
    wanted = (*LEAST_COLUMNS, "down" if "down" in columns else "up")
    missing = next((f" It has no column {quoted(name)}." for name in wanted if name not in columns), "")
    _note(at, line, missing, unknown=_unknown(line, mark), reading=reading)
    return None


def _named(cell: str) -> tuple[str, Unit | None]:
    """What a column of that heading holds (the heading itself where it is no known word), and in what unit."""
    text = cell.strip(' "').lower()
    unit = _IN_UNIT.search(text)
    plain = " ".join(re.split(r"[\s_.:-]+", text[: unit.start()] if unit else text)).strip()
    found = _COLUMN_OF.get(plain, plain)
    return found, _UNIT_OF[unit[1]] if unit and found in ("out", "up", "down") else None


def _checked(
    number: int, mark: str, line: str, named: Sequence[tuple[str, Unit | None]], titles: Sequence[str], at: str,
    reading: Reading,
) -> Heading | None:  # fmt: skip
    """The heading that was found; None where a column of it is unknown, or stands twice."""
    columns = [name if name in (*COLUMNS, "down", _REMARKS) else "?" for name, _ in named]
    told = [name for name in columns if name != _REMARKS]
    if "?" in told or len(set(told)) < len(told):
        _note(at, line, "", unknown=_unknown(line, mark), reading=reading)
        return None
    units = {unit for _, unit in named if unit}
    units |= {_UNIT_OF[found[1].lower()] for text in titles if (found := _TITLE_UNIT.search(text))}
    if len(units) > 1:
        what = f"The heading names more than one unit: {', '.join(sorted(units))}."
        reading.note(at, what, "Give all lengths in one.", code="contradiction")
        return None
    kept = tuple("" if name == _REMARKS else name for name in columns)
    return Heading(number, mark, kept, unit=units.pop() if units else None)


def _unknown(line: str, mark: str) -> str:
    wrong = next((name for cell in cells_of(line, mark) if (name := _named(cell)[0]) not in _WORDS), "")
    known = nearest(wrong, (*COLUMNS, "down")) if wrong else ""
    return f" {known} A column that is only remarks is called note." if wrong else ""


def _note(at: str, line: str, missing: str, unknown: str, reading: Reading) -> None:
    what = f"The heading is {quoted(line.strip())}."
    do = f"Give {','.join(COLUMNS)} (or down instead of up).{missing}{unknown}"
    reading.note(at, what, do, code="bad-heading")
