"""Laying oblongs in rows: pieces on sheets of paper, and pieces along the cloth. Millimetres, y upwards.

Shelf packing: the oblongs are laid from the left, each in the first row that has room for it; rows go downwards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

__all__ = ["Laid", "Oblong", "Spot", "shelves"]

ROOM_TOL_MM = 1e-6


class Oblong(Struct, frozen=True):
    """What is to be laid: width and height in mm."""

    width: float
    height: float

    @property
    def turned(self) -> Oblong:
        """The oblong turned by a quarter."""
        return Oblong(self.height, self.width)


class Spot(Struct, frozen=True):
    """Where an oblong's upper left corner lies: to the right of the sheet's, and down from it."""

    across: float
    down: float


class Laid(Struct, frozen=True):
    """All spots, in the order of the oblongs, and how much of the sheet they take."""

    spots: tuple[Spot, ...]
    width: float
    height: float


def shelves(
    oblongs: Sequence[Oblong],
    width_mm: float,
    between_mm: float,
    *,
    by_height: bool = True,
    step_mm: tuple[float, float] | None = None,
) -> Laid | None:
    """The oblongs laid in rows of a sheet of that width, or None when one is wider than it.

    Args:
        oblongs: what to lay.
        width_mm: of the sheet.
        between_mm: how far apart they lie.
        by_height: lay the tall ones first; otherwise in their own order.
        step_mm: start every oblong at a whole number of these steps across and down.
    """
    if any(one.width > width_mm + ROOM_TOL_MM for one in oblongs):
        return None
    order = sorted(range(len(oblongs)), key=lambda n: (-oblongs[n].height if by_height else 0.0, n))
    spots = [Spot(0.0, 0.0)] * len(oblongs)
    rows = list[_Row]()
    for n in order:
        row = next((row for row in rows if row.takes(oblongs[n], width_mm, between_mm, step_mm=step_mm)), None)
        if row is None:
            row = _Row(_on_step(rows[-1].down + rows[-1].high + between_mm, step_mm, 1) if rows else 0.0,
                       oblongs[n].height)  # fmt: skip
            rows.append(row)
        spots[n] = row.lay(oblongs[n], between_mm, step_mm)
    wide = max((spot.across + one.width for spot, one in zip(spots, oblongs, strict=True)), default=0.0)
    high = max((spot.down + one.height for spot, one in zip(spots, oblongs, strict=True)), default=0.0)
    return Laid(tuple(spots), wide, high)


def _on_step(at: float, step_mm: tuple[float, float] | None, axis: int) -> float:
    return at if step_mm is None else math.ceil(at / step_mm[axis] - ROOM_TOL_MM) * step_mm[axis]


class _Row:
    """A row that is being filled: its upper edge, its height, and where its last oblong ends."""

    def __init__(self, down: float, high: float) -> None:
        self.down = down
        self.high = high
        self.end = 0.0
        self.last = False

    def next_at(self, between_mm: float, step_mm: tuple[float, float] | None) -> float:
        return _on_step(self.end + between_mm, step_mm, 0) if self.last else 0.0

    def takes(self, one: Oblong, width_mm: float, between_mm: float, step_mm: tuple[float, float] | None) -> bool:
        ends = self.next_at(between_mm, step_mm) + one.width
        return ends <= width_mm + ROOM_TOL_MM and one.height <= self.high + ROOM_TOL_MM

    def lay(self, one: Oblong, between_mm: float, step_mm: tuple[float, float] | None) -> Spot:
        at = self.next_at(between_mm, step_mm)
        self.end, self.last = at + one.width, True
        return Spot(at, self.down)
