"""The ways of one step: each with its amount, what it costs and what it leaves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from diagnose.casebook import StepDone
from diagnose.errors import FitError, nearest
from diagnose.pattern.in_words import bone_numbers, notes_said, piece_title
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.plan.ways import Way
from diagnose.rulebase.base import RuleBase
from diagnose.sentences import listed
from diagnose.sheets.words.parts import Said, wrapped
from diagnose.sheets.words.wording import big_figure, way_title
from diagnose.units import Unit, both

__all__ = ["cost_said", "drawn_title", "left_said", "step_named", "ways_lines", "ways_to_json"]

MM2_PER_SQUARE_INCH = 645.16
MM2_PER_SQUARE_CM = 100.0
LEAST_TOLD_MM = 3.0


def step_named(diagnosis: Diagnosis, name: str) -> StepPlan:
    """The step of that id.

    Raises:
        FitError: when the plan has none.
    """
    steps = {step.id: step for round_ in diagnosis.rounds for step in round_.steps}
    if name not in steps:
        raise FitError.of("--ways", f"The plan has no step “{name[:40]}”.", nearest(name, steps), code="no-such-step")
    return steps[name]


def ways_lines(
    step: StepPlan, ways: Sequence[Way], base: RuleBase, unit: Unit, *patterns: Pattern | None
) -> Iterator[Said]:
    """The ways in lines, best first; `patterns` are the versions that they speak of, the oldest first."""
    bones = bone_numbers(*patterns)
    yield f"Ways of step {step.id}, best first:"
    for number, way in enumerate(ways, 1):
        yield ""
        yield from wrapped(f"{way_title(base.entries, way.name)} ({way.name})", f"{number}. ")
        if not way.drawn:
            yield from wrapped(" ".join(notes_said(way.notes, bones)) or "It is done by hand.", "   For the hand: ")
            continue
        entry = base.entries.alterations.get(way.parts[0].alteration)
        figure = big_figure(way.amount, unit, entry.ways if entry else None, side=step.side)
        yield from wrapped(" ".join(filter(None, figure)), "   ")
        yield from wrapped(cost_said(way, unit), "   Costs: ")
        yield from wrapped(left_said(way, unit), "   Leaves: ")
    yield ""
    drawn = [way for way in ways if way.drawn]
    if drawn:
        yield from wrapped(f"To draw one of them: diagnose alter CASE --way {step.id}={drawn[-1].name}")


def drawn_title(step: StepDone, base: RuleBase) -> str:
    """What was done by a step, in the way that it was drawn."""
    return way_title(base.entries, str(step.drawn.get("way") or step.alteration))


def cost_said(way: Way, unit: Unit) -> str:
    """What a way costs, after “Costs:”."""
    cost = way.cost
    size, word = (MM2_PER_SQUARE_INCH, "sq in") if unit == "in" else (MM2_PER_SQUARE_CM, "sq cm")
    cloth = cost.cloth_mm2 / size
    said = [f"{abs(cloth):.0f} {word} of cloth {'more' if cloth > 0.0 else 'less'}"] if abs(cloth) >= 1.0 else []
    said += [f"{len(cost.seams)} seam{'s' if len(cost.seams) > 1 else ''} to open in a half"] if cost.seams else []
    said += [f"{len(cost.bones)} bone{'s' if len(cost.bones) > 1 else ''} to cut anew"] if cost.bones else []
    apart, added = (listed([piece_title(name) for name in names]) for names in (cost.off_the_fold, cost.new_pieces))
    said += [f"new pieces: {added}"] if added else []
    said += [f"left and right of {apart} are cut apart"] if apart else []
    return "; ".join(said) + "." if said else "little: lines redrawn."


def left_said(way: Way, unit: Unit) -> str:
    """What a way leaves, after “Leaves:”."""
    left = [(station, mm) for station, mm in way.leaves_mm.items() if abs(mm) >= LEAST_TOLD_MM]
    said = [f"{both(abs(mm), unit)} {'over' if mm > 0.0 else 'under'} the target at the {s}" for s, mm in left]
    return "; ".join(said) + "." if said else "the gap at its target."


def ways_to_json(step: StepPlan, ways: Sequence[Way], base: RuleBase) -> dict[str, Any]:
    """The ways as data; lengths in mm, cloth in mm²."""
    return {"version": 1, "step": step.id, "ways": [_way(way, base) for way in ways]}


def _way(way: Way, base: RuleBase) -> dict[str, Any]:
    from diagnose.sheets.json_out import amount_to_json

    return {
        "way": way.name,
        "title": way_title(base.entries, way.name),
        "parts": [{"alteration": part.alteration, "share": float(part.share)} for part in way.parts],
        "side": way.side,
        "amount_mm": amount_to_json(way.amount),
        "at": way.at,
        "drawn": way.drawn,
        "capped": way.capped,
        "costs": {
            "cloth_mm2": way.cost.cloth_mm2,
            "seams_to_open": list(way.cost.seams),
            "bones_to_recut": list(way.cost.bones),
            "new_pieces": list(way.cost.new_pieces),
            "off_the_fold": list(way.cost.off_the_fold),
        },
        "predicted_gap_mm": dict(way.predicted_gap_mm),
        "leaves_mm": dict(way.leaves_mm),
        "notes": notes_said(way.notes, {}),
    }
