"""What a drawing of ours tells beside its lines, as it is written: data attributes in SVG, extended data in DXF.

Data are words by key. A mark bears ``piece`` and ``mark`` (``level waist``, ``channel f1``, ``notch`` …), a notch its
``edge`` too. A piece's outline bears ``piece``, ``cut``, ``side`` and ``edges`` (in order, ``NAME:ROLE:STEPS``), and,
where the whole stored pattern is to come back: ``number`` (its place among the pieces), ``lies`` (how far it was moved
on the drawing, in mm, x and y), ``turned`` (``over``), ``pattern``, ``closure``, ``sewn`` (its seams, as
``NUMBER:NAME:EDGE:PIECE:EDGE:EASE``), ``extra`` and ``pattern-extra`` (JSON of keys the program does not know).
Names within a list are written as in web addresses, so that blanks and colons part the list alone.
"""

from __future__ import annotations

import json
from urllib.parse import quote

from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Pattern, Piece

__all__ = ["APPLICATION", "edge_data", "mark_data", "piece_data"]

APPLICATION = "STAYS-PATTERN"
"""Whose extended data it is in DXF."""


def mark_data(piece: Piece, mark: str, **more: str) -> dict[str, str]:
    """The data of one mark on a piece."""
    return {"piece": piece.name, "mark": mark, **more}


def edge_data(piece: Piece) -> str:
    """The edges of a piece in order."""
    return " ".join(f"{_quoted(edge.name)}:{edge.role}:{len(edge.segments)}" for edge in piece.edges)


def piece_data(pattern: Pattern, piece: Piece, move: Affine) -> dict[str, str]:
    """The data of a piece that the move has put on the drawing: all that its lines and marks do not say."""
    number = pattern.names.index(piece.name) + 1
    words = {"piece": piece.name, "cut": piece.cut, "side": piece.side, "number": str(number)}
    if move.xx < 0.0:
        words["turned"] = "over"
    if move.dx or move.dy:
        words["lies"] = f"{_plain(move.dx)} {_plain(move.dy)}"
    words |= {"pattern": pattern.name, "closure": pattern.closure, "sewn": _seam_data(pattern, piece.name)}
    extras = (("extra", piece.extra), ("pattern-extra", pattern.extra if number == 1 else {}))
    return words | {key: json.dumps(extra, ensure_ascii=False) for key, extra in extras if extra}


def _seam_data(pattern: Pattern, piece: str) -> str:
    rows = [
        (str(n), *map(_quoted, (seam.name, seam.a.edge, *seam.b)), _plain(seam.ease))
        for n, seam in enumerate(pattern.seams, 1) if seam.a.piece == piece
    ]  # fmt: skip
    return " ".join(":".join(row) for row in rows)


def _quoted(name: str) -> str:
    return quote(name, safe="")


def _plain(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
