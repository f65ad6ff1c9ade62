"""What a plan passes on from the rule base as it stands there, and what an answer or a mending leaves open."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from invented_base import EVERYWHERE, IN, alteration, base_of, choice, found

from diagnose.engine.indexed import IndexedMatcher
from diagnose.model.tryon import TryOn
from diagnose.plan.asked.settling import reopened_by
from diagnose.plan.choosing import choose
from diagnose.plan.give import Learnt
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

MakeTryOn = Callable[..., TryOn]
READ: dict[str, Any] = {
    "gap": {"top": "1 in", "waist": "1 1/2 in", "bottom": "2 1/2 in"}, "target": "2 in", "tension": "working",
    "garment": {"style": "stays", "boning": "full", "straps": "fixed", "tabs": "plain", "seams_per_half": 4},
}  # fmt: skip
SEEN: list[dict[str, Any]] = [
    {"spill-at-side-bust": {"amount": "1/2 in"}},
    {"digs-under-arm": {"side": "right", "amount": "5/8 in"}, "straps-slip": True},
    {"too-long-seated": {"amount": "1 in"}, "tabs-buckle": True},
    {"slides-down": True, "hem-flares": True, "fold-at-back-waist": {"amount": "1/2 in"}},
]


@pytest.mark.parametrize("seen", SEEN)
def test_each_step_is_drawn_where_its_choice_says_and_says_why_and_what_to_expect(
    seen: dict[str, Any], base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn
) -> None:
    planned = diagnose(make_tryon(**READ, seen=seen), base, matcher)
    assert planned.rounds
    for step in (step for round_ in planned.rounds for step in round_.steps):
        cause = base.entries.causes[step.cause]
        own = [one for one in cause.alterations if one.alteration == step.alteration]
        assert any(step.at.startswith(one.at) and step.why == f"{cause.title}. {one.because}" for one in own)
        assert step.at
        assert not step.beyond or step.capped
    for round_ in planned.rounds:
        expected = {base.entries.alterations[step.alteration].expect for step in round_.steps}
        assert set(round_.expect) == expected


@pytest.mark.parametrize("seen", SEEN)
def test_each_question_comes_with_how_to_look_and_with_causes_that_it_bears_on(
    seen: dict[str, Any], base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn
) -> None:
    asks = diagnose(make_tryon(**READ, seen=seen), base, matcher).ask
    assert asks
    for ask in asks:
        entry: Any = base.entries.questions.get(ask.id) or base.entries.symptoms[ask.id]
        assert ask.how == entry.how
        links = entry.points_to if ask.id in base.entries.questions else entry.causes
        assert set(ask.settles) <= {link.cause for link in links}
        assert ask.why
        assert ask.question.endswith(entry.ask)


@pytest.mark.parametrize(("answer", "stands"), [(True, False), (False, True)])
def test_an_answer_that_points_to_what_would_explain_a_miss_leaves_it_standing_and_is_told_with_it(
    answer: bool, stands: bool, base: RuleBase, make_tryon: MakeTryOn
) -> None:
    """Panels that do not measure true were sewn off the line; panels that do were not."""
    everywhere = dict.fromkeys(("top", "waist", "bottom"), -IN)
    learnt = Learnt({}, everywhere, ("too-big-all-over",), {"waist": IN})
    reopened, asks = reopened_by(learnt, make_tryon(known={"test-square-true": answer}), base)
    assert reopened is not None
    standing = [line for line in reopened.explanations if line.startswith("It was sewn off the line?")]
    assert len(standing) == stands
    assert all(line.endswith("You said no.") for line in standing)
    assert ("it was sewn off the line" in reopened.explanations[-1]) is not stands
    assert "test-square-true" not in {one.id for one in asks}


@pytest.mark.parametrize(
    ("cause", "kind", "wanted"),
    [
        ("bust-space-too-small", "length", ["mend"]),  # behind the reading at the top, and mended: it is answered
        ("hollow-back", "length", ["mend", "wedge"]),  # has nothing to do with the top
        ("bust-space-too-small", "girth", ["mend", "wedge"]),  # of girth, but too little of it
    ],
)
def test_a_gap_off_its_target_is_answered_by_the_mending_of_one_of_its_causes_or_else_by_the_likeliest_other(
    cause: str, kind: str, wanted: list[str], base: RuleBase
) -> None:
    top = {**EVERYWHERE, "by": {"top": "full", "waist": "nothing"}}
    mends = {cause: (choice("mend", "less"),), "too-small-at-top": (choice("wedge", "change-top", stations=("top",)),)}
    alterations = (
        alteration("mend", kind=kind, step="toile", smallest=None),
        alteration("wedge", step="top", does=(top,)),
    )
    made = base_of(base, mends, alterations)
    entries = made.entries.model_copy(update={"symptoms": base.entries.symptoms})
    made = RuleBase(entries, base.settings, "invented with signs")
    facts = {"change-top": -2 * IN, "change-waist": 0.0, "change-bottom": 0.0, "less": -IN / 4, "seams-per-half": 4.0}
    facts_of: dict[Any, Any] = dict.fromkeys(("both", "left", "right"), facts)
    others = [found("too-small-at-top", 0.3)]
    chosen, _ = choose([found(cause)], facts_of, made, IndexedMatcher(made.rules), others)
    assert [item.alteration.id for item in chosen] == wanted
