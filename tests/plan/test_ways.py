"""The ways of a step, the sides and the parts it is drawn on, and what is settled before it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import station_width
from diagnose.pattern.operations import do
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.plan.stepping import ways_of
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

IN = 25.4
SOUND = {"relaced-from-waist": True, "toile-boned-at-back": True, "toile-cloth-firm": True}
GARMENT = {"style": "corset", "closure": "back", "meant_to_meet": False}
Told = Callable[..., Diagnosis]


@pytest.fixture
def told(base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn], corset: Pattern) -> Told:
    def found(pattern: Pattern | None = corset, ways: dict[str, str] | None = None, **answers: Any) -> Diagnosis:
        tryon = make_tryon(**{"target": "2 in", "tension": "working", "known": SOUND, "garment": GARMENT, **answers})
        return diagnose(tryon, base, matcher, pattern, ways=ways)

    return found


def steps(found: Diagnosis) -> tuple[StepPlan, ...]:
    return tuple(step for round_ in found.rounds for step in round_.steps)


def gap(top: str, waist: str, bottom: str) -> dict[str, str]:
    return {"top": top, "waist": waist, "bottom": bottom}


def test_a_step_offers_its_ways_drawn_with_what_they_cost_and_leave(told: Told, base: RuleBase) -> None:
    (step,) = steps(told(gap=gap("1 in", "2 in", "2 in")))
    assert step.alteration == "take-in-top-wedge"
    assert [way.alteration.id for way in step.ways][:1] == ["take-in-top-wedge"]
    ways = {way.name: way for way in ways_of(step)}
    assert {"take-in-top-wedge", "fold-out-in-panel", "move-lacing-edges"} <= ways.keys()
    assert ways["take-in-top-wedge"].leaves_mm["top"] == pytest.approx(0.0, abs=IN / 16)
    assert ways["take-in-top-wedge"].cost.seams
    # a straight lacing edge that gives an inch at the top by two half inches takes nothing off where it stands still
    assert not ways["move-lacing-edges"].cost.seams
    assert all(way.cost.cloth_mm2 < 0.0 for way in ways.values() if way.drawn)


def test_a_way_may_be_shared_between_two_places_and_is_drawn_and_foreseen(told: Told, base: RuleBase) -> None:
    half = "take-in-top-wedge:1/2+move-lacing-edges:1/2"
    plain, shared = (told(gap=gap("1 in", "2 in", "2 in"), ways=ways) for ways in (None, {"1.1": half}))
    (way,) = ways_of(steps(plain)[0], half)
    assert way.name == half
    assert way.drawn
    (step,) = steps(shared)
    assert step.on_paper is not None
    assert step.on_paper.after == do(step.on_paper.before, step.operations).pattern
    assert step.predicted_gap_mm == pytest.approx(way.predicted_gap_mm, abs=0.05)
    assert step.predicted_gap_mm["top"] == pytest.approx(2 * IN, abs=IN / 8)
    edges = {getattr(one, "edge", "") for one in step.operations}
    assert len(edges) > 2  # both seams and the lacing edge


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("shorten-busk", "is no way of this step"),
        ("take-in-top-wedge:1/2", "do not make a whole"),
        ("take-in-top-wedge:1/2+take-in-top-wedge:1/2", "named twice"),
        ("take-in-top-wedge:x+move-lacing-edges:1/2", "is no share"),
    ],
)
def test_what_is_no_way_is_refused_with_its_reason(told: Told, asked: str, said: str) -> None:
    with pytest.raises(FitError, match=said):
        told(gap=gap("1 in", "2 in", "2 in"), ways={"1.1": asked})


def test_one_short_hip_is_let_out_on_its_own_side_by_the_whole_of_it(told: Told, corset: Pattern) -> None:
    seen = {
        "lacing-edge-leans": {"side": "right", "amount": "3/4 in"},
        "hem-too-tight": {"side": "right"},
        "pinches-hip-bone": {"side": "right"},
    }
    found = told(gap=gap("2 in", "2 in", "2 3/4 in"), seen=seen)
    step = next(step for step in steps(found) if step.alteration == "release-hip")
    assert step.side == "right"
    assert step.amount.per_half_mm == pytest.approx(-3 / 4 * IN)
    assert step.on_paper is not None
    widths = dict.fromkeys(("left", "right"), 0.0)
    for piece in step.on_paper.after.pieces:
        for side in widths:
            if piece.side in ("both", side):
                widths[side] += station_width(piece, "bottom")
    old = sum(station_width(piece, "bottom") for piece in corset.pieces)
    assert widths["left"] == pytest.approx(old, abs=0.1)
    assert widths["right"] == pytest.approx(old + 3 / 4 * IN, abs=IN / 16)


def test_no_step_answers_a_step_and_none_takes_a_right_station_away(told: Told) -> None:
    seen = {"belly-bulges-beside-busk": True, "busk-bows-out": {"amount": "3/8 in"}}
    found = told(gap=gap("2 in", "2 in", "2 in"), seen=seen)
    assert not {"take-in-hip", "take-in-evenly"} & {step.alteration for step in steps(found)}


def test_front_and_back_lacing_answer_each_for_itself(told: Told) -> None:
    found = told(
        gap=gap("4 in", "4 in", "4 in"), gap_front=gap("1 in", "2 in", "3 in"), target="4 in",
        garment=GARMENT | {"closure": "both"},
    )  # fmt: skip
    assert found.gap.part_shapes == {"front": "widens-downward", "back": "widens-upward"}
    step = next(step for step in steps(found) if step.parts)
    assert step.parts["front"]["top"] == pytest.approx(IN)
    assert step.parts["back"]["top"] == pytest.approx(-IN)
    assert step.predicted_gap_mm["top"] == pytest.approx(4 * IN, abs=IN / 8)


def test_with_a_seam_at_the_side_alone_front_and_back_are_altered_on_their_own_line_of_it(told: Told) -> None:
    two_pieces = load_pattern(bundled_cases() / "patterns" / "front-laced-stays.json")
    garment = {"style": "stays", "closure": "both"}
    found = told(
        replace(two_pieces, closure="both"), garment=garment, target="4 in", gap=gap("4 in", "4 in", "4 in"),
        gap_front=gap("3 in", "2 in", "1 in"),
    )  # fmt: skip
    (step,) = steps(found)
    assert step.on_paper is not None
    before, after = ({p.name: p for p in pattern.pieces} for pattern in (step.on_paper.before, step.on_paper.after))
    assert step.parts["front"]["top"] == pytest.approx(-IN)
    for name in ("front", "back"):
        for station in ("top", "underbust", "waist", "bottom"):
            change = station_width(after[name], station) - station_width(before[name], station)
            assert -2 * change == pytest.approx(step.parts[name][station], abs=IN / 16), (name, station)
    assert (step.amount.per_edge_mm, step.amount.per_seam_mm) == (pytest.approx(IN / 2), pytest.approx(IN / 2))


def test_what_is_wanted_where_the_paper_has_no_level_is_not_told_as_drawn(told: Told) -> None:
    two_pieces = load_pattern(bundled_cases() / "patterns" / "front-laced-stays.json")
    assert not any("hip" in piece.levels for piece in two_pieces.pieces)
    read = {"top": "3 in", "waist": "3 in", "hip": "4 1/2 in", "bottom": "4 in"}
    found = told(two_pieces, garment={"style": "stays", "closure": "front"}, target="3 in", gap=read)
    (step,) = (one for one in steps(found) if one.alteration == "release-hip")
    assert step.amount.per_edge_mm == pytest.approx(step.amount.by_station_mm["bottom"] / 4.0, abs=IN / 32)


@pytest.mark.parametrize(
    ("answers", "asks"),
    [
        ({"gap": {"waist": "1 in"}}, "gap-top"),
        (
            {"gap": gap("0", "0", "0"), "target": None, "garment": {"style": "stays", "closure": "back"}},
            "meant-to-meet",
        ),
        ({"gap": gap("0", "0", "0"), "seen": {"cannot-be-fastened": True}}, "cannot-be-fastened"),
    ],
)
def test_nothing_is_cut_before_it_is_settled(told: Told, answers: dict[str, Any], asks: str) -> None:
    found = told(**answers)
    assert steps(found) == ()
    assert found.ask[0].id == asks


def test_a_gap_shaped_by_the_hand_is_laced_again_first(told: Told) -> None:
    found = told(gap=gap("3 in", "2 in", "1 in"), known=SOUND | {"relaced-from-waist": False})
    assert {step.cause for step in steps(found)} == {"laced-wrongly"}
    assert not any(step.drawn for step in steps(found))


def test_every_amount_of_girth_keeps_to_a_round_and_says_when_it_is_another_size(told: Told) -> None:
    found = told(gap=gap("2 in", "2 in", "6 in"), pattern=None, garment=GARMENT | {"seams_per_half": 6})
    (step,) = (step for step in steps(found) if step.alteration in ("release-hip", "insert-hip-gore"))
    assert step.capped
    assert abs(step.amount.per_half_mm or 0.0) <= 2.5 * IN
    assert "base" in step.beyond or "gore" in step.beyond.lower()


def test_what_is_for_the_hand_is_neither_drawn_nor_foreseen(told: Told, bodies: Pattern) -> None:
    bare = replace(bodies, pieces=tuple(replace(piece, levels={}) for piece in bodies.pieces))
    found = told(pattern=bare, gap=gap("1 in", "1 in", "1 in"))
    for step in steps(found):
        if not step.drawn:
            assert step.on_paper is None
            assert step.predicted_gap_mm["waist"] == pytest.approx(IN)


def test_a_half_in_one_piece_laced_before_and_behind_is_told_what_no_seam_can_give(
    told: Told, base: RuleBase, bodies: Pattern
) -> None:
    garment = {**GARMENT, "closure": "both"}
    front, even = gap("1 in", "2 in", "3 in"), gap("4 in", "4 in", "4 in")
    bare = replace(bodies, closure="both", seams=())
    found = told(bare, garment=garment, target="4 in", gap=even, gap_front=front)
    by_seams = [step for step in steps(found) if step.alteration == "re-angle-lacing"]
    assert by_seams
    assert not any(step.drawn for step in by_seams)
    assert all(notes_said(step.notes, {}) for step in by_seams)


def test_a_lacing_edge_ruled_straight_tells_no_more_than_it_gives(told: Told, base: RuleBase) -> None:
    way = {"1.1": "move-lacing-edges"}
    first = steps(told(gap=gap("2 in", "1 in", "2 in"), ways=way))[0]
    assert first.alteration == "move-lacing-edges"
    assert first.drawn
    assert first.amount.whole_mm == pytest.approx(first.amount.by_station_mm["waist"], abs=2.0)


def test_a_half_that_is_only_cut_apart_costs_no_bones(bodies: Pattern, base: RuleBase, matcher: Matcher) -> None:
    seen = {"uneven-side-heights": {"side": "left", "amount": "1/2 in", "grade": 3}}
    raw = {"id": "t", "target": "2 in", "gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"}, "seen": seen}
    found = diagnose(read_tryon(raw, base.vocabulary), base, matcher, bodies)
    (step,) = (step for step in found.first_steps if step.alteration == "split-left-and-right")
    cost = ways_of(step)[0].cost
    assert cost.bones == ()
    assert cost.off_the_fold == ("bodies",)
