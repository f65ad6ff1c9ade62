"""What joins one page to the next: where it is cut, where it is laid, and the marks that must come together.

A match mark is an eyelet laced crosswise, its centre on the line where the pages meet: each page shows half of it at
its cut, the page beneath shows all of it. Millimetres on the sheet, y upwards.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import along
from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Layer, Mark, Pen, Text, box_round, circle, oblong, polyline
from diagnose.sheets.writers.paper_sizes import OVERLAP_MM
from diagnose.sheets.writers.tiling import Tile, Tiling

__all__ = ["joint_layers", "match_mark"]

RING_MM = 2.4
LACE_MM = 4.2
PARTS = (0.25, 0.75)
WORDS_MM = 2.8
WORDS_PARTS = (0.5, 0.42, 0.58, 0.36, 0.64, 0.86, 0.14)
"""How far along the line its words may stand, clear of its marks and of the corners, the best first."""


def match_mark(at: Point) -> tuple[Mark, ...]:
    """An eyelet of 2.4 mm radius, laced crosswise."""
    (x, y), d = at, LACE_MM * math.sqrt(0.5)
    laces = (polyline((Point(x - d, y - d), Point(x + d, y + d))), polyline((Point(x - d, y + d), Point(x + d, y - d))))
    return circle(at, RING_MM), *laces


def joint_layers(tiling: Tiling, tile: Tile, taken: Sequence[Box] = ()) -> tuple[Layer, ...]:
    """The window's frame, its cutting and laying lines, its match marks and which page comes where.

    Args:
        tiling: all pages.
        tile: the page.
        taken: where words of the pieces stand on it: those of its joints keep clear of them.
    """
    box = tile.window
    frame, cuts, lays, marks, words = [oblong(box)], list[Mark](), list[Mark](), list[Mark](), list[Mark]()
    for side, other in _neighbours(tiling, tile):
        a, b = _line(box, side)
        (cuts if side in ("left", "below") else lays).append(polyline((a, b)))
        for part in PARTS:
            marks += match_mark(along(a, b, part))
        words.append(_words(a, b, side, name=other.name, taken=taken))
    return (
        Layer("page", "Page", Pen(0.12, "soft"), marks=tuple(frame)),
        Layer("page-lay", "Laying lines", Pen(0.25, "soft", (0.3, 1.6)), marks=tuple(lays)),
        Layer("page-cut", "Cutting lines of the page", Pen(0.4, "ink", (6.0, 1.5, 1.5, 1.5)), marks=tuple(cuts)),
        Layer("page-marks", "Match marks", Pen(0.25), marks=tuple(marks)),
        Layer("page-words", "Neighbours", Pen(0.01, "soft"), marks=tuple(words)),
    )


def _neighbours(tiling: Tiling, tile: Tile) -> Iterator[tuple[str, Tile]]:
    for side, dx, dy in (("left", -1, 0), ("right", 1, 0), ("above", 0, -1), ("below", 0, 1)):
        other = tiling.tile_at(tile.column + dx, tile.row + dy)
        if other is not None:
            yield side, other


def _line(box: Box, side: str) -> tuple[Point, Point]:
    """Where the neighbour's own part begins, or this page's, as seen from this page."""
    inner_x, inner_y = box.right - OVERLAP_MM, box.top - OVERLAP_MM
    return {
        "left": (Point(box.left, box.bottom), Point(box.left, box.top)),
        "right": (Point(inner_x, box.bottom), Point(inner_x, box.top)),
        "below": (Point(box.left, box.bottom), Point(box.right, box.bottom)),
        "above": (Point(box.left, inner_y), Point(box.right, inner_y)),
    }[side]


def _words(a: Point, b: Point, side: str, name: str, taken: Sequence[Box]) -> Text:
    """Between the two marks, or where they are clear of other words."""
    ways = [_words_at(along(a, b, part), side, name) for part in WORDS_PARTS]
    return next((way for way in ways if not any(box_round([way]).near(box, 0.0) for box in taken)), ways[0])


def _words_at(at: Point, side: str, name: str) -> Text:
    """Which page is laid here; upright lines are read from the right."""
    upright = side in ("left", "right")
    said = f"cut here, lay on {name}" if side in ("left", "below") else f"{name} is laid on here"
    if upright:
        by = WORDS_MM * 1.6 if side == "left" else WORDS_MM * 1.2
        return Text(said, Point(at.x + by, at.y), WORDS_MM, anchor="middle", turn_deg=90.0)
    by = WORDS_MM * 0.9 if side == "below" else WORDS_MM * 0.6
    return Text(said, Point(at.x, at.y + by), WORDS_MM, anchor="middle")
