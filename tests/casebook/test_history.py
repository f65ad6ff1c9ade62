from pathlib import Path
from typing import Any

import pytest
from invented_case import ANSWERS, altered, narrower, plan, started

from diagnose.casebook import Case, add_tryon, add_version, back_to, history, note_skipped
from diagnose.errors import FitError
from diagnose.units import INCH_MM

HALF_INCH = INCH_MM / 2


@pytest.fixture
def case(tmp_path: Path) -> Case:
    """Tried on once: 30 at the top, 25 at the waist, the target 50."""
    return add_tryon(started(tmp_path / "lydia"), ANSWERS, plan(30.0, 25.0), date="2026-01-06")


def done(case: Case, *steps: str) -> Case:
    return add_version(case, altered(case.pattern, 5.0), case.newest.number, narrower(5.0), steps)


def last_gap(case: Case) -> dict[str, tuple[float, float | None, float | None, bool]]:
    stations = history(case, HALF_INCH).rounds[-1].stations
    return {name: (s.gap_mm, s.predicted_mm, s.miss_mm, s.flagged) for name, s in stations.items()}


def test_a_first_tryon_stands_against_its_target_alone(case: Case) -> None:
    (only,) = history(case, HALF_INCH).rounds
    assert (only.tryon, only.date, only.pattern_version, only.done) == (1, "2026-01-06", 1, ())
    assert {name: (s.gap_mm, s.target_mm) for name, s in only.stations.items()} == {
        "top": (30.0, 50.0), "waist": (25.0, 50.0),
    }  # fmt: skip
    assert all(s.predicted_mm is None and not s.flagged for s in only.stations.values())


def test_with_every_step_done_the_prediction_is_the_plans_last(case: Case) -> None:
    case = add_tryon(done(case, "1.1", "1.2"), ANSWERS, plan(59.0, 70.0))
    assert last_gap(case) == {"top": (59.0, 60.0, -1.0, False), "waist": (70.0, 55.0, 15.0, True)}
    assert history(case, HALF_INCH).flagged == ((2, "waist"),)
    assert history(case).flagged == ()


def test_a_prediction_measured_on_the_paper_counts_before_the_changes_it_states(tmp_path: Path) -> None:
    told = plan(30.0, 25.0)
    told["plan"][0]["steps"][1]["predicted_gap_mm"]["top"] = 58.5
    case = add_tryon(started(tmp_path / "lydia"), ANSWERS, told)
    case = add_tryon(done(case, "1.1", "1.2"), ANSWERS, plan(60.0, 55.0))
    assert last_gap(case)["top"] == (60.0, 58.5, 1.5, False)


def test_a_miss_of_just_the_threshold_is_not_flagged(case: Case) -> None:
    case = add_tryon(done(case, "1.1", "1.2"), ANSWERS, plan(60.0 + HALF_INCH, 55.0 - HALF_INCH - 0.01))
    assert history(case, HALF_INCH).flagged == ((2, "waist"),)


def test_steps_that_were_not_done_are_left_out_of_the_prediction(case: Case) -> None:
    first = add_tryon(done(case, "1.1"), ANSWERS, plan(50.0, 45.0))
    assert last_gap(first)["top"] == (50.0, 50.0, 0.0, False)


def test_a_later_step_alone_moves_the_gap_by_its_own_change(case: Case) -> None:
    second = add_tryon(done(case, "1.2"), ANSWERS, plan(40.0, 35.0))
    assert last_gap(second)["top"] == (40.0, 40.0, 0.0, False)


def test_a_step_that_states_no_change_is_read_off_its_predictions(tmp_path: Path) -> None:
    told = plan(30.0, 25.0)
    for step in told["plan"][0]["steps"]:
        step["amount_mm"] = {"length": 12.0}
    case = add_tryon(started(tmp_path / "lydia"), ANSWERS, told)
    case = add_tryon(done(case, "1.2"), ANSWERS, plan(40.0, 35.0))
    assert last_gap(case)["waist"] == (35.0, 35.0, 0.0, False)


def test_steps_done_over_several_versions_add_up(case: Case) -> None:
    case = add_tryon(done(done(case, "1.1"), "1.2"), ANSWERS, plan(60.0, 55.0))
    assert {name: miss for name, (_, _, miss, _) in last_gap(case).items()} == {"top": 0.0, "waist": 0.0}
    steps = history(case).rounds[-1].done
    assert [(s.version, s.tryon, s.step, s.alteration) for s in steps] == [
        (2, 1, "1.1", "take-in-sides"),
        (3, 1, "1.2", "take-in-back"),
    ]


def test_with_nothing_done_nothing_is_predicted(case: Case) -> None:
    case = add_tryon(case, ANSWERS, plan(40.0, 35.0))
    assert all(predicted is None for _, predicted, _, _ in last_gap(case).values())


def test_after_a_closed_gap_narrower_than_predicted_is_explained_and_wider_is_not(tmp_path: Path) -> None:
    closed = add_tryon(started(tmp_path / "lydia"), ANSWERS, plan(0.0, 25.0))
    narrow = add_tryon(done(closed, "1.1", "1.2"), ANSWERS, plan(5.0, 30.0))
    assert last_gap(narrow)["top"] == (5.0, 30.0, -25.0, False)
    assert last_gap(narrow)["waist"] == (30.0, 55.0, -25.0, True)
    wide = add_tryon(done(narrow, "1.1", "1.2"), ANSWERS, plan(60.0, 60.0))
    assert last_gap(wide)["top"] == (60.0, 35.0, 25.0, True)


def test_after_going_back_the_steps_taken_out_are_told_and_nothing_is_predicted(case: Case) -> None:
    case = add_tryon(done(case, "1.1"), ANSWERS, plan(50.0, 45.0))
    case = add_tryon(back_to(case, 1), ANSWERS, plan(30.0, 25.0))
    third = history(case, HALF_INCH).rounds[-1]
    assert third.went_back
    assert [s.step for s in third.undone] == ["1.1"]
    assert third.done == ()
    assert all(s.predicted_mm is None for s in third.stations.values())


def test_going_back_to_the_version_tried_on_is_no_going_back(case: Case) -> None:
    case = add_tryon(back_to(done(case, "1.1"), 1), ANSWERS, plan(30.0, 25.0))
    second = history(case).rounds[-1]
    assert not second.went_back
    assert (second.done, second.undone) == ((), ())


def test_steps_done_since_the_last_tryon_are_told(case: Case) -> None:
    assert history(case).done_since == ()
    assert [s.step for s in history(done(case, "1.1")).done_since] == ["1.1"]


def test_steps_not_done_stand_with_their_reason(case: Case) -> None:
    case = note_skipped(case, 1, "1.2", "no time")
    assert [(s.step, s.why) for s in history(case).rounds[0].skipped] == [("1.2", "no time")]


def test_signs_that_came_went_and_were_not_looked_for(case: Case) -> None:
    first = {"id": "a", "seen": {"s-went": True, "s-unasked": {"side": "left"}, "s-stays": True, "s-never": False}}
    then = {"id": "b", "seen": {"s-went": False, "s-stays": True, "s-came": {"grade": 2}, "s-never": False}}
    case = add_tryon(add_tryon(case, first, plan(1.0, 1.0)), then, plan(1.0, 1.0))
    last = history(case).rounds[-1]
    assert (last.came, last.went, last.not_looked_for) == (("s-came",), ("s-went",), ("s-unasked",))


def test_signs_are_those_found_when_the_plan_tells_them(case: Case) -> None:
    found = {"left": {"gap-closed": "yes", "slides-down": "no"}, "right": {"gap-closed": "no", "slides-down": "no"}}
    case = add_tryon(case, ANSWERS, plan(1.0, 1.0, findings=found))
    last = history(case).rounds[-1]
    assert (last.came, last.went) == (("gap-closed",), ("slides-down",))


def test_without_a_plan_the_gap_is_read_off_the_answers(tmp_path: Path) -> None:
    answers = {"id": "a", "gap": {"top": "1 in", "waist": 0, "hip": "0"}, "overlap": {"waist": "1/2 in"}}
    case = add_tryon(started(tmp_path / "lydia"), answers, None)
    stations = history(case).rounds[0].stations
    assert {name: (s.gap_mm, s.at_least, s.target_mm) for name, s in stations.items()} == {
        "top": (25.4, False, 50.8), "waist": (-12.7, False, 50.8), "hip": (0.0, True, 50.8),
    }  # fmt: skip


def test_readings_that_are_none_are_refused_by_their_file(tmp_path: Path) -> None:
    case = add_tryon(started(tmp_path / "lydia"), {"id": "a", "gap": {"top": "wide"}}, None)
    with pytest.raises(FitError, match=r"tryons/0001\.json: answers\.gap\.top"):
        history(case)


@pytest.mark.parametrize(
    "odd",
    [
        {"gap": 3, "plan": "x", "findings": []},
        {"gap": {"stations": [1]}, "plan": [1, {"steps": 2}, {"steps": ["a", {"id": 4, "predicted_gap_mm": 1}]}]},
        {"gap": {"stations": {"top": {"gap_mm": True, "target_mm": "x"}}}, "findings": {"left": {"\x1b[m": "yes"}}},
    ],
)
def test_a_plan_that_someone_has_bent_is_read_as_far_as_it_goes(case: Case, odd: dict[str, Any]) -> None:
    case = add_tryon(done(add_tryon(case, ANSWERS, odd), "4"), ANSWERS, plan(1.0, 1.0))
    told = history(case, HALF_INCH)
    assert len(told.rounds) == 3
    assert all(sign.isprintable() for round_ in told.rounds for sign in round_.came)
