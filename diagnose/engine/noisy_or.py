"""Chances of causes from findings seen, looked for and not there, or not known: a noisy-OR network.

Causes stand above findings. Each cause has a prior; each link the chance that the cause alone shows the finding; each
finding a leak, the chance that it shows with no cause at all: P(f absent | causes) = (1 - leak) * prod(1 - strength)
over the causes present (the QMR-DT form; Heckerman, "A tractable inference algorithm for diagnosing multiple diseases",
UAI 1989). Findings not known are left out.

Absent findings factor, and go into the chances of their causes. Present findings and causes fall into islands that
share no link. Each island is swept exactly; one too large for that (forty findings and more that share causes) is
answered by messages passed to and fro, which is nearly right, and said so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from diagnose.engine.islands import Island, islands_of
from diagnose.engine.messages import Messages
from diagnose.engine.sweep import Sweep, odds_ratio
from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.compiling import Link

__all__ = ["LEAST_LEAK", "MOST_ENTRIES", "Links", "Posteriors", "posteriors"]

LEAST_LEAK = 1e-9
"""The smallest leak allowed: with less, a finding that no cause explains would be as good as impossible."""

MOST_ENTRIES = 1 << 16
"""The most table entries that a sweep may take: some twenty milliseconds' work."""

Links = Mapping[str, tuple[Link, ...]]
"""By finding, its links: one of each cause, sorted by cause."""


class Given(NamedTuple):
    """What chances are worked out from."""

    priors: Mapping[str, float]
    leaks: Mapping[str, float]
    links: Links
    present: Sequence[str]
    absent: Sequence[str]


@dataclass(frozen=True)
class Posteriors:
    """What the evidence says of each cause.

    Attributes:
        probability: of each cause, the chance (0 to 1) that it is present, given all findings.
        exact: whether every chance is exact; otherwise those of some island are only near.
        given: the priors, leaks, links and findings it was worked out from.
    """

    probability: Mapping[str, float]
    exact: bool
    given: Given = field(repr=False, compare=False)
    chances: Mapping[str, float] = field(repr=False, compare=False)
    """Of each cause, the chance with the absent findings only."""
    islands: Sequence[Sweep | Messages] = field(repr=False, compare=False)

    def expected(self, finding: str) -> float:
        """The chance of a present finding, given all the others."""
        return next(one.expected(finding) for one in self.islands if finding in one.findings)

    def odds_ratios(self, cause: str) -> dict[str, float]:
        """How far each known finding moves the odds of a cause.

        By finding linked to the cause, the odds over what they would be were that finding not known: above 1 it speaks
        for the cause, below 1 against it. It means nothing where the chance is 0 with or without the finding.
        """
        island = next((one for one in self.islands if cause in one.masses), None)
        ratios = {}
        if island is not None:
            ratios = {finding: odds_ratio(island.masses[cause], then) for finding, then in island.without(cause)}
        for link in self._absent.get(cause, ()):
            ratios[link.finding] = 1.0 - link.strength if island is None else self._absent_ratio(link, island)
        return ratios

    def and_seen(self, finding: str, links: tuple[Link, ...]) -> Posteriors:
        """The same with one finding more."""
        priors, leaks, known, present, absent = self.given
        return posteriors(priors, leaks, {**known, finding: links}, [*present, finding], absent)

    @cached_property
    def _absent(self) -> Mapping[str, list[Link]]:
        """By cause, its links to absent findings."""
        found: dict[str, list[Link]] = {}
        for finding in self.given.absent:
            for link in self.given.links.get(finding, ()):
                found.setdefault(link.cause, []).append(link)
        return found

    def _absent_ratio(self, absent: Link, island: Sweep | Messages) -> float:
        here = [link for link in self.given.links[absent.finding] if link.cause in island.masses]
        return island.absent_ratio(absent, {link.cause: self._chance_without(link) for link in here})

    def _chance_without(self, absent: Link) -> float:
        """The chance of a cause by all absent findings but one."""
        kept = 1.0
        for link in self._absent[absent.cause]:
            kept *= 1.0 - link.strength if link.finding != absent.finding else 1.0
        return _chance(self.given.priors[absent.cause], kept)


def posteriors(
    priors: Mapping[str, float], leaks: Mapping[str, float], links: Links, present: Iterable[str], absent: Iterable[str]
) -> Posteriors:
    """The chance of each cause.

    Args:
        priors: chance of each cause before anything is seen, 0 or more and below 1.
        leaks: chance that each finding shows with no cause, from LEAST_LEAK to below 1.
        links: by finding, as `by_finding` sorts them out; those of findings not known are passed over.
        present: findings seen.
        absent: findings looked for and not there.

    Raises:
        FitError: a number out of its range, an unknown name, or a finding both present and absent.
    """
    given = Given(priors, leaks, links, sorted(set(present)), sorted(set(absent)))
    _check(given)
    chances = _chances(given)
    shown = tuple([links.get(finding, ()) for finding in given.present])
    islands = [_solved(island, chances, leaks) for island in islands_of(shown, tuple(given.present))]
    probability = dict(chances)
    for island in islands:
        for cause, (gone, there) in island.masses.items():
            probability[cause] = there / (gone + there)
    return Posteriors(probability, all(island.exact for island in islands), given, chances, islands)


def _solved(island: Island, chances: Mapping[str, float], leaks: Mapping[str, float]) -> Sweep | Messages:
    return (Sweep if island.cost <= MOST_ENTRIES else Messages)(island, chances, leaks)


def _chances(given: Given) -> dict[str, float]:
    """The chance of each cause after the absent findings."""
    kept: dict[str, float] = {}
    for finding in given.absent:
        for _, cause, strength, _ in given.links.get(finding, ()):
            kept[cause] = kept.get(cause, 1.0) * (1.0 - strength)
    return {**given.priors, **{cause: _chance(given.priors[cause], stays) for cause, stays in kept.items()}}


def _chance(prior: float, kept: float) -> float:
    """The chance of a cause after absent findings whose absence has the chance `kept` when it is there."""
    return prior * kept / (prior * kept + 1.0 - prior)


def _check(given: Given) -> None:
    if not _right(given):
        raise FitError(_mistakes(given))


def _right(given: Given) -> bool:
    """Whether all that is used is in its range and known; plain loops, since this is done for every try-on."""
    priors, leaks, links, present, absent = given
    for prior in priors.values():
        if not 0.0 <= prior < 1.0:
            return False
    for finding in (*present, *absent):
        if not LEAST_LEAK <= leaks.get(finding, 0.0) < 1.0:
            return False
        for _, cause, strength, _ in links.get(finding, ()):
            if not 0.0 <= strength <= 1.0 or cause not in priors:
                return False
    return not set(present).intersection(absent)


def _mistakes(given: Given) -> Iterator[Mistake]:
    priors, leaks, links, present, absent = given
    for cause, prior in priors.items():
        if not 0.0 <= prior < 1.0:
            yield Mistake(f"cause {cause}", f"its prior is {prior!r}.", "Give a chance of 0 or more, below 1.")
    for finding, leak in leaks.items():
        if not LEAST_LEAK <= leak < 1.0:
            do = f"Give a chance of {LEAST_LEAK:g} or more, below 1."
            yield Mistake(f"finding {finding}", f"its leak is {leak!r}.", do)
    for link in [link for own in links.values() for link in own]:
        if not 0.0 <= link.strength <= 1.0:
            yield Mistake(f"rule {link.rule}", f"its strength is {link.strength!r}.", "Give 0 to 1.")
        if link.cause not in priors:
            what = f"cause '{link.cause}' has no prior."
            yield Mistake(f"rule {link.rule}", what, nearest(link.cause, priors))
    for finding in dict.fromkeys((*present, *absent)):
        if finding not in leaks:
            yield Mistake(f"finding {finding}", "it has no leak.", nearest(finding, leaks))
    for finding in sorted(set(present).intersection(absent)):
        yield Mistake(f"finding {finding}", "it is both present and absent.", "Keep one of the two.")
