"""Which side a cause is of: that on which something shows it alone; what both sides share is of both."""

from __future__ import annotations

from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

GARMENT = {"style": "corset", "closure": "back", "seams_per_half": 5, "meant_to_meet": False}
GAP = {"top": "1 in", "underbust": "1 1/2 in", "waist": "1 3/4 in", "hip": "3 in", "bottom": "3 1/2 in"}


def test_a_pinch_on_one_hip_does_not_take_the_top_in_on_the_other_side(base: RuleBase, matcher: Matcher) -> None:
    raw = {
        "id": "one", "garment": GARMENT, "gap": GAP, "target": "2 in",
        "seen": {"pinches-hip-bone": {"side": "right"}, "spill-at-front": {"amount": "1/2 in"}, "slides-down": False},
        "known": {"relaced-from-waist": True},
    }  # fmt: skip
    found = diagnose(read_tryon(raw, base.vocabulary), base, matcher)
    assert {cause.side for cause in found.causes if cause.id.startswith("too-big")} == {"both"}
    assert all(step.side == "both" for step in found.first_steps if step.alteration.startswith("take-in"))


def test_a_dig_under_one_arm_is_of_that_side(base: RuleBase, matcher: Matcher) -> None:
    raw = {
        "id": "one", "garment": GARMENT, "gap": dict.fromkeys(GAP, "2 in"), "target": "2 in",
        "seen": {"digs-under-arm": {"side": "left", "amount": "1/4 in"}, "cuts-on-reaching": {"side": "left"}},
    }  # fmt: skip
    found = diagnose(read_tryon(raw, base.vocabulary), base, matcher)
    assert {cause.side for cause in found.causes if cause.id == "underarm-edge-too-high"} == {"left"}
