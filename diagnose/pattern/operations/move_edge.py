"""`move-edge`: an edge moves square to itself, and what adjoins it is drawn to meet it.

Millimetres, amounts positive inwards. The amounts run smoothly from each given place to the next (straight when two
stand at the edge's ends) and stay as they are beyond the outermost ones. A place is a station's level or a part of the
edge's length, 0 at its start as the outline goes round.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.altered import Altered, Zone
from diagnose.pattern.finish.walking import true_partner
from diagnose.pattern.geometry.curves import line_hits, point_at, run_length, run_nearest
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.geometry.smooth_amounts import Profile, smooth_profile
from diagnose.pattern.measure import station_width
from diagnose.pattern.moved.bones import follow_edge, past_edge
from diagnose.pattern.moved.carry import LEVEL_REACH_MM, with_marks
from diagnose.pattern.moved.redraw import Shift
from diagnose.pattern.moved.shift import is_straight, shifted
from diagnose.pattern.outline import Edge, Pattern, Piece, Point
from diagnose.units import both

__all__ = ["MoveEdge", "Place", "move_edge"]

AT_END_MM = 3.0
STIFF_END_RATIO = 1 / 8
STIFF_ROLES = ("lacing", "opening", "fold")
SAME_PLACE_MM = 0.01
NOTABLE_MM = 0.5


class Place(Struct, frozen=True):
    """An amount at one place of the edge: at a station's level, or at a part of the edge's length from its start."""

    mm: float
    at: str | None = None
    along: float | None = None


class MoveEdge(Struct, frozen=True):
    """What to move, by how much where, and what goes along with it.

    Attributes:
        piece: the piece's name.
        edge: the edge's name.
        by: the amounts, at least one.
        true_partner: draw the partner's ends and length to those of the moved edge.
        channels: `follow` carries the channels nearest to the edge along with it; `stay` leaves them.
    """

    piece: str
    edge: str
    by: tuple[Place, ...]
    true_partner: bool = False
    channels: Literal["stay", "follow"] = "stay"


def move_edge(pattern: Pattern, do: MoveEdge) -> Altered:
    """The pattern with the edge moved.

    Raises:
        FitError: when a name is not known, a place is not on the edge, or the outline cannot be closed again.
    """
    piece = pattern.piece(do.piece)
    edge = piece.edge(do.edge)
    if all(place.mm == 0.0 for place in do.by):
        return Altered(pattern)
    profile = _profile(piece, edge, do.by)
    redrawn = shifted(piece, {edge.name: Shift(profile)})
    made, notes = with_marks(redrawn)
    if do.channels == "follow":
        made, more = follow_edge(redrawn, made, edge.name)
        notes = (*notes, *more)
    after = pattern.with_piece(made)
    partners: tuple[Zone, ...] = ()
    if do.true_partner:
        after, partners = true_partner(pattern, after, do.piece, do.edge)
    said = (*notes, *_bent(edge, made), *past_edge(made, edge.name), *_widths(piece, made, do.by))
    return Altered(after, said, (*redrawn.zones("moved"), *partners))


def _profile(piece: Piece, edge: Edge, by: tuple[Place, ...]) -> Profile:
    size = run_length(edge.segments)
    mistakes: list[Mistake] = []
    places: list[tuple[float, float]] = []
    for index, place in enumerate(by):
        try:
            places.append((_mm(piece, edge, place, size), place.mm))
        except FitError as error:
            mistakes += [replace(m, where=f"by[{index}]") for m in error.mistakes]
    if mistakes:
        raise FitError(mistakes)
    stiff = edge.role in STIFF_ROLES and is_straight(edge)
    return smooth_profile(_apart(edge, places), size, size * STIFF_END_RATIO if stiff else AT_END_MM)


def _apart(edge: Edge, places: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """The places in order, each once."""
    kept: list[tuple[float, float]] = []
    for mm, amount in sorted(places):
        if not kept or mm - kept[-1][0] > SAME_PLACE_MM:
            kept.append((mm, amount))
        elif amount != kept[-1][1]:
            what = f"Two different amounts are given for one place of edge '{edge.name}', {both(mm)} along it."
            raise FitError.of("by", what, "Give one.")
    return kept


def _mm(piece: Piece, edge: Edge, place: Place, size: float) -> float:
    if place.at is None:
        return (place.along or 0.0) * size
    level = piece.level(place.at)
    found = [_on_edge(edge, end, inner) for inner, end in (level[1::-1], level[-2:])]
    found += [_on_edge(edge, b, a, beyond=False) for a, b in pairwise(level)]
    off, spot = min((hit for hit in found if hit), default=(0.0, None), key=lambda hit: hit[0])
    if spot is None or off > LEVEL_REACH_MM:
        what = f"Level '{place.at}' does not reach edge '{edge.name}' of piece '{piece.name}'."
        raise FitError.of("by", what, 'Name a level that crosses the edge, or give the place as "along": 0 to 1.')
    return run_nearest(edge.segments, spot)[0]


def _on_edge(edge: Edge, end: Point, inner: Point, *, beyond: bool = True) -> tuple[float, Point | None] | None:
    """The place of the edge that one leg of a level meets, and how far beyond the level's end it is.

    A level that passes a little beyond the edge's own end counts for that end.
    """
    if end == inner:
        return None
    span = distance(inner, end)
    for segment in edge.segments:
        for t, s in line_hits(segment, inner, end):
            if (0.0 <= s <= 1.0) or (beyond and s > 1.0):
                return max(0.0, s - 1.0) * span, point_at(segment, t)
    near = min((edge.start, edge.end), key=lambda corner: distance(corner, end))
    return (distance(near, end), near) if beyond else None


def _bent(edge: Edge, made: Piece) -> tuple[str, ...]:
    if edge.role in STIFF_ROLES and is_straight(edge) and not is_straight(made.edge(edge.name)):
        return (
            f"The {edge.role} edge '{edge.name}' of '{made.name}' is no longer straight; a steel beside it will have"
            " to follow the curve.",
        )
    return ()


def _widths(before: Piece, after: Piece, by: tuple[Place, ...]) -> tuple[str, ...]:
    """What the level loses, where it is not what was moved: the edge slants there, or the level was cut aslant."""
    notes = []
    for place in by:
        if place.at is None:
            continue
        off = station_width(before, place.at) - station_width(after, place.at)
        if abs(off - place.mm) > NOTABLE_MM:
            notes.append(
                f"Edge moved {both(place.mm)} square to itself at the {place.at} of '{after.name}'; along the level"
                f" that changes the width by {both(off)}."
            )
    return tuple(notes)
