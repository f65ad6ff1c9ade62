"""What a drawing of ours tells beside its lines (`form.drawing_data`), read: data attributes or extended data."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import cast
from urllib.parse import unquote

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.brought.sketch import Sketch, Stroke, carried
from diagnose.pattern.form.piece_reader import KEYS
from diagnose.pattern.geometry.plane import TURNED_OVER, Affine
from diagnose.pattern.outline import ROLES, EdgeRef, Piece, Role, Seam

__all__ = [
    "EdgeTold", "laid_back", "told_by_piece", "told_edges", "told_extra",
    "told_number", "told_seams",
]  # fmt: skip

Words = Mapping[str, str]


class EdgeTold(Struct, frozen=True):
    """One edge of an outline, and how many of its steps it is."""

    name: str
    role: Role
    steps: int


def told_by_piece(strokes: Iterable[Stroke]) -> dict[str, dict[str, str]]:
    """The data of each piece's lines together, by its name; what is told first holds."""
    found: dict[str, dict[str, str]] = {}
    for stroke in strokes:
        if stroke.piece and stroke.data:
            found[stroke.piece] = {**stroke.data, **found.get(stroke.piece, {})}
    return found


def laid_back(sketch: Sketch) -> Sketch:
    """The sketch with the pieces where they lie in the pattern that say they were moved or turned over on it."""
    moves = {name: move for name, data in told_by_piece(sketch.strokes).items() if (move := _back(data))}
    for name, move in moves.items():
        back = carried(sketch, move)
        sketch = replace(
            sketch,
            strokes=tuple(b if a.piece == name else a for a, b in zip(sketch.strokes, back.strokes, strict=True)),
            dots=tuple(b if a.piece == name else a for a, b in zip(sketch.dots, back.dots, strict=True)),
        )
    return sketch


def _back(data: Words) -> Affine | None:
    by = [_number(word) for word in data.get("lies", "").split()]
    move = Affine(dx=-by[0], dy=-by[1]) if len(by) == 2 else Affine()
    turned = data.get("turned") == "over"
    return move.then(TURNED_OVER) if turned else move if len(by) == 2 else None


def _number(text: str) -> float:
    """The number, 0 where there is none that a pattern could have."""
    try:
        value = float(text[:40])
    except ValueError:
        return 0.0
    return value if math.isfinite(value) and abs(value) < 1e6 else 0.0


def told_number(data: Words) -> int | None:
    """The place among the pieces; None for one that was never stored by us."""
    text = data.get("number", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else None


def told_edges(data: Words) -> tuple[EdgeTold, ...]:
    """The edges in order; none when any can't be read."""
    words = [word.rsplit(":", 2) for word in data.get("edges", "").split()]
    if any(len(word) != 3 or word[1] not in ROLES or not word[2].isdecimal() for word in words):
        return ()
    found = tuple(EdgeTold(unquote(name), cast(Role, role), int(steps[:9])) for name, role, steps in words)
    return () if any(edge.steps == 0 for edge in found) else found


def told_seams(pieces: Sequence[Piece], told: Sequence[Words]) -> tuple[tuple[Seam, ...] | None, tuple[str, ...]]:
    """The seams that pieces tell, and a sentence on those whose edges are no longer there; None where none tell any.

    Args:
        pieces: as they were found.
        told: the data of each.
    """
    if not any("sewn" in data for data in told):
        return None, ()
    rows = [
        (piece.name, word.split(":"))
        for piece, data in zip(pieces, told, strict=True) for word in data.get("sewn", "").split()
    ]  # fmt: skip
    sound = [(name, row) for name, row in rows if len(row) == 6 and row[0].isdecimal()]
    seams = [_seam(name, row) for name, row in sorted(sound, key=lambda one: int(one[1][0][:9]))]
    edges = {EdgeRef(piece.name, name) for piece in pieces for name in _edge_names(piece)}
    kept = tuple(seam for seam in seams if {seam.a, seam.b} <= edges)
    gone = ", ".join(seam.name for seam in seams if seam not in kept)
    return kept, (f"Seams whose edges are no longer in the drawing were left out: {gone}.",) if gone else ()


def _seam(piece: str, row: Sequence[str]) -> Seam:
    name, edge, other, other_edge = map(unquote, row[1:5])
    return Seam(name, EdgeRef(piece, edge), EdgeRef(other, other_edge), ease=_number(row[5]))


def _edge_names(piece: Piece) -> Iterable[str]:
    return (*(edge.name for edge in piece.edges), *(f"slit:{slit.name}" for slit in piece.slits))


def told_extra(text: str, kind: str) -> dict[str, object]:
    """The keys of an object of that kind (`KEYS`) that the program does not know; none when they can't be read."""
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    if not isinstance(raw, dict):
        return {}
    parts = {key: _inner(value, key) for key, value in raw.items() if key in KEYS and key in KEYS[kind]}
    others = {key: value for key, value in raw.items() if key not in KEYS[kind]}
    return {**others, **{key: inner for key, inner in parts.items() if inner}}


def _inner(raw: object, kind: str) -> dict[str, object]:
    """The unknown keys of named parts."""
    rows = raw if isinstance(raw, dict) else {}
    return {
        name: {key: value for key, value in row.items() if key not in KEYS[kind]}
        for name, row in rows.items() if isinstance(row, dict)
    }  # fmt: skip
