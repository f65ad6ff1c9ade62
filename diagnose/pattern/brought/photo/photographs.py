"""Photographs in, a sketch in mm out: what lies on the table, how true it is, and the straightened picture.

The frame is that of the card of the lowest number: its lower left corner is 0, 0 and its long side goes up, so a
pattern is laid the same way up as the card.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.sketch import Sketch, Stroke
from diagnose.pattern.brought.photo.accuracy import Truth, checked_card, stated
from diagnose.pattern.brought.photo.cards import FoundCard, blur_of, find_cards, more_cards, refined
from diagnose.pattern.brought.photo.chequers import HIGH_MM, WIDE_MM, opencv
from diagnose.pattern.brought.photo.fitting import fitted
from diagnose.pattern.brought.photo.laid_pieces import Region, paper_regions, sheet_mask
from diagnose.pattern.brought.photo.laid_under import picture_under
from diagnose.pattern.brought.photo.pencil import drawn_regions, inner_lines, line_mask, line_strength, within_pieces
from diagnose.pattern.brought.photo.pixels import as_jpeg, open_photo
from diagnose.pattern.brought.photo.printed_size import checked_sheets
from diagnose.pattern.brought.photo.solving import Lies, Solved, placed, solve
from diagnose.pattern.brought.photo.straightening import Box, Straightened, straightened
from diagnose.pattern.brought.photo.tracing import What, edge_off, traced
from diagnose.pattern.outline import Pattern

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.lens import Array

__all__ = ["Photographed", "read_photos"]

MOST_PHOTOS = 12
GAMMA = 2.2
COARSE_CELLS, LOOKED_THROUGH_CELLS = 1.6e6, 4e6
BESIDE_MM = 30.0
"""How far round pieces and cards the picture is looked at finely and kept."""

SHEET_ROUND_MM = (9.0, 20.0, 25.0, 20.0)
"""How far what is on a card's sheet reaches beyond its board: left, below, right, above."""

GROWN_MM, MOSTLY = 10.0, 0.8
FILL_RATIO = 0.15
BANDS_MM = (2.5, 6.0)
SAME_LIGHT = 0.12
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
        return picture_under(self.picture, self.box, self.sketch, pattern)


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
        raise FitError.of(
            "photographs", f"{len(photos)} are too many.", f"Give at most {MOST_PHOTOS}.", code="too-many"
        )
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
    cards, solved = _fine(light, rough, solve(rough, size, printed), printed, name)
    if len(cards) == 1:
        flat = straightened([(pixels, solved.view)], most_cells=LOOKED_THROUGH_CELLS)
        others = more_cards(flat.gray, [card.number for card in cards])
        if others:
            there = [replace(card, px=solved.view.project(flat.table(card.px))) for card in others]
            rough = tuple(sorted((*cards, *there), key=lambda card: card.number))
            cards, solved = _fine(light, rough, solve(rough, size, printed), printed, name)
    blur = [(blur_of(gray, card), card) for card in cards]
    checked_card(solved, blur, name)
    return _Shot(pixels, cards, solved, name)


def _fine(
    light: Any, cards: tuple[FoundCard, ...], solved: Solved, printed: tuple[float, float], name: str
) -> tuple[tuple[FoundCard, ...], Solved]:
    """The cards with their corners found finely, and the camera solved by them."""
    for _ in range(2):
        fine = [refined(light, card, _looking(solved, card, printed)) for card in cards]
        cards = tuple(card for card in fine if card is not None)
        if not cards:
            raise FitError.of(
                name,
                "Too little of the card is seen.",
                "Photograph it whole, sharp, and uncovered.",
                code="card-hidden",
            )
        solved = solve(cards, (light.shape[1], light.shape[0]), printed)
    return cards, solved


def _looking(solved: Solved, card: FoundCard, printed: tuple[float, float]) -> Any:
    return lambda xy: solved.view.project(placed(xy * printed, solved.lies[card.number]))


def _joined(shots: Sequence[_Shot]) -> list[list[tuple[_Shot, Lies]]]:
    """The photographs that see a card in common, each with where its frame lies in that of the first of its group."""
    groups: list[list[tuple[_Shot, Lies]]] = []
    left = list(shots)
    while left:
        group = [(left.pop(0), (0.0, 0.0, 0.0))]
        again = True
        while again:
            again = False
            for shot in list(left):
                lies = next((found for other, at in group if (found := _common(other, at, shot)) is not None), None)
                if lies is not None:
                    group.append((shot, lies))
                    left.remove(shot)
                    again = True
        groups.append(group)
    return groups


def _common(other: _Shot, at: Lies, shot: _Shot) -> Lies | None:
    """Where the shot's frame lies, by a card that both see; None where they see none in common."""
    number = next((n for n in shot.solved.lies if n in other.solved.lies), None)
    if number is None:
        return None
    x, y, a = _then(other.solved.lies[number], at)
    bx, by, back = shot.solved.lies[number]
    turn = a - back
    spot = placed(np.array([[bx, by]]), (0.0, 0.0, turn))[0]
    return (x - float(spot[0]), y - float(spot[1]), turn)


def _then(inner: Lies, outer: Lies) -> Lies:
    x, y = placed(np.array([inner[:2]]), outer)[0]
    return (float(x), float(y), inner[2] + outer[2])


def _read(group: Sequence[tuple[_Shot, Lies]], told_ruler: bool) -> Photographed:
    """The sketch of photographs in one frame."""
    shots = [(shot.pixels, shot.solved.view.moved(lies)) for shot, lies in group]
    boards: dict[int, Lies] = {}
    for shot, lies in group:
        boards |= {n: _then(at, lies) for n, at in shot.solved.lies.items() if n not in boards}
    name = group[0][0].name
    sheets = [_board(lies, *SHEET_ROUND_MM) for lies in boards.values()]
    coarse = straightened(shots, most_cells=COARSE_CELLS)
    rough, what, _ = _regions(coarse, boards, ("dark line", "light line"))
    flat = straightened(shots, _box(coarse, rough, sheets))
    regions, what, strength = _regions(flat, boards, ("dark line", what) if what == "light line" else ("dark line",))
    if not told_ruler:
        checked_sheets(flat, boards, name)
    _all_in_view(regions, rough, name, is_drawn=what != "step")
    rings = [traced(flat, one.outline, what) for one in regions if not one.runs_out]
    outlines = [fitted(ring, lambda runs: edge_off(flat, runs, what)) for ring in rings]
    truth = stated([(shot.solved, lies) for shot, lies in group], boards, rings, outlines, name)
    strokes = [Stroke(one.segments, closed=True, kind="outline") for one in outlines]
    lines = line_mask(flat, strength, 1 - within_pieces(flat, rings))
    strokes += inner_lines(flat, rings, lines)
    picture, box = _kept(flat)
    sketch = Sketch(name, tuple(strokes), said=(truth.sentence,))
    return Photographed(sketch, truth, picture, box)


def _board(lies: Lies, left: float = 0.0, below: float = 0.0, right: float = 0.0, above: float = 0.0) -> Array:
    """The corners of a card's board, grown by so much."""
    wide, high = WIDE_MM + right, HIGH_MM + above
    return placed(np.array([(-left, -below), (wide, -below), (wide, high), (-left, high)]), lies)


def _regions(
    flat: Straightened, boards: Mapping[int, Lies], lines: Sequence[What]
) -> tuple[tuple[Region, ...], What, Any]:
    """The pieces, how their outlines show, and how plain a line runs through each cell.

    Args:
        flat: the straightened picture.
        boards: where the cards lie.
        lines: the kinds of drawn line that are looked for beside paper that was cut out.
    """
    sheets = [_board(lies) for lies in boards.values()]
    grown = [_board(lies, *(mm + GROWN_MM for mm in SHEET_ROUND_MM)) for lies in boards.values()]
    found = [one for one in paper_regions(flat, sheets) if not _is_sheet(flat, one, grown)]
    whole = [one for one in found if not one.runs_out]
    leave_out = sheet_mask(flat, [_board(lies, *SHEET_ROUND_MM) for lies in boards.values()], 0.0)
    first: Any = None
    for what in lines:
        if what == "light line" and whole and not _is_line(flat, whole[0]):
            continue  # chalk is looked for where no paper is
        strength = line_strength(flat, light=what == "light line")
        first = strength if first is None else first
        drawn = drawn_regions(flat, line_mask(flat, strength, leave_out), leave_out)
        if sum(one.area_mm2 for one in drawn) > FILL_RATIO * sum(one.area_mm2 for one in whole) and (
            not _alike(drawn, whole) or _is_line(flat, drawn[0])
        ):
            return drawn, what, strength
    return tuple(found), "step", first


def _alike(lines: Sequence[Region], whole: Sequence[Region]) -> bool:
    """Whether the drawn regions are but the pieces themselves, their edges taken for lines."""
    return bool(whole) and abs(sum(o.area_mm2 for o in lines) / sum(o.area_mm2 for o in whole) - 1.0) < 0.1


def _is_line(flat: Straightened, region: Region) -> bool:
    """Whether a region's edge is a line on one and the same paper, and not the end of paper: it is as light outside."""
    cv = opencv()
    mask = np.zeros(flat.gray.shape, np.uint8)
    cv.fillPoly(mask, [np.round(region.outline).astype(np.int32)], 1)
    near, far = (np.ones((2 * round(mm / flat.cell_mm) + 1,) * 2, np.uint8) for mm in BANDS_MM)
    inside = (cv.erode(mask, near) > 0) & (cv.erode(mask, far) == 0)
    outside = (cv.dilate(mask, near) == 0) & (cv.dilate(mask, far) > 0) & flat.seen
    if not inside.any() or not outside.any():
        return True
    a, z = float(np.median(flat.gray[inside])), float(np.median(flat.gray[outside]))
    return abs(a - z) < SAME_LIGHT * max(a, z)


def _is_sheet(flat: Straightened, region: Region, sheets: Sequence[Array]) -> bool:
    """Whether the region is the paper that a card is printed on, or what of it is in view."""
    cv = opencv()
    spots = region.outline[:: max(1, len(region.outline) // 200)]
    for sheet in sheets:
        ring = flat.cells(sheet).astype(np.float32).reshape(-1, 1, 2)
        inside = [cv.pointPolygonTest(ring, (float(x), float(y)), False) >= 0 for x, y in spots]
        if np.mean(inside) > MOSTLY:
            return True
    return False


def _box(flat: Straightened, regions: Sequence[Region], sheets: Sequence[Array]) -> Box | None:
    """What of the table to look at finely: round the cards and all that is found; all of it where nothing is."""
    whole = [flat.table(one.outline) for one in regions if not one.runs_out]
    if not whole:
        return None
    every = np.concatenate([*whole, *sheets])
    low, high = every.min(0) - BESIDE_MM, every.max(0) + BESIDE_MM
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _all_in_view(regions: Sequence[Region], rough: Sequence[Region], name: str, *, is_drawn: bool) -> None:
    """Refuses a picture with no piece, or with one that runs out of it.

    Raises:
        FitError: with what to do.
    """
    whole = [one for one in regions if not one.runs_out]
    if not whole:
        do = "Lay the pattern on a plain ground of another shade, or draw its outline darker, all of it in view."
        raise FitError.of(name, "No whole piece is seen in the picture.", do, code="no-piece")
    if is_drawn:
        return
    hue = np.median([one.hue for one in whole], axis=0)
    for one in rough:
        alike = np.abs(_tint(one.hue) - _tint(hue)).max() < 0.05 and sum(one.hue) > 0.6 * float(hue.sum())
        if one.runs_out and alike and one.area_mm2 > 4000.0:
            do = "Take it from farther off, or in two photographs that both show a card, and give both."
            raise FitError.of(name, "A piece runs out of the picture.", do, code="piece-cut-off")


def _tint(hue: Any) -> Array:
    """The colour, whatever the light: the parts of blue, green and red."""
    values = np.asarray(hue, float)
    return values / max(float(values.sum()), 1.0)


def _kept(flat: Straightened) -> tuple[bytes, Box]:
    """The straightened picture as it is kept with the case."""
    cv = opencv()
    high, wide = flat.gray.shape
    cell = max(KEPT_CELL_MM, flat.cell_mm, flat.cell_mm * (high * wide / KEPT_CELLS) ** 0.5)
    size = (max(1, round(wide * flat.cell_mm / cell)), max(1, round(high * flat.cell_mm / cell)))
    small = cv.resize(flat.picture, size, interpolation=cv.INTER_AREA)
    half = flat.cell_mm / 2
    left, top = flat.left_mm - half, flat.top_mm + half
    return as_jpeg(small), (left, top - high * flat.cell_mm, left + wide * flat.cell_mm, top)


def _beside(made: Sequence[Photographed]) -> Photographed:
    """Sketches that have no card in common, each laid at the right of the one before."""
    from diagnose.pattern.brought.drawings.sketch import carried
    from diagnose.pattern.geometry.plane import Affine

    strokes, left = list[Stroke](), 0.0
    for one in made:
        xs = [s.start.x for stroke in one.sketch.strokes for s in stroke.segments]
        move = Affine(dx=left - min(xs))
        strokes += carried(one.sketch, move).strokes
        left += max(xs) - min(xs) + BESIDE_MM
    worst = max(made, key=lambda one: one.truth.worst_mm)
    said = tuple(dict.fromkeys(sentence for one in made for sentence in one.sketch.said))
    return replace(made[0], sketch=Sketch(made[0].sketch.name, tuple(strokes), said=said), truth=worst.truth)
