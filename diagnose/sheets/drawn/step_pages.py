"""The steps by hand as blocks of a page to print: each with its number, its words, its table and its picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Drawing, Text, polyline
from diagnose.sheets.drawn.page_flow import BODY_MM, HEAD_MM, WIDE_MM, Page, placed
from diagnose.sheets.hand.figures import HandStep
from diagnose.sheets.hand.pictures import MOST_BESIDE

__all__ = ["step_blocks"]

NUMBER_MM = 9.0
PICTURE_MM = 44.0
PICTURES_APART_MM = 1.5
AFTER_PICTURE_MM = 4.0
STEP_LABEL_MM = 46.0
HEADING = "With ruler and pencil"
FIRST = "On a tracing of the stitching lines; keep the old pattern. “Along” is measured on the line itself."


def step_blocks(steps: Sequence[HandStep]) -> Iterator[Page]:
    """A block for each step in order, the first beneath the heading."""
    for number, step in enumerate(steps, 1):
        block = Page()
        if number == 1:
            block.head(HEADING)
            block.words(FIRST, BODY_MM, soft=True)
            block.down -= 2.0
        block.take(_block(number, step), 1.0)
        yield block


def _block(number: int, step: HandStep) -> Page:
    """One step: words and table on the left, the picture on the right, a rule beneath."""
    block = Page()
    block.ink.append(Text(str(number), Point(NUMBER_MM - 2.5, -HEAD_MM), HEAD_MM, anchor="end", bold=True))
    pictures = step.pictures[:MOST_BESIDE]
    beneath = len(pictures) > 1
    room = WIDE_MM - NUMBER_MM - (PICTURE_MM + AFTER_PICTURE_MM if len(pictures) == 1 else 0.0)
    block.words(step.text, BODY_MM, left=NUMBER_MM, wide=room)
    longest = max((len(label) for label, _ in step.table), default=0)
    label_wide = min(STEP_LABEL_MM, longest * BODY_MM * 0.56 + 4.0)
    for label, words in step.table:
        block.row(label, words, BODY_MM, left=NUMBER_MM, label_wide=label_wide, wide=room)
    if pictures:
        low = (block.down if beneath else 1.0) - 2.0
        for n, picture in enumerate(reversed(pictures)):
            _put(block, picture, WIDE_MM - (n + 1) * PICTURE_MM - n * PICTURES_APART_MM, low)
        block.down = min(block.down, low - PICTURE_MM)
    block.down -= 2.5
    block.lines.append(polyline((Point(NUMBER_MM, block.down), Point(WIDE_MM, block.down))))
    block.down -= 2.0
    return block


def _put(block: Page, drawing: Drawing, left: float, top: float) -> None:
    """The picture in a square with its upper left corner there."""
    box = drawing.frame
    scale = PICTURE_MM / max(box.right - box.left, box.top - box.bottom)
    block.drawn += placed(drawing, scale, left - box.left * scale, top - box.top * scale)
