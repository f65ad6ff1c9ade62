"""Posteriors of a network small enough to write in a test, from its plain numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.engine.inference import noisy_or
from diagnose.engine.inference.noisy_or import Posteriors
from diagnose.rulebase.compiling import Link, by_finding
from diagnose.rulebase.network import network


def posteriors(
    priors: Mapping[str, float],
    leaks: Mapping[str, float],
    links: Sequence[Link],
    present: Sequence[str],
    absent: Sequence[str],
) -> Posteriors:
    """The causes' posteriors given which findings are present and which are looked for in vain."""
    return noisy_or.posteriors(network(priors, leaks), by_finding(links), present, absent)
