"""`length`: every piece cut square to its grain at one level, and closed (or opened) by one amount.

Millimetres. Partners lose the same, so their lengths stay equal. The half away from the waist moves, so the waist
stays where it is; the strip lies half to each side of the line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import ClassVar, Literal, NamedTuple, Self

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.geometry.bezier import box_of
from diagnose.pattern.geometry.curves import line_hits, point_at
from diagnose.pattern.geometry.plane import across, add, dot, mid, scaled, sub, unit
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.moved.gates import crossings, ring_of
from diagnose.pattern.operations.fold import Fold, folded_piece
from diagnose.pattern.operations.operation import Operation
from diagnose.pattern.operations.parameters import Kind, Parameter, a_length, may, need, one_of
from diagnose.pattern.outline import STATIONS, Line, Pattern, Piece, Point
from diagnose.units import both

__all__ = ["Length"]

NOTHING_MM = 1e-9
PLAIN_MM = 1.0
UP = Point(0.0, 1.0)
BELOW_WAIST = ("hip", "bottom")


class _Level(NamedTuple):
    """Where the cut stands in JSON."""

    station: str
    offset: float = 0.0


_LEVEL = Kind(_Level, (need("station", one_of("station", *STATIONS)), may("offset", a_length)))


class Length(Operation, frozen=True):
    """A change of length of the whole garment.

    Attributes:
        station: the level the line is measured from.
        offset: how far above it the line lies, along the grain, mm; negative below it.
        amount: how much is folded out, mm; negative to lengthen.
    """

    op: ClassVar[str] = "length"
    parameters: ClassVar[tuple[Parameter, ...]] = (need("at", _LEVEL.read), need("amount", a_length))
    cuts: ClassVar[bool] = True

    station: str
    offset: float
    amount: float

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with every piece that has the station and reaches the line shortened (or lengthened) there.

        Raises:
            FitError: when no piece has the station or reaches the line, or one has no room for so much; all at once.
        """
        _refuse_bad(pattern, self)
        if abs(self.amount) <= NOTHING_MM:
            return Altered(pattern)
        made, mistakes, left = Altered(pattern), [], []
        for piece in pattern.pieces:
            cut = _cut(piece, self) if self.station in piece.levels else None
            if cut is None:
                left.append(piece.name)
                continue
            try:
                one = folded_piece(made.pattern, piece, cut)
            except FitError as error:
                mistakes += [replace(m, where=f"piece {piece.name}") for m in error.mistakes]
            else:
                made = made.then(one)
        if mistakes:
            raise FitError(mistakes)
        if len(left) == len(pattern.pieces):
            what = f"No piece reaches the line, {_place(self)} the {self.station} level."
            raise FitError.of("at", what, "Give an offset that lies on the paper.")
        return replace(made, notes=(_said(self), *_left_notes(self, left), *made.notes))

    def in_part(self, part: float) -> Self:
        """The change with its amount times `part`."""
        return replace(self, amount=self.amount * part)

    def amounts(self) -> Iterator[str]:
        """How much shorter or longer."""
        yield both(self.amount)

    @classmethod
    def read(cls, reading: Reading, table: Mapping[str, object], where: str) -> object:
        """The change of a JSON object, whose `at` holds station and offset; None once its mistakes are noted."""
        return Kind(_cut_at, cls.parameters).read_table(reading, table, where)

    def to_json(self) -> dict[str, object]:
        """The change as JSON, lengths in mm."""
        return {"op": self.op, "at": {"station": self.station, "offset": self.offset}, "amount": self.amount}


def _refuse_bad(pattern: Pattern, do: Length) -> None:
    if not (math.isfinite(do.offset) and math.isfinite(do.amount)):
        raise FitError.of("length", "The offset or the amount is not a number.", "Give lengths that can be measured.")
    if do.station not in STATIONS or not any(do.station in piece.levels for piece in pattern.pieces):
        known = [name for name in STATIONS if any(name in piece.levels for piece in pattern.pieces)]
        what = f"No piece of the pattern has a level '{do.station}'."
        raise FitError.of("at", what, f"The levels it has: {', '.join(known) or 'none'}.")


def _cut(piece: Piece, do: Length) -> Fold | None:
    """The fold that does it on one piece; None when the line does not reach the piece."""
    up = _up(piece)
    at = add(_on_grain(piece, do.station), scaled(up, do.offset))
    ahead = scaled(across(up), -1.0)
    reach = math.hypot(*at) + sum(map(abs, box_of(outline_segments(piece))))
    start, end = sub(at, scaled(ahead, reach)), add(at, scaled(ahead, reach))
    if not _lies_across(piece, at, up) and not crossings(ring_of(piece), start, end):
        return None
    move: Literal["left", "right"] = "left" if _moves_up(piece, do, at, up) else "right"
    return Fold(piece.name, start, end, do.amount, do.amount, move)


def _lies_across(piece: Piece, at: Point, up: Point) -> bool:
    """Whether corners of the piece plainly lie on both sides of the line; where they do not, a curve still may."""
    heights = [dot(sub(edge.start, at), up) for edge in piece.edges]
    return min(heights) < -PLAIN_MM and max(heights) > PLAIN_MM


def _up(piece: Piece) -> Point:
    """The direction of the grain, upwards; straight up where none is drawn."""
    if piece.grain is None or piece.grain[0] == piece.grain[1]:
        return UP
    way = unit(sub(piece.grain[1], piece.grain[0]))
    return way if dot(way, UP) >= 0.0 else scaled(way, -1.0)


def _on_grain(piece: Piece, station: str) -> Point:
    """Where the station's level crosses the grain line drawn on; the middle of the level where it does not."""
    level = piece.level(station)
    if piece.grain is not None and piece.grain[0] != piece.grain[1]:
        for segment in (Line(a, b) for a, b in pairwise(level) if a != b):
            for t, _ in line_hits(segment, *piece.grain):
                return point_at(segment, t)
    return mid(level[0], level[-1])


def _moves_up(piece: Piece, do: Length, at: Point, up: Point) -> bool:
    """Whether the half above the line is the one away from the waist."""
    if "waist" not in piece.levels:
        return do.station not in BELOW_WAIST
    return dot(sub(at, _on_grain(piece, "waist")), up) >= -NOTHING_MM


def _said(do: Length) -> str:
    word = "shorter" if do.amount > 0.0 else "longer"
    return (
        f"Every piece is {both(abs(do.amount))} {word}, cut {_place(do)} the {do.station} level, square to its grain."
    )


def _place(do: Length) -> str:
    return f"{both(abs(do.offset))} {'above' if do.offset > 0.0 else 'below'}" if do.offset else "at"


def _left_notes(do: Length, left: Sequence[str]) -> tuple[str, ...]:
    if not left:
        return ()
    return (f"Left as they are, since the line does not reach them: {', '.join(left)}.",)


def _cut_at(at: _Level, amount: float) -> Length:
    return Length(at.station, at.offset, amount)
