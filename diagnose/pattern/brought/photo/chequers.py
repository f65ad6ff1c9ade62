"""The card's coded chequer board: what is printed on it and where, in mm as printed, x to the right, y upwards.

The board is a ChArUco board (Garrido-Jurado and others, *Pattern Recognition* 47, 2014; an open method) whose middle is
left out, so that the corners lie as far apart as the sheet allows and the directions have room within. Cards are
numbered; each number has markers of its own, so that several cards may lie in one picture.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from diagnose.errors import FitError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "ACROSS", "CARDS", "CARD_HIGH_MM", "CARD_WIDE_MM", "MARKER_MM", "RULER_ACROSS_MM", "RULER_MM", "SQUARE_MM", "UP",
    "WINDOW", "board", "corner_places", "dictionary", "is_left_out", "marker_bits", "markers", "opencv",
    "real_corners",
]  # fmt: skip  # fmt: skip

ACROSS, UP = 9, 13
"""Squares."""

SQUARE_MM, MARKER_MM = 20.0, 15.0
CARD_WIDE_MM, CARD_HIGH_MM = ACROSS * SQUARE_MM, UP * SQUARE_MM
WINDOW = (2, 3, 7, 10)
"""The squares left out: first column and row from the top left, and those after the last."""

RULER_MM, RULER_ACROSS_MM = 200.0, 92.0
"""Lines to measure, along the sheet and across it: near enough 7 7/8 in and 3 5/8 in."""

PER_CARD = ACROSS * UP // 2
CARDS = 1000 // PER_CARD
"""How many different cards there are."""


def opencv() -> Any:
    """The library that reads pictures.

    Raises:
        FitError: when it is not installed.
    """
    try:
        import cv2
    except ImportError:
        what = "Photographs and their card need the extra `photo`, which is not installed."
        raise FitError.of(
            "photo", what, typed="In the program's folder: .venv/bin/pip install '.[photo]'", code="extra-missing"
        ) from None
    return cv2


@cache
def dictionary() -> Any:
    """The markers' dictionary: 5 by 5 bits, 1000 markers."""
    aruco = opencv().aruco
    return aruco.getPredefinedDictionary(aruco.DICT_5X5_1000)


@cache
def board(card: int) -> Any:
    """The board of the card of that number (from 1), as the library knows it: y downwards from the top."""
    ids = np.arange((card - 1) * PER_CARD, card * PER_CARD)
    return opencv().aruco.CharucoBoard((ACROSS, UP), SQUARE_MM, MARKER_MM, dictionary(), ids)


def is_left_out(column: int, row: int) -> bool:
    """Whether the square lies in the window; the row counts from the top."""
    left, top, right, bottom = WINDOW
    return left <= column < right and top <= row < bottom


def markers(card: int) -> Iterator[tuple[int, int, int]]:
    """The card's printed markers: the number in the dictionary, the column, and the row from the top."""
    number = (card - 1) * PER_CARD
    for row, column in product(range(UP), range(ACROSS)):
        if (row + column) % 2:
            if not is_left_out(column, row):
                yield number, column, row
            number += 1


def marker_bits(number: int) -> list[list[bool]]:
    """The marker's cells from the top, its black rim included; true is white."""
    size = dictionary().markerSize
    bits = dictionary().getBitsFromByteList(dictionary().bytesList[number : number + 1], size)
    rim = [False] * (size + 2)
    return [rim, *([False, *(bool(bit) for bit in row), False] for row in bits), rim]


@cache
def real_corners() -> frozenset[int]:
    """The numbers of the chequer's inner corners that are printed: those whose four squares all are."""
    return frozenset(
        (row - 1) * (ACROSS - 1) + column - 1
        for row, column in product(range(1, UP), range(1, ACROSS))
        if not any(is_left_out(column - a, row - b) for a, b in product((0, 1), repeat=2))
    )


def corner_places() -> NDArray[np.float64]:
    """Where each of the chequer's inner corners lies, by its number, from the board's lower left corner."""
    rows = product(range(1, UP), range(1, ACROSS))
    return np.array([(column * SQUARE_MM, CARD_HIGH_MM - row * SQUARE_MM) for row, column in rows])
