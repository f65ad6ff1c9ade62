"""Strap pieces that a pattern asks for by its strap marks alone, having no piece of its own for them. Millimetres."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct

from diagnose.model.settings import Settings
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import edge_length
from diagnose.pattern.operations.strap import STRAPS_KEY
from diagnose.pattern.outline import Pattern, Piece, Point

__all__ = ["StrapPiece", "strap_pieces"]

FRONT, BACK = "strap-front", "strap-back"
"""Where the operation `strap` keeps, as piece/end, by how much a strap is longer and wider than at first."""

MIDDLE_RATIO = 0.1
"""How far from the middle of an edge, as a part of it, a strap's mark may lie for the strap to be as wide."""


class StrapPiece(Struct, frozen=True):
    """One strap, cut too long: its length, its widths at the front and at the back, and how many."""

    length_mm: float
    front_mm: float
    back_mm: float
    count: int


def strap_pieces(pattern: Pattern, settings: Settings) -> tuple[StrapPiece, ...]:
    """A strap for each side that the pattern marks a front or back fixing on."""
    fronts, backs = list(_ends(pattern, FRONT)), list(_ends(pattern, BACK))
    if not fronts and not backs:
        return ()
    plain = settings.mm("strap-width")
    longer = max((added for *_, added in (*fronts, *backs)), default=0.0)
    front = next((width for width, _, _ in fronts if width), plain)
    back = next((width for width, _, _ in backs if width), plain)
    count = max(sum(copies for _, copies, _ in ends) for ends in (fronts, backs))
    return (StrapPiece(settings.mm("strap-cut") + max(0.0, longer), front, back, count=count),)


def _ends(pattern: Pattern, landmark: str) -> Iterator[tuple[float, int, float]]:
    """For each fixing: the strap's width there (0 where no edge tells it), how many, and by how much it is longer."""
    for piece in pattern.pieces:
        spot = piece.landmarks.get(landmark)
        if spot is not None:
            wider, longer = (_recorded(pattern, piece, landmark, key=key) for key in ("widened_mm", "lengthened_mm"))
            width = _width(piece, spot)
            yield (width + wider if width else 0.0), piece.copies, longer


def _width(piece: Piece, spot: Point) -> float:
    """The length of the top edge whose middle the mark is."""
    for edge in piece.edges:
        if edge.role == "top":
            size = edge_length(edge)
            along, off = run_nearest(edge.segments, spot)
            if abs(along - size / 2.0) <= MIDDLE_RATIO * size and off <= MIDDLE_RATIO * size:
                return size
    return 0.0


def _recorded(pattern: Pattern, piece: Piece, landmark: str, key: str) -> float:
    straps = pattern.extra.get(STRAPS_KEY)
    name = f"{piece.name}/{landmark.removeprefix('strap-')}"
    entry = straps.get(name) if isinstance(straps, Mapping) else None
    value = entry.get(key) if isinstance(entry, Mapping) else None
    return float(value) if isinstance(value, int | float) else 0.0
