"""Amounts, sentence by sentence: limits a round, other sizes, few seams, gores by their number, what is asked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from diagnose.model.tryon import TryOn
from diagnose.pattern.in_words import notes_said
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

IN = 25.4
KNOWN = {"relaced-from-waist": True, "toile-boned-at-back": True, "toile-cloth-firm": True}
Plan = Callable[..., Diagnosis]


@pytest.fixture
def plan(base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]) -> Plan:
    def planned(
        seams: int, gap: dict[str, str], target: Any = "2 in", allowance: str = "1 in", **more: Any
    ) -> Diagnosis:
        garment = {"style": "corset", "closure": "back", "seams_per_half": seams, "meant_to_meet": False,
                   "busk": "split", "allowance": allowance}  # fmt: skip
        raw = {"garment": garment, "target": target, "gap": gap, "tension": "working", "known": KNOWN, **more}
        return diagnose(make_tryon(**raw), base, matcher)

    return planned


def first(found: Diagnosis) -> StepPlan:
    return found.first_steps[0]


def hip(more_in: float) -> dict[str, str]:
    return {"top": "2 in", "waist": "2 in", "bottom": f"{2 + more_in} in"}


TIGHT = {"pinches-hip-bone": True, "hem-too-tight": True}


@pytest.mark.parametrize("seams", [1, 2, 3, 4])
def test_a_gore_takes_over_where_every_seam_let_out_by_its_limit_would_not_do(seams: int, plan: Plan) -> None:
    # 3/8 in on each of four stitching lines a seam: 1 1/2 in of the whole girth for each seam of a half.
    just, past = 1.5 * seams, 1.5 * seams + 0.25
    assert first(plan(seams, hip(just), seen=TIGHT)).alteration == "release-hip"
    assert first(plan(seams, hip(past), seen=TIGHT)).alteration == "insert-hip-gore"


@pytest.mark.parametrize("station", ["top", "underbust", "waist", "hip", "bottom"])
@pytest.mark.parametrize("way", [-1, 1])
@pytest.mark.parametrize("seams", [0, 1, 4])
def test_no_girth_of_one_station_passes_the_most_of_a_round(station: str, way: int, seams: int, plan: Plan) -> None:
    gap = dict.fromkeys(("top", "underbust", "waist", "hip", "bottom"), "4 in") | {station: f"{4 + 3.5 * way} in"}
    for step in (step for round_ in plan(seams, gap, target="4 in").rounds for step in round_.steps):
        most = 5.0 if step.alteration == "insert-hip-gore" else 2.0
        assert all(abs(mm) <= most * IN + 0.01 for mm in step.amount.by_station_mm.values())
        if step.capped:
            assert step.beyond


def test_what_is_cut_to_the_rounds_limit_says_so_and_speaks_of_another_size(plan: Plan, base: RuleBase) -> None:
    step = first(
        plan(4, {"top": "4 in", "waist": "0 in", "bottom": "4 in"}, target="4 in", overlap={"waist": "1/2 in"})
    )
    assert step.capped
    assert step.amount.whole_mm == pytest.approx(2 * IN)
    assert step.beyond.startswith("Draw 2 in (51 mm) of the whole girth and try on.")
    assert "In all 4 1/2 in (114 mm) is wanted there." in step.beyond
    assert base.settings.values["other-size"].because in step.beyond


def test_a_change_that_few_seams_can_take_is_said_to_be_on_few(plan: Plan) -> None:
    step = first(plan(5, {"top": "3 in", "waist": "3 in", "bottom": "3 in"}))
    assert step.amount.per_edge_mm == pytest.approx(-IN / 8)
    assert "On two of them, those nearest to the side: 1/8 in (3 mm) or more on a line" in step.at
    every = first(plan(2, {"top": "3 in", "waist": "3 in", "bottom": "3 in"}))
    assert "nearest to the side" not in every.at


def test_amounts_are_measured_from_the_targets_own_shape(plan: Plan) -> None:
    shaped = {"top": "3 in", "waist": "2 in", "bottom": "3 in"}
    assert plan(5, shaped, target=shaped).rounds == ()
    step = first(plan(5, {"top": "4 in", "waist": "3 in", "bottom": "4 in"}, target=shaped))
    assert (step.alteration, step.amount.whole_mm) == ("let-out-evenly", pytest.approx(-IN))
    assert dict(step.predicted_gap_mm) == pytest.approx({"top": 3 * IN, "waist": 2 * IN, "bottom": 3 * IN})


@pytest.mark.parametrize(
    ("allowance", "said"),
    [
        ("1 in", "Of the allowance 3/4 in (19 mm) is left"),
        ("1/4 in", "a seam wants 1/4 in (6 mm) to be sewn by"),
        ("3/8 in", "a seam wants 1/4 in (6 mm) to be sewn by"),
    ],
)
def test_the_allowance_left_is_said(allowance: str, said: str, plan: Plan) -> None:
    step = first(plan(2, {"top": "4 in", "waist": "4 in", "bottom": "4 in"}, allowance=allowance))
    assert step.amount.per_edge_mm == pytest.approx(-IN / 4)
    assert any(said in note for note in notes_said(step.notes, {}))


def test_two_steps_do_not_answer_one_gap_twice(plan: Plan) -> None:
    seen = {"belly-bulges-beside-busk": True, "busk-bows-out": {"amount": "3/4 in"}}
    found = plan(5, hip(2), seen=seen)
    assert [step.alteration for step in found.first_steps] == ["release-hip"]
    assert [held.alteration for held in found.held_back] == ["room-for-belly"]
    assert found.first_steps[0].predicted_gap_mm["bottom"] == pytest.approx(2 * IN)


def test_a_measure_that_an_amount_waits_for_is_asked_for(plan: Plan) -> None:
    level = {"top": "2 in", "waist": "2 in", "bottom": "2 in"}
    seen = {"bust-point-off": True, "fold-under-bust": {"amount": "1/2 in"}, "drag-lines-to-bust": True}
    found = plan(4, level, seen=seen)
    waits = [held for held in found.held_back if held.alteration == "move-bust-point"]
    assert [held.until for held in waits] == ["measured: bust-point-off.amount"]
    (asked,) = (ask for ask in found.ask if ask.id == "bust-point-off.amount")
    assert "below the fullest point" in asked.question


def test_a_station_that_an_amount_is_worked_out_from_is_asked_for(plan: Plan) -> None:
    seen = {"spill-at-side-bust": {"side": "both"}, "front-hem-lifts": False, "bust-flattened": True}
    found = plan(4, {"waist": "2 in", "bottom": "2 in"}, seen=seen)
    if any(step.alteration == "spread-side-bust" for step in found.first_steps):
        assert "gap-top" in [ask.id for ask in found.ask]
    one = plan(4, {"top": "3 in"})
    assert [ask.id for ask in one.ask][:2] == ["gap-waist", "gap-bottom"]
    assert one.rounds == ()
