"""`dart`: a wedge closed at its mouth, and the slash from its point to another edge opened by the same angle.

Millimetres. The legs are the line point→mouth turned about the point by half the angle each way, angle =
2·asin(width / 2L), L the distance from point to mouth. Without a relief the point lies on the outline and the wedge
runs through.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import ClassVar, Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.altered import Altered, PaperOpened, WedgeClosed, Zone
from diagnose.pattern.geometry.plane import Affine, add, cross, distance, dot, scaled, sub, turn, turned, unit
from diagnose.pattern.in_words import piece_words
from diagnose.pattern.measure import is_inside
from diagnose.pattern.moved.carried_marks import Paper, Part
from diagnose.pattern.moved.closing import closed_up
from diagnose.pattern.moved.gates import Gate, Place, Ring, hits, place_of, ring_of
from diagnose.pattern.moved.regions import Regions, regions_of
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import SIDE, Parameter, a_length, a_name, a_point, may, need, or_none
from diagnose.pattern.outline import Pattern, Piece, Point, Polyline
from diagnose.pattern.tolerances import NOTHING_MM, ON_OUTLINE_MM, PAST_MM
from diagnose.units import both

__all__ = ["Dart"]

LEAST_WIDTH_MM = 1e-3
NEAR_POINT_MM = 0.01


class Dart(OnPiece, frozen=True):
    """A dart to close.

    Attributes:
        piece: the piece's name.
        mouth: the middle of its opening, on an edge.
        width: the opening, mm; not negative.
        point: its point, inside the piece (on the outline where there is no relief).
        relief: where the slash from the point reaches another edge, or None.
        turn: the side of point→mouth that turns; None for the smaller part.
    """

    op: ClassVar[str] = "dart"
    called: ClassVar[str] = "a dart"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        need("mouth", a_point),
        need("width", a_length),
        need("point", a_point),
        may("relief", or_none(a_point)),
        may("turn", or_none(SIDE)),
    )
    sized: ClassVar[tuple[str, ...]] = ("width",)
    cuts: ClassVar[bool] = True

    mouth: Point
    width: float
    point: Point
    relief: Point | None = None
    turn: Literal["left", "right"] | None = None

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the dart closed and its slash opened, trued, and everything on the paper carried.

        Raises:
            FitError: when the places do not lie where a dart needs them, or there is no room for so much.
        """
        piece = pattern.piece(self.piece)
        ring = ring_of(piece)
        at = _placed(piece, ring, self)
        if self.width <= LEAST_WIDTH_MM:
            return Altered(pattern)
        made = _Wedge(ring, self, at).closed(pattern, piece)
        return replace(made, notes=(_said(self), *made.notes))


class _Places(Struct, frozen=True):
    """Where the dart meets the ring: the middle of its mouth, and where the other cut ends; and the point itself."""

    mouth: Place
    far: Place
    point: Point


def _placed(piece: Piece, ring: Ring, do: Dart) -> _Places:
    """The dart's places on the outline; every mistake of its parameters at once."""
    mistakes = [*_bad_numbers(do)]
    if mistakes:
        raise FitError(mistakes)
    mouth, off = place_of(ring, do.mouth)
    far_point = do.relief or do.point
    far, far_off = place_of(ring, far_point)
    if off > ON_OUTLINE_MM:
        mistakes.append(_off_outline(piece, "mouth", do.mouth, off_mm=off))
    if far_off > ON_OUTLINE_MM:
        hint = " A dart that ends inside the paper needs a relief: a place on another edge." if not do.relief else ""
        mistakes.append(_off_outline(piece, "relief" if do.relief else "point", far_point, off_mm=far_off, hint=hint))
    if do.relief and not is_inside(piece, do.point):
        what = f"The dart's point, {do.point}, lies outside {piece_words(piece.name)}."
        mistakes.append(Mistake("point", what, "Give a place inside it.", code="off-piece"))
    if mistakes:
        raise FitError(mistakes)
    point = do.point if do.relief else ring.point(far)
    # The legs stand to either side of the line from the point, so that is where the mouth has its middle.
    on_line = min(hits(ring, point, do.mouth), key=lambda hit: abs(hit[1] - 1.0), default=(mouth, 1.0))
    return _Places(on_line[0], far, point)


def _bad_numbers(do: Dart) -> Iterator[Mistake]:
    numbers = (*do.mouth, *do.point, *(do.relief or ()), do.width)
    long = distance(do.mouth, do.point)
    if not all(map(math.isfinite, numbers)):
        yield Mistake(
            "dart", "A place or the width is not a number.", "Give lengths that can be measured.", code="not-a-number"
        )
    elif do.width < 0.0:
        what = f"A dart of {both(do.width)} cannot be closed."
        yield Mistake(
            "width",
            what,
            "To open the paper instead, close a dart from the other edge, or spread with a fold.",
            code="too-narrow",
        )
    elif long < ON_OUTLINE_MM or (do.relief and distance(do.relief, do.point) < ON_OUTLINE_MM):
        yield Mistake(
            "point",
            "The dart's point lies on its mouth or its relief.",
            "Give different places.",
            code="point-on-mouth",
        )
    elif do.width >= long:
        what = f"The dart is {both(do.width)} wide but only {both(long)} long."
        yield Mistake("width", what, "Take a longer dart, or divide the width between two.", code="too-wide")
    if do.turn not in ("left", "right", None):
        yield Mistake(
            "turn",
            f"'{do.turn}' is no side of a line.",
            "Write left or right (of point→mouth), or leave it out.",
            code="not-a-side",
        )


def _off_outline(piece: Piece, name: str, point: Point, off_mm: float, hint: str = "") -> Mistake:
    what = f"The {name}, {point}, lies {both(off_mm)} from the outline of {piece_words(piece.name)}."
    return Mistake(name, what, f"Give a place on an edge.{hint}", code="off-outline")


def _said(do: Dart) -> str:
    taken = f"In {piece_words(do.piece)} closed a dart {both(do.width)} wide and {both(distance(do.mouth, do.point))}"
    taken += " long"
    if do.relief is None:
        return f"{taken}, right through to the other edge."
    opened = do.width * distance(do.relief, do.point) / distance(do.mouth, do.point)
    return f"{taken}; the slash to the other edge opens {both(opened)}."


class _Wedge:
    """The geometry of a dart whose parameters hold. Sides are 1 for left of point→mouth and -1 for right."""

    def __init__(self, ring: Ring, do: Dart, at: _Places) -> None:
        self.ring, self.at = ring, at
        self.size = distance(at.point, do.mouth)
        self.half = math.asin(do.width / (2.0 * self.size))
        self.ahead = unit(sub(do.mouth, at.point))
        self.far = None if do.relief is None else ring.point(at.far)
        self.legs = {side: self._leg(side) for side in (1.0, -1.0)}
        self._refuse_blocked()
        self.moving = {"left": 1.0, "right": -1.0}[do.turn] if do.turn else self._smaller()

    def _leg(self, side: float) -> tuple[Place, Point]:
        """Where that leg first meets the outline."""
        way = turned(self.ahead, side * self.half)
        found = [
            (s, place) for place, s in hits(self.ring, self.at.point, add(self.at.point, way)) if s > NEAR_POINT_MM
        ]
        if not found:
            raise FitError.of(
                "amount", "A leg of the dart does not meet the outline.", "Take a narrower dart.", code="off-outline"
            )
        place = min(found)[1]
        return place, self.ring.point(place)

    def _refuse_blocked(self) -> None:
        """Refuse a slash that leaves the paper on its way, and legs that end on either side of something else."""
        ring, mouth = self.ring, self.at.mouth
        gap = ring.after(self.legs[-1.0][0], self.legs[1.0][0])
        if ring.after(self.legs[-1.0][0], mouth) > gap:
            what = "The dart's legs do not end to either side of its mouth: something lies between."
            raise FitError.of("amount", what, "Take a narrower dart, or set it elsewhere.", code="mouth-blocked")
        if self.far is None:
            return
        size = distance(self.at.point, self.far)
        between = [
            s for _, s in hits(ring, self.at.point, self.far) if NEAR_POINT_MM / size < s < 1.0 - ON_OUTLINE_MM / size
        ]
        if between:
            what = "The slash from the dart's point to its relief leaves the paper on its way."
            raise FitError.of(
                "relief", what, "Set the relief where the line to it stays inside the piece.", code="slash-off-piece"
            )

    def gates(self, moving: float) -> list[Gate]:
        """The wedge and the end of the other cut; behind the mouth in ring order comes the left part."""
        into = moving > 0.0
        return [
            Gate(self.legs[-1.0][0], self.legs[1.0][0], into_moved=into),
            Gate(self.at.far, self.at.far, into_moved=not into),
        ]

    def _regions(self, moving: float) -> Regions:
        return regions_of(self.ring, self.gates(moving), self.at.point)

    def _smaller(self) -> float:
        regions = self._regions(1.0)
        return 1.0 if regions.moving.area < regions.staying.area else -1.0

    def closed(self, pattern: Pattern, piece: Piece) -> Altered:
        """The pattern with the dart closed."""
        made = closed_up(pattern, piece, self.ring, gates=self.gates(self.moving), paper=self._paper())
        return replace(made, zones=(*self._zones(piece.name), *made.zones))

    def _zones(self, piece: str) -> Iterator[Zone]:
        """The wedge, and the opening of the slash."""
        point, mouth = self.at.point, self.ring.point(self.at.mouth)
        yield WedgeClosed(
            piece=piece,
            mouth=mouth,
            point=point,
            width=2.0 * self.size * math.sin(self.half),
            moving=self.legs[self.moving][1],
            still=self.legs[-self.moving][1],
        )
        if self.far is not None:
            now = self._move()(self.far)
            yield PaperOpened(piece, (point, self.far), (0.0, distance(self.far, now)), ring=(point, self.far, now))

    def _move(self) -> Affine:
        return turn(self.at.point, -2.0 * self.moving * self.half)

    def _paper(self) -> Paper:
        pivot, regions = self.at.point, self._regions(self.moving)
        lean, deep = math.tan(self.half), PAST_MM + max(distance(pivot, end) for _, end in self.legs.values())
        stays = unit(sub(self.legs[-self.moving][1], pivot))

        @cache
        def part_of(point: Point) -> Part:
            off = sub(point, pivot)
            forward = dot(off, self.ahead)
            between = forward > 0.0 and abs(cross(self.ahead, off)) < forward * lean - NOTHING_MM
            if between and (forward < deep or not regions.holds(point)):
                return "strip"
            return regions.part_of(point)

        def laid(point: Point) -> Point:
            return add(pivot, scaled(stays, distance(point, pivot)))

        return Paper(self._move(), tuple(self._cut(side) for side in (1.0, -1.0)), part_of, laid=laid)

    def _cut(self, side: float) -> Polyline:
        pivot, leg = self.at.point, self.legs[side][1]
        past = add(leg, scaled(unit(sub(leg, pivot)), PAST_MM))
        if self.far is None:
            return past, pivot
        return past, pivot, add(self.far, scaled(unit(sub(self.far, pivot)), PAST_MM))
