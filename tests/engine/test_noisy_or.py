from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from itertools import permutations, product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_networks import posteriors

from diagnose.engine.inference.noisy_or import Posteriors
from diagnose.errors import FitError
from diagnose.rulebase.compiling import Link, by_finding
from diagnose.rulebase.network import network

Odds = dict[str, tuple[float, float]]
Drawn = tuple[dict[str, float], dict[str, float], list[Link]]


def all_ratios(found: Posteriors) -> dict[tuple[str, str], float]:
    return {
        (cause, finding): ratio for cause in found.probability for finding, ratio in found.odds_ratios(cause).items()
    }


def masses_by_enumeration(
    priors: Mapping[str, float],
    leaks: Mapping[str, float],
    links: Sequence[Link],
    present: Sequence[str],
    absent: Sequence[str],
) -> tuple[Odds, float]:
    """The definition, term by term: of each cause the mass without it and with it, and the chance of the evidence."""
    off, on, total = dict.fromkeys(priors, 0.0), dict.fromkeys(priors, 0.0), 0.0
    for there in product((False, True), repeat=len(priors)):
        held = {cause for cause, is_there in zip(priors, there, strict=True) if is_there}
        mass = math.prod(prior if cause in held else 1.0 - prior for cause, prior in priors.items())
        for finding in (*present, *absent):
            misses = (1.0 - link.strength for link in links if link.finding == finding and link.cause in held)
            miss = (1.0 - leaks[finding]) * math.prod(misses)
            mass *= miss if finding in absent else 1.0 - miss
        total += mass
        for cause in priors:
            (on if cause in held else off)[cause] += mass
    return {cause: (off[cause], on[cause]) for cause in priors}, total


def sparse_network(seed: int, findings: int, causes: int, most_links: int, busy: int = 0) -> Drawn:
    """Each finding with two to `most_links` causes, a few causes eight times as busy as the others."""
    random = Random(seed)
    priors = {f"c{number}": random.uniform(0.01, 0.2) for number in range(causes)}
    leaks = {f"f{number}": random.uniform(0.01, 0.1) for number in range(findings)}
    weights = [8 if number < busy else 1 for number in range(causes)]
    links = []
    for finding in leaks:
        wanted, chosen = random.randint(2, most_links), set()
        while len(chosen) < wanted:
            chosen.update(random.choices(list(priors), weights))
        links += [Link(finding, cause, random.uniform(0.1, 0.95), f"{cause}->{finding}") for cause in sorted(chosen)]
    return priors, leaks, links


chances = st.one_of(st.sampled_from([0.0, 0.01, 0.5, 0.99]), st.floats(0.001, 0.97))
leak_chances = st.one_of(st.sampled_from([1e-6, 0.01, 0.05, 0.5]), st.floats(0.001, 0.9))


@st.composite
def cases(draw: st.DrawFn) -> tuple[dict[str, float], dict[str, float], list[Link], list[str], list[str]]:
    priors = {f"c{number}": draw(chances) for number in range(draw(st.integers(1, 8)))}
    leaks = {f"f{number}": draw(leak_chances) for number in range(draw(st.integers(1, 7)))}
    strengths = st.one_of(st.sampled_from([0.0, 1.0]), st.floats(0.01, 0.99))
    pairs = st.tuples(st.sampled_from(sorted(leaks)), st.sampled_from(sorted(priors)), strengths)
    links = [
        Link(finding, cause, strength, "r")
        for finding, cause, strength in draw(st.lists(pairs, min_size=draw(st.integers(0, 24)), max_size=24))
    ]
    answers = {finding: draw(st.sampled_from(["present", "present", "absent", "not known"])) for finding in leaks}
    known = {answer: [finding for finding in leaks if answers[finding] == answer] for answer in ("present", "absent")}
    return priors, leaks, links, known["present"], known["absent"]


def two_causes(present: Sequence[str], absent: Sequence[str] = ()) -> Posteriors:
    """Causes a (prior 0.1) and b (0.2); f shows by a at 0.5 and b at 0.8, g by a at 0.6; leaks 0.05 and 0.1."""
    links = [Link("f", "a", 0.5, "af"), Link("f", "b", 0.8, "bf"), Link("g", "a", 0.6, "ag")]
    return posteriors({"a": 0.1, "b": 0.2}, {"f": 0.05, "g": 0.1}, links, present, absent)


def test_with_nothing_known_each_cause_keeps_its_prior() -> None:
    found = two_causes([])
    assert found.probability == pytest.approx({"a": 0.1, "b": 0.2}, abs=1e-15)
    assert all_ratios(found) == {}


def test_one_finding_and_one_cause_worked_by_hand() -> None:
    # 0.1 * (1 - 0.9 * 0.4) = 0.064 against 0.9 * 0.1 = 0.09
    found = two_causes(["g"])
    assert found.probability["a"] == pytest.approx(0.064 / 0.154, abs=1e-15)
    assert found.odds_ratios("a")["g"] == pytest.approx((0.064 / 0.09) / (0.1 / 0.9), rel=1e-12)
    assert found.expected("g") == pytest.approx(0.154, abs=1e-15)


def test_two_causes_of_one_finding_worked_by_hand() -> None:
    # none 0.72 * 0.05, a alone 0.08 * (1 - 0.95 * 0.5), b alone 0.18 * (1 - 0.95 * 0.2), both 0.02 * (1 - 0.95 * 0.1)
    none, a, b, both = 0.72 * 0.05, 0.08 * 0.525, 0.18 * 0.81, 0.02 * 0.905
    total = none + a + b + both
    found = two_causes(["f"]).probability
    assert found == pytest.approx({"a": (a + both) / total, "b": (b + both) / total}, abs=1e-15)


def test_a_finding_explained_by_one_cause_speaks_less_for_the_other() -> None:
    alone, explained = two_causes(["f"]), two_causes(["f", "g"])
    assert explained.probability["a"] > alone.probability["a"]
    assert explained.probability["b"] < alone.probability["b"]


def test_a_finding_looked_for_and_absent_counts_against_its_cause() -> None:
    found = two_causes([], ["g"])
    assert found.probability["a"] == pytest.approx(0.04 / 0.94, abs=1e-15)
    assert found.odds_ratios("a")["g"] == pytest.approx(0.4, rel=1e-12)
    assert found.probability["b"] == pytest.approx(0.2, abs=1e-15)


def test_an_absent_finding_is_not_the_same_as_one_not_known() -> None:
    assert two_causes(["f"], ["g"]).probability["a"] < two_causes(["f"]).probability["a"]


def test_an_absent_finding_of_two_causes_that_share_another_moves_them_together() -> None:
    links = [Link("f", "a", 0.8, "fa"), Link("f", "b", 0.8, "fb"), Link("g", "a", 0.9, "ga"), Link("g", "b", 0.3, "gb")]
    case = ({"a": 0.1, "b": 0.1}, {"f": 0.02, "g": 0.05}, links)
    found = posteriors(*case, ["f"], ["g"])
    (off, on), (off_then, on_then) = (masses_by_enumeration(*case, ["f"], known)[0]["b"] for known in (["g"], []))
    assert found.odds_ratios("b")["g"] == pytest.approx((on / off) / (on_then / off_then), rel=1e-12)
    assert found.odds_ratios("b")["g"] > 1.0


def test_several_links_of_one_finding_and_cause_combine_as_noisy_or() -> None:
    priors, leaks = {"a": 0.3}, {"f": 0.05}
    twice = posteriors(priors, leaks, [Link("f", "a", 0.5, "r"), Link("f", "a", 0.4, "s")], ["f"], [])
    once = posteriors(priors, leaks, [Link("f", "a", 0.7, "r")], ["f"], [])
    assert twice.probability["a"] == pytest.approx(once.probability["a"], abs=1e-15)


@settings(max_examples=300, deadline=None)
@given(cases())
def test_posteriors_are_those_of_enumeration(
    case: tuple[dict[str, float], dict[str, float], list[Link], list[str], list[str]],
) -> None:
    priors, leaks, links, present, absent = case
    found = posteriors(*case)
    masses, total = masses_by_enumeration(*case)
    for cause, (off, on) in masses.items():
        assert found.probability[cause] == pytest.approx(on / (off + on), abs=1e-9)
    for finding in present:
        others = [other for other in present if other != finding]
        without = masses_by_enumeration(priors, leaks, links, others, absent)[1]
        assert found.expected(finding) == pytest.approx(total / without, abs=1e-9)


@settings(max_examples=150, deadline=None)
@given(cases())
def test_odds_ratios_are_those_of_leaving_each_finding_out(
    case: tuple[dict[str, float], dict[str, float], list[Link], list[str], list[str]],
) -> None:
    priors, leaks, links, present, absent = case
    found = posteriors(*case)
    masses, _ = masses_by_enumeration(*case)
    known = {*present, *absent}
    assert set(all_ratios(found)) == {(link.cause, link.finding) for link in links if link.finding in known}
    for (cause, finding), ratio in all_ratios(found).items():
        fewer = [[other for other in findings if other != finding] for findings in (present, absent)]
        (off, on), (off_then, on_then) = masses[cause], masses_by_enumeration(priors, leaks, links, *fewer)[0][cause]
        if on_then:
            assert ratio == pytest.approx((on / off) / (on_then / off_then), rel=1e-9, abs=1e-12)


def test_eight_and_twelve_findings_at_once_are_those_of_enumeration() -> None:
    for seed in range(6):
        priors, leaks, links = sparse_network(seed, 12, 11, 5)
        findings = list(leaks)
        for present, absent in ((findings[:8], findings[8:]), (findings, [])):
            found = posteriors(priors, leaks, links, present, absent).probability
            masses, _ = masses_by_enumeration(priors, leaks, links, present, absent)
            assert found == pytest.approx({cause: on / (off + on) for cause, (off, on) in masses.items()}, abs=1e-12)


def test_tiny_leaks_and_many_findings_lose_no_digits() -> None:
    # Twelve findings of leak 1e-6 that one cause explains: the signed subset sums would cancel to nothing.
    findings = [f"f{number}" for number in range(12)]
    links = [
        Link(finding, cause, strength, "r") for finding in findings for cause, strength in (("a", 0.5), ("b", 0.4))
    ]
    case = ({"a": 1e-6, "b": 1e-7}, dict.fromkeys(findings, 1e-6), links, findings, [])
    masses, _ = masses_by_enumeration(*case)
    found = posteriors(*case).probability
    for cause, (off, on) in masses.items():
        assert found[cause] == pytest.approx(on / (off + on), rel=1e-9)


def test_ninety_findings_that_only_leaks_explain_do_not_vanish() -> None:
    findings = [f"f{number}" for number in range(90)]
    links = [Link(finding, f"c{number % 3}", 1e-9, "r") for number, finding in enumerate(findings)]
    links += [Link(finding, f"c{(number + 1) % 3}", 1e-9, "r") for number, finding in enumerate(findings)]
    priors = {"c0": 0.1, "c1": 0.1, "c2": 0.1}
    found = posteriors(priors, dict.fromkeys(findings, 1e-9), links, findings, [])
    assert found.probability == pytest.approx(dict.fromkeys(priors, 1.0), abs=1e-9)
    assert all(math.isfinite(ratio) for ratio in all_ratios(found).values())


def test_the_order_of_findings_and_links_changes_nothing() -> None:
    priors, leaks, links = sparse_network(3, 9, 12, 4)
    findings = list(leaks)
    expected = posteriors(priors, leaks, links, findings[:6], findings[6:])
    for turn in permutations(range(3)):
        random = Random(turn[0] * 9 + turn[1])
        shuffled = [random.sample(part, len(part)) for part in (links, findings[:6], findings[6:])]
        found = posteriors(priors, leaks, *shuffled)
        assert (found.probability, found.exact) == (expected.probability, expected.exact)
        assert all_ratios(found) == all_ratios(expected)


def test_findings_not_known_and_repeated_ones_change_nothing() -> None:
    priors, leaks, links = sparse_network(4, 6, 8, 4)
    known = [link for link in links if link.finding in {"f0", "f1", "f2"}]
    expected = posteriors(priors, leaks, known, ["f0", "f1"], ["f2"])
    found = posteriors(priors, leaks, links, ["f1", "f0", "f1"], ["f2", "f2"])
    assert (found.probability, found.exact) == (expected.probability, expected.exact)


def test_a_cause_that_would_surely_have_shown_is_ruled_out() -> None:
    links = [Link("f", "a", 1.0, "r"), Link("g", "a", 0.5, "s"), Link("g", "b", 0.5, "t")]
    found = posteriors({"a": 0.4, "b": 0.1}, {"f": 0.1, "g": 0.1}, links, ["g"], ["f"])
    assert found.probability["a"] == 0.0
    assert found.odds_ratios("a")["f"] == 0.0
    assert found.probability["b"] > 0.1


def test_a_finding_present_by_its_leak_only_says_nothing() -> None:
    found = posteriors({"a": 0.3}, {"f": 0.2}, [], ["f"], [])
    assert found.probability == {"a": pytest.approx(0.3, abs=1e-15)}
    assert found.expected("f") == 0.2


def seconds(case: tuple[dict[str, float], dict[str, float], list[Link]], present: int) -> float:
    priors, leaks, links = case
    best = math.inf
    for _ in range(10):
        start = time.process_time()
        posteriors(priors, leaks, links, list(leaks)[:present], [])
        best = min(best, time.process_time() - start)
    return best


def test_twice_the_causes_do_not_square_the_time() -> None:
    # Enumeration would take 2 to the 40 times as long; the absent findings and the causes not touched cost little.
    few, many = sparse_network(7, 8, 40, 4), sparse_network(7, 8, 80, 4)
    assert seconds(many, 8) < 6.0 * seconds(few, 8)


def test_sixty_findings_are_weighed_in_less_time_than_ten_causes_by_enumeration() -> None:
    priors, leaks, links = sparse_network(0, 10, 10, 4)
    start = time.process_time()
    masses_by_enumeration(priors, leaks, links, list(leaks), [])
    by_enumeration = time.process_time() - start
    assert seconds(sparse_network(2, 60, 100, 4, busy=6), 60) < 10.0 * by_enumeration


def test_every_number_that_is_no_chance_is_said_at_once() -> None:
    with pytest.raises(FitError) as refused:
        network({"a": 1.0, "b": 0.1, "c": -0.1}, {"f": 0.0, "g": 0.5, "h": math.nan})
    assert [mistake.where for mistake in refused.value.mistakes] == ["cause a", "cause c", "finding f", "finding h"]
    with pytest.raises(FitError) as refused:
        by_finding([Link("f", "a", 1.5, "r1"), Link("f", "a", math.nan, "r2"), Link("f", "a", 0.5, "r3")])
    assert [mistake.where for mistake in refused.value.mistakes] == ["rule r1", "rule r2"]


def test_every_name_that_is_unknown_is_said_at_once() -> None:
    links = [Link("g", "too-bigg", 0.5, "r2"), Link("h", "long", 0.5, "r3")]
    with pytest.raises(FitError) as refused:
        posteriors({"a": 0.2, "too-big": 0.1}, {"g": 0.5}, links, ["g", "h"], ["g", "i"])
    said = str(refused.value)
    assert len(refused.value.mistakes) == 5
    for part in (
        "rule r2: cause 'too-bigg' has no prior. Did you mean too-big?",
        "rule r3: cause 'long' has no prior.",
        "finding h: it has no leak.",
        "finding i: it has no leak.",
        "finding g: it is both present and absent.",
    ):
        assert part in said


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.1, 1.0])
def test_a_leak_or_prior_that_is_no_chance_is_refused(bad: float) -> None:
    with pytest.raises(FitError, match="its leak is"):
        posteriors({"a": 0.1}, {"f": bad}, [], [], [])
    with pytest.raises(FitError, match="its prior is"):
        posteriors({"a": bad}, {"f": 0.1}, [], [], [])
