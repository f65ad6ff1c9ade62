"""The way through a try-on: the questions answered so far, the next one, and how far there is to go.

The replies are kept by question, in the order given. The way is walked anew each time: a reply that has been corrected
changes what is asked after it, and a reply to a question that is no longer asked is passed over (and is there again if
the correction is taken back).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.interview.answers import answers_of
from diagnose.interview.body_places import ONCE_OFF
from diagnose.interview.known import Known
from diagnose.interview.opening import opening, preconditions
from diagnose.interview.question import Given, Question, Value, in_hers
from diagnose.interview.replying import read_value
from diagnose.interview.signs import ASKED_LATER, LATE, following, signs, stops_by_amount
from diagnose.model.diagnosis import Ask
from diagnose.rulebase.base import RuleBase

__all__ = ["ENOUGH", "Interview", "Walk"]

ENOUGH = "enough"
"""The reply that ends the closer look, as a question id with the value True."""

USUAL_LATER, USUAL_SIGNS = 3, 4
MOST_LATER = 12
"""However unsure the plan is, a maker laced in is not asked more than so many late questions."""
MOST_UNSURE = 3
"""When she can't tell so many late questions running, no more are put: she has looked where she can."""


class Walk(Struct, frozen=True):
    """Where the try-on stands.

    Attributes:
        answered: the questions answered, in order, each with its reply.
        next: the question to put; None when there is none left.
        stop: the stop flags that are up.
        about: how many questions there will be, about.
        later: how many of the closer look are answered, of `MOST_LATER` at the most.
        answers: what the replies come to, as a line of a batch.
        trouble: replies that contradict each other, to be put right before anything can be said.
    """

    answered: tuple[tuple[Question, Value], ...]
    next: Question | None
    stop: tuple[str, ...]
    about: int
    later: int
    answers: Mapping[str, Any]
    trouble: tuple[Mistake, ...] = ()

    @property
    def at_most(self) -> int:
        """How many questions there can be at the most, once the closer look has begun."""
        is_off = any(question.id == f"at.{ONCE_OFF}" for question, _ in self.answered)
        return len(self.answered) - self.later + MOST_LATER + (not is_off)

    @property
    def replies(self) -> dict[str, Value]:
        """The replies to the questions answered, in order, by their ids."""
        return {question.id: value for question, value in self.answered}

    def number(self, question: Question) -> int:
        """Which question it is, counted from 1."""
        ids = [*self.replies]
        return (ids.index(question.id) if question.id in ids else len(ids)) + 1

    def how_many(self, question: Question) -> int:
        """How many questions there are, about; from the closer look on, which ends as soon as nothing would change the
        plan, at the most.
        """
        return self.at_most if question.part in LATE else max(self.about, self.number(question))

    def question(self, id_: str) -> Question | None:
        """The question of an id, when it is answered or next."""
        known = {question.id: question for question, _ in self.answered}
        return known.get(id_, self.next if self.next is not None and self.next.id == id_ else None)

    def before(self, id_: str) -> Question | None:
        """The question answered before the one of that id (before the next one when it is not answered)."""
        ids = [question.id for question, _ in self.answered]
        place = ids.index(id_) if id_ in ids else len(ids)
        return self.answered[place - 1][0] if place else None


class Interview(Struct, frozen=True):
    """Everything that decides what is asked.

    Attributes:
        base: the rule base.
        known: what the case knows.
        ask: what would change the plan, given answers as a line of a batch.
    """

    base: RuleBase
    known: Known
    ask: Callable[[Mapping[str, Any]], Sequence[Ask]]

    def walk(self, replies: Given) -> Walk:
        """Where the try-on stands with these replies (by question id, in the order given)."""
        given: dict[str, Value] = {}
        answered: list[tuple[Question, Value]] = []
        trouble: tuple[Mistake, ...] = ()
        question: Question | None = None
        try:
            for asked in self._questions(replies, given):
                question = in_hers(asked if asked.worn else replace(asked, worn="on"), self.known.unit)
                if question.id in given:
                    continue
                if not self._take(question, replies, given):
                    break
                answered.append((question, given[question.id]))
            else:
                question = None
        except FitError as error:
            question, trouble = None, error.mistakes
        stop = self._stops(given)
        left = self._left(given) if question is not None else 0
        answers = answers_of(given, self.base, self.known)
        later = sum(one.part in LATE and one.id.startswith(ASKED_LATER) for one, _ in answered)
        return Walk(
            tuple(answered), question, stop, about=len(answered) + left, later=later, answers=answers, trouble=trouble
        )

    def answers(self, replies: Given) -> Mapping[str, Any]:
        """What the replies come to, without asking what would change the plan."""
        return replace(self, ask=lambda _: ()).walk(replies).answers

    def _take(self, question: Question, replies: Given, given: dict[str, Value]) -> bool:
        """Put her reply among those given; a reply that does not fit the question is as good as none."""
        if question.id not in replies:
            return False
        try:
            given[question.id] = read_value(question, replies[question.id], self.known.unit)
        except FitError:
            return False
        return True

    def _questions(self, replies: Given, given: dict[str, Value]) -> Iterator[Question]:
        for question in self._looked_for(given):
            yield question
            if self._stops(given):
                return
        gates = {f"known.{gate.id}" for gate in preconditions(self.base, self.known.garment)}
        later = [id_ for id_ in replies if id_.startswith(ASKED_LATER) and id_ not in gates]
        late = following(
            self.base, self.known, given, later=later, asking=lambda: self._asking(replies, given, later),
            is_off=f"at.{ONCE_OFF}" in replies, enough=ENOUGH in replies,
        )  # fmt: skip
        for question in late:
            yield question
            if self._stops(given):
                return

    def _looked_for(self, given: Given) -> Iterator[Question]:
        yield from opening(self.base, self.known, given)
        yield from signs(self.base, self.known, given)

    def _asking(self, replies: Given, given: dict[str, Value], later: Sequence[str]) -> Sequence[Ask]:
        last = [replies[id_] for id_ in later[-MOST_UNSURE:]]
        unsure = len(last) == MOST_UNSURE and all(value is None for value in last)
        if ENOUGH in replies or unsure or len(later) >= MOST_LATER:
            return ()
        return self.ask(answers_of(given, self.base, self.known))

    def _stops(self, given: Given) -> tuple[str, ...]:
        stop = given.get("stop")
        amounts = {
            id_.partition(".")[2]: value
            for id_, value in given.items()
            if id_.startswith("amount.") and isinstance(value, float)
        }
        return tuple(stop) if isinstance(stop, list) and stop else stops_by_amount(self.base, amounts)

    def _left(self, given: Given) -> int:
        """How many questions there are still, about: the fixed ones as they stand, and some late ones."""
        later = sum(id_.startswith(ASKED_LATER) for id_ in given)
        fixed = sum(question.id not in given for question in self._looked_for(given))
        signs_left = 0 if "where" in given else USUAL_SIGNS
        return fixed + signs_left + max(0 if fixed else 1, USUAL_LATER - later)
