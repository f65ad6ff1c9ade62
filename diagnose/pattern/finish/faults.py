"""What came of an alteration, looked at: seams that no longer match or come apart, edges no cutter would follow.

An edge is fair where it bends nowhere more tightly than a French curve's tightest part. What was so before the
alteration is its maker's own and is not told.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from itertools import pairwise, starmap
from typing import TYPE_CHECKING, NamedTuple

from diagnose.errors import Mistake
from diagnose.pattern.finish.walking import LEAST_FOLLOWED_MM, SEAM_TRUE_MM, as_before, changed_pieces, name_before
from diagnose.pattern.geometry.bezier import reach, tangent
from diagnose.pattern.in_words import piece_words, place_title, seam_quoted, too_much_to_sew
from diagnose.pattern.kept import kept
from diagnose.pattern.measure import ref_length, seam_difference
from diagnose.pattern.outline import EdgeRef, Line, Pattern, Run, Seam, Segment
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.sentences import upper_first
from diagnose.units import both

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

__all__ = ["bends", "seam_notes", "seams_broken", "unfair_edges"]

MOST_TURN_A_MM_DEG = 6.3
"""Change of direction in a millimetre: a radius of 9 mm, the tightest of a French curve (from memory, no source)."""
FAIR_JOINT_DEG = 5.0
LOOK_STEP_MM = 0.5
MOST_STEPS = 400
FEW_STEPS = 8
MUCH_MORE = 1.5
READ_BACK_MM = 1e-6
STILL_RATIO = 1e-9
"""Where a curve goes on by so small a part of its reach, it turns on the spot: its direction is the limit there."""
MOST_MORE_BENDS = 3
"""Let out at one place between two that stay, a line bends to and fro a little more; four changes more are a wave."""
SEEN_BEND_DEG = 1.5
SURELY_SEEN_DEG = 4.0
SEEN_MM = 0.1


class Turned(NamedTuple):
    """How far along a run, and by how much it has turned there since its start."""

    mm: float
    deg: float


def seam_notes(before: Pattern, after: Pattern) -> Iterator[str]:
    """A sentence for each seam that has come to differ by more than 1/16 in."""
    changed = changed_pieces(before, after)
    for seam in (one for one in after.seams if one.pieces & changed):
        over = seam_difference(after, seam)
        was = as_before(seam, before) if abs(over) > SEAM_TRUE_MM else None
        if was is not None and abs(over - seam_difference(before, was)) > LEAST_FOLLOWED_MM:
            longer, shorter = (seam.a, seam.b) if over > 0.0 else (seam.b, seam.a)
            yield (
                f"{upper_first(seam_quoted(seam.name))}: {place_title(after, *longer)} is now {both(abs(over))} longer"
                f" than {place_title(after, *shorter)}. Walk the two and true one of them before cutting."
            )


def seams_broken(before: Pattern, after: Pattern) -> Iterator[Mistake]:
    """A mistake for each seam that can no longer be sewn flat and could before."""
    changed = changed_pieces(before, after)
    for seam in (one for one in after.seams if one.pieces & changed):
        over, was = seam_difference(after, seam), as_before(seam, before)
        if abs(over) > SEAM_MATCH_TOL_MM and (was is None or abs(seam_difference(before, was)) <= SEAM_MATCH_TOL_MM):
            a, b = (f"{place_title(after, *ref)} ({both(ref_length(after, ref))})" for ref in seam.refs)
            what = f"{upper_first(seam_quoted(seam.name))} would come apart: {a}, and {b} would differ by"
            what += f" {too_much_to_sew(over)}{_whole_beside(after, seam)}"
            yield Mistake(
                f"seam {seam.name}", what, "Alter both sides of the seam alike, or by less.", code="seam-comes-apart"
            )


def _whole_beside(pattern: Pattern, seam: Seam) -> str:
    """What has to be done first where one half of a pair is sewn to a pair that is still whole."""
    for own, other in seam.both_ways:
        side, beside = pattern.piece(own.piece).side, pattern.piece(other.piece)
        if side != "both" and beside.side == "both" and beside.copies == 2:
            apart = f"part {piece_words(beside.name)} into left and right first"
            return f" To alter both alike, {apart}, and alter its {side} one."
    return ""


def unfair_edges(before: Pattern, after: Pattern) -> tuple[list[EdgeRef], list[EdgeRef]]:
    """The edges that no cutter would follow, corners of their own apart.

    Returns:
        Those that have come to bend more tightly than can be drawn or sewn, and those that have come to bend to and fro
        where they ran in one sweep: more often by four changes or more.
    """
    rough, wavy = list[EdgeRef](), list[EdgeRef]()
    for ref, now, was in _redrawn(before, after):
        turned = _turning(now)
        turn, count = _turn_deg_a_mm(turned), _bends(turned)
        if turn <= MOST_TURN_A_MM_DEG and count <= MOST_MORE_BENDS:
            continue
        old = _turning(was) if was else None
        if turn > MOST_TURN_A_MM_DEG and (old is None or turn > MUCH_MORE * _turn_deg_a_mm(old)):
            rough.append(ref)
        if old is not None and count > _bends(old) + MOST_MORE_BENDS:
            wavy.append(ref)
    return rough, wavy


def _redrawn(before: Pattern, after: Pattern) -> Iterator[tuple[EdgeRef, Run, Run | None]]:
    """The edges that are no longer what they were: as they run now, and as they ran."""
    changed = changed_pieces(before, after)
    for piece in (one for one in after.pieces if one.name in changed):
        was = name_before(piece.name, before)
        old = {edge.name: edge for edge in before.piece(was).edges} if was else {}
        for edge in piece.edges:
            if edge != (own := old.get(edge.name)):
                yield EdgeRef(piece.name, edge.name), edge.segments, own.segments if own else None


def _turning(run: Run, most_steps: int = MOST_STEPS) -> Numbers:
    """How far along a run places of it lie, and by how much it has turned there since its start; corners are none."""
    import numpy as np  # imported late, as shapely is

    parts = [_looked_at(segment, most_steps) for segment in run]
    spots, ways = (np.concatenate([part[which] for part in parts]) for which in (0, 1))
    out, on = ways[:-1], ways[1:]
    turns = np.degrees(np.arctan2(out[:, 0] * on[:, 1] - out[:, 1] * on[:, 0], (out * on).sum(axis=1)))
    steps = np.hypot(*np.diff(spots, axis=0).T)
    joints = np.cumsum([len(part[0]) for part in parts])[:-1] - 1
    steps[joints], turns[joints] = 0.0, np.where(np.abs(turns[joints]) <= FAIR_JOINT_DEG, turns[joints], 0.0)
    along = np.zeros((len(spots), 2))
    along[1:] = np.cumsum(np.stack((steps, turns), axis=1), axis=0)
    return np.delete(along, joints, axis=0)


def _looked_at(segment: Segment, most_steps: int) -> tuple[Numbers, Numbers]:
    """Places of a segment at even steps, both ends included, and the directions of travel there, of any length."""
    import numpy as np

    corners = np.array(segment)
    legs = np.diff(corners, axis=0)
    if isinstance(segment, Line):
        return corners, np.concatenate((legs, legs))
    t, spots, ways = _shares(min(most_steps, math.ceil(reach(segment) / LOOK_STEP_MM) + 1))
    on = ways @ legs
    for n in np.flatnonzero(np.hypot(*on.T) <= STILL_RATIO * reach(segment)):
        on[n] = tangent(segment, float(t[n]))
    return spots @ corners, on


@cache
def _shares(steps: int) -> tuple[Numbers, Numbers, Numbers]:
    """So many even steps of a cubic's `t`: what share its corners have in each place, and its legs in the way there."""
    import numpy as np

    t = np.linspace(0.0, 1.0, steps + 1)
    u = 1.0 - t
    spots = np.stack((u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t), axis=1)
    return t, spots, 3.0 * np.stack((u * u, 2.0 * u * t, t * t), axis=1)


def _turn_deg_a_mm(along: Numbers) -> float:
    """The most that a run changes its direction within a millimetre, degrees."""
    import numpy as np

    at, deg = along.T
    ends = np.minimum(np.searchsorted(at, at + 1.0 - READ_BACK_MM), len(at) - 1)
    return float(np.max(np.abs(deg[ends] - deg) / np.maximum(1.0, at[ends] - at)))


@kept(256)
def bends(run: Run) -> int:
    """How often a run changes the way it bends, as an eye sees it, looked for at a few places of each segment."""
    return _bends(_turning(run, FEW_STEPS))


def _bends(along: Numbers) -> int:
    """How often a run changes the way it bends, as an eye sees it."""
    found, way = list[Turned](), 0
    low = high = Turned(0.0, 0.0)
    for place in starmap(Turned, along.tolist()):
        low, high = (place if place.deg < low.deg else low), (place if place.deg > high.deg else high)
        if way >= 0 and high.deg - place.deg > SEEN_BEND_DEG:
            found, way, low = [*found, *([high] if way else [])], -1, place
        elif way <= 0 and place.deg - low.deg > SEEN_BEND_DEG:
            found, way, high = [*found, *([low] if way else [])], 1, place
    return len(found) - 2 * sum(_unseen(a, b) for a, b in pairwise(found))


def _unseen(start: Turned, end: Turned) -> bool:
    """Whether the bend between two changes is so slight and flat that no one sees it."""
    turn = abs(end.deg - start.deg)
    return turn < SURELY_SEEN_DEG and math.radians(turn) * (end.mm - start.mm) / 8.0 < SEEN_MM
