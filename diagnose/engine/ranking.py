"""Causes in order of how probable they are, each with its side and the findings that speak for and against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from diagnose.engine.findings import BodySide, SideFindings
from diagnose.engine.inference.noisy_or import Posteriors
from diagnose.model.diagnosis import CauseFound, Evidence, Side
from diagnose.rulebase.base import RuleBase

__all__ = ["LEAST_WEIGHT", "MOST_WEIGHT", "evidence", "rank", "rank_sides"]

LEAST_WEIGHT = 1.02
"""Evidence that moves the odds by a smaller factor is left out: it would not change what anyone does."""

MOST_WEIGHT = 1e6
"""Weights are cut off here, so that evidence which settles a cause altogether still has a finite one."""

_TIE = 1e-12
"""Chances and weights that differ by less are as good as equal, and go by name."""


def rank(found: Mapping[Side, Posteriors], act: float, explain_from: float = 0.0) -> tuple[CauseFound, ...]:
    """All causes, most probable first, equals by id.

    A cause acted on for all sides is `both`; one acted on for one side only, where something shows it there alone, is
    that side's. Where no side reaches the threshold it is given for both, at its higher chance.

    Args:
        found: what the evidence says, by side of the body; of one side alone when that stands for both.
        act: the chance from which a cause is acted on.
        explain_from: the chance from which a cause is given with its evidence; the others are not shown to anyone.
    """
    highest = _highest([one.probability for one in found.values()])
    order = sorted([(-round(chance / _TIE), cause) for cause, chance in highest.items()])
    least = min(act, explain_from)
    return tuple([
        _put_together(cause, highest[cause], found, act=act, explain_from=explain_from) if highest[cause] >= least
        else CauseFound(cause, highest[cause], "both", for_=(), against=())
        for _, cause in order
    ])  # fmt: skip


def _highest(sides: Sequence[Mapping[str, float]]) -> Mapping[str, float]:
    """The chance of each cause on the side where it is highest."""
    first, *others = sides
    if not others:
        return first
    return {cause: max([chance, *(other[cause] for other in others)]) for cause, chance in first.items()}


def _put_together(
    cause: str, probability: float, found: Mapping[Side, Posteriors], act: float, explain_from: float
) -> CauseFound:
    acted = [side for side, one in found.items() if one.probability[cause] >= act]
    side: Side = acted[0] if len(acted) == 1 < len(found) and _seen_there_alone(cause, acted[0], found) else "both"
    if probability < explain_from:
        return CauseFound(cause, probability, side, for_=(), against=())
    likeliest = next(one for one in found.values() if one.probability[cause] == probability)
    return CauseFound(cause, probability, side, *evidence(cause, likeliest))


def _seen_there_alone(cause: str, side: Side, found: Mapping[Side, Posteriors]) -> bool:
    """Whether a finding that shows a cause is there on one side alone.

    Where none is, the sides part only by what the other explains otherwise: the readings behind the cause are of both.
    """
    given = found[side].given
    elsewhere = {finding for other, one in found.items() if other != side for finding in one.given.present}
    own = (links for finding, links in given.links.items() if finding in given.present and finding not in elsewhere)
    return any(link.cause == cause for links in own for link in links)


def evidence(cause: str, found: Posteriors) -> tuple[tuple[Evidence, ...], tuple[Evidence, ...]]:
    """What speaks for a cause and against it, strongest first; weights below LEAST_WEIGHT are left out.

    What a finding does to a cause is judged among all the others. A finding seen mostly speaks for its causes, but it
    speaks against one when it points more strongly to another cause that explains the rest as well; a finding that is
    absent, the other way about.
    """
    for_: list[Evidence] = []
    against: list[Evidence] = []
    missed = set(found.given.absent)
    for finding, ratio in found.odds_ratios(cause).items():
        weight = min(max(ratio, 1.0 / ratio), MOST_WEIGHT) if ratio > 0.0 else MOST_WEIGHT
        if weight >= LEAST_WEIGHT:
            rule = next(link.rule for link in found.given.links[finding] if link.cause == cause)
            (for_ if ratio > 1.0 else against).append(Evidence(finding, rule, weight, absent=finding in missed))
    return _strongest_first(for_), _strongest_first(against)


def _strongest_first(found: Iterable[Evidence]) -> tuple[Evidence, ...]:
    return tuple(sorted(found, key=lambda one: (-round(one.weight / _TIE), one.finding)))


def rank_sides(found: Mapping[BodySide, SideFindings], base: RuleBase) -> tuple[CauseFound, ...]:
    """The causes of a try-on, most probable first, each with its side; those too unlikely to show without evidence."""
    thresholds = base.entries.words.thresholds
    return rank({side: one.chances for side, one in found.items()}, thresholds["act"], thresholds["maybe"])
