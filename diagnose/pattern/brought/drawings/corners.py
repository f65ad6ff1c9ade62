"""Where an outline turns: its corners, the four of them that part bottom, back, top and front, and cuts at a place.

A corner is named by the number of the segment that begins there. Angles are degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from msgspec.structs import replace

from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.brought.sketch import Stroke
from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import split, tangent
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.geometry.plane import add, angle, cross, distance, mid, scaled, sub
from diagnose.pattern.outline import Line, Point, Segment
from diagnose.pattern.tolerances import ON_CORNER_MM

__all__ = ["FourCorners", "corners_of", "cut_at", "four_corners", "sharpened", "without_notches"]

DRAWN_CORNER_DEG = 20.0
"""A turn of more than this is a corner …"""

SAMPLE_MOST_DEG = 60.0
"""… unless it is less than this and one of a row of like turns: a curve drawn as short straight lines."""

END_SAMPLE_DEG = 32.0
"""At the end of such a row a turn has a like one on one side only; it must then be less than this."""

LIKE_TURN_RATIO = 0.4
CUT_NOTCH_MM = 9.0
"""A notch that is cut into an outline is no wider and its sides are no longer."""

NOTCH_DEG = 30.0
SAMPLE_LENGTH_RATIO = 0.15
ROUND_MM = 4.0
"""A corner that turns within so short a way by at least the next figure was rounded by the pen, or in tracing."""

ROUND_DEG = 45.0
BEGUN_DEG = 2.0
SHARP_DEG = 35.0
"""A turn at one place of more than this is a corner already."""


class FourCorners(NamedTuple):
    """The corners (as numbers of `breaks`' order from the first) that part the four sides, counter-clockwise."""

    bottom_front: int
    bottom_back: int
    top_back: int
    top_front: int


def corners_of(ring: Ring) -> tuple[int, ...]:
    """The segments that begin at a corner."""
    segments = ring.segments
    turns = [_turn_deg(segments[n - 1], segments[n]) for n in range(len(segments))]
    sizes = [length(segment) for segment in segments]
    longest = SAMPLE_LENGTH_RATIO * sum(sizes)
    return tuple(
        n
        for n, turn in enumerate(turns)
        if abs(turn) > DRAWN_CORNER_DEG and not _is_sample(n, turns, segments, sizes=sizes, longest_mm=longest)
    )


def _turn_deg(before: Segment, after: Segment) -> float:
    """The turn from one segment to the next, positive to the left."""
    return math.degrees(angle(tangent(before, 1.0), tangent(after, 0.0)))


def _is_sample(
    n: int, turns: Sequence[float], segments: Sequence[Segment], sizes: Sequence[float], longest_mm: float
) -> bool:
    """Whether the turn is one of a row of like turns between short straight lines."""
    count, turn = len(turns), turns[n]
    if not all(isinstance(segments[k], Line) for k in (n - 1, n)) or abs(turn) >= SAMPLE_MOST_DEG:
        return False
    before = turns[n - 1] / turn >= LIKE_TURN_RATIO and sizes[n - 1] <= longest_mm
    after = turns[(n + 1) % count] / turn >= LIKE_TURN_RATIO and sizes[n] <= longest_mm
    return (before and after) or ((before or after) and abs(turn) < END_SAMPLE_DEG)


def four_corners(points: Sequence[Point]) -> FourCorners | None:
    """Which of the corners, given counter-clockwise, part the four sides; None when none plainly do.

    They are the ones farthest out towards the four corners of the paper: with them the bottom runs as far to the back,
    the back as far up, the top as far to the front and the front as far down as they can. Front and back must be there;
    a gore may have no bottom or no top.
    """
    if len(points) < 3:
        return None
    first = max(range(len(points)), key=lambda n: -points[n].x - points[n].y)
    order = [*range(first, len(points)), *range(first)]
    ways = ((1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
    found = [max(order, key=lambda n: points[n].x * x + points[n].y * y) for x, y in ways]
    bottom_back, top_back, top_front = (order.index(n) for n in found)
    if not 0 <= bottom_back < top_back <= top_front:
        return None
    return FourCorners(first, *found)


def cut_at(ring: Ring, point: Point) -> tuple[Ring, int]:
    """The ring with a segment that begins at the place nearest to the point, and that segment's number."""
    number, (t, _) = min(
        ((n, nearest(segment, point)) for n, segment in enumerate(ring.segments)), key=lambda found: found[1][1]
    )
    segment = ring.segments[number]
    head, tail = split(segment, t) if 0.0 < t < 1.0 else (segment, segment)
    if t <= 0.0 or distance(head.end, segment.start) <= ON_CORNER_MM:
        return ring, number
    if t >= 1.0 or distance(tail.start, segment.end) <= ON_CORNER_MM:
        return ring, (number + 1) % len(ring.segments)
    segments = (*ring.segments[:number], head, tail, *ring.segments[number + 1 :])
    owners = (*ring.owners[: number + 1], *ring.owners[number:])
    return Ring(segments, owners), number + 1


def without_notches(ring: Ring) -> tuple[Ring, tuple[Point, ...]]:
    """The ring with the notches that are cut into it (or stand out of it) closed, and where they were."""
    segments, owners = list(ring.segments), list(ring.owners)
    spots: list[Point] = []
    n = 0
    while len(segments) > 6 and n < len(segments):
        one, other = segments[n], segments[(n + 1) % len(segments)]
        before, after = segments[n - 1], segments[(n + 2) % len(segments)]
        turns = [_turn_deg(before, one), _turn_deg(one, other), _turn_deg(other, after)]
        is_notch = (
            isinstance(one, Line) and isinstance(other, Line)
            and max(distance(one.start, one.end), distance(other.start, other.end)) <= CUT_NOTCH_MM
            and distance(one.start, other.end) <= CUT_NOTCH_MM
            and min(map(abs, turns)) >= NOTCH_DEG
            and turns[0] * turns[1] < 0.0 < turns[0] * turns[2]
        )  # fmt: skip
        if not is_notch or n + 1 >= len(segments):
            n += 1
            continue
        spots.append(mid(one.start, other.end))
        segments[n : n + 2] = [Line(one.start, other.end)]
        owners[n : n + 2] = owners[n : n + 1]
    return replace(ring, segments=tuple(segments), owners=tuple(owners)), tuple(spots)


def sharpened(ring: Ring) -> Ring:
    """The ring with the corners that were a little rounded drawn out to a point."""
    count, n = len(ring.segments), 0
    turns = [_turn_deg(ring.segments[k - 1], ring.segments[k]) for k in range(count)]
    own = [_own_turn_deg(segment) for segment in ring.segments]
    sizes = [length(segment) for segment in ring.segments]
    segments, owners = list[Segment](), list[Stroke]()
    # Begun on the longest segment, which is no part of a rounding.
    first = max(range(count), key=lambda k: sizes[k])
    order = [*range(first, count), *range(first)]
    while n < count:
        window = _rounding(order[n:], turns, own, sizes=sizes)
        begun, ended = ring.segments[order[n]].start, ring.segments[order[n + max(window, 1) - 1]].end
        tip = _tip(ring, order[n], order[n + window - 1]) if window else None
        if tip is None:
            segments.append(ring.segments[order[n]])
            owners.append(ring.owners[order[n]])
            n += 1
            continue
        segments += [Line(begun, tip), Line(tip, ended)]
        owners += [ring.owners[order[n]]] * 2
        n += window
    return replace(ring, segments=tuple(segments), owners=tuple(owners)) if len(segments) != count else ring


def _own_turn_deg(segment: Segment) -> float:
    """How far the segment itself turns from its start to its end, positive to the left."""
    return math.degrees(angle(tangent(segment, 0.0), tangent(segment, 1.0)))


def _rounding(order: Sequence[int], turns: Sequence[float], own: Sequence[float], sizes: Sequence[float]) -> int:
    """How many of the segments from here on are the rounding of one corner; 0 for none."""
    way, turned, found, most = 0.0, turns[order[0]], 0, 0.0
    if abs(turned) < BEGUN_DEG and abs(own[order[0]]) < BEGUN_DEG:
        return 0
    for number, k in enumerate(order[:-1], 1):
        after = turns[order[number]]
        way += sizes[k]
        if way > ROUND_MM or max(abs(turns[k]), abs(after)) > SHARP_DEG:
            break
        turned += own[k] + after
        if abs(turned) > max(most, ROUND_DEG):
            found, most = number, abs(turned)
    return found


def _tip(ring: Ring, first: int, last: int) -> Point | None:
    """Where the lines meet that run on into the corner from both sides; None where that is not near it."""
    before, after = ring.segments[first - 1], ring.segments[(last + 1) % len(ring.segments)]
    come, go = tangent(before, 1.0), tangent(after, 0.0)
    flat = cross(come, go)
    if abs(flat) < 1e-9:
        return None
    gap = sub(after.start, before.end)
    tip = add(before.end, scaled(come, cross(gap, go) / flat))
    return tip if max(distance(tip, before.end), distance(tip, after.start)) <= ROUND_MM else None
