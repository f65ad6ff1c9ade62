"""What a pattern's geometry must hold to: outlines, levels, marks and seams. Each check gives the mistakes it finds.

The reader runs them all; an operation may run them over its result.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise

from diagnose.errors import Mistake
from diagnose.pattern.geometry.bezier import area, box_distance, controls, outline_points
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.in_words import place_title, too_much_to_sew
from diagnose.pattern.measure import (
    bounds,
    cut_level,
    edge_length,
    outline_segments,
    ref_length,
    seam_difference,
)
from diagnose.pattern.outline import END_ROLES, EdgeRef, Line, Pattern, Piece, Point, Seam, Segment, lips_of
from diagnose.pattern.tolerances import (
    CLOSE_TOL_MM,
    FLATTEN_TOL_MM,
    LEAST_AREA_MM2,
    LEAST_STEP_MM,
    LEVEL_REACH_TOL_MM,
    NOTCH_TOL_MM,
    PIECE_LIMIT_MM,
    SEAM_MATCH_TOL_MM,
    SLIT_FOOT_TOL_MM,
)
from diagnose.sentences import upper_first
from diagnose.units import Unit, both

__all__ = ["crossing_place", "piece_mistakes", "seam_mistakes"]


def piece_mistakes(piece: Piece, where: str, unit: Unit = "in") -> list[Mistake]:
    """Everything wrong with one piece, lengths in her unit; marks are looked at only once the outline holds."""
    outline = [*_idle_steps(piece, where), *_open(piece, where, unit), *_too_large(piece, where)]
    outline = outline or [*_crossing(piece, where)] or [*_wrong_way(piece, where)]
    return outline or [*_levels(piece, where, unit), *_slits(piece, where, unit), *_notches(piece, where)]


def _idle_steps(piece: Piece, where: str) -> Iterator[Mistake]:
    for edge in piece.edges:
        for number, segment in enumerate(edge.segments, 1):
            if _span(segment) < LEAST_STEP_MM:
                at = f"{where}, edge {edge.name}, step {number}"
                yield Mistake(at, "The step goes nowhere: it ends where it begins.", "Leave it out.", code="idle-step")


def _points(segment: Segment) -> Sequence[Point]:
    return (segment.start, segment.end) if isinstance(segment, Line) else controls(segment)


def _span(segment: Segment) -> float:
    start, *others = _points(segment)
    return max(distance(start, point) for point in others)


def _open(piece: Piece, where: str, unit: Unit) -> Iterator[Mistake]:
    first, last = piece.edges[0], piece.edges[-1]
    off = distance(first.start, last.end)
    if off > CLOSE_TOL_MM:
        what = f"The outline does not close: it ends at {last.end}, {both(off, unit)} from its start."
        do = f"End its last edge at the start, {first.start}, and see that the edges stand in order."
        yield Mistake(f"{where}, edge {last.name}", what, do, code="outline-open")


def _too_large(piece: Piece, where: str) -> Iterator[Mistake]:
    handles = [p for segment in outline_segments(piece) for p in _points(segment)]
    if all(max(abs(x), abs(y)) <= PIECE_LIMIT_MM / 2.0 for x, y in handles):
        return
    box = bounds(piece)
    for span, word in ((box.right - box.left, "wide"), (box.top - box.bottom, "tall")):
        if span > PIECE_LIMIT_MM:
            what = f"The piece is {span:.0f} mm {word}; none may be over {PIECE_LIMIT_MM:.0f} mm."
            yield Mistake(where, what, "Look at the unit: coordinates are millimetres.", code="piece-too-large")


def crossing_place(piece: Piece) -> Point | None:
    """A point where the outline crosses or touches itself; None when it is simple."""
    # Imported late: shapely takes longer to import than a pattern takes to read.
    from shapely import Polygon, is_valid

    ring = outline_points(piece, FLATTEN_TOL_MM)
    return _first_meeting(ring) if len(ring) > 2 and not is_valid(Polygon(ring)) else None


def _first_meeting(ring: Sequence[Point]) -> Point:
    """Where two legs of the ring meet that are no neighbours, or a leg runs back over its neighbour; else its start."""
    from shapely import STRtree, intersection, linestrings

    legs = linestrings([(a, b) for a, b in pairwise([*ring, ring[0]]) if a != b])
    for one, other in sorted(zip(*STRtree(legs).query(legs, predicate="intersects").tolist(), strict=True)):
        shared = intersection(legs[one], legs[other])
        if one < other and (other - one not in (1, len(legs) - 1) or shared.length > 0.0):
            return Point(*shared.coords[0])
    return ring[0]


def _crossing(piece: Piece, where: str) -> Iterator[Mistake]:
    place = crossing_place(piece)
    if place is not None:
        near = [edge.name for edge in piece.edges if run_nearest(edge.segments, place)[1] < 2.0 * FLATTEN_TOL_MM]
        of = f" (edge {' and edge '.join(near)})" if near else ""
        do = "See that the edges stand in the order in which they go round, and that no step has a wrong number."
        yield Mistake(where, f"The outline crosses or touches itself near {place}{of}.", do, code="outline-crosses")


def _wrong_way(piece: Piece, where: str) -> Iterator[Mistake]:
    enclosed = area(outline_segments(piece))
    if abs(enclosed) < LEAST_AREA_MM2:
        yield Mistake(
            where,
            "The outline encloses no paper.",
            "Give the points in the order in which they go round.",
            code="no-paper",
        )
    elif enclosed < 0.0:
        do = "List its edges the other way round, each with its points reversed; or, if it was drawn with y downwards, "
        yield Mistake(
            where, "The outline runs clockwise.", do + "change the sign of every y.", code="outline-clockwise"
        )
    else:
        yield from _out_of_order(piece, where)


def _out_of_order(piece: Piece, where: str) -> Iterator[Mistake]:
    """Counter-clockwise, the bottom runs from front to back and the top from back to front."""
    for role, sign, way in (("bottom", 1.0, "from back to front"), ("top", -1.0, "from front to back")):
        edges = [edge for edge in piece.edges if edge.role == role]
        if sign * sum(edge.end.x - edge.start.x for edge in edges) < -CLOSE_TOL_MM:
            names = ", ".join(edge.name for edge in edges)
            what = f"The edges are out of order: the {role} ({names}) runs {way} as the outline goes round."
            yield Mistake(
                where,
                what,
                "",
                typed="Put each edge's name and role to its own path, x growing towards the back.",
                code="edges-out-of-order",
            )


def _levels(piece: Piece, where: str, unit: Unit) -> Iterator[Mistake]:
    for station, level in piece.levels.items():
        at = f"{where}, level {station}"
        cut = cut_level(piece, level)
        short = max(cut.short_start, cut.short_end)
        if cut.width <= CLOSE_TOL_MM:
            yield Mistake(at, "The level misses the piece.", "", typed=_across(piece), code="level-misses")
        elif short > LEVEL_REACH_TOL_MM:
            what = f"The level stops {both(short, unit)} inside the piece."
            yield Mistake(at, what, "Draw it on to the outline.", code="level-short")


def _across(piece: Piece) -> str:
    box = bounds(piece)
    return f"Draw it across the piece, which lies between {Point(*box[:2])} and {Point(*box[2:])}."


def _slits(piece: Piece, where: str, unit: Unit) -> Iterator[Mistake]:
    ends = [edge for edge in piece.edges if edge.role in END_ROLES]
    for slit in piece.slits:
        at, foot = f"{where}, slit {slit.name}", slit.line[0]
        if not ends:
            what = "The piece has no bottom and no top edge for the slit to start from."
            yield Mistake(at, what, "Leave it out.", code="no-edge-for-slit")
            continue
        if not any(_lies_near(segment, foot) for edge in ends for segment in edge.segments):
            off = min(run_nearest(edge.segments, foot)[1] for edge in ends)
            what = f"The slit's foot, {foot}, is {both(off, unit)} off the bottom or top edge."
            yield Mistake(at, what, "Begin the slit on that edge: its foot is its first point.", code="slit-off-edge")


def _lies_near(segment: Segment, foot: Point) -> bool:
    """Whether the foot lies on the segment, within the tolerance; the box is asked first, being the quicker."""
    return box_distance(segment, foot) <= SLIT_FOOT_TOL_MM and nearest(segment, foot)[1] <= SLIT_FOOT_TOL_MM


def _notches(piece: Piece, where: str) -> Iterator[Mistake]:
    edges = {edge.name: edge for edge in piece.edges}
    for number, notch in enumerate(piece.notches, 1):
        at = f"{where}, notch {number}"
        edge = edges.get(notch.edge)
        if edge is None:
            yield Mistake(
                at, f"The piece has no edge “{notch.edge}”.", f"It has: {', '.join(edges)}.", code="notch-without-edge"
            )
        elif not 0.0 <= notch.at <= distance(edge.start, edge.end):  # an edge is never shorter than its chord
            size = edge_length(edge)
            if not -NOTCH_TOL_MM <= notch.at <= size + NOTCH_TOL_MM:
                what = f"The notch lies at {notch.at:.1f} mm, but edge {edge.name} runs from 0 to {size:.1f} mm."
                yield Mistake(at, what, "Measure it from the edge's start.", code="notch-off-edge")


def seam_mistakes(
    pattern: Pattern, where: str, unread: Collection[str] = (), unit: Unit = "in"
) -> list[Mistake]:  # fmt: skip
    """Everything wrong with the seams, lengths in her unit.

    Those that name a piece of `unread` (named, but faulty) are passed over.
    """
    found: list[Mistake] = []
    known = {piece.name: piece for piece in pattern.pieces}
    for seam in pattern.seams:
        at = f"{where}, seam {seam.name}"
        missing = [mistake for ref in seam.refs for mistake in _missing(ref, known, unread, at=at)]
        found += missing
        if not missing and seam.a.piece in known and seam.b.piece in known:
            found += _lengths_differ(pattern, seam, at, unit=unit)
    return found + _sewn_twice(pattern, where)


def _missing(ref: EdgeRef, known: Mapping[str, Piece], unread: Collection[str], at: str) -> Iterator[Mistake]:
    if ref.piece not in known:
        if ref.piece not in unread:
            has = ", ".join([*known, *unread]) or "none"
            yield Mistake(at, f"The pattern has no piece “{ref.piece}”.", f"It has: {has}.", code="seam-without-piece")
        return
    piece = known[ref.piece]
    names = [edge.name for edge in piece.edges] + [lips_of(piece.name, slit.name).edge for slit in piece.slits]
    if ref.edge not in names:
        yield Mistake(
            at, f"Piece {ref.piece} has no edge “{ref.edge}”.", f"It has: {', '.join(names)}.", code="seam-without-edge"
        )


def _lengths_differ(pattern: Pattern, seam: Seam, at: str, unit: Unit) -> Iterator[Mistake]:
    over = seam_difference(pattern, seam)
    if abs(over) > SEAM_MATCH_TOL_MM:
        a, b = (f"{place_title(pattern, *ref)} ({both(ref_length(pattern, ref), unit)})" for ref in seam.refs)
        ease = f" beyond the ease of {seam.ease:.1f} mm" if seam.ease else ""
        what = f"{upper_first(a)}, and {b} differ by {too_much_to_sew(over, ease, unit)}"
        do = "Walk the two edges and true one, or give the difference of a and b as “ease”."
        yield Mistake(at, what, do, code="seam-lengths-differ", about=seam.name)


def _sewn_twice(pattern: Pattern, where: str) -> list[Mistake]:
    """An edge is sewn once on each body side; a slit has two lips and so may be sewn twice."""
    sides = {piece.name: piece.side for piece in pattern.pieces}
    sewn: dict[tuple[EdgeRef, str], list[str]] = {}
    for seam in pattern.seams:
        body = next((side for ref in seam.refs if (side := sides.get(ref.piece, "both")) != "both"), "both")
        for ref in dict.fromkeys((seam.a, seam.b)):
            for side in ("left", "right") if body == "both" else (body,):
                sewn.setdefault((ref, side), []).append(seam.name)
    doubled = {ref: names for (ref, _), names in sewn.items() if len(names) > (2 if ref.slit else 1)}
    return [
        Mistake(
            where,
            f"{upper_first(place_title(pattern, *ref))} is sewn in more than one seam: {', '.join(names)}.",
            _ONCE,
            code="sewn-twice",
        )
        for ref, names in doubled.items()
    ]


_ONCE = "Leave it in one, or part the edge in two."
