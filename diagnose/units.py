"""Lengths as a maker writes them, read to millimetres and written back.

Inside the program every length is a float in millimetres; inches and centimetres exist only here. A length is read
from a number with an optional unit: ``2 in``, ``1 1/2 in``, ``1-1/2"``, ``0.5in``, ``3/8"``, ``50 mm``, ``5.1 cm``. A
comma may stand for the point (``5,1 cm``), but not before just three digits, where it may part thousands.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from diagnose.errors import FitError, quoted

__all__ = [
    "INCH_MM", "Unit", "both", "in_her_unit", "in_inches", "in_mm", "on_ruler", "parse_length", "read_length", "short",
]  # fmt: skip

INCH_MM = 25.4
LONGEST_MM = 100_000.0
Unit = Literal["in", "mm", "cm"]

_UNIT_MM: dict[str, Fraction] = {
    "in": Fraction(254, 10), "inch": Fraction(254, 10), "inches": Fraction(254, 10), '"': Fraction(254, 10),
    "″": Fraction(254, 10), "”": Fraction(254, 10), "mm": Fraction(1), "cm": Fraction(10),
}  # fmt: skip
_NUMBER = re.compile(
    r"""(?P<sign>[-+\u2212]?)\s*
        (?: (?P<whole>\d{1,6})(?:\s+|-)(?P<num>\d{1,4})/(?P<den>\d{1,4})
          | (?P<num2>\d{1,4})/(?P<den2>\d{1,4})
          | (?P<dec>\d{1,6}(?:\.\d{0,9}|,(?!\d{3}(?!\d))\d{1,9})?|[.,]\d{1,9}) )
        \s*(?P<unit>inches|inch|in|mm|cm|"|″|”)?""",
    re.VERBOSE | re.ASCII,
)
_GLYPHS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
SPELLINGS = 'Write it like 1 1/2 in, 3/8", 0.5in, 38 mm or 5.1 cm.'


@lru_cache(maxsize=4096)
def parse_length(text: str, unit: Unit = "in") -> float | None:
    """Millimetres of a length as written, or None when it is not one.

    Args:
        text: the length; a negative one may carry a leading minus sign.
        unit: the unit taken when the text names none.
    """
    if len(text) > 40:
        return None
    for glyph, plain in _GLYPHS.items():
        text = text.replace(glyph, " " + plain)
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return None
    part = match.groupdict()
    if part["dec"] is not None:
        value = Fraction(part["dec"].replace(",", "."))
    else:
        below = int(part["den"] or part["den2"])
        if below == 0:
            return None
        value = Fraction(int(part["num"] or part["num2"]), below) + int(part["whole"] or 0)
    length_mm = float(value * _UNIT_MM[part["unit"] or unit])
    if length_mm > LONGEST_MM:
        return None
    return -length_mm if part["sign"] in ("-", "\u2212") and length_mm else length_mm


def read_length(value: object, where: str, unit: Unit = "in") -> float:
    """Millimetres of a length from JSON or the command line: a number is millimetres, text is as a maker writes it.

    Raises:
        FitError: when it is not a finite length; the sentence quotes it and says which spelling would do.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise FitError.of(where, f"{quoted(value)} is not a length.", SPELLINGS, code="not-a-length")
    if isinstance(value, str):
        read = parse_length(value, unit)
        if read is None:
            raise FitError.of(where, f"{quoted(value)} is not a length.", SPELLINGS, code="not-a-length")
        return read
    if not abs(value) <= LONGEST_MM:
        raise FitError.of(
            where, f"{quoted(value)} is not a length anyone can measure.", SPELLINGS, code="beyond-belief"
        )
    return float(value)


def in_inches(length_mm: float, parts: int = 16) -> str:
    """Inches as on a ruler, to the nearest 1/16 (or 1/`parts`): ``1 1/2 in``, ``0 in``, ``-3/8 in``."""
    count = round(abs(length_mm) / INCH_MM * parts)
    whole, rest = divmod(count, parts)
    sign = "-" if length_mm < 0 and count else ""
    if not rest:
        return f"{sign}{whole} in"
    fraction = Fraction(rest, parts)
    return f"{sign}{f'{whole} ' if whole else ''}{fraction.numerator}/{fraction.denominator} in"


def in_mm(length_mm: float) -> str:
    """Millimetres to the nearest one: ``38 mm``; under 10 mm to the nearest half: ``6.5 mm``."""
    if abs(length_mm) >= 10:
        return f"{round(length_mm)} mm"
    return f"{round(length_mm * 2) / 2 + 0.0:g} mm"


def both(length_mm: float, unit: Unit = "in") -> str:
    """A length as the maker reads it: ``1 1/2 in (38 mm)``, or the metric one alone when she works in metric."""
    if unit == "cm":
        return f"{length_mm / 10:.1f} cm"
    return in_mm(length_mm) if unit == "mm" else f"{in_inches(length_mm)} ({in_mm(length_mm)})"


_BOTH = re.compile(r"-?(?:\d+(?: \d+/\d+)?|\d+/\d+) in \((?P<mm>-?\d+(?:\.\d+)?) mm\)")


def in_her_unit(text: str, unit: Unit) -> str:
    """A sentence whose lengths stand in inches with millimetres beside, as a maker who works in `unit` reads it."""
    return text if unit == "in" else _BOTH.sub(lambda found: both(float(found["mm"]), unit), text)


def short(length_mm: float, unit: Unit = "in") -> str:
    """A length where there is little room, in her own unit alone: ``1 1/2 in``, ``3.8 cm``, ``38 mm``."""
    return in_inches(length_mm) if unit == "in" else both(length_mm, unit)


def on_ruler(length_mm: float, step_mm: float = INCH_MM / 16) -> float:
    """The length on the nearest mark of the maker's ruler (1/16 in unless `step_mm` says otherwise), in mm."""
    return round(length_mm / step_mm) * step_mm
