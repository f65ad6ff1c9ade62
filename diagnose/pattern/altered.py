"""What an operation hands back: the new pattern, and what the maker should know about it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from diagnose.pattern.outline import Pattern

__all__ = ["Altered", "Trued"]


class Trued(Struct, frozen=True):
    """One place where an edge was redrawn because its parts no longer met fairly.

    Attributes:
        piece: the piece's name.
        edge: the edge's name.
        why: `corner` where a corner had appeared, `step` where the edge had jumped sideways, `partner` where its length
            was brought back to that of the edge it is sewn to.
        by_mm: the most the line moved, square to itself (for `partner`, the change of length: longer is positive).
        reach_mm: how far along the edge the redrawing goes, the whole of it.
    """

    piece: str
    edge: str
    why: Literal["corner", "step", "partner"]
    by_mm: float
    reach_mm: float


class Altered(Struct, frozen=True):
    """A new pattern, plain sentences for the maker, and what was trued."""

    pattern: Pattern
    notes: tuple[str, ...] = ()
    trued: tuple[Trued, ...] = ()
