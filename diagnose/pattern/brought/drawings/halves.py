"""Of a garment drawn whole, one half; of pieces drawn twice, one of each. Nothing is counted twice.

Two outlines are twins when one laid on the other, or its mirror image, leaves next to no paper uncovered.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from diagnose.errors import Mistake
from diagnose.pattern.brought.believing import APART
from diagnose.pattern.brought.drawings.corners import corners_of, cut_at
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.geometry.bezier import flatten, point_at
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.outline import Line, Point
from diagnose.sentences import counted

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["TWINS", "Halved", "halved", "shape_of"]

TWIN_RATIO = 0.02
"""Twins differ by less than this part of their paper."""

SAME_SIZE_RATIO = 0.01
AXIS_RATIO = 0.02
LEAST_CORNERS = 4
FULL_RATIO = 0.98
"""What fills more than this of its box is an oblong, whose halves tell nothing."""

MOVE_TOL_MM = 2.0
"""Pieces drawn twice by one move lie so near to where that puts them."""

RING_CHORD_TOL_MM = 0.5
UPRIGHT_MIDDLE_RATIO = 0.03


class Halved(Struct, frozen=True):
    """The rings that are kept, those of them (by number) that were cut along the fold, and what was presumed.

    `paired` are those that were drawn left and right while the others were drawn once. `is_middle_presumed` says that
    nothing but habit tells that the front lies in the middle of both halves, `is_twin_presumed` that nothing but their
    shape tells that two pieces are the left and the right one.
    """

    rings: tuple[Ring, ...]
    folded: frozenset[int] = frozenset()
    said: tuple[str, ...] = ()
    is_middle_presumed: bool = False
    paired: frozenset[int] = frozenset()
    is_twin_presumed: bool = False


def shape_of(ring: Ring) -> Polygon:
    """The ring as a polygon; one that crosses itself as its hull."""
    from shapely import Polygon  # late: it takes longer to import than a pattern takes to read

    points = [point for segment in ring.segments for point in flatten(segment, RING_CHORD_TOL_MM)[:-1]]
    shape = Polygon(points if len(points) > 2 else [*points, *points, *points][:3])
    return shape if shape.is_valid else shape.convex_hull


def halved(rings: Sequence[Ring], *, is_back_middle: bool = False, names: Sequence[str] = ()) -> Halved:
    """One half of what is drawn.

    A pair drawn twice as mirror images, a whole piece that is its own mirror image at the front, and pieces drawn
    twice over each become what one half needs. Where the mirror line lies in the middle of the drawing, the centre
    front is presumed to lie there, unless it is said to be the back. Pieces whose names differ in more than left, right
    and numbers are no twins, however alike they are.
    """
    shapes = [shape_of(ring) for ring in rings]
    stems = [_stem_of(name) for name in names] or [""] * len(rings)
    doubles = _doubles(shapes)
    if doubles and not _are_named_apart(stems, len(doubles)):
        kept = [n for n in range(len(rings)) if n not in doubles]
        return Halved(tuple(rings[n] for n in kept), said=(counted(len(doubles), _TWICE),))
    own = {n for n, shape in enumerate(shapes) if _like(shape, shape, mirrored=True)}
    pairs = _pairs(shapes, own, stems)
    if pairs and 2 * len(pairs) + len(own) == len(rings):
        return _of_both_halves(rings, shapes, own, pairs=pairs, is_back_middle=is_back_middle)
    ends = {min(range(len(rings)), key=lambda n: shapes[n].bounds[0]),
            max(range(len(rings)), key=lambda n: shapes[n].bounds[2])}  # fmt: skip
    twins = [pair for pair in pairs if ends & set(pair) or all(_SIDE.search(names[n]) for n in pair if names)]
    if twins:
        return _of_one_end(rings, shapes, twins, names=names)
    return _of_whole_pieces(rings, shapes, own)


_TWICE = "piece[|s] drawn twice over [was|were] taken once."
_BOTH = "Both halves are drawn, as mirror images: one was taken, the centre {} lying in the middle."
_PAIRS = "piece[ is drawn with its mirror image|s are drawn with their mirror images]: one of each was taken."
_TWINS = "piece[ is|s are] drawn left and right, and the others once: one of each was taken, and is cut as a pair."
TWINS = Mistake(
    "twins",
    "Two pieces are mirror images of each other, and the others stand once: are they the left and the right of one "
    "piece?",
    "",
    code="sure-twins",
    typed=f"If so, say --sure twins; if they are two pieces of their own, say --sure {APART}.",
)
_WHOLE = "A piece drawn whole, its own mirror image, was halved along its middle, which is presumed to lie on the fold."


def _doubles(shapes: Sequence[Polygon]) -> set[int]:
    """The pieces that stand second, where every piece stands twice the same way round."""
    return _moved_doubles(shapes) or _lone_doubles(shapes)


def _moved_doubles(shapes: Sequence[Polygon]) -> set[int]:
    """The pieces that stand second, where the whole drawing stands twice: all moved alike.

    So pieces that are alike in one garment, as its gores may be, are told from pieces drawn twice.
    """
    if len(shapes) % 2 or len(shapes) < 4:
        return set()
    spots = [shape.centroid for shape in shapes]
    for k in range(1, len(shapes)):
        if not _like(shapes[0], shapes[k], mirrored=False):
            continue
        dx, dy = spots[k].x - spots[0].x, spots[k].y - spots[0].y
        left, second = set(range(len(shapes))), set[int]()
        for n in sorted(range(len(shapes)), key=lambda n: spots[n].x * dx + spots[n].y * dy):
            if n not in left:
                continue
            twins = [
                m for m in left - {n}
                if abs(spots[m].x - spots[n].x - dx) <= MOVE_TOL_MM and abs(spots[m].y - spots[n].y - dy) <= MOVE_TOL_MM
                and _like(shapes[n], shapes[m], mirrored=False)
            ]  # fmt: skip
            if len(twins) != 1:
                break
            left -= {n, twins[0]}
            second.add(twins[0])
        if not left:
            return second
    return set()


def _lone_doubles(shapes: Sequence[Polygon]) -> set[int]:
    """The pieces that stand second, where every piece has one like it somewhere and one alone."""
    second: set[int] = set()
    for n, shape in enumerate(shapes):
        if n in second or _like(shape, shape, mirrored=True):
            continue
        twins = [k for k in range(n + 1, len(shapes)) if k not in second and _like(shape, shapes[k], mirrored=False)]
        if len(twins) != 1:
            return set()
        second.add(twins[0])
    return second


def _stem_of(name: str) -> str:
    """A piece's name without the words that say which half it is of, or which of several; empty for none."""
    return re.sub(r"[\W\d_]+", " ", _HALVES.sub("", name.casefold())).strip()


_SIDE = re.compile(r"(?<![^\W_])(?:left|right|l|r|lh|rh)(?![^\W_])", re.IGNORECASE)
_HALVES = re.compile(r"(?<![^\W_])(?:left|right|mirrored|mirror|copy|l|r|lh|rh)(?![^\W_])")


def _are_named_apart(stems: Sequence[str], doubled: int) -> bool:
    """Whether the pieces that seem to be drawn twice have names of their own."""
    named = [stem for stem in stems if stem]
    return len(named) == len(stems) and len(set(named)) > len(stems) - doubled


def _pairs(shapes: Sequence[Polygon], own: set[int], stems: Sequence[str]) -> list[tuple[int, int]]:
    """The mirror images of one another, each as (left, right)."""
    pairs: list[tuple[int, int]] = []
    left = [n for n in range(len(shapes)) if n not in own]
    while left:
        n = left.pop(0)
        twin = next((
            k for k in left
            if (not stems[n] or not stems[k] or stems[n] == stems[k]) and _like(shapes[n], shapes[k], mirrored=True)
        ), None)  # fmt: skip
        if twin is not None:
            left.remove(twin)
            pairs.append((n, twin) if shapes[n].centroid.x <= shapes[twin].centroid.x else (twin, n))
    return pairs


def _of_both_halves(
    rings: Sequence[Ring], shapes: Sequence[Polygon], own: set[int], pairs: Sequence[tuple[int, int]],
    *, is_back_middle: bool,
) -> Halved:  # fmt: skip
    middles = [(shapes[a].centroid.x + shapes[b].centroid.x) / 2.0 for a, b in pairs]
    middles += [shapes[n].centroid.x for n in own]
    wide = max(shape.bounds[2] for shape in shapes) - min(shape.bounds[0] for shape in shapes)
    if max(middles) - min(middles) <= AXIS_RATIO * wide:
        axis = sum(middles) / len(middles)
        if is_back_middle:
            return Halved(tuple(rings[a] for a, _ in pairs), said=(_BOTH.format("back"),))
        whole = [half for n in sorted(own) if (half := _right_half(rings[n], axis))]
        kept = (*whole, *(rings[b] for _, b in pairs))
        return Halved(kept, frozenset(range(len(whole))), (_BOTH.format("front"),), is_middle_presumed=not whole)
    firsts = [rings[a] for a, _ in pairs]
    return Halved((*(rings[n] for n in sorted(own)), *firsts), said=(counted(len(pairs), _PAIRS),))


def _of_one_end(
    rings: Sequence[Ring], shapes: Sequence[Polygon], twins: Sequence[tuple[int, int]], names: Sequence[str]
) -> Halved:
    """Both fronts, or both backs, with half of the rest: of each two the one that has its straight edge outside."""
    middle = (min(shape.bounds[0] for shape in shapes) + max(shape.bounds[2] for shape in shapes)) / 2.0
    gone = set[int]()
    for a, b in twins:
        is_left = (shapes[a].centroid.x + shapes[b].centroid.x) / 2.0 <= middle
        straight = [n for n in (a, b) if _is_straight_sided(rings[n], shapes[n], is_left=is_left)]
        near = b if is_left else a
        gone.add(a + b - (straight[0] if len(straight) == 1 else near))
    kept = [n for n in range(len(rings)) if n not in gone]
    paired = {n for n, k in enumerate(kept) if any(k in pair for pair in twins)}
    told = bool(names) and all(_SIDE.search(names[n]) for pair in twins for n in pair)
    return Halved(tuple(rings[n] for n in kept), said=(counted(len(twins), _TWINS),), paired=frozenset(paired),
                  is_twin_presumed=not told)  # fmt: skip


def _of_whole_pieces(rings: Sequence[Ring], shapes: Sequence[Polygon], own: set[int]) -> Halved:
    """A whole front, cut along its middle; it is the piece farthest to the left, and its sides are not straight."""
    first = min(range(len(rings)), key=lambda n: shapes[n].bounds[0])
    is_plain = (
        len(corners_of(rings[first])) < LEAST_CORNERS or shapes[first].area > FULL_RATIO * shapes[first].envelope.area
    )
    if first not in own or is_plain or (len(rings) > 1 and _is_straight_sided(rings[first], shapes[first])):
        return Halved(tuple(rings))
    half = _right_half(rings[first], shapes[first].centroid.x)
    if half is None:
        return Halved(tuple(rings))
    return Halved(tuple(half if n == first else ring for n, ring in enumerate(rings)), frozenset({first}), (_WHOLE,))


def _is_straight_sided(ring: Ring, shape: Polygon, *, is_left: bool = True) -> bool:
    """Whether the left (or right) side is one upright straight line: an edge that opens or lies on the fold."""
    left, bottom, right, top = shape.bounds
    return any(
        isinstance(s, Line)
        and abs(s.end.y - s.start.y) > 0.6 * (top - bottom)
        and abs(s.end.x - s.start.x) <= UPRIGHT_MIDDLE_RATIO * abs(s.end.y - s.start.y)
        and (min(s.start.x, s.end.x) - left if is_left else right - max(s.start.x, s.end.x))
        < UPRIGHT_MIDDLE_RATIO * (top - bottom)
        for s in ring.segments
    )


def _right_half(ring: Ring, axis: float) -> Ring | None:
    """The part of the ring right of an upright line, closed along it; None where the line crosses it oddly."""
    low, high = Point(axis, 0.0), Point(axis, 1.0)
    spots = sorted(
        {
            round(p.y, 3): p for s in ring.segments for t, _ in line_hits(s, low, high) for p in (point_at(s, t),)
        }.values(),
        key=lambda p: p.y,
    )
    if len(spots) != 2:
        return None
    for spot in spots:
        ring, _ = cut_at(ring, spot)
    ring = ring.turned_to(cut_at(ring, spots[0])[1])
    count = cut_at(ring, spots[1])[1]
    closing = Line(ring.segments[count - 1].end, ring.segments[0].start)
    return Ring((*ring.segments[:count], closing), (*ring.owners[:count], ring.owners[0]), ring.is_turned)


def _like(one: Polygon, other: Polygon, *, mirrored: bool) -> bool:
    """Whether the other, or its mirror image, lies on the one when their corners are laid together."""
    from shapely.affinity import affine_transform

    if abs(one.area - other.area) > SAME_SIZE_RATIO * one.area:
        return False
    if abs(one.length - other.length) > SAME_SIZE_RATIO * one.length:
        return False
    way = -1.0 if mirrored else 1.0
    turned = affine_transform(other, [way, 0.0, 0.0, 1.0, 0.0, 0.0])
    dx, dy = one.bounds[0] - turned.bounds[0], one.bounds[1] - turned.bounds[1]
    laid = affine_transform(turned, [1.0, 0.0, 0.0, 1.0, dx, dy])
    return math.isfinite(dx) and one.symmetric_difference(laid).area <= TWIN_RATIO * one.area
