"""The edge a moved edge is sewn to: what the two now differ by, and drawing the partner to the new length.

Millimetres. Edges are walked from the waist, up and then down, so each arm keeps its own length.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from diagnose.pattern.altered import Trued
from diagnose.pattern.carry import Redrawn, with_marks
from diagnose.pattern.curves import length, line_hits, point_at, reverse, run_length, run_split, tangent
from diagnose.pattern.joins import Run, drawn_on
from diagnose.pattern.measure import SLIT_PREFIX, seam_difference
from diagnose.pattern.nearby import place_on
from diagnose.pattern.outline import Edge, EdgeRef, Pattern, Piece, Point, Seam, Segment
from diagnose.pattern.plane import add, distance, scaled, sub, unit
from diagnose.pattern.profile import Knot, Profile
from diagnose.pattern.redraw import Shift, displaced, displaced_point
from diagnose.units import INCH_MM, both

__all__ = ["partner_notes", "true_partner"]

SAID_MM = INCH_MM / 16
TRUED_MM = 0.1
BLEND_MM = 2 * INCH_MM
BLEND_FACTOR = 4.0


def partner_notes(before: Pattern, after: Pattern, piece: str, edges: Collection[str]) -> tuple[str, ...]:
    """A sentence for each seam of those edges that has come to differ by more than 1/16 in."""
    notes = []
    for seam in after.seams:
        if not any(ref.piece == piece and ref.edge in edges for ref in (seam.a, seam.b)):
            continue
        over = seam_difference(after, seam)
        if abs(over) > SAID_MM and abs(over - seam_difference(before, seam)) > TRUED_MM:
            longer, shorter = (seam.a, seam.b) if over > 0.0 else (seam.b, seam.a)
            notes.append(
                f"Seam '{seam.name}': {longer.piece}/{longer.edge} is now {both(abs(over))} longer than"
                f" {shorter.piece}/{shorter.edge}. Walk the two and true one of them before cutting."
            )
    return tuple(notes)


def true_partner(before: Pattern, after: Pattern, piece: str, edge: str) -> tuple[Pattern, tuple[Trued, ...]]:
    """The pattern with the ends of each partner edge drawn on or trimmed by what the moved edge gained or lost.

    Args:
        before: the pattern before the edge moved.
        after: the pattern with it moved.
        piece: the moved edge's piece.
        edge: the moved edge.
    """
    old, new = _arms(before.piece(piece), edge), _arms(after.piece(piece), edge)
    pattern, trued = after, []
    for ref in _partners(after.seams, EdgeRef(piece, edge)):
        for upper, by_mm in ((True, new[0] - old[0]), (False, new[1] - old[1])):
            if abs(by_mm) > TRUED_MM:
                made, reach_mm = _stretched(pattern.piece(ref.piece), ref.edge, upper, by_mm)
                pattern = pattern.with_piece(made)
                trued.append(Trued(ref.piece, ref.edge, "partner", by_mm, reach_mm))
    return pattern, tuple(trued)


def _partners(seams: Collection[Seam], own: EdgeRef) -> list[EdgeRef]:
    found = [seam.b if seam.a == own else seam.a for seam in seams if own in (seam.a, seam.b)]
    return [ref for ref in found if ref != own and not ref.edge.startswith(SLIT_PREFIX)]


def _arms(piece: Piece, name: str) -> tuple[float, float]:
    """The edge's length above the waist and below it; all of it counts as above where no waist crosses it."""
    edge = piece.edge(name)
    whole = run_length(edge.segments)
    waist = _waist(piece, edge)
    if waist is None:
        return whole, 0.0
    at = place_on(edge.segments, waist)[0]
    return (whole - at, at) if _rises(edge) else (at, whole - at)


def _rises(edge: Edge) -> bool:
    return edge.end.y >= edge.start.y


def _waist(piece: Piece, edge: Edge) -> Point | None:
    level = piece.levels.get("waist", ())
    legs = (level[1::-1], level[-2:]) if len(level) > 1 else ()
    hits = [
        (distance(point_at(segment, t), end), point_at(segment, t))
        for inner, end in legs
        for segment in edge.segments
        for t, _ in (line_hits(segment, inner, end) if inner != end else ())
    ]
    return min(hits)[1] if hits else None


def _stretched(piece: Piece, name: str, upper: bool, by_mm: float) -> tuple[Piece, float]:
    """The piece with one end of the edge drawn on (or trimmed), its neighbour blended to the new corner."""
    edge = piece.edge(name)
    at_end = _rises(edge) == upper
    run = edge.segments if at_end else tuple(reverse(s) for s in reversed(edge.segments))
    run, corner = _lengthened(run, by_mm), run[-1].end
    segments = run if at_end else tuple(reverse(s) for s in reversed(run))
    index = piece.edges.index(edge)
    neighbour = piece.edges[(index + (1 if at_end else -1)) % len(piece.edges)]
    shift, reach_mm = _blend(neighbour, sub(run[-1].end, corner), at_start=at_end)
    blended: list[Segment] = []
    at_mm = 0.0
    for segment in neighbour.segments:
        blended += displaced(segment, shift.on(at_mm))
        at_mm += length(segment)
    after = piece.with_edge(replace(edge, segments=segments)).with_edge(replace(neighbour, segments=tuple(blended)))
    places = {neighbour.name: lambda mm: displaced_point(neighbour.segments, mm, shift)}
    return with_marks(Redrawn(piece, after, places), levels=False)[0], reach_mm


def _lengthened(run: Run, by_mm: float) -> Run:
    if by_mm < 0.0:
        return run_split(run, run_length(run) + by_mm)[0]
    return drawn_on(run, add(run[-1].end, scaled(tangent(run[-1], 1.0), by_mm)))


def _blend(edge: Edge, by: Point, *, at_start: bool) -> tuple[Shift, float]:
    """The neighbour's way to its new corner: all of `by` at that end, nothing from the blend's far end on."""
    size, step = run_length(edge.segments), distance(by, Point(0.0, 0.0))
    reach = min(size, max(BLEND_MM, BLEND_FACTOR * step))
    knots = (Knot(0.0, step), Knot(reach, 0.0)) if at_start else (Knot(size - reach, 0.0), Knot(size, step))
    return Shift(Profile(knots), direction=unit(by)), reach
