"""A top or bottom edge that truing has left waving, drawn as one curve.

Each truing is fair for itself; where two reach over one another, or over what an earlier alteration drew, a line may
come to bend to and fro. No cutter draws that: she lays her French curve along it once. It goes no further from the line
as trued than truing has moved that, and in no case more than a mark of the ruler.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from msgspec.structs import replace

from diagnose.pattern.altered import Altered, RunRedrawn
from diagnose.pattern.finish.faults import bends
from diagnose.pattern.finish.walking import LEAST_TRUED_MM, name_before
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.blend import corner_deg
from diagnose.pattern.geometry.one_curve import one_curve
from diagnose.pattern.geometry.runs import run_length
from diagnose.pattern.moved.carry import followed
from diagnose.pattern.outline import END_ROLES, EdgeRef, Pattern, Piece, Run, Segment
from diagnose.units import INCH_MM

__all__ = ["smoothed"]

CORNER_DEG = 1.0
ASKED = ("moved", "reshaped")
MOST_SMOOTHED_MM = INCH_MM / 16


def smoothed(before: Pattern, made: Altered) -> Altered:
    """What was made, with each top and bottom edge that truing left waving more than it did before smoothed.

    Args:
        before: the pattern before the whole alteration.
        made: what it came to.
    """
    trued = dict[EdgeRef, float]()
    for zone in made.zones:
        if isinstance(zone, RunRedrawn) and zone.role in END_ROLES and zone.why not in ASKED:
            ref = EdgeRef(zone.piece, zone.edge)
            trued[ref] = max(zone.by_mm, trued.get(ref, LEAST_TRUED_MM))
    for ref, by_mm in trued.items():
        old = name_before(ref.piece, before)
        if old is not None and ref.piece in made.pattern.names:
            made = _smoothed(before.piece(old), made, ref, most_mm=min(by_mm, MOST_SMOOTHED_MM))
    return made


def _smoothed(was: Piece, made: Altered, ref: EdgeRef, most_mm: float) -> Altered:
    piece = made.pattern.piece(ref.piece)
    edge, old = piece.edge(ref.edge), next((one for one in was.edges if one.name == ref.edge), None)
    if old is None or bends(edge.segments) <= bends(old.segments):
        return made
    drawn = [_as_one(run, most_mm) for run in _between_corners(edge.segments)]
    run, off_mm = tuple(segment for part, _ in drawn for segment in part), max(off for _, off in drawn)
    if bends(run) >= bends(edge.segments):
        return made
    zone = RunRedrawn(*ref, role=edge.role, why="corner", old=edge.segments, new=run, start_mm=0.0, by_mm=off_mm)
    share = run_length(run) / run_length(edge.segments)
    notches = tuple(replace(notch, at=notch.at * share) if notch.edge == ref.edge else notch for notch in piece.notches)
    piece = followed(piece, replace(piece.with_edge(replace(edge, segments=run)), notches=notches), [zone])
    return made.then(Altered(made.pattern.with_piece(piece), zones=(zone,)))


def _between_corners(run: Run) -> Iterator[Run]:
    part: list[Segment] = [run[0]]
    for before, after in pairwise(run):
        if corner_deg(tangent(before, 1.0), tangent(after, 0.0)) > CORNER_DEG:
            yield tuple(part)
            part = []
        part.append(after)
    yield tuple(part)


def _as_one(run: Run, most_mm: float) -> tuple[Run, float]:
    """The run as one curve, and how far that strays from it; the run itself where that is too far."""
    found = one_curve(run) if len(run) > 1 else None
    return ((found[0],), found[1]) if found and found[1] <= most_mm else (run, 0.0)
