"""How a pattern's drawing is laid out for where it is looked at: in how many rows, and with letters how high.

Letters have to be so high that they can be read, in mm of the pattern, when the drawing fills a width; and words want
room beside the pieces. Both are settled before anything is drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import partial
from math import ceil
from typing import Literal, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.geometry.bezier import Box
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.pattern_drawing import BARE_MARGIN, ROOM_LETTERS, draw_figures
from diagnose.sheets.drawn.pieces_drawn import Figures

__all__ = [
    "FEW_PIECES", "Laid", "Screen", "drawn_readably", "page_picture", "readable_mm", "screen_picture", "settled_mm",
]  # fmt: skip

LEAST_TEXT_MM = 4.0
FEW_PIECES = 3
"""More pieces than so many beside one another are crowded: they stand closer."""

NARROW_ROOM_LETTERS = 6.0
ROOM_MM = 25.0
LETTERS_PER_WIDTH = 58.0
Drawn = TypeVar("Drawn")
Screen = Literal["wide", "low", "narrow", "narrow low", "card", "narrow card", "page", "crowded page"]
"""Where a drawing is looked at: beside its words, over a form, both on a telephone held upright, on a card among
others, on a card on a telephone, on a page that is read on any of them.
"""
SCREENS: Mapping[Screen, tuple[float, tuple[float, float], tuple[int, int]]] = {
    "wide": (53.0, (1.33, 1.33), (3, 4)), "low": (53.0, (1.6, 1.6), (3, 4)),
    "narrow": (26.0, (0.77, 0.5), (4, 6)), "narrow low": (26.0, (1.16, 0.9), (4, 5)),
    "card": (28.0, (0.9, 0.7), (3, 5)), "narrow card": (22.0, (0.9, 0.55), (3, 6)),
    "page": (26.0, (0.77, 0.5), (4, 6)), "crowded page": (26.0, (0.45, 0.45), (8, 8)),
}  # fmt: skip
"""By screen: how many letters high its width is, how much wider than high it is, and how many rows it takes; the second
of each is for pieces that would be too small otherwise."""

CLOSE_ROOM_LETTERS, LEAST_ROOM_LETTERS = 4.5, 3.0
MUCH_TOO_SMALL = 1.4
"""Pieces that even so come out lower than this part of what is wanted stand so close that names lose their room."""

NAME_LETTERS, NAME_WIDE_LETTERS = 3.0, 7.2
"""How much room the name of a crowded piece takes: under it, and across."""

LEAST_PIECE_LETTERS = 9.5
"""The highest piece is at least so many letters high where a way can be found; for that pieces stand closer, in more
rows, and with fewer words on them."""

LEAST_ON_SCREEN = 0.9
"""No letters are lower than so much of the others: small ones can't be read at arm's length."""

MOST_SHORT_ON_SCREEN = 1.05
MOST_DRAWN_AGAIN = 3
MOST_TRIES = 4
LETTERS_ALIKE_RATIO = 0.02
"""Letters as near as this to the height that is needed are as high as they have to be."""

STEEPEST = 0.9
"""At most so much higher is what is needed taken to become with letters so much higher: else no height would do."""


def readable_mm(figures: Figures) -> float:
    """How high letters have to be, mm, so that they can be read when these pieces fill the width of a page."""
    boxes = figures.boxes
    wide = sum(box.right - box.left + ROOM_MM for box in boxes)
    return max(LEAST_TEXT_MM, wide / LETTERS_PER_WIDTH)


class Laid(Struct, frozen=True):
    """How pieces are laid: in how many rows, with letters how high, mm, how many letters apart, in what shape, and
    whether with few words."""

    rows: int
    text_mm: float
    room_letters: float
    wider: float
    crowded: bool = False


def screen_picture(
    figures: Figures, screen: Screen, without: Collection[str] = (), *, as_stored: bool = False
) -> tuple[Drawing, Laid]:
    """The pieces as they show largest there, with letters that can be read and room for their words; and how they lie.

    Args:
        figures: the pieces; screen: where they are looked at.
        without: ids of layers to leave out besides the title.
        as_stored: where they are stored, and not in rows.
    """
    letters, laid = SCREENS[screen][0], _laid_for(figures, screen)
    laid = replace(laid, rows=0) if as_stored else laid

    def draw(text_mm: float) -> Drawing:
        wide_mm = letters * text_mm * MOST_SHORT_ON_SCREEN
        return draw_figures(
            figures, text_mm=text_mm, room_letters=laid.room_letters, rows=laid.rows, without=("title", *without),
            least=LEAST_ON_SCREEN, most=(wide_mm, wide_mm / laid.wider), crowded=laid.crowded,
        )  # fmt: skip

    def needed(drawn: Drawing) -> float:
        return _wide_mm(drawn.frame, laid.wider) / letters

    drawing, text_mm = drawn_readably(draw, needed, laid.text_mm, short=MOST_SHORT_ON_SCREEN)
    return drawing, replace(laid, text_mm=text_mm)


def drawn_readably(
    draw: Callable[[float], Drawn], needed: Callable[[Drawn], float], text_mm: float, *, short: float
) -> tuple[Drawn, float]:
    """What is drawn with letters as high as they have to be, and how high they are, mm.

    Words that find no room where they stand best take more of it than was reckoned with, and make all of it larger: it
    is drawn again then.

    Args:
        draw: draws it with letters so high, mm.
        needed: how high letters have to be in what was drawn.
        text_mm: how high they are at first.
        short: letters may have to be so much higher than they are.
    """
    drawn = draw(text_mm)
    for _ in range(MOST_DRAWN_AGAIN):
        wanted_mm = needed(drawn)
        if wanted_mm <= short * text_mm:
            break
        text_mm, drawn = wanted_mm, draw(wanted_mm)
    return drawn, text_mm


def _laid_for(figures: Figures, screen: Screen) -> Laid:
    """The first way in which the pieces are high enough, else the one that shows them largest."""
    letters, (wider, tall), (few, many) = SCREENS[screen]
    enough_mm = max(box.top - box.bottom for box in figures.boxes) / LEAST_PIECE_LETTERS
    ways = list[Laid]()
    named = min(many, ceil(len(figures.pieces) / (letters // NAME_WIDE_LETTERS)))
    for shape, most, close, least in (
        (wider, few, None, 1), (tall, many, None, 1), (tall, many, CLOSE_ROOM_LETTERS, named),
        (tall, many, LEAST_ROOM_LETTERS, 1),
    ):  # fmt: skip
        first_mm = _alone_mm(figures, letters, wider=shape, most=most)
        for rows in range(least, min(most, len(figures.pieces)) + 1):
            room = close or (NARROW_ROOM_LETTERS if rows > 1 else ROOM_LETTERS)
            needed = partial(_needed_mm, figures, letters=letters, wider=shape, room=room, rows=rows)
            text_mm = max(LEAST_TEXT_MM, settled_mm(needed, first_mm))
            ways.append(Laid(rows, text_mm, room, wider=shape, crowded=close is not None))
        best = min(ways, key=_height_of_letters)
        if best.text_mm <= enough_mm * (MUCH_TOO_SMALL if close else 1.0):
            break
    return best


def _height_of_letters(laid: Laid) -> float:
    return laid.text_mm


def _wide_mm(box: Box, wider: float) -> float:
    """How wide a picture so much wider than high is that holds the box."""
    return max(box.wide, box.high * wider)


def _needed_mm(figures: Figures, text_mm: float, letters: float, wider: float, *, room: float, rows: int) -> float:
    """How high letters need to be where letters so high take up their room."""
    box = figures.reach(text_mm, room, rows, least=LEAST_ON_SCREEN).grown(BARE_MARGIN * text_mm)
    if rows > 1:
        # Names that are longer than their pieces are wide stand above and below them.
        box = Box(box.left, box.bottom - NAME_LETTERS * text_mm, right=box.right, top=box.top)
    return _wide_mm(box, wider) / letters


def _alone_mm(figures: Figures, letters: float, *, wider: float, most: int) -> float:
    """How high letters have to be to be read where these pieces alone, in the rows that show them largest, fill it."""
    boxes = figures.boxes
    ways = []
    for rows in range(1, min(most, len(boxes)) + 1):
        size = -(-len(boxes) // rows)
        lines = [boxes[first : first + size] for first in range(0, len(boxes), size)]
        wide = max(sum(box.right - box.left + ROOM_MM for box in line) for line in lines)
        high = sum(max(box.top for box in line) - min(box.bottom for box in line) + ROOM_MM for line in lines)
        ways.append(max(wide, high * wider))
    return max(LEAST_TEXT_MM, min(ways) / letters)


def page_picture(figures: Figures) -> Drawing:
    """The pieces in rows, without a title, with letters that can be read wherever the page is."""
    return screen_picture(figures, "crowded page" if len(figures.pieces) > FEW_PIECES else "page")[0]


def settled_mm(needed: Callable[[float], float], first_mm: float) -> float:
    """The height, mm, at which letters are as high as they need to be.

    Args:
        needed: how high they need to be in the drawing that letters so high make: the higher, the more room it takes.
        first_mm: what they would need to be without words.
    """
    before, text_mm = (first_mm, needed(first_mm)), needed(first_mm)
    for _ in range(MOST_TRIES):
        wanted = needed(text_mm)
        if abs(wanted - text_mm) <= LETTERS_ALIKE_RATIO * text_mm:
            break
        slope = (wanted - before[1]) / (text_mm - before[0]) if text_mm != before[0] else 0.0
        before = (text_mm, wanted)
        text_mm += (wanted - text_mm) / (1.0 - min(max(slope, 0.0), STEEPEST))
    return text_mm
