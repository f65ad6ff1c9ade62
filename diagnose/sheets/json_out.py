"""A diagnosis as the JSON of the fixed interface: version 1, lengths in `_mm` numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec import to_builtins

from diagnose.model.diagnosis import Amount, CauseFound, Evidence
from diagnose.pattern.in_words import notes_said
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.sheets.gap_json import gap_to_json, numbers, two

__all__ = ["amount_to_json", "cause_to_json", "diagnosis_to_json", "step_to_json"]

VERSION = 1


def diagnosis_to_json(diagnosis: Diagnosis) -> dict[str, Any]:
    """The line that `diagnose batch` writes for a try-on; `exact` stands in it (false) where chances are only near."""
    return {
        "version": VERSION,
        "id": diagnosis.id,
        "stop": to_builtins(diagnosis.stop),
        "gap": gap_to_json(diagnosis.gap),
        "causes": [cause_to_json(cause) for cause in diagnosis.causes],
        "plan": [
            {
                "round": round_.number,
                "steps": [step_to_json(step) for step in round_.steps],
                "then": round_.then,
                "expect": list(round_.expect),
            }
            for round_ in diagnosis.rounds
        ],
        "held_back": to_builtins(list(diagnosis.held_back)),
        "ask": [
            {"question": ask.question, "id": ask.id, "settles": list(ask.settles), "why": ask.why, "how": ask.how}
            for ask in diagnosis.ask
        ],
        "cautions": list(diagnosis.cautions),
        "presumed": list(diagnosis.presumed),
        "reopened": _reopened(diagnosis),
        "finish": list(diagnosis.finish),
        "findings": {side: dict(found) for side, found in diagnosis.findings.items()},
        **({} if diagnosis.exact else {"exact": False}),
    }  # fmt: skip


def _reopened(diagnosis: Diagnosis) -> dict[str, Any] | None:
    found = diagnosis.reopened
    if found is None:
        return None
    return {"miss_mm": numbers(found.miss_mm), "causes": list(found.causes), "explanations": list(found.explanations)}


def cause_to_json(cause: CauseFound) -> dict[str, Any]:
    """A cause with what speaks for it and against it."""
    return {
        "id": cause.id,
        "probability": round(cause.probability, 4),
        "side": cause.side,
        "for": _evidence(cause.for_),
        "against": _evidence(cause.against),
    }


def _evidence(items: Sequence[Evidence]) -> list[dict[str, Any]]:
    """What speaks for or against a cause: a sign and whether it was seen, or a question with the answer given."""
    found = []
    for item in items:
        name, _, answer = item.as_given.partition("=")
        named = {"question": name, "answer": answer} if answer else {"symptom": name, "seen": not item.absent}
        found.append({**named, "rule": item.rule, "weight": two(item.weight)})
    return found


def step_to_json(step: StepPlan) -> dict[str, Any]:
    """A step of a plan."""
    return {
        "id": step.id,
        "alteration": step.alteration,
        "cause": step.cause,
        "side": step.side,
        "amount_mm": amount_to_json(step.amount),
        "at": step.at,
        "at_least": step.at_least,
        "capped": step.capped,
        "why": step.why,
        "beyond": step.beyond,
        "predicted_gap_mm": numbers(step.predicted_gap_mm),
        **({"parts": {part: numbers(by) for part, by in step.parts.items()}} if step.parts else {}),
        "drawn": step.drawn,
        "ways": [way.alteration.id for way in step.ways],
        "operations": [operation.to_json() for operation in step.operations],
        "notes": list(notes_said(step.notes, {})),
    }


def amount_to_json(amount: Amount) -> dict[str, Any]:
    """An amount with its parts, in mm."""
    parts = {"length": amount.length_mm} if amount.length_mm is not None else {
        "whole": amount.whole_mm, "per_half": amount.per_half_mm, "per_seam": amount.per_seam_mm,
        "per_edge": amount.per_edge_mm,
    }  # fmt: skip
    found: dict[str, Any] = numbers(parts)
    if amount.by_station_mm:
        found["by_station"] = numbers(amount.by_station_mm)
    return found
