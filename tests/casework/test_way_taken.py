"""A step drawn in another way than the plan's first: what is foreseen, said and printed from then on is that way."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.next_version import alter_case
from diagnose.casework.sheeting import view_of
from diagnose.casework.working import base_for, store_tryon, work_out_stored
from diagnose.pattern.kept import OfLate
from diagnose.plan import drawing
from diagnose.plan.planned import StepPlan
from diagnose.plan.stepping import ways_of
from diagnose.plan.wanted import Wanted
from diagnose.plan.ways import Way
from diagnose.sheets.words.history_text import history_lines


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    bundled = bundled_case("singer")
    casebook.create(tmp_path / "singer", bundled.pattern, **bundled.about)
    store_tryon(tmp_path / "singer", bundled.rounds[0].answers, "2026-03-09")
    return tmp_path / "singer"


def ways_known(folder: Path) -> tuple[StepPlan, Mapping[str, Way]]:
    """The first step that has another way, and its ways by name."""
    case = casebook.open_case(folder)
    worked = work_out_stored(case, case.tryons[0])
    step = next(step for step in worked.diagnosis.first_steps if len(step.ways) > 1)
    return step, {way.name: way for way in ways_of(step)}


def test_what_is_foreseen_is_what_the_way_leaves(folder: Path) -> None:
    step, ways = ways_known(folder)
    other = next(way for name, way in ways.items() if name != step.alteration and way.drawn)
    assert dict(other.predicted_gap_mm) != dict(step.predicted_gap_mm)
    alter_case(folder, [step.id], ways={step.id: other.name})
    store_tryon(folder, bundled_case("singer").rounds[1].answers, "2026-03-16")
    found = casebook.history(casebook.open_case(folder)).rounds[1]
    foreseen = {name: station.predicted_mm for name, station in found.stations.items()}
    assert foreseen == {name: pytest.approx(other.predicted_gap_mm[name], abs=0.05) for name in foreseen}
    assert [done.alteration for done in found.done] == [other.name]


def test_a_way_that_was_shown_is_not_drawn_again_when_it_is_taken(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    step, ways = ways_known(folder)
    other = next(name for name, way in ways.items() if name != step.alteration and way.drawn)
    drawn: list[str] = []
    whole = drawing._draw

    def counted(item: Wanted, *args: Any) -> Any:
        drawn.append(item.alteration.id)
        return whole(item, *args)

    monkeypatch.setattr(drawing, "_draw", counted)
    case = casebook.open_case(folder)
    taken = work_out_stored(case, case.tryons[0], {step.id: other}).diagnosis.first_steps
    assert next(one for one in taken if one.id == step.id).alteration == other
    assert other not in drawn
    monkeypatch.setattr(drawing, "_OF_LATE", OfLate(100))
    anew = work_out_stored(case, case.tryons[0], {step.id: other}).diagnosis.first_steps
    assert other in drawn
    assert [one.on_paper for one in anew] == [one.on_paper for one in taken]


def test_a_shared_step_is_said_and_drawn_as_it_was_shared(folder: Path) -> None:
    step, ways = ways_known(folder)
    one, other = [way.name for way in ways.values() if way.drawn][:2]
    name = f"{one}:1/2+{other}:1/2"
    alter_case(folder, [step.id], ways={step.id: name})
    case = casebook.open_case(folder)
    worked = work_out_stored(case, case.tryons[0])
    assert worked.after is not None
    drawn = next(one for one in worked.diagnosis.first_steps if one.id == step.id)
    assert [one.to_json() for one in drawn.operations] == [dict(one) for one in case.newest.done.operations]
    assert view_of(worked, "2026-03-09", pictures=False).first
    said = " ".join(str(line) for line in history_lines(casebook.history(case), base_for(case), {}))
    assert "(1/2) and " in said


def test_where_the_rules_know_the_way_no_more_the_plan_is_shown_as_it_was(folder: Path) -> None:
    step, _ = ways_known(folder)
    case = casebook.open_case(folder)
    otherwise = [{"id": step.id, "alteration": "gone-from-the-rules", "way": "gone-from-the-rules"}]
    casebook.add_version(case, case.pattern, 1, (), [step.id], otherwise=otherwise)
    case = casebook.open_case(folder)
    assert work_out_stored(case, case.tryons[0]).diagnosis.first_steps[0].alteration == step.alteration
