"""How a pattern's drawing is laid out for where it is looked at: in how many rows, and with letters how high.

Letters have to be so high that they can be read, in mm of the pattern, when the drawing fills a width; and words want
room beside the pieces. Both are settled before anything is drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal, TypeVar

from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.pattern_drawing import BARE_MARGIN, ROOM_LETTERS, draw_figures
from diagnose.sheets.drawn.pieces_drawn import Figures

__all__ = [
    "FEW_PIECES",
    "NARROW_ROOM_LETTERS",
    "Screen",
    "drawn_high_enough",
    "fitted_rows",
    "page_picture",
    "readable_mm",
    "settled_mm",
]

LEAST_TEXT_MM = 4.0
FEW_PIECES = 3
"""More pieces than so many beside one another are crowded: they stand closer."""

NARROW_ROOM_LETTERS, CROWDED_ROOM_LETTERS = 6.0, 4.0
ROOM_MM = 25.0
LEAST_SHARE = 0.2
"""Of a row's width at least so much is for the pieces."""

LETTERS_PER_WIDTH = 58.0
Screen = Literal["wide", "narrow", "card", "page", "crowded page"]
"""Where a drawing is looked at: beside its words, on a telephone held upright, on a card among others, on a page that
is read on any of them.
"""
SCREENS: Mapping[Screen, tuple[float, float, int]] = {
    "wide": (64.0, 1.36, 3), "narrow": (28.0, 0.77, 4), "card": (38.0, 0.9, 1), "page": (27.0, 0.77, 4),
    "crowded page": (27.0, 0.45, 8),
}  # fmt: skip
"""By screen: how many letters high its width is, how much wider than high it is, and how many rows it takes."""

MOST_TRIES = 4
NEAR_RATIO = 0.02
"""Letters as near as this to the height that is needed are as high as they have to be."""

MOST_DRAWN = 3
MOST_SHORT = 1.04
"""Letters that come out lower than this part of their height are set once more: of 7.4 points they keep 7."""

Drawn = TypeVar("Drawn")
STEEPEST = 0.9
"""At most so much higher is what is needed taken to become with letters so much higher: else no height would do."""


def readable_mm(figures: Figures) -> float:
    """How high letters have to be, mm, so that they can be read when these pieces fill the width of a page."""
    boxes = figures.boxes
    wide = sum(box.right - box.left + ROOM_MM for box in boxes)
    return max(LEAST_TEXT_MM, wide / LETTERS_PER_WIDTH)


def fitted_rows(figures: Figures, screen: Screen) -> tuple[int, float]:
    """In how many rows these pieces show largest there, and how high letters then have to be to be read.

    Where older pieces lie beneath, words between them take their room.
    """
    return _fitted(figures, screen, apart=figures.over)


def _fitted(figures: Figures, screen: Screen, *, apart: bool) -> tuple[int, float]:
    boxes = figures.boxes
    letters, wider, most = SCREENS[screen]
    ways = []
    for rows in range(1, min(most, len(boxes)) + 1):
        size = -(-len(boxes) // rows)
        lines = [boxes[first : first + size] for first in range(0, len(boxes), size)]
        wide = max(sum(box.right - box.left + ROOM_MM for box in line) for line in lines)
        high = sum(max(box.top for box in line) - min(box.bottom for box in line) + ROOM_MM for line in lines)
        room = (NARROW_ROOM_LETTERS if rows > 1 else ROOM_LETTERS) * (size - 1) if apart else 0.0
        ways.append((max(wide / max(1.0 - room / letters, LEAST_SHARE), high * wider), len(lines)))
    across, rows = min(ways)
    return rows, max(LEAST_TEXT_MM, across / letters)


def page_picture(figures: Figures) -> Drawing:
    """The pieces in rows, without a title, with letters that can be read wherever the page is."""
    crowded = len(figures.pieces) > FEW_PIECES
    screen: Screen = "crowded page" if crowded else "page"
    room = CROWDED_ROOM_LETTERS if crowded else NARROW_ROOM_LETTERS
    letters, wider, _ = SCREENS[screen]
    rows, first_mm = _fitted(figures, screen, apart=False)

    def needed(text_mm: float) -> float:
        box = figures.reach(text_mm, room, rows).grown(BARE_MARGIN * text_mm)
        return max(box.right - box.left, (box.top - box.bottom) * wider) / letters

    def draw(text_mm: float) -> Drawing:
        return draw_figures(figures, text_mm=text_mm, room_letters=room, without=("title",), rows=rows)

    def wanted(drawing: Drawing) -> float:
        box = drawing.frame
        return max(box.right - box.left, (box.top - box.bottom) * wider) / letters

    return drawn_high_enough(draw, wanted, settled_mm(needed, first_mm))


def drawn_high_enough(draw: Callable[[float], Drawn], wanted: Callable[[Drawn], float], text_mm: float) -> Drawn:
    """What is drawn with letters so high; higher, where words that had to stand farther out than their first place took
    more room than was reckoned with.

    Args:
        draw: draws it with letters so high, mm.
        wanted: how high they need to be in what was drawn.
        text_mm: how high they are to be.
    """
    drawn = draw(text_mm)
    for _ in range(MOST_DRAWN):
        needed = wanted(drawn)
        if needed <= MOST_SHORT * text_mm:
            break
        text_mm = needed
        drawn = draw(text_mm)
    return drawn


def settled_mm(needed: Callable[[float], float], first_mm: float) -> float:
    """The height, mm, at which letters are as high as they need to be.

    Args:
        needed: how high they need to be in the drawing that letters so high make: the higher, the more room it takes.
        first_mm: what they would need to be without words.
    """
    before, text_mm = (first_mm, needed(first_mm)), needed(first_mm)
    for _ in range(MOST_TRIES):
        wanted = needed(text_mm)
        if abs(wanted - text_mm) <= NEAR_RATIO * text_mm:
            break
        slope = (wanted - before[1]) / (text_mm - before[0]) if text_mm != before[0] else 0.0
        before = (text_mm, wanted)
        text_mm += (wanted - text_mm) / (1.0 - min(max(slope, 0.0), STEEPEST))
    return text_mm
