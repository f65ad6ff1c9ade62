"""The wall sheet: one page to pin up, with the drawing, the figures, the steps in a line each, and what to expect.

Black and white, legible from an arm's length: steps and figures are 10 points and more, no letter is under 7.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import itemgetter

from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Drawing, Text, polyline
from diagnose.sheets.drawn.letters import words_wide
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
from diagnose.sheets.drawn.pattern_drawing import BARE_MARGIN, draw_figures
from diagnose.sheets.drawn.pieces_drawn import Figure, Figures
from diagnose.sheets.drawn.screens import FEW_PIECES, drawn_readably, settled_mm
from diagnose.sheets.hand.figures import HandStep
from diagnose.sheets.view_model import SheetView
from diagnose.sheets.words.wording import in_first_unit
from diagnose.units import INCH_MM

__all__ = ["WALL_LETTERS_MM", "drawn_high", "wall_rows", "wall_sheet"]

WALL_LETTERS_MM = 4.5
"""How high the letters of a pattern's drawing are on the wall sheet; the numbers of its bones are 0.67 of that."""

CROWDED_LETTERS_MM = 3.9
"""Crowded pieces have lower letters, and stand closer."""

LEAST_DRAWN_MM = 108.0
TEN_POINTS_MM = 10.0 / 72.0 * INCH_MM
SCALES = (1.3, 1.2, 1.1, 1.05, 1.0, TEN_POINTS_MM / BODY_MM)
"""How large the words are set, the largest first: the least are 10 points high."""

WORDS_ROOM_TOL_MM = 1e-6
"""The drawing leaves the words exactly the room they need: sums of lines may differ by less than this."""

GAP_HIGH_MM = 45.0
TABLE_MM = 4.6
BOLD = ("", "each half")

MOST_ROWS = 3
MOST_SHORT = 1.04
"""Letters that come out lower than this part of their height are set once more: of 7.4 points they keep 7."""

ROOM_LETTERS = {True: 3.9, False: 5.0}
"""How many letters of room stand between pieces, crowded ones and others."""

UNDER_LETTERS = {True: 5.0, False: 4.0}
"""How many letters of room the name beneath a piece takes."""

WITHOUT = ("landmarks", "title")
"""The layers left out."""


def wall_rows(figures: Figures, high_mm: float) -> tuple[Drawing, ...]:
    """The pieces drawn in as many rows as show them largest, letters high enough for the wall.

    Args:
        figures: the pieces, from the front.
        high_mm: how high on the page all rows may be together.
    """
    pieces = figures.pieces
    crowded = len(pieces) > FEW_PIECES
    letters_mm, room = CROWDED_LETTERS_MM if crowded else WALL_LETTERS_MM, ROOM_LETTERS[crowded]
    ways = [_split(pieces, count) for count in range(1, min(MOST_ROWS, len(pieces)) + 1)]
    scale, best = max(((_scale(rows, letters_mm, high_mm, crowded=crowded), rows) for rows in ways), key=itemgetter(0))
    rows = [replace(figures, pieces=row) for row in best]

    def needed(text_mm: float) -> float:
        boxes = [row.reach(text_mm, room).grown(BARE_MARGIN * text_mm) for row in rows]
        return letters_mm / _fitting(boxes, high_mm)

    def draw(text_mm: float) -> tuple[Drawing, ...]:
        return tuple(draw_figures(row, text_mm=text_mm, room_letters=room, without=WITHOUT) for row in rows)

    def wanted(drawn: tuple[Drawing, ...]) -> float:
        return letters_mm / _fitting([row.frame for row in drawn], high_mm)

    return drawn_readably(draw, wanted, settled_mm(needed, letters_mm / scale), short=MOST_SHORT)[0]


def _fitting(boxes: Sequence[Box], high_mm: float) -> float:
    """The scale at which the boxes, one beneath the other, fill the width or the height."""
    wide, tall = max(box.right - box.left for box in boxes), sum(box.top - box.bottom for box in boxes)
    return min(WIDE_MM / wide, (high_mm - 2.0 * len(boxes)) / tall)


def _split(pieces: Sequence[Figure], count: int) -> list[tuple[Figure, ...]]:
    size = -(-len(pieces) // count)
    return [tuple(pieces[n : n + size]) for n in range(0, len(pieces), size)]


def _scale(rows: Sequence[Sequence[Figure]], letters_mm: float, high_mm: float, *, crowded: bool) -> float:
    """How large the rows can be drawn, found by halving: letters keep their height, whatever the scale."""
    sizes = _sizes(rows)
    low, high = 0.02, 1.0
    for _ in range(24):
        scale = (low + high) / 2.0
        letters = letters_mm / scale
        wide = max(sum(wide + ROOM_LETTERS[crowded] * letters for wide, _ in row) for row in sizes)
        tall = sum(max(tall for _, tall in row) + UNDER_LETTERS[crowded] * letters for row in sizes)
        fits = wide * scale <= WIDE_MM and tall * scale <= high_mm
        low, high = (scale, high) if fits else (low, scale)
    return low


def _sizes(rows: Sequence[Sequence[Figure]]) -> list[list[tuple[float, float]]]:
    """How wide and how tall each piece is."""
    boxes = [[bounds(one.stands.piece) for one in row] for row in rows]
    return [[(box.right - box.left, box.top - box.bottom) for box in row] for row in boxes]


def drawn_high(view: SheetView, high_mm: float = HIGH_MM) -> float:
    """How high the drawing may be on a sheet so high, once its words have their room."""
    left, least = high_mm + _above(view).down, _least(view, high_mm)
    words = _below(view, SCALES[-1], tables=_tabled(view, left, least))
    return max(least, left - _room(words, SCALES[-1]))


def _least(view: SheetView, high_mm: float) -> float:
    """How high the drawing is at least: on a taller sheet as on the one that its letters were set for."""
    if high_mm <= HIGH_MM or not view.wall:
        return LEAST_DRAWN_MM
    boxes = [row.frame for row in view.wall]
    wide, tall = max(box.right - box.left for box in boxes), sum(box.top - box.bottom for box in boxes)
    return max(LEAST_DRAWN_MM, min(drawn_high(view), tall * WIDE_MM / wide + 2.0 * len(boxes)))


def _tabled(view: SheetView, left_mm: float, least_mm: float) -> bool:
    """Whether there is room for where each line is marked, beside a drawing that is still the largest thing."""
    return left_mm - _room(_below(view, SCALES[-1]), SCALES[-1]) >= least_mm


def wall_sheet(view: SheetView, high_mm: float = HIGH_MM) -> Drawing:
    """The page, to be put as it is on A4 or Letter, or to fill the width of a screen.

    Args:
        view: what is shown.
        high_mm: how high the page may be.
    """
    page = _above(view)
    tables = not view.wall or _tabled(view, high_mm + page.down, _least(view, high_mm))
    page.drawings(view.wall, drawn_high(view, high_mm))
    left, count = high_mm + page.down, len(view.steps)
    # Words are set as large as there is room for; where there is none for all of them, steps are left out.
    ways = [(scale, count, tables) for scale in SCALES]
    ways += [(SCALES[-1], n, False) for n in range(count, -1, -1)]
    scale, below = next(
        ((way[0], made) for way in ways if _room(made := _below(view, *way), way[0]) <= left + WORDS_ROOM_TOL_MM),
        (SCALES[-1], _below(view, *ways[-1])),
    )
    page.take(below, scale)
    return Drawing(f"Wall sheet · {view.title}", page.layers(), Box(0.0, -high_mm, WIDE_MM, 0.0))


def _room(below: Page, scale: float) -> float:
    """How high what stands on the page is, set at that scale."""
    return -below.down * scale


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


def _below(view: SheetView, scale: float, steps: int | None = None, tables: bool = True) -> Page:
    """What stands under the drawing: the figures, so many of the steps, and what the next try-on should show.

    Args:
        view: what is shown.
        scale: how much larger or smaller it will be set; it is made so much narrower or wider.
        steps: how many of them; all when left out.
        tables: whether with where each line is marked.
    """
    below, steps = Page(WIDE_MM / scale), len(view.steps) if steps is None else steps
    _figures(below, view, scale)
    below.head("Steps" if view.steps else "")
    for number, by_hand in enumerate(view.steps[:steps], 1):
        for n, line in enumerate(_step_lines(by_hand, tables=tables)):
            below.words(f"{'' if n else f'{number}  '}{in_first_unit(line)}", BODY_MM, hang="" if n else "    ",
                        left=7.0 if n else 0.0, wide=below.wide - (7.0 if n else 0.0))  # fmt: skip
    if steps < len(view.steps):
        below.words(f"… and {len(view.steps) - steps} more, on the pages of the steps", BODY_MM)
    if view.nothing and view.ask:
        below.head("Look, measure, and answer")
        for one in view.ask:
            below.words(f"–  {one.text} {one.more}", BODY_MM, hang="    ")
    below.head("What the next try-on should show" if view.expect else "")
    for line in view.expect:
        below.words(f"–  {line}", BODY_MM, hang="    ")
    return below


def _step_lines(step: HandStep, *, tables: bool) -> Iterator[str]:
    """A step in short, and where the lines that it redraws are marked; one line alone in one."""
    if step.kind == "line" and not tables:
        yield f"{step.brief.removesuffix('.')}: how far is drawn above, where each mark lies is told with the steps."
    elif step.kind != "line":
        yield step.brief or step.text
    elif len(step.rows) == 1:
        label, words = step.rows[0]
        piece, _, line = label.partition(", ")
        named = step.brief.removesuffix(".") if ";" in label else f"Redraw the {line} of the {piece}"
        yield f"{named}, {words}."
    else:
        yield step.brief
        yield from (f"{label}: {words}" for label, words in step.rows)


def _figures(page: Page, view: SheetView, scale: float) -> None:
    """The gap picture, and beside it the table of figures."""
    if not view.gap:
        return
    page.down -= 2.0
    top, left, drawn = page.down, 0.0, page.down
    if view.wall_gap is not None:
        box = view.wall_gap.frame
        # It is no smaller for standing on a page that is made smaller.
        high = GAP_HIGH_MM / scale
        shrunk = high / (box.top - box.bottom)
        page.drawn += placed(view.wall_gap, shrunk, -box.left * shrunk, dy=top - box.top * shrunk)
        left, drawn = (box.right - box.left) * shrunk + 5.0, top - high
    rows = list(_rows(view))
    longest = [max(words_wide(row[n], 1.0, bold=True) for row in rows) + 1.2 for n in range(len(rows[0]))]
    size = min(TABLE_MM, (page.wide - left) / sum(longest))
    starts = [left + sum(longest[:n]) * size for n in range(len(longest))]
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
    half = view.halves
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
