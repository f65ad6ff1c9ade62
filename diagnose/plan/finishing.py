"""From toile to garment: what is said when a try-on is settled and nothing is left to alter."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import HeldBack
from diagnose.plan.planned import Round
from diagnose.rulebase.base import RuleBase

__all__ = ["finish_lines"]


def finish_lines(
    reading: GapReading, rounds: Sequence[Round], held: Sequence[HeldBack], base: RuleBase
) -> tuple[str, ...]:
    """What carries over to the garment and what still waits; nothing while the toile has a step to come.

    Args:
        reading: the gap; it must be at its target at every station read.
        rounds: the plan; it must be empty.
        held: the alterations that wait.
        base: the rule base.
    """
    if rounds or not reading.settled(base.settings.mm("dead-band")):
        return ()
    titles = base.entries.alterations
    waiting = tuple(f"Still waiting: {titles[one.alteration].title.lower()}, until {one.until}." for one in held)
    return (*(line.say for line in base.entries.order.carry_over), *waiting)
