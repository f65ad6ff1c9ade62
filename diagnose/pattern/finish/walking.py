"""An edge and the one it is sewn to: what the two differ by, and drawing one of them to the length of the other.

Millimetres. Edges are walked from the waist, up and then down, so each arm keeps its own length.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import EndSet, RunRedrawn, Zone
from diagnose.pattern.geometry.arclength import length_to
from diagnose.pattern.geometry.bezier import point_at, tangent
from diagnose.pattern.geometry.blend import reach_for, shifted_end
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.joins import drawn_on
from diagnose.pattern.geometry.plane import add, distance, scaled
from diagnose.pattern.geometry.runs import run_backwards, run_length, run_split
from diagnose.pattern.kept import kept
from diagnose.pattern.measure import edge_length, seam_difference
from diagnose.pattern.moved.carry import followed
from diagnose.pattern.moved.fairing import Remeasured, end_redrawn
from diagnose.pattern.outline import Edge, EdgeRef, Pattern, Piece, Point, Run, Seam, pair_and_side
from diagnose.units import INCH_MM

__all__ = [
    "LEAST_FOLLOWED_MM", "LEAST_TRUED_MM", "SEAM_TRUE_MM", "Arms", "Ended", "arms_change", "as_before",
    "beside_end", "changed_pieces", "ended", "met_mm", "name_before", "owed", "rises", "true_partner", "waist_mm",
]  # fmt: skip

SEAM_TRUE_MM = INCH_MM / 16
"""Two edges sewn together that differ by more are walked and trued."""

LEAST_TRUED_MM = 0.4
"""An end that is off by less is left as it is: no pencil draws it."""

LEAST_FOLLOWED_MM = 0.1
"""A partner that is to follow its edge does so from here on."""

MOST_PART = 0.5


class Arms(NamedTuple):
    """A length above the waist and one below it; all of it counts as above where no waist crosses the edge."""

    upper: float
    lower: float

    @property
    def whole(self) -> float:
        """Both parts together, mm."""
        return self.upper + self.lower


def owed(pattern: Pattern, seam: Seam, changed: Arms) -> Iterator[tuple[bool, float]]:
    """What is to be walked back of a seam that an alteration has changed by so much.

    Small changes add up: where neither arm has changed by as much as a pencil draws, and with them the edges have come
    to differ by more than is sewn, all that they differ by is owed, at the arm that has changed more.

    Yields:
        Whether it is the upper arm, and by how much its side a is too long there for its side b, mm.
    """
    off = seam_difference(pattern, seam) if any(changed) else 0.0
    if max(map(abs, (*changed, changed.whole, off))) <= SEAM_TRUE_MM:
        return
    if max(map(abs, changed)) <= LEAST_TRUED_MM and abs(off - changed.whole) <= SEAM_TRUE_MM < abs(off):
        changed = Arms(off, 0.0) if abs(changed.upper) >= abs(changed.lower) else Arms(0.0, off)
    yield from (
        (upper, by_mm) for upper, by_mm in zip((True, False), changed, strict=True) if abs(by_mm) > LEAST_TRUED_MM
    )


class Ended(Struct, frozen=True):
    """A piece with one end of an edge drawn on or trimmed, that end, and what of the edge beside was redrawn to it."""

    piece: Piece
    end: EndSet
    beside: RunRedrawn


def changed_pieces(before: Pattern, after: Pattern) -> frozenset[str]:
    """The names of the pieces that are new or no longer the same."""
    old = {piece.name: piece for piece in before.pieces}
    return frozenset(piece.name for piece in after.pieces if old.get(piece.name) is not piece)


def name_before(piece: str, before: Pattern) -> str | None:
    """The name the piece had before its pair was parted; None when it was not there."""
    return next((name for name in (piece, pair_and_side(piece)[0]) if name in before.names), None)


def as_before(seam: Seam, before: Pattern) -> Seam | None:
    """The seam as it stood before pairs were parted; None when one of its sides was not there."""
    a, b = (_ref_before(ref, before) for ref in seam.refs)
    return replace(seam, a=a, b=b) if a is not None and b is not None else None


def _ref_before(ref: EdgeRef, before: Pattern) -> EdgeRef | None:
    name = name_before(ref.piece, before)
    if name is None:
        return None
    piece = before.piece(name)
    known = {slit.name for slit in piece.slits} if ref.slit else {edge.name for edge in piece.edges}
    return EdgeRef(name, ref.edge) if (ref.slit or ref.edge) in known else None


def arms_change(before: Pattern, after: Pattern, seam: Seam) -> Arms:
    """How much longer its side a has become than its side b, over the waist and under it; nothing for a new seam."""
    was = as_before(seam, before)
    if was is None or any(ref.slit for ref in seam.refs):
        return Arms(0.0, 0.0)
    pairs = ((after, seam.a), (after, seam.b), (before, was.a), (before, was.b))
    found = [_arms(pattern.piece(ref.piece), ref.edge) for pattern, ref in pairs]
    met = all(found)
    ups, downs = zip(*(arms or Arms(_whole(*pair), 0.0) for arms, pair in zip(found, pairs, strict=True)), strict=True)
    change = [(lengths[0] - lengths[1]) - (lengths[2] - lengths[3]) for lengths in (ups, downs)]
    return Arms(*change) if met else Arms(sum(change), 0.0)


def _whole(pattern: Pattern, ref: EdgeRef) -> float:
    return edge_length(pattern.piece(ref.piece).edge(ref.edge))


def true_partner(before: Pattern, after: Pattern, piece: str, edge: str) -> tuple[Pattern, tuple[Zone, ...]]:
    """The pattern with the ends of each partner edge drawn on or trimmed by what the moved edge gained or lost.

    Args:
        before: the pattern before the edge moved.
        after: the pattern with it moved.
        piece: the moved edge's piece.
        edge: the moved edge.
    """
    pattern, zones = after, list[Zone]()
    for seam in after.seams:
        own = EdgeRef(piece, edge)
        if own not in seam.refs or seam.a == seam.b:
            continue
        ref, sign = (seam.b, 1.0) if seam.a == own else (seam.a, -1.0)
        for upper, by_mm in zip((True, False), arms_change(before, after, seam), strict=True):
            made = None
            if abs(by_mm) > LEAST_FOLLOWED_MM:
                made = ended(pattern.piece(ref.piece), ref.edge, sign * by_mm, upper=upper)
            if made:
                pattern = pattern.with_piece(made.piece)
                zones += [made.end, made.beside]
    return pattern, tuple(zones)


def _arms(piece: Piece, name: str) -> Arms | None:
    """The edge's length above the waist and below it; None where no waist crosses it."""
    edge = piece.edge(name)
    at = waist_mm(piece, edge)
    if at is None:
        return None
    whole = edge_length(edge)
    return Arms(whole - at, at) if rises(edge) else Arms(at, whole - at)


def rises(edge: Edge) -> bool:
    """Whether the edge runs upwards as the outline goes round."""
    return edge.end.y >= edge.start.y


def waist_mm(piece: Piece, edge: Edge) -> float | None:
    """How far along the edge the waist level meets it; None where it does not."""
    level = piece.levels.get("waist", ())
    return met_mm(edge, (level[1], level[0]), (level[-2], level[-1])) if len(level) > 1 else None


# The same few edges are asked again and again while one list of operations is done; they are values.
@kept(512)
def met_mm(edge: Edge, *legs: tuple[Point, Point]) -> float | None:
    """How far along the edge it is met by one of the legs drawn on, where nearest to that leg's end."""
    best: tuple[float, int, float] | None = None
    for inner, end in legs:
        for index, segment in enumerate(edge.segments):
            for t, _ in line_hits(segment, inner, end) if inner != end else ():
                hit = (distance(point_at(segment, t), end), index, t)
                best = min(best, hit) if best else hit
    return run_length(edge.segments[: best[1]]) + length_to(edge.segments[best[1]], best[2]) if best else None


def beside_end(piece: Piece, edge: Edge, *, upper: bool) -> Edge | None:
    """The top edge that adjoins the edge's upper end, or the bottom edge at its lower one; None where another does."""
    ahead = 1 if rises(edge) == upper else -1
    beside = piece.edges[(piece.edges.index(edge) + ahead) % len(piece.edges)]
    return beside if beside.role == ("top" if upper else "bottom") else None


def ended(piece: Piece, name: str, by_mm: float, *, upper: bool) -> Ended | None:
    """The piece with the edge that much longer at its upper (or lower) end, and the edge beside it redrawn to that.

    The edge is drawn on in its own direction, or trimmed; the top or bottom edge beside it goes to the new corner,
    fading to nothing, and what lies on it follows.

    Returns:
        The piece; None where another edge than the top or bottom adjoins there, or the edge would be halved.
    """
    edge = piece.edge(name)
    beside = beside_end(piece, edge, upper=upper)
    if beside is None or edge_length(edge) * MOST_PART < abs(by_mm):
        return None
    at_end = rises(edge) == upper
    run = _lengthened(edge.segments if at_end else run_backwards(edge.segments), by_mm)
    own = replace(edge, segments=run if at_end else run_backwards(run))
    reach = min(run_length(beside.segments), reach_for(by_mm))
    redrawn = replace(beside, segments=shifted_end(beside.segments, run[-1].end, reach, at_start=at_end))
    # Notches of the edge keep their place on the paper; those of its neighbour keep their part of its length.
    start_mm, size, whole = 0.0 if at_end else by_mm, edge_length(own), edge_length(beside)
    places: dict[str, Callable[[float], float]] = {
        name: lambda mm: min(max(mm + start_mm, 0.0), size),
        beside.name: Remeasured().then(0.0, whole, edge_length(redrawn), whole_mm=whole),
    }
    made = piece.with_edge(own).with_edge(redrawn).with_notches_at(places)
    was, now = (edge.end, own.end) if at_end else (edge.start, own.start)
    end = EndSet(
        piece=piece.name,
        edge=name,
        at_start=not at_end,
        why="partner",
        now=now,
        by_mm=by_mm,
        reach_mm=reach,
    )
    zone = end_redrawn(
        piece.name, beside, redrawn, reach_mm=reach, by_mm=distance(was, now), at_start=at_end, why="partner"
    )
    return Ended(followed(piece, made, [zone]), end, zone)


def _lengthened(run: Run, by_mm: float) -> Run:
    if by_mm < 0.0:
        return run_split(run, run_length(run) + by_mm)[0]
    return drawn_on(run, add(run[-1].end, scaled(tangent(run[-1], 1.0), by_mm)))
