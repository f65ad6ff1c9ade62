"""What a number may be: the believable range of a reading, held at every door alike.

The ranges themselves stand in the rule base; here is only how one is held, and what is said of a number outside it.
"""

from __future__ import annotations

from diagnose.units import UNIT_MM, Unit, both

__all__ = ["outside"]

SLACK = 1e-6


def outside(
    amount: float, low: float | None, high: float | None, measure: str = "length", unit: Unit = "in"
) -> tuple[str, str] | None:
    """What is wrong with a number and what to do; None when it lies between the two, ends included.

    Args:
        amount: in mm, or minutes.
        low, high: the ends of the range; None where there is none.
        measure: `length`, `minutes` or `number`.
        unit: the maker's; a figure that would do in another unit is offered.
    """
    if _lies_in(amount, low, high):
        return None
    least = _said(low or 0.0, measure, unit)
    believable = f"from {least} up" if high is None else f"{least} to {_said(high, measure, unit)}"
    meant = _other_unit(amount, low, high, unit=unit) if measure == "length" else ""
    return f"{_said(amount, measure, unit)} is outside what is believable here, {believable}.", f"Measure again{meant}."


def _lies_in(amount: float, low: float | None, high: float | None) -> bool:
    return (low is None or amount >= low - SLACK) and (high is None or amount <= high + SLACK)


def _other_unit(amount_mm: float, low: float | None, high: float | None, unit: Unit) -> str:
    """The spelling that would do, when the figure was meant in another unit; a fraction was meant as an inch."""
    figure = round(amount_mm / UNIT_MM[unit], 4)
    if figure != round(figure, 1):
        return ""
    for name, in_mm in UNIT_MM.items():
        meant_mm = figure * in_mm
        if name != unit and meant_mm and high is not None and _lies_in(meant_mm, low, high):
            return f"; if {figure:g} {name} was meant, write it so"
    return ""


def _said(amount: float, measure: str, unit: Unit) -> str:
    if measure == "length":
        return both(amount, unit) if amount else f"0 {unit}"
    return f"{amount:g} minutes" if measure == "minutes" else f"{amount:g}"
