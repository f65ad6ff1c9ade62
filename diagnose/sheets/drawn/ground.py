"""Where words may stand on a drawing: clear of its lines and of other words; and which of them stay.

Every word, or block of words, has a few places where it may stand, the best first; the one that is crossed least is
taken. Millimetres, y upwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice, pairwise
from typing import Any

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.pattern.geometry.bezier import Box, around, flatten
from diagnose.pattern.geometry.plane import add, distance, scaled, sub, unit
from diagnose.sheets.drawn.drawing import (
    UNSHIFTED,
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

__all__ = ["Block", "Ground", "ground_of", "lies_on", "thinned"]

WEIGHTS: Mapping[str, float] = {"channels": 0.12, "levels": 0.12, "grain": 0.4, "outline": 3.0}
"""How badly words are crossed by the lines of a layer, beside 1 for others: thin lines end at the words' white rim."""

UNHEEDED = ("taken-away", "added")

WORDS_CHORD_TOL_MM = 0.3
EACH_WAY = 0.1
AT_ONCE = 8
"""So many ways are looked at together: to look at one alone takes as long."""

CLEAR = 0.3
OVERLAP = 60.0
OFF_PAPER = 6.0
SLIGHT = 1e-12
BESIDE = 0.4
"""Letters of room between words on one line: B1 and 0.4 cm are not to be read as one."""

PRIORITY = ("names", "letters", "dimensions", "levels", "landmarks", "numbers")
"""The layers whose words stay where there is no room for all, the first before the others."""
FAR_LETTERS = 2.5
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


def lies_on(block: Block, shapes: Sequence[BaseGeometry]) -> bool:
    """Whether any of the words lies on one of the shapes."""
    return bool(shapely.intersects(_boxes(_corners(block))[:, None], np.array(shapes, dtype=object)).any())


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
