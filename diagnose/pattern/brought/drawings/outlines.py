"""Which rings of a drawing are pattern pieces, in what order, and what they are called."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.brought.drawings.corners import sharpened, without_notches
from diagnose.pattern.brought.drawings.halves import TWINS, Halved, halved, shape_of
from diagnose.pattern.brought.drawings.joining import Ring, joined_rings
from diagnose.pattern.brought.drawings.nested import is_square, pieces_of
from diagnose.pattern.brought.drawings.ordering import (
    BY_EDGES,
    agreeing,
    back_and_front,
    from_left,
    is_from_back,
    lying_of,
    order_of,
    tells_side,
    turned_upright,
)
from diagnose.pattern.brought.naming import apart_by_number, cut_in, name_in
from diagnose.pattern.brought.sketch import Dot, Sketch, Stroke, Words, too_many
from diagnose.pattern.brought.told import told_by_piece, told_number
from diagnose.pattern.geometry.bezier import box_of
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.outline import Point
from diagnose.pattern.tolerances import LEAST_AREA_MM2, MOST_PIECES
from diagnose.sentences import counted
from diagnose.units import Unit

__all__ = ["Found", "Outline", "outlines_of"]

SPECK_RATIO = 1e-3
"""A ring smaller than this part of the largest is a mark."""

LETTER_RATIO = 0.01
LETTER_HIGH_RATIO = 0.12
"""So is one without a name that is smaller than the first of these, and neither wider nor higher than the second part
of the largest: a letter made a shape, a button. No gusset is so small."""

NAME_BESIDE_MM = 60.0
"""How far beside an outline the words may stand that name it."""

MOST_RINGS = 1000


class Outline(Struct, frozen=True):
    """One piece's outline: its number from the left, its name, the ring with the strokes it came from, and its cut.

    `cut` is told by words on the piece: fold or pair; empty where none tell. `smooth` are corners that are said to part
    no edges, `corners` the four that are said to part its sides.
    """

    number: int
    name: str
    ring: Ring
    cut: str = ""
    smooth: tuple[Point, ...] = ()
    corners: tuple[Point, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """All that a labels file may call it by."""
        return (str(self.number), self.name)


class Found(Struct, frozen=True):
    """The outlines of a drawing.

    Attributes:
        outlines: the pieces, from the centre front on.
        loose: the lines that are part of none, which may mark something.
        said: what was presumed and left out.
        asks: what can't be presumed.
        is_from_back: whether the centre back lies on the left.
        notches: where notches were cut into the outlines.
    """

    outlines: tuple[Outline, ...]
    loose: tuple[Stroke, ...] = ()
    said: tuple[str, ...] = ()
    asks: tuple[Mistake, ...] = ()
    is_from_back: bool = False
    notches: tuple[Dot, ...] = ()


def outlines_of(
    sketch: Sketch, *, is_back_middle: bool = False, count: int = 0, size: int = 0, is_apart: bool = False,
    unit: Unit = "in",
) -> Found:  # fmt: skip
    """The pieces' outlines, and what was presumed on the way.

    Args:
        sketch: the drawing.
        is_back_middle: where both halves are drawn, whether it is the centre back that lies in the middle.
        size: of several sizes drawn in one another, which; counted from the innermost.
        count: how many pieces there are by her own word, counted from the left; none of them is then another's half.
        is_apart: whether none is another's half, by her own word.
        unit: hers.

    Raises:
        FitError: when there is none.
    """
    strokes, said = _candidates(sketch.strokes)
    rings, loose = joined_rings(strokes)
    told = told_by_piece(sketch.strokes)
    rings = [
        replace(ring, told={**told.get(ring.piece, {}), **_own_data(ring)}) for ring in rings
        if ring.area_mm2 >= LEAST_AREA_MM2
    ]  # fmt: skip
    if not rings:
        raise _no_outline(sketch, loose)
    if len(rings) > MOST_RINGS:
        raise too_many(sketch.name, f"The drawing has {len(rings)} closed lines.")
    largest = max(rings, key=lambda ring: ring.area_mm2)
    letters = [ring for ring in rings if _is_letter(ring, largest)]
    large = [r for r in rings if r.area_mm2 >= SPECK_RATIO * largest.area_mm2 and not _is_letter(r, largest)]
    kept, marks, notes, asks = pieces_of(large, sketch, size, unit=unit)
    if len(kept) > MOST_PIECES:
        what, do = f"The drawing has {len(kept)} outlines.", f"Give at most {MOST_PIECES}."
        raise FitError.of(sketch.name, what, do, code="too-many")
    own = {id(stroke) for ring in kept for stroke in ring.owners}
    lines = (*loose, *(ring.owners[0] for ring in (*marks, *letters)))
    unnamed = (
        one for one in sketch.strokes if one.kind == "inside" or (not one.kind and strokes and one not in strokes)
    )
    found = Found((), tuple(one for one in (*lines, *unnamed) if id(one) not in own), (*said, *notes), asks=tuple(asks))
    if all(ring.is_stored for ring in kept):
        kept = sorted(kept, key=_order)
        return replace(found, outlines=_named(kept, _texts(kept, sketch.words)))
    closed = [without_notches(sharpened(ring)) for ring in kept]
    lines, upright, turned = turned_upright(found.loose, [ring for ring, _ in closed])
    notches = tuple(Dot(spot, "notch") for _, spots in closed for spot in spots)
    found = replace(found, loose=lines, said=(*found.said, *turned), notches=notches)
    return _in_order(found, upright, sketch.words, is_back_middle=is_back_middle, count=count, is_apart=is_apart)


def _is_letter(ring: Ring, largest: Ring) -> bool:
    """Whether it is a letter made a shape, or another small mark."""
    if ring.piece or ring.owners[0].data or is_square(ring) or ring.area_mm2 >= LETTER_RATIO * largest.area_mm2:
        return False
    return _extent(ring) <= LETTER_HIGH_RATIO * _extent(largest)


def _extent(ring: Ring) -> float:
    """The longer side of the upright oblong round it."""
    box = ring.corners_box
    return max(box.wide, box.high)


def _in_order(
    found: Found, rings: Sequence[Ring], words: Sequence[Words], *, is_back_middle: bool, count: int, is_apart: bool
) -> Found:
    """The pieces that are no stored ones: one half of them, from the centre front on."""
    backs, fronts = back_and_front(words)
    middle = box_of([segment.start for segment in ring.segments] for ring in rings).middle.x
    off = [min((abs(x - middle) for x in xs), default=math.inf) for xs in (backs, fronts)]
    named = [_name(ring, told) for ring, told in zip(rings, _texts(rings, words), strict=True)]
    half = (
        Halved(tuple(rings)) if is_apart or count == len(rings)
        else halved(rings, is_back_middle=is_back_middle or off[0] < off[1], names=named)
    )  # fmt: skip
    texts = _texts(half.rings, words)
    names = [_name(ring, told) for ring, told in zip(half.rings, texts, strict=True)]
    lying = [lying_of(ring, name) for ring, name in zip(half.rings, names, strict=True)]
    order, how = (from_left(lying), "") if count == len(lying) else order_of(lying)
    if how == BY_EDGES and len(lying) < SURE_CHAIN:
        found = replace(found, asks=(*found.asks, _ORDER))
    is_back = False
    is_both = len(half.rings) < len(rings)
    is_told_back = bool(backs and fronts) and max(backs) < min(fronts) and not is_both
    if is_told_back or is_from_back([names[n] for n in order]):
        backwards = order[::-1]
        is_back = agreeing(lying, order) >= agreeing(lying, backwards)
        order = order if is_back else backwards
    cuts = {**dict.fromkeys(half.folded, "fold"), **dict.fromkeys(half.paired, "pair")}
    made = _named([half.rings[n] for n in order], [texts[n] for n in order])
    made = tuple(replace(one, cut=cuts.get(n, one.cut)) for n, one in zip(order, made, strict=True))
    said = (*found.said, *half.said, *([how] if how else []))
    if half.is_middle_presumed and not is_back and not any(map(tells_side, names)) and not (backs or fronts):
        found = replace(found, asks=(*found.asks, _MIDDLE))
    if half.is_twin_presumed:
        found = replace(found, asks=(*found.asks, TWINS))
    return replace(found, outlines=made, said=said, is_from_back=is_back)


SURE_CHAIN = 5
"""With so many pieces an order in which all edges agree is no chance."""

_ORDER = Mistake(
    "order", "The order of the pieces could only be guessed, from edges that happen to agree in length.",
    "", code="sure-order",
    typed="Name the pieces in the drawing; or write in a labels file their numbers from the left, in order from the "
    "centre front on, and what they are, as order: [1, 2, 3] and pieces: {1: {name: front}, 2: {name: back}, 3: {name: "
    "stomacher}}; or, if it is right, say --sure order.",
)  # fmt: skip

_MIDDLE = Mistake(
    "middle", "Both halves are drawn, and nothing tells whether the centre front or back lies in the middle.",
    "", code="sure-middle",
    typed="If it is the back, write in a labels file: centre-front: right; if it is the front, say --sure middle; if "
    "they are no halves but pieces of their own, write their numbers from the centre front on, as order: [1, 2].",
)  # fmt: skip


def _own_data(ring: Ring) -> dict[str, str]:
    return {key: value for stroke in ring.owners[::-1] for key, value in stroke.data.items()}


def _order(ring: Ring) -> tuple[float, float, float]:
    """Pieces of a stored pattern in its order; of one number, from the left."""
    return (told_number(ring.told) or 0, ring.corners_box.left, ring.corners_box.right)


def _candidates(strokes: Sequence[Stroke]) -> tuple[list[Stroke], tuple[str, ...]]:
    """The strokes that may make outlines: those on a layer that says so, else all that are no marks."""
    sewing = [stroke for stroke in strokes if stroke.kind == "sewing"]
    outlines = [stroke for stroke in strokes if stroke.kind == "outline"]
    if sewing and any(joined_rings(sewing)[0]):
        said = "The lines on the stitching layer were taken; the cutting lines beside them were left out."
        ours = all(told_number(stroke.data) is not None for stroke in outlines)
        return sewing, () if ours else (said,)
    return outlines or [stroke for stroke in strokes if not stroke.kind], ()


def _no_outline(sketch: Sketch, loose: Sequence[Stroke]) -> FitError:
    if not sketch.strokes:
        do = "Text and pictures alone make no pattern."
        return FitError.of(sketch.name, "The drawing holds no lines.", do, code="no-lines")
    if not loose:
        do = "Draw each piece as one closed line, or name its lines after it."
        return FitError.of(sketch.name, "The drawing holds no closed outline.", do, code="no-outline")
    ends = [point for stroke in loose for point in (stroke.start, stroke.end)]
    gap, at = _widest_gap(ends)
    what = f"No outline closes: {counted(len(loose), 'line[ stays|s stay] open')}; one ends at {at}"
    beside = f", {gap:.1f} mm from the next." if gap < math.inf else "."
    return FitError.of(sketch.name, what + beside, "Draw the lines on until they meet.", code="no-outline")


def _widest_gap(ends: Sequence[Point]) -> tuple[float, Point]:
    """How far the loosest of the first ends lies from the next nearest, and where."""
    some = ends[:200]
    gaps = [min((distance(p, q) for q in (*some[:n], *some[n + 1 :])), default=math.inf) for n, p in enumerate(some)]
    return max(zip(gaps, some, strict=True))


def _named(rings: Sequence[Ring], texts: Sequence[Sequence[str]]) -> tuple[Outline, ...]:
    names = [_name(ring, texts[n]) or f"piece-{n + 1}" for n, ring in enumerate(rings)]
    return tuple(
        Outline(n, name, ring, cut=cut_in(told))
        for n, (name, ring, told) in enumerate(zip(apart_by_number(names), rings, texts, strict=True), 1)
    )


def _name(ring: Ring, texts: Sequence[str]) -> str:
    """The name its strokes give, else the first words on it that do as one."""
    return ring.piece or name_in(texts)


def _texts(rings: Sequence[Ring], words: Sequence[Words]) -> list[list[str]]:
    """The words of each ring: those on it, and, where it has none, those beside it that are nearest to it alone."""
    from shapely import Point as Spot

    shapes = [shape_of(ring) for ring in rings]
    texts: list[list[str]] = [[] for _ in rings]
    beside: list[tuple[float, int, str]] = []
    for one in words:
        spot = Spot(one.at.x, one.at.y)
        away = [shape.distance(spot) for shape in shapes]
        near = min(range(len(rings)), key=lambda n: away[n])
        if away[near] == 0.0:
            texts[near].append(one.text)
        elif away[near] <= NAME_BESIDE_MM:
            beside.append((away[near], near, one.text))
    bare = {n for n, found in enumerate(texts) if not name_in(found)}
    for _, n, text in sorted(beside):
        if n in bare:
            texts[n].append(text)
    return texts
