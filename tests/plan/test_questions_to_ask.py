"""What is asked next: the gap first, then only what could change what is done now."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from diagnose.engine.findings import BodySide, SideFindings, find_sides
from diagnose.engine.ranking import rank_sides
from diagnose.gap.reading import read_gap
from diagnose.model.diagnosis import Ask
from diagnose.model.tryon import TryOn
from diagnose.plan.asked.next_questions import candidates, questions_to_ask
from diagnose.rulebase.base import NOT_THE_PATTERN, RuleBase
from diagnose.rulebase.neutral import Matcher

Find = Callable[..., tuple[TryOn, dict[BodySide, SideFindings]]]
CLOSED = {"gap": {"top": 0, "waist": 0, "bottom": 0}, "target": "2 in", "garment": {"seams_per_half": 4}}
SPILL = {
    "gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"},
    "target": "2 in",
    "seen": {"spill-at-side-bust": {"side": "left", "amount": "1/2 in"}},
}


@pytest.fixture(scope="module")
def look(base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]) -> Find:
    def look_at(**raw: Any) -> tuple[TryOn, dict[BodySide, SideFindings]]:
        tryon = make_tryon(**raw)
        return tryon, find_sides(tryon, read_gap(tryon, base.settings), base, matcher)

    return look_at


def ask(look: Find, base: RuleBase, raw: dict[str, Any], first_step: str | None, exact: bool) -> list[Ask]:
    tryon, found = look(**raw)
    rank = None if first_step is None else base.step_rank[first_step]
    return list(questions_to_ask(tryon, found, rank_sides(found, base), base, exact, rank))


@pytest.mark.parametrize("exact", [True, False])
def test_a_gap_closed_all_the_way_and_surely_too_big_asks_nothing_about_later_steps(
    look: Find, base: RuleBase, exact: bool
) -> None:
    assert rank_sides(look(**CLOSED)[1], base)[0].probability > 0.99
    for question in ask(look, base, CLOSED, "mean-girth", exact):
        first = [base.first_step[cause] for cause in question.settles]
        assert min(first) <= base.step_rank["mean-girth"]
    assert "too-long-seated" not in [question.id for question in ask(look, base, CLOSED, "mean-girth", exact)]
    assert "too-long-seated" in [question.id for question in ask(look, base, CLOSED, None, exact)]


@pytest.mark.parametrize("exact", [True, False])
def test_every_question_bears_on_a_cause_that_round_1_stands_on(look: Find, base: RuleBase, exact: bool) -> None:
    asked = [(step, question) for step in base.step_rank for question in ask(look, base, SPILL, step, exact)]
    assert len({question.id for _, question in asked}) > 3
    for step, question in asked:
        assert any(base.first_step[cause] <= base.step_rank[step] for cause in question.settles)


def test_with_nothing_planned_every_cause_counts(look: Find, base: RuleBase) -> None:
    everything = ask(look, base, SPILL, None, exact=True)
    assert everything == ask(look, base, SPILL, max(base.step_rank, key=base.step_rank.__getitem__), exact=True)
    assert len(everything) == 3


def test_without_a_gap_the_gap_is_asked_for_first(look: Find, base: RuleBase) -> None:
    raw = {"seen": {"spill-at-side-bust": True}}
    assert next(iter(ask(look, base, raw, None, exact=False))).id == "gap"
    assert "gap" not in [question.id for question in ask(look, base, SPILL, None, exact=False)]


def test_nothing_that_is_known_derived_or_a_stop_flag_is_a_candidate(look: Find, base: RuleBase) -> None:
    _, found = look(**SPILL, known={"toile-cloth-firm": True})
    names = {base.askable[finding].name for finding in candidates(found, base, {}, None)}
    assert len(names) > 40
    assert names.isdisjoint({"spill-at-side-bust", "toile-cloth-firm", *base.derived, *base.stop_flags})


def test_the_quick_form_weighs_those_candidates_that_touch_most_doubt(look: Find, base: RuleBase) -> None:
    _, found = look(**SPILL)
    assert candidates(found, base, {}, 5) == candidates(found, base, {}, None)[:5]
    later = {cause: 0.0 for cause in base.priors if cause != "bust-space-too-small"}
    for finding in candidates(found, base, later, None):
        assert "bust-space-too-small" in [link.cause for link in base.askable[finding].links]


def test_a_conditional_link_comes_into_play_only_on_its_conditions(base: RuleBase) -> None:
    checked = 0
    for askable in base.askable.values():
        for rule, conditions in askable.conditions.items():
            facts = {line.fact: line.value for line in conditions if line.comparison in ("is", "at-least", "at-most")}
            if len(facts) == len(conditions):
                checked += 1
                assert rule in [link.rule for link in askable.in_play(facts)]
                assert rule not in [link.rule for link in askable.in_play({})]
    assert checked > 5


def test_causes_that_are_not_the_patterns_come_before_every_step_and_those_nothing_mends_after(base: RuleBase) -> None:
    for cause in base.entries.causes.values():
        first = base.first_step[cause.id]
        if cause.group == NOT_THE_PATTERN:
            assert first == -1
        elif cause.alterations:
            assert 0 <= first < len(base.step_rank)
        else:
            assert first == len(base.step_rank)


def test_what_she_cannot_tell_is_not_asked_again_and_the_next_best_comes_up(look: Find, base: RuleBase) -> None:
    before = [question.id for question in ask(look, base, SPILL, None, True)]
    after = [question.id for question in ask(look, base, {**SPILL, "cant_tell": before}, None, True)]
    assert after
    assert not {*before} & {*after}


def test_a_question_about_signs_is_asked_only_when_one_shows_and_then_names_it(look: Find, base: RuleBase) -> None:
    about = {q.id for q in base.entries.questions.values() if q.about}
    bare = {key: value for key, value in SPILL.items() if key != "seen"}
    asked = [question.id for step in (None, *base.step_rank) for question in ask(look, base, bare, step, True)]
    assert not about & {*asked}
    named = [q for step in (None, *base.step_rank) for q in ask(look, base, SPILL, step, True) if q.id in about]
    assert named
    assert all(q.question.startswith(base.entries.symptoms["spill-at-side-bust"].title) for q in named)
