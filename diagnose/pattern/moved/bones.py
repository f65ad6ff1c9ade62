"""Channels against the edges and slits round them: where they run out, what room they have, how they follow an edge.

Millimetres. A channel is stitched straight, so an end is carried along the channel's own line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import Mistake
from diagnose.pattern.geometry.bezier import flatten, point_at
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import add, distance, dot, mid, scaled, sub, unit
from diagnose.pattern.geometry.polylines import at_both_ends, boxes_near, crosses, line_gap
from diagnose.pattern.geometry.runs import run_nearest, run_point_at
from diagnose.pattern.in_words import Note, OfBones, bones_mistake, edge_words, piece_words, slit_title
from diagnose.pattern.measure import is_inside
from diagnose.pattern.moved.carry import Redrawn
from diagnose.pattern.outline import SIDE_ROLES, Channel, Edge, Piece, Point, Polyline, Role
from diagnose.sentences import listed
from diagnose.units import INCH_MM

__all__ = [
    "EDGE_CLEARANCE_MM", "SLIT_CLEARANCE_MM", "Exit", "carry_ends", "channels_in_slits", "exit_of", "follow_edges",
    "near_edge", "past_edge", "side_chords", "stopped_at",
]  # fmt: skip

EDGE_CLEARANCE_MM = INCH_MM / 4
SLIT_CLEARANCE_MM = INCH_MM / 8
ENDED_THERE_MM = INCH_MM
BESIDE_MM = INCH_MM
BONE_CHORD_TOL_MM = 0.5
NO_SHIFT_MM = 1e-6
TOUCH_MM = 1e-6


class Exit(Struct, frozen=True):
    """Where a channel drawn on leaves the paper, over which edge, and how far beyond its end (less than 0: inside)."""

    point: Point
    edge: Edge
    gap_mm: float


def exit_of(piece: Piece, line: Polyline) -> Exit | None:
    """Where the line, drawn on beyond its last point, leaves the piece; None when it never meets the outline."""
    start, end = mid(line[-2], line[-1]), line[-1]
    if start == end:
        return None
    found: tuple[float, Point, Edge] | None = None
    for edge in piece.edges:
        for segment in edge.segments:
            for t, s in line_hits(segment, start, end):
                if s > 1e-9 and (found is None or s < found[0]):
                    found = (s, point_at(segment, t), edge)
    return Exit(found[1], found[2], (found[0] - 1.0) * distance(start, end)) if found else None


def stopped_at(line: Polyline, leave: Point, clearance: float) -> Polyline | None:
    """The line with its last leg ending `clearance` short of a point on it; None when nothing of the leg is left."""
    ahead = unit(sub(line[-1], line[-2]))
    if dot(sub(leave, line[-2]), ahead) <= clearance:
        return None
    return (*line[:-1], sub(leave, scaled(ahead, clearance)))


def carry_ends(redrawn: Redrawn, piece: Piece, names: Iterable[str]) -> tuple[Piece, tuple[Note, ...]]:
    """The piece with each channel that ended at one of those edges carried to the new line, less its own clearance.

    A channel that the new edge has come too near is cut back to the clearance of 1/4 in.
    """
    edges = frozenset(names)
    end_carried = partial(_end_carried, redrawn, edges)
    made = [replace(one, line=at_both_ends(one.line, end_carried)) for one in piece.channels]
    carried = tuple(new.name for new, old in zip(made, piece.channels, strict=True) if new != old)
    if not carried:
        return piece, ()
    said = f" of {piece_words(piece.name)} carried to the new edge; cut the bones to the new lengths."
    return replace(piece, channels=tuple(made)), (OfBones(piece.name, (carried, said)),)


def _end_carried(redrawn: Redrawn, edges: frozenset[str], line: Polyline) -> Polyline:
    old, new = exit_of(redrawn.before, line), exit_of(redrawn.after, line)
    if old is None or new is None or not {old.edge.name, new.edge.name} & edges:
        return line
    ended = old.edge.name in edges and abs(old.gap_mm) <= ENDED_THERE_MM
    wanted = old.gap_mm if ended else min(old.gap_mm, EDGE_CLEARANCE_MM)
    if abs(new.gap_mm - wanted) <= NO_SHIFT_MM or not (ended or new.gap_mm < wanted):
        return line
    return stopped_at(line, new.point, wanted) or line


def follow_edges(redrawn: Redrawn, piece: Piece, names: Sequence[str]) -> tuple[Piece, tuple[Note, ...]]:
    """The piece with its channels carried along with the moved edges, which are one line, and what was carried.

    A channel within 1 in of the moved line keeps its distance to it, one as near to another side edge stays, and those
    between are shared out evenly. Of a top or bottom edge, the channels that ended there keep their clearance.
    """
    edges = [redrawn.before.edge(name) for name in names]
    if edges[0].role not in SIDE_ROLES:
        return carry_ends(redrawn, piece, names)
    shares = {channel.name: _share(redrawn.before, channel, edges) for channel in piece.channels}
    carried = tuple(channel for channel in shares if shares[channel] > 0.0)
    if not carried:
        return piece, ()
    made = tuple(_swung(redrawn, c, edges, share=shares[c.name]) if c.name in carried else c for c in piece.channels)
    said = f" of {piece_words(piece.name)} moved with {listed([edge_words(edge) for edge in edges])}."
    return replace(piece, channels=made), (OfBones(piece.name, (carried, said)),)


def _gap_mm(channel: Channel, edge: Edge) -> float:
    return line_gap(_chords(edge), (channel.middle, channel.middle))


def _share(piece: Piece, channel: Channel, moved: Sequence[Edge]) -> float:
    """How much of the edges' move the channel takes part in, 0 to 1."""
    names = [edge.name for edge in moved]
    own = min(_gap_mm(channel, edge) for edge in moved)
    others = (edge for edge in piece.edges if edge.role in SIDE_ROLES and edge.name not in names)
    other = min((_gap_mm(channel, edge) for edge in others), default=math.inf)
    if min(own, other) <= BESIDE_MM or math.isinf(other):
        return 1.0 if own <= other else 0.0
    return (other - BESIDE_MM) / (own + other - 2.0 * BESIDE_MM)


def _chords(edge: Edge) -> Polyline:
    return tuple(p for segment in edge.segments for p in flatten(segment, BONE_CHORD_TOL_MM))


def _swung(redrawn: Redrawn, channel: Channel, edges: Sequence[Edge], share: float) -> Channel:
    """The channel, each of its points moved by its share of how the place of the line beside it has moved."""
    moved = []
    for point in channel.line:
        (mm, _), edge = min(((run_nearest(edge.segments, point), edge) for edge in edges), key=lambda hit: hit[0][1])
        by = sub(redrawn.places[edge.name](mm), run_point_at(edge.segments, mm))
        moved.append(add(point, scaled(by, share)))
    return replace(channel, line=tuple(moved))


def past_edge(piece: Piece, name: str) -> tuple[Note, ...]:
    """A sentence for the channels whose stitching now lies on a side edge; those quite beyond it are laid anew."""
    edge = piece.edge(name)
    if edge.role not in SIDE_ROLES:
        return ()
    chords = _chords(edge)
    lost = tuple(
        channel.name
        for channel in piece.channels
        if near_edge(chords, channel, channel.line)
        and not crosses(chords, channel.line)
        and is_inside(piece, mid(channel.line[-2], channel.line[-1]))
    )
    if not lost:
        return ()
    lie, them = ("lies", "it") if len(lost) == 1 else ("lie", "them")
    said = f" of {piece_words(piece.name)} now {lie} on the line of {edge_words(edge)}: move {them} inwards."
    return (OfBones(piece.name, (lost, said)),)


def near_edge(chords: Polyline, channel: Channel, line: Polyline) -> bool:
    """Whether the channel's stitching, laid along that line, would come upon the edge."""
    near = channel.width / 2.0
    return boxes_near(chords, line, near) and line_gap(chords, line) < near


def side_chords(piece: Piece, roles: Sequence[Role] = SIDE_ROLES) -> list[Polyline]:
    """The side edges, or those of the roles given, as polylines."""
    return [_chords(edge) for edge in piece.edges if edge.role in roles]


def channels_in_slits(before: Piece | None, after: Piece) -> Iterator[Mistake]:
    """A mistake for each channel whose stitching a slit now runs into and did not before."""
    known = set(_in_slits(before)) if before else set()
    for channel, slit in _in_slits(after):
        if (channel, slit) not in known:
            said = f" of {piece_words(after.name)} would lie in {slit_title(slit)}: no bone crosses a slit."
            yield bones_mistake(
                f"piece {after.name}, channel {channel}", OfBones(after.name, ((channel,), said)),
                "Move the channel aside or take it out first.", code="bone-crosses-slit",
            )  # fmt: skip


def _in_slits(piece: Piece) -> Iterator[tuple[str, str]]:
    for channel in piece.channels:
        for slit in piece.slits:
            if boxes_near(channel.line, slit.line, channel.width) and (
                line_gap(channel.line, slit.line) < channel.width / 2.0 - TOUCH_MM
            ):
                yield channel.name, slit.name
