from __future__ import annotations

from collections.abc import Mapping, Sequence
from random import Random
from typing import Any

import pytest
from small_networks import posteriors

from diagnose.engine import asking
from diagnose.engine.asking import LEAST_GAIN, QuestionValue
from diagnose.errors import FitError
from diagnose.rulebase.compiling import Link, by_finding

PRIORS = {"low": 0.1, "narrow": 0.1, "stray": 0.015}
LEAKS = {"spill": 0.02, "ends-short": 0.05, "rubs": 0.15, "pokes": 0.15}
KNOWN = [Link("spill", "low", 0.75, "spill-low"), Link("spill", "narrow", 0.75, "spill-narrow")]
CANDIDATES = {
    "rubs": [Link("rubs", "low", 0.3, "rubs-low"), Link("rubs", "narrow", 0.3, "rubs-narrow")],
    "ends-short": [Link("ends-short", "low", 0.92, "short-low")],
    "pokes": [Link("pokes", "stray", 0.3, "pokes-stray")],
}


def next_questions(
    priors: Mapping[str, float],
    leaks: Mapping[str, float],
    links_if: Mapping[str, Sequence[Link]],
    links: Sequence[Link],
    present: Sequence[str],
    absent: Sequence[str],
    **how: Any,
) -> tuple[QuestionValue, ...]:
    found = posteriors(priors, leaks, links, present, absent)
    own = {finding: by_finding(given).get(finding, ()) for finding, given in links_if.items()}
    return asking.next_questions(found, own, **{"accept": 0.5, "lead_from": 0.15, "most": 3, **how})


def asked(present: Sequence[str], absent: Sequence[str] = (), *, exact: bool = True) -> tuple[QuestionValue, ...]:
    left = {finding: links for finding, links in CANDIDATES.items() if finding not in {*present, *absent}}
    known = [link for finding, links in CANDIDATES.items() if finding not in left for link in links]
    return next_questions(PRIORS, LEAKS, left, [*KNOWN, *known], present, absent, exact=exact)


@pytest.mark.parametrize("exact", [True, False])
def test_the_question_that_separates_two_tied_causes_comes_first(exact: bool) -> None:
    assert asked(["spill"], exact=exact)[0].finding == "ends-short"


@pytest.mark.parametrize("exact", [True, False])
def test_a_question_that_would_move_neither_cause_across_the_line_is_not_asked(exact: bool) -> None:
    assert "pokes" not in [question.finding for question in asked(["spill"], exact=exact)]


@pytest.mark.parametrize("exact", [True, False])
def test_nothing_is_asked_once_the_plan_is_settled(exact: bool) -> None:
    links = [*KNOWN, Link("ends-short", "low", 0.92, "short-low")]
    candidates = {"rubs": CANDIDATES["rubs"], "pokes": CANDIDATES["pokes"]}
    settled = posteriors(PRIORS, LEAKS, links, ["spill", "ends-short"], []).probability
    assert settled["low"] > 0.9
    assert settled["narrow"] < 0.2
    assert next_questions(PRIORS, LEAKS, candidates, links, ["spill", "ends-short"], [], exact=exact) == ()


def test_with_no_candidates_nothing_is_asked() -> None:
    assert next_questions(PRIORS, LEAKS, {}, KNOWN, ["spill"], []) == ()


def test_a_candidate_already_known_is_passed_over() -> None:
    questions = next_questions(PRIORS, LEAKS, CANDIDATES, KNOWN, ["spill"], ["ends-short"], accept=0.6)
    assert "ends-short" not in [question.finding for question in questions]


def test_the_gain_of_a_question_worked_by_hand() -> None:
    # One cause at 0.4, one candidate: seen, 0.4 * (1 - 0.9 * 0.2) = 0.328 against 0.6 * 0.1 = 0.06.
    links = {"f": [Link("f", "a", 0.8, "r")]}
    (question,) = next_questions({"a": 0.4}, {"f": 0.1}, links, [], [], [], accept=0.5, lead_from=0.15)
    likely, seen, missed = 0.388, 0.328 / 0.388, 0.072 / 0.612
    accepted = likely * (seen - 0.5)
    lead = likely * seen + (1.0 - likely) * 0.15 - 0.4
    assert question.likely == pytest.approx(likely)
    assert question.gain == pytest.approx(accepted + lead)
    assert question.value == pytest.approx(question.gain + 0.05 * (likely * (seen - 0.4) + 0.612 * (0.4 - missed)))


def test_a_cause_that_matters_more_is_asked_about_first() -> None:
    priors, leaks = {"a": 0.3, "b": 0.3}, {"f": 0.05, "g": 0.05}
    links = {"f": [Link("f", "a", 0.7, "r")], "g": [Link("g", "b", 0.7, "s")]}
    matters: Mapping[str, float]
    for matters, first in (({"b": 3.0}, "g"), ({"a": 3.0}, "f")):
        assert next_questions(priors, leaks, links, [], [], [], matters=matters)[0].finding == first


def test_what_all_causes_count_for_scales_the_gain() -> None:
    priors, leaks = {"a": 0.4, "b": 0.3}, {"f": 0.05}
    links = {"f": [Link("f", "a", 0.7, "r"), Link("f", "b", 0.4, "s")]}
    for exact in (True, False):
        (once,) = next_questions(priors, leaks, links, [], [], [], lead_from=0.0, exact=exact)
        twice = next_questions(
            priors, leaks, links, [], [], [], lead_from=0.0, exact=exact, matters={"a": 2.0, "b": 2.0}
        )
        assert twice[0].gain == pytest.approx(2.0 * once.gain)
        assert twice[0].value == pytest.approx(2.0 * once.value)


def test_several_links_of_a_candidate_and_a_cause_combine() -> None:
    priors, leaks = {"a": 0.3}, {"f": 0.05}
    halves = {"f": [Link("f", "a", 0.5, "r"), Link("f", "a", 0.6, "s")]}
    for exact in (True, False):
        (question,) = next_questions(priors, leaks, halves, [], [], [], exact=exact)
        (expected,) = next_questions(priors, leaks, {"f": [Link("f", "a", 0.8, "r")]}, [], [], [], exact=exact)
        assert (question.likely, question.gain) == pytest.approx((expected.likely, expected.gain))


def test_links_of_a_candidate_given_among_the_known_ones_do_not_count_twice() -> None:
    everything = [*KNOWN, *(link for links in CANDIDATES.values() for link in links)]
    questions = next_questions(PRIORS, LEAKS, CANDIDATES, everything, ["spill"], [])
    assert questions == next_questions(PRIORS, LEAKS, CANDIDATES, KNOWN, ["spill"], [])


def test_of_very_many_candidates_the_best_is_still_found() -> None:
    priors = {f"c{number}": 0.02 for number in range(60)} | {"target": 0.3}
    leaks = {f"f{number}": 0.05 for number in range(60)} | {"telling": 0.02}
    links_if = {f"f{number}": [Link(f"f{number}", f"c{number}", 0.5, "r")] for number in range(60)}
    links_if["telling"] = [Link("telling", "target", 0.9, "t")]
    assert next_questions(priors, leaks, links_if, [], [], [])[0].finding == "telling"


def test_equal_questions_are_in_order_of_their_ids_and_no_more_than_wanted() -> None:
    priors = {f"c{number}": 0.3 for number in range(5)}
    leaks = {f"f{number}": 0.05 for number in range(5)}
    links = {f"f{number}": [Link(f"f{number}", f"c{number}", 0.8, "r")] for number in (4, 2, 0, 3, 1)}
    for most in (2, 3):
        questions = next_questions(priors, leaks, links, [], [], [], most=most)
        assert [question.finding for question in questions] == ["f0", "f1", "f2"][:most]


def random_chain(seed: int) -> tuple[dict[str, float], dict[str, float], list[Link]]:
    """Causes that share no finding but the candidate's own: there the closed form is exact."""
    random = Random(seed)
    priors = {f"c{number}": random.uniform(0.02, 0.4) for number in range(6)}
    leaks = {f"f{number}": random.uniform(0.02, 0.15) for number in range(12)}
    links = [Link(f"f{number}", f"c{number}", random.uniform(0.3, 0.9), "r") for number in range(6)]
    for number in range(6, 12):
        causes = random.sample(sorted(priors), 2)
        links += [Link(f"f{number}", cause, random.uniform(0.1, 0.9), "r") for cause in causes]
    return priors, leaks, links


def test_the_quick_form_is_the_exact_one_where_causes_are_independent() -> None:
    compared = 0
    for seed in range(40):
        priors, leaks, links = random_chain(seed)
        known = [link for link in links if int(link.finding[1:]) < 6]
        links_if = {f"f{n}": [link for link in links if link.finding == f"f{n}"] for n in range(6, 12)}
        case = (priors, leaks, links_if, known, ["f0", "f1", "f2"], ["f3", "f4"])
        exact, quick = (next_questions(*case, most=6, exact=exact) for exact in (True, False))
        assert [one.finding for one in exact] == [one.finding for one in quick]
        for one, other in zip(exact, quick, strict=True):
            assert (one.likely, one.gain, one.value) == pytest.approx((other.likely, other.gain, other.value), abs=1e-9)
        compared += len(exact)
    assert compared > 40


def test_the_quick_form_mostly_chooses_the_same_question_when_causes_share_findings() -> None:
    same = total = 0
    for seed in range(60):
        priors, leaks, links = random_chain(seed)
        seen = ["f6", "f7", "f0"]
        links_if = {f: [link for link in links if link.finding == f] for f in sorted(leaks) if f not in seen}
        known = [link for link in links if link.finding in seen]
        exact, quick = (
            next_questions(priors, leaks, links_if, known, seen, [], exact=exact) for exact in (True, False)
        )
        if exact:
            total += 1
            same += exact[0].finding in [one.finding for one in quick]
    assert total > 30
    assert same >= 0.85 * total


def test_a_gain_is_what_the_plan_is_worth_over_both_answers() -> None:
    for seed in range(20):
        priors, leaks, links = random_chain(seed)
        links_if = {"f8": [link for link in links if link.finding == "f8"]}
        seen = ["f6", "f7"]

        def worth(present: Sequence[str], absent: Sequence[str]) -> float:
            chances = posteriors(priors, leaks, links, present, absent).probability.values()  # noqa: B023
            return max(0.15, *chances) + sum(max(0.0, chance - 0.5) for chance in chances)

        likely = posteriors(priors, leaks, links, [*seen, "f8"], []).expected("f8")
        gain = likely * worth([*seen, "f8"], []) + (1.0 - likely) * worth(seen, ["f8"]) - worth(seen, [])
        known = [link for link in links if link.finding in seen]
        questions = next_questions(priors, leaks, links_if, known, seen, [])
        assert (questions == ()) is (gain < LEAST_GAIN)
        if questions:
            assert questions[0].gain == pytest.approx(gain, abs=1e-9)


def test_the_order_in_which_candidates_are_given_changes_nothing() -> None:
    backwards = dict(reversed(list(CANDIDATES.items())))
    one = next_questions(PRIORS, LEAKS, CANDIDATES, KNOWN, ["spill"], [])
    assert next_questions(PRIORS, LEAKS, backwards, KNOWN[::-1], ["spill"], []) == one


def test_a_candidate_without_a_leak_or_with_links_of_another_is_refused() -> None:
    found = posteriors(PRIORS, LEAKS, KNOWN, ["spill"], [])
    with pytest.raises(FitError) as refused:
        asking.next_questions(
            found, {"rubz": (), "pokes": tuple(CANDIDATES["rubs"])}, accept=0.5, lead_from=0.15, most=3
        )
    assert len(refused.value.mistakes) == 3
    assert "Did you mean rubs?" in str(refused.value)


@pytest.mark.parametrize("exact", [True, False])
def test_a_question_that_moves_no_deciding_cause_across_the_line_is_dropped(exact: bool) -> None:
    # f would settle a, g would settle b; only b decides what is done now.
    priors, leaks = {"a": 0.4, "b": 0.4}, {"f": 0.05, "g": 0.05}
    links = {"f": [Link("f", "a", 0.9, "r")], "g": [Link("g", "b", 0.8, "s")]}
    asked_for: Mapping[tuple[str, ...] | None, list[str]] = {
        None: ["f", "g"], ("a", "b"): ["f", "g"], ("b",): ["g"], ("a",): ["f"], (): [],
    }  # fmt: skip
    for deciding, findings in asked_for.items():
        questions = next_questions(priors, leaks, links, [], [], [], deciding=deciding, exact=exact)
        assert [question.finding for question in questions] == findings


def test_dropped_questions_make_room_for_the_next_best() -> None:
    priors = {f"c{number}": 0.3 for number in range(6)}
    leaks = {f"f{number}": 0.05 for number in range(6)}
    links = {f"f{number}": [Link(f"f{number}", f"c{number}", 0.8, "r")] for number in range(6)}
    questions = next_questions(priors, leaks, links, [], [], [], deciding={"c3", "c4", "c5"}, most=2)
    assert [question.finding for question in questions] == ["f3", "f4"]
