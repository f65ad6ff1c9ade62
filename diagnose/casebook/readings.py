"""What a stored try-on says of the gap and the signs, out of its plan, or out of its answers when it has none.

A stored plan is JSON that anyone may have touched: what in it is not as expected is passed over.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook import layout
from diagnose.casebook.case import Case, StoredTryOn
from diagnose.casebook.jsonfile import table
from diagnose.errors import FitError, one_line
from diagnose.model.stations import STATIONS
from diagnose.model.tryon_reading import NO_WORDS, read_tryon

__all__ = ["Reading", "gap_readings", "predicted_gap", "signs"]


class Reading(Struct, frozen=True):
    """The gap at one station in mm: a known lap counts below 0; `at_least` is a closed one whose lap is not known."""

    gap_mm: float
    at_least: bool
    target_mm: float | None


def gap_readings(case: Case, tryon: StoredTryOn) -> dict[str, Reading]:
    """The gap at each station read, top to bottom.

    Raises:
        FitError: when there is no plan and the answers hold a length that is none.
    """
    gap = table((tryon.plan or {}).get("gap"))
    stations = {name: table(table(gap.get("stations")).get(name)) for name in STATIONS}
    found: dict[str, Reading] = {name: reading for name, row in stations.items() if (reading := _of_plan(row))}
    return found or _of_answers(case, tryon)


def _of_plan(row: Mapping[str, Any]) -> Reading | None:
    gap_mm, target_mm, change_mm = (_number(row.get(key)) for key in ("gap_mm", "target_mm", "change_mm"))
    if target_mm is not None and change_mm is not None:
        gap_mm = round(target_mm - change_mm, 3)
    return None if gap_mm is None else Reading(gap_mm, row.get("at_least") is True, target_mm)


def _of_answers(case: Case, tryon: StoredTryOn) -> dict[str, Reading]:
    raw = {key: tryon.answers[key] for key in ("gap", "overlap", "target") if key in tryon.answers}
    try:
        read = read_tryon({"id": "gap", "target": case.target, **raw}, NO_WORDS, case.unit)
    except FitError as error:
        where = layout.answers_of(tryon.number)
        raise FitError(replace(m, where=f"{where}: answers.{m.where}") for m in error.mistakes) from None
    target = read.target or {}
    return {
        name: Reading(
            read.gap[name] - read.overlap.get(name, 0.0), not read.gap[name] and name not in read.overlap,
            target.get(name),
        )
        for name in STATIONS
        if name in read.gap
    }  # fmt: skip


def predicted_gap(
    tryon: StoredTryOn, readings: Mapping[str, Reading], done: Mapping[str, Mapping[str, Any]]
) -> dict[str, float]:
    """Where the gap should come to stand after those steps of the try-on's plan that were done.

    Each step's part is the change of girth it states, or else the difference between its prediction and the one before
    it. When every step up to one was done, the prediction is that step's own, as it was drawn.

    Args:
        tryon: the try-on whose plan it is.
        readings: the gap at it.
        done: the steps done by id, each as it was drawn; with none of the plan's steps among them nothing is predicted.
    """
    if not set(done) & set(tryon.step_ids):
        return {}
    return {name: _after_steps(tryon, name, reading.gap_mm, done=done) for name, reading in readings.items()}


def _after_steps(tryon: StoredTryOn, station: str, gap_mm: float, done: Mapping[str, Mapping[str, Any]]) -> float:
    stated = moved = gap_mm
    as_planned = True
    for planned in tryon.steps:
        id_ = str(planned.get("id"))
        step = done.get(id_) or planned
        otherwise = "way" in step
        then = _number(table(planned.get("predicted_gap_mm")).get(station))
        then = stated if then is None else then
        drawn = _number(table(step.get("predicted_gap_mm")).get(station))
        if id_ in done:
            change = _number(table(table(step.get("amount_mm")).get("by_station")).get(station))
            by_steps = moved + (then - stated if change is None else change)
            moved = drawn if drawn is not None and (as_planned or otherwise) else by_steps
        as_planned = as_planned and id_ in done and not otherwise
        stated = then
    return round(max(0.0, moved), 2)


def signs(tryon: StoredTryOn) -> dict[str, bool]:
    """The signs looked for, and whether each was there, on either side: those found, and what else was answered."""
    answered = table(tryon.answers.get("seen"))
    found = dict[str, bool]()
    for side in table((tryon.plan or {}).get("findings")).values():
        for sign, said in table(side).items():
            found[one_line(sign)] = found.get(one_line(sign), False) or said == "yes"
    told = {one_line(sign): said is not False for sign, said in answered.items() if said is not None}
    return {**told, **found}


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return None
    return float(value)
