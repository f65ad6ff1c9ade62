"""Words on pages that are joined: each stands whole on every page that has room for it, and on one at least.

Where a word would be cut by every page that it reaches, it is moved within the nearest one. Millimetres on the sheet.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import Box, box_of
from diagnose.pattern.geometry.plane import Affine
from diagnose.sheets.drawn.drawing import Drawing, Layer, Text, plain_marks, words_corners
from diagnose.sheets.writers.tiling import Tile, Tiling

__all__ = ["KeptWords", "kept_words", "without_words"]

CLEAR_MM = 0.6


class KeptWords(Struct, frozen=True):
    """One word or line of words as a drawing of its own, its move on the sheet, and the box it takes there."""

    drawing: Drawing
    move: Affine
    box: Box

    def on(self, tile: Tile) -> bool:
        """Whether the page shows it whole."""
        return _within(self.box, tile.window)


def without_words(drawing: Drawing) -> Drawing:
    """The drawing's lines alone."""
    layers = (
        replace(layer, marks=tuple(mark for mark in plain_marks(layer.marks) if not isinstance(mark, Text)))
        for layer in drawing.layers
    )  # fmt: skip
    return Drawing(drawing.title, tuple(layers), drawing.frame)


def kept_words(tiling: Tiling) -> tuple[KeptWords, ...]:
    """All words on the sheet, those that every page would cut moved into one."""
    return tuple(_kept(tiling))


def _kept(tiling: Tiling) -> Iterator[KeptWords]:
    for placing in tiling.placings:
        for layer in placing.drawing.layers:
            texts = (mark for mark in plain_marks(layer.marks) if isinstance(mark, Text))
            yield from (_one(text, layer, placing.move, tiling) for text in texts)


def _one(text: Text, layer: Layer, move: Affine, tiling: Tiling) -> KeptWords:
    drawing = Drawing(text.words, (replace(layer, marks=(text,)),), Box(0.0, 0.0, 0.0, 0.0))
    corners = [move(point) for point in words_corners(text)]
    box = box_of([corners])
    if not any(_within(box, tile.window) for tile in tiling.tiles):
        dx, dy = min((_into(box, tile.window) for tile in tiling.tiles), key=lambda by: abs(by[0]) + abs(by[1]))
        move = move.then(Affine(dx=dx, dy=dy))
        box = box.shifted(dx, dy)
    return KeptWords(drawing, move, box)


def _within(box: Box, window: Box) -> bool:
    across = window.left <= box.left and box.right <= window.right
    return across and window.bottom <= box.bottom and box.top <= window.top


def _into(box: Box, window: Box) -> tuple[float, float]:
    """How far the box must be moved to lie in the window."""
    return (
        _slide(box.left, box.right, window.left + CLEAR_MM, window.right - CLEAR_MM),
        _slide(box.bottom, box.top, window.bottom + CLEAR_MM, window.top - CLEAR_MM),
    )


def _slide(low: float, high: float, least: float, most: float) -> float:
    if low < least:
        return least - low
    return min(0.0, most - high)
