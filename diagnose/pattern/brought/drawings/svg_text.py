"""The small languages inside SVG's attributes: path data, transforms, lengths, view boxes.

What is malformed, endless or too long is refused before anything is made of it. The grammar is that of SVG 1.1 (path
data 8.3.9, transforms 7.6).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from msgspec import Struct

from diagnose.errors import FitError, quoted
from diagnose.pattern.brought.sketch import MOST_IN_A_LINE, MOST_STEPS, too_many
from diagnose.pattern.geometry.plane import UNMOVED, Affine, turn
from diagnose.pattern.outline import Point
from diagnose.units import INCH_MM

__all__ = ["INCH_PX", "Step", "ViewBox", "numbers_of", "pixels", "read_path", "read_transform", "read_view_box"]

INCH_PX = 96.0
"""Pixels to the inch, as CSS defines them (CSS Values and Units, absolute lengths; from memory)."""

LONGEST_NUMBER = 60
MOST_TRANSFORM = 10_000
LARGEST = 1e30
"""A number beyond it is no size, place or angle of anything on paper."""

# No possessive quantifiers: Python 3.11.2 takes ``5e`` for a number with them.
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)
_COMMAND = re.compile(r"[MmLlHhVvCcSsQqTtAaZz]")
_RUN = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
_GAP = " \t\r\n\f,"
_LONG_NUMBER = re.compile(rf"[\d.]{{{LONGEST_NUMBER}}}")
_NUMBERS_A_STEP = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0}
_ARC_FLAGS = (3, 4)
_FLAG = re.compile("[01]")
_PX = {
    "": 1.0, "px": 1.0, "in": INCH_PX, "mm": INCH_PX / INCH_MM, "cm": INCH_PX / 2.54, "q": INCH_PX / 101.6,
    "pt": INCH_PX / 72.0, "pc": INCH_PX / 6.0,
}  # fmt: skip
_LENGTH = re.compile(rf"\s*({_NUMBER.pattern})\s*(px|in|mm|cm|q|pt|pc|)\s*", re.IGNORECASE | re.ASCII)
_MOVE = re.compile(r"\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)[\s,]*", re.ASCII)
_MOVE_NUMBERS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,)}
_AGAIN = "Draw it anew, or save the file from the drawing program once more."


class ViewBox(Struct, frozen=True):
    """A view box: its corner and its size, in units of the drawing."""

    left: float
    top: float
    wide: float
    high: float


class Step(NamedTuple):
    """One step of a path: its letter, small where it counts from where the pen is, and its numbers."""

    letter: str
    numbers: tuple[float, ...]


def numbers_of(text: str, where: str) -> list[float]:
    """The numbers of a list parted by blanks or commas.

    Raises:
        FitError: when anything else stands there, or a number is endless.
    """
    if _LONG_NUMBER.search(text):
        raise FitError.of(where, f"A number has {LONGEST_NUMBER} digits or more.", _AGAIN, code="too-many-digits")
    if _NUMBER.sub("", text).strip(_GAP):
        raise FitError.of(where, "Something stands there that is not a number.", _AGAIN, code="not-a-number")
    return _finite([float(number) for number in _NUMBER.findall(text)], where)


def _finite(found: list[float], where: str) -> list[float]:
    if not all(abs(number) <= LARGEST for number in found):
        raise FitError.of(
            where, "A number is too large: no line of a pattern lies more than 100 m away.", _AGAIN, code="out-of-range"
        )
    return found


def read_path(path_data: str, where: str) -> list[Step]:
    """The steps of a path; a letter that stands for several steps is given to each.

    Raises:
        FitError: when it is not a sound path, or is too long.
    """
    if path_data.strip()[:1] not in ("M", "m", ""):
        raise FitError.of(where, "The path does not begin with a move.", _AGAIN, code="no-first-move")
    if len(_COMMAND.findall(path_data)) > MOST_STEPS:
        raise _too_many(where, MOST_STEPS)
    steps: list[Step] = []
    line = 0
    for letter, rows in _rows(path_data, where):
        line = len(rows) + (0 if letter in "Mm" else line)
        steps += [Step(_letter(letter, n), row) for n, row in enumerate(rows)]
        if len(steps) > MOST_STEPS:
            raise _too_many(where, MOST_STEPS)
        if line > MOST_IN_A_LINE:
            raise _too_many(where, MOST_IN_A_LINE)
    return steps


def _too_many(where: str, most: int) -> FitError:
    part = "One line of the path" if most == MOST_IN_A_LINE else "The path"
    return too_many(where, f"{part} has more than {most} steps.", of_a_line=True)


def _letter(letter: str, number: int) -> str:
    """After the first pair of numbers a move goes on as lines."""
    return letter if number == 0 else {"M": "L", "m": "l"}.get(letter, letter)


def _rows(path_data: str, where: str) -> Iterator[tuple[str, list[tuple[float, ...]]]]:
    """Each letter of the path with the numbers of its steps."""
    for found in _RUN.finditer(path_data):
        letter, rest = found[1], found[2]
        size = _NUMBERS_A_STEP[letter.lower()]
        numbers = _arc_numbers(rest, where) if letter in "Aa" else numbers_of(rest, where)
        if (not size and numbers) or (size and (not numbers or len(numbers) % size)):
            raise FitError.of(
                where, f"A step “{letter}” of the path has {len(numbers)} numbers.", _AGAIN, code="bad-step"
            )
        yield letter, [tuple(numbers[n : n + size]) for n in range(0, len(numbers), size)] if size else [()]


def _arc_numbers(text: str, where: str) -> list[float]:
    """The numbers of arcs; the two flags of each are single digits, which may stand close together."""
    if _LONG_NUMBER.search(text):
        raise FitError.of(where, f"A number has {LONGEST_NUMBER} digits or more.", _AGAIN, code="too-many-digits")
    numbers: list[float] = []
    at = len(text) - len(text.lstrip(_GAP))
    while at < len(text):
        found = (_FLAG if len(numbers) % 7 in _ARC_FLAGS else _NUMBER).match(text, at)
        if found is None:
            raise FitError.of(where, "An arc of the path has not its seven numbers.", _AGAIN, code="bad-arc")
        numbers.append(float(found[0]))
        if len(numbers) > 7 * MOST_IN_A_LINE:
            raise _too_many(where, MOST_IN_A_LINE)
        at = found.end()
        while at < len(text) and text[at] in _GAP:
            at += 1
    if not numbers or len(numbers) % 7:
        raise FitError.of(where, "An arc of the path has not its seven numbers.", _AGAIN, code="bad-arc")
    return _finite(numbers, where)


def pixels(text: str | None, where: str, usual: float | None = 0.0) -> float | None:
    """A length in pixels; `usual` where none is given, or where it is a share of something (``100%``).

    Raises:
        FitError: when it is not a length.
    """
    if text is None or text.strip().lower() in ("", "auto") or text.strip().endswith("%"):
        return usual
    found = None if len(text) > LONGEST_NUMBER else _LENGTH.fullmatch(text)
    value = float(found[1]) * _PX[found[2].lower()] if found else math.nan
    if not abs(value) <= LARGEST:
        do = "Give it in mm, in, cm or px."
        raise FitError.of(where, f"{quoted(text)} is not a length.", do, code="not-a-length")
    return value


def read_view_box(text: str | None, where: str) -> ViewBox | None:
    """The view box; None where there is none.

    Raises:
        FitError: when it is not four numbers, the last two over 0.
    """
    if text is None or not text.strip():
        return None
    found = numbers_of(text, where)
    if len(found) != 4 or min(found[2:]) <= 0.0:
        raise FitError.of(where, "The view box is not a corner and a size.", _AGAIN, code="bad-view-box")
    return ViewBox(*found)


def read_transform(text: str | None, where: str) -> Affine:
    """The move that a list of transforms comes to.

    Raises:
        FitError: when it is not such a list.
    """
    if not text or not text.strip() or text.strip() == "none":
        return UNMOVED
    at, whole = 0, UNMOVED
    while at < len(text):
        found = _MOVE.match(text, at) if len(text) <= MOST_TRANSFORM else None
        numbers = numbers_of(found[2], where) if found else []
        if found is None or len(numbers) not in _MOVE_NUMBERS[found[1]]:
            raise FitError.of(where, "The transform can't be read.", _AGAIN, code="bad-transform")
        whole = _move(found[1], numbers).then(whole)
        at = found.end()
    return whole


def _move(kind: str, numbers: Sequence[float]) -> Affine:
    """One transform of a list."""
    one, two = numbers[0], numbers[1] if len(numbers) > 1 else None
    if kind == "matrix":
        xx, yx, xy, yy, dx, dy = numbers
        return Affine(xx, xy, yx, yy, dx, dy)
    if kind == "translate":
        return Affine(dx=one, dy=two or 0.0)
    if kind == "scale":
        return Affine(xx=one, yy=one if two is None else two)
    if kind == "rotate":
        return turn(Point(*numbers[1:]) if len(numbers) == 3 else Point(0.0, 0.0), math.radians(one))
    lean = math.tan(math.radians(one))
    return Affine(xy=lean) if kind == "skewX" else Affine(yx=lean)
