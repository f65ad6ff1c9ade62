"""The vignettes against the whole engine.

The tuning half is tested file by file. The kept half is tested by its totals alone and no message names one of its
files: whoever tunes the rules must not learn what they miss there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from scoring import Score, Vignette, first_step, is_guarded, is_right, read_vignettes, score

from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.sheets.json_out import diagnosis_to_json

ALL = read_vignettes()
TUNING = [vignette for vignette in ALL if vignette.half == "tuning"]
KEPT = [vignette for vignette in ALL if vignette.half == "kept"]
GATES_SHUT = {
    "toile-boned-at-back": False,
    "toile-cloth-firm": False,
    "test-square-true": False,
    "over-usual-shift": False,
    "gap-changed-on-relacing": True,
}
NO_PATTERN_CHANGE = {"repair-the-toile", "change-bones-or-lacing"}
BUST_ENLARGED = {"enlarge-bust-over-seam", "spread-side-bust"}
TAKEN_IN = {"take-in-evenly", "move-lacing-edges", "take-in-top-wedge", "nip-waist", "take-in-hip"}

KEPT_GUARDED_WRONG = 3
KEPT_NOT_LEFT_ALONE = 3
"""What the kept half still has wrong of these; to come down to nothing."""

Out = Mapping[str, Any]


@pytest.fixture(scope="module")
def outs(base: RuleBase, matcher: Matcher) -> dict[str, Out]:
    tryons = [read_tryon(vignette.line, base.vocabulary) for vignette in ALL]
    return {tryon.id: diagnosis_to_json(diagnose(tryon, base, matcher)) for tryon in tryons}


@pytest.fixture(scope="module")
def kept(outs: dict[str, Out]) -> Score:
    return score(ALL, outs)["kept"]


def each(vignettes: list[Vignette]) -> pytest.MarkDecorator:
    """One test a vignette; of one marked wrong something fails, and its mark goes when nothing does."""
    return pytest.mark.parametrize("vignette", [_marked(v, strict=False) for v in vignettes])


def _marked(vignette: Vignette, *, strict: bool) -> Any:
    marks = [pytest.mark.xfail(reason=vignette.wrong_today, strict=strict)] if vignette.wrong_today else []
    return pytest.param(vignette, id=vignette.name, marks=marks)


def each_by_cause() -> pytest.MarkDecorator:
    """The tuning half with a cause."""
    return each([v for v in TUNING if v.cause is not None])


def steps(out: Out) -> list[str]:
    return [step["alteration"] for round_ in out["plan"] for step in round_["steps"]]


def shuts_a_gate(vignette: Vignette) -> bool:
    known = vignette.answers.get("known", {})
    slack_or_strained = "gap" in vignette.answers and vignette.answers.get("tension", "working") != "working"
    return slack_or_strained or any(known.get(name) is bad for name, bad in GATES_SHUT.items())


def respects_the_gates(vignette: Vignette, out: Out) -> bool:
    known = vignette.answers.get("known", {})
    done = set(steps(out))
    if shuts_a_gate(vignette) and done - NO_PATTERN_CHANGE:
        return False
    if known.get("flat-bust-intended") is True and done & BUST_ENLARGED:
        return False
    return not (known.get("meant-to-meet") is True and done & TAKEN_IN)


def goes_on(vignette: Vignette, out: Out) -> bool:
    nothing_to_alter = bool(out["causes"]) and out["causes"][0]["id"] == "as-the-style-intends"
    return bool(out["plan"] or out["ask"]) or nothing_to_alter or vignette.nothing or bool(vignette.stop)


def kept_offenders(outs: dict[str, Out], holds: Callable[[Vignette, Out], bool]) -> int:
    return sum(not holds(vignette, outs[vignette.name]) for vignette in KEPT)


def test_a_vignette_marked_wrong_is_wrong(outs: dict[str, Out]) -> None:
    right = {name: _all_right(vignette, outs[name]) for vignette in TUNING for name in [vignette.name]}
    assert [v.name for v in TUNING if v.wrong_today and right[v.name]] == []


def _all_right(vignette: Vignette, out: Out) -> bool:
    named = vignette.cause is None or is_right(vignette, out, among=1)
    begun = not vignette.plan or first_step(out) in vignette.plan
    left_alone = not vignette.nothing or not out["plan"]
    return named and begun and left_alone and is_guarded(vignette, out)


@each([vignette for vignette in TUNING if vignette.never or vignette.ask])
def test_nothing_is_done_or_left_unasked_that_a_fitter_would_not(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert is_guarded(vignette, outs[vignette.name]), (steps(outs[vignette.name]), outs[vignette.name]["ask"][:2])


def test_in_the_kept_half_nothing_is_done_or_left_unasked_that_a_fitter_would_not(kept: Score) -> None:
    assert kept.guarded_right >= kept.guarded - KEPT_GUARDED_WRONG


def test_there_are_enough_vignettes_and_each_half_is_half() -> None:
    assert len(ALL) >= 96
    assert len(TUNING) == len(KEPT)
    assert len({vignette.number for vignette in ALL}) == len(ALL)


def test_every_cause_of_the_rule_base_comes_first_in_some_vignette(base: RuleBase) -> None:
    assert set(base.entries.causes) - {vignette.cause for vignette in ALL} == set()


def test_every_name_in_a_vignette_is_one_of_the_rule_base(base: RuleBase) -> None:
    signs, questions = set(base.entries.symptoms), set(base.entries.questions)
    for vignette in ALL:
        named = vignette.also | ({vignette.cause} if vignette.cause else set())
        assert named <= set(base.entries.causes), vignette.name
        assert vignette.plan <= set(base.entries.alterations), vignette.name
        assert set(vignette.on_request) <= signs | questions, vignette.name
        answered = set(vignette.answers.get("seen", {})) | set(vignette.answers.get("known", {}))
        assert not answered & set(vignette.on_request), vignette.name


def test_what_she_would_answer_can_be_read_with_what_she_answered(base: RuleBase) -> None:
    for vignette in ALL:
        asked = {"seen": dict(vignette.answers.get("seen", {})), "known": dict(vignette.answers.get("known", {}))}
        for name, answer in vignette.on_request.items():
            asked["known" if name in base.entries.questions else "seen"][name] = answer
        assert read_tryon({**vignette.line, **asked}, base.vocabulary).id == vignette.name


@each_by_cause()
def test_the_cause_is_among_the_first_three(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert is_right(vignette, outs[vignette.name], among=3), [c["id"] for c in outs[vignette.name]["causes"][:5]]


def test_in_the_kept_half_nine_in_ten_first_causes_are_right(kept: Score) -> None:
    assert kept.first_ratio >= 0.90


def test_in_the_kept_half_the_cause_is_nearly_always_among_the_first_three(kept: Score) -> None:
    assert kept.three_ratio >= 0.97


@each([vignette for vignette in ALL if vignette.stop])
def test_a_stop_sign_ends_the_diagnosis(vignette: Vignette, outs: dict[str, Out]) -> None:
    out = outs[vignette.name]
    assert set(out["stop"]["flags"]) == vignette.stop
    assert out["stop"]["do"]
    assert (out["causes"], out["plan"], out["ask"], out["held_back"]) == ([], [], [], [])


@each([vignette for vignette in ALL if not vignette.stop])
def test_without_a_stop_sign_nothing_is_stopped(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert outs[vignette.name]["stop"] is None


@each([vignette for vignette in TUNING if vignette.nothing])
def test_a_toile_that_fits_is_left_alone(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert outs[vignette.name]["plan"] == []


def test_in_the_kept_half_a_toile_that_fits_is_left_alone(outs: dict[str, Out]) -> None:
    assert kept_offenders(outs, lambda vignette, out: not vignette.nothing or not out["plan"]) <= KEPT_NOT_LEFT_ALONE


@each(TUNING)
def test_there_is_a_plan_or_a_question(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert goes_on(vignette, outs[vignette.name])


def test_in_the_kept_half_there_is_a_plan_or_a_question(outs: dict[str, Out]) -> None:
    assert kept_offenders(outs, goes_on) == 0


@each(TUNING)
def test_no_step_of_the_plan_goes_against_a_gate(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert respects_the_gates(vignette, outs[vignette.name]), steps(outs[vignette.name])


def test_in_the_kept_half_no_step_goes_against_a_gate(outs: dict[str, Out]) -> None:
    assert kept_offenders(outs, respects_the_gates) == 0


def test_in_no_vignette_are_bones_altered_for_a_fault_of_girth_length_or_bust_space(outs: dict[str, Out]) -> None:
    steps_done = [step for out in outs.values() for round_ in out["plan"] for step in round_["steps"]]
    bones = [step for step in steps_done if step["alteration"] in ("change-bones-or-lacing", "extend-channels")]
    assert bones
    assert {step["cause"] for step in bones} <= {
        "bones-wrong",
        "bones-loose-in-channels",
        "bust-bone-line-wrong",
        "hollow-back",
    }


@each([vignette for vignette in TUNING if vignette.plan])
def test_the_first_alteration_is_the_one_a_fitter_would_begin_with(vignette: Vignette, outs: dict[str, Out]) -> None:
    assert first_step(outs[vignette.name]) in vignette.plan, steps(outs[vignette.name])


@each([vignette for vignette in TUNING if vignette.side])
def test_the_side_is_the_one_the_fault_is_on(vignette: Vignette, outs: dict[str, Out]) -> None:
    sides = {cause["id"]: cause["side"] for cause in outs[vignette.name]["causes"][:3]}
    assert sides.get(vignette.cause or "") == vignette.side
