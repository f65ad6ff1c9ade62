"""Chances of causes from findings seen, looked for and not there, or not known: a noisy-OR network.

Causes stand above findings. Each cause has a prior; each link the chance that the cause alone shows the finding; each
finding a leak, the chance that it shows with no cause at all: P(f absent | causes) = (1 - leak) * prod(1 - strength)
over the causes present (the QMR-DT form; Heckerman, "A tractable inference algorithm for diagnosing multiple diseases",
UAI 1989). Findings not known are left out.

Absent findings factor, and go into the chances of their causes. Present findings and causes fall into islands that
share no link. Each island is swept exactly; one too large for that (some thirty findings that share causes) is
answered by messages passed to and fro, which is nearly right, and said so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from msgspec import Struct

from diagnose.engine.inference.islands import Island, islands_of
from diagnose.engine.inference.messages import Messages
from diagnose.engine.inference.sweep import Sweep, odds_ratio
from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.compiling import Link
from diagnose.rulebase.network import Network

__all__ = ["MOST_ENTRIES", "Links", "Posteriors", "posteriors"]

MOST_ENTRIES = 1 << 15
"""The most table entries that a sweep may take: ten to twenty milliseconds' work."""

Links = Mapping[str, tuple[Link, ...]]
"""By finding, its links, as `by_finding` sorts them out."""


class _Given(NamedTuple):
    """What chances are worked out from.

    Attributes:
        against: by cause, its links to absent findings; chances: of each cause, by those alone.
    """

    network: Network
    links: Links
    present: Sequence[str]
    absent: Sequence[str]
    against: Mapping[str, Sequence[Link]]
    chances: Mapping[str, float]


class Posteriors(Struct, frozen=True):
    """What the evidence says of each cause.

    Attributes:
        probability: of each cause, the chance (0 to 1) that it is present, given all findings.
        exact: whether every chance is exact; otherwise those of some island are only near.
    """

    probability: Mapping[str, float]
    exact: bool
    given: _Given
    islands: Sequence[Sweep | Messages]

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
        for link in self.given.against.get(cause, ()):
            ratios[link.finding] = 1.0 - link.strength if island is None else self._absent_ratio(link, island)
        return ratios

    def and_seen(self, finding: str, links: tuple[Link, ...]) -> Posteriors:
        """The chances with one finding more."""
        known, present = self.given.links, self.given.present
        more = self.given._replace(links={**known, finding: links}, present=sorted({*present, finding}))
        return _found(more, self)

    def _absent_ratio(self, absent: Link, island: Sweep | Messages) -> float:
        here = [link.cause for link in self.given.links[absent.finding] if link.cause in island.masses]
        return island.absent_ratio(absent, {cause: self._chance_without(cause, absent.finding) for cause in here})

    def _chance_without(self, cause: str, finding: str) -> float:
        """The chance of a cause by all absent findings but one."""
        others = [link for link in self.given.against[cause] if link.finding != finding]
        return _chance(self.given.network.priors[cause], others)


def posteriors(
    network: Network, links: Links, present: Iterable[str], absent: Iterable[str], like: Posteriors | None = None
) -> Posteriors:
    """The chance of each cause.

    Args:
        network: the priors and leaks.
        links: by finding; those of findings not known are passed over.
        present: findings seen.
        absent: findings looked for and not there.
        like: on the same network and nearly the same findings: an island that stands as it does there is not solved
            again.

    Raises:
        FitError: a finding or cause that the network does not hold, or a finding both present and absent.
    """
    seen, missed = sorted(set(present)), sorted(set(absent))
    against: dict[str, list[Link]] = {}
    for finding in missed:
        for link in links.get(finding, ()):
            against.setdefault(link.cause, []).append(link)
    chances = dict(network.priors)
    for cause, own in against.items():
        if cause in chances:
            chances[cause] = _chance(chances[cause], own)
    return _found(_Given(network, links, seen, absent=missed, against=against, chances=chances), like)


def _found(given: _Given, like: Posteriors | None) -> Posteriors:
    """The chances by all findings; an island that stands as it does in `like` is not solved again."""
    islands = islands_of(tuple([given.links.get(finding, ()) for finding in given.present]), tuple(given.present))
    _check(given, islands)
    chances, leaks = dict(given.chances), given.network.leaks
    solved = [_solved(island, given.chances, leaks, before=like.islands if like else ()) for island in islands]
    for one in solved:
        for cause, (gone, there) in one.masses.items():
            chances[cause] = there / (gone + there)
    return Posteriors(chances, all(one.exact for one in solved), given, islands=solved)


def _solved(
    island: Island, chances: Mapping[str, float], leaks: Mapping[str, float], before: Iterable[Sweep | Messages]
) -> Sweep | Messages:
    own = {cause: chances[cause] for cause in island.vertices}
    for one in before:
        if one.island is island and one.chances == own:
            return one
    way = Sweep if island.cost <= MOST_ENTRIES else Messages
    return way(island, own, leaks)


def _chance(prior: float, absent: Iterable[Link]) -> float:
    """The chance of a cause after absent findings."""
    kept = prior
    for _, _, strength, _ in absent:
        kept *= 1.0 - strength
    return kept / (kept + 1.0 - prior)


def _check(given: _Given, islands: Iterable[Island]) -> None:
    (priors, leaks), links, present, absent, against, _ = given
    known = {*present, *absent}
    named = priors.keys() >= against.keys() and all(priors.keys() >= island.vertices.keys() for island in islands)
    if named and leaks.keys() >= known and len(known) == len(present) + len(absent):
        return
    mistakes = [
        Mistake(f"rule {rule}", f"cause '{cause}' has no prior.", nearest(cause, priors), code="no-prior")
        for finding in sorted(known)
        for _, cause, _, rule in links.get(finding, ())
        if cause not in priors
    ]
    mistakes += [
        Mistake(f"finding {finding}", "it has no leak.", nearest(finding, leaks), code="no-leak")
        for finding in sorted(known)
        if finding not in leaks
    ]
    mistakes += [
        Mistake(
            f"finding {finding}", "it is both present and absent.", "Keep one of the two.", code="present-and-absent"
        )
        for finding in present
        if finding in absent
    ]
    raise FitError(mistakes)
