"""Lengths as a maker writes them, read to millimetres and written back.

Inside the program every length is a float in millimetres; inches and centimetres exist only here. A length is read
from a number with an optional unit: ``2 in``, ``1 1/2 in``, ``1-1/2"``, ``0.5in``, ``3/8"``, ``50 mm``, ``5.1 cm``. A
comma may stand for the point (``5,1 cm``), but not before just three digits, where it may part thousands.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Literal, get_args

from diagnose.errors import FitError, quoted

__all__ = [
    "INCH_MM", "LEAST_SAID_MM", "SPELLED", "UNITS", "UNIT_MM", "Unit", "both", "in_her_unit", "in_inches", "in_mm",
    "on_ruler", "parse_length", "read_length", "short",
]  # fmt: skip

INCH_MM = 25.4
LONGEST_MM = 100_000.0
Unit = Literal["in", "mm", "cm"]
UNITS: tuple[Unit, ...] = get_args(Unit)
UNIT_MM: Mapping[Unit, float] = {"in": INCH_MM, "mm": 1.0, "cm": 10.0}

_EXACT_UNIT_MM: dict[str, Fraction] = {
    "in": Fraction(254, 10), "inch": Fraction(254, 10), "inches": Fraction(254, 10),
    "mm": Fraction(1), "cm": Fraction(10),
}  # fmt: skip
_NUMBER = re.compile(
    r"""(?P<sign>[-+\u2212]?)\s*
        (?: (?P<whole>\d{1,6})(?:\s+|-)(?P<num>\d{1,4})/(?P<den>\d{1,4})
          | (?P<num2>\d{1,4})/(?P<den2>\d{1,4})
          | (?P<dec>\d{1,6}(?:\.\d{0,9}|,(?!\d{3}(?!\d))\d{1,9})?|[.,]\d{1,9}) )
        \s*(?: (?P<unit>inches|inch|in|mm|cm)\.? | (?P<mark>["″”]) )?""",
    re.VERBOSE | re.ASCII,
)
_BLANKS = str.maketrans(dict.fromkeys("\u00a0\u2009\u202f", " "))
"""Blanks that typesetters and spreadsheets write between a number and its unit."""

_GLYPHS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
SPELLED: Mapping[Unit, str] = {
    "in": '1 1/2 in, 3/8", 0.5in, 38 mm or 5.1 cm', "cm": "5,1 cm, 5.1, 38 mm or 1 1/2 in",
    "mm": "38 mm, 38, 5.1 cm or 1 1/2 in",
}  # fmt: skip
"""How lengths are written, those in her own unit first."""
SPELLINGS = f"Write it like {SPELLED['in']}."


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
    match = _NUMBER.fullmatch(text.translate(_BLANKS).strip().lower())
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
    length_mm = float(value * _EXACT_UNIT_MM[part["unit"] or ("in" if part["mark"] else unit)])
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
            raise FitError.of(
                where, f"{quoted(value)} is not a length.", f"Write it like {SPELLED[unit]}.", code="not-a-length"
            )
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
    """Millimetres to the nearest one, as ``38 mm``; to the half where it is one, or under 5 mm: ``6.5 mm``."""
    return f"{_on_her_marks(length_mm):g} mm"


def _on_her_marks(length_mm: float) -> float:
    """The length in mm as a metric ruler shows it: what lies on a half is not rounded away from it."""
    half = round(length_mm * 2) / 2 + 0.0
    return half if abs(length_mm) < 5 or abs(length_mm - half) < HALF_TOL_MM else round(length_mm) + 0.0


LEAST_SAID_MM = 0.25
HALF_TOL_MM = 0.001


def both(length_mm: float, unit: Unit = "in") -> str:
    """A length as the maker reads it: ``1 1/2 in (38 mm)``, or the metric one alone when she works in metric.

    One that is there, but less than her ruler shows, is ``under 1/16 in (0.5 mm)``.
    """
    there = abs(length_mm) >= LEAST_SAID_MM
    if unit == "cm":
        shown_mm = _on_her_marks(length_mm)
        # Under half a centimetre a half mm may only be what it was rounded to.
        is_half = shown_mm % 1 and abs(length_mm - shown_mm) < HALF_TOL_MM
        said = f"{shown_mm / 10:.2f} cm" if is_half else f"{length_mm / 10 + 0.0:.1f} cm"
        return "under 0.1 cm" if there and said in ("0.0 cm", "-0.0 cm") else said.replace("-0.0", "0.0")
    if unit == "mm":
        return in_mm(length_mm)
    said = in_inches(length_mm)
    return f"{'under 1/16 in' if there and said == '0 in' else said} ({in_mm(length_mm)})"


_NUMBER_IN = r"[\d/]+(?:[ \u00a0]\d+/\d+)?"
_SPELT_MM = {
    **{f"{part}{of}": share * INCH_MM for part, share in (
        ("half", 0.5), ("a half", 0.5), ("quarter", 0.25), ("a quarter", 0.25), ("three quarters", 0.75),
        ("a third", 1 / 3), ("a sixteenth", 1 / 16), ("an eighth", 1 / 8),
    ) for of in ("", " an", " of an")},
    **{word: count * INCH_MM for count, word in enumerate((
        "an", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    )) if count} | {"an": INCH_MM},
}  # fmt: skip
_SPELT = "|".join(sorted(_SPELT_MM, key=len, reverse=True)).replace(" ", "[ ]")
_INCHES = rf"""
    (?:under[ ])?-?(?:{_NUMBER_IN}[ ]to[ ])?{_NUMBER_IN}[ \u00a0]in[ ]\((?P<mm>-?[\d.]+(?:[ ]to[ ][\d.]+)?)[ ]mm\)
    | \b(?P<bare>(?:(?:{_NUMBER_IN},[ ])*{_NUMBER_IN}[ ](?:to|and|or)[ ])?{_NUMBER_IN})[ \u00a0]in\b(?![ ]100)
      (?:[ ]\([\d.]+(?:,[ ][\d.]+)*[ ](?:and|or)[ ][\d.]+[ ]mm\))?
    | (?<!holes[ ])(?<!stitches[ ])\b(?P<spelt>{_SPELT})[ ]inch(?:es)?\b(?![ ]or\b)
      (?P<more>[ ]and[ ]a[ ]half\b)?(?:[ ]\([\d.]+[ ]mm\))?
"""
_EACH = re.compile(_NUMBER_IN)


def in_her_unit(text: str, unit: Unit) -> str:
    """A sentence whose lengths are in inches, in figures or spelt out, as a maker who works in `unit` reads it."""
    if unit == "in":
        return text
    return re.sub(_INCHES, lambda found: _in_unit(found, unit), text, flags=re.VERBOSE | re.IGNORECASE)


def _in_unit(found: re.Match[str], unit: Unit) -> str:
    if found["mm"]:
        inches, shown = _EACH.findall(found[0].partition("(")[0]), found["mm"].split(" to ")
        exact = [parse_length(f"{one} in") or 0.0 for one in inches]
        # What is only the inches turned into millimetres is rounded once, from the inches themselves.
        same = [in_mm(mm) for mm in exact] == [f"{number} mm" for number in shown]
        *first, last = (both(mm, unit) for mm in (exact if same else map(float, shown)))
        return " to ".join([*(one.removesuffix(f" {unit}") for one in first), last])
    if found["bare"]:
        return _EACH.sub(lambda one: _bare(one[0], unit).removesuffix(f" {unit}"), found["bare"]) + f" {unit}"
    return both(_SPELT_MM[found["spelt"].lower()] + (INCH_MM / 2 if found["more"] else 0.0), unit)


def _bare(inches: str, unit: Unit) -> str:
    return both(parse_length(f"{inches} in") or 0.0, unit)


def short(length_mm: float, unit: Unit = "in") -> str:
    """A length where there is little room, in her own unit alone: ``1 1/2 in``, ``3.8 cm``, ``38 mm``."""
    return in_inches(length_mm) if unit == "in" else both(length_mm, unit)


def on_ruler(length_mm: float, step_mm: float = INCH_MM / 16) -> float:
    """The length on the nearest mark of the maker's ruler (1/16 in unless `step_mm` says otherwise), in mm."""
    return round(length_mm / step_mm) * step_mm
