"""An edge that a cut crosses, drawn as one line: its points carried by a share of the move that grows smoothly.

Millimetres. Laid on one another, the two parts of a slanting edge would be stepped. So it is drawn as one line: nothing
of it moves at the mark before the cut, all of it is carried at the mark behind, and between the two its points are
carried by a share that grows smoothly and never goes back. A mark is where a level ends, so every level keeps the girth
it has; what bends within the strip stays on the edge, pressed together, and comes back when as much is let in again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import RunRedrawn
from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import moved, point_at, tangent
from diagnose.pattern.geometry.blend import FAIR_STEP_MM, SAME_MM, Joint, displaced_by, plainly_joined, reach_for
from diagnose.pattern.geometry.joins import with_start
from diagnose.pattern.geometry.plane import Affine, add, corner_deg, cross, distance, scaled, sub
from diagnose.pattern.geometry.runs import run_between, run_length, run_place, run_point_at, run_split
from diagnose.pattern.geometry.smooth_amounts import Knot, Profile, never_back
from diagnose.pattern.moved.fairing import Remeasured, TruedEdge
from diagnose.pattern.moved.gates import Broken
from diagnose.pattern.moved.narrowing import level_hits
from diagnose.pattern.outline import Edge, Line, Point, Polyline, Run, Segment
from diagnose.pattern.tolerances import NOTABLE_MM, SAME_PLACE_MM

__all__ = ["carried_edge"]

LEAST_LEFT = 0.3
"""A stretch that is pressed together keeps at least so much of its length at every place."""
SMOOTHEST = 1.5
"""How many times its mean slope the smooth share has at its steepest."""
LEAST_ROOM_MM = 10.0
LOOKS = 8
MOST_CARRIED_TURN_DEG = 5.0
"""In a millimetre: a radius of half an inch, no tighter than most of a French curve."""
HALF = 0.5
PARALLEL_MM = 1e-3


class _Gap(Struct, frozen=True):
    """Where the cut goes through: from `leave` to `enter` along the edge falls away, the shares carried beside it."""

    leave: float
    enter: float
    before: float
    after: float


class _Rise(Struct, frozen=True):
    """Where the share grows across one cut, from its first knot to its last, and how the edge lies there stepped."""

    knots: tuple[Knot, ...]
    stepped: Run
    aside_mm: float


def carried_edge(
    piece: str,
    old: Edge,
    broken: Broken,
    *,
    move: Affine,
    levels: Sequence[Polyline],
    keep: Sequence[Polyline],
    share_of: Callable[[Point], float],
) -> TruedEdge | None:
    """The edge as one line over the cut.

    Args:
        piece: the piece's name, for the report.
        old: the edge as it was.
        broken: its parts as they lie now.
        move: how what moves is carried.
        levels: the piece's levels as they lay, which keep their girth where there is room.
        keep: those of them that keep it in any case.
        share_of: what share of the move a place of the old paper is carried by: 0 where it stays, 1 where it moves.

    Returns:
        The edge; None where its parts run on from each other as they are, one of its ends fell away, or there is no
        room for it beside the cut.
    """
    gaps = [] if broken.shifted else _gaps(old, broken, move)
    if not gaps or _plain(old, broken, gaps):
        return None
    met = [(line in keep, mm, share_of(at)) for line in levels for mm, at, *_ in level_hits(old.segments, (line,))]
    for held in (sorted({mark[1:] for mark in met}), sorted({mark[1:] for mark in met if mark[0]})):
        rises = _rises(old, broken, gaps, move=move, marks=held)
        drawn = _drawn(piece, old, move, rises=rises) if rises else None
        if drawn and all(_is_fair(zone.new) for zone in drawn.zones):
            return drawn
    return None


def _rises(
    old: Edge, broken: Broken, gaps: Sequence[_Gap], *, move: Affine, marks: Sequence[tuple[float, float]]
) -> list[_Rise]:
    """Where the share grows, cut by cut; none where there is no room at one of them."""
    stops = [0.0, *((a.enter + b.leave) / 2.0 for a, b in pairwise(gaps)), run_length(old.segments)]
    rises = list[_Rise]()
    for number, (gap, room) in enumerate(zip(gaps, pairwise(stops), strict=True)):
        reach = reach_for(Joint(broken.runs[number], broken.runs[number + 1]).step_mm)
        knots = _knots(gap, (max(room[0], gap.leave - reach), min(room[1], gap.enter + reach)), marks)
        if not knots:
            return []
        rises.append(
            _Rise(knots, _stepped(broken, number, gap, knots=knots), aside_mm=_aside_mm(old, gap, knots, move=move))
        )
    return rises


def _is_fair(run: Run) -> bool:
    """Whether the run bends nowhere too tightly, looked at in a few places of each segment."""
    return all(
        corner_deg(a, b) <= MOST_CARRIED_TURN_DEG * max(1.0, length(segment) / LOOKS)
        for segment in run
        if not isinstance(segment, Line)
        for a, b in pairwise(tangent(segment, n / LOOKS) for n in range(LOOKS + 1))
    )


def _gaps(old: Edge, broken: Broken, move: Affine) -> list[_Gap]:
    """The cuts in order along the edge; none where a part lies neither where it lay nor carried by the whole."""
    ends, shares = [], []
    for run, began in zip(broken.runs, broken.began_mm, strict=True):
        ended = began + run_length(run)
        places = [(run_point_at(old.segments, mm), at) for mm, at in ((began, run[0].start), (ended, run[-1].end))]
        stays = all(distance(place, at) <= SAME_PLACE_MM for place, at in places)
        if stays == all(distance(move(place), at) <= SAME_PLACE_MM for place, at in places):
            return []
        ends.append((began, ended))
        shares.append(0.0 if stays else 1.0)
    pairs = zip(pairwise(ends), pairwise(shares), strict=True)
    return [_Gap(a[1], max(a[1], b[0]), before, after=after) for (a, b), (before, after) in pairs]


def _plain(old: Edge, broken: Broken, gaps: Sequence[_Gap]) -> bool:
    """Whether the parts run on from each other as they are, and nothing but straight line fell away."""
    joints = (Joint(a, b) for a, b in pairwise(broken.runs))
    return all(joint.is_fair for joint in joints) and all(
        isinstance(one, Line) for gap in gaps for one in run_between(old.segments, gap.leave, gap.enter)
    )


def _knots(gap: _Gap, span: tuple[float, float], marks: Sequence[tuple[float, float]]) -> tuple[Knot, ...]:
    """The share from the last mark before the cut to the first one behind it, within the span; none without room."""
    ahead = (mm for mm, share in marks if mm <= gap.leave + SAME_PLACE_MM and abs(share - gap.before) < HALF)
    behind = (mm for mm, share in marks if mm >= gap.enter - SAME_PLACE_MM and abs(share - gap.after) < HALF)
    start, stop = min(gap.leave, max([span[0], *ahead])), max(gap.enter, min([span[1], *behind]))
    lost = gap.enter - gap.leave
    if stop - start < max(SMOOTHEST * lost / (1.0 - LEAST_LEFT), LEAST_ROOM_MM):
        return ()
    places = [(start, gap.before), (stop, gap.after)]
    for mark in marks:
        if start + SAME_PLACE_MM < mark[0] < stop - SAME_PLACE_MM:
            tried = sorted([*places, mark])
            pressed = (abs(b[1] - a[1]) * SMOOTHEST * lost / (b[0] - a[0]) for a, b in pairwise(tried))
            if max(pressed) <= 1.0 - LEAST_LEFT:
                places = tried
    return never_back(places)


def _stepped(broken: Broken, number: int, gap: _Gap, knots: Sequence[Knot]) -> Run:
    """The stretch between the first knot and the last as its parts lie, a straight line over what is missing."""
    before, after = broken.runs[number : number + 2]
    tail = run_split(before, knots[0].mm - broken.began_mm[number])[1]
    lead = run_split(after, knots[-1].mm - gap.enter)[0]
    step = Line(before[-1].end, after[0].start)
    return (*tail, *((step,) if distance(*step) > SAME_MM else ()), *lead)


def _aside_mm(old: Edge, gap: _Gap, knots: tuple[Knot, ...], move: Affine) -> float:
    """About the most by which the line is drawn aside of its parts as they lie."""
    shares, most = Profile(knots), 0.0
    for mm, share in ((gap.leave, gap.before), (gap.enter, gap.after)):
        at, t = run_place(old.segments, mm)
        place = point_at(old.segments[at], t)
        aside = cross(tangent(old.segments[at], t), sub(move(place), place))
        most = max(most, abs((shares.at(mm)[0] - share) * aside))
    return most


def _drawn(piece: str, old: Edge, move: Affine, rises: Sequence[_Rise]) -> TruedEdge:
    """The edge with its points carried by their shares, and its redrawn stretches."""
    knots = tuple(knot for rise in rises for knot in rise.knots)
    shares, run, stage = Profile(knots), Run(), [(0.0, 0.0)]
    at, left = 0.0, old.segments
    for stop in (*(knot.mm for knot in knots), run_length(old.segments)):
        part, left = run_split(left, stop - at)
        for number, segment in enumerate(part, 1):
            end = stop if number == len(part) else at + length(segment)
            made = _carried(segment, move, shares.at(at), shares.at(end))
            stage.append((end, stage[-1][1] + length(made)))
            run, at = plainly_joined(Joint(run, (with_start(made, run[-1].end),))) if run else (made,), end
        at = stop
    measured, zones = Remeasured((tuple(stage),)), list[RunRedrawn]()
    for rise in (one for one in rises if one.aside_mm > FAIR_STEP_MM):
        start, stop = (measured(knot.mm) for knot in (rise.knots[0], rise.knots[-1]))
        zones.append(RunRedrawn(
            piece=piece, edge=old.name, role=old.role, why="step" if rise.aside_mm > NOTABLE_MM else "corner",
            old=rise.stepped, new=run_between(run, start, stop), start_mm=start, by_mm=rise.aside_mm,
        ))  # fmt: skip
    return TruedEdge(replace(old, segments=run), tuple(zones), measured)


def _carried(segment: Segment, move: Affine, *ends: tuple[float, float]) -> Segment:
    """A segment carried by its share of a move, whose value and slope at the segment's two ends are given."""
    if ends[0] == ends[1] == (0.0, 0.0):
        return segment
    if ends[0] == ends[1] == (1.0, 0.0):
        return moved(segment, move)
    start, end = (
        _by(point_at(segment, t), tangent(segment, t), move, share=share, slope=slope)
        for t, (share, slope) in zip((0.0, 1.0), ends, strict=True)
    )
    if isinstance(segment, Line):
        way = sub(segment.end, segment.start)
        if all(abs(cross(way, by)) <= PARALLEL_MM * PARALLEL_MM for by in (*start, *end)):
            return Line(add(segment.start, start[0]), add(segment.end, end[0]))
    return displaced_by(segment, start, end)


def _by(place: Point, ahead: Point, move: Affine, *, share: float, slope: float) -> tuple[Point, Point]:
    """By how much a share of the move carries a place, and how that changes a mm further along the edge."""
    whole, turned = sub(move(place), place), sub(sub(move(ahead), move(Point(0.0, 0.0))), ahead)
    return scaled(whole, share), add(scaled(whole, slope), scaled(turned, share))
