"""`tabs`: the slits and tabs at the bottom edge, deepened, lengthened, flared, divided anew.

Parameters, all lengths in mm, done in this order; `slits` names the slits meant (all in the bottom edge when left out):

- `add`: list of `{"along": mm along the bottom from its front end, "depth": mm}`, new slits square to the edge; without
  a depth they are as deep as the piece's slits are on average.
- `redivide`: true spaces the slits equally, at foot and tip, between the first and the last.
- `deepen`: the tips move on by so much along their own lines (negative: the slits become shorter).
- `lengthen`: the bottom edge moves out by so much (negative: in) along the slits and the edges beside it; the slits'
  tips stay.
- `flare`: so much is let in at the foot of each slit, tapering to nothing at its tip, drawn as a gore of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import ClassVar, Self

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, nearest
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.plane import across, add, distance, scaled, sub, unit
from diagnose.pattern.geometry.polylines import part_along
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_place, run_point_at
from diagnose.pattern.geometry.smooth_amounts import Profile, smooth_profile
from diagnose.pattern.in_words import piece_first, piece_words, slit_title
from diagnose.pattern.measure import is_inside, slit_length
from diagnose.pattern.moved.bones import carry_ends
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.shift import shifted
from diagnose.pattern.operations.openings.insert_gore import InsertGore, refuse_channels
from diagnose.pattern.operations.operation import OnPiece, named_amounts, nothing_asked
from diagnose.pattern.operations.parameters import (
    Kind,
    Parameter,
    a_length,
    a_name,
    above_nothing,
    many,
    may,
    need,
    not_negative,
    or_none,
    yes_no,
)
from diagnose.pattern.operations.reshape_edge import adjoining, shifts_over
from diagnose.pattern.outline import Edge, Pattern, Piece, Point, Polyline, Segment, Slit, free_names, run_of
from diagnose.sentences import upper_first
from diagnose.units import both

__all__ = ["NewSlit", "Tabs"]

FOOT_ON_EDGE_MM = 3.2
LEAST_SLIT_MM = 3.0


class NewSlit(Struct, frozen=True):
    """A slit to add: where its foot stands along the bottom from its front end, and how deep it is."""

    along: float
    depth: float | None = None


_NEW_SLIT = Kind(NewSlit, (need("along", above_nothing), may("depth", or_none(above_nothing))))


class Tabs(OnPiece, frozen=True):
    """What to do to the tabs of one piece; see the module's own description."""

    op: ClassVar[str] = "tabs"
    called: ClassVar[str] = "tabs redrawn"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        many("slits", a_name),
        many("add", _NEW_SLIT),
        may("redivide", yes_no),
        may("deepen", a_length),
        may("lengthen", a_length),
        may("flare", not_negative),
    )
    sized: ClassVar[tuple[str, ...]] = ("deepen", "lengthen", "flare")

    slits: tuple[str, ...] = ()
    add: tuple[NewSlit, ...] = ()
    redivide: bool = False
    deepen: float = 0.0
    lengthen: float = 0.0
    flare: float = 0.0

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the tabs changed.

        Raises:
            FitError: when a slit is not known, would vanish or leave the piece, or a channel would lie across one.
        """
        piece = pattern.piece(self.piece)
        bottom = tuple(edge for edge in piece.edges if edge.role == "bottom")
        if not bottom:
            raise FitError.of(
                "piece",
                f"{piece_first(piece.name)} has no bottom edge.",
                "Name a piece with tabs.",
                code="no-bottom-edge",
            )
        if idle := [*nothing_asked(self, "add", "redivide", *self.sized)]:
            raise FitError(idle)
        meant = {slit.name for slit in _meant(piece, bottom, self)}
        piece, added = _with_added(piece, bottom, self.add)
        meant |= added if not self.slits else set()
        if self.redivide:
            piece = _redivided(piece, bottom, meant)
        if self.deepen:
            piece = replace(
                piece, slits=tuple(_deepened(s, self.deepen) if s.name in meant else s for s in piece.slits)
            )
        _check(pattern.piece(self.piece), piece)
        longer = _lengthened(pattern, piece, bottom, by=self.lengthen)
        return _flared(longer, longer.pattern.piece(self.piece), meant, width=self.flare)

    def in_part(self, part: float) -> Self:
        """The change with its amounts times `part`."""
        new = tuple(replace(slit, depth=slit.depth * part) if slit.depth else slit for slit in self.add)
        return replace(super().in_part(part), add=new)

    def amounts(self) -> Iterator[str]:
        """How deep the new slits are, and how much the tabs are deepened, lengthened and flared."""
        yield from (f"{both(slit.depth)} deep at {both(slit.along)}" for slit in self.add if slit.depth)
        yield from named_amounts(self)


def _meant(piece: Piece, bottom: Sequence[Edge], do: Tabs) -> list[Slit]:
    """The slits named, or all in the bottom edge."""
    there = [s for s in piece.slits if min(run_nearest(e.segments, s.line[0])[1] for e in bottom) <= FOOT_ON_EDGE_MM]
    known = [slit.name for slit in there]
    wrong = [name for name in do.slits if name not in known]
    if wrong:
        remedy = nearest(wrong[0], known) if known else "It has none."
        raise FitError.of(
            "slits",
            f"{piece_first(piece.name)} has no slit '{wrong[0]}' in its bottom edge.",
            remedy,
            code="no-such-slit",
        )
    if not there and not do.add and not do.lengthen:
        raise FitError.of(
            "slits",
            f"{piece_first(piece.name)} has no slits in its bottom edge.",
            "Add some first.",
            code="no-slits",
        )
    return [slit for slit in there if not do.slits or slit.name in do.slits]


def _with_added(piece: Piece, bottom: Sequence[Edge], new: Sequence[NewSlit]) -> tuple[Piece, set[str]]:
    run = run_of(bottom)
    size = run_length(run)
    usual = [slit_length(slit) for slit in piece.slits]
    names = set[str]()
    for number, slit in enumerate(new):
        where = f"add[{number}]"
        if not 0.0 < slit.along < size:
            edge = f"the bottom edge of {piece_words(piece.name)}"
            what = f"{both(slit.along)} is not on {edge}, which is {both(size)} long."
            raise FitError.of(where, what, "Give a length between its ends.", code="off-edge")
        depth = slit.depth if slit.depth is not None else sum(usual) / len(usual) if usual else None
        if depth is None:
            raise FitError.of(
                where,
                f"{piece_first(piece.name)} has no slits to take a depth from.",
                "Give the depth.",
                code="no-slits",
            )
        name = next(free_names("s", {s.name for s in piece.slits}))
        piece = replace(piece, slits=(*piece.slits, Slit(name, _square_to(run, slit.along, depth))))
        names.add(name)
    return piece, names


def _square_to(run: Sequence[Segment], mm: float, depth: float) -> Polyline:
    index, t = run_place(run, mm)
    foot = run_point_at(run, mm)
    return (foot, add(foot, scaled(across(tangent(run[index], t)), depth)))


def _redivided(piece: Piece, bottom: Sequence[Edge], meant: set[str]) -> Piece:
    """The slits spaced equally, straight from foot to tip, between the first and the last."""
    run = run_of(bottom)
    feet = sorted((run_nearest(run, s.line[0])[0], s.name) for s in piece.slits if s.name in meant)
    if len(feet) < 3:
        slits = f"only {len(feet)} such slit{'' if len(feet) == 1 else 's'}" if feet else "no such slit"
        what = f"{piece_first(piece.name)} has {slits}; there is nothing between to divide anew."
        raise FitError.of("redivide", what, "Add slits, or name more of them.", code="too-few-slits")
    by_name = {slit.name: slit for slit in piece.slits}
    tips = [by_name[name].line[-1] for _, name in feet]
    first, step = feet[0][0], (feet[-1][0] - feet[0][0]) / (len(feet) - 1)
    for index, (_, name) in enumerate(feet[1:-1], 1):
        line = (run_point_at(run, first + index * step), part_along(list(pairwise(tips)), index / (len(feet) - 1)))
        by_name[name] = replace(by_name[name], line=line)
    return replace(piece, slits=tuple(by_name[slit.name] for slit in piece.slits))


def _deepened(slit: Slit, by: float) -> Slit:
    """The slit with its tip moved on along its last leg."""
    inner, tip = slit.line[-2], slit.line[-1]
    if distance(inner, tip) + by < LEAST_SLIT_MM:
        what = f"{upper_first(slit_title(slit.name))} is only {both(slit_length(slit))} deep."
        raise FitError.of("deepen", what, "Shorten it by less.", code="slit-too-short")
    return replace(slit, line=(*slit.line[:-1], add(tip, scaled(unit(sub(tip, inner)), by))))


def _check(before: Piece, after: Piece) -> None:
    """Refuse a changed slit that leaves the piece or crosses a channel."""
    for slit in after.slits:
        if slit in before.slits:
            continue
        if not is_inside(after, slit.line[-1]):
            what = f"The tip of {slit_title(slit.name)} would lie off {piece_words(after.name)}."
            raise FitError.of("slits", what, "Give a smaller depth.", code="off-piece")
        refuse_channels(after, slit, "slits")


def _lengthened(pattern: Pattern, piece: Piece, bottom: Sequence[Edge], by: float) -> Altered:
    """The bottom edge moved out along the slits and the edges beside it; the channels that ended there follow."""
    if not by:
        return Altered(pattern.with_piece(piece))
    names = tuple(edge.name for edge in bottom)
    run = adjoining(piece, names)
    redrawn = shifted(piece, shifts_over(run, *_downwards(piece, run, by)))
    made, notes = with_marks(redrawn)
    made, more = carry_ends(redrawn, made, names)
    return Altered(pattern.with_piece(made), (*notes, *more), redrawn.zones("moved"))


def _downwards(piece: Piece, edges: Sequence[Edge], by: float) -> tuple[Profile, Point, Profile]:
    """How far each place of the bottom moves down, the way down, and how far towards the back.

    It moves along the edge beside it at either end, along the slit at each foot, and in between from one to the other.
    """
    run = run_of(edges)
    size = run_length(run)
    index, count = piece.edges.index(edges[0]), len(piece.edges)
    ways = {0.0: tangent(piece.edges[index - 1].segments[-1], 1.0)}
    ways[size] = scaled(tangent(piece.edges[(index + len(edges)) % count].segments[0], 0.0), -1.0)
    for slit in piece.slits:
        at, away = run_nearest(run, slit.line[0])
        if away <= FOOT_ON_EDGE_MM:
            ways[min(max(at, 0.0), size)] = unit(sub(slit.line[0], slit.line[1]))
    down = smooth_profile([(at, -by * way.y) for at, way in ways.items()], size, size)
    back = smooth_profile([(at, by * way.x) for at, way in ways.items()], size, size)
    return down, Point(0.0, -1.0), back


def _flared(altered: Altered, piece: Piece, meant: set[str], width: float) -> Altered:
    for slit in (s for s in piece.slits if s.name in meant and width):
        done = InsertGore(piece.name, slit.line[0], slit.line[-1], width=width).done(altered.pattern)
        altered = altered.then(done)
    return altered
