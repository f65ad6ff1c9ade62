"""Whether a redrawn edge is one that a cutter would follow: nowhere tighter than a French curve's tightest part."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator
from itertools import pairwise

from diagnose.pattern.finish.walking import changed_pieces, name_before
from diagnose.pattern.geometry.bezier import point_at, reach, tangent
from diagnose.pattern.geometry.plane import cross, distance, dot
from diagnose.pattern.outline import Edge, EdgeRef, Line, Pattern, Run

__all__ = ["rough_edges", "turn_deg_a_mm"]

MOST_TURN_DEG = 6.3
"""Change of direction in a millimetre: a radius of 9 mm, the tightest of a French curve (from memory, no source)."""
CORNER_DEG = 5.0
LOOK_STEP_MM = 0.5
MOST_STEPS = 400
MUCH_MORE = 1.5
READ_BACK_MM = 1e-6


def rough_edges(before: Pattern, after: Pattern) -> Iterator[EdgeRef]:
    """The edges that have come to bend more tightly than can be drawn or sewn, corners of their own apart."""
    changed = changed_pieces(before, after)
    for piece in (one for one in after.pieces if one.name in changed):
        was = name_before(piece.name, before)
        old = {edge.name: edge for edge in before.piece(was).edges} if was else {}
        for edge in piece.edges:
            if edge != old.get(edge.name) and _rough(edge, old.get(edge.name)):
                yield EdgeRef(piece.name, edge.name)


def _rough(edge: Edge, old: Edge | None) -> bool:
    turn = turn_deg_a_mm(edge.segments)
    return turn > MOST_TURN_DEG and (old is None or turn > MUCH_MORE * turn_deg_a_mm(old.segments))


def turn_deg_a_mm(run: Run) -> float:
    """The most that a run changes its direction within a millimetre, degrees; corners are passed over."""
    at, turned, ways = [0.0], [0.0], []
    for segment in run:
        steps = 1 if isinstance(segment, Line) else min(MOST_STEPS, math.ceil(reach(segment) / LOOK_STEP_MM) + 1)
        spots = [(point_at(segment, n / steps), tangent(segment, n / steps)) for n in range(steps + 1)]
        ways += [(start, end, distance(p, q)) for (p, start), (q, end) in pairwise(spots)]
    last = ways[0][0]
    for start, end, size in ways:
        joint = math.degrees(math.atan2(cross(last, start), dot(last, start)))
        turned[-1] += joint if abs(joint) <= CORNER_DEG else 0.0
        at.append(at[-1] + size)
        turned.append(turned[-1] + math.degrees(math.atan2(cross(start, end), dot(start, end))))
        last = end
    last_place = len(at) - 1
    ends = (min(bisect_left(at, mm + 1.0 - READ_BACK_MM), last_place) for mm in at)
    return max((abs(turned[end] - turned[n]) / max(1.0, at[end] - at[n]) for n, end in enumerate(ends)), default=0.0)
