"""Which rings of a drawing are pattern pieces, in what order, and what they are called."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct, field

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.sketch import Sketch, Stroke, Words
from diagnose.pattern.brought.understood.joining import Ring, joined_rings
from diagnose.pattern.brought.understood.naming import clean_name
from diagnose.pattern.brought.understood.told import told_by_piece, told_number
from diagnose.pattern.geometry.curves import flatten
from diagnose.pattern.outline import Line, Point
from diagnose.pattern.tolerances import LEAST_AREA_MM2, MOST_PIECES

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["Outline", "outlines_of"]

SPECK_RATIO = 1e-3
"""A ring smaller than this part of the largest is a mark."""

SEWING_RATIO = 0.5
"""A ring that fills more than this of the one round it is the stitching line inside the cutting line."""

FRAME_RATIO = 0.25
"""Rings that fill more than this of the one round them lie in a frame; in an upright oblong less is enough."""

OBLONG_FRAME_RATIO = 0.05
FLAT_TOL_MM = 0.5
LONGEST_WORDS = 40
MOST_RINGS = 1000
_NOT_NAMES = ("cut ", "piece name:", "size:", "quantity:", "annotation:", "scale")
_NAME_IS = "piece name:"
Box = tuple[float, float, float, float]


class Outline(Struct, frozen=True):
    """One piece's outline: its number from the left, its name, the ring with the strokes it came from, and its cut.

    `cut` is told by words on the piece: fold or pair; empty where none tell. `told` is all that the data of its lines
    tell.
    """

    number: int
    name: str
    ring: Ring
    cut: str = ""
    told: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_stored(self) -> bool:
        """Whether it was drawn by us from a stored pattern, so that nothing of it need be presumed."""
        return told_number(self.told) is not None

    @property
    def names(self) -> tuple[str, ...]:
        """All that a labels file may call it by."""
        return (str(self.number), self.name)


def outlines_of(sketch: Sketch) -> tuple[tuple[Outline, ...], tuple[str, ...]]:
    """The pieces' outlines from the left, and sentences on what was presumed and left out.

    Raises:
        FitError: when there is none.
    """
    strokes, said = _candidates(sketch.strokes)
    rings, loose = joined_rings(strokes)
    rings = [ring for ring in rings if ring.area_mm2 >= LEAST_AREA_MM2]
    if not rings:
        raise _no_outline(sketch, loose)
    if len(rings) > MOST_RINGS:
        raise FitError.of(sketch.name, f"The drawing has {len(rings)} closed lines.", "Keep only the pattern.")
    largest = max(ring.area_mm2 for ring in rings)
    kept, notes = _pieces([ring for ring in rings if ring.area_mm2 >= SPECK_RATIO * largest])
    if len(kept) > MOST_PIECES:
        raise FitError.of(sketch.name, f"The drawing has {len(kept)} outlines.", f"Give at most {MOST_PIECES}.")
    if loose:
        said = (*said, f"{len(loose)} line(s) close to no outline and were left out.")
    told = told_by_piece(sketch.strokes)
    rows = [(ring, {**told.get(_given_name(ring), {}), **_own_data(ring)}) for ring in kept]
    return _named(sorted(rows, key=_order), sketch.words), (*said, *notes)


def _own_data(ring: Ring) -> dict[str, str]:
    return {key: value for stroke in ring.owners[::-1] for key, value in stroke.data.items()}


def _order(row: tuple[Ring, Mapping[str, str]]) -> tuple[float, float, float]:
    """Pieces of a stored pattern in its order, others after them from the left."""
    number = told_number(row[1])
    return (float("inf") if number is None else number, *_from_left(row[0]))


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
        return FitError.of(sketch.name, "The drawing holds no lines.", "Text and pictures alone make no pattern.")
    if not loose:
        do = "Draw each piece as one closed line, or name its lines after it."
        return FitError.of(sketch.name, "The drawing holds no closed outline.", do)
    ends = [point for stroke in loose for point in (stroke.start, stroke.end)]
    gap, at = _widest_gap(ends)
    what = f"No outline closes: {len(loose)} line(s) stay open; one ends at ({at.x:.1f}, {at.y:.1f}) mm"
    beside = f", {gap:.1f} mm from the next." if gap < float("inf") else "."
    return FitError.of(sketch.name, what + beside, "Draw the lines on until they meet.")


def _widest_gap(ends: Sequence[Point]) -> tuple[float, Point]:
    """How far the loosest of the first ends lies from the next nearest, and where."""
    some = ends[:200]
    gaps = [
        (min((abs(complex(p.x - q.x, p.y - q.y)) for k, q in enumerate(some) if k != n), default=float("inf")), p)
        for n, p in enumerate(some)
    ]
    return max(gaps)


def _from_left(ring: Ring) -> tuple[float, float]:
    xs = [segment.start.x for segment in ring.segments]
    return min(xs), max(xs)


def _pieces(rings: Sequence[Ring]) -> tuple[list[Ring], tuple[str, ...]]:
    """The rings that are pieces: without frames, cutting lines round stitching lines, and marks inside."""
    shapes = [_shape(ring) for ring in rings]
    boxes = [shape.bounds for shape in shapes]
    order = sorted(range(len(rings)), key=lambda n: -shapes[n].area)
    kept, said = set(order), list[str]()
    for n in order:
        if n not in kept:
            continue
        inner = [k for k in order if k != n and k in kept and not _named_apart(rings[n], rings[k])
                 and _may_hold(boxes[n], boxes[k]) and shapes[n].contains(shapes[k])]  # fmt: skip
        if not inner:
            continue
        filled = [shapes[k].area / shapes[n].area for k in inner]
        if max(filled) > SEWING_RATIO and not _is_oblong(rings[n]):
            kept.discard(n)
            said.append("Of two outlines one in the other, the inner was taken for the stitching line.")
        elif sum(filled) > (OBLONG_FRAME_RATIO if _is_oblong(rings[n]) else FRAME_RATIO):
            kept.discard(n)
            said.append("A frame round other outlines was left out.")
        else:
            kept -= set(inner)
            said.append(f"{len(inner)} closed line(s) inside a piece were left out.")
    return [rings[n] for n in sorted(kept)], tuple(dict.fromkeys(said))


def _named_apart(one: Ring, other: Ring) -> bool:
    """Whether the two are pieces by two names, which may lie over one another."""
    names = _given_name(one), _given_name(other)
    return all(names) and names[0] != names[1]


def _given_name(ring: Ring) -> str:
    return next((stroke.piece for stroke in ring.owners if stroke.piece), "")


def _shape(ring: Ring) -> Polygon:
    # Imported late: shapely takes longer to import than a pattern takes to read.
    from shapely import Polygon

    points = [point for segment in ring.segments for point in flatten(segment, FLAT_TOL_MM)[:-1]]
    shape = Polygon(points if len(points) > 2 else [*points, *points, *points][:3])
    return shape if shape.is_valid else shape.convex_hull


def _may_hold(outer: Box, inner: Box) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def _is_oblong(ring: Ring) -> bool:
    return len(ring.segments) == 4 and all(
        isinstance(s, Line) and min(abs(s.end.x - s.start.x), abs(s.end.y - s.start.y)) < FLAT_TOL_MM
        for s in ring.segments
    )


def _named(rows: Sequence[tuple[Ring, Mapping[str, str]]], words: Sequence[Words]) -> tuple[Outline, ...]:
    rings = [ring for ring, _ in rows]
    texts = [_inside(ring, words) for ring in rings]
    names = [_name(ring, told) or f"piece-{n}" for n, (ring, told) in enumerate(zip(rings, texts, strict=True), 1)]
    counts, seen = Counter(names), Counter[str]()
    made = list[Outline]()
    for n, (name, (ring, data), told) in enumerate(zip(names, rows, texts, strict=True), 1):
        seen[name] += 1
        own = f"{name}-{seen[name]}" if counts[name] > 1 else name
        made.append(Outline(n, own, ring, _cut(told), data))
    return tuple(made)


def _cut(texts: Iterable[str]) -> str:
    words = {word for text in texts for word in text.lower().replace(",", " ").split()}
    return "fold" if "fold" in words else "pair" if "pair" in words else ""


def _name(ring: Ring, texts: Sequence[str]) -> str:
    """The name its strokes give, else the first words on it that do as one."""
    return _given_name(ring) or _told(texts)


def _inside(ring: Ring, words: Sequence[Words]) -> list[str]:
    from shapely import Point as Spot

    shape = _shape(ring)
    left, bottom, right, top = shape.bounds
    near = [one for one in words if left <= one.at.x <= right and bottom <= one.at.y <= top]
    return [one.text for one in near if shape.contains(Spot(one.at.x, one.at.y))]


def _told(texts: Sequence[str]) -> str:
    for text in texts:
        if text.lower().startswith(_NAME_IS):
            return clean_name(text[len(_NAME_IS) :])
    short = [text for text in texts if len(text) <= LONGEST_WORDS and not text.lower().startswith(_NOT_NAMES)]
    return next((name for text in short if any(c.isalpha() for c in text) and (name := clean_name(text))), "")
