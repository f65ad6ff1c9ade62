"""What a round teaches: this wearer's give, the amount that follows from it, and what a miss reopens."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model.settings import Settings
from diagnose.model.tryon import TryOn
from diagnose.pattern.in_words import notes_said
from diagnose.plan.asked.settling import reopened_by
from diagnose.plan.give import Give, Learnt, Observed, give_notes, give_of, miss_facts, scaled_changes
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

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
def test_the_give_lies_between_what_was_believed_and_what_was_seen(
    settings: Settings, pairs: list[tuple[float, float]]
) -> None:
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
    assert "plain arithmetic 1/2 in" in notes_said(taught.notes, {})[0]
    assert "0.80 ± 0.10" in notes_said(taught.notes, {})[0]


def test_a_miss_at_the_waist_alone_is_first_a_body_that_yields(
    base: RuleBase, make_tryon: Callable[..., TryOn]
) -> None:
    learnt = Learnt({}, {"top": 0.0, "waist": -0.625 * IN, "bottom": 0.0}, ("too-big-at-waist",), {"waist": IN})
    reopened, ask = reopened_by(learnt, make_tryon(), base)
    assert reopened is not None
    assert reopened.causes == ("too-big-at-waist",)
    assert "soft" in reopened.explanations[0]
    assert "hand-slides-under-waist" in [one.id for one in ask]


def test_a_miss_where_nothing_was_altered_is_another_fault_and_no_yielding_body(
    base: RuleBase, make_tryon: Callable[..., TryOn]
) -> None:
    learnt = Learnt({}, {"top": 0.0, "waist": -IN, "bottom": 0.0}, ("too-small-at-hip",), {"bottom": -IN})
    reopened, _ = reopened_by(learnt, make_tryon(), base)
    assert reopened is not None
    assert reopened.explanations[0].startswith("Another fault has come to light?")
    assert not [line for line in reopened.explanations if "soft" in line]


def test_an_answer_given_is_not_asked_again_and_rules_out_what_it_speaks_against(
    base: RuleBase, make_tryon: Callable[..., TryOn]
) -> None:
    learnt = Learnt({}, {"top": -IN, "waist": -IN, "bottom": -IN}, ("too-big-all-over",), {"waist": IN})
    open_, asked = reopened_by(learnt, make_tryon(), base)
    told, left = reopened_by(
        learnt, make_tryon(known={"test-square-true": True}, cant_tell=["gap-recovers-overnight"]), base
    )
    assert open_ is not None
    assert told is not None
    assert {one.id for one in asked} >= {"test-square-true", "gap-recovers-overnight"}
    assert not {one.id for one in left} & {"test-square-true", "gap-recovers-overnight"}
    assert any(line.startswith("It was sewn off the line?") for line in open_.explanations)
    assert told.explanations[-1] == "What you said speaks against these: it was sewn off the line."


def test_a_miss_of_half_an_inch_or_less_reopens_nothing(base: RuleBase, make_tryon: Callable[..., TryOn]) -> None:
    assert reopened_by(Learnt(miss_mm={"waist": -0.5 * IN}), make_tryon(), base) == (None, ())
    assert reopened_by(Learnt(), make_tryon(), base) == (None, ())


def test_the_facts_of_a_miss_worked_by_hand() -> None:
    facts = miss_facts({"top": 2.0, "waist": -10.0, "bottom": 4.0})
    assert facts["miss-mean"] == pytest.approx(-4 / 3)
    assert facts["miss-waist-apart"] == pytest.approx(-13.0)
    assert (facts["miss-most"], facts["miss-spread"]) == (-10.0, 14.0)
    assert (facts["miss-highest"], facts["miss-unaltered"]) == (4.0, 10.0)
    facts = miss_facts({"top": 2.0, "waist": -10.0, "bottom": 4.0}, {"waist": 25.4, "bottom": 0.5})
    assert (facts["miss-unaltered"], facts["done-waist"]) == (4.0, 25.4)


def test_one_station_tried_twice_is_not_another_station_s_give(settings: Settings) -> None:
    pairs = [Observed("waist", IN, 0.7 * IN), Observed("top", 2 * IN, 2 * IN), Observed("waist", IN, 0.7 * IN)]
    give = give_of(pairs, settings)
    assert set(give) == {"waist", "top"}
    assert give["top"].share == pytest.approx(1.0)
    # By hand: (16 + 2·22.40) / (16 + 2·32.00) with 25.4²/20.16 = 32.00.
    assert give["waist"].share == pytest.approx((16 + 2 * 0.7 * 32.0) / (16 + 2 * 32.0), abs=0.001)
    assert give_of([], settings) == {}


def test_a_give_is_used_when_it_is_sure_and_lies_further_from_one_than_it_is_unsure(settings: Settings) -> None:
    sure = settings.mm("give-sure")
    assert Give(1.0 - 2 * sure, sure).used(settings)
    assert Give(1.0 + 2 * sure, sure).used(settings)
    assert not Give(1.0 - 2 * sure, sure + 0.001).used(settings)
    assert not Give(0.75, 0.25).used(settings)


def test_with_one_station_scaled_the_figures_of_all_stations_follow(settings: Settings) -> None:
    # By hand: 1 in at the waist becomes 1 1/4; of 1 1/4, −1/2 and −2 the mean is −5/12, the least −1/2, the most −2.
    facts: dict[str, str | float] = {
        "change-top": -2 * IN, "change-waist": IN, "change-bottom": -IN / 2, "change-mean": 9.0, "change-most": 9.0,
        "change-least": 9.0, "slides-down": "yes", "gap-top": 3.0,
    }  # fmt: skip
    assert scaled_changes(facts, {"waist": Give(0.8, 0.1), "hip": Give(0.8, 0.1)}, settings) == pytest.approx({
        "change-waist": 1.25 * IN, "change-mean": -5 / 12 * IN, "change-most": -2 * IN, "change-least": -IN / 2,
        "gap-average": 5 / 12 * IN, "largest-girth-change": 2 * IN,
    })  # fmt: skip
    assert scaled_changes(facts, {"hip": Give(0.8, 0.1)}, settings) == {}
    assert scaled_changes(facts, {"waist": Give(-0.5, 0.1)}, settings) == {}


def test_the_plain_arithmetic_is_said_only_where_the_give_was_used_and_something_is_drawn(settings: Settings) -> None:
    learnt = Learnt({"waist": Give(0.8, 0.1), "top": Give(0.7, 0.1), "hip": Give(0.95, 0.1)})
    (note,) = give_notes({"waist": -1.25 * IN, "top": 0.0, "hip": IN}, learnt, settings)
    assert note.startswith("By plain arithmetic 1/2 in (13 mm) a half at the waist; of earlier changes 0.80 ± 0.10 has")
    assert note.endswith("so 5/8 in (16 mm).")
    (cut,) = give_notes({"waist": 2.0 * IN}, learnt, settings, asked={"waist": 3.0 * IN})
    assert "arithmetic 1 3/16 in (30 mm) a half" in cut
    assert cut.endswith("so 1 1/2 in (38 mm), of which 1 in (25 mm) now.")
    (metric,) = give_notes({"waist": 1.25 * IN}, learnt, settings.in_unit("mm"))
    assert "arithmetic 13 mm a half" in metric
    assert metric.endswith("so 16 mm.")


def test_the_facts_of_a_miss_name_each_station_and_how_far_the_waist_stands_apart() -> None:
    facts = miss_facts({"top": 2.0, "waist": -10.0, "bottom": 4.0})
    assert (facts["miss-top"], facts["miss-waist"], facts["miss-bottom"], facts["miss-size"]) == (2.0, -10.0, 4.0, 10.0)
    assert "miss-waist-apart" not in miss_facts({"waist": 3.0})
    assert "miss-waist-apart" not in miss_facts({"top": 3.0, "bottom": 3.0})
    assert miss_facts({"waist": 3.0})["miss-spread"] == 0.0
    assert miss_facts({}) == {}
