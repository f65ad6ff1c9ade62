"""`channels`: channels are removed, moved, added and extended, in that order, clear of edges and slits.

Millimetres. `extend` carries the end nearest to the `to` edge (top or bottom) along the channel's own line until it
stands `clearance` short of the edge (default 1/4 in), or its stitching 1/8 in clear of a slit in its way; an end that
stands too near is cut back. `add` takes channels as they stand in a pattern. `move` shifts a channel by [dx, dy]; an
end that stood at the top or bottom edge keeps its distance to it. Added and moved ends that come too near an edge are
cut back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from typing import ClassVar, Literal, Self

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake, nearest
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import add, cross, mid, scaled, sub, unit
from diagnose.pattern.geometry.polylines import at_both_ends, crosses, first_crossing, leg_gap, line_gap
from diagnose.pattern.in_words import Note, OfBones, bones_mistake, edge_words, piece_first, piece_words, slit_title
from diagnose.pattern.measure import is_inside
from diagnose.pattern.moved.bones import (
    EDGE_CLEARANCE_MM,
    ENDED_THERE_MM,
    SLIT_CLEARANCE_MM,
    exit_of,
    stopped_at,
)
from diagnose.pattern.operations.operation import OnPiece, nothing_asked
from diagnose.pattern.operations.parameters import (
    Kind,
    Parameter,
    a_line,
    a_name,
    a_point,
    above_nothing,
    many,
    may,
    need,
    not_negative,
    one_of,
    or_none,
)
from diagnose.pattern.outline import END_ROLES, Channel, Pattern, Piece, Point, Polyline, Slit
from diagnose.sentences import listed
from diagnose.units import both

__all__ = ["Channels", "Shifted"]

ONE_PLACE_MM = 1e-6
LEAST_SLIT_SINE = 1e-6
Change = Callable[[Channel], tuple[Channel, tuple[Note, ...]]]


class Shifted(Struct, frozen=True):
    """A channel to move, and the vector to move it by."""

    name: str
    by: Point


_CHANNEL = Kind(Channel, (need("name", a_name), need("line", a_line), need("width", above_nothing)))
SHIFTED = Kind(Shifted, (need("name", a_name), need("by", a_point)))


class Channels(OnPiece, frozen=True):
    """What to do with the channels of one piece.

    Attributes:
        piece: the piece's name.
        extend: names of channels to carry to the `to` edge.
        to: the edge they are carried to.
        clearance: how far short of top and bottom edges channels end.
        add: new channels.
        remove: names of channels to take away.
        move: channels to shift.
    """

    op: ClassVar[str] = "channels"
    called: ClassVar[str] = "channels redrawn"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        many("extend", a_name),
        may("to", or_none(one_of("edge", "top", "bottom"))),
        may("clearance", not_negative),
        many("add", _CHANNEL),
        many("remove", a_name),
        many("move", SHIFTED),
    )

    extend: tuple[str, ...] = ()
    to: Literal["top", "bottom"] | None = None
    clearance: float = EDGE_CLEARANCE_MM
    add: tuple[Channel, ...] = ()
    remove: tuple[str, ...] = ()
    move: tuple[Shifted, ...] = ()

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the channels changed.

        Raises:
            FitError: for every name not known or taken already, every channel off the piece or across a slit.
        """
        piece = pattern.piece(self.piece)
        _refuse(piece, self)
        kept = (channel for channel in piece.channels if channel.name not in self.remove)
        made = {channel.name: channel for channel in (*kept, *self.add)}
        notes: list[Note] = []
        mistakes: list[Mistake] = []
        for where, name, change in _steps(piece, self):
            try:
                made[name], said = change(made[name])
                notes += said
            except FitError as error:
                mistakes += [replace(mistake, where=where) for mistake in error.mistakes]
        if mistakes:
            raise FitError(mistakes)
        after = replace(piece, channels=tuple(made.values()))
        return Altered(pattern.with_piece(after), (*notes, *_doubled(piece, after)))

    def in_part(self, part: float) -> Self:
        """The change with every move times `part`."""
        return replace(self, move=tuple(replace(one, by=scaled(one.by, part)) for one in self.move))

    def amounts(self) -> Iterator[str]:
        """How far each channel moves."""
        for one in self.move:
            ways = [f"{both(abs(mm))} {way}" for mm, way in ((one.by.x, "across"), (one.by.y, "up or down")) if mm]
            if ways:
                yield " and ".join(ways) if len(self.move) == 1 else f"{' and '.join(ways)} for {one.name}"


def _refuse(piece: Piece, do: Channels) -> None:
    """Refuse every name that is not there, or is there already, at once."""
    known = {channel.name for channel in piece.channels}
    left = known - set(do.remove) | {channel.name for channel in do.add}
    named = [("remove", name, known) for name in do.remove]
    named += [("move", shift.name, known - set(do.remove)) for shift in do.move]
    named += [("extend", name, left) for name in do.extend]
    mistakes = [
        Mistake(
            where,
            f"{piece_first(piece.name)} has no channel '{name}'.",
            nearest(name, has) if has else "It has none.",
            code="no-such-channel",
        )
        for where, name, has in named
        if name not in has
    ]
    taken = [c.name for c in do.add if c.name in known - set(do.remove)]
    mistakes += [
        bones_mistake(
            "add",
            OfBones(piece.name, (f"{piece_words(piece.name)} already has ", (name,), ".")),
            "Name it anew.",
            code="name-taken",
        )
        for name in taken
    ]
    if do.extend and do.to is None:
        mistakes.append(
            Mistake(
                "to", "It does not say where the channels are to be carried.", "Give top or bottom.", code="no-place"
            )
        )
    mistakes += nothing_asked(do, "extend", "add", "remove", "move")
    if mistakes:
        raise FitError(mistakes)


def _steps(piece: Piece, do: Channels) -> Iterator[tuple[str, str, Change]]:
    """Where it stands in the request, the channel's name, and what is done to it, in order."""
    for shift in do.move:
        yield f"move {shift.name}", shift.name, partial(_moved, piece, shift.by, do.clearance)
    for channel in do.add:
        yield f"add {channel.name}", channel.name, partial(_cleared, piece, do.clearance)
    for name in do.extend:
        yield f"extend {name}", name, partial(_extended, piece, do.to or "top", do.clearance)


def _moved(piece: Piece, by: Point, clearance: float, channel: Channel) -> tuple[Channel, tuple[Note, ...]]:
    """The channel shifted; an end that stood at the top or bottom edge stands as far from it again."""
    line = tuple(add(point, by) for point in channel.line)
    line, first = _as_before(piece, channel.line[::-1], line[::-1], clearance=clearance)
    line, last = _as_before(piece, channel.line, line[::-1], clearance=clearance)
    return _cleared(piece, min(clearance, first, last), replace(channel, line=line))


def _as_before(piece: Piece, old: Polyline, new: Polyline, clearance: float) -> tuple[Polyline, float]:
    """The moved line with its last end at the old end's distance from the edge, and that distance."""
    was, now = exit_of(piece, old), exit_of(piece, new)
    if was is None or now is None or was.edge.role != now.edge.role or was.edge.role not in END_ROLES:
        return new, clearance
    if not 0.0 <= was.gap_mm <= ENDED_THERE_MM:
        return new, clearance
    return stopped_at(new, now.point, was.gap_mm) or new, was.gap_mm


def _cleared(piece: Piece, clearance: float, channel: Channel) -> tuple[Channel, tuple[Note, ...]]:
    """The channel cut back where it comes too near the top or bottom edge; refused off the piece or across a slit."""
    if not is_inside(piece, mid(channel.line[-2], channel.line[-1])):
        raise _refused(
            piece, channel, f" lies off {piece_words(piece.name)}.", do="Place it inside the outline.", code="off-piece"
        )
    line = at_both_ends(channel.line, lambda line: _cut_back(piece, line, clearance))
    made = replace(channel, line=line)
    crossed = [slit_title(slit.name) for slit in piece.slits if crosses(slit.line, line)]
    if crossed:
        said = f" would cross {listed(crossed)}."
        raise _refused(piece, channel, said, do="Place it to one side of the slit.", code="bone-crosses-slit")
    note = _of(piece, channel, f"is cut back to end {both(clearance)} inside the edge.")
    return made, ((note,) if line != channel.line else ()) + _beside_slits(piece, made)


def _of(piece: Piece, channel: Channel, said: str) -> OfBones:
    """What is said of a channel of the piece."""
    return OfBones(piece.name, ((channel.name,), f" of {piece_words(piece.name)} {said}"))


def _refused(piece: Piece, channel: Channel, said: str, *, do: str, code: str) -> FitError:
    """A refusal of a channel, with what would be wrong with it."""
    return FitError([bones_mistake("channels", OfBones(piece.name, ((channel.name,), said)), do, code=code)])


def _cut_back(piece: Piece, line: Polyline, clearance: float) -> Polyline:
    leave = exit_of(piece, line)
    if leave is None or leave.gap_mm >= (clearance if leave.edge.role in END_ROLES else 0.0) - ONE_PLACE_MM:
        return line
    cut = stopped_at(line, leave.point, clearance) if leave.edge.role in END_ROLES else None
    if cut is None:
        what = f"The channel runs out over {edge_words(leave.edge)} of {piece_words(piece.name)}."
        raise FitError.of("channels", what, "Place it inside the outline.", code="off-piece")
    return cut


def _beside_slits(piece: Piece, channel: Channel) -> tuple[Note, ...]:
    least = channel.width / 2.0 + SLIT_CLEARANCE_MM
    near = [slit_title(slit.name) for slit in piece.slits if line_gap(slit.line, channel.line) < least]
    if not near:
        return ()
    return (_of(piece, channel, f"is stitched less than {both(SLIT_CLEARANCE_MM)} from {listed(near)}."),)


def _extended(piece: Piece, to: str, clearance: float, channel: Channel) -> tuple[Channel, tuple[Note, ...]]:
    """The channel carried along its own line to the edge, or to just short of a slit in its way."""
    forwards = (channel.line[-1].y >= channel.line[0].y) == (to == "top")
    line = channel.line if forwards else channel.line[::-1]
    leave = exit_of(piece, line)
    if leave is None or leave.edge.role != to:
        runs = edge_words(leave.edge) if leave else "no edge"
        said = f" drawn on meets {runs} of {piece_words(piece.name)} and not the {to} edge."
        raise _refused(piece, channel, said, do="Move it, or carry it to the other edge.", code="no-room")
    stop, short = leave.point, clearance
    notes: tuple[Note, ...] = ()
    for slit in piece.slits:
        crossing = first_crossing(line[-2], stop, slit.line)
        if crossing is not None:
            stop, short = crossing, _short_of(slit, crossing, sub(crossing, line[-2]), width=channel.width)
            notes = (_of(piece, channel, f"stops short of {slit_title(slit.name)}."),)
    made = stopped_at(line, stop, short)
    if made is None:
        raise _refused(piece, channel, " has no room there.", do="Take it out instead.", code="no-room")
    return replace(channel, line=made if forwards else made[::-1]), notes


def _short_of(slit: Slit, crossing: Point, way: Point, width: float) -> float:
    """How far before it crosses the slit, going that way, a channel's stitching is still clear of it."""
    a, b = min(pairwise(slit.line), key=lambda leg: leg_gap(crossing, *leg))
    sine = abs(cross(unit(sub(b, a)), unit(way)))
    return (width / 2.0 + SLIT_CLEARANCE_MM) / max(sine, LEAST_SLIT_SINE)


def _doubled(before: Piece, after: Piece) -> tuple[Note, ...]:
    """A sentence for each pair of channels that now overlap, where one of them is new or changed."""
    pairs = (
        (a, b)
        for i, a in enumerate(after.channels)
        for b in after.channels[i + 1 :]
        if (a not in before.channels or b not in before.channels)
        and line_gap(a.line, b.line) < (a.width + b.width) / 2.0 - ONE_PLACE_MM
    )
    said = f" of {piece_words(after.name)} now overlap: move one of them."
    return tuple(OfBones(after.name, ((a.name, b.name), said)) for a, b in pairs)
