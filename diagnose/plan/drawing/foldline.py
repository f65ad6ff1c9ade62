"""Choosing where a fold runs down a panel: from top edge to hem, square to the levels, clear of what lies there.

A line is named by its shares of the panel's width at its uppermost and its lowest level. Of the lines in the part of
the panel that is meant, the one is taken that costs least; the costs are counted in channels spoilt:

- a channel that the strip crosses, or comes on to; one that lies in the strip from end to end is the least harm, since
  its bone is drawn anew on the closing line, unless it stands beside the edge that closes, where eyelets need it;
- a slit that it cuts across (along a slit is best: the strip then closes on the slit itself);
- an edge too short to lose so much (a strap's tab), and a strap's fixing in the strip;
- the armhole, the slant of the line to the levels, the step it makes in the top edge, and its way from the middle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.geometry.bezier import point_at, tangent
from diagnose.pattern.geometry.hits import line_hits, nearest
from diagnose.pattern.geometry.plane import across, along, cross, distance, dot, scaled, sub, unit
from diagnose.pattern.geometry.polylines import part_along
from diagnose.pattern.measure import cut_level, edge_length, mm_of_point
from diagnose.pattern.outline import Edge, Line, Piece, Point
from diagnose.units import INCH_MM

__all__ = ["FoldLine", "best_line", "level_point", "level_share"]

STEPS = 24
MOST_SLANT_RATIO = 0.12
SLIT_REACH_RATIO = 0.06
TRIED = 12
CROSSED, TOUCHED, SWALLOWED, ON_CLOSING_LINE, AT_EYELETS = 3.0, 0.3, 1.5, 0.8, 1.2
SLIT_CUT, SHORT_EDGE, FIXING, UNDER_ARM = 6.0, 4.0, 2.0, 3.0
LEANS = (0.0, -0.03, -0.015, 0.015, 0.03)
SPARE_EDGE_MM = 2 * INCH_MM
ALONG_SLIT_MM = 2.0
STEP_COST_MM = 20.0
ON_TAB_MM = 1.0
MIDWAY = 0.5
BELOW_MM = INCH_MM
AWAY_COST = 2.0
Parts = Sequence[tuple[Point, Point]]
Off = Callable[[Point], tuple[float, float]]


class FoldLine(Struct, frozen=True):
    """A straight line down a piece.

    Attributes:
        piece: the piece.
        start: where it leaves the piece at the top edge.
        end: where it leaves it at the bottom edge.
        shares: its share of the panel's width, from the front, at the uppermost and at the lowest level.
        top_edge: the edge it leaves by at the top.
        top_way: the direction of that edge there, of length one.
        inside: the channels that lie in the strip from end to end.
    """

    piece: Piece
    start: Point
    end: Point
    shares: tuple[float, float]
    top_edge: Edge
    top_way: Point
    inside: tuple[str, ...] = ()

    def part_at(self, station: Station) -> float | None:
        """How far down the line (0 at `start`, 1 at `end`) it crosses the level; None where it does not."""
        legs = (Line(a, b) for a, b in pairwise(self.piece.levels.get(station, ())) if a != b)
        return next((part for leg in legs for _, part in line_hits(leg, self.start, self.end)), None)


def level_point(piece: Piece, station: str, share: float) -> Point:
    """The point of the level at that share of its width inside the outline, from the front."""
    return part_along(cut_level(piece, piece.level(station)).parts, share)


def level_share(piece: Piece, station: str, point: Point) -> float:
    """The share of the level's width, from the front, at the place nearest to the point."""
    return _share_of(cut_level(piece, piece.level(station)).parts, point)


def _share_of(parts: Parts, point: Point) -> float:
    done, best = 0.0, (math.inf, 0.0)
    for a, b in parts:
        size = distance(a, b)
        part = min(max(dot(sub(point, a), sub(b, a)) / size**2, 0.0), 1.0) if size else 0.0
        best = min(best, (distance(point, along(a, b, part)), done + part * size))
        done += size
    return best[1] / done if done else 0.0


def best_line(
    piece: Piece,
    region: tuple[float, float],
    amounts: tuple[float, float],
    *,
    armhole: tuple[Edge, ...],
    eyelets_mm: float,
) -> FoldLine | None:
    """The line that costs least; None where no straight line runs from the top edge to the bottom edge.

    Args:
        piece: the panel.
        region: the shares between which its upper end may lie.
        amounts: how wide the strip is at the top and at the bottom, mm; negative where the paper is spread.
        armhole: the edges under the arm.
        eyelets_mm: how near to the lacing edge a channel stands that belongs to the eyelets.
    """
    if not piece.levels:
        return None
    (top, bottom), eyelets = _ends(piece), _at_eyelets(piece, eyelets_mm)
    uppers, lowers = (cut_level(piece, piece.level(station)).parts for station in (top, bottom))
    widths = max(amounts[0], 0.0), max(amounts[1], 0.0)
    middle = (region[0] + region[1]) / 2.0
    found: list[tuple[float, float, float, Point, Point]] = []
    for upper, lower in _shares(piece, region, lowers):
        a = part_along(uppers, upper)
        if not 0.0 < lower < 1.0:
            continue
        z = part_along(lowers, lower) if top != bottom else _square_below(piece, top, a)
        if a == z or abs(_square_off(piece, top, a=a, z=z)) > MOST_SLANT_RATIO:
            continue
        cost = _marks_cost(piece, a, z, widths=widths, eyelets=eyelets) + AWAY_COST * abs(upper - middle)
        found.append((cost + abs(_square_off(piece, top, a=a, z=z)), upper, lower, a, z))
    lines = [
        (cost + _edge_cost(line, widths[0], armhole), number, line)
        for number, (cost, upper, lower, a, z) in enumerate(sorted(found)[:TRIED])
        if (line := _drawn_out(piece, a, z, shares=(upper, lower))) is not None
    ]
    best = min(lines, default=(0.0, 0, None))[2]
    return replace(best, inside=_inside(best, widths)) if best else None


def _inside(line: FoldLine, widths: tuple[float, float]) -> tuple[str, ...]:
    piece = line.piece
    a, z = (level_point(piece, station, share) for station, share in zip(_ends(piece), line.shares, strict=True))
    off = _offs(a, z if z != a else line.end, widths)
    return tuple(c.name for c in piece.channels if _within(off(c.line[0])) and _within(off(c.line[-1])))


def _ends(piece: Piece) -> tuple[Station, Station]:
    """The uppermost and the lowest level that the piece has."""
    stations = [station for station in STATIONS if station in piece.levels]
    return stations[0], stations[-1]


def _shares(piece: Piece, region: tuple[float, float], lowers: Parts) -> Iterator[tuple[float, float]]:
    slits = [_share_of(lowers, slit.line[0]) for slit in piece.slits]
    for number in range(STEPS + 1):
        upper = region[0] + (region[1] - region[0]) * number / STEPS
        for lean in LEANS:
            yield upper, upper + lean
        for share in slits:
            if abs(share - upper) <= SLIT_REACH_RATIO:
                yield upper, share


def _square_below(piece: Piece, station: str, point: Point) -> Point:
    """A place below the level's point, square to the level, where the piece has no second level."""
    return sub(point, scaled(across(_level_way(piece, station, point)), BELOW_MM))


def _level_way(piece: Piece, station: str, point: Point) -> Point:
    """The direction of the level at its point."""
    legs = pairwise(piece.level(station))
    a, b = min(legs, key=lambda leg: distance(leg[0], point) + distance(leg[1], point) - distance(*leg))
    return unit(sub(b, a))


def _square_off(piece: Piece, station: str, a: Point, z: Point) -> float:
    """How far the line is from square to the level, as a tangent."""
    way, down = _level_way(piece, station, a), unit(sub(z, a))
    return dot(way, down) / max(abs(cross(way, down)), 1e-9)


def _offs(a: Point, z: Point, widths: tuple[float, float]) -> Off:
    down, size = unit(sub(z, a)), distance(a, z)

    def off(point: Point) -> tuple[float, float]:
        """How far beside the line, and half the strip's width there."""
        part = dot(sub(point, a), down) / size
        return cross(down, sub(point, a)), max(0.0, widths[0] + (widths[1] - widths[0]) * part) / 2.0

    return off


def _within(at: tuple[float, float]) -> bool:
    """Whether a place so far beside the line lies in the strip, of that half width there."""
    return abs(at[0]) < at[1]


def _marks_cost(piece: Piece, a: Point, z: Point, widths: tuple[float, float], eyelets: Collection[str]) -> float:
    off = _offs(a, z, widths)
    cost = sum(_channel_cost(c.line, c.width, off, at_eyelets=c.name in eyelets) for c in piece.channels)
    cost += sum(_slit_cost(slit.line, off) for slit in piece.slits)
    return cost + FIXING * any(abs(beside) <= half for beside, half in map(off, _fixings(piece)))


def _fixings(piece: Piece) -> list[Point]:
    """The places straps are fixed to, with both ends of the tab they stand on."""
    marks = [point for name, point in piece.landmarks.items() if name.startswith("strap-")]
    tops = [edge for edge in piece.edges if edge.role == "top" and edge_length(edge) < SPARE_EDGE_MM]
    tabs = [edge for edge in tops for mark in marks if mm_of_point(edge, mark)[1] <= ON_TAB_MM]
    return [*marks, *(end for edge in tabs for end in (edge.start, edge.end))]


def _at_eyelets(piece: Piece, near_mm: float) -> frozenset[str]:
    """The channels beside the edge that is laced, between which and the edge the eyelets stand."""
    closing = [segment for edge in piece.edges if edge.role == "lacing" for segment in edge.segments]
    middles = {c.name: along(c.line[0], c.line[-1], MIDWAY) for c in piece.channels}
    return frozenset(name for name, at in middles.items() if any(nearest(s, at)[1] <= near_mm for s in closing))


def _channel_cost(line: tuple[Point, ...], width: float, off: Off, *, at_eyelets: bool) -> float:
    ends = [off(line[0]), off(line[-1])]
    if _within(ends[0]) and _within(ends[1]):
        return ON_CLOSING_LINE + AT_EYELETS * at_eyelets
    if ends[0][0] * ends[1][0] < 0.0:
        return CROSSED
    clear = min(abs(beside) - half - width / 2.0 for beside, half in ends)
    return TOUCHED + min(1.0, -clear / width) * SWALLOWED if clear < 0.0 else 0.0


def _slit_cost(line: tuple[Point, ...], off: Off) -> float:
    ends = [off(line[0]), off(line[-1])]
    if all(abs(beside) <= half for beside, half in ends):
        return sum(max(0.0, abs(beside) - ALONG_SLIT_MM) / (half + 1.0) for beside, half in ends) / 4.0
    inside = any(abs(beside) <= half + ALONG_SLIT_MM for beside, half in ends)
    return SLIT_CUT if inside or ends[0][0] * ends[1][0] < 0.0 else 0.0


def _edge_cost(line: FoldLine, width: float, armhole: tuple[Edge, ...]) -> float:
    down = unit(sub(line.end, line.start))
    step = width * abs(dot(line.top_way, down)) / max(abs(cross(line.top_way, down)), 1e-3)
    short = SHORT_EDGE if edge_length(line.top_edge) < width + SPARE_EDGE_MM else 0.0
    under = UNDER_ARM if any(line.top_edge.name == one.name for one in armhole) else 0.0
    return short + under + step / STEP_COST_MM


def _drawn_out(piece: Piece, a: Point, z: Point, shares: tuple[float, float]) -> FoldLine | None:
    """The line drawn on to the outline, where it leaves by a top and by a bottom edge."""
    found = [
        (s, edge, segment, t) for edge in piece.edges for segment in edge.segments for t, s in line_hits(segment, a, z)
    ]
    above, below = [hit for hit in found if hit[0] <= MIDWAY], [hit for hit in found if hit[0] > MIDWAY]
    if not above or not below:
        return None
    _, top, segment, t = max(above, key=lambda hit: hit[0])
    _, bottom, low, low_t = min(below, key=lambda hit: hit[0])
    if top.role != "top" or bottom.role != "bottom":
        return None
    return FoldLine(
        piece, point_at(segment, t), point_at(low, low_t), shares=shares, top_edge=top, top_way=tangent(segment, t)
    )
