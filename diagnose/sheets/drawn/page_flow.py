"""Pages of words, rules and drawings as neutral drawings, filled from the top.

Millimetres of the page, y upwards, the upper left corner of what may be printed at (0, 0).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Drawing, Layer, Mark, Pen, Text, carried_mark, polyline
from diagnose.sheets.drawn.letters import lines_within, words_wide

__all__ = ["BODY_MM", "HEAD_MM", "HIGH_MM", "SMALL_MM", "TITLE_MM", "WIDE_MM", "Page", "placed", "whole_pages"]

WIDE_MM = 190.0
HIGH_MM = 250.0
"""What both A4 and Letter leave within margins of 10 mm, less a line for the page's name."""

TITLE_MM, HEAD_MM, BODY_MM, SMALL_MM = 6.4, 4.6, 3.7, 3.0
LEAD = 1.32


class Page:
    """A page that is filled from the top, so wide in mm."""

    def __init__(self, wide: float = WIDE_MM) -> None:
        self.wide = wide
        self.down = 0.0
        self.ink: list[Mark] = []
        self.soft: list[Mark] = []
        self.lines: list[Mark] = []
        self.drawn: list[Layer] = []

    def words(self, text: str, size: float, *, bold: bool = False, soft: bool = False, hang: str = "",
              left: float = 0.0, wide: float | None = None) -> None:  # fmt: skip
        """A paragraph as wide as the page, or from `left` so wide.

        Args:
            text: the paragraph; nothing is set for an empty one.
            size: the height of its letters, mm.
            bold: set it bold.
            soft: set it in the quiet ink.
            hang: what the lines after the first begin with.
            left: where it begins, mm from the left.
            wide: how wide it is, mm.
        """
        if not text:
            return
        for line in lines_within(text, wide or self.wide, size, bold=bold, hang=hang):
            indent = left + words_wide(line[: len(line) - len(line.lstrip())], size)
            self.down -= size * LEAD
            mark = Text(line.strip(), Point(indent, self.down + size * 0.28), size, bold=bold)
            (self.soft if soft else self.ink).append(mark)

    def row(self, label: str, text: str, size: float, *, left: float, label_wide: float, wide: float) -> None:
        """A row of a table: its label, and its words beside it.

        Args:
            label: what stands on the left, bold.
            text: what stands beside it.
            size: the height of the letters, mm.
            left: where the row begins, mm from the left.
            label_wide: how wide the label's column is, mm.
            wide: how wide the whole row is, mm.
        """
        top = self.down
        self.words(label, size, bold=True, left=left, wide=label_wide - 2.0)
        low, self.down = self.down, top
        self.words(text, size, left=left + label_wide, wide=wide - label_wide)
        self.down = min(low, self.down) - 0.8

    def head(self, text: str) -> None:
        """A heading, where there is one."""
        if text:
            self.down -= 2.0
            self.words(text, HEAD_MM, bold=True)

    def rule(self) -> None:
        """A line across the page."""
        self.down -= 1.6
        self.lines.append(polyline((Point(0.0, self.down), Point(WIDE_MM, self.down))))
        self.down -= 1.2

    def drawings(self, rows: Sequence[Drawing], high: float) -> None:
        """The rows one beneath the other, as large as the room allows, in the middle of the page."""
        if not rows:
            return
        boxes = [row.frame for row in rows]
        wide, tall = max(b.right - b.left for b in boxes), sum(b.top - b.bottom for b in boxes)
        scale = min(WIDE_MM / wide, (high - 2.0 * len(rows)) / tall)
        for row, box in zip(rows, boxes, strict=True):
            self.down -= 2.0
            left = (WIDE_MM - (box.right - box.left) * scale) / 2.0
            self.drawn += placed(row, scale, left - box.left * scale, dy=self.down - box.top * scale)
            self.down -= (box.top - box.bottom) * scale

    def take(self, other: Page, scale: float) -> None:
        """What stands on the other page, beneath what stands here, smaller where it must be to find room."""
        move = Affine(xx=scale, yy=scale, dy=self.down)
        for own, more in ((self.ink, other.ink), (self.soft, other.soft), (self.lines, other.lines)):
            own += [carried_mark(mark, move, scale) for mark in more]
        self.drawn += [_layer(layer, move, scale) for layer in other.drawn]
        self.down += other.down * scale

    def layers(self) -> tuple[Layer, ...]:
        """All that stands on the page, drawings beneath words."""
        own = (
            Layer("wall-lines", "Rules", Pen(0.3), marks=tuple(self.lines)),
            Layer("wall-soft", "Quiet words", Pen(0.01, "soft"), marks=tuple(self.soft)),
            Layer("wall-words", "Words", Pen(0.01), marks=tuple(self.ink)),
        )
        return tuple(layer for layer in (*self.drawn, *own) if layer.marks)


def whole_pages(blocks: Iterable[tuple[str, Page]], high_mm: float = HIGH_MM) -> Iterator[tuple[str, Drawing]]:
    """The blocks in order on as few pages as that takes, each page with the names of what stands on it and its number.

    Args:
        blocks: each with its name; none is parted, and one that is higher than a page is made smaller.
        high_mm: how high a page may be.
    """
    page, number, names = Page(), 1, dict[str, None]()
    for name, block in blocks:
        if names and page.down + block.down < -high_mm:
            yield _whole(page, names, number, high_mm=high_mm)
            page, number, names = Page(), number + 1, {}
        page.take(block, min(1.0, high_mm / -block.down))
        names[name] = None
    if names:
        yield _whole(page, names, number, high_mm=high_mm)


def _whole(page: Page, names: Iterable[str], number: int, high_mm: float) -> tuple[str, Drawing]:
    name = f"{' and '.join(names)} {number}"
    return name, Drawing(name, page.layers(), Box(0.0, -high_mm, WIDE_MM, 0.0))


def placed(drawing: Drawing, scale: float, dx: float, dy: float) -> list[Layer]:
    """The layers of a drawing at that scale, moved so far; its title is left out."""
    move = Affine(xx=scale, yy=scale, dx=dx, dy=dy)
    return [_layer(layer, move, scale) for layer in drawing.layers if layer.id != "title"]


def _layer(layer: Layer, move: Affine, scale: float) -> Layer:
    pen = layer.pen
    pen = Pen(max(0.12, pen.width_mm * scale) if pen.width_mm > 0.05 else pen.width_mm, pen.ink,
              tuple(dash * scale for dash in pen.dash_mm))  # fmt: skip
    return replace(layer, pen=pen, marks=tuple(carried_mark(mark, move, scale) for mark in layer.marks))
