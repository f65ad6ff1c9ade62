"""The small languages inside SVG's attributes: path data, transforms, lengths, view boxes. Checked, then read.

Everything is checked against the grammar first, so that the library that reads it meets nothing malformed, and counted,
so that what is too long is refused before it is read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import NamedTuple

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.sketch import MOST_IN_A_LINE, MOST_STEPS
from diagnose.pattern.geometry.plane import UNMOVED, Affine

__all__ = ["INCH_PX", "Box", "numbers_of", "pixels", "read_transform", "read_view_box", "step_count",
    "with_whole_numbers",
]  # fmt: skip

INCH_PX = 96.0
"""Pixels to the inch, as CSS defines them (CSS Values and Units, absolute lengths; from memory)."""

LONGEST_NUMBER = 60
MOST_TRANSFORM = 10_000
_NUMBER = re.compile(r"[-+]?(?:\d++\.?\d*+|\.\d++)(?:[eE][-+]?\d++)?+", re.ASCII)
_COMMAND = re.compile(r"[MmLlHhVvCcSsQqTtAaZz]")
_RUN = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
_GAP = r"[ \t\r\n\f,]*+"
_PART = rf"{_NUMBER.pattern}{_GAP}"
_ARC = re.compile(rf"(?:{_PART}){{3}}[01]{_GAP}[01]{_GAP}(?:{_PART}){{2}}", re.ASCII)
_LONG_NUMBER = re.compile(rf"[\d.]{{{LONGEST_NUMBER}}}")
_BARE_POINT = re.compile(r"(?<=\d)\.(?!\d)", re.ASCII)
_NUMBERS_A_STEP = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2}
_PX = {
    "": 1.0, "px": 1.0, "in": INCH_PX, "mm": INCH_PX / 25.4, "cm": INCH_PX / 2.54, "q": INCH_PX / 101.6,
    "pt": INCH_PX / 72.0, "pc": INCH_PX / 6.0,
}  # fmt: skip
_LENGTH = re.compile(rf"\s*({_NUMBER.pattern})\s*(px|in|mm|cm|q|pt|pc|)\s*", re.IGNORECASE | re.ASCII)
_MOVE = re.compile(r"\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)[\s,]*", re.ASCII)
_MOVE_NUMBERS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,)}
_AGAIN = "Draw it anew, or save the file from the drawing program once more."


class Box(NamedTuple):
    """A view box: its corner and its size, in units of the drawing."""

    left: float
    top: float
    wide: float
    high: float


def numbers_of(text: str, where: str) -> list[float]:
    """The numbers of a list parted by blanks or commas.

    Raises:
        FitError: when anything else stands there, or a number is endless.
    """
    if _LONG_NUMBER.search(text):
        raise FitError.of(where, f"A number has {LONGEST_NUMBER} digits or more.", _AGAIN)
    if _NUMBER.sub("", text).strip(" \t\r\n\f,"):
        raise FitError.of(where, "Something stands there that is not a number.", _AGAIN)
    found = [float(number) for number in _NUMBER.findall(text)]
    if not all(map(math.isfinite, found)):
        raise FitError.of(where, "A number is too large to be one.", _AGAIN)
    return found


def with_whole_numbers(path_data: str) -> str:
    """The path with ``1.`` written ``1.0``, which the library can't read otherwise."""
    return _BARE_POINT.sub(".0", path_data)


def step_count(path_data: str, where: str) -> int:
    """How many steps a path has.

    Raises:
        FitError: when it is not a sound path, or is too long.
    """
    if path_data.strip()[:1] not in ("M", "m", ""):
        raise FitError.of(where, "The path does not begin with a move.", _AGAIN)
    too_long = FitError.of(where, f"The path has more than {MOST_STEPS} steps.", "Simplify it; a pattern needs few.")
    if len(_COMMAND.findall(path_data)) > MOST_STEPS:
        raise too_long
    count = line = 0
    for is_new, steps in _steps_of_runs(path_data, where):
        count, line = count + steps, steps + (0 if is_new else line)
        if count > MOST_STEPS:
            raise too_long
        if line > MOST_IN_A_LINE:
            what = f"One line of the path has more than {MOST_IN_A_LINE} steps."
            raise FitError.of(where, what, "Simplify it; a pattern needs few.")
    return count


def _steps_of_runs(path_data: str, where: str) -> Iterator[tuple[bool, int]]:
    """For each command with its numbers, whether it begins a new line, and how many steps it is."""
    for found in _RUN.finditer(path_data):
        command, rest = found[1].lower(), found[2]
        if command == "a":
            yield False, _arcs(rest, where)
            continue
        count = len(numbers_of(rest, where))
        a_step = _NUMBERS_A_STEP.get(command, 0)
        if (count and not a_step) or (a_step and (not count or count % a_step)):
            raise FitError.of(where, f"A step “{found[1]}” of the path has {count} numbers.", _AGAIN)
        yield command == "m", count // a_step if a_step else 1


def _arcs(text: str, where: str) -> int:
    if _LONG_NUMBER.search(text):
        raise FitError.of(where, f"A number has {LONGEST_NUMBER} digits or more.", _AGAIN)
    at, count = len(text) - len(text.lstrip(" \t\r\n\f,")), 0
    while at < len(text):
        found = _ARC.match(text, at)
        if found is None:
            raise FitError.of(where, "An arc of the path has not its seven numbers.", _AGAIN)
        at, count = found.end(), count + 1
    if not count:
        raise FitError.of(where, "An arc of the path has not its seven numbers.", _AGAIN)
    return count


def pixels(text: str | None, where: str, usual: float | None = 0.0) -> float | None:
    """A length in pixels; `usual` where none is given, or where it is a share of something (``100%``).

    Raises:
        FitError: when it is not a length.
    """
    if text is None or text.strip().lower() in ("", "auto") or text.strip().endswith("%"):
        return usual
    found = None if len(text) > LONGEST_NUMBER else _LENGTH.fullmatch(text)
    value = float(found[1]) * _PX[found[2].lower()] if found else math.nan
    if not math.isfinite(value):
        raise FitError.of(where, f"“{text[:LONGEST_NUMBER]}” is not a length.", "Give it in mm, in, cm or px.")
    return value


def read_view_box(text: str | None, where: str) -> Box | None:
    """The view box; None where there is none.

    Raises:
        FitError: when it is not four numbers, the last two over 0.
    """
    if text is None or not text.strip():
        return None
    found = numbers_of(text, where)
    if len(found) != 4 or min(found[2:]) <= 0.0:
        raise FitError.of(where, "The view box is not a corner and a size.", _AGAIN)
    return Box(*found)


def read_transform(text: str | None, where: str) -> Affine:
    """The move that a list of transforms comes to.

    Raises:
        FitError: when it is not such a list.
    """
    if not text or not text.strip() or text.strip() == "none":
        return UNMOVED
    at = 0
    while at < len(text):
        found = _MOVE.match(text, at) if len(text) <= MOST_TRANSFORM else None
        if found is None or len(numbers_of(found[2], where)) not in _MOVE_NUMBERS[found[1]]:
            raise FitError.of(where, "The transform can't be read.", _AGAIN)
        at = found.end()
    from svgelements import Matrix  # type: ignore[import-untyped]  # late: it takes longer to import than a pattern takes to read

    whole = Matrix(text)
    return Affine(whole.a, whole.c, whole.b, whole.d, whole.e, whole.f)
