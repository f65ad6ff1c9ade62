"""The wall sheet: one page to pin up, with the drawing, the figures, the steps in a line each, and what to expect.

Black and white, legible from an arm's length; no letter is under 7 points.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import STATIONS, Pattern, Piece, Point
from diagnose.sheets.drawn.drawing import Drawing, Text, frame_of, polyline
from diagnose.sheets.drawn.page_flow import (
    BODY_MM,
    HEAD_MM,
    HIGH_MM,
    SMALL_MM,
    TITLE_MM,
    WIDE_MM,
    Page,
    placed,
)
from diagnose.sheets.view_model import SheetView
from diagnose.sheets.words.wording import in_first_unit

__all__ = ["WALL_LETTERS_MM", "drawn_high", "wall_rows", "wall_sheet"]

WALL_LETTERS_MM = 4.5
"""How high the letters of a pattern's drawing are on the wall sheet; its smallest words are 0.64 of that."""

LEAST_DRAWN_MM = 100.0
SCALES = (1.0, 0.95, 0.9, 0.84)
"""How much smaller the words may be set to find room: the smallest are then just over 7 points."""

GAP_HIGH_MM = 45.0
TABLE_MM = 4.6
TABLE_LETTER_RATIO = 0.54
BOLD = ("", "each half")

MOST_ROWS = 3
MOST_TRIES = 3
MOST_MEASURED = 3
"""Up to so many pieces bear their dimensions on the wall: on more they would hide the pieces."""

WITHOUT = ("landmarks",)
CROWDED_WITHOUT = (*WITHOUT, "dimensions", "numbers")
"""The layers left out, and those left out where many pieces stand beside one another."""

CROWDED_LETTERS = 6.0
FEW_LETTERS = 5.0
Draw = Callable[[Sequence[str], float, float, Sequence[str]], Drawing]


def wall_rows(pattern: Pattern, names: Sequence[str], draw: Draw, high_mm: float) -> tuple[Drawing, ...]:
    """The pieces drawn in as many rows as show them largest, letters high enough for the wall.

    Args:
        pattern: whose pieces are drawn.
        names: of those to draw, from the front.
        draw: draws some of them with letters so high, in mm of the pattern, so many letters of room between them, and
            without some layers.
        high_mm: how high on the page all rows may be together.
    """
    if not names:
        return ()
    pieces = [pattern.piece(name) for name in names]
    ways = [_split(pieces, count) for count in range(1, min(MOST_ROWS, len(pieces)) + 1)]
    crowded = len(pieces) > MOST_MEASURED
    room, without = (CROWDED_LETTERS, CROWDED_WITHOUT) if crowded else (FEW_LETTERS, WITHOUT)
    scale, rows = max(((_scale(rows, room, high_mm), rows) for rows in ways), key=lambda way: way[0])
    for _ in range(MOST_TRIES):
        letters = WALL_LETTERS_MM / scale
        drawn = [_untitled(draw([piece.name for piece in row], letters, room, without)) for row in rows]
        fits = _fitting(drawn, high_mm)
        if abs(fits / scale - 1.0) < 0.02:
            break
        # Words beside the pieces took more room than was reckoned with, or pieces stand closer: letters follow.
        scale = fits
    return tuple(drawn)


def _fitting(rows: Sequence[Drawing], high_mm: float) -> float:
    """The scale at which the rows, one beneath the other, fill the width or the height."""
    boxes = [row.frame for row in rows]
    wide, tall = max(box.right - box.left for box in boxes), sum(box.top - box.bottom for box in boxes)
    return min(WIDE_MM / wide, (high_mm - 2.0 * len(rows)) / tall)


def _untitled(drawing: Drawing) -> Drawing:
    layers = tuple(layer for layer in drawing.layers if layer.id != "title")
    return Drawing(drawing.title, layers, frame_of(layers, 1.0))


def _split(pieces: Sequence[Piece], count: int) -> list[list[Piece]]:
    size = -(-len(pieces) // count)
    return [list(pieces[n : n + size]) for n in range(0, len(pieces), size)]


def _scale(rows: Sequence[Sequence[Piece]], room: float, high_mm: float) -> float:
    """How large the rows can be drawn, found by halving: letters keep their height, whatever the scale."""
    sizes = _sizes(rows)
    low, high = 0.02, 1.0
    for _ in range(24):
        scale = (low + high) / 2.0
        letters = WALL_LETTERS_MM / scale
        wide = max(sum(wide + room * letters for wide, _ in row) for row in sizes)
        tall = sum(max(tall for _, tall in row) + 4.0 * letters for row in sizes)
        fits = wide * scale <= WIDE_MM and tall * scale <= high_mm
        low, high = (scale, high) if fits else (low, scale)
    return low


def _sizes(rows: Sequence[Sequence[Piece]]) -> list[list[tuple[float, float]]]:
    """How wide and how tall each piece is."""
    boxes = [[bounds(piece) for piece in row] for row in rows]
    return [[(box.right - box.left, box.top - box.bottom) for box in row] for row in boxes]


def drawn_high(view: SheetView) -> float:
    """How high the drawing may be on the sheet, once its words have their room."""
    return max(LEAST_DRAWN_MM, HIGH_MM + _above(view).down + _room(_below(view, len(view.steps), SCALES[-1])))


def wall_sheet(view: SheetView) -> Drawing:
    """The page, to be put as it is on A4 or Letter, or to fill the width of a screen."""
    page = _above(view)
    page.drawings(view.wall, drawn_high(view))
    left = HIGH_MM + page.down
    ways = [(len(view.steps), scale) for scale in SCALES]
    ways += [(count, SCALES[-1]) for count in range(len(view.steps) - 1, -1, -1)]
    count, scale = next((way for way in ways if -_room(_below(view, *way)) <= left), ways[-1])
    below = _below(view, count, scale)
    page.take(below, min(scale, left / -below.down) if below.down < 0.0 else scale)
    return Drawing(f"Wall sheet · {view.title}", page.layers(), Box(0.0, -HIGH_MM, WIDE_MM, 0.0))


def _room(below: Page) -> float:
    """How far down the page reaches at the scale that it is set for."""
    return below.down * WIDE_MM / below.wide


def _above(view: SheetView) -> Page:
    """What stands over the drawing: whose it is, and what is done."""
    page = Page()
    page.words(view.title, TITLE_MM, bold=True)
    page.words(" · ".join(part for part in (view.garment, view.version, view.date) if part), SMALL_MM, soft=True)
    page.rule()
    for step in view.first:
        side = f", {step.side}" if step.side else ""
        figure = f": {step.figure} {step.figure_of}".rstrip() if step.figure else ""
        page.words(f"{step.title}{side}{figure}", HEAD_MM, bold=True)
    page.words(view.nothing, HEAD_MM, bold=True)
    return page


def _below(view: SheetView, steps: int, scale: float) -> Page:
    """What stands under the drawing: the figures, so many of the steps, and what the next try-on should show.

    Args:
        view: what is shown.
        steps: how many of them.
        scale: how much smaller it will be set; it is made so much wider.
    """
    below = Page(WIDE_MM / scale)
    _figures(below, view, scale)
    below.head("Steps" if view.steps else "")
    for number, by_hand in enumerate(view.steps[:steps], 1):
        below.words(f"{number}  {by_hand.brief or by_hand.text}", BODY_MM, hang="    ")
        for label, words in by_hand.table if by_hand.kind == "line" else ():
            said = f"{label}: {words}" if by_hand.rows == by_hand.table else words
            below.words(said, SMALL_MM, left=7.0, wide=below.wide - 7.0)
    if steps < len(view.steps):
        below.words(f"… and {len(view.steps) - steps} more, on the pages of the steps", BODY_MM)
    below.head("What the next try-on should show" if view.expect else "")
    for line in view.expect:
        below.words(f"–  {line}", BODY_MM, hang="    ")
    return below


def _figures(page: Page, view: SheetView, scale: float) -> None:
    """The gap picture, and beside it the table of figures."""
    if not view.gap:
        return
    page.down -= 2.0
    top, left, drawn = page.down, 0.0, page.down
    if view.gap_picture is not None:
        box = view.gap_picture.frame
        # Its words are as small as may be: it is no smaller for standing on a page that is made smaller.
        high = GAP_HIGH_MM / scale
        shrunk = high / (box.top - box.bottom)
        page.drawn += placed(view.gap_picture, shrunk, -box.left * shrunk, top - box.top * shrunk)
        left, drawn = (box.right - box.left) * shrunk + 6.0, top - high
    rows = list(_rows(view))
    longest = [max(len(row[n]) for row in rows) + 2 for n in range(len(rows[0]))]
    size = min(TABLE_MM, (page.wide - left) / (sum(longest) * TABLE_LETTER_RATIO))
    starts = [left + sum(longest[:n]) * size * TABLE_LETTER_RATIO for n in range(len(longest))]
    for number, row in enumerate(rows):
        page.down -= size * 1.5
        for head, cell, start in zip(rows[0], row, starts, strict=True):
            if cell:
                mark = Text(cell, Point(start, page.down + size * 0.42), size, bold=bool(number) and head in BOLD)
                (page.ink if number else page.soft).append(mark)
        page.lines.append(polyline((Point(left, page.down), Point(page.wide, page.down))))
    page.words(view.gap_shape, BODY_MM, left=left, wide=page.wide - left)
    page.down = min(page.down, drawn)


def _rows(view: SheetView) -> Iterator[tuple[str, ...]]:
    """The gap as read, the aim, what is done to each half, and the gap foreseen, in her first unit alone."""
    halves = [dict(step.rows) for step in view.first if step.rows]
    half = halves[0] if len(halves) == 1 else {}
    told = {*(row.station for row in view.gap), *half}
    stations = [station for station in STATIONS if station in told]
    gaps = {row.station: row for row in view.gap}
    foreseen = any(row.predicted for row in view.gap)
    yield ("", "gap", "aim", *(["each half"] if half else []), *(["then"] if foreseen else []))
    for station in stations:
        row = gaps.get(station)
        read, aim, then = (row.read, row.target, row.predicted) if row else ("", "", "")
        cells = (read, aim, *([half.get(station, "")] if half else []), *([then] if foreseen else []))
        yield (station, *(in_first_unit(cell) for cell in cells))
