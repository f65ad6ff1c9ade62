"""The chances that the causes start from and that the findings show by themselves, checked once for a rule base."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from diagnose.errors import FitError, Mistake

__all__ = ["LEAST_LEAK", "Network", "network"]

LEAST_LEAK = 1e-9
"""The smallest leak allowed: with less, a finding that no cause explains would be as good as impossible."""


class Network(NamedTuple):
    """What stands above and beside the links: `priors`, the chance of each cause before anything is seen; and `leaks`,
    the chance that each finding shows with no cause at all.
    """

    priors: Mapping[str, float]
    leaks: Mapping[str, float]


def network(priors: Mapping[str, float], leaks: Mapping[str, float]) -> Network:
    """The network of these chances.

    Raises:
        FitError: every prior that is not 0 or more and below 1, every leak not from LEAST_LEAK to below 1.
    """
    mistakes = list(_mistakes(priors, leaks))
    if mistakes:
        raise FitError(mistakes)
    return Network(priors, leaks)


def _mistakes(priors: Mapping[str, float], leaks: Mapping[str, float]) -> Iterator[Mistake]:
    for cause, prior in priors.items():
        if not 0.0 <= prior < 1.0:
            yield Mistake(
                f"cause {cause}",
                f"its prior is {prior!r}.",
                "Give a chance of 0 or more, below 1.",
                code="not-a-chance",
            )
    for finding, leak in leaks.items():
        if not LEAST_LEAK <= leak < 1.0:
            do = f"Give a chance of {LEAST_LEAK:g} or more, below 1."
            yield Mistake(f"finding {finding}", f"its leak is {leak!r}.", do, code="not-a-chance")
