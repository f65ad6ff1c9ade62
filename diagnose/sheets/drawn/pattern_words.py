"""The words on a drawn pattern: dimensions, landmarks, levels and pieces, each set where it is crossed least.

Millimetres, y upwards.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import compress, pairwise, product
from textwrap import wrap

import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import across, add, along, scaled, sub, unit
from diagnose.pattern.geometry.polylines import part_along
from diagnose.pattern.in_words import edge_title, piece_title
from diagnose.pattern.measure import bounds, cut_level
from diagnose.pattern.outline import Piece, Point
from diagnose.sheets.drawn.differences import paper_of
from diagnose.sheets.drawn.drawing import Anchor, Layer, Mark, Measure, Path, Text, plain_marks, words_corners, words_of
from diagnose.sheets.drawn.ground import Block, Ground, ground_of, lies_on
from diagnose.sheets.drawn.letters import words_wide

__all__ = ["Lettering", "cut_told", "cut_words", "level_ways", "measure_told", "with_words"]

SMALL_LETTERS_RATIO = 0.64
SAID_LETTERS = 26
LINE_LEAD_RATIO = 1.4
NAME_RATIO = 1.25
LINES_APART = 1.2
SCREEN_NAME_RATIO = 1.1
"""On a screen, where no letters are much lower than others, names take no more room than they need."""

LABEL_ROOM_MM = 20.0


class Lettering(Struct, frozen=True):
    """How the words of a drawing are set.

    Attributes:
        text_mm: the height of the letters.
        least: for a screen: no letters are lower than so much of that height.
        crowded: how a piece is cut is not written on it.
        said: small lines under the name of each piece.
        clear_of: lines drawn elsewhere that words keep clear of.
        within: names that stand beside their pieces stand within it.
    """

    text_mm: float
    least: float = 0.0
    crowded: bool = False
    said: Sequence[str] = ()
    clear_of: Sequence[Path] = ()
    within: Box | None = None

    @property
    def name_mm(self) -> float:
        """How high the letters of names are."""
        return self.text_mm * (SCREEN_NAME_RATIO if self.least else NAME_RATIO)

    def lower_mm(self, ratio: float) -> float:
        """How high letters are that are lower by that."""
        return self.text_mm * max(ratio, self.least)


def with_words(layers: Sequence[Layer], pieces: Sequence[Piece], lettering: Lettering) -> list[Layer]:
    """The layers with their words: dimensions set clear, landmarks, levels and pieces named.

    Args:
        layers: with their lines; dimensions among them are shifted where they stand badly.
        pieces: as they lie on the drawing.
        lettering: how the words are set.
    """
    by_id = {layer.id: layer for layer in layers}
    ground = ground_of([_lines_alone(layer) for layer in layers], lettering.clear_of)
    if measures := by_id.get("dimensions"):
        by_id["dimensions"] = replace(measures, marks=tuple(_shifted(mark, ground) for mark in measures.marks))
    for id_, set_ in (("landmarks", _landmarks), ("levels", _levels), ("names", _names)):
        if id_ in by_id:
            by_id[id_] = replace(by_id[id_], marks=(*by_id[id_].marks, *set_(pieces, lettering, ground)))
    return list(by_id.values())


def measure_told(measure: Measure, piece: Piece) -> str:
    """A dimension in words, as they stand beside a drawing that has no room for it."""
    edge = next((one for one in piece.edges if one.name == measure.edge), None)
    place = f" at the {measure.at}" if measure.at in STATIONS else f" {measure.at}" if measure.at else ""
    return f"{piece_title(piece.name)}{f', {edge_title(edge)}' if edge else ''}{place}: {measure.words}"


def _lines_alone(layer: Layer) -> Layer:
    """The layer with its dimensions as lines: their words are still to be set."""
    if layer.id != "dimensions":
        return layer
    return replace(layer, marks=tuple(mark for mark in plain_marks(layer.marks) if not isinstance(mark, Text)))


def _shifted(mark: Mark, ground: Ground) -> Mark:
    """A dimension with its words where they are crossed least: beyond its end, beside that, farther out."""
    if not isinstance(mark, Measure):
        return mark
    out = unit(sub(mark.start, mark.end))
    beside = across(out)
    steps = [(0.0, 0.0), *product((0.0, 1.5, 3.0), (1.1, -1.1, 2.2, -2.2)), (1.5, 0.0), (3.0, 0.0), (5.0, 0.0)]
    ways = [add(scaled(out, o * mark.size_mm), scaled(beside, b * mark.size_mm)) for o, b in steps]
    tried = [replace(mark, aside=way) for way in ways]
    number, _ = ground.best((words_of(one),) for one in tried)
    return tried[number]


def _landmarks(pieces: Sequence[Piece], lettering: Lettering, ground: Ground) -> Iterator[Text]:
    text_mm, size = lettering.text_mm, lettering.lower_mm(0.78)
    for of, name, p in ((one, *mark) for one in pieces for mark in one.landmarks.items()):
        words = name.replace("-", " ")
        told = f"{words}, {piece_title(of.name)}"
        ways = (
            (Text(words, Point(p.x + x * text_mm, p.y + y * text_mm), size, anchor=anchor, told=told),)
            for (x, anchor), y in product(_ACROSS, (-1.1, 0.6, -0.25, -1.9, 1.5))
        )
        yield from ground.best(ways)[1]


_ACROSS: tuple[tuple[float, Anchor], ...] = ((0.56, "start"), (-0.56, "end"), (0.0, "middle"), (1.4, "start"))


def _levels(pieces: Sequence[Piece], lettering: Lettering, ground: Ground) -> Iterator[Text]:
    """The levels' names, each once, at the front end on the first piece that has it."""
    named: set[str] = set()
    for piece in pieces:
        for station in STATIONS:
            if station in piece.levels and station not in named:
                spots = [p for part in cut_level(piece, piece.levels[station]).parts for p in part]
                if spots:
                    named.add(station)
                    yield from ground.best(level_ways(station, spots, lettering, turned=piece.side == "right"))[1]


def level_ways(station: str, spots: Sequence[Point], lettering: Lettering, *, turned: bool) -> Iterator[Block]:
    """The name of a level as it may be set at its front end, the best way first.

    Args:
        station: which level.
        spots: the ends of its parts inside the outline.
        lettering: how words are set.
        turned: whether its piece is turned over.
    """
    text_mm, size = lettering.text_mm, lettering.lower_mm(0.8)
    out = 1.0 if turned else -1.0
    end = max(spots, key=lambda p: out * p.x)
    anchors: tuple[Anchor, Anchor] = ("start", "end") if turned else ("end", "start")
    for (x, anchor), y in product(
        ((0.5, anchors[0]), (1.6, anchors[0]), (-0.5, anchors[1]), (4.6, anchors[0])), (-0.3, 0.35, -1.0)
    ):
        spot = Point(end.x + out * x * text_mm, end.y + y * text_mm)
        yield (Text(station, spot, size, anchor=anchor, told=f"level of the {station}"),)


def _names(pieces: Sequence[Piece], lettering: Lettering, ground: Ground) -> Iterator[Text]:
    """The name of each piece, how it is cut, and what else is said of it: never on the paper of another."""
    papers = [paper_of(piece) for piece in pieces]
    for n, piece in enumerate(pieces):
        yield from _name(piece, lettering, ground, paper=papers[n], others=papers[:n] + papers[n + 1 :])


def _name(
    piece: Piece, lettering: Lettering, ground: Ground, *, paper: BaseGeometry, others: Sequence[BaseGeometry]
) -> Iterator[Text]:
    """The words of a piece in one block: on its own paper, else beside it."""
    box = bounds(piece)
    beyond = words_wide(piece_title(piece.name), lettering.name_mm, bold=True) - (box.right - box.left)
    on = (
        _block(piece, spot, "middle", lettering=lettering, parted=beyond > -LABEL_ROOM_MM)
        for spot in _spots_on(piece, box, paper)
    )
    beside = (
        _block(piece, spot, anchor, lettering=lettering, parted=beyond > LABEL_ROOM_MM)
        for spot, anchor in _spots_beside(box, lettering)
    )
    off = (block for block in beside if _is_held(block, lettering.within) and not lies_on(block, others))
    yield from ground.best(on, off)[1]


def _is_held(block: Block, within: Box | None) -> bool:
    return within is None or all(within.off(corner) == 0.0 for text in block for corner in words_corners(text))


def _block(piece: Piece, at: Point, anchor: Anchor, *, lettering: Lettering, parted: bool) -> Block:
    """The words in lines that begin, are centred or end at a place; `parted` ones set the name in two lines."""
    text_mm, small, size = lettering.text_mm, lettering.lower_mm(SMALL_LETTERS_RATIO), lettering.name_mm
    title = piece_title(piece.name)
    first, _, last = title.rpartition(" ") if parted and title[-1:].isalpha() else ("", "", title)
    heads = [Text(first, at, size, anchor=anchor, bold=True)] if first else []
    low = at.y - (size * LINES_APART if first else 0.0)
    heads.append(Text(last, Point(at.x, low), size, anchor=anchor, bold=True))
    told = cut_told(piece)
    if lettering.least:
        heads = [replace(one, told=told) for one in heads]
    if lettering.crowded:
        return tuple(heads)
    down = low - text_mm * 1.4
    cut = Text(cut_words(piece), Point(at.x, down), lettering.lower_mm(0.85), anchor=anchor, told=told)
    rows = (
        Text(words, Point(at.x, down - text_mm * 0.34 - n * small * LINE_LEAD_RATIO), small, anchor=anchor)
        for n, words in enumerate((line for words in lettering.said if words for line in wrap(words, SAID_LETTERS)), 1)
    )
    return (*heads, cut, *rows)


def _spots_on(piece: Piece, box: Box, paper: BaseGeometry) -> Iterator[Point]:
    """The middle of the piece, then other places on its paper."""
    yield _label_spot(piece, box)
    spots = [
        Point(box.left + part * (box.right - box.left), box.bottom + up * (box.top - box.bottom))
        for up, part in product((0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2), (0.5, 0.38, 0.62, 0.28, 0.72))
    ]
    yield from compress(spots, shapely.intersects_xy(paper, spots))


def _spots_beside(box: Box, lettering: Lettering) -> Iterator[tuple[Point, Anchor]]:
    """Places off the paper of the piece: right, left and below; on a screen, where pieces lie close, there are more."""
    text_mm, close = lettering.text_mm, bool(lettering.least)
    points = [p for path in lettering.clear_of for s in path.segments for p in (s.start, s.end)]
    xs, ys = [box.left, box.right, *(p.x for p in points)], [box.bottom, box.top, *(p.y for p in points)]
    heights = [box.bottom + up * (box.top - box.bottom) for up in ((0.5, 0.8, 0.2, 0.65, 0.35) if close else (0.5,))]
    beside: list[tuple[Point, Anchor]] = [(Point(min(xs) - text_mm, height), "end") for height in heights]
    yield from ((Point(max(xs) + text_mm, height), "start") for height in heights)
    if not close:
        yield from beside
    across = ((box.left + box.right) / 2.0, *((box.left, box.right) if close else ()))
    for x, down in product(across, (2.0, 4.5)):
        yield Point(x, min(ys) - down * text_mm), "middle"
    for x in across:
        yield Point(x, max(ys) + 3.0 * text_mm), "middle"
    if close:
        # To its left a name may be read as that of the piece beside it.
        yield from beside


def _label_spot(piece: Piece, box: Box) -> Point:
    """Between two levels, in the middle of the piece."""
    line = piece.levels.get("underbust") or piece.levels.get("waist")
    low = piece.levels.get("waist") or piece.levels.get("hip")
    if not line or not low or line == low:
        return Point((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0)
    upper, lower = (part_along(list(pairwise(level)), 0.5) for level in (line, low))
    return along(lower, upper, 0.5)


def cut_told(piece: Piece) -> str:
    """How a piece is cut, as it stands beside a drawing that has no room for it."""
    return f"{piece_title(piece.name)}: {cut_words(piece)}"


def cut_words(piece: Piece) -> str:
    """How often a piece is cut from each layer of cloth."""
    words = {"fold": "cut 1 on the fold", "pair": "cut 1 pair", "single": "cut 1"}[piece.cut]
    return words if piece.side == "both" else f"{words}, the {piece.side} side"
