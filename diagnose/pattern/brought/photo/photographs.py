"""Photographs in, a sketch in mm out: what lies on the table, how true it is, and the straightened picture.

The frame is that of the card of the lowest number: its lower left corner is 0, 0 and its long side goes up, so a
pattern is laid the same way up as the card.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.accuracy import Truth, checked_card, stated
from diagnose.pattern.brought.photo.cards import FoundCard, blur_of, find_cards, more_cards, refined
from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.found.fitting import fitted
from diagnose.pattern.brought.photo.found.in_view import clear_of_cards, left_out
from diagnose.pattern.brought.photo.found.laid_pieces import Region
from diagnose.pattern.brought.photo.found.pencil import inner_lines, line_mask, within_pieces
from diagnose.pattern.brought.photo.found.tracing import edge_off, traced
from diagnose.pattern.brought.photo.found.which_pieces import (
    Looked,
    is_one_table,
    looked_at,
    pieces_seen,
    sheet_corners,
)
from diagnose.pattern.brought.photo.laid_under import picture_under, pictures_beside
from diagnose.pattern.brought.photo.pixels import as_jpeg, open_photo
from diagnose.pattern.brought.photo.printed_size import checked_sheets
from diagnose.pattern.brought.photo.solving import Lies, Solved, placed, solve, then, turned_back
from diagnose.pattern.brought.photo.straightening import GAMMA, Straightened, straightened
from diagnose.pattern.brought.sketch import Sketch, Stroke
from diagnose.pattern.geometry.bezier import Box, box_of
from diagnose.pattern.outline import Pattern

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.lens import Array, View

__all__ = ["Photographed", "read_photos"]

MOST_PHOTOS = 12
COARSE_CELLS, LOOKED_THROUGH_CELLS = 1.6e6, 4e6
LOOKED_ROUND_MM = 30.0
"""How far round pieces and cards the picture is looked at finely and kept."""

RIM_PX = 3.0
KEPT_CELLS = 5_000_000
KEPT_CELL_MM = 0.5


class Photographed(Struct, frozen=True):
    """What photographs show: a sketch, how true it is, and the straightened picture with its place.

    `box` is what of the table the picture (a JPEG) shows: left, bottom, right, top, in mm of the sketch.
    """

    sketch: Sketch
    truth: Truth
    picture: bytes
    box: Box

    def under(self, pattern: Pattern) -> tuple[bytes, Box]:
        """The picture and its place under a pattern made of the sketch, whose pieces may have been moved since."""
        return picture_under(self.picture, self.box, self.sketch, pattern=pattern)


class _Shot(Struct, frozen=True):
    pixels: Any
    cards: tuple[FoundCard, ...]
    solved: Solved
    name: str


def read_photos(photos: Sequence[tuple[bytes, str]], ruler: tuple[float, float] | None = None) -> Photographed:
    """The sketch that photographs of one pattern come to.

    Args:
        photos: the bytes and the name of each.
        ruler: how much longer than it should be the card's rule is, across and along, as she measured it.

    Raises:
        FitError: when a file is no sound picture, no card is found, or it would not be true enough; with what to do.
    """
    if len(photos) > MOST_PHOTOS:
        what, do = f"{len(photos)} are too many.", f"Give at most {MOST_PHOTOS}."
        raise FitError.of("photographs", what, do, code="too-many")
    shots = [_shot(data, name, ruler) for data, name in photos]
    groups = _joined(shots)
    made = [_read(group, ruler is not None) for group in groups]
    return made[0] if len(made) == 1 else _beside(made)


def _shot(data: bytes, name: str, ruler: tuple[float, float] | None) -> _Shot:
    """One photograph with its cards found and its camera solved."""
    cv = opencv()
    pixels = open_photo(data, name)
    gray = cv.cvtColor(pixels, cv.COLOR_BGR2GRAY)
    size, printed = (gray.shape[1], gray.shape[0]), ruler or (1.0, 1.0)
    light = ((np.arange(256) / 255.0) ** GAMMA).astype(np.float32)[gray]
    rough = find_cards(gray, name)
    cards, solved = _fine(light, rough, solve(rough, size, printed), printed=printed, name=name)
    if len(cards) == 1:
        flat = straightened([(pixels, solved.view)], most_cells=LOOKED_THROUGH_CELLS)
        others = more_cards(flat.gray, [card.number for card in cards])
        if others:
            there = [replace(card, px=solved.view.project(flat.table(card.px))) for card in others]
            rough = tuple(sorted((*cards, *there), key=lambda card: card.number))
            cards, solved = _fine(light, rough, solve(rough, size, printed), printed=printed, name=name)
    blur = [(blur_of(gray, card), card) for card in cards]
    checked_card(solved, blur, name)
    return _Shot(pixels, cards, solved, name=name)


def _fine(
    light: Any, cards: tuple[FoundCard, ...], solved: Solved, printed: tuple[float, float], name: str
) -> tuple[tuple[FoundCard, ...], Solved]:
    """The cards with their corners found finely, and the camera solved by them."""
    for _ in range(2):
        fine = [refined(light, card, _looking(solved, card, printed)) for card in cards]
        cards = tuple(card for card in fine if card is not None)
        if not cards:
            what, do = "Too little of the card is seen.", "Photograph it whole, sharp, and uncovered."
            raise FitError.of(name, what, do, code="card-hidden")
        solved = solve(cards, (light.shape[1], light.shape[0]), printed)
    return cards, solved


def _looking(solved: Solved, card: FoundCard, printed: tuple[float, float]) -> Any:
    return lambda xy: solved.view.project(placed(xy * printed, solved.lies[card.number]))


def _joined(shots: Sequence[_Shot]) -> list[list[tuple[_Shot, Lies]]]:
    """The photographs that see one table with a card in common, each with where its frame lies in that of the first.

    Where another piece lies beside the same card, it is another table.
    """
    groups: list[list[tuple[_Shot, Lies]]] = []
    looked: dict[int, Looked] = {}
    left = list(shots)
    while left:
        group = [(left.pop(0), (0.0, 0.0, 0.0))]
        again = True
        while again:
            again = False
            for shot in list(left):
                lies = next((found for other, at in group if (found := _common(other, at, shot)) is not None), None)
                if lies is not None and all(
                    _is_one_table(other, at, shot, lies=lies, looked=looked) for other, at in group
                ):
                    group.append((shot, lies))
                    left.remove(shot)
                    again = True
        groups.append(group)
    return groups


def _is_one_table(other: _Shot, at: Lies, shot: _Shot, lies: Lies, looked: dict[int, Looked]) -> bool:
    """Whether two photographs, each with where its frame lies, show one table; each is looked at once."""
    for one in (other, shot):
        if id(one) not in looked:
            looked[id(one)] = looked_at(one.pixels, one.solved.view, one.solved.lies, most_cells=COARSE_CELLS)
    return is_one_table(looked[id(other)], looked[id(shot)], then(lies, turned_back(at)))


def _common(other: _Shot, at: Lies, shot: _Shot) -> Lies | None:
    """Where the shot's frame lies, by a card that both see; None where they see none in common."""
    number = next((n for n in shot.solved.lies if n in other.solved.lies), None)
    if number is None:
        return None
    x, y, a = then(other.solved.lies[number], at)
    bx, by, back = shot.solved.lies[number]
    turn = a - back
    spot = placed(np.array([[bx, by]]), (0.0, 0.0, turn))[0]
    return (x - float(spot[0]), y - float(spot[1]), turn)


def _read(group: Sequence[tuple[_Shot, Lies]], told_ruler: bool) -> Photographed:
    """The sketch of photographs in one frame."""
    shots = [(shot.pixels, shot.solved.view.moved(lies)) for shot, lies in group]
    boards: dict[int, Lies] = {}
    for shot, lies in group:
        boards |= {n: then(at, lies) for n, at in shot.solved.lies.items() if n not in boards}
    name = group[0][0].name
    sheets = [sheet_corners(lies) for lies in boards.values()]
    coarse = straightened(shots, most_cells=COARSE_CELLS)
    rough, what, _ = pieces_seen(coarse, boards, ("dark line", "light line"))
    whole = [(ring, n) for ring in _on_table(coarse, rough) if (n := _seen_whole(shots, ring)) is not None]
    flat = straightened(shots, _box(coarse, rough, sheets), whole=whole if len(shots) > 1 else ())
    regions, what, strength = pieces_seen(flat, boards, ("dark line", what) if what == "light line" else ("dark line",))
    if not told_ruler:
        checked_sheets(flat, boards, name)
    standing_out = (coarse, rough if what == "step" else ())
    aside = left_out(regions, standing_out, [*_on_table(flat, regions), *sheets], name=name)
    clear_of_cards(_on_table(flat, regions), boards, name)
    rings = [traced(flat, one.outline, what) for one in regions if not one.runs_out]
    outlines = [fitted(ring, lambda runs: edge_off(flat, runs, what)) for ring in rings]
    solved = [(shot.solved, lies) for shot, lies in group]
    seen_by = [solved if (n := _seen_whole(shots, ring)) is None else [solved[n]] for ring in rings]
    truth = stated(seen_by, boards, rings, outlines=outlines, name=name)
    strokes = [Stroke(one.segments, closed=True, kind="outline") for one in outlines]
    lines = line_mask(flat, strength, 1 - within_pieces(flat, rings))
    strokes += inner_lines(flat, rings, lines)
    picture, box = _kept(flat)
    sketch = Sketch(name, tuple(strokes), said=(truth.sentence, truth.level, *aside))
    return Photographed(sketch, truth, picture, box=box)


def _on_table(flat: Straightened, regions: Sequence[Region]) -> list[Array]:
    """The outlines of the whole pieces, in mm."""
    return [flat.table(one.outline) for one in regions if not one.runs_out]


def _seen_whole(shots: Sequence[tuple[Any, View]], ring: Array) -> int | None:
    """The number of the photograph that sees all of an outline the least aslant; None where none sees all of it."""
    found = []
    for n, (pixels, view) in enumerate(shots):
        px, eye = view.project(ring), view.eye
        if (px > RIM_PX).all() and (px < np.array(pixels.shape[1::-1]) - RIM_PX).all():
            found.append((float(np.hypot(*(ring - eye[:2]).T).max() / abs(eye[2])), n))
    return min(found)[1] if found else None


def _box(flat: Straightened, regions: Sequence[Region], sheets: Sequence[Array]) -> Box | None:
    """What of the table to look at finely: round the cards and all that is found; all of it where nothing is."""
    whole = _on_table(flat, regions)
    if not whole:
        return None
    every = np.concatenate([*whole, *sheets])
    low, high = every.min(0) - LOOKED_ROUND_MM, every.max(0) + LOOKED_ROUND_MM
    return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _kept(flat: Straightened) -> tuple[bytes, Box]:
    """The straightened picture as it is kept with the case."""
    cv = opencv()
    high, wide = flat.gray.shape
    cell = max(KEPT_CELL_MM, flat.cell_mm, flat.cell_mm * (high * wide / KEPT_CELLS) ** 0.5)
    size = (max(1, round(wide * flat.cell_mm / cell)), max(1, round(high * flat.cell_mm / cell)))
    small = cv.resize(flat.picture, size, interpolation=cv.INTER_AREA)
    half = flat.cell_mm / 2
    left, top = flat.left_mm - half, flat.top_mm + half
    return as_jpeg(small), Box(left, top - high * flat.cell_mm, left + wide * flat.cell_mm, top)


def _beside(made: Sequence[Photographed]) -> Photographed:
    """Sketches of a table each, laid side by side, every one at the right of the one before, and so the pictures."""
    from diagnose.pattern.brought.sketch import carried
    from diagnose.pattern.geometry.plane import Affine

    strokes, left = list[Stroke](), 0.0
    parts = list[tuple[bytes, Box, Box, float]]()
    for one in made:
        shown = _round_pieces(one.sketch)
        by = left - shown.left
        strokes += carried(one.sketch, Affine(dx=by)).strokes
        parts.append((one.picture, one.box, shown, by))
        left += shown.wide
    worst = max((one.truth for one in made), key=lambda truth: truth.worst_mm)
    aside = [sentence for one in made for sentence in one.sketch.said[2:]]
    told = f"The {len(made)} photographs show pieces of their own; they lie side by side as they were given."
    said = tuple(dict.fromkeys((worst.sentence, worst.level, told, *aside)))
    picture, box = pictures_beside(parts)
    return Photographed(Sketch(made[0].sketch.name, tuple(strokes), said=said), worst, picture, box=box)


def _round_pieces(sketch: Sketch) -> Box:
    """What is drawn, and half of what is looked at round it."""
    box = box_of([segment.start for segment in stroke.segments] for stroke in sketch.strokes)
    return box.grown(LOOKED_ROUND_MM / 2)
