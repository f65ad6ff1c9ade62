"""Posteriors against pyAgrum's exact inference (LazyPropagation, an independent Bayesian network library).

`addNoisyORNet` is the form meant here, 1 - (1 - leak) * prod(1 - strength); `addNoisyOR` is another (compound) form.
DIAGNOSE_LONG=N makes N times as many networks and try-ons.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from random import Random

import pytest
from small_networks import posteriors

from diagnose.engine.findings import find_sides
from diagnose.gap.reading import read_gap
from diagnose.model.tryon import TryOn
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link
from diagnose.rulebase.neutral import Matcher

TIMES = int(os.environ.get("DIAGNOSE_LONG", "1"))


def by_pyagrum(
    priors: Mapping[str, float],
    leaks: Mapping[str, float],
    links: Sequence[Link],
    present: Sequence[str],
    absent: Sequence[str],
) -> dict[str, float]:
    # Where it is installed and what it rests on is not (libgomp), it is not there either.
    gum = pytest.importorskip("pyagrum", exc_type=ImportError)
    net = gum.BayesNet()
    for cause in priors:
        net.add(gum.LabelizedVariable(cause, cause, 2))
    for finding, leak in leaks.items():
        net.addNoisyORNet(gum.LabelizedVariable(finding, finding, 2), leak)
    for link in links:
        net.addWeightedArc(link.cause, link.finding, link.strength)
    for cause, prior in priors.items():
        net.cpt(cause).fillWith([1.0 - prior, prior])
    inference = gum.LazyPropagation(net)
    inference.setEvidence({**dict.fromkeys(present, 1), **dict.fromkeys(absent, 0)})
    inference.makeInference()
    return {cause: float(inference.posterior(cause)[1]) for cause in priors}


def random_case(
    random: Random, causes: int, findings: int, density: float
) -> tuple[dict[str, float], dict[str, float], list[Link], list[str], list[str]]:
    priors = {f"c{number}": random.uniform(0.005, 0.6) for number in range(causes)}
    leaks = {f"f{number}": random.uniform(0.005, 0.3) for number in range(findings)}
    links = [
        Link(finding, cause, random.uniform(0.05, 0.95), "r")
        for finding in leaks
        for cause in priors
        if random.random() < density
    ]
    names = random.sample(list(leaks), findings)
    first, second = sorted(random.choices(range(findings + 1), k=2))
    return priors, leaks, links, names[:first], names[first:second]


def test_pyagrum_means_the_same_by_noisy_or() -> None:
    # by hand: 0.1 * (1 - 0.95 * 0.5) against 0.9 * 0.05
    found = by_pyagrum({"a": 0.1}, {"f": 0.05}, [Link("f", "a", 0.5, "r")], ["f"], [])
    assert found["a"] == pytest.approx(0.0525 / (0.0525 + 0.045), abs=1e-12)


def test_two_thousand_random_networks_agree() -> None:
    random = Random(20)
    for number in range(2000 * TIMES):
        case = random_case(random, random.randint(1, 7), random.randint(1, 7), random.choice([0.2, 0.4, 0.8]))
        found = posteriors(*case).probability
        assert found == pytest.approx(by_pyagrum(*case), abs=1e-9), f"network {number}"


def test_larger_networks_agree() -> None:
    random = Random(21)
    for number in range(40 * TIMES):
        case = random_case(random, 25, 16, 0.12)
        assert posteriors(*case).probability == pytest.approx(by_pyagrum(*case), abs=1e-9), f"network {number}"


def test_leaving_a_finding_out_agrees() -> None:
    random = Random(22)
    for _ in range(100):
        priors, leaks, links, present, absent = random_case(random, 6, 7, 0.4)
        found = posteriors(priors, leaks, links, present, absent)
        now = by_pyagrum(priors, leaks, links, present, absent)
        for finding in (*present, *absent):
            fewer = [[other for other in known if other != finding] for known in (present, absent)]
            then = by_pyagrum(priors, leaks, links, *fewer)
            for cause in (link.cause for link in links if link.finding == finding):
                odds = [chances[cause] / (1.0 - chances[cause]) for chances in (now, then)]
                assert found.odds_ratios(cause)[finding] == pytest.approx(odds[0] / odds[1], rel=1e-9)


def test_try_ons_on_the_bundled_rules_agree(base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]) -> None:
    """Signs and answers drawn at random, up to fifteen seen and as many missed, on the causes of the bundled rules."""
    random = Random(23)
    signs = sorted(base.entries.symptoms.keys() - base.derived - base.stop_flags)
    for number in range(40 * TIMES):
        drawn = random.sample(signs, random.randint(2, 15))
        known = {name: random.random() < 0.5 for name in random.sample(sorted(base.entries.questions), 4)}
        gap = {station: random.choice(["1 in", "2 in", "3 1/2 in"]) for station in ("top", "waist", "bottom")}
        tryon = make_tryon(gap=gap, target="2 in", seen={name: random.random() < 0.5 for name in drawn}, known=known)
        found = find_sides(tryon, read_gap(tryon, base.settings), base, matcher)["left"]
        given = found.chances.given
        leaks = {name: given.network.leaks[name] for name in (*given.present, *given.absent)}
        links = [link for name in leaks for link in given.links.get(name, ())]
        theirs = by_pyagrum(given.network.priors, leaks, links, given.present, given.absent)
        assert found.chances.exact
        assert found.chances.probability == pytest.approx(theirs, abs=1e-9), f"try-on {number}"
