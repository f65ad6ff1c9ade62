"""Lines inside the outlines that nothing names, told by how they lie: levels, grain, channels, notches.

A line from side to side is a level: called what the words beside it say, else by its place among the levels of its
piece, the waist being where the pieces together are narrowest. A lone upright line is the grain; two close beside each
other, or a narrow upright oblong, are a channel; a short line across an edge is a notch.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.sketch import Kind, Stroke, Words
from diagnose.pattern.brought.understood.proposal import Proposal
from diagnose.pattern.geometry.bezier import box_of, flatten
from diagnose.pattern.geometry.plane import along, distance, mid
from diagnose.pattern.geometry.polylines import boxes_near, crosses, leg_gap
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import bounds, cut_level, edge_x_at, is_inside
from diagnose.pattern.outline import END_ROLES, Line, Piece, Point
from diagnose.sentences import counted

__all__ = ["lines_inside"]

STROKE_CHORD_TOL_MM = 0.3
LEVEL_SLANT_RATIO = 0.45
"""A level rises or falls no more than this part of its width: on a half cut in one piece it slants much."""

FOOT_TOL_MM = 1.5
"""A slit's foot lies so near to the edge that it is cut into, and its tip no nearer to any than the next figure."""

TIP_MM = 8.0

WHOLE_RATIO = 0.8
"""A level runs over at least this part of the piece's width."""

UPRIGHT_MARK_RATIO = 0.2
LEAST_UPRIGHT_MM = 40.0
CHANNEL_MM = (4.0, 20.0)
"""How wide a channel may be that nothing names."""

LONGEST_NOTCH_MM = 20.0
NEAR_A_PIECE_MM = 6.0
WORDS_NEAR_MM = 25.0
_STATIONS: Sequence[tuple[str, str]] = (
    (r"under[\s-]?bust|\bub\b", "underbust"), (r"waist|\bwl?\b", "waist"), (r"hips?\b|\bhl?\b", "hip"),
)  # fmt: skip


class _Level(Struct, frozen=True):
    """A line from side to side of a piece; `station` is empty where no words tell."""

    piece: str
    line: tuple[Point, ...]
    station: str

    @property
    def y(self) -> float:
        return sum(point.y for point in self.line) / len(self.line)

    @property
    def wide(self) -> float:
        return distance(self.line[0], self.line[-1])


def _station_of(text: str) -> str:
    """The station that words on a drawing name; empty for none."""
    return next((name for pattern, name in _STATIONS if re.search(pattern, text, re.IGNORECASE)), "")


def lines_inside(
    proposal: Proposal, loose: Sequence[Stroke], words: Sequence[Words]
) -> tuple[tuple[Stroke, ...], tuple[str, ...]]:
    """The marks that loose lines come to, each named after its piece, and what was presumed and left out.

    Args:
        proposal: the pieces.
        loose: the lines that are part of no outline.
        words: of the drawing.
    """
    pieces = [one.piece for one in proposal.pieces]
    boxes = [_corners(piece) for piece in pieces]
    levels: list[_Level] = []
    marks: list[Stroke] = []
    uprights: dict[str, list[Stroke]] = {}
    left = 0
    for stroke in loose:
        points = _points(stroke)
        near = [piece for piece, box in zip(pieces, boxes, strict=True) if boxes_near(points, box, NEAR_A_PIECE_MM)]
        found = [] if stroke.closed else [o for piece in near if (o := _level(piece, stroke, points, words=words))]
        levels += found
        if found:
            continue
        mark = next((one for piece in near if (one := _slit(piece, stroke) or _mark(piece, stroke, points))), None)
        if mark is None:
            left += 1
        elif mark.kind == "grain":
            uprights.setdefault(mark.piece, []).append(mark)
        else:
            marks.append(mark)
    slits = [mark for mark in marks if mark.kind == "slit"]
    named, said = _named([one for one in levels if not _crosses_slit(one, slits)], pieces)
    cut = [one for one in levels if _crosses_slit(one, slits)]
    named += [_stroke(one) for one in cut if one.station]
    below = [one for one in cut if not one.station]
    if below:
        crossing = "level line[ that crosses|s that cross] slits [was|were] left out: nothing names [it|them]."
        said.append(counted(len(below), crossing))
    for lines in uprights.values():
        one_piece, spare = _uprights(lines)
        marks += one_piece
        left += spare
    kinds = Counter(mark.kind for mark in marks)
    said += [counted(kinds[kind], what) for kind, what in _SAID.items() if kinds[kind]]
    if left:
        why = "[it is|they are] part of no outline, and nothing names what [it marks|they mark]."
        said.append(counted(left, f"line[ was|s were] left out: {why}"))
    return (*named, *marks), tuple(said)


_SAID: Mapping[Kind, str] = {
    "grain": "upright line[|s] inside a piece [was|were] taken for its grain.",
    "channel": "narrow upright oblong[ or pair|s or pairs] of lines "
    "[was taken for a boning channel|were taken for boning channels].",
    "notch": "short line[|s] across an edge [was taken for a notch|were taken for notches].",
    "slit": "line[|s] from the lower or the upper edge inwards [was taken for a slit|were taken for slits].",
}


def _points(stroke: Stroke) -> list[Point]:
    run = [point for segment in stroke.segments for point in flatten(segment, STROKE_CHORD_TOL_MM)[:-1]]
    return [*run, stroke.end]


def _corners(piece: Piece) -> tuple[Point, Point]:
    """Two corners of the box round the piece."""
    box = bounds(piece)
    return Point(box.left, box.bottom), Point(box.right, box.top)


def _level(piece: Piece, stroke: Stroke, points: Sequence[Point], words: Sequence[Words]) -> _Level | None:
    """The level that the line is on the piece; None when it is none."""
    across, up = points[-1].x - points[0].x, points[-1].y - points[0].y
    if abs(up) > LEVEL_SLANT_RATIO * abs(across):
        return None
    line = list(points) if across > 0.0 else list(points[::-1])
    cut = cut_level(piece, line)
    if not cut.parts:
        return None
    y = (cut.parts[0][0].y + cut.parts[-1][1].y) / 2.0
    outline = edge_x_at(piece, y)
    if len(outline) < 2 or cut.width < WHOLE_RATIO * (outline[-1] - outline[0]):
        return None
    inside = [cut.parts[0][0], *(part[1] for part in cut.parts)]
    inside[0] = _drawn_on(inside[1], inside[0], cut.short_start)
    inside[-1] = _drawn_on(inside[-2], inside[-1], cut.short_end)
    return _Level(piece.name, tuple(inside), _station(stroke, points, words))


def _drawn_on(before: Point, end: Point, mm: float) -> Point:
    """The end carried straight on to the outline."""
    size = distance(before, end)
    return along(before, end, 1.0 + mm / size) if size > 0.0 and mm > 0.0 else end


def _station(stroke: Stroke, points: Sequence[Point], words: Sequence[Words]) -> str:
    """The station that the line's own name, its layer or the nearest words give."""
    own = stroke.part if stroke.part in STATIONS else _station_of(stroke.part) or _station_of(stroke.piece)
    return own or _told(points, words)


def _told(points: Sequence[Point], words: Sequence[Words]) -> str:
    """The station of the nearest words beside the line."""
    near = [
        (min(leg_gap(one.at, a, b) for a, b in pairwise(points)), station)
        for one in words if (station := _station_of(one.text))
    ]  # fmt: skip
    found = min(near, default=(WORDS_NEAR_MM + 1.0, ""))
    return found[1] if found[0] <= WORDS_NEAR_MM else ""


def _named(levels: Sequence[_Level], pieces: Sequence[Piece]) -> tuple[list[Stroke], list[str]]:
    """The levels with their stations, as strokes; those without words by their place in their piece."""
    told = [one for one in levels if one.station]
    bare = {piece.name: sorted((one for one in levels if one.piece == piece.name and not one.station),
                               key=lambda one: one.y) for piece in pieces}  # fmt: skip
    rows = {name: lines for name, lines in bare.items() if lines}
    counts = Counter(len(lines) for lines in rows.values())
    if not rows:
        return [_stroke(one) for one in told], []
    if any(one.station == "waist" for one in told):
        return [_stroke(one) for one in told], [
            counted(sum(map(len, rows.values())), "level line[|s] without a name [was|were] left out.")
        ]
    count = counts.most_common(1)[0][0]
    alike = {name: lines for name, lines in rows.items() if len(lines) == count}
    wide = [sum(lines[n].wide for lines in alike.values()) for n in range(count)]
    waist = min(range(count), key=lambda n: wide[n])
    names = {waist: "waist", waist + 1: "underbust", waist - 1: "hip"}
    made = [
        replace(line, station=names[n]) for lines in alike.values() for n, line in enumerate(lines) if n in names
    ]  # fmt: skip
    stations = [names[n] for n in sorted(names) if 0 <= n < count]
    said = counted(count, f"line[|s] from side to side [was|were] taken for {', '.join(stations)}.")
    return [_stroke(one) for one in (*told, *made)], [said]


def _stroke(level: _Level) -> Stroke:
    lines = tuple(Line(a, b) for a, b in pairwise(level.line) if a != b)
    return Stroke(lines, False, "level", piece=level.piece, part=level.station)


def _mark(piece: Piece, stroke: Stroke, points: Sequence[Point]) -> Stroke | None:
    """The channel, notch or upright line that the stroke is on the piece; None when it is none of them."""
    box = box_of([points])
    middle, high, wide = box.middle, box.high, box.wide
    if stroke.closed:
        is_channel = len(stroke.segments) == 4 and is_inside(piece, middle) and high >= LEAST_UPRIGHT_MM
        sides = sorted(distance(s.start, s.end) for s in stroke.segments)
        if is_channel and CHANNEL_MM[0] <= sides[1] <= CHANNEL_MM[1] and sides[2] >= LEAST_UPRIGHT_MM:
            return replace(stroke, kind="channel", piece=piece.name, part="")
        return None
    if high >= LEAST_UPRIGHT_MM and wide <= UPRIGHT_MARK_RATIO * high and is_inside(piece, middle):
        return replace(stroke, kind="grain", piece=piece.name, part="")
    off = min(run_nearest(edge.segments, middle)[1] for edge in piece.edges)
    if max(high, wide) <= LONGEST_NOTCH_MM and off <= NEAR_A_PIECE_MM:
        return replace(stroke, kind="notch", piece=piece.name, part="")
    return None


def _slit(piece: Piece, stroke: Stroke) -> Stroke | None:
    """The slit that the stroke is: from a point of the bottom or top edge inwards, and no farther."""
    if stroke.closed or distance(stroke.start, stroke.end) < TIP_MM:
        return None
    away = [min(run_nearest(edge.segments, end)[1] for edge in piece.edges) for end in (stroke.start, stroke.end)]
    foot, tip = (stroke.start, stroke.end) if away[0] < away[1] else (stroke.end, stroke.start)
    ends = [edge for edge in piece.edges if edge.role in END_ROLES]
    if not ends or max(away) < TIP_MM or not is_inside(piece, tip):
        return None
    on = min(run_nearest(edge.segments, foot)[1] for edge in ends)
    if on > FOOT_TOL_MM or abs(tip.y - foot.y) < abs(tip.x - foot.x):
        return None
    return replace(stroke, kind="slit", piece=piece.name, part="")


def _crosses_slit(level: _Level, slits: Sequence[Stroke]) -> bool:
    """Whether a slit of its piece crosses the level well below its tip: what stands open there is no waist."""
    mine = [sorted((one.start, one.end), key=lambda p: p.y) for one in slits if one.piece == level.piece]
    ends = [(foot, along(foot, tip, max(0.0, 1.0 - 2.0 * TIP_MM / distance(foot, tip)))) for foot, tip in mine]
    return any(crosses(level.line, pair) for pair in ends)


def _uprights(lines: Sequence[Stroke]) -> tuple[list[Stroke], int]:
    """The grain and the channels among a piece's upright lines, and how many are neither."""
    rows = sorted(lines, key=lambda one: mid(one.start, one.end).x)
    if len(rows) == 1:
        return rows, 0
    made: list[Stroke] = []
    n = spare = 0
    while n < len(rows):
        pair = rows[n + 1] if n + 1 < len(rows) else None
        apart = mid(pair.start, pair.end).x - mid(rows[n].start, rows[n].end).x if pair else 0.0
        if pair and CHANNEL_MM[0] <= apart <= CHANNEL_MM[1]:
            made.append(_between(rows[n], pair, apart))
            n += 2
            continue
        spare += 1
        n += 1
    return made, spare


def _between(one: Stroke, other: Stroke, wide: float) -> Stroke:
    """The channel whose two stitching lines are given."""
    far = other.start if distance(one.start, other.start) <= distance(one.start, other.end) else other.end
    end = other.end if far is other.start else other.start
    line = Line(mid(one.start, far), mid(one.end, end))
    return replace(one, segments=(line,), kind="channel", part="", data={"width": f"{wide:.3f}"})
