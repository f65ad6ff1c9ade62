"""Walking the seams after paper was cut: where two sides no longer match, the one that was altered is trued.

Millimetres. An edge that has come out too long or too short for its partner is trimmed or drawn on at its top end (at
the bottom where it does not reach the top), and the top edge is redrawn to the new corner, fading to nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from diagnose.pattern.altered import Altered, Trued
from diagnose.pattern.blend import Run, shifted_end
from diagnose.pattern.curves import reverse, run_length, run_split, tangent
from diagnose.pattern.following import Zone, followed
from diagnose.pattern.joins import drawn_on
from diagnose.pattern.measure import SLIT_PREFIX, edge_length, seam_difference
from diagnose.pattern.outline import Edge, EdgeRef, Notch, Pattern, Piece, Seam
from diagnose.pattern.plane import add, scaled
from diagnose.pattern.truing import LEAST_REACH_MM, REACH_PER_STEP, Remeasured
from diagnose.units import INCH_MM, both

__all__ = ["walked"]

SEAM_TRUE_MM = INCH_MM / 16
MOST_PART = 0.5


def walked(before: Pattern, made: Altered, pieces: Collection[str]) -> Altered:
    """What was made, with each seam of those pieces brought back to the difference it had, where it is over 1/16 in.

    Call it once after a whole list of cuts: a wedge through two neighbours makes a difference at the first that the
    second takes away again.

    Args:
        before: the pattern before any of it.
        made: the pattern as it is now.
        pieces: the pieces that were altered and may be trued.
    """
    for seam in made.pattern.seams:
        known = any(old.name == seam.name for old in before.seams)
        change = seam_difference(made.pattern, seam) - seam_difference(before, seam) if known else 0.0
        if abs(change) > SEAM_TRUE_MM:
            made = _trued(before, made, seam, change, pieces)
    return made


def _trued(before: Pattern, made: Altered, seam: Seam, change_mm: float, pieces: Collection[str]) -> Altered:
    """One seam brought back: `change_mm` is how much longer its side a has become, against side b."""
    sides = [(ref, by) for ref, by in ((seam.a, -change_mm), (seam.b, change_mm)) if _may(ref, pieces)]
    if not sides:
        return made
    ref, by_mm = max(sides, key=lambda side: _changed(before, made.pattern, side[0]))
    piece = made.pattern.piece(ref.piece)
    done = _lengthened(piece, piece.edge(ref.edge), by_mm)
    if done is None:
        return made
    trued, end, reach_mm = done
    word = "drawn on" if by_mm > 0.0 else "trimmed"
    note = (
        f"Seam '{seam.name}' no longer matched: edge '{ref.edge}' of '{ref.piece}' is {word} by {both(abs(by_mm))} at"
        f" its {end} end, and the {end} edge redrawn to it over {both(reach_mm)}."
    )
    why = Trued(ref.piece, ref.edge, "partner", by_mm, reach_mm)
    return Altered(made.pattern.with_piece(trued), (*made.notes, note), (*made.trued, why))


def _may(ref: EdgeRef, pieces: Collection[str]) -> bool:
    return ref.piece in pieces and not ref.edge.startswith(SLIT_PREFIX)


def _changed(before: Pattern, after: Pattern, ref: EdgeRef) -> float:
    old, new = (edge_length(pattern.piece(ref.piece).edge(ref.edge)) for pattern in (before, after))
    return abs(new - old)


def _lengthened(piece: Piece, edge: Edge, by_mm: float) -> tuple[Piece, str, float] | None:
    """The piece with the edge that much longer, at which end, and how far its neighbour was redrawn; None if no end
    of it may be moved."""
    number = piece.edges.index(edge)
    ends = {False: piece.edges[number - 1], True: piece.edges[(number + 1) % len(piece.edges)]}
    found = [(at_end, role) for role in ("top", "bottom") for at_end, other in ends.items() if other.role == role]
    if not found or edge_length(edge) * MOST_PART < abs(by_mm):
        return None
    at_end, role = found[0]
    run = edge.segments if at_end else _backwards(edge.segments)
    run = run_split(run, run_length(run) + by_mm)[0] if by_mm < 0.0 else _on(run, by_mm)
    own = replace(edge, segments=run if at_end else _backwards(run))
    beside = ends[at_end]
    reach = min(run_length(beside.segments), max(LEAST_REACH_MM, REACH_PER_STEP * abs(by_mm)))
    redrawn = replace(beside, segments=shifted_end(beside.segments, run[-1].end, reach, at_start=at_end))
    made = piece.with_edge(own).with_edge(redrawn)
    made = replace(made, notches=_notches(piece, own, beside, redrawn, 0.0 if at_end else by_mm))
    return followed(made, [Zone(beside.role, beside.segments, redrawn.segments)]), role, reach


def _on(run: Run, by_mm: float) -> Run:
    return drawn_on(run, add(run[-1].end, scaled(tangent(run[-1], 1.0), by_mm)))


def _backwards(run: Run) -> Run:
    return tuple(reverse(segment) for segment in reversed(run))


def _notches(piece: Piece, own: Edge, old: Edge, new: Edge, start_mm: float) -> tuple[Notch, ...]:
    """Notches of the edge keep their place on the paper; those of its neighbour keep their part of its length."""
    whole, now = run_length(old.segments), run_length(new.segments)
    beside = Remeasured().then(0.0, whole, now, whole)
    moved: dict[str, Callable[[float], float]] = {
        own.name: lambda mm: min(max(mm + start_mm, 0.0), edge_length(own)),
        old.name: beside,
    }
    return tuple(replace(n, at=moved[n.edge](n.at)) if n.edge in moved else n for n in piece.notches)
