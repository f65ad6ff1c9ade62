"""The labels file: what a drawing can't say of itself, in the maker's words. Decoded YAML in, checked labels out.

    unit: mm                     # of lengths written without one
    scale: 1 in                  # what one unit of the drawing stands for, where the drawing says it wrongly
    centre-front: left           # or right, where the pattern was drawn from back to front
    name: my corset
    closure: back                # or front, both
    pieces:
      1:                         # an outline's number from the left, or its name in the drawing
        name: front
        cut: fold                # or pair, single
        edges:                   # counter-clockwise, begun at the bottom front corner
          - {name: hem, role: bottom}
          - {name: side, role: seam, from: [120, 14]}
        levels: {waist: 5 1/4 in}
      2:
        as-one: [[front-seam-1, front-seam-2]]   # two edges that are one, though the line turns between them
      3:
        corners: [[10, 0], [90, 4], [84, 120], [6, 130]]   # where a round outline parts: both ends of bottom and top
    levels:                      # up from the lowest point of all outlines
      waist: 5 1/4 in
    seams:
      - {name: side, a: front/side, b: back/front-seam, ease: 1/8 in}
    sure: [waist]                # what was beyond belief and is so nevertheless
    order: [2, 1, 3]             # the pieces by their numbers, from the centre front on
    size: 2                      # of several sizes drawn in one another, counted from the inside

`from` is the place where an edge begins; with it on every edge of a piece, its corners may lie anywhere. A few edges
alone are changed by name: ``edges: {front-seam: {role: opening}}``. All keys may be left out. Levels of a piece may
also be points: ``waist: [[0, 130], [200, 128]]``, in mm of the drawing (y upwards).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import cast

from msgspec import Struct, field

from diagnose.errors import nearest, quoted, shown
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.believing import SURE_WORDS
from diagnose.pattern.form.reader import CLOSURES
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.outline import CUTS, ROLES, Cut, EdgeRef, Point, Role, Seam
from diagnose.pattern.tolerances import MOST_EDGES, MOST_MARKS, MOST_PIECES
from diagnose.units import UNITS, Unit

__all__ = ["NO_LABELS", "EdgeLabel", "Labels", "PieceLabel", "read_labels"]

_KEYS = ("unit", "scale", "centre-front", "name", "closure", "pieces", "levels", "seams", "sure", "order", "size")
_PIECE_KEYS = ("name", "cut", "corners", "as-one", "edges", "levels")
SIDES_OF_A_PIECE = 4
_EDGE_KEYS = ("name", "role", "from")
_SEAM_KEYS = ("name", "a", "b", "ease")
Height = float | tuple[Point, ...]


class EdgeLabel(Struct, frozen=True):
    """What is said of one edge; `old` is the name it is called by, empty where edges stand in order."""

    name: str = ""
    role: Role | None = None
    start: Point | None = None
    old: str = ""


class PieceLabel(Struct, frozen=True):
    """What is said of one piece.

    Attributes:
        where: its place in the file.
        name, cut, edges, levels: as they are to be.
        as_one: the pairs of edges that are one.
        corners: the four places that part bottom, back, top and front of it, in any order; none where it has its own.
    """

    where: str
    name: str = ""
    cut: Cut | None = None
    edges: tuple[EdgeLabel, ...] = ()
    levels: Mapping[str, Height] = field(default_factory=dict)
    as_one: tuple[tuple[str, str], ...] = ()
    corners: tuple[Point, ...] = ()


class Labels(Struct, frozen=True):
    """All that a labels file says. `scale_mm` is what one unit of the drawing stands for."""

    name: str = ""
    closure: str = ""
    scale_mm: float | None = None
    from_right: bool = False
    pieces: Mapping[str, PieceLabel] = field(default_factory=dict)
    levels: Mapping[str, float] = field(default_factory=dict)
    seams: tuple[Seam, ...] | None = None
    sure: tuple[str, ...] = ()
    order: tuple[int, ...] = ()
    size: int = 0


NO_LABELS = Labels()


def read_labels(raw: object, where: str, unit: Unit = "in") -> Labels:
    """The labels of a decoded file.

    Args:
        raw: mappings, lists and text.
        where: the file's name, for messages.
        unit: of lengths without one, unless the file names its own.

    Raises:
        FitError: with every mistake at once.
    """
    reading = Reading(unit)
    labels = _read(raw, where, reading)
    reading.finish(where)
    return labels


def _read(raw: object, where: str, reading: Reading) -> Labels:
    top = _table(raw if raw is not None else {}, where, _KEYS, reading=reading)
    if "unit" in top:
        reading.unit = reading.word(top["unit"], UNITS, where, key="unit") or reading.unit
    front = reading.word(top.get("centre-front", "left"), ("left", "right"), where, key="centre-front")
    scale = reading.number(top["scale"], f"{where}, scale") if "scale" in top else None
    if scale is not None and scale <= 0.0:
        what = "A unit of the drawing can't stand for nothing."
        reading.note(f"{where}, scale", what, "Write it like: scale: 1 in", code="below-nothing")
    seams = reading.rows(top["seams"], where, "seams", most=MOST_MARKS) if "seams" in top else None
    return Labels(
        (reading.name(top["name"], where) or "") if "name" in top else "",
        (reading.word(top["closure"], CLOSURES, where, key="closure") or "") if "closure" in top else "",
        scale,
        from_right=front == "right",
        pieces=_pieces(top.get("pieces", {}), where, reading),
        levels={station: height for station, height in _levels(top.get("levels", {}), where, reading).items()
         if isinstance(height, float)},
        seams=None if seams is None else tuple(_seam(row, f"{where}, seam {n}", reading) for n,
        row in enumerate(seams, 1)),
        sure=tuple(
            word for one in reading.rows(top.get("sure", ()), where, "sure", most=MOST_MARKS)
            if (word := reading.word(one, SURE_WORDS, where, key="sure"))
        ),
        order=_order(top["order"], where, reading) if "order" in top else (),
        size=_size(top["size"], where, reading) if "size" in top else 0,
    )  # fmt: skip


def _order(raw: object, where: str, reading: Reading) -> tuple[int, ...]:
    """The numbers of the pieces, each once."""
    rows = reading.rows(raw, where, "order", most=MOST_PIECES)
    numbers = [int(str(one)) for one in rows if re.fullmatch(r"[0-9]{1,4}", str(one))]
    if len(numbers) < len(rows) or sorted(numbers) != list(range(1, len(numbers) + 1)):
        typed = "Write the number of each piece once, from the centre front on, like order: [2, 1, 3]"
        reading.note(
            f"{where}, order", "It does not name each piece once by its number.", typed=typed, code="wrong-order"
        )
        return ()
    return tuple(numbers)


def _size(raw: object, where: str, reading: Reading) -> int:
    """Which size, counted from the innermost."""
    if re.fullmatch(r"[1-9][0-9]?", str(raw)):
        return int(str(raw))
    do = "Count the lines of one piece from the inside, and write it like size: 2"
    reading.note(f"{where}, size", f"{quoted(raw)} is no number of a size.", do, code="wrong-size")
    return 0


def _table(raw: object, where: str, keys: Sequence[str], reading: Reading) -> Mapping[str, object]:
    """The mapping, each key of it known."""
    if not isinstance(raw, Mapping):
        reading.note(
            where, f"{quoted(raw)} stands where keys are wanted.", f"Write it as: {keys[0]}: …", code="not-an-object"
        )
        return {}
    for key in raw:
        if key not in keys:
            reading.note(where, f"{quoted(key)} is no key here.", nearest(str(key)[:60], keys), code="unknown-name")
    return raw


def _pieces(raw: object, where: str, reading: Reading) -> dict[str, PieceLabel]:
    if not isinstance(raw, Mapping) or len(raw) > MOST_PIECES:
        what, do = "“pieces” is not one entry for each piece.", "Write it as: pieces: {1: {name: front}}"
        reading.note(where, what, do, code="not-a-list")
        return {}
    return {str(key): _piece(row, f"{where}, piece {shown(key)}", reading) for key, row in raw.items()}


def _piece(raw: object, where: str, reading: Reading) -> PieceLabel:
    row = _table(raw, where, _PIECE_KEYS, reading=reading)
    cut = reading.word(row["cut"], CUTS, where, key="cut") if "cut" in row else None
    return PieceLabel(
        where,
        (reading.name(row["name"], where) or "") if "name" in row else "",
        cut,
        edges=_edges(row.get("edges", ()), where, reading),
        levels=_levels(row.get("levels", {}), where, reading),
        as_one=_pairs(row.get("as-one", ()), where, reading),
        corners=_corners(row["corners"], where, reading) if "corners" in row else (),
    )


def _corners(raw: object, where: str, reading: Reading) -> tuple[Point, ...]:
    """Four places of an outline."""
    at = f"{where}, corners"
    rows = reading.rows(raw, where, "corners", most=MOST_EDGES)
    spots = [spot for row in rows if (spot := reading.point(row, at)) is not None]
    if len(rows) != SIDES_OF_A_PIECE:
        do = "Write the places at which its bottom and its top begin and end, like corners: [[10, 0], [90, 4], …]"
        reading.note(at, f"{len(rows)} corners are named; a piece has four.", do, code="not-four")
        return ()
    return tuple(spots)


def _pairs(raw: object, where: str, reading: Reading) -> tuple[tuple[str, str], ...]:
    """Pairs of edges by their names."""
    rows = reading.rows(raw, where, "as-one", most=MOST_EDGES)
    pairs = [tuple(str(name) for name in row) for row in rows if isinstance(row, list | tuple)]
    if any(len(pair) != 2 for pair in pairs) or len(pairs) < len(rows):
        typed = "Write it as: as-one: [[back-seam-1, back-seam-2]]"
        reading.note(f"{where}, as-one", "Two edges at a time are made one.", typed=typed, code="two-edges")
        return ()
    return cast(tuple[tuple[str, str], ...], tuple(pairs))


def _edges(raw: object, where: str, reading: Reading) -> tuple[EdgeLabel, ...]:
    if isinstance(raw, Mapping):
        rows = list(raw.items())[:MOST_EDGES]
        return tuple(_edge(row, f"{where}, edge {shown(key)}", reading, old=str(key)) for key, row in rows)
    found = reading.rows(raw, where, "edges", most=MOST_EDGES)
    return tuple(_edge(row, f"{where}, edge {n}", reading) for n, row in enumerate(found, 1))


def _edge(raw: object, where: str, reading: Reading, old: str = "") -> EdgeLabel:
    if isinstance(raw, str):
        raw = {"name": raw}
    row = _table(raw, where, _EDGE_KEYS, reading=reading)
    role = reading.word(row["role"], ROLES, where, key="role") if "role" in row else None
    start = reading.point(row["from"], f"{where}, from") if "from" in row else None
    name = reading.name(row["name"], where) if "name" in row else None
    return EdgeLabel(name or "", role, start, old=old)


def _levels(raw: object, where: str, reading: Reading) -> dict[str, Height]:
    found: dict[str, Height] = {}
    for key, value in _table(raw, f"{where}, levels", STATIONS, reading=reading).items():
        at = f"{where}, level {shown(key)}"
        height = reading.line(value, at, MOST_MARKS) if isinstance(value, list | tuple) else reading.number(value, at)
        if height is not None:
            found[key] = height
    return found


def _seam(raw: object, where: str, reading: Reading) -> Seam:
    row = _table(raw, where, _SEAM_KEYS, reading=reading)
    name = reading.name(row.get("name"), where) or ""
    ease = reading.number(row["ease"], f"{where}, ease") if "ease" in row else 0.0
    return Seam(name, _ref(row.get("a"), where, reading), _ref(row.get("b"), where, reading), ease=ease or 0.0)


def _ref(raw: object, where: str, reading: Reading) -> EdgeRef:
    piece, _, edge = raw.rpartition("/") if isinstance(raw, str) else ("", "", "")
    if not piece.strip() or not edge.strip():
        reading.note(
            where, "A seam joins two edges.", "Write it as: {name: side, a: front/side, b: back/side}", code="two-edges"
        )
    return EdgeRef(piece.strip(), edge.strip())
