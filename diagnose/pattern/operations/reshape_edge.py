"""`reshape-edge`: an edge, or adjoining edges of one role, rises to a peak and falls back to the old line beside it.

Millimetres. The rise is a smooth hump over the run's length: nothing at `from` and `to`, exactly `height` at `peak`,
level at all three, so the new line leaves and joins the old one without a corner. Where it ends at a corner of the top
or bottom edge, such as that of a strap, there is no line to join: it runs out into the corner without levelling off, so
that no hollow is left before it. `out` and `in` are square to the edge at the peak. A place is a point on or near the
edge, or mm along the run from its start as the outline goes round. The peak may stand at the very end of the run (at
centre front, say): then it is given as `to` or `from` as well, and the edge that adjoins there is drawn on or trimmed
along its own line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import ClassVar, Literal

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.plane import across, add, corner_deg, scaled, unit
from diagnose.pattern.geometry.polygons import curved_again
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_place
from diagnose.pattern.geometry.smooth_amounts import Profile, bump
from diagnose.pattern.in_words import piece_words
from diagnose.pattern.moved.bones import carry_ends, past_edge
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.redraw import Shift
from diagnose.pattern.moved.shift import shifted
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import Parameter, a_length, a_name, a_place, may, need, one_of, one_or_more
from diagnose.pattern.outline import Edge, Pattern, Piece, Point, Run, run_of, runs_along
from diagnose.pattern.tolerances import SAME_PLACE_MM
from diagnose.units import INCH_MM, both

__all__ = ["Direction", "ReshapeEdge", "adjoining", "shifts_over"]

OFF_EDGE_MM = INCH_MM / 2
RUN_CORNER_DEG = 20.0
Direction = Literal["up", "out", "in", "down"]
_OPPOSITE: dict[Direction, Direction] = {"up": "down", "down": "up", "out": "in", "in": "out"}


class ReshapeEdge(OnPiece, frozen=True):
    """Where the run rises, how far and which way.

    Attributes:
        piece: the piece's name.
        edges: the edge, or the adjoining edges of one role.
        from_: where the rise begins.
        peak: where it is greatest.
        to: where it has come to nothing.
        height: how far it rises at the peak; a negative height goes the other way.
        direction: which way it rises.
    """

    op: ClassVar[str] = "reshape-edge"
    called: ClassVar[str] = "an edge redrawn"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        need("edge", one_or_more(a_name), "edges"),
        need("from", a_place, "from_"),
        need("peak", a_place),
        need("to", a_place),
        need("height", a_length),
        may("direction", one_of("direction", "up", "out", "in", "down")),
    )
    sized: ClassVar[tuple[str, ...]] = ("height",)

    edges: tuple[str, ...]
    from_: Point | float
    peak: Point | float
    to: Point | float
    height: float
    direction: Direction = "up"

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the edge reshaped; channels that ended at it are carried along.

        Raises:
            FitError: when a name is not known, the edges do not adjoin, a place is off the run, or the peak is not
                between the two ends.
        """
        piece = pattern.piece(self.piece)
        edges = adjoining(piece, self.edges)
        run = run_of(edges)
        ends_mm = _places(run, self)
        if self.height == 0.0:
            return Altered(pattern)
        # A polygon that stands for a curve would be bent at its corners more than it was.
        for edge in edges:
            piece = piece.with_edge(replace(edge, segments=_curved(edges, edge, ends_mm)))
        edges = tuple(piece.edge(edge.name) for edge in edges)
        run = run_of(edges)
        ends_mm = _places(run, self)
        rise = bump(*ends_mm, self.height, free=_at_corners(piece, edges, ends_mm))
        redrawn = shifted(piece, shifts_over(edges, rise, _way(run, ends_mm[1], self.direction)))
        names = [edge.name for edge in edges]
        made, notes = with_marks(redrawn)
        made, more = carry_ends(redrawn, made, names)
        after = pattern.with_piece(made)
        crowded = tuple(note for name in names for note in past_edge(made, name))
        return Altered(after, (*notes, *more, *crowded), redrawn.zones("reshaped"))

    @property
    def redrawn(self) -> tuple[str, ...]:
        """The edges of the stretch."""
        return self.edges

    def amounts(self) -> Iterator[str]:
        """How far it rises."""
        way = self.direction if self.height > 0.0 else _OPPOSITE[self.direction]
        yield f"{both(abs(self.height))} {way}"


def _curved(edges: Sequence[Edge], edge: Edge, places: tuple[float, float, float]) -> Run:
    """The edge's segments, curved again where a polygon stands for a curve between the first and the last place."""
    begins = sum(run_length(other.segments) for other in edges[: edges.index(edge)])
    return curved_again(edge.segments, places[0] - begins, places[2] - begins)


def shifts_over(
    edges: Sequence[Edge], profile: Profile, direction: Point, sideways: Profile | None = None
) -> dict[str, Shift]:
    """A displacement over a run of adjoining edges, as one shift for each edge it touches."""
    sizes = [run_length(edge.segments) for edge in edges]
    begins = accumulate(sizes, initial=0.0)
    first, last = profile.knots[0], profile.knots[-1]
    return {
        edge.name: Shift(profile, begin, direction, sideways=sideways)
        for edge, begin, size in zip(edges, begins, sizes, strict=False)
        if begin < last.mm - SAME_PLACE_MM and begin + size > first.mm + SAME_PLACE_MM
    }


def adjoining(piece: Piece, names: tuple[str, ...]) -> tuple[Edge, ...]:
    """The edges in the order in which they go round, whatever order they were named in.

    Raises:
        FitError: when one is not known, they are of different roles, or they do not follow on from each other.
    """
    wanted = {piece.edge(name).name for name in names}
    if len({piece.edge(name).role for name in names}) > 1:
        roles = ", ".join(f"'{name}' is {piece.edge(name).role}" for name in names)
        raise FitError.of(
            "edge", f"The edges are of different roles: {roles}.", "Name edges of one role.", code="mixed-roles"
        )
    runs = runs_along(piece, wanted)
    if len(runs) > 1:
        what = f"The edges {', '.join(names)} of {piece_words(piece.name)} do not follow on from each other."
        raise FitError.of(
            "edge", what, f"Going round, its edges are: {', '.join(e.name for e in piece.edges)}.", code="edges-apart"
        )
    return runs[0]


def _places(run: Run, do: ReshapeEdge) -> tuple[float, float, float]:
    """`from`, `peak` and `to` as mm along the run, growing."""
    size = run_length(run)
    found: list[float] = []
    mistakes: list[Mistake] = []
    for where, place in (("from", do.from_), ("peak", do.peak), ("to", do.to)):
        mm, mistake = _place_mm(run, size, where, place=place)
        found.append(mm)
        mistakes += [mistake] if mistake else []
    if mistakes:
        raise FitError(mistakes)
    start, peak, end = found if found[0] <= found[2] else found[::-1]
    before, after = peak - start > SAME_PLACE_MM, end - peak > SAME_PLACE_MM
    ok = (before and after) or (before and size - peak <= SAME_PLACE_MM) or (after and peak <= SAME_PLACE_MM)
    if start - peak > SAME_PLACE_MM or peak - end > SAME_PLACE_MM or not ok:
        what = (
            f"The peak, {both(peak)} along the edge, must lie between “from” ({both(found[0])}) and “to”"
            f" ({both(found[2])}); only at the very end of the edge may it be one of them."
        )
        raise FitError.of("peak", what, "Give the three places in their order along the edge.", code="peak-outside")
    return (start if before else peak), peak, (end if after else peak)


def _at_corners(piece: Piece, edges: tuple[Edge, ...], places: tuple[float, float, float]) -> tuple[bool, bool]:
    """Whether the first and the last place stand at the very end of the run, at a corner to an edge of its own role."""
    count = len(piece.edges)
    first, last = piece.edges.index(edges[0]), piece.edges.index(edges[-1])
    beside = piece.edges[first - 1], piece.edges[(last + 1) % count]
    at_end = places[0] <= SAME_PLACE_MM, places[2] >= run_length(run_of(edges)) - SAME_PLACE_MM
    turns = (
        corner_deg(tangent(beside[0].segments[-1], 1.0), tangent(edges[0].segments[0], 0.0)),
        corner_deg(tangent(edges[-1].segments[-1], 1.0), tangent(beside[1].segments[0], 0.0)),
    )
    start, end = (
        at and edge.role == edges[0].role and turn > RUN_CORNER_DEG
        for at, edge, turn in zip(at_end, beside, turns, strict=True)
    )
    return start, end


def _place_mm(run: Run, size: float, where: str, place: Point | float) -> tuple[float, Mistake | None]:
    if isinstance(place, Point):
        mm, away = run_nearest(run, place)
        what = f"The point, {place}, is {both(away)} off the edge."
        if away > OFF_EDGE_MM:
            return mm, Mistake(where, what, "Give a point on the edge, or mm along it.", code="off-edge")
    elif not 0.0 <= place <= size + SAME_PLACE_MM:
        what = f"{both(place)} is not on the edge, which is {both(size)} long."
        return 0.0, Mistake(where, what, "Give a length from its start to its end.", code="off-edge")
    else:
        mm = min(place, size)
    return _at_end(mm, size), None


def _at_end(mm: float, size: float) -> float:
    """The place, set on the run's end when it is as good as there."""
    if mm <= SAME_PLACE_MM:
        return 0.0
    return size if mm >= size - SAME_PLACE_MM else mm


def _way(run: Run, peak_mm: float, direction: Direction) -> Point:
    """The direction as a vector of length one; `out` and `in` square to the run at the peak, halving a corner."""
    if direction in ("up", "down"):
        return Point(0.0, 1.0 if direction == "up" else -1.0)
    index, t = run_place(run, peak_mm)
    way = tangent(run[index], t)
    if t == 0.0 and index > 0:
        way = unit(add(way, tangent(run[index - 1], 1.0)))
    return scaled(across(way), 1.0 if direction == "in" else -1.0)
