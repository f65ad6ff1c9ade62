"""Nearly the chances of one island that is too large to be swept: messages passed between its findings and causes.

Loopy belief propagation on the noisy-OR network (Pearl, "Probabilistic Reasoning in Intelligent Systems", 1988; on
networks of this form: Murphy, Weiss and Jordan, "Loopy belief propagation for approximate inference", UAI 1999). A
finding tells each cause how much likelier it shows with the cause than without, given what all the others tell of its
other causes. Exact where no ring of findings and causes closes; elsewhere near, since it counts some evidence twice.
Damped by half, in a fixed order and for a bounded number of rounds, so the same findings always come to the same.

How near: on the bundled rules, with 6 to 24 findings drawn at random where both ways run, half of all chances lie
within 0.002 of the exact ones and nine in ten within 0.035; of chances of 0.15 or more, half within 0.025 and nine in
ten within 0.12, the worst 0.44 off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import exp, log

from diagnose.engine.inference.islands import Island
from diagnose.engine.inference.sweep import Pair
from diagnose.rulebase.compiling import Link, either

__all__ = ["Messages"]

MOST_ROUNDS = 100
SETTLED = 1e-6
"""The rounds end when no message changes by more than this (a natural logarithm of odds)."""
DAMPING = 0.5
SUREST = 600.0
"""Odds are cut off at e to the power of this, either way."""

_Told = list[list[float]]


class Messages:
    """What the findings of an island say of its causes, nearly; used as `Sweep` is.

    Attributes:
        island, chances: as given.
        findings: the present findings of the island.
        masses: of each cause of the island, the chances that it is not there and there, given all findings.
    """

    exact = False

    def __init__(self, island: Island, chances: Mapping[str, float], leaks: Mapping[str, float]) -> None:
        self.island, self.chances = island, chances
        self.findings = island.findings
        self._leaks = [leaks[finding] for finding in island.findings]
        self._told: _Told = [[0.0] * len(links) for links in island.links]
        self._odds = {link.cause: _log_odds(chances[link.cause]) for links in island.links for link in links}
        for _ in range(MOST_ROUNDS):
            if self._round() < SETTLED:
                break
        self.masses = {cause: _pair(odds) for cause, odds in self._odds.items()}

    def expected(self, finding: str) -> float:
        """The chance of a present finding, given all the others."""
        place = self.island.findings.index(finding)
        shows = self._leaks[place]
        for chance in self._shown(place):
            shows = either(shows, chance)
        return shows

    def without(self, cause: str) -> Iterator[tuple[str, Pair]]:
        """For each present finding of a cause, the masses of the cause had the finding not been known."""
        for finding, links, told in zip(self.island.findings, self.island.links, self._told, strict=True):
            for link, message in zip(links, told, strict=True):
                if link.cause == cause:
                    yield finding, _pair(self._odds[cause] - message)

    def absent_ratio(self, absent: Link, chances: Mapping[str, float]) -> float:
        """The odds of a cause over what they would be, were an absent finding not known: by its own link alone."""
        return 1.0 - absent.strength

    def _round(self) -> float:
        """Let each finding tell its causes anew; the largest change."""
        most = 0.0
        for place, links in enumerate(self.island.links):
            told = self._told[place]
            fresh = _tell(self._leaks[place], links, self._shown(place))
            for number, link in enumerate(links):
                change = DAMPING * (fresh[number] - told[number])
                told[number] += change
                self._odds[link.cause] += change
                most = max(most, abs(change))
        return most

    def _shown(self, place: int) -> list[float]:
        """By cause of a finding, the chance that it is there and shows it, by all that the others tell."""
        return [
            link.strength / (1.0 + exp(min(SUREST, message - self._odds[link.cause])))
            for link, message in zip(self.island.links[place], self._told[place], strict=True)
        ]


def _tell(leak: float, links: Sequence[Link], shown: Sequence[float]) -> list[float]:
    """By cause, how much likelier the finding is with it than without, as a logarithm."""
    before, shows = [], leak
    for chance in shown:
        before.append(shows)
        shows = either(shows, chance)
    after, told = 0.0, [0.0] * len(links)
    for number in reversed(range(len(links))):
        others = either(before[number], after)
        told[number] = log(either(others, links[number].strength) / others)
        after = either(after, shown[number])
    return told


def _log_odds(chance: float) -> float:
    return max(-SUREST, log(chance / (1.0 - chance))) if chance else -SUREST


def _pair(odds: float) -> Pair:
    odds = max(-SUREST, min(SUREST, odds))
    return 1.0 / (1.0 + exp(odds)), 1.0 / (1.0 + exp(-odds))
