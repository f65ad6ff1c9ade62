"""The first page of a printed pattern: what it is, the squares to measure, the page map, the key, what to cut.

Millimetres, y upwards; everything hangs down from a place (left, top) and is a drawing as any other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import product

from msgspec import Struct

from diagnose.pattern.geometry.bezier import Box, moved
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.in_words import piece_title
from diagnose.pattern.outline import ROLES, Point
from diagnose.sentences import unbroken
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.drawn.drawing import (
    Area,
    Drawing,
    Layer,
    Mark,
    Path,
    Pen,
    Text,
    box_round,
    frame_of,
    oblong,
    polyline,
)
from diagnose.sheets.drawn.letters import lines_within
from diagnose.sheets.drawn.pattern_drawing import PENS as LINES
from diagnose.sheets.drawn.pattern_words import cut_words
from diagnose.sheets.writers.match_marks import match_mark
from diagnose.sheets.writers.paper_sizes import SQUARES_MM
from diagnose.sheets.writers.tiling import Tiling
from diagnose.units import both

__all__ = ["FRONT_WIDE_MM", "front_drawing"]

FRONT_WIDE_MM = 186.0
FRONT_BODY_MM = 3.6
LEAD_MM = 5.2
FRONT_HEAD_MM = 4.6
MOST_SCALE = 0.25
LEAST_MAP_MM = 30.0
MOST_NAMED = 30
KEY_WIDE_MM = 12.0
KEY_COLUMN_MM = 62.0
COLUMNS = 3
HATCH_MM = 2.0
MAP_NAME_MM = 3.0
WIDE_MAP_NAME_MM = 45.0
NAME_ASIDE_MM = (0.0, 3.5, -3.5, 7.0, -7.0, 10.5, -10.5)
"""How far a piece's name on the map is moved up or down to keep clear of others."""


Marks = dict[str, list[Mark]]
PENS: Mapping[str, Pen] = {
    "square": Pen(0.25), "words": Pen(0.01), "soft-words": Pen(0.01, "soft"), "thin": Pen(0.25),
    **{name: LINES[layer][1] for name, layer in (
        ("faint", "channels"), ("bold", "outline"), ("medium", "notches"), ("old", "old-line"), ("taken", "taken-away"),
    )},
    "map-outline": Pen(0.35), "map-tile": Pen(0.2, "soft", (1.0, 1.0)),
}  # fmt: skip


def front_drawing(sheet: Sheet, tiling: Tiling | None) -> Drawing:
    """The first page, or the panel beside the pieces where all is on one sheet and there is no map."""
    marks: Marks = {name: [] for name in PENS}
    down = _heading(sheet, marks)
    down = _squares(marks, down)
    down = _cutting(sheet, marks, down)
    down = _key(sheet, marks, down, tiled=tiling is not None)
    if tiling is not None:
        down = _joining(tiling, marks, down)
        _map(tiling, marks, down)
    order = ("taken", "faint", "map-tile", "map-outline")
    layers = [
        Layer(f"front-{n}", n, PENS[n], marks=tuple(marks[n])) for n in (*order, *(n for n in PENS if n not in order))
    ]
    drawn = tuple(layer for layer in layers if layer.marks)
    return Drawing("front", drawn, frame_of(drawn, 0.0))


def _heading(sheet: Sheet, marks: Marks) -> float:
    marks["words"].append(Text(sheet.pattern.name, Point(0.0, -7.0), 8.0, bold=True))
    what = "new line over the old one" if sheet.before else "stitching and cutting lines"
    line = " · ".join(part for part in (sheet.dated, f"true scale, {what}") if part)
    marks["soft-words"].append(Text(line, Point(0.0, -13.5), FRONT_BODY_MM + 0.4))
    return -19.0


def _squares(marks: Marks, down: float) -> float:
    left = 0.0
    for name, size in SQUARES_MM:
        marks["square"].append(oblong(Box(left, down - size, left + size, down), f"square-{name}"))
        marks["words"].append(Text(name, Point(left + size / 2.0, down - size / 2.0), 6.0, anchor="middle", bold=True))
        left += size + 8.0
    text = (
        "Measure both squares before anything is cut. The left one is 2 in each way, the right one 5 cm, from the "
        "middle of one line to the middle of the other. If they are not, print again at 100 %, “actual size”, with no "
        "fitting to the page."
    )
    _paragraph(marks, text, Point(left, down - 3.0), wide_mm=FRONT_WIDE_MM - left)
    return down - SQUARES_MM[0][1] - 8.0


def _cutting(sheet: Sheet, marks: Marks, down: float) -> float:
    down = _head(marks, "What to cut", down)
    shown = sheet.pattern.pieces[:MOST_NAMED]
    pieces = "; ".join(f"{piece_title(piece.name)}, {cut_words(piece)}" for piece in shown)
    more = f"; and {len(sheet.pattern.pieces) - len(shown)} more" if len(shown) < len(sheet.pattern.pieces) else ""
    down = _paragraph(marks, f"From each layer of cloth: {pieces}{more}.", Point(0.0, down), wide_mm=FRONT_WIDE_MM)
    return _paragraph(marks, _allowed(sheet), Point(0.0, down), wide_mm=FRONT_WIDE_MM) - 3.0


def _allowed(sheet: Sheet) -> str:
    roles = {edge.role for piece in sheet.pattern.pieces for edge in piece.edges}
    given = [(role, sheet.allowances.get(role, 0.0)) for role in ROLES if role in roles]
    some = ", ".join(f"{role} {unbroken(both(mm, sheet.unit))}" for role, mm in given if mm > 0.0)
    none = " and ".join(role for role, mm in given if mm <= 0.0)
    if not some:
        return "No allowances are drawn: add your own outside the line."
    return f"Allowances, drawn as the thin line outside the stitching line: {some}" + (
        f"; none at {none}." if none else "."
    )


def _key(sheet: Sheet, marks: Marks, down: float, *, tiled: bool) -> float:
    down = _head(marks, "The lines", down)
    rows = [key for key in KEYS if (sheet.before or not key.change) and (tiled or not key.joins)]
    for n, key in enumerate(rows):
        left, at = (n % COLUMNS) * KEY_COLUMN_MM, down - (n // COLUMNS) * 6.5 + 1.2
        for pen, mark in key.draw(Point(left, at)):
            marks[pen].append(mark)
        marks["words"].append(Text(key.words, Point(left + KEY_WIDE_MM + 2.5, at - 1.2), FRONT_BODY_MM))
    return down - ((len(rows) + COLUMNS - 1) // COLUMNS) * 6.5 - 3.0


Draw = Callable[[Point], Iterator[tuple[str, Mark]]]


class _Key(Struct, frozen=True):
    """One line of the key; `change` ones only where an older pattern is drawn, `joins` ones only on tiles."""

    words: str
    draw: Draw
    change: bool = False
    joins: bool = False


def _ruled(pen: str) -> Draw:
    def draw(at: Point) -> Iterator[tuple[str, Mark]]:
        yield pen, polyline((at, Point(at.x + KEY_WIDE_MM, at.y)))

    return draw


def _hatched(*, rising: bool) -> Draw:
    def draw(at: Point) -> Iterator[tuple[str, Mark]]:
        pen, high = ("taken" if rising else "faint"), 3.6
        low = at.y - high / 2.0
        corners = ((at.x, low), (at.x + KEY_WIDE_MM, low), (at.x + KEY_WIDE_MM, low + high), (at.x, low + high))
        yield pen, Area((tuple(Point(x, y) for x, y in corners),))
        for n in range(int((KEY_WIDE_MM - high) / HATCH_MM) + 1):
            x = at.x + n * HATCH_MM + 0.2
            foot, head = (x, x + high) if rising else (x + high, x)
            yield pen, polyline((Point(foot, low), Point(head, low + high)))

    return draw


def _channel(at: Point) -> Iterator[tuple[str, Mark]]:
    yield "faint", oblong(Box(at.x, at.y - 1.6, at.x + KEY_WIDE_MM, at.y + 1.6))


def _notch(at: Point) -> Iterator[tuple[str, Mark]]:
    x = at.x + KEY_WIDE_MM / 2.0
    yield "bold", polyline((at, Point(at.x + KEY_WIDE_MM, at.y)))
    yield "medium", polyline((Point(x, at.y - 2.2), Point(x, at.y + 2.2)))


def _joint(at: Point) -> Iterator[tuple[str, Mark]]:
    for mark in match_mark(Point(at.x + KEY_WIDE_MM / 2.0, at.y)):
        yield "thin", mark


KEYS = (
    _Key("stitching line", _ruled("bold")),
    _Key("cutting line", _ruled("thin")),
    _Key("level, named at its front end", _ruled("faint")),
    _Key("channel of a bone", _channel),
    _Key("slit: cut in", _ruled("medium")),
    _Key("notch: match at the seam", _notch),
    _Key("stitching line before", _ruled("old"), change=True),
    _Key("paper taken away", _hatched(rising=True), change=True),
    _Key("paper added", _hatched(rising=False), change=True),
    _Key("two pages meet", _joint, joins=True),
)


def _joining(tiling: Tiling, marks: Marks, down: float) -> float:
    down = _head(marks, "Putting the pages together", down)
    count = len(tiling.tiles)
    pages = "one page" if count == 1 else f"{count} pages"
    text = f"The pieces lie on {pages} of {tiling.paper.name}, as on the map."
    if count > 1:
        text += (
            " Where a page has a line marked “cut here” on its left or lower side, cut along it. Lay it on the dotted "
            "line of the page beside or below, so that the halves of each laced eyelet make a whole one, and stick it "
            "down."
        )
    return _paragraph(marks, text, Point(0.0, down), wide_mm=FRONT_WIDE_MM) - 2.0


def _map(tiling: Tiling, marks: Marks, down: float) -> None:
    """The sheet made small: its pages, each with its name, and the outlines on them."""
    box, room = tiling.frame, max(tiling.paper.window[1] + down, LEAST_MAP_MM)
    scale = min(MOST_SCALE, FRONT_WIDE_MM / (box.right - box.left), room / (box.top - box.bottom))
    left = (FRONT_WIDE_MM - (box.right - box.left) * scale) / 2.0
    small = Affine(xx=scale, yy=scale, dx=left - box.left * scale, dy=down - box.top * scale)
    taken = list[Box]()
    for tile in tiling.tiles:
        a, b = small(Point(tile.window.left, tile.window.bottom)), small(Point(tile.window.right, tile.window.top))
        marks["map-tile"].append(oblong(Box(a.x, a.y, b.x, b.y)))
        name = Text(tile.name, Point(a.x + 1.5, a.y + 1.5), FRONT_HEAD_MM, bold=True)
        marks["words"].append(name)
        taken.append(box_round([name]))
    for placing in tiling.placings:
        layer = placing.drawing.layer("outline")
        move = placing.move.then(small)
        for mark in layer.marks if layer else ():
            if isinstance(mark, Path):
                marks["map-outline"].append(Path(tuple(moved(s, move) for s in mark.segments), mark.closed))
        frame = frame_of([layer] if layer else [], 0.0)
        middle = move(Point((frame.left + frame.right) / 2.0, (frame.bottom + frame.top) / 2.0))
        for way in _name_ways(piece_title(placing.drawing.title), middle):
            box = box_round(way)
            if not any(box.near(other, 0.3) for other in taken):
                marks["soft-words"] += way
                taken.append(box)
                break


def _name_ways(said: str, middle: Point) -> Iterator[list[Text]]:
    """A piece's name near its middle, in one line, else word under word; where none is clear the pages alone say it."""
    for lines in (said.split(" "),) if MAP_NAME_MM * len(said) > WIDE_MAP_NAME_MM else ([said], said.split(" ")):
        for right, up in product(NAME_ASIDE_MM, NAME_ASIDE_MM):
            yield [
                Text(line, Point(middle.x + right, middle.y + up - n * MAP_NAME_MM * 1.2), MAP_NAME_MM, anchor="middle")
                for n, line in enumerate(lines)
            ]


def _head(marks: Marks, words: str, down: float) -> float:
    marks["words"].append(Text(words, Point(0.0, down - FRONT_HEAD_MM * 0.7), FRONT_HEAD_MM, bold=True))
    return down - FRONT_HEAD_MM - 4.8


def _paragraph(marks: Marks, text: str, at: Point, wide_mm: float) -> float:
    lines = [*lines_within(text, wide_mm, FRONT_BODY_MM)]
    for n, line in enumerate(lines):
        marks["words"].append(Text(line, Point(at.x, at.y - n * LEAD_MM), FRONT_BODY_MM))
    return at.y - len(lines) * LEAD_MM
