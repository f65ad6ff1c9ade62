"""An edge that alterations have left waving, drawn as a cutter would with her French curve.

Each redrawing is fair for itself; where two reach over one another, or over what an earlier alteration drew, a line may
come to bend to and fro. Where it does more than it did before, it is laid anew: a top or bottom edge as one curve, a
seam as one curve from the end of each level to the next, so that no level changes its width. It goes no further from
the line as it was drawn than that has been moved, and in no case more than a mark of the ruler, on a seam half of one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec.structs import replace

from diagnose.pattern.altered import Altered, RunRedrawn
from diagnose.pattern.finish.faults import bends
from diagnose.pattern.finish.walking import LEAST_TRUED_MM, SEAM_TRUE_MM, name_before
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.one_curve import one_curve
from diagnose.pattern.geometry.plane import corner_deg
from diagnose.pattern.geometry.runs import (
    run_between,
    run_length,
    run_nearest,
    run_points_at,
    run_split,
    smooth_through,
)
from diagnose.pattern.measure import levels_ending, seam_difference
from diagnose.pattern.moved.carry import followed
from diagnose.pattern.outline import END_ROLES, Edge, EdgeRef, Pattern, Piece, Run
from diagnose.pattern.tolerances import ON_EDGE_MM
from diagnose.units import INCH_MM

__all__ = ["smoothed"]

ANY_CORNER_DEG = 1.0
OWN_CORNER_DEG = 5.0
"""Less of a corner a curve through the marks may smooth away; more was meant."""
ASKED = ("moved", "reshaped")
MOST_SMOOTHED_MM = INCH_MM / 16
MOST_LAID_MM = INCH_MM / 8
"""How far a seam laid anew through its marks may stray between them from what was drawn there; or half as far as it was
moved."""
LEAST_MOVED_MM = INCH_MM / 8
MORE_BENDS = 2
MOST_GAINED_MM = INCH_MM / 32
"""By so much an edge may become longer or shorter, whatever it is sewn to."""
TO_THE_END_MM = INCH_MM / 2
SAMPLES = 48


def smoothed(before: Pattern, made: Altered) -> Altered:
    """What was made, with each edge that was left waving more than it did before smoothed.

    Args:
        before: the pattern before the whole alteration.
        made: what it came to.
    """
    redrawn = defaultdict[EdgeRef, list[RunRedrawn]](list)
    for zone in made.zones:
        if isinstance(zone, RunRedrawn) and (zone.role == "seam" or (zone.role in END_ROLES and zone.why not in ASKED)):
            redrawn[EdgeRef(zone.piece, zone.edge)].append(zone)
    for ref, zones in redrawn.items():
        old = name_before(ref.piece, before)
        if old is not None and ref.piece in made.pattern.names and _may_wave(zones):
            by_mm = max(LEAST_TRUED_MM, *(zone.by_mm for zone in zones))
            made = _smoothed(before.piece(old), made, ref, by_mm=by_mm)
    return made


def _may_wave(zones: Sequence[RunRedrawn]) -> bool:
    """Whether so much was redrawn that the edge may wave: a single truing is fair, and so is a small move."""
    return len(zones) > 1 or (zones[0].why in ASKED and zones[0].by_mm > LEAST_MOVED_MM)


def _smoothed(was: Piece, made: Altered, ref: EdgeRef, *, by_mm: float) -> Altered:
    piece = made.pattern.piece(ref.piece)
    edge, old = piece.edge(ref.edge), next((one for one in was.edges if one.name == ref.edge), None)
    if old is None or edge == old or bends(edge.segments) <= bends(old.segments):
        return made
    most_mm = min(by_mm, MOST_SMOOTHED_MM if edge.role in END_ROLES else MOST_SMOOTHED_MM / 2.0)
    drawn = [_as_one(run, most_mm) for run in _stretches(piece, edge)]
    run, off_mm = tuple(segment for part, _ in drawn for segment in part), max(off for _, off in drawn)
    if edge.role == "seam" and bends(run) > bends(old.segments) + MORE_BENDS:
        run, off_mm = _through_marks(piece, old, edge, most_mm=max(MOST_LAID_MM, by_mm / 2.0))
    if bends(run) >= bends(edge.segments) or not _still_sews(made.pattern, ref, run):
        return made
    zone = RunRedrawn(*ref, role=edge.role, why="corner", old=edge.segments, new=run, start_mm=0.0, by_mm=off_mm)
    share = run_length(run) / run_length(edge.segments)
    laid = piece.with_edge(replace(edge, segments=run)).with_notches_at({ref.edge: lambda mm: mm * share})
    piece = followed(piece, laid, [zone])
    return made.then(Altered(made.pattern.with_piece(piece), zones=(zone,)))


def _still_sews(pattern: Pattern, ref: EdgeRef, run: Run) -> bool:
    """Whether the edge, drawn so, is still as long as what it is sewn to, or hardly changes its length."""
    edge = pattern.piece(ref.piece).edge(ref.edge)
    gained = run_length(run) - run_length(edge.segments)
    if abs(gained) <= MOST_GAINED_MM:
        return True
    seams = (seam for seam in pattern.seams if ref in seam.refs)
    differ = (seam_difference(pattern, seam) + (gained if seam.a == ref else -gained) for seam in seams)
    return all(abs(mm) < SEAM_TRUE_MM for mm in differ)


def _stretches(piece: Piece, edge: Edge) -> Iterator[Run]:
    """The parts of an edge that are one curve each: between its corners and, of a seam, between its levels' ends."""
    if edge.role in END_ROLES:
        yield from _between_corners(edge.segments)
        return
    left, at = edge.segments, 0.0
    for stop in sorted({mm for _, mm in levels_ending(piece, edge, ON_EDGE_MM)}):
        part, left = run_split(left, stop - at)
        at = stop
        yield from _between_corners(part)
    yield from _between_corners(left)


def _through_marks(piece: Piece, old: Edge, edge: Edge, *, most_mm: float) -> tuple[Run, float]:
    """The seam laid anew where it is no longer what it was, and how far that strays.

    A lath through the ends of its levels gives the directions there; between two of them it keeps as near to what was
    drawn as one curve can.
    The seam itself where it has a corner, or would stray too far.
    """
    run = edge.segments
    if len(list(_between_corners(run, OWN_CORNER_DEG))) > 1:
        return run, 0.0
    same = [a == b for a, b in zip(run, old.segments, strict=False)]
    last = [a == b for a, b in zip(reversed(run), reversed(old.segments), strict=False)]
    size = run_length(run)
    start = run_length(run[: same.index(False)]) if False in same else 0.0
    stop = size - (run_length(run[len(run) - last.index(False) :]) if False in last else 0.0)
    start, stop = (0.0 if start < TO_THE_END_MM else start), (size if size - stop < TO_THE_END_MM else stop)
    ends = {mm for _, mm in levels_ending(piece, edge, ON_EDGE_MM)}
    places = (start, *sorted(mm for mm in ends if start + ON_EDGE_MM < mm < stop - ON_EDGE_MM), stop)
    (head, rest), tail = run_split(run, start), run_split(run, stop)[1]
    ways = tangent(rest[0], 0.0) if head else None, tangent(tail[0], 0.0) if tail else None
    lath = smooth_through(run_points_at(run, places), *ways)
    fresh = tuple(
        found[0] if (found := one_curve(run_between(run, *span), (tangent(one, 0.0), tangent(one, 1.0)))) else one
        for span, one in zip(pairwise(places), lath, strict=True)
    )
    looked_at = run_points_at(run, [start + (stop - start) * n / SAMPLES for n in range(SAMPLES)])
    off_mm = max(run_nearest(fresh, spot)[1] for spot in looked_at)
    return ((*head, *fresh, *tail), off_mm) if off_mm <= most_mm else (run, 0.0)


def _between_corners(run: Run, least_deg: float = ANY_CORNER_DEG) -> Iterator[Run]:
    part = list(run[:1])
    for before, after in pairwise(run):
        if corner_deg(tangent(before, 1.0), tangent(after, 0.0)) > least_deg:
            yield tuple(part)
            part = []
        part.append(after)
    if part:
        yield tuple(part)


def _as_one(run: Run, most_mm: float) -> tuple[Run, float]:
    """The run as one curve, and how far that strays from it; the run itself where that is too far."""
    found = one_curve(run) if len(run) > 1 else None
    return ((found[0],), found[1]) if found and found[1] <= most_mm else (run, 0.0)
