"""Words on a drawn pattern, each set where it keeps clear of lines and of other words.

Every word, or block of words, has a few places where it may stand, the best first; the one that is crossed least is
taken. Millimetres, y upwards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import chain, compress, islice, pairwise, product
from textwrap import wrap
from typing import Any

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.bezier import Box, around, flatten
from diagnose.pattern.geometry.plane import across, add, along, distance, scaled, sub, unit
from diagnose.pattern.geometry.polylines import part_along
from diagnose.pattern.in_words import edge_title, piece_title
from diagnose.pattern.measure import bounds, cut_level
from diagnose.pattern.outline import Piece, Point
from diagnose.sheets.drawn.differences import paper_of
from diagnose.sheets.drawn.drawing import (
    UNSHIFTED,
    Anchor,
    Layer,
    Mark,
    Measure,
    Path,
    Text,
    box_round,
    plain_marks,
    words_corners,
    words_of,
)
from diagnose.sheets.drawn.letters import words_wide

__all__ = [
    "Ground",
    "cut_told",
    "cut_words",
    "ground_of",
    "level_ways",
    "measure_told",
    "thinned",
    "with_words",
]

WEIGHTS: Mapping[str, float] = {"channels": 0.12, "levels": 0.12, "grain": 0.4, "outline": 3.0}
"""How badly words are crossed by the lines of a layer, beside 1 for others: thin lines end at the words' white rim."""

UNHEEDED = ("taken-away", "added")

WORDS_CHORD_TOL_MM = 0.3
EACH_WAY = 0.1
AT_ONCE = 8
"""So many ways are looked at together: to look at one alone takes as long."""

CLEAR = 0.3
OVERLAP = 60.0
SLIGHT = 1e-12
BESIDE = 0.4
"""Letters of room between words on one line: B1 and 0.4 cm are not to be read as one."""

SMALL_LETTERS_RATIO = 0.64
OFF_PAPER = 6.0
SAID_LETTERS = 26
LINE_LEAD_RATIO = 1.4
NAME_RATIO = 1.25
LINES_APART = 1.2
SCREEN_NAME_RATIO = 1.1
"""On a screen, where no letters are much lower than others, names take no more room than they need."""

PRIORITY = ("names", "letters", "dimensions", "levels", "landmarks", "numbers")
"""The layers whose words stay where there is no room for all, the first before the others."""
FAR_LETTERS = 2.5
LABEL_ROOM_MM = 20.0
Block = tuple[Text, ...]


class Ground(Struct, frozen=True):
    """The lines that words should keep clear of, chord by chord with their weights, and the words that stand already.

    A chord is its two ends, a row of `chords`; `near` finds those that a box meets.
    """

    chords: NDArray[Any]
    near: shapely.STRtree
    weights: NDArray[Any]
    words: list[Polygon] = field(default_factory=list)

    def best(self, ways: Iterable[Block], dear: Iterable[Block] = ()) -> tuple[int, Block]:
        """The number of the way that is crossed least, and its words, which stand from now on.

        Args:
            ways: the words as they may be set, the best first.
            dear: further ways, to be taken only where the others are crossed badly.
        """
        least = float("inf")
        found: tuple[int, Block] = (0, ())
        costs = enumerate(chain(((0.0, way) for way in ways), ((OFF_PAPER, way) for way in dear)))
        while some := [*islice(costs, AT_ONCE)]:
            for (number, (more, way)), crossed in zip(some, self._crossed([way for _, (_, way) in some]), strict=True):
                cost = more + EACH_WAY * number + crossed
                if cost < least:
                    least, found = cost, (number, way)
                if least <= CLEAR + more + EACH_WAY * number:
                    return self._taken(found)
        return self._taken(found)

    def _taken(self, found: tuple[int, Block]) -> tuple[int, Block]:
        self.words.extend(_boxes(_corners(found[1], BESIDE)))
        return found

    def _crossed(self, ways: Sequence[Block]) -> list[float]:
        """How much of the words of each way, in their own heights, is crossed by lines or covered by other words."""
        texts = [text for way in ways for text in way]
        of = np.repeat(np.arange(len(ways)), [len(way) for way in ways])
        corners, sizes = _corners(texts), np.array([text.size_mm for text in texts])
        boxes, words = _boxes(corners), np.array(self.words, dtype=object)
        box, chord = self.near.query(boxes, predicate="intersects")
        hidden = _mm_within(self.chords[chord], corners[box])
        total = np.bincount(of[box], hidden * self.weights[chord] / sizes[box], len(ways))
        box, word = np.nonzero(shapely.intersects(boxes[:, None], words[None, :]))
        covered = shapely.area(shapely.intersection(boxes[box], words[word]))
        costs: list[float] = (total + np.bincount(of[box], OVERLAP * covered / sizes[box] ** 2, len(ways))).tolist()
        return costs


def _corners(texts: Iterable[Text], beside: float = 0.0) -> NDArray[Any]:
    """The four corners, round it, of the oblong that each of the words takes up.

    Args:
        texts: the words.
        beside: so many letters of room before and behind them belong to it.
    """
    rings = []
    for text in texts:
        a, b, c, d = words_corners(text)
        if beside and a != c:
            room = scaled(unit(sub(c, a)), beside * text.size_mm)
            a, b, c, d = sub(a, room), sub(b, room), add(c, room), add(d, room)
        rings.append((a, b, d, c))
    return np.array(rings).reshape(-1, 4, 2)


def _boxes(corners: NDArray[Any]) -> NDArray[Any]:
    boxes: NDArray[Any] = shapely.polygons(corners)
    return boxes


def _mm_within(chords: NDArray[Any], oblongs: NDArray[Any]) -> NDArray[Any]:
    """How much of each chord lies in its oblong, mm: what is left of it between one pair of sides and the other."""
    corner, sides = oblongs[:, :1], oblongs[:, (1, 3)] - oblongs[:, :1]
    across = (chords - corner) @ sides.swapaxes(1, 2) / np.maximum((sides * sides).sum(axis=2), SLIGHT)[:, None]
    start, way = across[:, 0], across[:, 1] - across[:, 0]
    way = np.where(way == 0.0, SLIGHT, way)  # beside a pair of sides: between them all the way, or nowhere
    one, other = -start / way, (1.0 - start) / way
    enter, leave = np.minimum(one, other).max(axis=1), np.maximum(one, other).min(axis=1)
    share = np.maximum(np.minimum(leave, 1.0) - np.maximum(enter, 0.0), 0.0)
    inside: NDArray[Any] = share * np.hypot(*(chords[:, 1] - chords[:, 0]).T)
    return inside


def ground_of(layers: Sequence[Layer], more: Iterable[Path] = ()) -> Ground:
    """The ground of finished layers: their lines, and the words on them."""
    lines = [(layer.id, path) for layer in layers if layer.id not in UNHEEDED for path in _paths(layer.marks)]
    lines += [("", path) for path in more]
    runs = [(id_, flatten(segment, WORDS_CHORD_TOL_MM)) for id_, path in lines for segment in path.segments]
    chords = np.array([chord for _, run in runs for chord in pairwise(run)]).reshape(-1, 2, 2)
    weights = np.repeat([WEIGHTS.get(id_, 1.0) for id_, _ in runs], [len(run) - 1 for _, run in runs])
    texts = (mark for layer in layers for mark in plain_marks(layer.marks) if isinstance(mark, Text))
    words = [*_boxes(_corners(texts, BESIDE))]
    return Ground(chords, shapely.STRtree(shapely.linestrings(chords)), weights, words=words)


def _paths(marks: Iterable[Mark]) -> Iterator[Path]:
    return (mark for mark in plain_marks(marks) if isinstance(mark, Path))


def with_words(
    layers: Sequence[Layer],
    pieces: Sequence[Piece],
    text_mm: float,
    said: Sequence[str] = (),
    clear_of: Sequence[Path] = (),
    *,
    least: float = 0.0,
    crowded: bool = False,
    within: Box | None = None,
) -> list[Layer]:
    """The layers with their words: dimensions set clear, landmarks, levels and pieces named.

    Args:
        layers: with their lines; dimensions among them are shifted where they stand badly.
        pieces: as they lie on the drawing.
        text_mm: the height of the letters.
        said: small lines under the name of each piece.
        clear_of: more lines to keep clear of.
        least: no letters are lower than so much of that height.
        crowded: how a piece is cut is not written on it.
        within: names that stand beside their pieces stand within it.
    """
    by_id = {layer.id: layer for layer in layers}
    ground = ground_of([_lines_alone(layer) for layer in layers], clear_of)
    if measures := by_id.get("dimensions"):
        by_id["dimensions"] = replace(measures, marks=tuple(_shifted(mark, ground) for mark in measures.marks))
    words: dict[str, Callable[[], Iterable[Text]]] = {
        "landmarks": lambda: (text for piece in pieces for text in _landmarks(piece, text_mm, ground, least=least)),
        "levels": lambda: _levels(pieces, text_mm, ground, least=least),
        "names": lambda: _all_names(
            pieces,
            text_mm,
            said,
            clear_of=clear_of,
            ground=ground,
            least=least,
            crowded=crowded,
            within=within,
        ),
    }
    for id_, set_ in words.items():
        if id_ in by_id:
            by_id[id_] = replace(by_id[id_], marks=(*by_id[id_].marks, *set_()))
    return list(by_id.values())


def thinned(
    layers: Sequence[Layer], pieces: Sequence[Box], most: tuple[float, float] | None = None
) -> tuple[list[Layer], tuple[str, ...]]:
    """The layers with no words over others, and what is told of those that found no room.

    Args:
        layers: with all their words.
        pieces: what each piece takes up.
        most: how wide and high pieces and words may be together, mm.
    """
    kept, whole = list[Box](), around(pieces)
    left_out = list[str]()
    by_id = {layer.id: layer for layer in layers}
    for layer in sorted((by_id[id_] for id_ in PRIORITY if id_ in by_id), key=lambda one: PRIORITY.index(one.id)):
        marks = list[Mark]()
        for mark in sorted(layer.marks, key=_may_be_left_out):
            words = _own_words(mark)
            box = _rimmed(words) if words else None
            if words is not None and box is not None:
                grown = around((whole, box))
                badly = any(box.near(one, 0.0) for one in kept) or (
                    most is not None and (_is_far(mark) or not _is_within(grown, whole, most))
                )
                # The second line of a name goes with the first.
                if words.told and (badly or words.told in left_out):
                    left_out.append(words.told)
                    if isinstance(mark, Measure):
                        marks.append(replace(mark, words=""))
                    continue
                kept.append(box)
                whole = grown
            marks.append(mark)
        by_id[layer.id] = replace(layer, marks=tuple(marks))
    return list(by_id.values()), tuple(dict.fromkeys(left_out))


def _rimmed(words: Text) -> Box:
    """The box of words, with room before and behind them: no two letter faces run equally wide."""
    box, rim = box_round([words]), BESIDE / 2.0 * words.size_mm
    return Box(box.left - rim, box.bottom, right=box.right + rim, top=box.top)


def _is_far(mark: Mark) -> bool:
    """Whether words stand so far from the end of their dimension that they may be read as another's."""
    return isinstance(mark, Measure) and distance(mark.aside, UNSHIFTED) > FAR_LETTERS * mark.size_mm


def _is_within(grown: Box, before: Box, most: tuple[float, float]) -> bool:
    """Whether it is no wider and no higher than that, or than before."""
    wide = grown.right - grown.left <= max(most[0], before.right - before.left)
    return wide and grown.top - grown.bottom <= max(most[1], before.top - before.bottom)


def _own_words(mark: Mark) -> Text | None:
    return words_of(mark) if isinstance(mark, Measure) else mark if isinstance(mark, Text) else None


def _may_be_left_out(mark: Mark) -> bool:
    return bool(isinstance(mark, Text) and mark.told and not mark.bold)


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


def _landmarks(piece: Piece, text_mm: float, ground: Ground, *, least: float) -> Iterator[Text]:
    size = text_mm * max(0.78, least)
    for name, p in piece.landmarks.items():
        words = name.replace("-", " ")
        told = f"{words}, {piece_title(piece.name)}"
        ways = [
            (Text(words, Point(p.x + x * text_mm, p.y + y * text_mm), size, anchor=anchor, told=told),)
            for (x, anchor), y in product(_ACROSS, (-1.1, 0.6, -0.25, -1.9, 1.5))
        ]
        yield from ground.best(ways)[1]


_ACROSS: tuple[tuple[float, Anchor], ...] = ((0.56, "start"), (-0.56, "end"), (0.0, "middle"), (1.4, "start"))


def _levels(pieces: Sequence[Piece], text_mm: float, ground: Ground, *, least: float) -> Iterator[Text]:
    """The levels' names, each once, at the front end on the first piece that has it."""
    named: set[str] = set()
    for piece in pieces:
        for station in STATIONS:
            if station in piece.levels and station not in named:
                spots = [p for part in cut_level(piece, piece.levels[station]).parts for p in part]
                if spots:
                    named.add(station)
                    ways = level_ways(station, spots, text_mm, turned=piece.side == "right", least=least)
                    yield from ground.best(ways)[1]


def level_ways(
    station: str, spots: Sequence[Point], text_mm: float, *, turned: bool, least: float = 0.0
) -> Iterator[Block]:
    """The name of a level as it may be set at its front end, the best way first.

    Args:
        station: which level.
        spots: the ends of its parts inside the outline.
        text_mm: the height of the letters.
        turned: whether its piece is turned over.
        least: they are not lower than so much of that height.
    """
    size = text_mm * max(0.8, least)
    out = 1.0 if turned else -1.0
    end = max(spots, key=lambda p: out * p.x)
    anchors: tuple[Anchor, Anchor] = ("start", "end") if turned else ("end", "start")
    for (x, anchor), y in product(
        ((0.5, anchors[0]), (1.6, anchors[0]), (-0.5, anchors[1]), (4.6, anchors[0])), (-0.3, 0.35, -1.0)
    ):
        spot = Point(end.x + out * x * text_mm, end.y + y * text_mm)
        yield (Text(station, spot, size, anchor=anchor, told=f"level of the {station}"),)


def _all_names(
    pieces: Sequence[Piece], text_mm: float, said: Sequence[str], clear_of: Sequence[Path], ground: Ground, *,
    least: float, crowded: bool, within: Box | None,
) -> Iterator[Text]:  # fmt: skip
    """The name of each piece, how it is cut, and what else is said of it: never on the paper of another."""
    papers = np.array([paper_of(piece) for piece in pieces], dtype=object)
    for n, piece in enumerate(pieces):
        yield from _names(
            piece, text_mm, said, clear_of=clear_of, ground=ground, paper=papers[n], others=np.delete(papers, n),
            least=least, crowded=crowded, within=within,
        )  # fmt: skip


def _names(
    piece: Piece, text_mm: float, said: Sequence[str], clear_of: Sequence[Path], ground: Ground, *,
    paper: BaseGeometry, others: NDArray[Any], least: float, crowded: bool,
    within: Box | None,
) -> Iterator[Text]:  # fmt: skip
    """The piece's name, how it is cut, and what else is said of it, in one block."""
    lines = [line for words in said if words for line in wrap(words, SAID_LETTERS)]
    box = bounds(piece)
    ratio = SCREEN_NAME_RATIO if least else NAME_RATIO
    beyond = words_wide(piece_title(piece.name), text_mm * ratio, bold=True) - (box.right - box.left)
    inside = (
        _block(
            piece,
            spot,
            "middle",
            text_mm=text_mm,
            said=lines,
            parted=beyond > -LABEL_ROOM_MM,
            least=least,
            crowded=crowded,
        )
        for spot in _spots_on(piece, box, paper)
    )
    beside = (
        _block(
            piece,
            spot,
            anchor,
            text_mm=text_mm,
            said=lines,
            parted=beyond > LABEL_ROOM_MM,
            least=least,
            crowded=crowded,
        )
        for spot, anchor in _spots_beside(box, text_mm, clear_of, close=bool(least))
    )
    held = (block for block in beside if within is None or all(within.off(p) == 0.0 for p in _corner_points(block)))
    off = (block for block in held if not shapely.intersects(_boxes(_corners(block))[:, None], others).any())
    yield from ground.best(inside, off)[1]


def _corner_points(block: Block) -> Iterator[Point]:
    return chain.from_iterable(words_corners(text) for text in block)


def _block(
    piece: Piece, at: Point, anchor: Anchor, text_mm: float, said: Sequence[str], *, parted: bool = False,
    least: float = 0.0, crowded: bool = False,
) -> Block:  # fmt: skip
    """The words in lines that begin, are centred or end at a place; `parted` ones set the name in two lines."""
    small, size = text_mm * max(SMALL_LETTERS_RATIO, least), text_mm * (SCREEN_NAME_RATIO if least else NAME_RATIO)
    title = piece_title(piece.name)
    first, _, last = title.rpartition(" ") if parted and title[-1:].isalpha() else ("", "", title)
    heads = [Text(first, at, size, anchor=anchor, bold=True)] if first else []
    low = at.y - (size * LINES_APART if first else 0.0)
    heads.append(Text(last, Point(at.x, low), size, anchor=anchor, bold=True))
    told = cut_told(piece)
    if least:
        heads = [replace(one, told=told) for one in heads]
    if crowded:
        return tuple(heads)
    down = low - text_mm * 1.4
    cut = Text(cut_words(piece), Point(at.x, down), text_mm * max(0.85, least), anchor=anchor, told=told)
    rows = (
        Text(words, Point(at.x, down - text_mm * 0.34 - n * small * LINE_LEAD_RATIO), small, anchor=anchor)
        for n, words in enumerate(said, 1)
    )  # fmt: skip
    return (*heads, cut, *rows)


def _spots_on(piece: Piece, box: Box, paper: BaseGeometry) -> Iterator[Point]:
    """The middle of the piece, then other places on its paper."""
    yield _label_spot(piece, box)
    spots = [
        Point(box.left + part * (box.right - box.left), box.bottom + up * (box.top - box.bottom))
        for up, part in product((0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2), (0.5, 0.38, 0.62, 0.28, 0.72))
    ]
    yield from compress(spots, shapely.intersects_xy(paper, spots))


def _spots_beside(box: Box, text_mm: float, clear_of: Sequence[Path], *, close: bool) -> Iterator[tuple[Point, Anchor]]:
    """Places off the paper of the piece: to its right, to its left, below it; more of them where pieces lie close."""
    points = [p for path in clear_of for s in path.segments for p in (s.start, s.end)]
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
