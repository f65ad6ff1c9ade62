"""`marks`: lines and points on the paper drawn anew while the outline stays: grain, levels, landmarks.

Millimetres and degrees. `grain_deg` turns the grain line about its middle, counter-clockwise as seen with the waist
level. `levels` moves a level up (less than nothing: down), square to itself, by so much at its front and at its back
end, evenly between, or evenly to `middle` half-way and on from there; it is drawn on to the outline again. `landmarks`
moves points of that name by [dx, dy].
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake, nearest
from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import across, add, along, distance, mid, scaled, sub, turn, unit
from diagnose.pattern.geometry.polylines import part_along
from diagnose.pattern.in_words import piece_first, piece_words
from diagnose.pattern.measure import cut_level, line_length
from diagnose.pattern.operations.channels import SHIFTED, Shifted
from diagnose.pattern.operations.operation import OnPiece, nothing_asked
from diagnose.pattern.operations.parameters import (
    Kind,
    Parameter,
    a_length,
    a_name,
    degrees,
    many,
    may,
    need,
    one_of,
    or_none,
)
from diagnose.pattern.outline import Pattern, Piece, Polyline
from diagnose.units import INCH_MM, both

__all__ = ["LevelShift", "Marks"]

DRAWN_ON_MM = INCH_MM
HALF_WAY = 0.5
POINTS = 8
"""Into how many parts a level is divided that is bent in its middle."""


class LevelShift(Struct, frozen=True):
    """A level to move, and how far up at its front and at its back end; and half-way, if not between."""

    station: str
    front: float
    back: float
    middle: float | None = None

    def at(self, part: float) -> float:
        """How far up at that part of its length."""
        if self.middle is None:
            return self.front + (self.back - self.front) * part
        end = self.front if part < HALF_WAY else self.back
        return self.middle + (end - self.middle) * abs(part - HALF_WAY) / HALF_WAY


_LEVEL_SHIFT = Kind(
    LevelShift,
    (
        need("station", one_of("station", *STATIONS)), need("front", a_length), need("back", a_length),
        may("middle", or_none(a_length)),
    ),
)  # fmt: skip


class Marks(OnPiece, frozen=True):
    """What to draw anew on one piece; see the module's own description."""

    op: ClassVar[str] = "marks"
    called: ClassVar[str] = "marks redrawn"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        may("grain_deg", degrees),
        many("levels", _LEVEL_SHIFT),
        many("landmarks", SHIFTED),
    )

    grain_deg: float = 0.0
    levels: tuple[LevelShift, ...] = ()
    landmarks: tuple[Shifted, ...] = ()

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the marks drawn anew.

        Raises:
            FitError: for everything asked for that the piece does not bear, or that would leave it.
        """
        piece = pattern.piece(self.piece)
        _refuse(piece, self)
        moved = {shift.station: _level(piece, shift) for shift in self.levels}
        points = {shift.name: add(piece.landmarks[shift.name], shift.by) for shift in self.landmarks}
        made = replace(piece, levels={**piece.levels, **moved}, landmarks={**piece.landmarks, **points})
        if self.grain_deg and piece.grain:
            about = turn(mid(*piece.grain), math.radians(self.grain_deg))
            made = replace(made, grain=(about(piece.grain[0]), about(piece.grain[1])))
        return Altered(pattern.with_piece(made), tuple(_said(self)))


def _refuse(piece: Piece, do: Marks) -> None:
    mistakes = [*nothing_asked(do, "grain_deg", "levels", "landmarks")]
    if do.grain_deg and piece.grain is None:
        mistakes.append(
            Mistake(
                "grain_deg",
                f"{piece_first(piece.name)} has no grain line.",
                "Draw one first.",
                code="no-grain",
            )
        )
    named = [("levels", shift.station, piece.levels) for shift in do.levels]
    for where, name, there in (*named, *(("landmarks", shift.name, piece.landmarks) for shift in do.landmarks)):
        if name not in there:
            what = f"{piece_first(piece.name)} has no '{name}' among its {where}."
            mistakes.append(
                Mistake(where, what, nearest(name, there) if there else "It has none.", code="no-such-mark")
            )
    if mistakes:
        raise FitError(mistakes)


def _level(piece: Piece, shift: LevelShift) -> Polyline:
    """The level moved, its ends on the outline."""
    line = piece.levels[shift.station]
    if shift.middle is not None:
        legs = list(pairwise(line))
        line = tuple(part_along(legs, n / POINTS) for n in range(POINTS + 1))
    up = across(unit(sub(line[-1], line[0])))
    whole = line_length(line)
    done, moved = 0.0, []
    for index, point in enumerate(line):
        done += distance(line[index - 1], point) if index else 0.0
        moved.append(add(point, scaled(up, shift.at(done / whole))))
    first, last = (along(inner, end, 1.0 + DRAWN_ON_MM / distance(inner, end)) for inner, end in (
        (moved[1], moved[0]), (moved[-2], moved[-1]),
    ))  # fmt: skip
    ends = cut_level(piece, (first, *moved[1:-1], last)).ends
    if ends is None:
        what = f"The {shift.station} level would leave {piece_words(piece.name)}."
        raise FitError.of("levels", what, "Move it by less.", code="off-piece")
    return (ends[0], *moved[1:-1], ends[1])


def _said(do: Marks) -> Iterator[str]:
    for shift in do.levels:
        middle = "" if shift.middle is None else f", {_moved(shift.middle)} half-way"
        moved = f"{_moved(shift.front)} at its front end and {_moved(shift.back)} at its back end{middle}"
        yield f"The {shift.station} level of {piece_words(do.piece)} is drawn anew, {moved}."
    if do.grain_deg:
        way = "back" if do.grain_deg < 0.0 else "front"
        turned = f"turned {abs(do.grain_deg):.0f} degrees toward the {way}"
        yield f"The top of the grain line of {piece_words(do.piece)} is {turned}."


def _moved(mm: float) -> str:
    return f"{both(abs(mm))} {'lower' if mm < 0.0 else 'higher'}" if mm else "where it was"
