"""What a steel edge, ruled straight again after a cut, gives or takes, taken or given at the seam across the piece.

Millimetres. So every level keeps its width, and the centre back (or front) stays straight. A piece with no seam keeps
what the straight line comes to, and is told why: between two straight edges its width grows evenly with the height, so
that no line through the waist gives every level, set higher or lower, the width it had.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import sub, unit
from diagnose.pattern.geometry.smooth_amounts import smooth_profile
from diagnose.pattern.in_words import edge_words, piece_first, piece_words
from diagnose.pattern.measure import edge_length, mm_of_point, station_width
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.redraw import Shift
from diagnose.pattern.moved.shift import is_straight, shifted
from diagnose.pattern.outline import STIFF_ROLES, Edge, Piece, Point
from diagnose.pattern.tolerances import ON_EDGE_MM
from diagnose.units import INCH_MM, both

__all__ = ["Gain", "gains", "given_back"]

LEAST_GIVEN_MM = INCH_MM / 32
"""What a ruler hardly shows is not worth redrawing a seam for."""


class Gain(Struct, frozen=True):
    """By how much a level has become wider than it was, and where it ends on the seam across.

    Attributes:
        station: the level.
        along_mm: how far along the seam it ends.
        by_mm: how much wider it is.
        inward: the direction of the level there, into the paper.
    """

    station: str
    along_mm: float
    by_mm: float
    inward: Point


def gains(piece: Piece, was: Piece, seam: Edge) -> list[Gain]:
    """The gains of the levels that run from a straight steel edge to that seam; none where the ruler shows none.

    Args:
        piece: the piece as it is.
        was: the piece as it was.
        seam: a seam of the piece.
    """
    steel = [one for one in piece.edges if one.role in STIFF_ROLES and is_straight(one)]
    found: list[Gain] = []
    for station in (name for name in piece.levels if name in was.levels):
        line = piece.levels[station]
        for end, other in ((line[0], line[-1]), (line[-1], line[0])):
            mm, off = mm_of_point(seam, end)
            beside = min((mm_of_point(one, other)[1] for one in steel), default=math.inf)
            if max(off, beside) <= ON_EDGE_MM and all(abs(mm - one.along_mm) > ON_EDGE_MM for one in found):
                more = station_width(piece, station) - station_width(was, station)
                found.append(Gain(station, along_mm=mm, by_mm=more, inward=unit(sub(other, end))))
    return found if max((abs(one.by_mm) for one in found), default=0.0) > LEAST_GIVEN_MM else []


def given_back(made: Altered, was: Piece) -> Altered:
    """What was made of a piece, with each seam across from a steel edge moved by what its levels have gained.

    Args:
        made: what was made of it.
        was: the piece before.
    """
    seams = [edge.name for edge in was.edges if edge.role == "seam"]
    if not seams:
        return replace(made, notes=(*made.notes, *_kept_uneven(made.pattern.piece(was.name), was)))
    for name in seams:
        piece = made.pattern.piece(was.name)
        edge, found = piece.edge(name), gains(piece, was, piece.edge(name))
        if not found:
            continue
        profile = smooth_profile([(one.along_mm, one.by_mm) for one in found], edge_length(edge), LEAST_GIVEN_MM)
        redrawn = shifted(piece, {name: Shift(profile, direction=found[0].inward)})
        piece, notes = with_marks(redrawn)
        most = max(abs(one.by_mm) for one in found)
        said = (
            f"What the steel edge gains or loses, ruled straight, is taken or given again at {edge_words(edge)} of"
            f" {piece_words(was.name)}, {both(most)} at most: every level keeps its width."
        )
        made = made.then(Altered(made.pattern.with_piece(piece), (said, *notes), redrawn.zones("moved")))
    return made


def _kept_uneven(piece: Piece, was: Piece) -> Iterator[str]:
    """Why a piece without a seam can't keep its widths, and by how much each level is wider or narrower."""
    more = {name: station_width(piece, name) - station_width(was, name) for name in piece.levels if name in was.levels}
    told = [
        f"{name} {both(abs(mm))} {'wider' if mm > 0.0 else 'narrower'}"
        for name, mm in more.items()
        if abs(mm) > LEAST_GIVEN_MM
    ]
    if told:
        yield (
            f"{piece_first(was.name)} has no seam, and between two straight edges its width grows evenly with the"
            " height: no straight line keeps every level at the new length. This one keeps the waist and changes the"
            f" others least: {', '.join(told)}."
        )
