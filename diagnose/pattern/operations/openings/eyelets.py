"""`eyelets`: the holes of a lacing edge set closer together for a span on either side of the waist.

Millimetres. The outline stays; what is asked for is kept with the pattern, under ``eyelets``, by ``PIECE/EDGE``, and
the cutting list places the holes by it. Twice as many holes stand over `span`, measured along the edge from the waist
level, up and down.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.in_words import edge_words, piece_words
from diagnose.pattern.measure import cut_level
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import Parameter, a_name, above_nothing, need
from diagnose.pattern.outline import Edge, Pattern, Piece
from diagnose.sentences import upper_first
from diagnose.units import both

__all__ = ["Closer", "Eyelets", "closer_at"]

KEY = "eyelets"
TIMES = 2.0


class Closer(Struct, frozen=True):
    """Where along a lacing edge its holes stand closer: mm from the edge's start, and how many times as many."""

    from_mm: float
    to_mm: float
    times: float


class Eyelets(OnPiece, frozen=True):
    """Which lacing edge, and for how far above and below the waist."""

    op: ClassVar[str] = "eyelets"
    called: ClassVar[str] = "eyelets set closer"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name), need("edge", a_name), need("span", above_nothing),
    )  # fmt: skip

    edge: str
    span: float

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the wish kept beside it.

        Raises:
            FitError: when the edge is no lacing edge, or no waist level meets it.
        """
        piece = pattern.piece(self.piece)
        edge = piece.edge(self.edge)
        if edge.role != "lacing":
            where = f"{upper_first(edge_words(edge))} of {piece_words(piece.name)}"
            what = f"{where} is a {edge.role} edge, and bears no eyelets."
            raise FitError.of("edge", what, "Name a lacing edge.", code="wrong-role")
        _waist_mm(piece, edge)
        kept = pattern.extra.get(KEY)
        wishes = dict(kept) if isinstance(kept, Mapping) else {}
        wishes[f"{piece.name}/{edge.name}"] = {"span_mm": self.span, "times": TIMES}
        note = f"Twice as many eyelets on {piece_words(piece.name)} for {both(self.span)} above and below the waist."
        return Altered(replace(pattern, extra={**pattern.extra, KEY: wishes}), (note,))


def closer_at(pattern: Pattern, piece: Piece, edge: Edge) -> Closer | None:
    """Where the holes of a lacing edge are to stand closer; None where nothing was asked for."""
    kept = pattern.extra.get(KEY)
    wish = kept.get(f"{piece.name}/{edge.name}") if isinstance(kept, Mapping) else None
    if not isinstance(wish, Mapping) or "waist" not in piece.levels:
        return None
    span, times = wish.get("span_mm"), wish.get("times")
    if not isinstance(span, int | float) or not isinstance(times, int | float) or span <= 0.0 or times < 1.0:
        return None
    waist = _waist_mm(piece, edge)
    return Closer(waist - span, waist + span, float(times))


def _waist_mm(piece: Piece, edge: Edge) -> float:
    """How far along the edge the waist level meets it."""
    parts = cut_level(piece, piece.level("waist")).parts
    ends = [point for part in parts for point in part]
    if not ends:
        raise FitError.of(
            "piece",
            f"The waist level misses {piece_words(piece.name)}.",
            "Draw the level across it.",
            code="level-misses",
        )
    return min((run_nearest(edge.segments, point) for point in ends), key=lambda found: found[1])[0]
