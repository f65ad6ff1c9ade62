"""What the program adds up itself from what it knows and was told, and so does not ask."""

from __future__ import annotations

from typing import Any

from diagnose.errors import FitError
from diagnose.interview.known import Known
from diagnose.interview.question import Given
from diagnose.rulebase.base import RuleBase
from diagnose.units import read_length

__all__ = ["added_answers", "added_signs"]

WAIST = "waist"


def added_signs(base: RuleBase, known: Known, given: Given) -> dict[str, bool]:
    """The signs that follow from the flat pattern, the gap and the wearer's girths; none where one is not known."""
    over = _laced_waist_over_mm(known, given)
    if over is None:
        return {}
    summed = [entry.id for entry in base.entries.symptoms.values() if entry.sum == "laced-waist"]
    return dict.fromkeys(summed, over > base.settings.mm("dead-band"))


def added_answers(base: RuleBase, given: Given) -> dict[str, bool]:
    """The answers that follow from a sign's showing on one side only."""
    one_sided = {
        id_.partition(".")[2] for id_, value in given.items() if id_.startswith("side.") and value in ("left", "right")
    }
    return {
        question.id: question.one_side == "yes"
        for question in base.entries.questions.values()
        if question.one_side is not None and not one_sided.isdisjoint(question.about)
    }


def _laced_waist_over_mm(known: Known, given: Given) -> float | None:
    """By how much pattern and gap together exceed the waist that was planned."""
    flat = known.girths_mm.get(WAIST)
    body, less = (_mm(known.wearer.get(name), known) for name in (WAIST, "planned_reduction"))
    parts = ["gap", "front"] if known.garment.get("closure") == "both" else ["gap"]
    gaps = [_mm(given.get(f"{part}.{WAIST}"), known) for part in parts]
    if flat is None or body is None or less is None or None in gaps:
        return None
    return flat + sum(gap for gap in gaps if gap is not None) - (body - less)


def _mm(value: Any, known: Known) -> float | None:
    try:
        return None if value is None else read_length(value, "", known.unit)
    except FitError:
        return None
