"""Which alteration of a cause is taken, how much of it, and where it is cut at a limit: worked by hand."""

from __future__ import annotations

from typing import Any

import pytest
from invented_base import EVERYWHERE, IN, alteration, base_of, choice, chosen, found, when

from diagnose.model.stations import STATIONS
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase

OVER = {"change-top": 2 * IN, "change-waist": 2 * IN, "change-bottom": 2 * IN, "change-mean": 2 * IN}
FOUR = {**OVER, "seams-per-half": 4.0}


def one(base: RuleBase, facts: dict[str, Any], amount: str = "change-mean", side: str = "both", **how: Any) -> Wanted:
    """The one alteration that comes of one cause with one choice; `how` of the alteration, or of the choice."""
    of_choice = {key: how.pop(key) for key in ("limit", "limit_on", "stations", "beyond") if key in how}
    made = base_of(base, {"big": (choice("nip", amount, **of_choice),)}, (alteration("nip", **how),))
    (wanted,), unmeasured = chosen(made, facts, found("big", 0.9, side))  # type: ignore[arg-type]
    assert not unmeasured
    return wanted


def none_of(base: RuleBase, facts: dict[str, Any], amount: str, **how: Any) -> bool:
    made = base_of(base, {"big": (choice("nip", amount),)}, (alteration("nip", **how),))
    return chosen(made, facts, found("big")) == ([], [])


def test_a_girth_is_shared_over_the_seams_of_a_half(base: RuleBase) -> None:
    amount = one(base, FOUR).amount
    assert (amount.whole_mm, amount.per_half_mm) == pytest.approx((2 * IN, IN))
    assert (amount.per_seam_mm, amount.per_edge_mm) == pytest.approx((IN / 4, IN / 8))
    assert amount.length_mm is None
    assert amount.by_station_mm == pytest.approx(dict.fromkeys(STATIONS, 2 * IN))
    assert amount.edges_mm["waist"] == pytest.approx((IN / 8,) * 8)


@pytest.mark.parametrize("facts", [OVER, {**OVER, "seams-per-half": 0.0}])
def test_with_no_seams_known_or_there_only_the_half_is_given(base: RuleBase, facts: dict[str, float]) -> None:
    amount = one(base, facts).amount
    assert (amount.per_half_mm, amount.per_seam_mm, amount.per_edge_mm) == (pytest.approx(IN), None, None)
    assert amount.edges_mm == {}


def test_what_is_not_done_on_the_seams_is_not_shared_over_them(base: RuleBase) -> None:
    amount = one(base, FOUR, does=({"do": "lacing-edge"},)).amount
    assert (amount.per_half_mm, amount.per_seam_mm) == (pytest.approx(IN), None)


def test_on_the_side_that_leans_the_whole_is_that_half_and_the_girth_changes_by_half_as_much(base: RuleBase) -> None:
    made = base_of(base, {"big": (choice("nip", "change-mean"),)}, (alteration("nip"),))
    leaning = {"left": {**FOUR, "lacing-edge-leans": "yes"}, "right": {**FOUR, "lacing-edge-leans": "no"}}
    ((wanted,), _) = chosen(made, FOUR, found("big", side="left"), **leaning)
    assert (wanted.side, wanted.amount.whole_mm, wanted.amount.per_half_mm) == (
        "left",
        pytest.approx(IN),
        pytest.approx(IN),
    )
    assert wanted.profile == pytest.approx(dict.fromkeys(STATIONS, IN))
    assert wanted.amount.edges_mm["top"] == pytest.approx((IN / 8,) * 8)


def test_what_the_gap_of_the_whole_asks_for_is_not_put_on_one_side_by_one_sign(base: RuleBase) -> None:
    wanted = one(base, FOUR, side="left")
    assert (wanted.side, wanted.amount.whole_mm) == ("both", pytest.approx(2 * IN))


def test_the_amount_named_is_that_of_the_station_which_changes_most(base: RuleBase) -> None:
    facts = {"change-top": IN, "change-waist": 0.0, "change-bottom": -2 * IN, "change-mean": IN, "seams-per-half": 4.0}
    wanted = one(base, facts, stations=("each",))
    assert wanted.amount.whole_mm == pytest.approx(-2 * IN)
    assert (wanted.profile["top"], wanted.profile["bottom"]) == pytest.approx((IN, -2 * IN))


@pytest.mark.parametrize(
    ("limit", "on", "whole"),
    [
        # Four seams a half: sixteen stitching lines and eight seams in the whole girth, two halves.
        (IN / 16, "edge", IN), (IN / 8, "seam", IN), (IN / 2, "half", IN), (IN, "whole", IN),
        (IN / 8, "edge", 2 * IN), (IN / 4, "seam", 2 * IN), (IN, "half", 2 * IN), (2 * IN, "whole", 2 * IN),
    ],
)  # fmt: skip
def test_a_limit_holds_on_what_it_is_set_on(base: RuleBase, limit: float, on: str, whole: float) -> None:
    wanted = one(base, FOUR, limit=limit, limit_on=on)
    assert wanted.amount.whole_mm == pytest.approx(whole)
    assert wanted.capped == (whole < 2 * IN)
    let_out = one(
        base, {name: abs(v) * (1 if "seams" in name else -1) for name, v in FOUR.items()}, limit=limit, limit_on=on
    )
    assert (let_out.amount.whole_mm, let_out.capped) == (pytest.approx(-whole), whole < 2 * IN)


@pytest.mark.parametrize("seams", [{}, {"seams-per-half": 0.0}])
def test_a_limit_on_lines_that_are_not_there_or_not_known_cuts_nothing(base: RuleBase, seams: dict[str, float]) -> None:
    for on in ("edge", "seam"):
        wanted = one(base, {**OVER, **seams}, limit=IN / 16, limit_on=on)
        assert (wanted.amount.whole_mm, wanted.capped) == (pytest.approx(2 * IN), False)


@pytest.mark.parametrize(
    ("amount", "length", "capped"),
    [("3/8 in", 3 / 8, False), ("1/2 in", 1 / 2, False), ("1 in", 1 / 2, True), ("0 in - 1 in", -1 / 2, True)],
)
def test_a_length_is_cut_at_its_limit_and_is_no_girth(base: RuleBase, amount: str, length: float, capped: bool) -> None:
    wanted = one(base, FOUR, amount, kind="length", limit=IN / 2, limit_on="length")
    assert (wanted.amount.length_mm, wanted.capped) == (pytest.approx(length * IN), capped)
    assert wanted.amount.whole_mm is None
    assert set(wanted.profile.values()) == {0.0}


def test_a_length_is_rounded_to_the_ruler_and_without_a_limit_it_is_whole(base: RuleBase) -> None:
    wanted = one(base, FOUR, "first(slips, 1 in) * 1.02", kind="length")
    assert (wanted.amount.length_mm, wanted.capped) == (pytest.approx(IN), False)


@pytest.mark.parametrize(
    ("kind", "direction", "amount", "done"),
    [
        ("girth", "in", "1 in", True), ("girth", "in", "0 in - 1 in", False),
        ("girth", "out", "1 in", False), ("girth", "out", "0 in - 1 in", True),
        ("girth", "either", "0 in - 1 in", True), ("girth", "either", "1 in", True),
        ("length", "up", "1 in", True), ("length", "up", "0 in - 1 in", False),
        ("length", "either", "0 in - 1 in", True), ("length", "in", "0 in - 1 in", False),
    ],
)  # fmt: skip
def test_an_amount_against_the_way_of_the_alteration_is_not_for_it(
    base: RuleBase, kind: str, direction: str, amount: str, done: bool
) -> None:
    assert none_of(base, FOUR, amount, kind=kind, direction=direction) is not done


def test_less_than_the_smallest_worth_drawing_is_left_and_the_smallest_itself_is_drawn(base: RuleBase) -> None:
    assert none_of(base, FOUR, "3/16 in", smallest=IN / 4)
    assert not none_of(base, FOUR, "1/4 in", smallest=IN / 4)
    assert not none_of(base, FOUR, "1/16 in", smallest=None)
    assert none_of(base, FOUR, "0 in", smallest=None)


def test_the_first_choice_that_can_be_done_is_taken(base: RuleBase) -> None:
    choices = (
        choice("nip", "change-hip"), choice("nip", "1/16 in"),
        choice("dart", "1 in", only_if=(when("seams-per-half", "at-most", 0.0),)), choice("fold", "1 in"),
        choice("dart", "1 in"),
    )  # fmt: skip
    made = base_of(base, {"big": choices}, (alteration("nip"), alteration("dart"), alteration("fold")))
    wanted, unmeasured = chosen(made, FOUR, found("big"))
    assert ([item.alteration.id for item in wanted], unmeasured) == (["fold"], [])


def test_where_none_can_be_done_the_first_that_waits_for_a_measure_says_for_which(base: RuleBase) -> None:
    choices = (choice("nip", "change-hip + slips"), choice("dart", "gapes"), choice("dart", "1/16 in"))
    made = base_of(base, {"big": choices}, (alteration("nip"), alteration("dart")))
    wanted, (waits,) = chosen(made, FOUR, found("big"))
    assert wanted == []
    assert (waits.alteration.id, waits.cause.id, waits.missing) == ("nip", "big", ("change-hip", "slips"))


def test_an_alteration_without_an_amount_is_wanted_as_it_is(base: RuleBase) -> None:
    wanted = one(base, FOUR, "none", kind="structure")
    assert (wanted.amount.whole_mm, wanted.amount.length_mm, wanted.capped) == (None, None, False)
    assert set(wanted.profile.values()) == {0.0}


TOP = {**EVERYWHERE, "by": {"top": "full", "waist": "nothing"}}


def two_steps(base: RuleBase) -> RuleBase:
    mends = {"big": (choice("evenly", "change-least"),), "top": (choice("wedge", "change-top", stations=("top",)),)}
    return base_of(base, mends, (alteration("evenly"), alteration("wedge", step="top", does=(TOP,))))


def test_what_an_earlier_step_mends_is_not_mended_twice(base: RuleBase) -> None:
    # 2 in wanted at the top and 1 in below: 1 in all the way down, then the other inch at the top alone.
    facts = {"change-top": 2 * IN, "change-waist": IN, "change-bottom": IN, "change-least": IN, "seams-per-half": 4.0}
    wanted, _ = chosen(two_steps(base), facts, found("top", 0.99), found("big", 0.8))
    assert [(item.alteration.id, item.profile["top"]) for item in wanted] == [
        ("evenly", pytest.approx(IN)), ("wedge", pytest.approx(IN)),
    ]  # fmt: skip
    facts |= {"change-top": IN}
    wanted, _ = chosen(two_steps(base), facts, found("top", 0.99), found("big", 0.8))
    assert [item.alteration.id for item in wanted] == ["evenly"]


@pytest.mark.parametrize(
    ("fact", "left"),
    # After 1 in all the way down, of 2, 3/2 and −2 in there are 1, 1/2 and −2 left, for no step answers what a step
    # itself has done: mean −1/6, least 1/2, most −2.
    [
        ("change-mean", -1 / 6), ("change-least", 1 / 2), ("change-most", -2.0), ("gap-average", 1 / 6),
        ("largest-girth-change", 2.0),
    ],
)  # fmt: skip
def test_the_figures_for_the_next_step_are_those_that_are_left(base: RuleBase, fact: str, left: float) -> None:
    second = alteration("then", step="top", kind="length", direction="either", smallest=None)
    mends = {"big": (choice("evenly", "1 in"),), "next": (choice("then", fact),)}
    made = base_of(base, mends, (alteration("evenly"), second))
    known = ("change-mean", "change-least", "change-most", "gap-average", "largest-girth-change")
    read = {"change-top": 2 * IN, "change-waist": 1.5 * IN, "change-bottom": -2 * IN}
    facts = {**read, **dict.fromkeys(known, 9 * IN)}
    (_, then), _ = chosen(made, facts, found("big"), found("next"))
    assert then.amount.length_mm == pytest.approx(left * IN, abs=IN / 32)


def test_a_length_leaves_the_girth_as_it_was(base: RuleBase) -> None:
    mends = {"long": (choice("shorten", "1 in"),), "top": (choice("wedge", "change-top", stations=("top",)),)}
    made = base_of(base, mends, (alteration("shorten", kind="length"), alteration("wedge", step="top", does=(TOP,))))
    wanted, _ = chosen(made, FOUR, found("long"), found("top"))
    assert wanted[1].profile["top"] == pytest.approx(2 * IN)


def test_causes_come_in_the_order_of_work_and_then_the_more_probable_first(base: RuleBase) -> None:
    names = {"late": "straps", "likely": "waist", "doubtful": "waist", "first": "level"}
    mends = {name: (choice(f"mend-{name}", "1 in"),) for name in names}
    steps = [alteration(f"mend-{name}", step=step, kind="length") for name, step in names.items()]
    made = base_of(base, {**mends, "nothing-to-do": ()}, steps)
    chances = {"late": 0.99, "doubtful": 0.6, "likely": 0.7, "nothing-to-do": 0.9, "first": 0.6}
    causes = [found(name, chance) for name, chance in chances.items()]
    wanted, _ = chosen(made, FOUR, *causes)
    assert [item.cause.id for item in wanted] == ["first", "likely", "doubtful", "late"]


def test_one_alteration_for_two_causes_is_one_step_named_by_the_more_probable(base: RuleBase) -> None:
    mends = {"a": (choice("nip", "1 in", beyond="of a"),), "b": (choice("nip", "1/2 in", beyond="of b"),)}
    made = base_of(base, mends, (alteration("nip", kind="length"),))
    (both_sides,), _ = chosen(made, FOUR, found("a", 0.9), found("b", 0.6))
    assert (both_sides.cause.id, both_sides.choice.beyond, both_sides.amount.length_mm) == (
        "a",
        "of a",
        pytest.approx(IN),
    )
    wanted, _ = chosen(made, FOUR, found("a", 0.9, "left"), found("b", 0.6, "right"))
    assert [(item.side, item.cause.id) for item in wanted] == [("left", "a"), ("right", "b")]


def test_each_side_is_judged_by_its_own_facts(base: RuleBase) -> None:
    mends = {"dig": (choice("lower", "digs"),)}
    made = base_of(base, mends, (alteration("lower", kind="length", direction="down"),))
    wanted, _ = chosen(made, {"digs": IN}, found("dig", 0.9, "right"), right={"digs": IN / 2})
    assert wanted[0].amount.length_mm == pytest.approx(IN / 2)


TABS = alteration(
    "tabs", kind="length", smallest=None,
    does=({"do": "tabs", "what": "flare", "for": "gape"}, {"do": "tabs", "what": "shorten", "for": "buckle"}),
)  # fmt: skip


@pytest.mark.parametrize(("first", "second"), [("gape", "gape"), ("gape", "buckle")])
def test_two_causes_share_a_step_only_where_they_ask_for_the_same_act(base: RuleBase, first: str, second: str) -> None:
    # The more probable cause comes second in the order of work: it may give the step its name, never another's amount.
    mends = {
        "a-tight": [choice("tabs", "1/2 in", only_if=(when(first, "is", "yes"),))],
        "b-long": [choice("tabs", "1 in", only_if=(when(second, "is", "yes"),))],
    }
    facts = {"gape": "yes", "buckle": "yes"}
    wanted, _ = chosen(base_of(base, mends, [TABS]), facts, found("b-long", 0.7), found("a-tight", 0.9))
    got = [(item.cause.id, item.amount.length_mm, item.moves[0].what) for item in wanted]
    if first == second:
        assert got == [("a-tight", pytest.approx(IN / 2), "flare")]
    else:
        assert got == [("a-tight", pytest.approx(IN / 2), "flare"), ("b-long", pytest.approx(IN), "shorten")]
