"""The channels at a place: carried to the edge, cut back from it, moved aside, added, set closer, or spaced anew."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from itertools import pairwise

from diagnose.model.settings import Settings
from diagnose.pattern.geometry.plane import across, along, distance, mid, scaled, sub
from diagnose.pattern.geometry.polylines import line_gap
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.moved.bones import ENDED_THERE_MM, exit_of
from diagnose.pattern.operations import Channels
from diagnose.pattern.operations.channels import Shifted
from diagnose.pattern.outline import Channel, Piece, Point, free_names
from diagnose.plan.drawing.board import Board, NotDrawnError, Task
from diagnose.plan.drawing.edge_lines import Stretch
from diagnose.plan.drawing.half import Half, on_halves
from diagnose.plan.drawing.named_places import Place, place_named
from diagnose.plan.drawing.verbs.redrawn_edges import tangent_at
from diagnose.rulebase.reading.moves import Move

__all__ = ["channels"]

TOO_NEAR_MM = 0.5
LEAST_SHIFT_MM = 0.5
NOTHING_TO_DO = {
    "add": "No panel there has room for a channel between two others: draw it by hand, clear of seams and slits.",
    "closer": "The channels there stand as close as they can, or alone in their panels: lay bones across by hand.",
    "re-space": "The channels there stand evenly already.",
}


def channels(move: Move, task: Task, board: Board) -> Board:
    """The channels at a place: carried to the edge, cut back from it, or moved aside; what cannot be is said."""
    name, what = move.place, move.what
    make = partial(_channel_ops, name=name, what=what, by_mm=task.length_mm)
    operations = on_halves(board.pattern, task, make)
    if not operations and not board.operations:
        return board.say(NOTHING_TO_DO.get(what, "The channels there already end where they should."))
    try:
        return board.do(operations, task.side)
    except NotDrawnError as why:
        return board.say(f"The channels there are left as they are: {why}")


def _channel_ops(half: Half, name: str, what: str, by_mm: float) -> list[Channels]:
    place = place_named(half, name)
    role = place.line.role
    made: list[Channels] = []
    for piece_name in dict.fromkeys(one.piece for one in place.stretches):
        piece = half.piece(piece_name)
        if what in _LAID:
            made += _LAID[what](piece, place, by_mm, half.settings)
            continue
        clear_mm = half.settings.mm("bone-clear")
        names = tuple(c.name for c in piece.channels if _to_carry(piece, c, place, what=what, clear_mm=clear_mm))
        made += [Channels(piece=piece.name, extend=names, to=role, clearance=clear_mm)] if names else []
    return made


def _to_carry(piece: Piece, channel: Channel, place: Place, what: str, clear_mm: float) -> bool:
    """Whether it ends at the place too far from the edge (`extend`) or too near it (`shorten`)."""
    line = channel.line
    upwards = (line[-1].y >= line[0].y) == (place.line.role == "top")
    leave = exit_of(piece, line if upwards else line[::-1])
    if leave is None or leave.edge.role != place.line.role:
        return False
    found = place.line.nearest(piece.name, leave.point)
    if found is None or not place.start <= found[0] <= place.end:
        return False
    return leave.gap_mm > ENDED_THERE_MM if what == "extend" else leave.gap_mm < clear_mm - TOO_NEAR_MM


def _aside(piece: Piece, place: Place, by_mm: float, settings: Settings) -> list[Channels]:
    """The channels that have come too near the edge moved off it, square to it at the peak."""
    own, clear_mm = [s for s in place.stretches if s.piece == piece.name], settings.mm("bone-clear") - TOO_NEAR_MM
    near = [c for c in piece.channels if _gap(c, own) < c.width / 2.0 + clear_mm]
    if not near:
        return []
    inward = scaled(across(tangent_at(place.at(place.peak), place.peak)), by_mm)
    shifts = tuple(Shifted(name=c.name, by=Point(round(inward.x, 3), 0.0)) for c in near)
    return [Channels(piece=piece.name, move=shifts, clearance=settings.mm("bone-clear"))]


def _added(piece: Piece, place: Place, by_mm: float, settings: Settings) -> list[Channels]:
    """One channel more, midway between the two neighbours at the place that stand farthest apart."""
    near = _near_pairs(piece, place, settings.mm("bone-near"))
    return _between(piece, [max(near, key=_room)] if near else [], settings)


def _closer(piece: Piece, place: Place, by_mm: float, settings: Settings) -> list[Channels]:
    """One channel more midway between every two neighbours at the place: their distance is halved."""
    return _between(piece, _near_pairs(piece, place, settings.mm("bone-near")), settings)


def _near_pairs(piece: Piece, place: Place, near_mm: float) -> list[tuple[Channel, Channel]]:
    """The neighbours at the place; all of the piece where the place lies on another."""
    at = place.point(place.peak) if place.at(place.peak).piece == piece.name else None
    pairs = list(pairwise(_upright(piece)))
    return [pair for pair in pairs if at is None or _off_pair(pair, at) <= near_mm] or pairs


def _room(pair: tuple[Channel, Channel]) -> float:
    """The cloth that a channel between the two would leave on both sides."""
    one, other = pair
    return line_gap(one.line, other.line) - (one.width + other.width) / 2.0 - min(one.width, other.width)


def _between(piece: Piece, pairs: Iterable[tuple[Channel, Channel]], settings: Settings) -> list[Channels]:
    """A channel midway between each two that leave room for it."""
    free = free_names("n", {channel.name for channel in piece.channels})
    new = tuple(
        Channel(
            name=next(free),
            line=tuple(mid(a, b) for a, b in zip(_ends(one), _ends(other), strict=True)),
            width=min(one.width, other.width),
        )
        for one, other in pairs
        if _room((one, other)) >= 2.0 * settings.mm("bones-apart-least")
    )
    return [Channels(piece=piece.name, add=new, clearance=settings.mm("bone-clear"))] if new else []


def _spaced(piece: Piece, place: Place, by_mm: float, settings: Settings) -> list[Channels]:
    """The channels between the first and the last spaced evenly, each shifted as it stands."""
    found = _upright(piece)
    if len(found) < settings.mm("bones-to-space"):
        return []
    first, last = found[0].middle, found[-1].middle
    shifts = []
    for number, channel in enumerate(found[1:-1], 1):
        by = sub(along(first, last, number / (len(found) - 1)), channel.middle)
        if abs(by.x) > LEAST_SHIFT_MM:
            shifts.append(Shifted(name=channel.name, by=Point(round(by.x, 3), 0.0)))
    return [Channels(piece=piece.name, move=tuple(shifts), clearance=settings.mm("bone-clear"))] if shifts else []


def _upright(piece: Piece) -> list[Channel]:
    """The piece's channels from front to back."""
    return sorted(piece.channels, key=lambda channel: channel.middle.x)


def _ends(channel: Channel) -> tuple[Point, Point]:
    """The lower and the upper end."""
    low, high = sorted((channel.line[0], channel.line[-1]), key=lambda point: point.y)
    return low, high


def _off_pair(pair: tuple[Channel, Channel], at: Point) -> float:
    """How far the place lies from the nearer upper end of the two."""
    return min(distance(_ends(channel)[1], at) for channel in pair)


def _gap(channel: Channel, stretches: Iterable[Stretch]) -> float:
    """How far the channel's sides lie from the edges; its ends, which stop at the edge, do not count."""
    inner = [Point(a.x + (b.x - a.x) * k, a.y + (b.y - a.y) * k) for a, b in pairwise(channel.line) for k in (0.7, 0.9)]
    return min(run_nearest(one.edge.segments, point)[1] for one in stretches for point in inner)


_LAID = {"move": _aside, "add": _added, "closer": _closer, "re-space": _spaced}
