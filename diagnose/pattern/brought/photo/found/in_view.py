"""Whether all of the pattern is in view: what is cut off or lies over a card is refused, a hand is left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM, opencv
from diagnose.pattern.brought.photo.found.laid_pieces import Region
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.solving import Lies, unplaced
from diagnose.pattern.brought.photo.straightening import Straightened

__all__ = ["clear_of_cards", "left_out"]

LARGE_CUT_OFF_MM2, SAME_TINT, SAME_SHADE = 4000.0, 0.05, 0.6
NONE_OF_IT_MM = 70.0
"""What runs out of the picture and comes no nearer to the pattern and its cards than this is none of it."""

ON_BOARD_MM, LONG_ON_BOARD_MM = 1.5, 4.0
SHEET_MM, LONG_SHEET_MM, ALONG_SLOPE, SHEET_STRAY_MM = (2.0, 28.0), 60.0, 0.02, 0.4
"""An outline round a card that runs along it so near, so long and so straight is the edge of the card's own sheet."""


def clear_of_cards(rings: Sequence[Array], boards: Mapping[int, Lies], name: str) -> None:
    """Refuses a piece that lies over a card, or against its sheet: where the one ends and the other begins is not seen.

    A card may lie wholly on a piece.

    Args:
        rings: the outlines, in mm of the table.
        boards: where the cards lie.
        name: for messages.

    Raises:
        FitError: with what to do.
    """
    for number, lies in boards.items():
        if any(_is_against(unplaced(ring, lies)) for ring in rings):
            what = f"A piece lies over card {number} or against its sheet, and can't be told from it."
            do = "Lay the card clear of every edge of the pattern: beside it, or wholly on a large piece."
            raise FitError.of(name, what, do, code="against-card")


def _is_against(ring: Array) -> bool:
    """Whether an outline, in the card's own frame, runs along the board or the edge of its sheet."""
    cv = opencv()
    step = float(np.hypot(*(np.roll(ring, -1, 0) - ring).T).mean())
    x, y = ring.T
    beyond = np.maximum(np.maximum(-x, x - CARD_WIDE_MM), np.maximum(-y, y - CARD_HIGH_MM))
    if (beyond < ON_BOARD_MM).sum() * step > LONG_ON_BOARD_MM:
        return True
    middle = (CARD_WIDE_MM / 2.0, CARD_HIGH_MM / 2.0)
    if cv.pointPolygonTest(ring.astype(np.float32).reshape(-1, 1, 2), middle, False) < 0:
        return False
    sides = (
        (-x, y, CARD_HIGH_MM),
        (x - CARD_WIDE_MM, y, CARD_HIGH_MM),
        (-y, x, CARD_WIDE_MM),
        (y - CARD_HIGH_MM, x, CARD_WIDE_MM),
    )
    return any(_is_sheets_edge(away, along, long_mm) for away, along, long_mm in sides)


def _is_sheets_edge(away: Array, along: Array, long_mm: float) -> bool:
    near = (away > SHEET_MM[0]) & (away < SHEET_MM[1]) & (along > 0.0) & (along < long_mm)
    if near.sum() < 8 or np.ptp(along[near]) < LONG_SHEET_MM:
        return False
    slope, start = np.polyfit(along[near], away[near], 1)
    off = np.abs(away[near] - start - slope * along[near])
    return abs(float(slope)) < ALONG_SLOPE and float(np.median(off)) < SHEET_STRAY_MM


def left_out(
    regions: Sequence[Region], rough: tuple[Straightened, Sequence[Region]], laid: Sequence[Array], name: str
) -> tuple[str, ...]:
    """What is said of paper that runs out of the picture far from the pattern.

    Args:
        regions: the pieces.
        rough: the whole table, seen coarsely, and what of it stands out; none where the outlines are drawn.
        laid: the outlines of pieces and cards, in mm of the table.
        name: for messages.

    Raises:
        FitError: when there is no piece, or one that runs out of the picture.
    """
    whole = [one for one in regions if not one.runs_out]
    cut_off = [one for one in rough[1] if one.runs_out and one.area_mm2 > LARGE_CUT_OFF_MM2]
    if whole:
        hue = np.median([one.hue for one in whole], axis=0)
        cut_off = [one for one in cut_off if np.abs(_tint(one.hue) - _tint(hue)).max() < SAME_TINT
                   and sum(one.hue) > SAME_SHADE * float(hue.sum())]  # fmt: skip
    if any(_gap_mm(rough[0].table(one.outline), laid) < NONE_OF_IT_MM for one in cut_off):
        do = "Take it from farther off, or in two photographs that both show a card, and give both; hands well away."
        what = "A piece runs out of the picture, or a hand or something else that does lies against it."
        raise FitError.of(name, what, do, code="piece-cut-off")
    if not whole:
        do = "Lay the pattern on a plain ground of another shade, or draw its outline darker, all of it in view."
        raise FitError.of(name, "No whole piece is seen in the picture.", do, code="no-piece")
    if not cut_off:
        return ()
    return (
        "What runs out of the picture away from the pattern (a hand?) was left out; "
        "if it is a piece, take the picture again from farther off.",
    )


def _gap_mm(ring: Array, laid: Sequence[Array]) -> float:
    """How near a ring comes to what is laid and all between (less than nothing within it)."""
    cv = opencv()
    spots = ring[:: max(1, len(ring) // 150)]
    hull = cv.convexHull(np.concatenate(laid).astype(np.float32))
    return -max(float(cv.pointPolygonTest(hull, (float(x), float(y)), True)) for x, y in spots)


def _tint(hue: object) -> Array:
    """The colour, whatever the light: the parts of blue, green and red."""
    values = np.asarray(hue, float)
    return values / max(float(values.sum()), 1.0)
