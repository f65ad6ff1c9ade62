"""A miss between the gap foreseen and the gap measured: what it reopens, what may explain it, what to ask."""

from __future__ import annotations

from diagnose.model.diagnosis import Ask, Reopened
from diagnose.model.tryon import TryOn
from diagnose.plan.give import Learnt, miss_facts
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Question
from diagnose.rulebase.reading.schema import Miss
from diagnose.sentences import lower_first

__all__ = ["reopened_by"]


def reopened_by(learnt: Learnt, tryon: TryOn, base: RuleBase) -> tuple[Reopened | None, tuple[Ask, ...]]:
    """What a miss beyond the setting `reopen-miss` reopens, and the questions that tell its explanations apart.

    A question that has been answered, or that she can't answer, is not asked again.
    """
    facts = miss_facts(learnt.miss_mm, learnt.done_mm)
    size = facts.get("miss-size")
    if not isinstance(size, float) or size <= base.settings.mm("reopen-miss"):
        return None, ()
    fitting = [miss for miss in base.entries.misses.misses if all(line.holds(facts) for line in miss.when)]
    asks: dict[str, Ask] = {}
    said: list[str] = []
    ruled_out: list[str] = []
    for miss in fitting:
        question = base.entries.questions.get(miss.ask)
        if question is not None and _speaks_against(question, miss, tryon):
            ruled_out.append(lower_first(miss.title))
            continue
        said.append(f"{miss.title}? {miss.say}{_tells(question, tryon)}")
        if question is not None and miss.ask not in {*asks, *tryon.known, *tryon.cant_tell}:
            why = f"It tells whether this explains the miss: {lower_first(miss.title)}."
            asks[miss.ask] = Ask(miss.ask, question.ask, why, how=question.how, settles=miss.causes)
    if ruled_out:
        said.append(f"What you said speaks against these: {'; '.join(ruled_out)}.")
    return Reopened(learnt.miss_mm, learnt.causes, tuple(said)), tuple(asks.values())


def _speaks_against(question: Question, miss: Miss, tryon: TryOn) -> bool:
    """Whether the answer given is not the one that points to what would explain the miss."""
    pointing = {link.answer for link in question.points_to if link.cause in miss.causes}
    answer = tryon.known.get(question.id)
    return answer is not None and bool(pointing) and ("yes" if answer else "no") not in pointing


def _tells(question: Question | None, tryon: TryOn) -> str:
    """The question that tells, and its answer when there is one."""
    if question is None:
        return ""
    answer = tryon.known.get(question.id)
    said = "" if answer is None else f" You said {'yes' if answer else 'no'}."
    return f" What tells: {question.ask}{said}"
