"""Reading one piece of a stored pattern: its outline and the marks on its paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from diagnose.errors import quoted, shown
from diagnose.model.stations import STATIONS
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.outline import (
    CUTS,
    ROLES,
    SIDES,
    SLIT_PREFIX,
    Channel,
    Cubic,
    Cut,
    Edge,
    Line,
    Notch,
    Piece,
    Point,
    Polyline,
    Segment,
    Side,
    Slit,
)
from diagnose.pattern.tolerances import CLOSE_TOL_MM, MOST_EDGES, MOST_MARKS, MOST_SEGMENTS, WIDEST_CHANNEL_MM

__all__ = ["KEYS", "Row", "extra_keys", "named_rows", "notch_keys", "read_piece"]

Row = Mapping[str, object]
Rows = Sequence[tuple[str, str, Row]]

KEYS: Mapping[str, tuple[str, ...]] = {
    "pattern": ("format", "version", "name", "closure", "pieces", "seams"),
    "pieces": (
        "name", "cut", "side", "start", "edges", "levels", "landmarks", "channels", "slits", "notches", "grain",
    ),
    "edges": ("name", "role", "path"),
    "channels": ("name", "line", "width"),
    "slits": ("name", "line"),
    "notches": ("edge", "at"),
    "seams": ("name", "a", "b", "ease"),
}  # fmt: skip
"""The keys of each kind of object that this program knows; every other is kept as it stands."""


def named_rows(raw: object, where: str, key: str, most: int, reading: Reading, least: int = 0) -> Rows:
    """The place, name and object of each entry of a list; one without a name is noted and left out.

    Args:
        raw: the list, as decoded.
        where: how mistakes name what it stands in.
        key: its key: the plural of what is in it.
        most: of entries that it may have, and `least`.
        reading: where mistakes are noted.
    """
    kind = key.removesuffix("s")
    found: list[tuple[str, str, Row]] = []
    for number, entry in enumerate(reading.rows(raw, where, key, most=most, least=least), 1):
        row = reading.table(entry, f"{where}, {kind} {number}")
        name = None if row is None else reading.name(row.get("name"), f"{where}, {kind} {number}")
        if row is not None and name is not None:
            found.append((f"{where}, {kind} {name}", name, row))
    for name, count in Counter(name for _, name, _ in found).items():
        if count > 1:
            reading.note(
                where, f"{count} {key} are named {quoted(name)}.", "Give each a name of its own.", code="name-doubled"
            )
    return found


def extra_keys(
    raw: Row, kind: str, where: str, parts: Mapping[str, Sequence[tuple[str, Row]]], reading: Reading
) -> dict[str, object]:
    """The unknown keys of an object and, under each kind of `parts`, those of its named parts that have any."""
    extra = reading.others(raw, KEYS[kind], where)
    for part, rows in parts.items():
        kept = {
            name: others
            for name, row in rows
            if (others := reading.others(row, KEYS[part], f"{where}, {part.removesuffix('s')} {name}"))
        }
        if kept:
            extra[part] = kept
    return extra


def notch_keys(edges: Sequence[str]) -> list[str]:
    """What stands for a notch's name: its edge, and which notch of that edge it is (``side 2``)."""
    return [f"{edge} {edges[: number + 1].count(edge)}" for number, edge in enumerate(edges)]


def read_piece(raw: Row, name: str, where: str, reading: Reading) -> Piece | None:
    """The piece, its geometry checked; None when anything in it was noted."""
    before = len(reading.mistakes)
    rows = _part_rows(raw, where, reading)
    cut, side = _cut_and_side(raw, where, reading)
    grain = None if raw.get("grain") is None else reading.line(raw["grain"], f"{where}, grain", 2)
    piece = Piece(
        name=name,
        cut=cut,
        side=side,
        edges=_edges(raw.get("start"), rows["edges"], where, reading=reading),
        levels=_levels(raw.get("levels", {}), where, reading),
        landmarks=_landmarks(raw.get("landmarks", {}), where, reading),
        channels=tuple(_channel(row, n, at, reading=reading) for at, n, row in rows["channels"]),
        slits=tuple(Slit(n, _line(row, at, reading)) for at, n, row in rows["slits"]),
        notches=tuple(_notch(row, at, reading) for at, _, row in rows["notches"]),
        grain=(grain[0], grain[1]) if grain else None,
        extra=extra_keys(
            raw, "pieces", where, parts={k: [(n, row) for _, n, row in v] for k, v in rows.items()}, reading=reading
        ),
    )
    if len(reading.mistakes) == before:
        reading.note_all(piece_mistakes(piece, where, reading.unit))
    return piece if len(reading.mistakes) == before else None


def _part_rows(raw: Row, where: str, reading: Reading) -> dict[str, Rows]:
    return {
        "edges": named_rows(raw.get("edges"), where, "edges", most=MOST_EDGES, reading=reading, least=1),
        "channels": named_rows(raw.get("channels", ()), where, "channels", most=MOST_MARKS, reading=reading),
        "slits": named_rows(raw.get("slits", ()), where, "slits", most=MOST_MARKS, reading=reading),
        "notches": _notch_rows(raw.get("notches", ()), where, reading),
    }


def _notch_rows(raw: object, where: str, reading: Reading) -> Rows:
    entries = enumerate(reading.rows(raw, where, "notches", most=MOST_MARKS), 1)
    found = [(f"{where}, notch {n}", reading.table(entry, f"{where}, notch {n}")) for n, entry in entries]
    rows = [(at, row) for at, row in found if row is not None]
    edges = [row.get("edge") for _, row in rows]
    keys = notch_keys([edge if isinstance(edge, str) else "" for edge in edges])
    return [(at, key, row) for (at, row), key in zip(rows, keys, strict=True)]


def _cut_and_side(raw: Row, where: str, reading: Reading) -> tuple[Cut, Side]:
    cut = reading.word(raw.get("cut"), CUTS, where, key="cut")
    side = reading.word(raw.get("side", "both"), SIDES, where, key="side")
    if side in ("left", "right") and cut in ("fold", "pair"):
        reading.note(
            where, f"A piece cut “{cut}” can't be the {side} one alone.", 'Give "cut": "single".', code="contradiction"
        )
    return cut or "single", side or "both"


def _edges(start: object, rows: Rows, where: str, reading: Reading) -> tuple[Edge, ...]:
    """The edges as far as they could be read: where a step was noted, the next begins anywhere."""
    first = here = reading.point(start, f"{where}, start") or Point(0.0, 0.0)
    edges: list[Edge] = []
    for at, name, row in rows:
        if name.startswith(SLIT_PREFIX):
            reading.note(
                at, f"An edge's name can't begin with “{SLIT_PREFIX}”.", "That names a slit in a seam.", code="bad-name"
            )
        role = reading.word(row.get("role"), ROLES, at, key="role")
        segments: list[Segment] = []
        for number, step in enumerate(reading.rows(row.get("path"), at, "path", most=MOST_SEGMENTS, least=1), 1):
            segment = _segment(here, step, f"{at}, step {number}", reading=reading)
            here = segment.end
            segments.append(segment)
        if segments:
            edges.append(Edge(name, role or "seam", tuple(segments)))
    return _closed(edges, first)


def _segment(here: Point, step: object, where: str, reading: Reading) -> Segment:
    if not isinstance(step, list | tuple) or ([*step[:1]], len(step)) not in ((["L"], 3), (["C"], 7)):
        said = f"{quoted(step[0])} with {len(step) - 1} numbers" if isinstance(step, list | tuple) and step else "That"
        reading.note(
            where, f"{said} is no step.", 'Write ["L", x, y] or ["C", x1, y1, x2, y2, x, y].', code="not-a-step"
        )
        return Line(here, here)
    numbers = [reading.number(raw, where) or 0.0 for raw in step[1:]]
    points = [Point(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
    return Line(here, points[0]) if len(points) == 1 else Cubic(here, *points)


def _closed(edges: list[Edge], first: Point) -> tuple[Edge, ...]:
    """The edges, their last point laid on the first where it lies within the tolerance of it."""
    if edges and distance(edges[-1].end, first) <= CLOSE_TOL_MM:
        last = edges[-1]
        ending = last.segments[-1]._replace(end=first)
        edges[-1] = replace(last, segments=(*last.segments[:-1], ending))
    return tuple(edges)


def _levels(raw: object, where: str, reading: Reading) -> dict[str, Polyline]:
    levels: dict[str, Polyline] = {}
    for key, line in (reading.table(raw, f"{where}, levels") or {}).items():
        station = reading.word(key, STATIONS, f"{where}, levels", key="station")
        points = reading.line(line, f"{where}, level {shown(key)}", MOST_MARKS)
        if station and points:
            levels[station] = points
    return levels


def _landmarks(raw: object, where: str, reading: Reading) -> dict[str, Point]:
    landmarks: dict[str, Point] = {}
    for key, place in (reading.table(raw, f"{where}, landmarks") or {}).items():
        name = reading.name(key, f"{where}, landmarks")
        point = reading.point(place, f"{where}, landmark {shown(key)}")
        if name and point:
            landmarks[name] = point
    return landmarks


def _line(row: Row, where: str, reading: Reading) -> Polyline:
    return reading.line(row.get("line"), f"{where}, line", MOST_MARKS) or ()


def _channel(row: Row, name: str, where: str, reading: Reading) -> Channel:
    width = reading.number(row.get("width"), f"{where}, width")
    if width is not None and not 0.0 < width <= WIDEST_CHANNEL_MM:
        what = f"A channel {width:g} mm wide holds no bone."
        reading.note(
            f"{where}, width",
            what,
            f"Give its stitched width: over 0 and up to {WIDEST_CHANNEL_MM:g} mm.",
            code="out-of-range",
        )
    return Channel(name, _line(row, where, reading), width or 0.0)


def _notch(row: Row, where: str, reading: Reading) -> Notch:
    edge = reading.name(row.get("edge"), where, "edge")
    at = reading.number(row.get("at"), f"{where}, at")
    return Notch(edge or "", at or 0.0)
