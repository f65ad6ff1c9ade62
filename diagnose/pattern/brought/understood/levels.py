"""Levels presumed from the outlines: the waist where the pieces are narrowest, top and bottom near the ends.

Heights are mm upwards in the drawing's own coordinates.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import Box, moved
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.measure import bounds, cut_level, edge_x_at
from diagnose.pattern.outline import Edge, Piece, Point, Seam

__all__ = ["drawn_level", "lie_level", "lifts_mm", "presumed_heights", "raised_by", "side_range", "through_tips"]

SAMPLES = 81
KEEP_OFF_RATIO = 0.12
"""The waist is looked for no nearer to the ends than this part of the height."""

WAISTED_RATIO = 0.985
"""It is a waist when it is narrower than both ends of that stretch by at least this."""

ALIGNED_RATIO = 0.5
LEAST_TIPS = 2
LARGE_PIECE_RATIO = 0.6
HALVINGS = 20
Range = tuple[float, float]


def drawn_level(piece: Piece, y_mm: float) -> tuple[Point, Point] | None:
    """The level straight across the piece at that height; None when it misses the piece."""
    found = edge_x_at(piece, y_mm)
    return (Point(found[0], y_mm), Point(found[-1], y_mm)) if len(found) > 1 else None


def through_tips(piece: Piece) -> tuple[Point, ...] | None:
    """The waist of a piece that is cut into tabs: a line through the tips of its slits, square to the front edge.

    None with fewer than two slits from the lower edge. (That tabs begin at the waist is common practice, no source.)
    """
    tips = sorted((slit.line[-1] for slit in piece.slits if slit.line[-1].y > slit.line[0].y), key=lambda p: p.x)
    if len(tips) < LEAST_TIPS or tips[0].x == tips[1].x or tips[-1].x == tips[-2].x:
        return None
    box, slope = bounds(piece), (tips[-1].y - tips[-2].y) / (tips[-1].x - tips[-2].x)
    far = Point(box.right + 1.0, tips[-1].y + slope * (box.right + 1.0 - tips[-1].x))
    cut = cut_level(piece, [Point(box.left - 1.0, tips[0].y), *tips, far])
    if not cut.parts:
        return None
    return (cut.parts[0][0], *(part[1] for part in cut.parts))


def side_range(piece: Piece) -> Range | None:
    """The heights between which the piece lies whole, from its bottom edge to its top edge."""
    box = bounds(piece)
    low = _bounds_of(piece, [edge for edge in piece.edges if edge.role == "bottom"])
    high = _bounds_of(piece, [edge for edge in piece.edges if edge.role == "top"])
    found = (low.top if low else box.bottom, high.bottom if high else box.top)
    return found if found[1] > found[0] else None


def _bounds_of(piece: Piece, edges: Sequence[Edge]) -> Box | None:
    return bounds(replace(piece, edges=tuple(edges))) if edges else None


def lie_level(pieces: Sequence[Piece]) -> bool:
    """Whether the large pieces lie beside one another at one height, so that a level can run across all of them."""
    ranges = [found for piece in _large(pieces) if (found := side_range(piece))]
    if not ranges:
        return False
    low, high = max(low for low, _ in ranges), min(high for _, high in ranges)
    return high - low >= ALIGNED_RATIO * max(high - low for low, high in ranges)


def _large(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces that are no gussets: as high as most."""
    heights = [bounds(piece).high for piece in pieces]
    return [piece for piece, high in zip(pieces, heights, strict=True) if high >= LARGE_PIECE_RATIO * max(heights)]


def presumed_heights(pieces: Sequence[Piece]) -> Mapping[str, float]:
    """Heights of top, waist and bottom across pieces that lie level; no waist where none is plainly narrowest."""
    large = _large(pieces)
    ranges = [found for piece in large if (found := side_range(piece))]
    if not ranges:
        return {}
    low, high = max(low for low, _ in ranges), min(high for _, high in ranges)
    if high <= low:
        return {}
    waist = _narrowest(lambda y: _width(large, y), low, high)
    return {"top": high, "bottom": low} if waist is None else {"top": high, "waist": waist, "bottom": low}


def _width(pieces: Sequence[Piece], y_mm: float) -> float:
    lines = [line for piece in pieces if (line := drawn_level(piece, y_mm))]
    return sum(end.x - start.x for start, end in lines)


def _narrowest(width: Callable[[float], float], low: float, high: float) -> float | None:
    """Where the width is least, when it plainly grows towards both ends."""
    off = KEEP_OFF_RATIO * (high - low)
    first, step = low + off, (high - low - 2.0 * off) / (SAMPLES - 1)
    widths = [width(first + step * n) for n in range(SAMPLES)]
    least = min(range(SAMPLES), key=lambda n: widths[n])
    if widths[least] > WAISTED_RATIO * min(widths[0], widths[-1]):
        return None
    below, above = first + step * (least - 1), first + step * (least + 1)
    for _ in range(HALVINGS):
        third = (above - below) / 3.0
        if width(below + third) <= width(above - third):
            above -= third
        else:
            below += third
    return (below + above) / 2.0


def lifts_mm(pieces: Sequence[Piece], seams: Sequence[Seam]) -> dict[str, float]:
    """How far each piece must be raised for its seams to lie at the heights of those they are sewn to.

    The first piece stays where it lies; a piece that no seam leads to has no entry.
    """
    edges = {(piece.name, edge.name): edge for piece in pieces for edge in piece.edges}
    lifts = {pieces[0].name: 0.0} if pieces else {}
    for _ in pieces:
        for one, other in [(s.a, s.b) for s in seams] + [(s.b, s.a) for s in seams]:
            mine, theirs = edges.get((one.piece, one.edge)), edges.get((other.piece, other.edge))
            if one.piece in lifts and other.piece not in lifts and mine and theirs:
                apart = mine.start.y + mine.end.y - theirs.start.y - theirs.end.y
                lifts[other.piece] = lifts[one.piece] + apart / 2.0
    return lifts


def raised_by(piece: Piece, mm: float) -> Piece:
    """The piece's edges and levels, lifted."""
    move = Affine(dy=mm)
    edges = tuple(replace(edge, segments=tuple(moved(one, move) for one in edge.segments)) for edge in piece.edges)
    return replace(
        piece, edges=edges, levels={s: tuple(move(point) for point in line) for s, line in piece.levels.items()}
    )
