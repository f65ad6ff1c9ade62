"""Questions needed: asked by their effect on the plan, a try-on is settled in about ten, and sooner than in any order.

A third of the vignettes and the quick form of asking are held to it here; `python tests/cases/questions.py` measures
all of them with the full form.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable

import pytest
from questions import MOST, Needed, Told, Way, measure, order_of_work
from scoring import read_vignettes

from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

PLAIN = 120
"""Up to this number the vignettes tell one plain complaint; the harder ones after them are told otherwise."""
Measured = Callable[[Told, Way], list[Needed]]


@pytest.fixture(scope="module")
def measured(base: RuleBase, matcher: Matcher) -> Measured:
    kept: dict[tuple[Told, Way], list[Needed]] = {}

    def measured_once(told: Told, way: Way) -> list[Needed]:
        if (told, way) not in kept:
            right = [one for one in read_vignettes() if one.number <= PLAIN and not one.wrong_today]
            kept[told, way] = measure(right[::3], base, matcher, told, way, exact=False)
        return kept[told, way]

    return measured_once


def within_ten(needed: list[Needed]) -> float:
    return sum(one.settled is not None and one.settled <= 10 for one in needed) / len(needed)


def test_nine_complaints_in_ten_are_settled_within_ten_questions(measured: Measured) -> None:
    assert within_ten(measured("complaint", "by effect")) >= 0.90


def test_no_more_than_about_ten_questions_are_put_for_most_complaints(measured: Measured) -> None:
    assert statistics.median(one.put for one in measured("complaint", "by effect")) <= 10


@pytest.mark.parametrize("told", ["complaint", "readings"])
def test_asked_by_effect_fewer_questions_are_needed_than_in_the_fixed_order(measured: Measured, told: Told) -> None:
    ours, fixed = measured(told, "by effect"), measured(told, "fixed order")
    assert statistics.mean(one.counted for one in ours) < statistics.mean(one.counted for one in fixed)
    assert within_ten(ours) > within_ten(fixed)


def test_the_fixed_order_holds_everything_that_can_be_asked_and_settles_gates_first(base: RuleBase) -> None:
    order = order_of_work(base)
    assert set(order) == {askable.name for askable in base.askable.values()}
    assert order.index("test-square-true") < order.index("waist-sits-low") < order.index("strap-angle-wrong")


def test_a_try_on_never_settled_counts_as_the_most_that_anyone_answers() -> None:
    assert (Needed(None, 4).counted, Needed(3, 9).counted) == (MOST, 3)
