"""The argument for one cause or alteration: what `diagnose plan CASE --why ID` tells, in words and as data."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from made_up import answers, diagnosis, stopped
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.model.diagnosis import CauseFound, Evidence
from diagnose.plan.planned import Diagnosis, Round, StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.sentences import lower_first
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.rule_text import entry_lines
from diagnose.sheets.words.why_text import why_lines, why_to_json
from diagnose.sheets.words.wording import NEARLY

NOTES = ("Channel b1 moved.", "The hem was smoothed.")


@pytest.fixture
def found(base: RuleBase) -> Diagnosis:
    """Too big at the waist, folded out in step 1.1 with two notes; the underarm is held back on the right."""
    made = diagnosis(base, answers(base))
    (step,) = made.first_steps
    return replace(made, rounds=(Round(1, (replace(step, notes=NOTES),), "try on again"),))


def told(found: Diagnosis, base: RuleBase, name: str) -> str:
    """The lines as one run of words, so that it does not matter where they break."""
    return " ".join(" ".join(plain_lines(why_lines(found, base, name))).split())


def title_of(base: RuleBase, cause: str) -> str:
    return base.entries.causes[cause].title


def page_of(base: RuleBase, name: str) -> str:
    return " ".join(" ".join(plain_lines(entry_lines(base.entries, name))).split())


def lines_of(found: Diagnosis, base: RuleBase, name: str) -> Iterator[str]:
    return (line.rstrip() for line in plain_lines(why_lines(found, base, name)))


def test_a_cause_is_argued_by_what_speaks_for_it_and_against_it_each_with_its_rule(
    base: RuleBase, found: Diagnosis
) -> None:
    words = told(found, base, "too-big-at-waist")
    asked = base.entries.questions["relaced-from-waist"].ask
    assert f"{title_of(base, 'too-big-at-waist')}: 93% sure. for:" in words
    assert "for: It slides down: the odds rise 6 times by it (r)" in words
    assert f"for: “{asked}” yes: the odds rise 2.5 times by it (r)" in words


def test_a_sign_that_speaks_by_not_being_there_is_said_not_to_be_there(base: RuleBase, found: Diagnosis) -> None:
    title = base.entries.symptoms["gap-narrowest-at-waist"].title
    words = told(found, base, "too-big-at-waist")
    assert f"against: Not there: {lower_first(title)}: the odds fall 1.4 times by it (r)" in words


@pytest.mark.parametrize("name", ["too-big-at-waist", "fold-out-in-panel"])
def test_the_step_comes_first_with_its_place_and_notes_then_the_cause_then_the_rule(
    name: str, base: RuleBase, found: Diagnosis
) -> None:
    words = told(found, base, name)
    parts = ("Step 1.1: Too big at the waist.", "Where: Inside the back, halfway to the side.", *NOTES,
             f"{title_of(base, 'too-big-at-waist')}: 93% sure.", page_of(base, name))  # fmt: skip
    places = [words.index(part) for part in parts]
    assert places == sorted(places)
    assert words.endswith(page_of(base, name))


def test_of_a_step_only_its_own_cause_is_argued_and_of_a_cause_only_its_own_steps(
    base: RuleBase, found: Diagnosis
) -> None:
    other = CauseFound("underarm-edge-too-high", 0.31, "right", (Evidence("digs-under-arm", "d", 5.0),), ())
    step = StepPlan(
        "2.1", "shorten-from-top", "too-long-above-waist", "both", found.first_steps[0].amount, "At the top.",
        False, False, "The side is long.", "", {},
    )  # fmt: skip
    both = replace(found, causes=(*found.causes, other), rounds=(*found.rounds, Round(2, (step,), "try on")))
    words = told(both, base, "fold-out-in-panel")
    assert "31% sure" not in words
    assert "Step 2.1" not in words
    alone = told(both, base, "underarm-edge-too-high")
    assert f"{title_of(base, 'underarm-edge-too-high')}: 31% sure, right side." in alone
    assert "93% sure" not in alone
    assert "Step" not in alone.removesuffix(page_of(base, "underarm-edge-too-high"))


@pytest.mark.parametrize("name", ["lower-underarm", "underarm-edge-too-high"])
def test_what_is_held_back_says_why_and_until_when(name: str, base: RuleBase, found: Diagnosis) -> None:
    words = told(found, base, name)
    assert words.startswith("Held back: It drops now. It waits until the girth is settled.")
    assert "% sure" not in words
    assert words.endswith(page_of(base, name))
    assert "Held back" not in told(found, base, "too-big-at-waist")


def test_chances_that_are_only_near_are_said_to_be_near_before_the_first(base: RuleBase, found: Diagnosis) -> None:
    near = told(replace(found, exact=False), base, "too-big-at-waist")
    assert near.index(NEARLY) < near.index("93% sure")
    assert NEARLY not in told(found, base, "too-big-at-waist")
    assert NEARLY not in told(replace(found, exact=False), base, "lower-underarm")  # no chance is told of it


@pytest.mark.parametrize(
    ("name", "what", "do"),
    [
        ("rides-up", "No cause or alteration is called 'rides-up'.", "Known: "),
        ("too-big-at-wast", "No cause or alteration is called 'too-big-at-wast'.", "Did you mean too-big-at-waist?"),
        ("lower-underam", "No cause or alteration is called 'lower-underam'.", "Did you mean lower-underarm?"),
        ("too-big-at-top", "This try-on says nothing of 'too-big-at-top'.", "Did you mean too-big-at-waist?"),
        ("release-hip", "This try-on says nothing of 'release-hip'.", "Known: "),
    ],
)
def test_what_is_not_in_the_plan_is_refused_and_what_is_in_it_is_offered(
    name: str, what: str, do: str, base: RuleBase, found: Diagnosis
) -> None:
    for way in (lambda: list(plain_lines(why_lines(found, base, name))), lambda: why_to_json(found, base, name)):
        with pytest.raises(FitError) as refused:
            way()
        (mistake,) = refused.value.mistakes
        assert (mistake.where, mistake.what) == ("--why", what)
        assert mistake.do.startswith(do)


def test_a_stopped_tryon_has_an_empty_plan(base: RuleBase) -> None:
    with pytest.raises(FitError, match=r"says nothing of 'release-hip'.*The plan is empty"):
        list(plain_lines(why_lines(stopped(base, answers(base)), base, "release-hip")))


def test_no_line_is_wider_than_eighty_columns(base: RuleBase, found: Diagnosis) -> None:
    near = replace(found, exact=False)
    for name in ("too-big-at-waist", "fold-out-in-panel", "lower-underarm"):
        assert max(map(len, lines_of(near, base, name))) <= 80


def test_the_same_as_data_holds_cause_step_and_what_is_held_back(base: RuleBase, found: Diagnosis) -> None:
    cause: dict[str, Any] = {
        "id": "too-big-at-waist", "probability": 0.93, "side": "both",
        "for": [
            {"symptom": "slides-down", "seen": True, "rule": "r", "weight": 6.0},
            {"question": "relaced-from-waist", "answer": "yes", "rule": "r", "weight": 2.5},
        ],
        "against": [{"symptom": "gap-narrowest-at-waist", "seen": False, "rule": "r", "weight": 1.4}],
    }  # fmt: skip
    step = {"id": "1.1", "alteration": "fold-out-in-panel", "why": "Too big at the waist."}
    held = {"alteration": "lower-underarm", "until": "the girth is settled", "because": "It drops now."}
    for name, wanted in (
        ("fold-out-in-panel", {"causes": [cause], "steps": [step], "held_back": []}),
        ("underarm-edge-too-high", {"causes": [], "steps": [], "held_back": [held]}),
    ):
        assert json.loads(json.dumps(why_to_json(found, base, name))) == {"id": name, **wanted}
