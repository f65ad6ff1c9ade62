"""A diagnosis as the JSON of the fixed interface: version 1, lengths in `_mm` numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.gap.reading import GapReading
from diagnose.gap.shares import Share
from diagnose.model.diagnosis import Amount, CauseFound, Diagnosis, Evidence, StepPlan

__all__ = ["diagnosis_to_json", "gap_to_json", "share_to_json"]

VERSION = 1


def diagnosis_to_json(diagnosis: Diagnosis) -> dict[str, Any]:
    """The line that `diagnose batch` writes for a try-on."""
    stop = diagnosis.stop
    return {
        "version": VERSION,
        "id": diagnosis.id,
        "stop": None if stop is None else {"flags": list(stop.flags), "do": stop.do},
        "gap": gap_to_json(diagnosis.gap),
        "causes": [_cause(cause) for cause in diagnosis.causes],
        "plan": [
            {
                "round": round_.number,
                "steps": [_step(step) for step in round_.steps],
                "then": round_.then,
                "expect": list(round_.expect),
            }
            for round_ in diagnosis.rounds
        ],
        "held_back": [
            {"alteration": held.alteration, "cause": held.cause, "side": held.side, "until": held.until,
             "because": held.because}
            for held in diagnosis.held_back
        ],
        "ask": [
            {"question": ask.question, "id": ask.id, "settles": list(ask.settles), "why": ask.why, "how": ask.how}
            for ask in diagnosis.ask
        ],
        "cautions": list(diagnosis.cautions),
        "presumed": list(diagnosis.presumed),
        "reopened": _reopened(diagnosis),
        "finish": list(diagnosis.finish),
        "findings": {side: dict(found) for side, found in diagnosis.findings.items()},
    }  # fmt: skip


def _reopened(diagnosis: Diagnosis) -> dict[str, Any] | None:
    found = diagnosis.reopened
    if found is None:
        return None
    return {"miss_mm": _numbers(found.miss_mm), "causes": list(found.causes), "explanations": list(found.explanations)}


def gap_to_json(reading: GapReading) -> dict[str, Any]:
    """The gap by station, its shape, and the change of girth wanted."""
    return {
        "shape": reading.shape,
        "stations": {
            name: {
                "gap_mm": _two(station.gap_mm),
                "target_mm": _two(station.target_mm),
                "change_mm": _two(station.change_mm),
                "closed": station.closed,
                "at_least": station.at_least,
            }
            for name, station in reading.stations.items()
        },
    }


def share_to_json(share: Share) -> dict[str, Any]:
    """A change of girth in its parts; parts that do not apply are left out."""
    parts = {"whole": share.whole_mm, "per_half": share.per_half_mm, "per_seam": share.per_seam_mm,
             "per_edge": share.per_edge_mm}  # fmt: skip
    return _numbers(parts)


def _cause(cause: CauseFound) -> dict[str, Any]:
    return {
        "id": cause.id,
        "probability": round(cause.probability, 4),
        "side": cause.side,
        "for": _evidence(cause.for_),
        "against": _evidence(cause.against),
    }


def _evidence(items: Sequence[Evidence]) -> list[dict[str, Any]]:
    found = []
    for item in items:
        name, _, answer = item.finding.partition("=")
        named = {"question": name, "answer": answer} if answer else {"symptom": name}
        found.append({**named, "rule": item.rule, "weight": _two(item.weight)})
    return found


def _step(step: StepPlan) -> dict[str, Any]:
    return {
        "id": step.id,
        "alteration": step.alteration,
        "cause": step.cause,
        "side": step.side,
        "amount_mm": _amount(step.amount),
        "at": step.at,
        "at_least": step.at_least,
        "capped": step.capped,
        "why": step.why,
        "beyond": step.beyond,
        "predicted_gap_mm": _numbers(step.predicted_gap_mm),
        "operations": [dict(operation) for operation in step.operations],
        "notes": list(step.notes),
    }


def _amount(amount: Amount) -> dict[str, Any]:
    parts = {"length": amount.length_mm} if amount.length_mm is not None else {
        "whole": amount.whole_mm, "per_half": amount.per_half_mm, "per_seam": amount.per_seam_mm,
        "per_edge": amount.per_edge_mm,
    }  # fmt: skip
    found: dict[str, Any] = _numbers(parts)
    if amount.by_station_mm:
        found["by_station"] = _numbers(amount.by_station_mm)
    return found


def _numbers(values: Mapping[Any, float | None]) -> dict[str, float]:
    return {str(name): _two(value) for name, value in values.items() if value is not None}


def _two(value: float) -> float:
    return round(value, 2) + 0.0
