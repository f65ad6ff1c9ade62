"""How long the card's rule measures on her print, and so how much too long or short the print is."""

from __future__ import annotations

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.chequers import RULER_ACROSS_MM, RULER_MM
from diagnose.units import Unit, both, read_length

__all__ = ["printed_of"]

MOST_RATIO = 1.25


def printed_of(text: str, unit: Unit) -> tuple[float, float]:
    """How many times its length the print is, across the sheet and along it.

    Args:
        text: what the rule along the sheet measures, and after a comma and a blank the line across it, where that was
            measured too: ``199 mm`` or ``199 mm, 91.5 mm``.
        unit: of lengths without one.

    Raises:
        FitError: when a length can't be read, or is no length of that rule.
    """
    parts = [part.strip() for part in text.replace(";", ", ").split(", ") if part.strip()]
    if len(parts) not in (1, 2):
        raise FitError.of(
            "--ruler",
            f"“{text[:60]}” gives no length.",
            "Write what the rule measures: --ruler '199 mm'.",
            code="no-value",
        )
    along = _ratio(parts[0], RULER_MM, unit)
    return (along if len(parts) == 1 else _ratio(parts[1], RULER_ACROSS_MM, unit)), along


def _ratio(text: str, should_mm: float, unit: Unit) -> float:
    measured = read_length(text, "--ruler", unit)
    if not should_mm / MOST_RATIO <= measured <= should_mm * MOST_RATIO:
        what = f"“{text}” can't be the rule, which should be {both(should_mm, unit)} long."
        raise FitError.of("--ruler", what, "Measure it from the first long line to the last.", code="not-the-rule")
    return measured / should_mm
