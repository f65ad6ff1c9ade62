"""Words on pages that are joined: each stands whole on every page that has room for it, and on one at least.

Where a word would be cut by every page that it reaches, it is moved within the nearest one. Millimetres on the sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import Box, box_of
from diagnose.pattern.geometry.plane import Affine
from diagnose.sheets.drawn.drawing import Drawing, Text, plain_marks, words_corners
from diagnose.sheets.writers.tiling import Tile, Tiling

__all__ = ["KeptWords", "kept_words", "without_words"]

CLEAR_OF_FRAME_MM = 0.6
ROWS = (0.0, 1.1, -1.1, 2.2, -2.2, 3.3, -3.3)
"""How far words are tried above and below, in their own heights."""


class KeptWords(Struct, frozen=True):
    """One word or line of words as a drawing of its own, its move on the sheet, and the box it takes there."""

    drawing: Drawing
    move: Affine
    box: Box

    def on(self, tile: Tile) -> bool:
        """Whether the page shows it whole."""
        return tile.window.holds(self.box)


def without_words(drawing: Drawing) -> Drawing:
    """The drawing's lines alone."""
    layers = (
        replace(layer, marks=tuple(mark for mark in plain_marks(layer.marks) if not isinstance(mark, Text)))
        for layer in drawing.layers
    )  # fmt: skip
    return Drawing(drawing.title, tuple(layers), drawing.frame)


def kept_words(tiling: Tiling) -> tuple[KeptWords, ...]:
    """All words on the sheet, those that every page would cut moved into one, clear of the others where they can be."""
    every = [*_every(tiling)]
    whole = [one for one in every if any(one.on(tile) for tile in tiling.tiles)]
    for one in every:
        if one not in whole:
            whole.append(_moved(one, [other.box for other in whole], tiling))
    return tuple(whole)


def _every(tiling: Tiling) -> Iterator[KeptWords]:
    """All words where they stand."""
    for placing in tiling.placings:
        for layer in placing.drawing.layers:
            for text in (mark for mark in plain_marks(layer.marks) if isinstance(mark, Text)):
                drawing = Drawing(text.words, (replace(layer, marks=(text,)),), Box(0.0, 0.0, 0.0, 0.0))
                box = box_of([[placing.move(point) for point in words_corners(text)]])
                yield KeptWords(drawing, placing.move, box)


def _moved(one: KeptWords, taken: Sequence[Box], tiling: Tiling) -> KeptWords:
    """The words moved as little as may be to where one page shows them whole, and they lie on no others."""
    ways = list[tuple[float, float]]()
    for tile in tiling.tiles:
        for rows in ROWS:
            up = rows * (one.box.top - one.box.bottom)
            dx, dy = _into(one.box.shifted(0.0, up), tile.window)
            ways.append((dx, dy + up))
    ways.sort(key=lambda by: abs(by[0]) + abs(by[1]))
    clear = (way for way in ways if not any(one.box.shifted(*way).near(box, 0.0) for box in taken))
    dx, dy = next(clear, ways[0])
    return KeptWords(one.drawing, one.move.then(Affine(dx=dx, dy=dy)), one.box.shifted(dx, dy))


def _into(box: Box, window: Box) -> tuple[float, float]:
    """How far the box must be moved to lie in the window."""
    return (
        _slide(box.left, box.right, window.left + CLEAR_OF_FRAME_MM, most=window.right - CLEAR_OF_FRAME_MM),
        _slide(box.bottom, box.top, window.bottom + CLEAR_OF_FRAME_MM, most=window.top - CLEAR_OF_FRAME_MM),
    )


def _slide(low: float, high: float, least: float, most: float) -> float:
    if low < least:
        return least - low
    return min(0.0, most - high)
