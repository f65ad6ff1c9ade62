"""What lies above what on a piece: levels keep their order and room between them.

Millimetres. Paper folded out across a piece brings what lies above it nearer to what lies below. Two levels with no
room between them say two girths of one place, and the line drawn through between them makes one of them wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from diagnose.errors import Mistake
from diagnose.pattern.geometry.bezier import point_at
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import UP, across, add, dot, mid, scaled, sub, unit
from diagnose.pattern.moved.band import as_heights
from diagnose.pattern.outline import Line, Piece, Point, Polyline
from diagnose.pattern.tolerances import NOTABLE_MM, NOTHING_MM, ON_EDGE_MM
from diagnose.units import INCH_MM, both

__all__ = ["LEVELS_APART_MM", "grain_up", "level_shifted", "levels_too_near", "on_grain"]

LEVELS_APART_MM = INCH_MM * 3 / 4
"""What a change of length that says nothing of it leaves between two levels."""
BY_THE_EDGE = "bottom"
"""It lies along the hem, so that no seam is shaped between it and the level above."""


def levels_too_near(before: Piece, now: Piece, up: Point, *, least_mm: float) -> Iterator[Mistake]:
    """A mistake for each two levels that have come nearer to each other than `least_mm`, or over each other."""
    stations = [name for name in now.levels if name in before.levels and name != BY_THE_EDGE]
    for one, other in combinations(stations, 2):
        was, left = (_apart(piece.levels[one], piece.levels[other], up) for piece in (before, now))
        if was is None or left is None or (was[0] <= NOTABLE_MM and was[1] >= -NOTABLE_MM):
            continue
        upper, lower, room, left_mm = (
            (one, other, was[0], left[0]) if was[0] > NOTABLE_MM else (other, one, -was[1], -left[1])
        )
        if left_mm < min(least_mm - NOTABLE_MM, room - ON_EDGE_MM):
            where = "on or under" if left_mm <= NOTABLE_MM else f"only {both(left_mm)} above"
            what = f"The {upper} level would lie {where} the {lower} level."
            do = f"Take a smaller amount, that leaves {both(least_mm)} between the two."
            yield Mistake("amount", what, do, code="no-room-between")


def grain_up(piece: Piece) -> Point:
    """The direction of the grain, upwards; straight up where none is drawn."""
    if piece.grain is None or piece.grain[0] == piece.grain[1]:
        return UP
    way = unit(sub(piece.grain[1], piece.grain[0]))
    return way if dot(way, UP) >= 0.0 else scaled(way, -1.0)


def on_grain(piece: Piece, station: str) -> Point:
    """Where the station's level crosses the grain line drawn on; the middle of the level where it does not."""
    level = piece.level(station)
    if piece.grain is not None and piece.grain[0] != piece.grain[1]:
        for segment in (Line(a, b) for a, b in pairwise(level) if a != b):
            for t, _ in line_hits(segment, *piece.grain):
                return point_at(segment, t)
    return mid(level[0], level[-1])


def level_shifted(piece: Piece, station: str, offset: float) -> Polyline:
    """The station's level shifted so far up along the grain.

    Where that would run across another level, it lies between the two levels next to it instead, in the same part of
    the way from the one to the other all along, so that neither is torn.
    """
    level, up = piece.level(station), grain_up(piece)
    shifted = tuple(add(point, scaled(up, offset)) for point in level)
    if not offset or not any(_cross(shifted, other, up) for other in piece.levels.values() if other is not level):
        return shifted
    at = dot(on_grain(piece, station), scaled(across(up), -1.0))
    found = {name: as_heights(line, up) for name, line in piece.levels.items()}
    rows = sorted((heights(at), name) for name, heights in found.items() if heights)
    height = next(mm for mm, name in rows if name == station) + offset
    above = next((row for row in rows if row[0] >= height), None)
    below = next((row for row in reversed(rows) if row[0] <= height), None)
    if above is None or below is None or above == below:
        near = above or below or rows[0]
        return tuple(add(point, scaled(up, height - near[0])) for point in piece.levels[near[1]])
    return _between(piece, (below, above), height, up=up)


def _between(piece: Piece, rows: tuple[tuple[float, str], tuple[float, str]], height: float, up: Point) -> Polyline:
    """The line in one part of the way from the lower level to the upper."""
    (low, below), (high, above) = rows
    ahead, part = scaled(across(up), -1.0), (height - low) / (high - low)
    places = sorted({dot(p, ahead) for name in (below, above) for p in piece.levels[name]})
    under, over = (as_heights(piece.levels[name], up) for name in (below, above))
    assert under is not None
    assert over is not None
    return tuple(add(scaled(ahead, at), scaled(up, under(at) + (over(at) - under(at)) * part)) for at in places)


def _cross(one: Polyline, other: Polyline, up: Point) -> bool:
    """Whether one of two levels, drawn on, lies above the other in one place and below it in another."""
    apart = _apart(one, other, up, drawn_on=True)
    return apart is not None and apart[0] < -NOTHING_MM and apart[1] > NOTHING_MM


def _apart(one: Polyline, other: Polyline, up: Point, *, drawn_on: bool = False) -> tuple[float, float] | None:
    """By how much the one lies above the other where both run (or, drawn on, where one does): least and most.

    None where they do not run side by side.
    """
    ahead, first, second = scaled(across(up), -1.0), as_heights(one, up), as_heights(other, up)
    if first is None or second is None:
        return None
    rows = [[dot(point, ahead) for point in line] for line in (one, other)]
    start, end = max(map(min, rows)), min(map(max, rows))
    found = [first(at) - second(at) for at in (*rows[0], *rows[1]) if drawn_on or start <= at <= end]
    return (min(found), max(found)) if found else None
