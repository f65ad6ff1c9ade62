"""The late questions of a try-on under way, weighed anew after each answer without the plan being drawn whole."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.engine.findings import find_sides
from diagnose.gap.reading import GapReading, read_gap
from diagnose.model.diagnosis import Ask, HeldBack
from diagnose.model.tryon import TryOn
from diagnose.pattern.outline import Pattern
from diagnose.plan.give import Learnt
from diagnose.plan.rounds import arrange
from diagnose.plan.shown import asked_next, beyond_the_cut, seams_of, shown_by, without
from diagnose.plan.stepping import planned_rounds
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

__all__ = ["LateQuestions"]


class LateQuestions:
    """What would change the plan of one try-on under way.

    Of the plan no more is drawn than shows which step stands first, and that only when an answer has changed what is
    wanted: she stands laced in while the next question is found.

    Args:
        base: the rule base; matcher: compiled from it.
        pattern: her pattern; None where there is none.
    """

    def __init__(self, base: RuleBase, matcher: Matcher, pattern: Pattern | None) -> None:
        self._base, self._matcher, self._pattern = base, matcher, pattern
        self._drawn: tuple[object, list[HeldBack]] = ((), [])

    def next(self, tryon: TryOn, learnt: Learnt) -> tuple[Ask, ...]:
        """What to look at next, best first; none where a stop flag is up, or no answer would change round 1.

        Args:
            tryon: the try-on so far, checked.
            learnt: what the rounds before teach of this wearer.

        Raises:
            FitError: when answers contradict the readings.
        """
        base, reading = self._base, read_gap(tryon, self._base.settings)
        found = find_sides(tryon, reading, base, matcher=self._matcher, more=seams_of(tryon, self._pattern, base))
        if any(side.stops for side in found.values()):
            return ()
        shown = shown_by(tryon, reading, found, base=base, matcher=self._matcher, learnt=learnt)
        going = shown.going
        while True:
            rounds, _ = arrange(going, shown.unmeasured, base, matcher=self._matcher)
            beyond = self._beyond(rounds[0], reading, learnt, allowance_mm=tryon.garment.allowance_mm) if rounds else []
            if not beyond:
                return asked_next(tryon, shown, rounds, base=base, learnt=learnt, exact=True)
            going = without(going, beyond)

    def _beyond(
        self, items: Sequence[Wanted], reading: GapReading, learnt: Learnt, allowance_mm: float | None
    ) -> list[HeldBack]:
        """Of a first round, what her cut has no line for; drawn once, as long as the same is wanted."""
        if not any(item.alteration.kind == "girth" for item in items):
            return []
        wanted = ([_drawn_by(item) for item in items], reading, learnt, allowance_mm)
        if self._drawn[0] != wanted:
            planned = planned_rounds(
                [items], reading, self._base, pattern=self._pattern, learnt=learnt, allowance_mm=allowance_mm
            )
            self._drawn = wanted, list(beyond_the_cut(planned))
        return self._drawn[1]


def _drawn_by(item: Wanted) -> object:
    """All that an alteration is drawn by: how probable its cause is, and by what, is no part of that."""
    cause = item.cause._replace(probability=0.0, for_=(), against=())
    return replace(item, cause=cause, others=()), item.moves, [_drawn_by(other) for other in item.others]
