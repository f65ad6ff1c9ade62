"""`length`: every piece cut along one level, shifted along the grain, and closed (or opened) by one amount.

Millimetres. A level that is straight and square gives a straight square cut, a curved one a curved one. Partners lose
the same, so their lengths stay equal. The half away from the waist moves along the grain, so the waist stays where it
is, and no truing reaches it. A slanting steel edge, which the cut steps, is ruled straight again through its place
at the waist, on the line that strays least from the other levels; what it gives at one and takes at another is taken
and given again at the seam on the piece's other side, so that every level keeps its width. A piece without one keeps
what the straight line comes to, and the report says it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered, EndSet
from diagnose.pattern.finish.given_back import given_back
from diagnose.pattern.finish.walking import met_mm, rises
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.geometry.plane import across, add, dot, mid, scaled
from diagnose.pattern.in_words import piece_title, piece_words
from diagnose.pattern.measure import edge_length, edge_point_at
from diagnose.pattern.moved.band import Band, as_heights
from diagnose.pattern.moved.closing import closed_up
from diagnose.pattern.moved.gates import Ring, ring_of
from diagnose.pattern.operations.level_order import LEVELS_APART_MM, grain_up, level_shifted, levels_too_near, on_grain
from diagnose.pattern.operations.operation import Operation
from diagnose.pattern.operations.parameters import Kind, Parameter, a_length, may, need, not_negative, one_of
from diagnose.pattern.outline import Edge, Pattern, Piece, Point, Polyline
from diagnose.pattern.tolerances import NOTABLE_MM, NOTHING_MM
from diagnose.units import both

__all__ = ["Length"]

PAST_CUT_MM = 2.0 * NOTABLE_MM
"""So far on the waist's side of a level that lies on the cut the paper is opened."""
BELOW_WAIST = ("hip", "bottom")


class _Level(Struct, frozen=True):
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
        between: what is left between two levels at the least, mm.
    """

    op: ClassVar[str] = "length"
    called: ClassVar[str] = "a change of length"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("at", _LEVEL.read),
        need("amount", a_length),
        may("between", not_negative),
    )
    sized: ClassVar[tuple[str, ...]] = ("amount",)
    cuts: ClassVar[bool] = True

    station: str
    offset: float
    amount: float
    between: float = LEVELS_APART_MM

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with every piece that has the station and reaches the line shortened (or lengthened) there.

        Raises:
            FitError: when no piece has the station or reaches the line, or one has no room for so much; all at once.
        """
        _refuse_bad(pattern, self)
        if abs(self.amount) <= NOTHING_MM:
            return Altered(pattern)
        made, mistakes, left = Altered(pattern), list[Mistake](), list[str]()
        for piece in pattern.pieces:
            try:
                one = _shortened(made.pattern, piece, self, cut=_cut_of(pattern, piece, self))
            except FitError as error:
                mistakes += [replace(m, where=f"piece {piece.name}") for m in error.mistakes]
                continue
            if one is None:
                left.append(piece.name)
            else:
                made = made.then(one)
        if mistakes:
            raise FitError(mistakes)
        if len(left) == len(pattern.pieces):
            what = f"No piece reaches the line, {_place(self)} the {self.station} level."
            raise FitError.of("at", what, "Give an offset that lies on the paper.", code="line-misses")
        return replace(made, notes=(_said(self), *_left_notes(pattern, left), *made.notes))

    def amounts(self) -> Iterator[str]:
        """How much shorter or longer."""
        yield f"{both(abs(self.amount))} to {'shorten' if self.amount > 0.0 else 'lengthen'}"

    @classmethod
    def read(cls, reading: Reading, table: Mapping[str, object], where: str) -> object:
        """The change of a JSON object, whose `at` holds station and offset; None once its mistakes are noted."""
        return Kind(_cut_at, cls.parameters).read_table(reading, table, where)

    def to_json(self) -> dict[str, object]:
        """The change as JSON, lengths in mm."""
        between = {"between": self.between} if self.between != LEVELS_APART_MM else {}
        return {"op": self.op, "at": {"station": self.station, "offset": self.offset}, "amount": self.amount, **between}


def _refuse_bad(pattern: Pattern, do: Length) -> None:
    if not (math.isfinite(do.offset) and math.isfinite(do.amount)):
        raise FitError.of(
            "length",
            "The offset or the amount is not a number.",
            "Give lengths that can be measured.",
            code="not-a-number",
        )
    if do.station not in STATIONS or not any(do.station in piece.levels for piece in pattern.pieces):
        known = [name for name in STATIONS if any(name in piece.levels for piece in pattern.pieces)]
        what = f"No piece of the pattern has a level '{do.station}'."
        raise FitError.of("at", what, f"The levels it has: {', '.join(known) or 'none'}.", code="no-such-level")


class _Cut(Struct, frozen=True):
    """The line a piece is cut along, and the side of it that moves: 1 for what lies above."""

    line: Polyline
    moving: float


def _cut_of(pattern: Pattern, piece: Piece, do: Length) -> _Cut | None:
    """Where the piece is cut: along its own level, else where what it is sewn to is cut; None where neither is there.

    A hip gore that ends below the waist has no waist of its own, and is cut across from the one leg to the other.
    """
    if do.station in piece.levels:
        line, up = level_shifted(piece, do.station, do.offset), grain_up(piece)
        return _Cut(line, 1.0 if _moves_up(piece, do, line, up=up) else -1.0)
    met: dict[str, tuple[Point, float]] = {}
    for seam in pattern.seams:
        for own, other in seam.both_ways:
            if own.piece != piece.name or other.piece not in pattern.names or other.slit:
                continue
            beside = pattern.piece(other.piece)
            cut = _cut_of(pattern, beside, do) if do.station in beside.levels else None
            mm = _from_foot(beside.edge(other.edge), cut.line) if cut else None
            if cut and mm is not None:
                edge = piece.edge(own.edge)
                met[edge.name] = edge_point_at(edge, mm if rises(edge) else edge_length(edge) - mm), cut.moving
    if len(met) != len(("front", "back")):
        return None
    (one, moving), (two, _) = met.values()
    return _Cut((one, two), moving)


def _from_foot(edge: Edge, line: Polyline) -> float | None:
    """How far along the edge from its lower end the line, drawn on at both ends, crosses it; None where it does not.

    Of several places the one nearest to an end of the line counts.
    """
    mm = met_mm(edge, (line[1], line[0]), (line[-2], line[-1]))
    return mm if mm is None or rises(edge) else edge_length(edge) - mm


def _shortened(pattern: Pattern, piece: Piece, do: Length, cut: _Cut | None) -> Altered | None:
    """The pattern with that piece shortened; None when no line reaches it.

    Raises:
        FitError: when there is no room for so much.
    """
    if cut is None:
        return None
    up, ring, line, moving = grain_up(piece), ring_of(piece), cut.line, cut.moving
    on_cut = _on_cut(piece, do, line, up=up) if do.station in piece.levels else ()
    if on_cut and do.amount < 0.0:
        line = tuple(add(point, scaled(up, -moving * PAST_CUT_MM)) for point in line)
    # The strip lies on the side that moves, so that what is let in there again comes where it was taken out; half to
    # each side of the line where there is no room for that.
    shifts = (moving * do.amount / 2.0, 0.0) if do.amount > 0.0 else (0.0,)
    for number, by in enumerate(shifts, 1):
        middle = tuple(add(point, scaled(up, by)) for point in line)
        try:
            made = _cut(pattern, piece, ring, band=Band(middle, up, do.amount, moving=moving))
        except FitError:
            if number == len(shifts):
                raise
            continue
        if made is not None:
            now = made.pattern.piece(piece.name)
            if do.amount > 0.0 and (near := [*levels_too_near(piece, now, up, least_mm=do.between)]):
                raise FitError(near)
            return replace(made, notes=(*made.notes, *_moves_when_let_in(piece, on_cut if do.amount > 0.0 else ())))
    return None


def _moves_when_let_in(piece: Piece, levels: Sequence[str]) -> Iterator[str]:
    if levels:
        here, names = piece_words(piece.name), ", ".join(levels)
        yield f"These levels of {here} lie on the cut, and move up or down with what is let in there again: {names}."


def _on_cut(piece: Piece, do: Length, line: Polyline, up: Point) -> tuple[str, ...]:
    """The levels that lie on the cut besides the one it is measured from, as one does that was on the far side of a
    strip folded out there before. They go with the paper that moves; the waist never does.
    """
    heights, ahead = as_heights(line, up), scaled(across(up), -1.0)
    return tuple(
        name
        for name, level in piece.levels.items()
        if heights is not None
        and name not in (do.station, "waist")
        and all(abs(dot(point, up) - heights(dot(point, ahead))) <= NOTABLE_MM for point in level)
    )


def _cut(pattern: Pattern, piece: Piece, ring: Ring, band: Band) -> Altered | None:
    through = band.crossings(ring)
    if not through:
        return None
    gates = band.gates(ring, through)
    made = closed_up(pattern, piece, ring, gates=gates, paper=band.paper(), keep="waist")
    made = replace(made, zones=(*band.zones(piece.name, ring, through), *made.zones))
    return given_back(made, piece) if any(isinstance(zone, EndSet) for zone in made.zones) else made


def _moves_up(piece: Piece, do: Length, line: Polyline, up: Point) -> bool:
    """Whether the half above the line is the one away from the waist."""
    if "waist" not in piece.levels:
        return do.station not in BELOW_WAIST
    at = on_grain(piece, "waist")
    heights = as_heights(line, up)
    above = heights(dot(at, scaled(across(up), -1.0))) if heights else dot(mid(line[0], line[-1]), up)
    return above - dot(at, up) >= -NOTHING_MM


def _said(do: Length) -> str:
    word = "shorter" if do.amount > 0.0 else "longer"
    return f"Every piece is {both(abs(do.amount))} {word}, cut {_place(do)} the {do.station} level, along its own line."


def _place(do: Length) -> str:
    return f"{both(abs(do.offset))} {'above' if do.offset > 0.0 else 'below'}" if do.offset else "at"


def _left_notes(pattern: Pattern, left: Sequence[str]) -> tuple[str, ...]:
    """What is left as it is; a gore is not, which is cut as the slit it is sewn into."""
    gores = {own.piece for own, _, _ in pattern.in_slits}
    others = [piece_title(name) for name in left if name not in gores]
    return (f"Left as they are, since the line does not reach them: {', '.join(others)}.",) if others else ()


def _cut_at(at: _Level, amount: float, between: float = LEVELS_APART_MM) -> Length:
    return Length(at.station, at.offset, amount, between=between)
