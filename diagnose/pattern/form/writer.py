"""Writing a pattern in its stored form: what the reader reads back is the same pattern to a millionth of a mm."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping

from diagnose.errors import FitError
from diagnose.pattern.form.piece_reader import notch_keys
from diagnose.pattern.form.reader import FORMAT, VERSION
from diagnose.pattern.outline import Channel, Cubic, Edge, Notch, Pattern, Piece, Point, Seam, Segment, Slit
from diagnose.pattern.tolerances import WRITTEN_DECIMALS

__all__ = ["dump_text", "to_json"]

LINE_WIDTH = 110
Json = dict[str, object]


def to_json(pattern: Pattern) -> Json:
    """The pattern as plain JSON values, lengths rounded to 1e-6 mm.

    Raises:
        FitError: when a length in it is not a finite number.
    """
    kept, seams = _parted(pattern.extra, ("seams",))
    return {
        "format": FORMAT,
        "version": VERSION,
        "name": pattern.name,
        "closure": pattern.closure,
        **kept,
        "pieces": [_piece(piece) for piece in pattern.pieces],
        "seams": [_with(_seam(seam), seams["seams"], seam.name) for seam in pattern.seams],
    }


def _parted(extra: Mapping[str, object], parts: Iterable[str]) -> tuple[Json, dict[str, Mapping[str, Json]]]:
    """A thing's own added keys, and those of its named parts."""
    inner: dict[str, Mapping[str, Json]] = {}
    for part in parts:
        names = extra.get(part)
        inner[part] = names if isinstance(names, dict) else {}
    return {key: value for key, value in extra.items() if key not in inner}, inner


def _with(row: Json, added: Mapping[str, Json], name: str) -> Json:
    return {**row, **added.get(name, {})}


def _piece(piece: Piece) -> Json:
    """The piece; marks it has none of are left out."""
    kept, inner = _parted(piece.extra, ("edges", "channels", "slits", "notches"))
    keys = notch_keys([notch.edge for notch in piece.notches])
    marks: Json = {
        "levels": {station: _line(line) for station, line in piece.levels.items()},
        "landmarks": {name: _point(point) for name, point in piece.landmarks.items()},
        "channels": [_with(_channel(c), inner["channels"], c.name) for c in piece.channels],
        "slits": [_with(_slit(s), inner["slits"], s.name) for s in piece.slits],
        "notches": [_with(_notch(n), inner["notches"], key) for n, key in zip(piece.notches, keys, strict=True)],
        "grain": _line(piece.grain) if piece.grain else None,
    }
    return {
        "name": piece.name,
        "cut": piece.cut,
        "side": piece.side,
        **kept,
        "start": _point(piece.edges[0].start),
        "edges": [_with(_edge(edge), inner["edges"], edge.name) for edge in piece.edges],
        **{key: value for key, value in marks.items() if value},
    }


def _edge(edge: Edge) -> Json:
    return {"name": edge.name, "role": edge.role, "path": [_step(segment) for segment in edge.segments]}


def _step(segment: Segment) -> list[object]:
    if isinstance(segment, Cubic):
        return ["C", *_point(segment.c1), *_point(segment.c2), *_point(segment.end)]
    return ["L", *_point(segment.end)]


def _channel(channel: Channel) -> Json:
    return {"name": channel.name, "line": _line(channel.line), "width": _number(channel.width)}


def _slit(slit: Slit) -> Json:
    return {"name": slit.name, "line": _line(slit.line)}


def _notch(notch: Notch) -> Json:
    return {"edge": notch.edge, "at": _number(notch.at)}


def _seam(seam: Seam) -> Json:
    return {"name": seam.name, "a": list(seam.a), "b": list(seam.b), "ease": _number(seam.ease)}


def _line(line: Iterable[Point]) -> list[list[float]]:
    return [_point(point) for point in line]


def _point(point: Point) -> list[float]:
    return [_number(point.x), _number(point.y)]


def _number(length_mm: float) -> float:
    """The number as written: whole ones without a point, and no minus zero."""
    if not math.isfinite(length_mm):
        raise FitError.of(
            "pattern", "It holds a length that is not a finite number.", "It can't be written.", code="not-finite"
        )
    rounded = round(length_mm, WRITTEN_DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def dump_text(pattern: Pattern) -> str:
    """The stored form as text that is the same for the same pattern, easy to read and to compare: one step a line.

    Raises:
        FitError: when a length in it is not a finite number.
    """
    return _laid_out(to_json(pattern), 0) + "\n"


def _laid_out(value: object, depth: int, broken: bool = False) -> str:
    """JSON on one line where it fits, else (or where it must be broken) one entry a line."""
    flat = json.dumps(value, ensure_ascii=False, allow_nan=False)
    if not isinstance(value, dict | list) or not value:
        return flat
    if not broken and len(flat) + 2 * depth <= LINE_WIDTH and not _has_steps(value):
        return flat
    if isinstance(value, dict):
        rows = [f"{_key(key)}: {_laid_out(entry, depth + 1, key == 'path')}" for key, entry in value.items()]
    else:
        rows = [_laid_out(entry, depth + 1) for entry in value]
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    pad = "\n" + "  " * depth
    return opening + ",".join(f"{pad}  {row}" for row in rows) + pad + closing


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=False)


def _has_steps(value: object) -> bool:
    """Whether this is an edge of more than one step, which is broken at each."""
    path = value.get("path") if isinstance(value, dict) else None
    return isinstance(path, list) and len(path) > 1
