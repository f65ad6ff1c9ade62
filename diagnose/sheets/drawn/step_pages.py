"""The steps by hand as pages to print: each with its number, its words, its table and its picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Drawing, Text, polyline
from diagnose.sheets.drawn.page_flow import BODY_MM, HEAD_MM, HIGH_MM, WIDE_MM, Page, placed
from diagnose.sheets.hand.figures import HandStep

__all__ = ["step_pages"]

NUMBER_MM = 9.0
PICTURE_MM = 46.0
BETWEEN_MM = 4.0
LABEL_MM = 46.0
HEADING = "With ruler and pencil"
FIRST = "On a tracing of the stitching lines; keep the old pattern. “Along” is measured on the line itself."


def step_pages(steps: Sequence[HandStep]) -> Iterator[Drawing]:
    """The steps in order on as many pages as they need."""
    if not steps:
        return
    page = Page()
    page.head(HEADING)
    page.words(FIRST, BODY_MM, soft=True)
    page.down -= 2.0
    for number, step in enumerate(steps, 1):
        block = _block(number, step)
        if page.down + block.down < -HIGH_MM and len(page.ink) > 1:
            yield _finished(page)
            page = Page()
        page.take(block, min(1.0, HIGH_MM / -block.down))
    yield _finished(page)


def _finished(page: Page) -> Drawing:
    return Drawing(HEADING, page.layers(), Box(0.0, -HIGH_MM, WIDE_MM, 0.0))


def _block(number: int, step: HandStep) -> Page:
    """One step: words and table on the left, the picture on the right, a rule beneath."""
    block = Page()
    block.ink.append(Text(str(number), Point(NUMBER_MM - 2.5, -HEAD_MM), HEAD_MM, "end", bold=True))
    wide_picture = step.picture is not None and _ratio(step.picture) > 1.3
    room = WIDE_MM - NUMBER_MM - (0.0 if step.picture is None or wide_picture else PICTURE_MM + BETWEEN_MM)
    block.words(step.text, BODY_MM, left=NUMBER_MM, wide=room)
    longest = max((len(label) for label, _ in step.table), default=0)
    label_wide = min(LABEL_MM, longest * BODY_MM * 0.56 + 4.0)
    for label, words in step.table:
        block.row(label, words, BODY_MM, left=NUMBER_MM, label_wide=label_wide, wide=room)
    if step.picture is not None:
        high = _picture(block, step.picture, beneath=wide_picture)
        block.down = min(block.down, -high)
    block.down -= 2.5
    block.lines.append(polyline((Point(NUMBER_MM, block.down), Point(WIDE_MM, block.down))))
    block.down -= 2.0
    return block


def _ratio(drawing: Drawing) -> float:
    box = drawing.frame
    return (box.right - box.left) / (box.top - box.bottom)


def _picture(block: Page, drawing: Drawing, *, beneath: bool) -> float:
    """The picture beside the words, or beneath them where it is wide; how far down it reaches."""
    box = drawing.frame
    wide, high = box.right - box.left, box.top - box.bottom
    scale = min((WIDE_MM - NUMBER_MM) / wide, PICTURE_MM * 1.2 / high) if beneath else PICTURE_MM / max(wide, high)
    top = block.down - 2.0 if beneath else -1.0
    left = NUMBER_MM if beneath else WIDE_MM - PICTURE_MM
    block.drawn += placed(drawing, scale, left - box.left * scale, top - box.top * scale)
    return -(top - high * scale)
