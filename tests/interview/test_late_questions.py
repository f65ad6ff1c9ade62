"""What is asked late may raise a stop flag, fail, or be nothing that the rules know; the try-on stands all the same."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from msgspec.structs import replace
from talking import interview, talk

from diagnose.errors import FitError
from diagnose.interview import Known, read_value
from diagnose.interview.opening import opening
from diagnose.model.diagnosis import Ask
from diagnose.rulebase.base import RuleBase

GAPS = {"gap.top": "1", "gap.waist": "2", "gap.bottom": "3"}
MARKED = {
    **GAPS, "sign.fold-under-bust": "n", "at.once-off": "marks-on-skin", "side.marks-on-skin": "1",
    "spots.marks-on-skin": "?",
}  # fmt: skip
LATE = ("marks-on-skin", "fold-under-bust")


@pytest.mark.parametrize(("minutes", "stops"), [("10", False), ("30", False), ("31", True), ("90", True)])
def test_a_mark_told_late_to_have_stayed_over_half_an_hour_ends_the_try_on(
    base: RuleBase, minutes: str, stops: bool
) -> None:
    held = interview(base, "marks-on-skin", "bones-stay-bent")
    walk, _ = talk(held, {**MARKED, "amount.marks-on-skin": minutes})
    assert walk.answered[-1][0].id == "amount.marks-on-skin"
    assert walk.stop == (("skin-broken",) if stops else ())
    assert (walk.next.id if walk.next else None) == (None if stops else "known.bones-stay-bent")


def test_a_late_question_that_the_rules_do_not_have_is_passed_over(base: RuleBase) -> None:
    walk, _ = talk(interview(base, "no-such-sign", "fold-under-bust"), GAPS)
    assert walk.next is not None
    assert walk.next.id == "sign.fold-under-bust"


@pytest.mark.parametrize("gone", ["sign.rubbed-out-of-the-rules", "known.rubbed-out-too"])
def test_a_reply_kept_to_a_question_no_longer_in_the_rules_is_passed_over(base: RuleBase, gone: str) -> None:
    held = interview(base, "fold-under-bust")
    _, replies = talk(held, GAPS)
    walk = held.walk({**replies, gone: True})
    assert gone not in [question.id for question, _ in walk.answered]
    assert walk.next is not None
    assert walk.next.id == "sign.fold-under-bust"
    assert walk.answers == held.walk(replies).answers


def test_when_it_cannot_be_worked_out_what_to_ask_the_trouble_is_told_and_the_answers_stay(base: RuleBase) -> None:
    def refuse(_: Mapping[str, Any]) -> Sequence[Ask]:
        raise FitError.of("gap", "The gap can't be so.", "Measure again.", code="contradiction")

    held = replace(interview(base), ask=refuse)
    walk, _ = talk(held, GAPS)
    assert walk.next is None
    assert [mistake.what for mistake in walk.trouble] == ["The gap can't be so."]
    assert walk.answers["gap"] == {"top": "1 in", "waist": "2 in", "bottom": "3 in"}


def test_once_a_stop_flag_is_up_nothing_follows_the_first_question(base: RuleBase) -> None:
    known = Known(garment={"closure": "back"}, target="2 in")
    assert [question.id for question in opening(base, known, {"stop": ["breath-short"]})] == ["stop"]
    assert len(list(opening(base, known, {"stop": []}))) > 1


def test_rules_without_facts_of_the_gap_or_gates_ask_for_a_gap_of_any_size_and_no_gates(base: RuleBase) -> None:
    """A maker's own small rule base: then no size is unbelievable, and nothing has to be so first."""
    entries = base.entries.model_copy(update={"facts": {}, "questions": {}})
    small = replace(base, entries=entries)
    asked = list(opening(small, Known(garment={"closure": "back"}, target="2 in"), {}))
    gaps = [question for question in asked if question.id.startswith("gap.")]
    assert gaps
    assert {question.most for question in gaps} == {None}
    assert "ready" not in [question.id for question in asked]


def test_minutes_kept_that_are_no_number_are_asked_again(base: RuleBase) -> None:
    walk, _ = talk(interview(base, *LATE), MARKED)
    question = walk.next
    assert question is not None
    assert question.kind == "minutes"
    assert read_value(question, 25, "in") == 25.0
    with pytest.raises(FitError, match="no number"):
        read_value(question, math.nan, "in")


def test_a_sign_told_late_and_then_at_its_place_too_is_told_once_with_its_details(base: RuleBase) -> None:
    held = interview(base, *LATE)
    _, late = talk(held, {**MARKED, "amount.marks-on-skin": "10"})
    corrected = {**late, "sign.marks-on-skin": True}
    walk = held.walk(corrected)
    ids = [question.id for question, _ in walk.answered]
    assert len(ids) == len(set(ids))
    assert ids.count("amount.marks-on-skin") == 1
    assert walk.answers["seen"]["marks-on-skin"] == held.walk(late).answers["seen"]["marks-on-skin"]
