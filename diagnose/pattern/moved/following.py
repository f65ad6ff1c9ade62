"""What lay on an edge is set on it again after a cut: level ends, slit feet, channel ends, landmarks."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec.structs import replace

from diagnose.pattern.altered import RunRedrawn
from diagnose.pattern.geometry.curves import box_distance, line_hits, point_at, run_length, run_nearest, run_point_at
from diagnose.pattern.geometry.plane import add, distance, dot, sub
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.moved.level_ends import MARK_ON_EDGE_MM, marks_laid
from diagnose.pattern.outline import Channel, Piece, Point, Polyline, Run, Slit
from diagnose.pattern.tolerances import ON_EDGE_MM
from diagnose.units import INCH_MM

__all__ = ["feet_reached", "followed"]

CHANNEL_END_MM = INCH_MM / 2


def followed(was: Piece, piece: Piece, zones: Sequence[RunRedrawn]) -> Piece:
    """The piece with what lay on the redrawn edges set on them: level ends, slit feet, channel ends, landmarks.

    Args:
        was: the piece before; its levels ended at its edges.
        piece: the piece with its new edges, and its marks as its paper has carried them.
        zones: where edges were redrawn.
    """
    ends = [zone for zone in zones if zone.role in ("top", "bottom")]
    made = replace(
        piece,
        landmarks={name: _on_edge(point, zones) for name, point in piece.landmarks.items()},
        slits=tuple(_slit(slit, zones) for slit in piece.slits),
        channels=tuple(_channel(channel, ends) for channel in piece.channels),
    )
    return marks_laid(was, made)


def _channel(channel: Channel, zones: Sequence[RunRedrawn]) -> Channel:
    return replace(channel, line=_both_ends(channel.line, zones, CHANNEL_END_MM))


def _slit(slit: Slit, zones: Sequence[RunRedrawn]) -> Slit:
    """The slit with its foot on the new edge, along its own line."""
    foot = slit.line[0]
    for zone in zones if foot != slit.line[1] else ():
        if zone.near(foot, ON_EDGE_MM) and run_nearest(zone.old, foot)[1] <= ON_EDGE_MM:
            return replace(
                slit, line=(_hit(zone.new, slit.line[1], foot, foot) or _on_edge(foot, [zone]), *slit.line[1:])
            )
    return slit


def _both_ends(line: Polyline, zones: Sequence[RunRedrawn], within_mm: float) -> Polyline:
    """The polyline with each end that lay at a redrawn edge at the same distance from the new one, along its line."""
    line = _ended(line, zones, within_mm)
    return tuple(reversed(_ended(tuple(reversed(line)), zones, within_mm)))


def _ended(line: Polyline, zones: Sequence[RunRedrawn], within_mm: float) -> Polyline:
    """The polyline with its last point carried; points that the edge has passed are left out."""
    end = _slid(line[-1], line[-2], zones, within_mm)
    if end == line[-1] or dot(sub(end, line[-2]), sub(line[-1], line[-2])) > 0.0:
        return (*line[:-1], end)
    if len(line) == 2:
        return line
    for zone in zones:
        now = _hit(zone.new, line[-3], line[-2], end)
        if now and dot(sub(now, line[-3]), sub(line[-2], line[-3])) > 0.0:
            return (*line[:-2], now)
    return line


def _slid(end: Point, inner: Point, zones: Sequence[RunRedrawn], within_mm: float) -> Point:
    for zone in zones if end != inner else ():
        was = _hit(zone.old, inner, end, end) if zone.near(end, within_mm) else None
        now = _hit(zone.new, inner, end, was) if was and distance(was, end) <= within_mm else None
        if was and now:
            return add(end, sub(now, was))
    return end


def _hit(run: Run, a: Point, b: Point, near: Point) -> Point | None:
    found = [point_at(segment, t) for segment in run for t, _ in line_hits(segment, a, b)]
    return min(found, key=lambda p: distance(p, near), default=None)


def _on_edge(point: Point, zones: Sequence[RunRedrawn]) -> Point:
    """A point that lay on a redrawn edge, on the new one; any other as it was."""
    for zone in zones:
        mm, away = run_nearest(zone.old, point) if zone.near(point, MARK_ON_EDGE_MM) else (0.0, math.inf)
        if away <= MARK_ON_EDGE_MM:
            return run_point_at(zone.new, mm * run_length(zone.new) / run_length(zone.old))
    return point


def _near(run: Run, point: Point, within_mm: float) -> bool:
    """A quick look whether the point can lie so near the run."""
    return any(box_distance(segment, point) <= within_mm for segment in run)


def feet_reached(made: Piece, was: Piece, folded_away: Callable[[Point], bool]) -> Piece:
    """The piece with the feet of its slits at its outline where a cut left them off it.

    Args:
        made: the piece as it is now.
        was: the piece as it was, with the same marks.
        folded_away: whether a point of the old paper fell away; a slit that began there is drawn on or trimmed.
    """

    def slit(line: Polyline, old: Polyline) -> Polyline:
        if line[0] == line[1] or not folded_away(old[0]):
            return line
        return _hit(outline_segments(made), line[1], line[0], line[0]) or line[0], *line[1:]

    slits = (replace(new, line=slit(new.line, old.line)) for new, old in zip(made.slits, was.slits, strict=True))
    return replace(made, slits=tuple(slits))
