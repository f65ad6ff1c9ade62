"""Measuring the flat pattern: widths at a level, girths, edges, channels, seams.

All lengths are millimetres, areas square millimetres. A level is a polyline; its width is the length of it that lies
inside the outline, whose curves are cut as curves. What lies on the outline counts as inside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.bezier import Box, area, box_of, point_at, turning_ts
from diagnose.pattern.geometry.hits import line_hits, near_line
from diagnose.pattern.geometry.plane import along, distance
from diagnose.pattern.geometry.polylines import crosses
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_point_at
from diagnose.pattern.kept import kept
from diagnose.pattern.outline import Channel, Cubic, Edge, EdgeRef, Pattern, Piece, Point, Seam, Segment, Slit, run_of
from diagnose.pattern.tolerances import LEVEL_REACH_TOL_MM, ON_CORNER_MM, ON_OUTLINE_TOL_MM

__all__ = [
    "LevelCut", "bounds", "channel_length", "cut_level", "edge_length", "edge_point_at", "edge_x_at",
    "garment_girth", "is_inside", "levels_ending", "line_length", "mm_of_point", "outline_segments", "piece_area",
    "ref_length", "seam_difference", "seams_per_half", "slit_length", "station_ends", "station_width",
]  # fmt: skip

END_T = 1e-9
_RAYS = tuple(Point(math.cos(math.radians(a)), math.sin(math.radians(a))) for a in (81.3, 67.9, 104.7, 53.1, 122.9))


class LevelCut(Struct, frozen=True):
    """A level cut by the outline: its straight parts inside, and how far inside its two ends stop short of it."""

    parts: tuple[tuple[Point, Point], ...]
    short_start: float
    short_end: float

    @property
    def width(self) -> float:
        """The length inside the outline."""
        return sum(distance(a, b) for a, b in self.parts)

    @property
    def ends(self) -> tuple[Point, Point] | None:
        """Where the level comes on to the paper and where it leaves it; None where it misses it."""
        return (self.parts[0][0], self.parts[-1][1]) if self.parts else None

    def outside(self, level: Sequence[Point], least_mm: float) -> Iterator[tuple[Point, Point]]:
        """From where to where the level that was cut runs outside the outline, by more than that."""
        stops = (level[0], *(point for part in self.parts for point in part), level[-1])
        return (gap for gap in zip(stops[::2], stops[1::2], strict=True) if distance(*gap) > least_mm)


def outline_segments(piece: Piece) -> tuple[Segment, ...]:
    """The outline's segments in order."""
    return run_of(piece.edges)


def station_width(piece: Piece, station: str) -> float:
    """The length of the station's level inside the outline.

    Raises:
        FitError: when the piece has no such level.
    """
    return cut_level(piece, piece.level(station)).width


def station_ends(piece: Piece, station: str) -> tuple[Point, Point] | None:
    """Where the station's level meets the outline in front and behind; None where the piece has none."""
    return cut_level(piece, piece.levels[station]).ends if station in piece.levels else None


def levels_ending(piece: Piece, edge: Edge, within_mm: float) -> Iterator[tuple[str, float]]:
    """The stations whose levels end on the edge, or so near to it, each with how far along the edge that is."""
    for station in piece.levels:
        for end in station_ends(piece, station) or ():
            mm, off = mm_of_point(edge, end)
            if off <= within_mm:
                yield station, mm


def garment_girth(pattern: Pattern, station: str) -> float | None:
    """The whole garment's girth at the station, edge to edge without the gap; None when no piece has that level."""
    widths = [piece.copies * station_width(piece, station) for piece in pattern.pieces if station in piece.levels]
    return sum(widths) if widths else None


def cut_level(piece: Piece, level: Sequence[Point]) -> LevelCut:
    """The level cut by the outline; a level of one single place has no parts."""
    return _cut(piece.edges, tuple(level))


# One level of one outline is asked for several times while it is altered, drawn and checked; both are values.
@kept(1024)
def _cut(edges: tuple[Edge, ...], level: tuple[Point, ...]) -> LevelCut:
    segments = run_of(edges)
    stretches = [(a, b, _spans(segments, a, b)) for a, b in pairwise(level) if a != b]
    if not stretches:
        return LevelCut((), 0.0, 0.0)
    parts = tuple(
        (along(a, b, max(s0, 0.0)), along(a, b, min(s1, 1.0)))
        for a, b, spans in stretches
        for s0, s1 in spans
        if s0 < 1.0 and s1 > 0.0
    )
    (a, b, first), (c, d, last) = stretches[0], stretches[-1]
    before = max((-s0 for s0, s1 in first if s0 < 0.0 < s1), default=0.0)
    behind = max((s1 - 1.0 for s0, s1 in last if s0 < 1.0 < s1), default=0.0)
    return LevelCut(parts, before * distance(a, b), behind * distance(c, d))


def _spans(segments: Sequence[Segment], a: Point, b: Point) -> list[tuple[float, float]]:
    """The stretches of the endless line a→b inside the outline, as parts of a→b (0 at a, 1 at b), by growing s."""
    cuts, plain = _cuts(segments, a, b)
    if plain:
        return list(zip(cuts[::2], cuts[1::2], strict=True))
    return [(s0, s1) for s0, s1 in pairwise(cuts) if s0 < s1 and _inside(segments, along(a, b, (s0 + s1) / 2.0))]


def _cuts(segments: Sequence[Segment], a: Point, b: Point) -> tuple[list[float], bool]:
    """Where the outline meets the endless line a→b, and whether it plainly crosses the line at each.

    It does not where it touches the line, runs along it or has a corner on it.
    """
    size = distance(a, b)
    way = Point((b.x - a.x) / size, (b.y - a.y) / size)
    cuts: list[float] = []
    plain = True
    for segment, start_height, end_height in near_line(segments, a, way):
        hits = line_hits(segment, a, b)
        cuts += [s for _, s in hits]
        # A cubic meets a line three times at most, a touch counting for two: a touch shows in an odd count of hits
        # between ends on one side, or an even one between ends on two.
        plain = plain and len(hits) % 2 == ((start_height > 0.0) != (end_height > 0.0))
        # A corner a rounding away from the line is no hit of its own, but an edge that runs along the line ends there.
        if abs(start_height) <= ON_OUTLINE_TOL_MM:
            cuts.append(((segment.start.x - a.x) * way.x + (segment.start.y - a.y) * way.y) / size)
            plain = False
    return sorted(cuts), plain


def is_inside(piece: Piece, point: Point) -> bool:
    """Whether the point lies inside the outline or on it."""
    return _inside(outline_segments(piece), point)


def _inside(segments: Sequence[Segment], point: Point) -> bool:
    odd = False
    for way in _RAYS:
        ahead = Point(point.x + way.x, point.y + way.y)
        hits = [hit for segment, *_ in near_line(segments, point, way) for hit in line_hits(segment, point, ahead)]
        if any(abs(s) <= ON_OUTLINE_TOL_MM for _, s in hits):
            return True
        odd = sum(s > 0.0 for _, s in hits) % 2 == 1
        if all(END_T < t < 1.0 - END_T for t, _ in hits):
            break  # a ray through a corner may count it twice or not at all: only such a ray is tried again
    return odd


def opens_at(level: Sequence[Point], slit: Slit) -> bool:
    """Whether a slit stands open at a level: it runs on past it by more than its tip."""
    tip, before = slit.line[-1], slit.line[-2]
    short = max(0.0, 1.0 - SLIT_TIP_MM / max(distance(before, tip), SLIT_TIP_MM))
    return crosses(level, (*slit.line[:-1], along(before, tip, short)))


SLIT_TIP_MM = 8.0
"""So near to its tip a slit has hardly opened."""


def edge_length(edge: Edge) -> float:
    """The edge's length along its curves."""
    return run_length(edge.segments)


def ends_at(edge: Edge, point: Point) -> bool:
    """Whether one of the edge's ends lies at the point."""
    return min(distance(edge.start, point), distance(edge.end, point)) <= ON_CORNER_MM


def edge_point_at(edge: Edge, mm: float) -> Point:
    """The point `mm` along the edge from its start; beyond an end, that end."""
    return run_point_at(edge.segments, mm)


def mm_of_point(edge: Edge, point: Point) -> tuple[float, float]:
    """How far along the edge the place nearest to `point` lies, and how far `point` is from it."""
    return run_nearest(edge.segments, point)


def edge_x_at(piece: Piece, y_mm: float) -> tuple[float, ...]:
    """Where the outline crosses the height `y_mm`, from front to back; a corner that two segments share stands once."""
    start = Point(0.0, y_mm)
    found, _ = _cuts(outline_segments(piece), start, Point(1.0, y_mm))
    return tuple(x for n, x in enumerate(found) if n == 0 or x - found[n - 1] > ON_OUTLINE_TOL_MM)


def piece_area(piece: Piece) -> float:
    """The area inside the stitching lines, in mm²."""
    return area(outline_segments(piece))


def bounds(piece: Piece) -> Box:
    """The least upright rectangle round the outline, its curves measured where they turn."""
    return box_of((segment.start, segment.end, *_turns(segment)) for segment in outline_segments(piece))


def _turns(segment: Segment) -> list[Point]:
    """The points where a curve runs upright or level, inside it."""
    if not isinstance(segment, Cubic):
        return []
    corners = (segment.start, segment.c1, segment.c2, segment.end)
    return [point_at(segment, t) for axis in (0, 1) for t in turning_ts([corner[axis] for corner in corners])]


def line_length(line: Sequence[Point]) -> float:
    """The length of a polyline."""
    return sum(distance(a, b) for a, b in pairwise(line))


def channel_length(channel: Channel) -> float:
    """The length of the channel's middle line."""
    return line_length(channel.line)


def slit_length(slit: Slit) -> float:
    """The length of the slit from foot to tip."""
    return line_length(slit.line)


def ref_length(pattern: Pattern, ref: EdgeRef) -> float:
    """The length of what a seam names: an edge, or the slit of ``slit:NAME``.

    Raises:
        FitError: when there is no such piece, edge or slit.
    """
    piece = pattern.piece(ref.piece)
    slit = next((one for one in piece.slits if one.name == ref.slit), None)
    return edge_length(piece.edge(ref.edge)) if slit is None else slit_length(slit)


def seam_difference(pattern: Pattern, seam: Seam) -> float:
    """How much longer side `a` is than side `b` beyond the ease: 0 when the two sew together without a remainder."""
    return ref_length(pattern, seam.a) - ref_length(pattern, seam.b) - seam.ease


def seams_per_half(pattern: Pattern) -> int:
    """How many seams of one half can take in or let out its girth.

    Those that a level runs on across. The fold, the opening and the lacing edge are none; nor is a shoulder, a sleeve's
    seam, a gore's seam to its slit, nor one of an edge with its own mirror image, which belongs to both halves. Where a
    pair has been split, the left half is counted.
    """
    sides = {piece.name: piece.side for piece in pattern.pieces}
    return sum(
        seam.a != seam.b
        and not any(ref.slit for ref in seam.refs)
        and "right" not in (sides.get(seam.a.piece), sides.get(seam.b.piece))
        and all(_a_level_ends_on(pattern.piece(ref.piece), ref.edge) for ref in seam.refs)
        for seam in pattern.seams
    )


def _a_level_ends_on(piece: Piece, edge: str) -> bool:
    return any(True for _ in levels_ending(piece, piece.edge(edge), LEVEL_REACH_TOL_MM))
