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
STACKED = 2
"""So many pictures stand one beneath the other beside a table of more rows than that."""

STEP_LABEL_MM = 46.0
HEADING = "With ruler and pencil"
FIRST = "On a tracing of the stitching lines; keep the old pattern. “Along” is measured on the line itself."


def step_blocks(steps: Sequence[HandStep]) -> Iterator[Page]:
    """Blocks of all steps in order, the first beneath the heading: a page may end between two rows of a table."""
    for number, step in enumerate(steps, 1):
        first, *rest = _blocks(number, step)
        if number == 1:
            head = Page()
            head.head(HEADING)
            head.words(FIRST, BODY_MM, soft=True)
            head.down -= 2.0
            head.take(first, 1.0)
            first = head
        yield from (first, *rest)


def _blocks(number: int, step: HandStep) -> list[Page]:
    """One step: words and table on the left, the picture on the right, more of them beneath, a rule under all.

    What stands beside a picture is one block with it; of the rows under that each is a block of its own.
    """
    block = Page()
    block.ink.append(Text(str(number), Point(NUMBER_MM - 2.5, -HEAD_MM), HEAD_MM, anchor="end", bold=True))
    pictures = [picture.drawn for picture in step.pictures[:MOST_BESIDE]]
    stacked = len(pictures) == 1 or (len(pictures) == STACKED and len(step.table) > STACKED)
    room = WIDE_MM - NUMBER_MM - (PICTURE_MM + AFTER_PICTURE_MM if stacked else 0.0)
    block.words(step.text, BODY_MM, left=NUMBER_MM, wide=room)
    foot = 0.0
    if stacked:
        for n, picture in enumerate(pictures):
            _put(block, picture, WIDE_MM - PICTURE_MM, top=-1.0 - n * (PICTURE_MM + PICTURES_APART_MM))
        foot = -1.0 - len(pictures) * (PICTURE_MM + PICTURES_APART_MM) + PICTURES_APART_MM
    longest = max((len(label) for label, _ in step.table), default=0)
    label_wide = min(STEP_LABEL_MM, longest * BODY_MM * 0.56 + 4.0)
    blocks = [block]
    for n, (label, words) in enumerate(step.table):
        if n and block.down <= foot:
            block, foot = Page(), 0.0
            blocks.append(block)
        block.row(label, words, BODY_MM, left=NUMBER_MM, label_wide=label_wide, wide=room)
    block.down = min(block.down, foot)
    if pictures and not stacked:
        block = Page()
        for n, picture in enumerate(reversed(pictures)):
            _put(block, picture, WIDE_MM - (n + 1) * PICTURE_MM - n * PICTURES_APART_MM, top=-2.0)
        block.down = -2.0 - PICTURE_MM
        blocks.append(block)
    block.down -= 2.5
    block.lines.append(polyline((Point(NUMBER_MM, block.down), Point(WIDE_MM, block.down))))
    block.down -= 2.0
    return blocks


def _put(block: Page, drawing: Drawing, left: float, top: float) -> None:
    """The picture in a square with its upper left corner there."""
    box = drawing.frame
    scale = PICTURE_MM / max(box.right - box.left, box.top - box.bottom)
    block.drawn += placed(drawing, scale, left - box.left * scale, dy=top - box.top * scale)
