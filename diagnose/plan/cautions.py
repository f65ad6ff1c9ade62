"""What is said beside the plan: always, and where a limit of the settings is passed."""

from __future__ import annotations

from diagnose.engine.findings import SideFindings
from diagnose.model.settings import Settings
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.schema import Limit
from diagnose.units import both

__all__ = ["cautions_of"]


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
