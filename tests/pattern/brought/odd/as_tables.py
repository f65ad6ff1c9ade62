"""The halves as strangers write them down in spreadsheets: other words, units, marks, titles, totals, encodings."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from halves import HALVES, IN_MM, ROOM_MM, OddFile, panels
from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import flatten

__all__ = ["tables"]

COLUMNS = ("piece", "edge", "role", "out", "up", "kind")
Cell = Callable[[float], str]


class Row(Struct, frozen=True):
    """A point of the half: out from the centre front, up from the waist, in mm."""

    piece: str
    edge: str
    role: str
    out: float
    up: float
    kind: str


def _rows(name: str) -> list[Row]:
    half, out, rows = HALVES[name], 0.0, list[Row]()
    for n, one in enumerate(panels(name)):
        last = n == len(half.names) - 1
        names = ("hem", "centre back" if last else "back seam", "top", "front seam" if n else "centre front")
        roles = ("bottom", "lacing" if last else "seam", "top", "seam" if n else "opening")
        for edge, role, run in zip(names, roles, (one.hem, one.back, one.top, one.front), strict=True):
            spots = [point for s in run for point in flatten(s, 0.3)[1:]] if len(run) > 1 else [run[-1].end]
            kinds = ["curve"] * (len(spots) - 1) + ["corner"]
            rows += [Row(one.name, edge, role, out + p.x, p.y, k) for p, k in zip(spots, kinds, strict=True)]
        out += half.waists[n] + ROOM_MM
    return rows


def _inches(mm: float) -> str:
    """A length as a maker writes it, to the 64th."""
    whole, part = divmod(round(abs(mm) / IN_MM * 64), 64)
    shrink = math.gcd(part, 64)
    parts = [str(whole)] * bool(whole or not part) + [f"{part // shrink}/{64 // shrink}"] * bool(part)
    return "-" * (mm < 0 and parts != ["0"]) + " ".join(parts)


def _cm(mm: float) -> str:
    return f"{mm / 10:.2f}"


def _comma(mm: float) -> str:
    return _cm(mm).replace(".", ",")


def _set(mm: float) -> str:
    """With a typesetter's minus and blank."""
    return _comma(mm).replace("-", "\u2212") + "\u202fcm"


def _sheet(rows: Iterable[Row], heads: Sequence[str], mark: str, cell: Cell) -> list[str]:
    """Heading and rows; a heading as ``up:y (cm)`` says what the column holds, and how it is called."""
    lines = [mark.join(one.rpartition(":")[2] for one in heads)]
    for row in rows:
        values = (getattr(row, one.partition(":")[0]) for one in heads)
        lines.append(mark.join(cell(v) if isinstance(v, float) else v for v in values))
    return lines


def _quoted(lines: Iterable[str]) -> list[str]:
    return [",".join('"' + cell.replace('"', '""') + '"' for cell in line.split("|")) for line in lines]


def _merged(rows: Iterable[Row]) -> list[str]:
    """With a title, totals, blank rows and columns, and each name in the first of its rows alone."""
    lines, before = ["Corset for Wren,,,,,,", ",,,,,,", "piece,edge,,x (in),y (in),kind,"], ("", "")
    for row in rows:
        is_new = row.piece != before[0]
        if is_new and before[0]:
            lines += [",,,,,,", f"Total,,,{_inches(400.0)},,,", ",,,,,,"]
        piece, edge = row.piece if is_new else "", row.edge if is_new or row.edge != before[1] else ""
        lines.append(f"{piece},{edge},,{_inches(row.out)},{_inches(row.up)},{row.kind},")
        before = row.piece, row.edge
    return lines


def _headed(rows: Sequence[Row]) -> list[str]:
    """With a title, the heading and a blank row for each piece."""
    lines = []
    for piece in dict.fromkeys(row.piece for row in rows):
        own = _sheet([row for row in rows if row.piece == piece], COLUMNS, ",", _cm)
        lines += [f"piece: {piece}", *own, ""]
    return lines


def _closed(rows: Sequence[Row]) -> list[Row]:
    """Each piece begun with the corner at which it ends."""
    made = list[Row]()
    for piece in dict.fromkeys(row.piece for row in rows):
        own = [row for row in rows if row.piece == piece]
        made += [replace(own[0], out=own[-1].out, up=own[-1].up, kind="corner"), *own]
    return made


def tables(name: str) -> Iterable[OddFile]:
    """The half in tables."""
    rows = _rows(name)

    def saved(way: str, lines: Iterable[str], file: str = "table.csv", told: str = "", code: str = "utf-8",
              **remedy: object) -> OddFile:  # fmt: skip
        return OddFile(name, way, file, "\r\n".join(lines).encode(code), told, remedy)

    words = ("piece:Panel", "edge:Line", "out:Out (cm)", "up:Up (cm)", "kind:Type")
    typed = [replace(row, kind="smooth" if row.kind == "curve" else "sharp") for row in rows]
    yield saved("other words in the heading, units in it, commas", _sheet(typed, words, ";", _comma), code="utf-8-sig")
    bare = ("piece", "edge", "out:out [mm]", "up:up [mm]", "kind")
    tabbed = _sheet(rows, bare, "\t", lambda mm: f"{mm:.1f}")
    yield saved("text of tabs in UTF-16", tabbed, "table.txt", code="utf-16")
    yield saved("tabs in UTF-16, called CSV", tabbed, code="utf-16")
    yield saved("a sheet with a title, totals, blank rows and columns, merged cells", _merged(rows))
    yield saved("signs and blanks of a typesetter", _sheet(rows, COLUMNS, ";", _set))
    marked = _sheet(rows, COLUMNS, "|", lambda mm: f'{_inches(mm)}"')
    yield saved("inch marks, every cell in quotes", _quoted(marked))
    yield saved("a heading over each piece", ["# unit: cm", *_headed(rows)])
    yield saved("each piece begun where it ends", ["# unit: cm", *_sheet(_closed(rows), COLUMNS, ",", _cm)])
    short = {"hem": "bottom", "centre front": "CF", "centre back": "CB", "back seam": "back", "front seam": "front"}
    coded = [replace(row, edge=short.get(row.edge, row.edge)) for row in rows]
    named = ("piece", "edge", "out:x", "up:y", "kind")
    yield saved("CF and CB for edges, no roles", ["unit,cm", *_sheet(coded, named, ",", _cm)])
    low = [replace(row, up=-row.up) for row in rows]
    down = ("piece", "edge", "role", "out", "up:down", "kind")
    yield saved("down from the waist, in mm, told", _sheet(low, down, ",", lambda mm: f"{mm:.1f}"), told="mm")
    names = list(dict.fromkeys(row.piece for row in rows))
    turned = [row for piece in names[::-1] for row in rows if row.piece == piece]
    yield saved("pieces from the back on", ["# unit: cm", *_sheet(turned, COLUMNS, ",", _cm)])
    fronts = [replace(row, piece="front left", out=-row.out - ROOM_MM) for row in rows if row.piece == "front"]
    fronts += [replace(row, piece="front right") if row.piece == "front" else row for row in rows]
    yield saved("both fronts, and half of the rest, in a table", ["# unit: cm", *_sheet(fronts, COLUMNS, ",", _cm)])
    remarked = [replace(row, role={"lacing": "eyelets", "bottom": "hem"}.get(row.role, row.role)) for row in rows]
    noted = [f"{line};{'Remarks' if n == 0 else 'true' * (n % 3 == 0)}" for n, line in
             enumerate(_sheet(remarked, COLUMNS, ";", _comma))]  # fmt: skip
    yield saved("other words for roles, a column of remarks, no unit", noted, unit="cm")
    yield saved(
        "names with accents, in the old code of the West",
        [line.replace("front", "avancé") for line in ["# unit: cm", *_sheet(rows, COLUMNS, ",", _cm)]],
        code="cp1252",
    )
