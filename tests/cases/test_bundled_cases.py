"""The bundled cases replayed through the casebook, round by round, against what a fitter expects of each."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from replaying import replay

from diagnose import casebook
from diagnose.casebook.bundled import BundledCase, bundled_case
from diagnose.casework.next_version import alter_case
from diagnose.casework.working import WorkedOut, store_tryon
from diagnose.places import bundled_cases
from diagnose.units import read_length

NAMES = sorted(path.stem for path in bundled_cases().glob("*.yaml"))
TOL_MM = 25.4 / 32 + 0.01


@pytest.mark.parametrize("name", NAMES)
def test_every_round_comes_out_as_a_fitter_expects(name: str, tmp_path: Path) -> None:
    case = bundled_case(name)
    folder = tmp_path / name
    casebook.create(folder, case.pattern, date="2026-03-02", **case.about)
    for number, round_ in enumerate(case.rounds, 1):
        worked = store_tryon(folder, round_.answers, f"2026-03-{number + 2:02}")
        _check(worked, round_.expect, case, f"{name}, round {number}")
        if worked.operations:
            alter_case(folder, [], f"2026-03-{number + 2:02}")
    stored = casebook.open_case(folder)
    assert replay(stored).name == stored.pattern.name


def _check(worked: WorkedOut, expect: Mapping[str, Any], case: BundledCase, where: str) -> None:
    found = worked.diagnosis
    got = [(step.alteration, step.side) for step in worked.diagnosis.first_steps]
    assert got == [(step["alteration"], step["side"]) for step in expect["steps"]], where
    for step, wanted in zip(worked.diagnosis.first_steps, expect["steps"], strict=True):
        for station, half in wanted.get("per_half", {}).items():
            amount = step.amount.by_station_mm[station] / 2
            assert amount == pytest.approx(read_length(half, where), abs=TOL_MM), f"{where}, {station}"
        if "length" in wanted:
            assert step.amount.length_mm == pytest.approx(read_length(wanted["length"], where), abs=0.01), where
    if "held" in expect:
        assert sorted({held.alteration for held in found.held_back}) == sorted(expect["held"]), where
    for station, foreseen in expect.get("gap", {}).items():
        last = worked.diagnosis.first_steps[-1].predicted_gap_mm if worked.diagnosis.first_steps else _read(worked)
        assert last[station] == pytest.approx(read_length(foreseen, where), abs=2 * TOL_MM), f"{where}, {station}"
    if "reopened" in expect:
        assert (found.reopened is not None) == expect["reopened"], where
    if "finish" in expect:
        assert bool(found.finish) == expect["finish"], where


def _read(worked: WorkedOut) -> dict[str, float]:
    return {str(name): station.gap_mm for name, station in worked.diagnosis.gap.stations.items()}


def test_there_are_at_least_three_bundled_cases_of_several_rounds() -> None:
    assert len(NAMES) >= 3
    assert all(len(bundled_case(name).rounds) >= 2 for name in NAMES)
