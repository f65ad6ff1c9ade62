"""Messages passed to and fro, where an island is too large to be swept: near the exact chances, always an answer."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Sequence
from random import Random
from statistics import median

import pytest

from diagnose.engine.inference import noisy_or
from diagnose.engine.inference.noisy_or import Links, Posteriors, posteriors
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link, by_finding
from diagnose.rulebase.network import Network, network


@pytest.fixture
def by_messages(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let every island be too large to be swept."""
    with monkeypatch.context() as patched:
        patched.setattr(noisy_or, "MOST_ENTRIES", -1)
        yield


def full_network(findings: int, causes: int) -> tuple[Network, Links]:
    """Every cause shows every finding: nothing larger to sweep."""
    priors = {f"c{number}": 0.02 + 0.15 * number / causes for number in range(causes)}
    leaks = {f"f{number}": 0.05 for number in range(findings)}
    random = Random(1)
    links = [Link(finding, cause, random.uniform(0.1, 0.9), "r") for finding in leaks for cause in priors]
    return network(priors, leaks), by_finding(links)


def tree(seed: int) -> tuple[Network, Links, list[str], list[str]]:
    """Findings and causes in which no ring closes: each finding after the first ties new causes to one before."""
    random = Random(seed)
    causes, links = ["c0"], []
    for number in range(6):
        fresh = [f"c{len(causes) + more}" for more in range(random.randint(1, 2))]
        tied = [random.choice(causes), *fresh]
        causes += fresh
        links += [Link(f"f{number}", cause, random.uniform(0.1, 0.95), "r") for cause in tied]
    links.append(Link("g", "c1", 0.5, "g"))
    priors = {cause: random.uniform(0.02, 0.4) for cause in causes}
    leaks = {f"f{number}": random.uniform(0.02, 0.2) for number in range(6)} | {"g": 0.1}
    return network(priors, leaks), by_finding(links), [f"f{number}" for number in range(6)], ["g"]


def bundled_links(base: RuleBase) -> Links:
    return by_finding(link for links in base.links.values() for link in links)


def likely_findings(base: RuleBase, links: Links, random: Random, wanted: int) -> list[str]:
    """Findings drawn for three hidden causes, those first that they show most often."""
    hidden = random.sample(sorted(base.priors), 3)
    shows = {
        finding: 1.0 - (1.0 - base.leaks[finding]) * math.prod(1.0 - li.strength for li in own if li.cause in hidden)
        for finding, own in links.items()
    }
    return sorted(shows, key=lambda finding: -shows[finding] * random.random())[:wanted]


@pytest.mark.usefixtures("by_messages")
def test_where_no_ring_closes_messages_are_exact(monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in range(20):
        near = posteriors(*tree(seed))
        with monkeypatch.context() as patched:
            patched.setattr(noisy_or, "MOST_ENTRIES", 1 << 15)
            exact = posteriors(*tree(seed))
        assert (near.exact, exact.exact) == (False, True)
        assert near.probability == pytest.approx(exact.probability, abs=1e-5)
        assert near.expected("f0") == pytest.approx(exact.expected("f0"), abs=1e-5)
        for cause in near.probability:
            assert near.odds_ratios(cause).keys() == exact.odds_ratios(cause).keys()
            for finding, ratio in near.odds_ratios(cause).items():
                if finding != "g":
                    assert ratio == pytest.approx(exact.odds_ratios(cause)[finding], rel=1e-4)


def test_on_the_bundled_rules_messages_are_mostly_near_the_exact_chances(
    base: RuleBase, monkeypatch: pytest.MonkeyPatch
) -> None:
    links, random = bundled_links(base), Random(7)
    errors: list[float] = []
    shown: list[float] = []
    for wanted in (4, 6, 8, 10, 12, 14) * 4:
        present = likely_findings(base, links, random, wanted)
        exact = posteriors(base.network, links, present, [])
        assert exact.exact
        with monkeypatch.context() as patched:
            patched.setattr(noisy_or, "MOST_ENTRIES", -1)
            near = posteriors(base.network, links, present, [])
        assert not near.exact
        for cause, chance in exact.probability.items():
            if any(cause in island.masses for island in exact.islands):
                errors.append(abs(chance - near.probability[cause]))
                if chance >= 0.15:
                    shown.append(errors[-1])
    assert median(errors) < 0.005
    assert median(shown) < 0.04
    assert sorted(shown)[int(0.9 * len(shown))] < 0.2


def test_findings_without_number_that_share_causes_are_answered_and_said_to_be_near() -> None:
    net, links = full_network(40, 40)
    found = posteriors(net, links, list(net.leaks), [])
    assert not found.exact
    assert all(net.priors[cause] <= chance <= 1.0 for cause, chance in found.probability.items())
    ratios = found.odds_ratios("c39")
    assert set(ratios) == set(net.leaks)
    assert all(math.isfinite(ratio) and ratio > 0.0 for ratio in ratios.values())


def test_an_exact_island_stays_exact_beside_a_large_one() -> None:
    net, links = full_network(40, 40)
    both = network({**net.priors, "alone": 0.1}, {**net.leaks, "g": 0.05})
    found = posteriors(both, {**links, "g": (Link("g", "alone", 0.8, "r"),)}, [*net.leaks, "g"], [])
    assert not found.exact
    assert found.probability["alone"] == pytest.approx(0.1 * 0.81 / (0.1 * 0.81 + 0.9 * 0.05), abs=1e-12)


@pytest.mark.usefixtures("by_messages")
def test_the_same_findings_always_come_to_the_same_in_whatever_order() -> None:
    net, links = full_network(9, 7)
    expected = posteriors(net, links, list(net.leaks), []).probability
    for seed in range(5):
        shuffled = Random(seed).sample(list(net.leaks), len(net.leaks))
        assert posteriors(net, links, shuffled, []).probability == expected


@pytest.mark.usefixtures("by_messages")
def test_causes_ruled_out_or_sure_to_show_give_finite_numbers() -> None:
    links = by_finding([Link("f", "a", 1.0, "r"), Link("f", "b", 1.0, "r"), Link("g", "a", 1.0, "r"),
                        Link("g", "b", 0.0, "r"), Link("h", "b", 1.0, "r")])  # fmt: skip
    found = posteriors(network({"a": 0.0, "b": 0.99}, {"f": 1e-9, "g": 1e-9, "h": 0.5}), links, ["f", "g"], ["h"])
    assert found.probability["a"] == pytest.approx(0.0, abs=1e-9)
    assert all(math.isfinite(ratio) for cause in "ab" for ratio in found.odds_ratios(cause).values())


def fastest(given: Network, links: Links, present: Sequence[str]) -> tuple[float, Posteriors]:
    best = math.inf
    for _ in range(3):
        start = time.process_time()
        found = posteriors(given, links, present, [])
        best = min(best, time.process_time() - start)
    return best, found


def test_sixty_findings_of_the_bundled_rules_are_answered_within_a_fifth_of_a_second(base: RuleBase) -> None:
    links = bundled_links(base)
    for seed in range(3):
        taken, found = fastest(base.network, links, likely_findings(base, links, Random(seed), 60))
        assert not found.exact
        assert taken < 0.2
