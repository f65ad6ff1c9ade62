"""The late questions of a try-on under way, weighed anew after each answer without the plan being drawn whole."""

from __future__ import annotations

from diagnose.engine.findings import find_sides
from diagnose.gap.reading import read_gap
from diagnose.model.diagnosis import Ask
from diagnose.model.tryon import TryOn
from diagnose.pattern.outline import Pattern
from diagnose.plan.give import Learnt
from diagnose.plan.rounds import arrange
from diagnose.plan.shown import asked_next, beyond_the_cut, seams_of, shown_by, without
from diagnose.plan.stepping import planned_rounds
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

__all__ = ["late_questions"]


def late_questions(
    tryon: TryOn, base: RuleBase, matcher: Matcher, *, pattern: Pattern | None, learnt: Learnt
) -> tuple[Ask, ...]:
    """What to look at next, best first; none where a stop flag is up, or no answer would change round 1.

    Of the plan no more is drawn than shows which step stands first: she stands laced in while the next question is
    found.

    Args:
        tryon: the try-on so far, checked.
        base: the rule base; matcher: compiled from it.
        pattern: her pattern; None where there is none.
        learnt: what the rounds before teach of this wearer.

    Raises:
        FitError: when answers contradict the readings.
    """
    reading = read_gap(tryon, base.settings)
    found = find_sides(tryon, reading, base, matcher=matcher, more=seams_of(tryon, pattern, base))
    if any(side.stops for side in found.values()):
        return ()
    shown = shown_by(tryon, reading, found, base=base, matcher=matcher, learnt=learnt)
    going = shown.going
    while True:
        rounds, _ = arrange(going, shown.unmeasured, base, matcher=matcher)
        first = rounds[0] if rounds else ()
        planned = planned_rounds(
            [first] if any(item.alteration.kind == "girth" for item in first) else [],
            reading, base, pattern=pattern, learnt=learnt, allowance_mm=tryon.garment.allowance_mm,
        )  # fmt: skip
        beyond = list(beyond_the_cut(planned))
        if not beyond:
            return asked_next(tryon, shown, rounds, base=base, learnt=learnt, exact=True)
        going = without(going, beyond)
