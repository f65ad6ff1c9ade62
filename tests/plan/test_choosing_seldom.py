"""Choices, cautions and misses that the bundled rules seldom come to: on small invented bases, worked by hand."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import pytest
from invented_base import IN, alteration, base_of, choice, chosen, found
from msgspec.structs import replace

from diagnose.engine.indexed import IndexedMatcher
from diagnose.model.tryon import TryOn
from diagnose.plan.asked.settling import reopened_by
from diagnose.plan.choosing import choose
from diagnose.plan.give import Learnt
from diagnose.plan.whole import cautions_of
from diagnose.rulebase.base import RuleBase

OVER = {"change-top": 2 * IN, "change-waist": 2 * IN, "change-bottom": 2 * IN, "change-mean": 2 * IN}


@pytest.mark.parametrize(
    ("first", "second", "named"), [(0.6, 0.9, "later"), (0.9, 0.6, "sooner"), (0.7, 0.7, "sooner")]
)
def test_one_alteration_wanted_for_two_causes_is_named_by_the_likelier(
    base: RuleBase, first: float, second: float, named: str
) -> None:
    """The one comes sooner in the order of work by its first choice, which is too little to be drawn."""
    mends = {
        "sooner": (choice("ease", "small"), choice("nip", "plenty")), "later": (choice("nip", "plenty"),),
    }  # fmt: skip
    kinds = {"kind": "length", "step": "edge"}
    made = base_of(base, mends, (alteration("ease", kind="length", step="toile"), alteration("nip", **kinds)))
    facts = {"small": 0.5, "plenty": IN}
    (wanted,), unmeasured = chosen(made, facts, found("sooner", first), found("later", second))
    assert (wanted.alteration.id, wanted.cause.id, unmeasured) == ("nip", named, [])
    assert wanted.choice in made.entries.causes[named].alterations
    assert wanted.amount.length_mm == pytest.approx(IN)


def test_girth_steps_measured_without_a_reading_of_the_gap_do_not_take_from_each_other(base: RuleBase) -> None:
    """Two inches each by what a sign measured: with no gap read there is no rest that the first could have left."""
    mends = {name: (choice(f"nip-{name}", "measured"),) for name in ("one", "two")}
    made = base_of(base, mends, tuple(alteration(f"nip-{name}") for name in mends))
    wanted, _ = chosen(made, {"measured": 2 * IN}, found("one"), found("two"))
    assert [item.amount.whole_mm for item in wanted] == pytest.approx([2 * IN, 2 * IN])
    read, _ = chosen(base_of(base, {n: (choice(f"nip-{n}", "change-mean"),) for n in mends},
                             tuple(alteration(f"nip-{name}") for name in mends)),
                     OVER, found("one"), found("two"))  # fmt: skip
    assert [item.amount.whole_mm for item in read] == pytest.approx([2 * IN])


@pytest.mark.parametrize(("behind", "mended"), [(True, 1), (False, 0)])
def test_a_reading_off_its_target_is_mended_only_by_a_cause_that_stands_behind_it(
    base: RuleBase, behind: bool, mended: int
) -> None:
    made = base_of(base, {"other": (choice("nip", "change-mean"),)}, (alteration("nip"),))
    stations = {(station, True): ("other",) for station in ("top", "waist", "bottom")} if behind else {}
    made.__dict__["behind_readings"] = stations
    facts = {"both": OVER, "left": OVER, "right": OVER}
    wanted, unmeasured = choose((), facts, made, IndexedMatcher(made.rules), [found("other", 0.3)])  # type: ignore[arg-type]
    assert ([item.cause.id for item in wanted], unmeasured) == (["other"] * mended, [])


def test_a_limit_that_is_a_plain_number_is_told_as_one(base: RuleBase) -> None:
    (limit,) = base.entries.cautions.limits
    seams = limit.model_copy(update={"setting": "seams-usual", "fact": "seams-per-half", "say": "{value}, not {most}."})
    cautions = base.entries.cautions.model_copy(update={"limits": (seams,)})
    made = replace(base, entries=base.entries.model_copy(update={"cautions": cautions}))
    for facts, told in (({"seams-per-half": 6.0}, ["6, not 4."]), ({"seams-per-half": 4.0}, []), ({}, [])):
        said = cautions_of(SimpleNamespace(facts=facts), made)  # type: ignore[arg-type]
        assert list(said) == [*told, *(caution.say for caution in cautions.always)]


def test_a_miss_whose_question_is_not_in_the_rules_is_told_without_one(
    base: RuleBase, make_tryon: Callable[..., TryOn]
) -> None:
    learnt = Learnt({}, {"top": 0.0, "waist": -0.625 * IN, "bottom": 0.0}, ("too-big-at-waist",), {"waist": IN})
    told, asked = reopened_by(learnt, make_tryon(), base)
    bare = replace(base, entries=base.entries.model_copy(update={"questions": {}}))
    plain, nothing = reopened_by(learnt, make_tryon(), bare)
    assert told is not None
    assert plain is not None
    assert asked
    assert nothing == ()
    assert plain.explanations == tuple(line.partition(" What tells: ")[0] for line in told.explanations)
    assert plain.explanations != told.explanations
