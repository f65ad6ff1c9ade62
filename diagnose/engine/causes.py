"""Which causes, how probable, on which side: what was found on both sides of the body ranked and put together."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.engine.findings import BodySide, SideFindings
from diagnose.engine.ranking import rank
from diagnose.model.diagnosis import CauseFound
from diagnose.rulebase.base import RuleBase

__all__ = ["rank_sides"]


def rank_sides(found: Mapping[BodySide, SideFindings], base: RuleBase) -> tuple[CauseFound, ...]:
    """The causes of a try-on, most probable first, each with its side; those too unlikely to show without evidence."""
    thresholds = base.entries.words.thresholds
    return rank({side: one.chances for side, one in found.items()}, thresholds["act"], thresholds["maybe"])
