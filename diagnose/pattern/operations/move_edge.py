"""`move-edge`: an edge moves square to itself, and what adjoins it is drawn to meet it.

Edges that run on from each other, such as a seam in two parts, move as one line where they are named together. With
the way `up` the amounts go straight up instead of square inwards. Millimetres, amounts positive inwards. The amounts
run smoothly from each given place to the next (straight when two stand at the edge's ends) and stay as they are beyond
the outermost ones. A place is a station's level or a part of the edge's length, 0 at its start as the outline goes
round.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, pairwise
from typing import ClassVar, Literal, Self

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered, Zone
from diagnose.pattern.finish.walking import true_partner
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.geometry.bezier import point_at
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import UP, distance
from diagnose.pattern.geometry.polygons import curved_again
from diagnose.pattern.geometry.runs import run_length, run_nearest
from diagnose.pattern.geometry.smooth_amounts import Profile, smooth_profile
from diagnose.pattern.in_words import Note, edge_words, piece_words, way_square
from diagnose.pattern.measure import station_width
from diagnose.pattern.moved.bones import follow_edges, past_edge
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.redraw import Shift
from diagnose.pattern.moved.shift import is_straight, shifted
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import (
    Kind,
    Parameter,
    a_length,
    a_name,
    a_part,
    many,
    may,
    need,
    one_of,
    yes_no,
)
from diagnose.pattern.operations.reshape_edge import adjoining
from diagnose.pattern.outline import STIFF_ROLES, Edge, Pattern, Piece, Point, run_of
from diagnose.pattern.tolerances import SAME_PLACE_MM
from diagnose.sentences import upper_first
from diagnose.units import INCH_MM, LEAST_SAID_MM, both

__all__ = ["MoveEdge", "Place", "from_end_to_end"]

LEVEL_REACH_MM = INCH_MM / 2
AT_END_MM = 3.0
STIFF_END_RATIO = 1 / 8
WORTH_SAYING_MM = 0.5


class Place(Struct, frozen=True):
    """An amount at one place of the edge: at a station's level, or at a part of the edge's length from its start."""

    mm: float
    at: str | None = None
    along: float | None = None

    @property
    def words(self) -> str:
        """The place as it is said of an amount."""
        if self.at:
            return f"at the {self.at} level"
        along = self.along or 0.0
        if along in (0.0, 1.0):
            return f"at the edge's {'end' if along else 'start'}"
        return "at the middle of the edge" if along == 0.5 else f"{along:.2g} of the way along the edge"


def from_end_to_end(first_mm: float, last_mm: float) -> tuple[Place, Place]:
    """The amounts at the edge's start and at its end; between them they run evenly."""
    return Place(along=0.0, mm=first_mm), Place(along=1.0, mm=last_mm)


def _amount_at(reading: Reading, raw: object, where: str) -> object:
    """An amount, which stands at one place."""
    made = _PLACE.read(reading, raw, where)
    if isinstance(made, Place) and (made.at is None) == (made.along is None):
        reading.note(
            where,
            "An amount stands at one place.",
            "Give either “at” (a station) or “along” (0 to 1).",
            code="one-place",
        )
    return made


_PLACE = Kind(Place, (need("mm", a_length), may("at", one_of("station", *STATIONS)), may("along", a_part)))


class MoveEdge(OnPiece, frozen=True):
    """What to move, by how much where, and what goes along with it.

    Attributes:
        piece: the piece's name.
        edge: the edge's name.
        by: the amounts, at least one.
        on: the edges that adjoin it and move with it as one line, whose start is the first one's.
        true_partner: draw the partner's ends and length to those of the moved edge.
        channels: `follow` carries the channels nearest to the edge along with it; `stay` leaves them.
        way: `square` to the edge, inwards; or straight `up`.
    """

    op: ClassVar[str] = "move-edge"
    called: ClassVar[str] = "an edge moved"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        need("edge", a_name),
        many("by", _amount_at, of=_PLACE, required=True),
        many("on", a_name),
        may("true_partner", yes_no),
        may("channels", one_of("word", "stay", "follow")),
        may("way", one_of("way", "square", "up")),
    )

    edge: str
    by: tuple[Place, ...]
    on: tuple[str, ...] = ()
    true_partner: bool = False
    channels: Literal["stay", "follow"] = "stay"
    way: Literal["square", "up"] = "square"

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the edge moved.

        Raises:
            FitError: when a name is not known, a place is not on the edge, or the outline cannot be closed again.
        """
        piece = pattern.piece(self.piece)
        edges = adjoining(piece, self.redrawn)
        if all(place.mm == 0.0 for place in self.by):
            return Altered(pattern)
        profile = _profile(piece, _as_one(edges), self.by)
        # A polygon that stands for a curve would be bent at its corners more than it was.
        for edge, begin in _begins(edges):
            first, last = (mm - begin for mm in profile.span)
            piece = piece.with_edge(replace(edge, segments=curved_again(edge.segments, first, last)))
        edges = tuple(piece.edge(edge.name) for edge in edges)
        profile = _profile(piece, _as_one(edges), self.by)
        way = UP if self.way == "up" else None
        redrawn = shifted(piece, {edge.name: Shift(profile, begin, direction=way) for edge, begin in _begins(edges)})
        made, carried = with_marks(redrawn)
        notes: tuple[Note, ...] = carried
        if self.channels == "follow":
            made, more = follow_edges(redrawn, made, [edge.name for edge in edges])
            notes = (*notes, *more)
        after = pattern.with_piece(made)
        partners: tuple[Zone, ...] = ()
        for edge in edges if self.true_partner else ():
            after, more_zones = true_partner(pattern, after, self.piece, edge=edge.name)
            partners = (*partners, *more_zones)
        beside = (note for edge in edges for note in (*_bent(edge, made), *past_edge(made, edge.name)))
        widths = _widths(piece, made, self.by) if self.way == "square" else ()
        return Altered(after, (*notes, *beside, *widths), (*redrawn.zones("moved"), *partners))

    @property
    def redrawn(self) -> tuple[str, ...]:
        """The edges moved."""
        return (self.edge, *self.on)

    def in_part(self, part: float) -> Self:
        """The move with every amount times `part`."""
        return replace(self, by=tuple(replace(place, mm=place.mm * part) for place in self.by))

    def amounts(self) -> Iterator[str]:
        """Each amount that a ruler shows, and where."""
        more, less = ("up", "down") if self.way == "up" else ("in", "out")
        for place in (one for one in self.by if abs(one.mm) >= LEAST_SAID_MM):
            yield f"{both(abs(place.mm))} {more if place.mm > 0.0 else less} {place.words}"


def _as_one(edges: Sequence[Edge]) -> Edge:
    """The edges as the one line that moves."""
    return replace(edges[0], segments=run_of(edges))


def _begins(edges: Sequence[Edge]) -> Iterator[tuple[Edge, float]]:
    """Each edge, and how far along the one line it begins."""
    sizes = (run_length(edge.segments) for edge in edges)
    return zip(edges, accumulate(sizes, initial=0.0), strict=False)


def _profile(piece: Piece, edge: Edge, by: tuple[Place, ...]) -> Profile:
    size = run_length(edge.segments)
    mistakes: list[Mistake] = []
    places: list[tuple[float, float]] = []
    for index, place in enumerate(by):
        try:
            places.append((_mm(piece, edge, place, size=size), place.mm))
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
            what = f"Two different amounts are given for one place of {edge_words(edge)}, {both(mm)} along it."
            raise FitError.of("by", what, "Give one.", code="two-amounts")
    return kept


def _mm(piece: Piece, edge: Edge, place: Place, size: float) -> float:
    if place.at is None:
        return (place.along or 0.0) * size
    level = piece.level(place.at)
    found = [_on_edge(edge, end, inner) for inner, end in (level[1::-1], level[-2:])]
    found += [_on_edge(edge, b, a, beyond=False) for a, b in pairwise(level)]
    off, spot = min((hit for hit in found if hit), default=(0.0, None), key=lambda hit: hit[0])
    if spot is None or off > LEVEL_REACH_MM:
        what = f"The {place.at} level does not reach {edge_words(edge)} of {piece_words(piece.name)}."
        raise FitError.of(
            "by", what, 'Name a level that crosses the edge, or give the place as "along": 0 to 1.', code="level-misses"
        )
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


def _bent(edge: Edge, made: Piece) -> tuple[Note, ...]:
    if edge.role in STIFF_ROLES and is_straight(edge) and not is_straight(made.edge(edge.name)):
        return (
            f"{upper_first(edge_words(edge))} of {piece_words(made.name)} is no longer straight; a steel beside it will"
            " have to follow the curve.",
        )
    return ()


def _widths(before: Piece, after: Piece, by: tuple[Place, ...]) -> tuple[Note, ...]:
    """What the level loses, where it is not what was moved: the edge slants there, or the level was cut aslant."""
    notes = []
    for place in by:
        if place.at is None:
            continue
        off = station_width(before, place.at) - station_width(after, place.at)
        if abs(off - place.mm) > WORTH_SAYING_MM:
            way = way_square(place.mm)
            width = f"{both(abs(off))} {'narrower' if off > 0.0 else 'wider'}"
            moved = f"moved {both(abs(place.mm))} {way}, square to itself" if place.mm else "where it was"
            notes.append(
                f"At the {place.at} of {piece_words(after.name)} the edge is {moved}; along the level the piece is"
                f" {width}."
            )
    return tuple(notes)
