"""The bones as blocks of a page to print: the number of each on the pattern, its piece, its length, and what it was."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.settings import Settings
from diagnose.pattern.in_words import bone_number, bone_numbers, piece_title
from diagnose.pattern.outline import Pattern, Point
from diagnose.sheets.cutting.bones_kept import BoneChange, bone_changes
from diagnose.sheets.cutting.cutting_list import bones_of
from diagnose.sheets.drawn.drawing import Text, polyline
from diagnose.sheets.drawn.page_flow import BODY_MM, HIGH_MM, SMALL_MM, WIDE_MM, Page
from diagnose.units import Unit, both

__all__ = ["bone_blocks", "bone_rows"]

HEADING = "Bones"
HEADS = ("bone", "piece", "length", "for version before")
STARTS_MM = (0.0, 22.0, 82.0, 130.0)
ROW_MM = BODY_MM * 1.5
Row = tuple[str, str, str, str]


def bone_rows(pattern: Pattern, before: Pattern | None, settings: Settings, unit: Unit) -> tuple[Row, ...]:
    """A row a bone in the order of their numbers: number, piece, length to cut, and what it was where that is another.

    Args:
        pattern: the pattern as it is.
        before: the version that bones were last cut for.
        settings: what is left free at the ends of a channel, and the ruler.
        unit: the maker's unit.
    """
    numbers, bones = bone_numbers(before, pattern), bones_of(pattern, settings)
    changed = {one.name: one for one in (bone_changes(bones_of(before, settings), bones) if before else ())}
    rows = list[tuple[int, Row]]()
    for bone in bones:
        piece, _, channel = bone.name.partition(".")
        length = both(bone.length_mm, unit) if bone.length_mm > 0.0 else "too short for a bone"
        was = _was(changed.get(bone.name), unit)
        rows.append((numbers[piece, channel], (str(numbers[piece, channel]), piece_title(piece), length, was)))
    for name in (one.name for one in changed.values() if one.what == "gone"):
        piece, _, channel = name.partition(".")
        number = bone_number(numbers, piece, channel)
        rows.append((numbers.get((piece, channel), 0), (number, piece_title(piece), "", _was(changed[name], unit))))
    return tuple(row for _, row in sorted(rows, key=lambda one: one[0]))


def _was(change: BoneChange | None, unit: Unit) -> str:
    if change is None:
        return ""
    if change.before_mm is None:
        return "new"
    was = both(change.before_mm, unit)
    return f"was {was}, gone" if change.after_mm is None else f"was {was}, {change.what}"


def bone_blocks(pattern: Pattern, before: Pattern | None, settings: Settings, unit: Unit) -> Iterator[Page]:
    """The list in one block, or in as many as it takes pages; none where the pattern has no channel."""
    rows = bone_rows(pattern, before, settings, unit=unit)
    heads = HEADS if any(was for *_, was in rows) else HEADS[:3]
    most = int((HIGH_MM - 24.0) / ROW_MM)
    for begin in range(0, len(rows), most):
        page = Page()
        page.head(HEADING)
        page.words("Numbered as on the pattern. Each length is what to cut, its ends free in the channel.", SMALL_MM)
        page.down -= 1.0
        for n, row in enumerate((heads, *rows[begin : begin + most])):
            page.down -= ROW_MM
            for start, cell in zip(STARTS_MM, row, strict=False):
                if cell:
                    mark = Text(cell, Point(start, page.down + BODY_MM * 0.4), BODY_MM, bold=n > 0 and start == 0.0)
                    (page.ink if n else page.soft).append(mark)
            page.lines.append(polyline((Point(0.0, page.down), Point(WIDE_MM, page.down))))
        yield page
