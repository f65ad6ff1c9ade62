"""What a round teaches: this wearer's give, the amount that follows from it, and what a miss reopens."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model.settings import Settings
from diagnose.model.tryon import TryOn
from diagnose.places import bundled_rules
from diagnose.plan.learning import Give, Learnt, Observed, give_of, miss_facts, scaled_changes
from diagnose.plan.reopening import reopened_by
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.settings import read_settings

IN = 25.4


def test_one_pair_of_readings_is_weighed_against_what_was_believed_before(settings: Settings) -> None:
    # By hand: prior 1 ± 1/4, error of a difference of readings √2 · 1/8 in, so 2·3.175² = 20.16 mm².
    # Planned 1 in, 0.7 in seen: (1/0.0625 + 25.4·17.78/20.16) / (1/0.0625 + 25.4²/20.16) = 38.40/48.00 = 0.800.
    give = give_of([Observed("waist", IN, 0.7 * IN)], settings)["waist"]
    assert give.share == pytest.approx(0.800, abs=0.001)
    assert give.sd == pytest.approx(48.0**-0.5, abs=0.001)


def test_more_rounds_make_it_surer_and_bring_it_nearer_to_what_was_seen(settings: Settings) -> None:
    once = give_of([Observed("waist", 2 * IN, 1.4 * IN)], settings)["waist"]
    thrice = give_of([Observed("waist", 2 * IN, 1.4 * IN)] * 3, settings)["waist"]
    assert thrice.sd < once.sd
    assert abs(thrice.share - 0.7) < abs(once.share - 0.7)


@given(st.lists(st.tuples(st.floats(5, 60), st.floats(-20, 80)), min_size=1, max_size=6))
def test_the_give_lies_between_what_was_believed_and_what_was_seen(pairs: list[tuple[float, float]]) -> None:
    settings = read_settings(bundled_rules())
    give = give_of([Observed("waist", planned, seen) for planned, seen in pairs], settings)["waist"]
    shares = [seen / planned for planned, seen in pairs]
    assert min(1.0, *shares) - 1e-9 <= give.share <= max(1.0, *shares) + 1e-9
    assert 0 < give.sd <= settings.mm("give-spread")


def test_a_give_that_is_not_sure_or_not_different_changes_no_amount(settings: Settings) -> None:
    facts: dict[str, str | float] = {"change-waist": IN, "change-top": IN}
    assert scaled_changes(facts, {"waist": Give(0.7, 0.2)}, settings) == {}
    assert scaled_changes(facts, {"waist": Give(0.95, 0.1)}, settings) == {}
    assert scaled_changes(facts, {"waist": Give(0.8, 0.1)}, settings)["change-waist"] == pytest.approx(IN / 0.8)


def test_the_next_amount_uses_it_and_says_the_plain_arithmetic_too(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]
) -> None:
    raw: dict[str, Any] = {
        "gap": {"top": "2 in", "waist": "1 in", "bottom": "2 in"}, "target": "2 in",
        "garment": {"seams_per_half": 4}, "seen": {"waist-not-gripped": True},
    }  # fmt: skip
    learnt = Learnt({"waist": Give(0.8, 0.1)})
    plain = diagnose(make_tryon(**raw), base, matcher).rounds[0].steps[0]
    taught = diagnose(make_tryon(**raw), base, matcher, learnt=learnt).rounds[0].steps[0]
    assert plain.amount.by_station_mm["waist"] == pytest.approx(IN)
    assert taught.amount.by_station_mm["waist"] == pytest.approx(1.25 * IN, abs=IN / 16)
    assert taught.predicted_gap_mm["waist"] == pytest.approx(2 * IN, abs=IN / 16)
    assert "plain arithmetic 1/2 in" in taught.notes[0]
    assert "0.80 ± 0.10" in taught.notes[0]


def test_a_miss_at_the_waist_alone_is_first_a_body_that_yields(base: RuleBase) -> None:
    learnt = Learnt(miss_mm={"top": 0.0, "waist": -0.625 * IN, "bottom": 0.0}, causes=("too-big-at-waist",))
    reopened, ask = reopened_by(learnt, base)
    assert reopened is not None
    assert reopened.causes == ("too-big-at-waist",)
    assert "soft" in reopened.explanations[0]
    assert "hand-slides-under-waist" in [one.id for one in ask]


def test_a_miss_of_half_an_inch_or_less_reopens_nothing(base: RuleBase) -> None:
    assert reopened_by(Learnt(miss_mm={"waist": -0.5 * IN}), base) == (None, ())
    assert reopened_by(Learnt(), base) == (None, ())


def test_the_facts_of_a_miss_worked_by_hand() -> None:
    facts = miss_facts({"top": 2.0, "waist": -10.0, "bottom": 4.0})
    assert facts["miss-mean"] == pytest.approx(-4 / 3)
    assert facts["miss-waist-apart"] == pytest.approx(-13.0)
    assert (facts["miss-most"], facts["miss-spread"]) == (-10.0, 14.0)
