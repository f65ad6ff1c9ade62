"""Levels presumed from the outlines: the waist where the pieces are narrowest, top and bottom near the ends.

Heights are mm upwards in the drawing's own coordinates.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from msgspec.structs import replace

from diagnose.pattern.measure import Bounds, bounds, edge_x_at
from diagnose.pattern.outline import Edge, Piece, Point

__all__ = ["drawn_level", "lie_level", "presumed_heights", "side_range"]

SAMPLES = 81
KEEP_OFF_RATIO = 0.12
"""The waist is looked for no nearer to the ends than this part of the height."""

PLAIN_RATIO = 0.985
"""It is a waist when it is narrower than both ends of that stretch by at least this."""

ALIGNED_RATIO = 0.5
SMALL_RATIO = 0.6
HALVINGS = 40
Range = tuple[float, float]


def drawn_level(piece: Piece, y_mm: float) -> tuple[Point, Point] | None:
    """The level straight across the piece at that height; None when it misses the piece."""
    found = edge_x_at(piece, y_mm)
    return (Point(found[0], y_mm), Point(found[-1], y_mm)) if len(found) > 1 else None


def side_range(piece: Piece) -> Range | None:
    """The heights between which the piece lies whole, from its bottom edge to its top edge."""
    box = bounds(piece)
    low = _bounds_of(piece, [edge for edge in piece.edges if edge.role == "bottom"])
    high = _bounds_of(piece, [edge for edge in piece.edges if edge.role == "top"])
    found = (low.top if low else box.bottom, high.bottom if high else box.top)
    return found if found[1] > found[0] else None


def _bounds_of(piece: Piece, edges: Sequence[Edge]) -> Bounds | None:
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
    heights = [box.top - box.bottom for box in map(bounds, pieces)]
    return [piece for piece, high in zip(pieces, heights, strict=True) if high >= SMALL_RATIO * max(heights)]


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
    if widths[least] > PLAIN_RATIO * min(widths[0], widths[-1]):
        return None
    below, above = first + step * (least - 1), first + step * (least + 1)
    for _ in range(HALVINGS):
        third = (above - below) / 3.0
        if width(below + third) <= width(above - third):
            above -= third
        else:
            below += third
    return (below + above) / 2.0
