"""Levels laid from edge to edge: an end goes with the side edge it stood at, and an edge that cuts in is gone round.

A tape laid along a level ends where the piece ends. Where an edge has been cut below (or above) the level, it is drawn
taut round that edge; all the rest of it stays as it lies.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from itertools import groupby, pairwise

from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import Box, box_distance, box_of, flatten, may_be_near, point_at
from diagnose.pattern.geometry.blend import LEAST_REACH_MM, reach_for
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import across, add, along, cross, distance, dot, mid, scaled, sub, unit
from diagnose.pattern.geometry.polylines import leg_gap
from diagnose.pattern.geometry.runs import run_between, run_nearest, run_spot
from diagnose.pattern.kept import kept
from diagnose.pattern.measure import LevelCut, cut_level, outline_segments
from diagnose.pattern.outline import END_ROLES, Edge, Piece, Point, Polyline, Run, Segment, run_of
from diagnose.pattern.tolerances import LEVEL_REACH_TOL_MM, ON_LINE_MM
from diagnose.units import INCH_MM

__all__ = ["MARK_ON_EDGE_MM", "cut_to", "drawn_through", "marks_laid", "trimmed"]

MARK_ON_EDGE_MM = INCH_MM / 16
LEVEL_STEP_MM = 0.05
OPEN_PER_STEP = 20.0
LEVEL_CHORD_TOL_MM = 0.002
CLEAR_MM, LEAST_CLEAR_MM, CLEAR_PER_MM = 0.03, 0.004, 0.01
FAR_RATIO = 3.0
FAR_OFF_MM = 10.0
MOST_ROUNDS = 5
END_MM = 0.02


def marks_laid(was: Piece, made: Piece) -> Piece:
    """The piece with its levels running from edge to edge again, and its landmarks on the edges they lay on.

    Args:
        was: the piece before; it says at which edges levels ended and on which a landmark lay.
        made: the piece now, its edges drawn, its marks as the paper has carried them.
    """
    made = _levels_laid(was, made)
    changed = {edge.name for edge, old in zip(made.edges, was.edges, strict=False) if edge != old}
    spots = {name: _on_its_edge(was, made, name, changed=changed) for name in made.landmarks if name in was.landmarks}
    moved = any(made.landmarks[name] is not spot for name, spot in spots.items())
    return replace(made, landmarks={**made.landmarks, **spots}) if moved else made


def _on_its_edge(was: Piece, made: Piece, name: str, changed: set[str]) -> Point:
    """Where the landmark lies: on the edge it lay on (within a ruler's division), where that has been redrawn."""
    old, now = was.landmarks[name], made.landmarks[name]
    kept = {edge.name for edge in made.edges}
    edges = [
        edge.name
        for edge in was.edges
        if edge.name in kept and may_be_near(edge.segments, old, MARK_ON_EDGE_MM)
        and run_nearest(edge.segments, old)[1] <= MARK_ON_EDGE_MM
    ]  # fmt: skip
    if not changed.intersection(edges):
        return now
    spot, off = min((run_spot(made.edge(edge).segments, now) for edge in edges), key=lambda found: found[1])
    return now if off <= ON_LINE_MM else spot


def _levels_laid(was: Piece, made: Piece) -> Piece:
    changed = _changed(was, made)
    levels = {
        name: _laid(made, line, _ended_at(was, was.levels[name]))
        if name in was.levels and _touched(line, was.levels[name], changed)
        else line
        for name, line in made.levels.items()
    }
    moved = any(levels[name] is not line for name, line in made.levels.items())
    return replace(made, levels={name: line for name, line in levels.items() if line}) if moved else made


def _changed(was: Piece, made: Piece) -> list[Box]:
    """The boxes round all segments that are in one of the two outlines alone."""
    old, new = outline_segments(was), outline_segments(made)
    before, after = set(old), set(new)
    return [box_of([s]) for segments, other in ((old, after), (new, before)) for s in segments if s not in other]


def _touched(line: Polyline, old: Polyline, changed: Sequence[Box]) -> bool:
    """Whether the level was carried, or an edge was redrawn so near to it that it may end elsewhere."""
    if line != old:
        return True
    box = box_of([line])
    return any(box.near(other, LEVEL_REACH_TOL_MM) for other in changed)


def _ended_at(was: Piece, line: Polyline) -> tuple[str | None, str | None]:
    """The side edges the level ended at, before and behind; None where that was no side edge."""
    found = _side_at(was.edges, line[1], line[0]), _side_at(was.edges, line[-2], line[-1])
    if None not in found:
        return found
    ends = _trimmed(cut_level(was, line), line)
    if len(ends) < 2:
        return None, None
    return _side_at(was.edges, ends[1], ends[0]), _side_at(was.edges, ends[-2], ends[-1])


# The same levels of the same piece are asked for again and again while one list of operations is done.
@kept(256)
def _side_at(edges: tuple[Edge, ...], inner: Point, end: Point) -> str | None:
    sides = [
        edge for edge in edges if edge.role not in END_ROLES and may_be_near(edge.segments, end, LEVEL_REACH_TOL_MM)
    ]
    there = next((edge.name for edge in sides if _lies_on(edge, inner, end)), None)
    if there is not None:
        return there
    off, name = min(((run_nearest(edge.segments, end)[1], edge.name) for edge in sides), default=(math.inf, ""))
    return name if off <= LEVEL_REACH_TOL_MM else None


def _lies_on(edge: Edge, inner: Point, end: Point) -> bool:
    """Whether the end of a level's last leg lies on the edge."""
    return inner != end and any(
        distance(point_at(segment, t), end) <= ON_LINE_MM
        for segment in edge.segments
        if box_distance(segment, end) <= ON_LINE_MM
        for t, _ in line_hits(segment, inner, end)
    )


def _laid(piece: Piece, line: Polyline, sides: tuple[str | None, str | None]) -> Polyline:
    """The level with both its ends at the sides named (or at whatever edge it meets), and inside all the way.

    A level that ran out over the top or bottom edge and no longer meets the piece at all is gone.
    """
    cut = cut_level(piece, line)
    if _reaches(cut, line) and _at_sides(piece, line, sides):
        return line
    if not cut.parts and None in sides:
        return ()
    made = line
    if sides[1] is not None:
        made = _to_side(piece.edge(sides[1]), made)
    if sides[0] is not None:
        made = _to_side(piece.edge(sides[0]), made[::-1])[::-1]
    free = sides[0] is None, sides[1] is None
    made = _taut(piece, _drawn_on(made, cut_level(piece, made), free), free)
    return line if made == line or len(set(made)) < 2 else made


def _reaches(cut: LevelCut, line: Polyline) -> bool:
    """Whether the level lies inside from one of its ends to the other and stops short of nothing."""
    short = not cut.parts or cut.short_start or cut.short_end
    return not short and not any(cut.outside(line, ON_LINE_MM))


def _at_sides(piece: Piece, line: Polyline, sides: tuple[str | None, str | None]) -> bool:
    ends = zip((line[1::-1], line[-2:]), sides, strict=True)
    return all(name is None or _lies_on(piece.edge(name), *leg) for leg, name in ends)


def _to_side(edge: Edge, line: Polyline) -> Polyline:
    """The level with its last end on the edge, along its own line; at the nearest place where its line misses it."""
    if _lies_on(edge, line[-2], line[-1]):
        return line
    met = cut_to(line, edge.segments, line[-1])
    far = math.inf if met is None else distance(met[-1], line[-1])
    if met is not None and far <= FAR_OFF_MM:
        return met
    spot, off = run_spot(edge.segments, line[-1])
    if met is not None and far <= FAR_RATIO * off + FAR_OFF_MM:
        return met
    kept = [point for point in line[:-1] if dot(sub(spot, point), sub(line[-1], line[0])) > 0.0] or [line[0]]
    return (*kept, spot)


def cut_to(line: Polyline, run: Sequence[Segment], near: Point) -> Polyline | None:
    """The line trimmed, or drawn straight on beyond its last point, to where it meets the run nearest to `near`.

    Returns:
        The line, or None when it does not meet the run.
    """
    best: tuple[float, Polyline] | None = None
    for index, (a, b) in enumerate(pairwise(line)):
        ahead = index == len(line) - 2
        for segment in run if a != b else ():
            for t, s in line_hits(segment, a, b):
                point = point_at(segment, t)
                if s > 0.0 and (s <= 1.0 or ahead) and (best is None or distance(point, near) < best[0]):
                    best = (distance(point, near), (*line[: index + 1], point))
    return best[1] if best else None


def _drawn_on(line: Polyline, cut: LevelCut, free: tuple[bool, bool]) -> Polyline:
    """The level drawn on at a free end that stops short of the outline."""
    if cut.short_start > 0.0 and free[0]:
        line = (_on(line[1], line[0], cut.short_start), *line[1:])
    if cut.short_end > 0.0 and free[1]:
        line = (*line[:-1], _on(line[-2], line[-1], cut.short_end))
    return line


def _on(inner: Point, end: Point, by_mm: float) -> Point:
    return add(end, scaled(unit(sub(end, inner)), by_mm))


def trimmed(piece: Piece, line: Polyline) -> Polyline:
    """The level from where it first meets the inside of the piece to where it last leaves it; as it is if it misses."""
    return _trimmed(cut_level(piece, line), line)


def _trimmed(cut: LevelCut, line: Polyline) -> Polyline:
    if cut.ends is None:
        return line
    start, end = map(_same, cut.ends, (line[0], line[-1]))
    on_start = [i for i, (a, b) in enumerate(pairwise(line)) if _between(a, b, start)]
    on_end = [i for i, (a, b) in enumerate(pairwise(line)) if _between(a, b, end)]
    return start, *line[on_start[0] + 1 : on_end[-1] + 1], end


def _same(point: Point, old: Point) -> Point:
    """The old point where the new one is a rounding away from it."""
    return old if distance(point, old) <= ON_LINE_MM else point


def _between(a: Point, b: Point, point: Point) -> bool:
    return distance(a, point) + distance(point, b) - distance(a, b) <= ON_LINE_MM


def _taut(piece: Piece, line: Polyline, free: tuple[bool, bool]) -> Polyline:
    """The level trimmed at its free ends, and drawn taut round every stretch where it leaves the paper."""
    if free[0] or free[1]:
        cut = trimmed(piece, line)
        line = (*(cut[:1] if free[0] else line[:1]), *_inner(line, cut), *(cut[-1:] if free[1] else line[-1:]))
    # Drawn round one place, it may come to cross the outline at another.
    for _ in range(MOST_ROUNDS):
        gaps = list(cut_level(piece, line).outside(line, ON_LINE_MM))
        if not gaps:
            return line
        for rim, own in groupby(gaps, key=partial(_rim, piece)):
            stretch = list(own)
            line = _round(line, stretch[0][0], stretch[-1][1], rim=rim)
    return line


def _inner(line: Polyline, cut: Polyline) -> Polyline:
    """The points between the ends that the level keeps."""
    return tuple(point for point in line[1:-1] if point in cut or point not in (line[0], line[-1]))


def _rim(piece: Piece, gap: tuple[Point, Point]) -> Run:
    """The stretch of the outline that cuts into the level there: of the top, the bottom or one side edge."""
    runs = [
        run_of(own)
        for _, own in groupby(piece.edges, key=lambda edge: edge.role if edge.role in END_ROLES else edge.name)
    ]
    return min(runs, key=lambda run: sum(run_nearest(run, spot)[1] for spot in gap))


def _round(line: Polyline, start: Point, stop: Point, rim: Run) -> Polyline:
    """The level with the stretch from start to stop, in which it leaves the paper, drawn taut round the outline."""
    arc, side = _arc(rim, start, stop)
    depth = max((leg_gap(point, start, stop) for point in arc), default=0.0)
    reach = reach_for(depth)
    before, after = _split(line, start)[0], _split(line, stop)[1]
    head, first = _shortened(before, reach)
    tail, last = _shortened(after[::-1], reach)
    kept = [*before[len(head) :], *after[: len(after) - len(tail)]]
    chain = _hull(first, last, [*kept, *arc], side=side)
    return _plain((*head, first, *chain, last, *tail[::-1]))


def _arc(rim: Run, start: Point, stop: Point) -> tuple[list[Point], float]:
    """The outline from one place of it to another, a hair inside the paper.

    Returns:
        Its points, and on which side of the way from start to stop the paper lies: 1 left, -1 right.
    """
    first, last = (run_nearest(rim, spot)[0] for spot in (start, stop))
    low, high = sorted((first, last))
    between = run_between(rim, low, high)
    ends = (start, stop)
    points = [
        add(
            p,
            scaled(
                _left(chords, n), min(CLEAR_MM, LEAST_CLEAR_MM + CLEAR_PER_MM * min(distance(p, end) for end in ends))
            ),
        )
        for segment in between
        for chords in (flatten(segment, LEVEL_CHORD_TOL_MM),)
        for n, p in enumerate(chords)
    ]
    return points, (1.0 if first <= last else -1.0)


def _left(points: Sequence[Point], n: int) -> Point:
    """The direction into the paper at that one of the points along a segment."""
    return across(unit(sub(points[min(n + 1, len(points) - 1)], points[max(n - 1, 0)])))


def _split(line: Polyline, spot: Point) -> tuple[Polyline, Polyline]:
    """The level up to a place of it, and from there."""
    legs = list(pairwise(line))
    n = min(range(len(legs)), key=lambda leg: leg_gap(spot, *legs[leg]))
    return (*line[: n + 1], spot), (spot, *line[n + 1 :])


def _shortened(line: Polyline, by_mm: float) -> tuple[Polyline, Point]:
    """The line without its last `by_mm`, and the point where it then ends; its first point where it is no longer."""
    left = by_mm
    for n in range(len(line) - 1, 0, -1):
        leg = distance(line[n - 1], line[n])
        if leg > left:
            return line[:n], along(line[n], line[n - 1], left / leg)
        left -= leg
    return (), line[0]


def _hull(first: Point, last: Point, arc: Sequence[Point], side: float) -> list[Point]:
    """The shortest way from first to last round the arc, on its left (1) or right (-1), without the two ends."""
    way = unit(sub(last, first))
    size = distance(first, last)
    placed = [(dot(sub(p, first), way), cross(way, sub(p, first)), p) for p in arc]
    placed = [one for one in placed if END_MM < one[0] < size - END_MM]
    rows = sorted((s, side * height, p) for s, height, p in placed)
    chain: list[tuple[float, float, Point]] = [(0.0, 0.0, first)]
    for row in (*rows, (size, 0.0, last)):
        while len(chain) > 1 and _below(chain[-2], chain[-1], row):
            chain.pop()
        chain.append(row)
    return [p for _, _, p in chain[1:-1]]


def _below(a: tuple[float, float, Point], b: tuple[float, float, Point], c: tuple[float, float, Point]) -> bool:
    """Whether the middle one lies on or under the straight line of the other two."""
    return (c[0] - a[0]) * (b[1] - a[1]) <= (b[0] - a[0]) * (c[1] - a[1])


def _plain(points: Sequence[Point]) -> Polyline:
    """The polyline without repeated points."""
    kept = [points[0]]
    for point in points[1:]:
        if distance(point, kept[-1]) > ON_LINE_MM:
            kept.append(point)
    return tuple(kept) if len(kept) > 1 else tuple(points)


def drawn_through(before: Polyline, after: Polyline) -> Polyline:
    """Two parts of a level put together: as they lie but for the 2 in beside a step, where it is drawn through."""
    end, start = before[-1], after[0]
    if distance(end, start) <= ON_LINE_MM:
        return (*before, *after[1:])
    out = unit(sub(end, _far(before)))
    on = unit(sub(_far(after[::-1]), start))
    way = unit(add(out, on))
    step = abs(cross(way, sub(start, end)))
    if step <= LEVEL_STEP_MM and dot(sub(start, end), way) > OPEN_PER_STEP * LEVEL_STEP_MM:
        return (*before, *after)
    if step <= LEVEL_STEP_MM:
        return (*before[:-1], mid(end, start), *after[1:])
    reach = reach_for(step)
    head, first = _shortened(before, reach)
    tail, last = _shortened(after[::-1], reach)
    return _plain((*head, first, last, *tail[::-1]))


def _far(line: Polyline) -> Point:
    """A point some way back along the line from its end, from which its direction there is taken."""
    return _shortened(line, LEAST_REACH_MM)[1] if line[0] != line[-1] else line[0]
