"""Rings that lie in one another: which are pieces, and which are frames, cutting lines, test squares and marks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from diagnose.errors import Mistake
from diagnose.pattern.brought.drawings.halves import shape_of
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.brought.sketch import Sketch
from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.outline import Line
from diagnose.units import INCH_MM, Unit, both, parse_length

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["is_square", "pieces_of"]

SEWING_RATIO = 0.5
"""A ring that fills more than this of the one round it is the stitching line inside the cutting line."""

ALLOWANCE_MM = 2.5 * INCH_MM
"""No cutting line lies farther outside its stitching line."""

STRAYS_MM = 0.5
"""A line drawn on another may stray so far beyond it."""

FRAME_RATIO = 0.25
"""Rings that fill more than this of the one round them lie in a frame; in an upright oblong less is enough."""

OBLONG_FRAME_RATIO = 0.05

UPRIGHT_TOL_MM = 0.5

SQUARE_RATIO = 0.01

LARGEST_SQUARE_MM = 8.0 * INCH_MM

SQUARE_OFF_RATIO = 0.01
"""A printed test square may measure this much more or less than it says."""
_A_LENGTH = re.compile(r"\d[\d\s./]*(?:in|inch|inches|mm|cm|\")(?![a-z])", re.IGNORECASE)


def pieces_of(
    rings: Sequence[Ring], sketch: Sketch, size: int, unit: Unit
) -> tuple[list[Ring], list[Ring], tuple[str, ...], list[Mistake]]:
    """The rings that are pieces, those that are marks on them, what was left out, and what must be asked.

    Frames, test squares and cutting lines round stitching lines are left out.

    Args:
        rings: all of them.
        sketch: for its words and lines.
        size: of a pattern of several sizes drawn in one another, which; counted from the innermost. 0: none is told.
        unit: hers.
    """
    shapes = [shape_of(ring) for ring in rings]
    boxes = [Box(*shape.bounds) for shape in shapes]
    order = sorted(range(len(rings)), key=lambda n: -shapes[n].area)
    # Pieces of a stored pattern, drawn by us, may lie over one another.
    stored = {n for n, ring in enumerate(rings) if ring.is_stored}
    kept, marks, said, asks = set(order), list[int](), list[str](), list[Mistake]()
    outer = set[int]()
    for n in order:
        if n not in kept:
            continue
        if is_square(rings[n]) and not all(map(is_square, rings)):
            kept.discard(n)
            asks += _square_asks(rings[n], shapes[n], sketch, unit=unit)
            said.append("A square was taken for a test square, and left out.")
            continue
        inner = [
            k for k in order
            if k != n and k in kept and not {n, k} <= stored and boxes[n].holds(boxes[k])
            and shapes[n].buffer(STRAYS_MM).contains(shapes[k])
        ]  # fmt: skip
        cutting = [k for k in inner if _is_allowance(shapes[n], shapes[k])]
        others = [k for k in inner if not _named_apart(rings[n], rings[k])]
        filled = [shapes[k].area / shapes[n].area for k in others]
        if cutting and not _is_oblong(rings[n]):
            kept.discard(n)
            outer.add(n)
            said.append(_INNER)
            if any(_is_allowance(shapes[a], shapes[b]) for a in cutting for b in cutting if a != b):
                asks.append(_SIZES)
        elif others and sum(filled) > (OBLONG_FRAME_RATIO if _is_oblong(rings[n]) else FRAME_RATIO):
            kept.discard(n)
            said.append("A frame round other outlines was left out.")
        elif others:
            kept -= set(others)
            marks += others
    chosen = {n: [n, *sorted((k for k in outer if _is_allowance(shapes[k], shapes[n])), key=lambda k: shapes[k].area)]
              for n in kept}  # fmt: skip
    if _SIZES in asks:
        asks, said = _one_size(asks, said, list(chosen.values()), boxes=boxes, size=size, unit=unit)
        kept = {chain[min(size or 1, len(chain)) - 1] for chain in chosen.values()}
    return [rings[n] for n in sorted(kept)], [rings[n] for n in marks], tuple(dict.fromkeys(said)), asks[:1]


_INNER = "Of two outlines one in the other, the inner was taken for the stitching line."
_SIZES = Mistake("sizes", "", "", code="sizes")


def _one_size(
    asks: list[Mistake],
    said: list[str],
    chains: Sequence[Sequence[int]],
    *,
    boxes: Sequence[Box],
    size: int,
    unit: Unit,
) -> tuple[list[Mistake], list[str]]:
    """What is asked, or said, of a pattern of several sizes, each told by how wide and high its largest piece is."""
    others = [ask for ask in asks if ask is not _SIZES]
    kept = [one for one in said if one != _INNER]
    deep = max(len(chain) for chain in chains)
    if 0 < size <= deep:
        return others, [*kept, f"Of {deep} sizes drawn in one another the one told was taken: {size} from the inside."]
    largest = max((chain for chain in chains if len(chain) == deep), key=lambda chain: boxes[chain[0]].top)
    told = "; ".join(
        f"{n}: {both(boxes[k].wide, unit)} by {both(boxes[k].high, unit)}" for n, k in enumerate(largest, 1)
    )  # fmt: skip
    what = f"{deep} outlines lie one in the other, as in a pattern of several sizes: from the inside, {told}."
    typed = (
        "Say which is hers: write in a labels file size: 2, counted from the inside. The outermost may be the cutting "
        "line alone, which is no size."
    )
    return [Mistake("sizes", what, "", typed=typed, code="sizes"), *others], said


def _is_allowance(outer: Polygon, inner: Polygon) -> bool:
    """Whether the outer is a cutting line round the inner: near it all the way round."""
    if inner.area < SEWING_RATIO * outer.area or inner.area > (1.0 - 1e-6) * outer.area:
        return False
    return bool(inner.boundary.distance(outer.boundary) <= ALLOWANCE_MM) and bool(
        inner.buffer(ALLOWANCE_MM, join_style="mitre").contains(outer)
    )


def is_square(ring: Ring) -> bool:
    """Whether it is an upright square such as is printed to check the scale."""
    if not _is_oblong(ring) or ring.piece:
        return False
    sides = [distance(s.start, s.end) for s in ring.segments]
    return max(sides) <= LARGEST_SQUARE_MM and max(sides) - min(sides) <= SQUARE_RATIO * max(sides)


def _square_asks(ring: Ring, shape: Polygon, sketch: Sketch, unit: Unit) -> list[Mistake]:
    """What is to be asked where the words on a test square give another size than it has."""
    from shapely import Point as Spot

    side = distance(ring.segments[0].start, ring.segments[0].end)
    near = [one.text for one in sketch.words if shape.distance(Spot(one.at.x, one.at.y)) <= side / 2.0]
    sizes = [(mm, text) for text in near for found in _A_LENGTH.findall(text) if (mm := parse_length(found.strip()))]
    off = [(mm, text) for mm, text in sizes if abs(side / mm - 1.0) > SQUARE_OFF_RATIO]
    if not off or len(off) < len(sizes):
        return []
    said_mm, said = off[0]
    what = f"The test square says “{said}”, but measures {both(side, unit)}: {side / said_mm:.3f} times that."
    typed = f"Write in a labels file: scale: {sketch.unit_mm * said_mm / side:.6g} mm"
    return [Mistake("scale", what, "", typed=typed, code="scale")]


def _named_apart(one: Ring, other: Ring) -> bool:
    """Whether the two are pieces by two names, which may lie over one another."""
    names = one.piece, other.piece
    return all(names) and names[0] != names[1]


def _is_oblong(ring: Ring) -> bool:
    return len(ring.segments) == 4 and all(
        isinstance(s, Line) and min(abs(s.end.x - s.start.x), abs(s.end.y - s.start.y)) < UPRIGHT_TOL_MM
        for s in ring.segments
    )
