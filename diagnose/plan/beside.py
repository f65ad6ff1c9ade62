"""What is said beside the plan: cautions, limits that are passed, and what carries over when nothing is left to do."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.engine.findings import SideFindings
from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import HeldBack
from diagnose.model.settings import Settings
from diagnose.plan.planned import Round
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.schema import Limit
from diagnose.units import both

__all__ = ["cautions_of", "finish_lines"]


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


def cautions_of(found: SideFindings, base: RuleBase) -> tuple[str, ...]:
    """The cautions for one try-on: first the limits that its facts pass, then those that always hold."""
    passed = [
        _said(limit, value, base.settings)
        for limit in base.entries.cautions.limits
        if isinstance(value := found.facts.get(limit.fact), float) and value > base.settings.mm(limit.setting)
    ]
    return (*passed, *(caution.say for caution in base.entries.cautions.always))


def _said(limit: Limit, value: float, settings: Settings) -> str:
    setting = settings.values[limit.setting]
    shown = [both(number, settings.unit) if setting.is_length else f"{number:.3g}" for number in (value, setting.value)]
    if not setting.is_length and setting.value < 1:
        shown = [f"{100 * number:.3g} %" for number in (value, setting.value)]
    return limit.say.replace("{value}", shown[0]).replace("{most}", shown[1])
