"""`fold`: a strip between two straight lines folded out, or, with negative amounts, the paper cut and spread.

Millimetres. The two lines of the strip stand half its width to each side of from→to, widths square to that line; the
named side moves rigidly until they lie on each other. A spread cuts along from→to itself and moves the named side off.
Where the amounts have different signs, one end is folded out and the other spread.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import ClassVar, Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.altered import Altered, PaperOpened, StripFolded, Zone
from diagnose.pattern.geometry.plane import along, distance
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.in_words import piece_words
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.moved.closing import closed_up
from diagnose.pattern.moved.gates import (
    Crossing,
    Gate,
    Place,
    Ring,
    crossings,
    gate_between,
    hits,
    ring_of,
)
from diagnose.pattern.moved.regions import regions_of
from diagnose.pattern.moved.strip import Strip
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import SIDE, Parameter, a_length, a_name, a_point, need
from diagnose.pattern.outline import Pattern, Piece, Point
from diagnose.pattern.tolerances import ON_OUTLINE_MM
from diagnose.units import LEAST_SAID_MM, both

__all__ = ["Fold", "folded_piece"]

LEAST_FOLD_MM = 1e-3


class Fold(OnPiece, frozen=True):
    """What to fold out of a piece.

    Attributes:
        piece: the piece's name.
        from_: where the line begins, on the outline or beyond it.
        to: where it ends, on the outline or beyond it.
        amount_from: the strip's width at `from_`, mm; negative to spread.
        amount_to: the same at `to`.
        move: the side of from→to that moves.
    """

    op: ClassVar[str] = "fold"
    called: ClassVar[str] = "a fold"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        need("from", a_point, "from_"),
        need("to", a_point),
        need("amount_from", a_length),
        need("amount_to", a_length),
        need("move", SIDE),
    )
    sized: ClassVar[tuple[str, ...]] = ("amount_from", "amount_to")
    cuts: ClassVar[bool] = True

    from_: Point
    to: Point
    amount_from: float
    amount_to: float
    move: Literal["left", "right"]

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the strip folded out of the piece (or spread), trued, and everything on the paper carried.

        Raises:
            FitError: when the line does not run through the piece, or there is no room for so much.
        """
        piece = pattern.piece(self.piece)
        _refuse_bad(self)
        if abs(self.amount_from) <= LEAST_FOLD_MM and abs(self.amount_to) <= LEAST_FOLD_MM:
            return Altered(pattern)
        made = folded_piece(pattern, piece, self)
        return replace(made, notes=(_said(self), *made.notes))

    def amounts(self) -> Iterator[str]:
        """The strip's width, at both ends where they differ."""
        a, b = (_worded(mm) for mm in (self.amount_from, self.amount_to))
        yield a if a == b else f"{a} at from and {b} at to"


def _worded(mm: float) -> str:
    return f"{both(abs(mm))} spread" if mm < 0.0 else both(mm)


def _refuse_bad(do: Fold) -> None:
    numbers = (*do.from_, *do.to, do.amount_from, do.amount_to)
    mistakes = []
    if not all(map(math.isfinite, numbers)):
        mistakes.append(
            Mistake(
                "fold",
                "A place or an amount is not a number.",
                "Give lengths that can be measured.",
                code="not-a-number",
            )
        )
    elif distance(do.from_, do.to) < ON_OUTLINE_MM:
        what = "The line's two points, from and to, are one and the same."
        mistakes.append(Mistake("from", what, "Give the two places where the line leaves the piece.", code="one-point"))
    if do.move not in ("left", "right"):
        mistakes.append(
            Mistake(
                "move", f"'{do.move}' is no side of a line.", "Write left or right (of from→to).", code="not-a-side"
            )
        )
    if mistakes:
        raise FitError(mistakes)


def _said(do: Fold) -> str:
    ends = (do.amount_from, do.amount_to)
    word = "Folded out of" if max(ends) > 0.0 else "Cut and spread in"
    if min(ends) < 0.0 < max(ends):
        word = "Folded out and, beyond the turning point, spread in"
    much = " to ".join(both(abs(end)) if end else "nothing" for end in (ends if ends[0] != ends[1] else ends[:1]))
    return f"{word} {piece_words(do.piece)}: {much}."


def folded_piece(pattern: Pattern, piece: Piece, do: Fold) -> Altered:
    """`fold` for parameters that hold, without the sentence about it.

    Raises:
        FitError: as `fold`.
    """
    moving = 1.0 if do.move == "left" else -1.0
    ring, strip = ring_of(piece), Strip(do.from_, do.to, (do.amount_from, do.amount_to), moving=moving)
    through, elsewhere = _through(piece, ring, do)
    left, right = ([place for place, _ in hits(ring, *strip.line(side))] if strip.folds else [] for side in (1.0, -1.0))
    gates = [_gate(ring, strip, at, sides=(left, right)) for at in through]
    reach = (min(at.s for at in through), max(at.s for at in through)) if elsewhere else None
    ambiguous = regions_of(ring, gates) if elsewhere else None
    made = closed_up(pattern, piece, ring, gates=gates, paper=strip.paper(reach, ambiguous), keep="waist")
    pairs = zip(through[::2], gates[::2], through[1::2], gates[1::2], strict=False)
    zones = [z for a, first, b, last in pairs for z in _zones(piece.name, ring, strip, ends=((a, first), (b, last)))]
    return replace(made, zones=(*zones, *made.zones))


class _Abreast(Struct, frozen=True):
    """A place of the strip's middle line, the width there, and the two sides abreast of it."""

    spot: Point
    width: float
    moving: Point
    still: Point


def _zones(
    piece: str, ring: Ring, strip: Strip, ends: tuple[tuple[Crossing, Gate], tuple[Crossing, Gate]]
) -> Iterator[Zone]:
    """The strip where it is folded out, and the opening where it is spread, from one outline to the other."""
    places = [
        _Abreast(
            spot=ring.point(at.place),
            width=strip.width(at.s),
            moving=_end_of(ring, at, gate, side=strip.moving),
            still=_end_of(ring, at, gate, side=-strip.moving),
        )
        for at, gate in ends
    ]
    start, stop = places
    if start.width * stop.width < 0.0:
        # One end is folded out and the other spread: between them the strip comes to a point, and there the cut begins.
        hinge = along(start.spot, stop.spot, start.width / (start.width - stop.width))
        places.insert(1, _Abreast(hinge, 0.0, hinge, still=hinge))
    for a, b in pairwise(places):
        line, widths, move = (a.spot, b.spot), (a.width, b.width), strip.move()
        if min(widths) >= 0.0:
            yield StripFolded(
                piece=piece, line=line, widths=widths, moving=(a.moving, b.moving), still=(a.still, b.still)
            )
        else:
            yield PaperOpened(piece, line, (-a.width, -b.width), ring=(*line, move(b.spot), move(a.spot)))


def _end_of(ring: Ring, at: Crossing, gate: Gate, side: float) -> Point:
    """Where that side of the strip (1 left, -1 right) meets the outline."""
    return ring.point(gate.enter if at.into_left == (side > 0.0) else gate.leave)


def _through(piece: Piece, ring: Ring, do: Fold) -> tuple[list[Crossing], bool]:
    """The crossings between from and to, and whether the line drawn on meets the piece elsewhere."""
    found = sorted(crossings(ring, do.from_, do.to), key=lambda at: at.s)
    slack = ON_OUTLINE_MM / distance(do.from_, do.to)
    through = [at for at in found if -slack <= at.s <= 1.0 + slack]
    if not through:
        what = f"The line from {do.from_} to {do.to} does not cross {piece_words(piece.name)}."
        raise FitError.of(
            "from", what, "Give two places on its outline, or beyond it on either side.", code="line-misses"
        )
    # A crossing to the right of the line comes into the paper, one to the left leaves it: the ring runs with it left.
    ends = (("from", do.from_, through[0].into_left), ("to", do.to, not through[-1].into_left))
    bad = [Mistake(name, *_ends_inside(piece, at), code="line-ends-inside") for name, at, inside in ends if inside]
    if bad:
        raise FitError(bad)
    return through, len(through) < len(found)


def _ends_inside(piece: Piece, at: Point) -> tuple[str, str]:
    mm = run_nearest(outline_segments(piece), at)[1]
    if mm < LEAST_SAID_MM:
        what = f"At {at}, on the outline of {piece_words(piece.name)}, the line leaves paper behind it."
        return what, "Carry the line on to where the piece ends, or turn it so that it crosses the edge there."
    what = f"The point, {at}, lies inside {piece_words(piece.name)}, {both(mm)} from its outline."
    return what, "Carry the line on to the edge; to end inside the paper use a dart with a relief."


def _gate(ring: Ring, strip: Strip, at: Crossing, sides: tuple[Sequence[Place], Sequence[Place]]) -> Gate:
    if strip.width(at.s) <= LEAST_FOLD_MM:
        return Gate(at.place, at.place, at.into_left == (strip.moving > 0.0))
    do = "Take a smaller amount, or set the line squarer to the edge."
    return gate_between(ring, at, sides, moving=strip.moving, holds=strip.holds, do=do)
