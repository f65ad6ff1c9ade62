"""A miss between the gap foreseen and the gap measured: what it reopens, what may explain it, what to ask."""

from __future__ import annotations

from diagnose.model.diagnosis import Ask, Reopened
from diagnose.plan.learning import Learnt, miss_facts
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.examples import holds

__all__ = ["reopened_by"]


def reopened_by(learnt: Learnt, base: RuleBase) -> tuple[Reopened | None, tuple[Ask, ...]]:
    """What a miss beyond the setting `reopen-miss` reopens, and the questions that tell its explanations apart."""
    facts = miss_facts(learnt.miss_mm)
    size = facts.get("miss-size")
    if not isinstance(size, float) or size <= base.settings.mm("reopen-miss"):
        return None, ()
    fitting = [miss for miss in base.entries.misses.misses if all(holds(line, facts) for line in miss.when)]
    asks: dict[str, Ask] = {}
    for miss in fitting:
        question = base.entries.questions.get(miss.ask)
        if question is not None and miss.ask not in asks:
            why = f"It tells whether this explains the miss: {miss.title.lower()}."
            asks[miss.ask] = Ask(miss.ask, question.ask, why, question.how, miss.causes)
    return Reopened(learnt.miss_mm, learnt.causes, tuple(miss.say for miss in fitting)), tuple(asks.values())
