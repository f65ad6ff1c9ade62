"""What a try-on comes to: the causes, and the rounds of steps with what each of them draws into the pattern."""

from __future__ import annotations

from collections.abc import Mapping
from functools import reduce

from msgspec import Struct, field

from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import Amount, Ask, CauseFound, HeldBack, Reopened, Side, Stop
from diagnose.model.stations import Station
from diagnose.pattern.in_words import Note
from diagnose.pattern.operations import Operation
from diagnose.plan.drawing.paper import OnPaper, Paper
from diagnose.plan.foreseeing import Foreseen
from diagnose.plan.wanted import Part, Wanted

__all__ = ["Diagnosis", "Round", "StepPlan"]


class StepPlan(Struct, frozen=True):
    """One alteration of a round: why, how much, on which side, and what it does to the gap and the paper."""

    id: str
    alteration: str
    cause: str
    side: Side
    amount: Amount
    at: str
    at_least: bool
    capped: bool
    why: str
    beyond: str
    predicted_gap_mm: Mapping[Station, float]
    parts: Mapping[Part, Mapping[Station, float]] = field(default_factory=dict)
    """What the front's and the back's pieces take apart, where each gap is answered for itself; take in positive."""
    drawn: bool = True
    """Whether it is done by drawing; False for what is for the hand, of which nothing is drawn."""
    ways: tuple[Wanted, ...] = ()
    """The alterations that would do it, best first; the step is the first."""
    way: str = ""
    """The way it is done, where she asked for one: ``ALTERATION``, or ``ONE:1/2+OTHER:1/2``."""
    started: Paper | None = None
    """The paper before it; None where there is no pattern."""
    before: Foreseen | None = None
    """The gap foreseen before it."""
    on_paper: OnPaper | None = None
    notes: tuple[Note, ...] = ()
    taught: tuple[str, ...] = ()
    """Of the notes those that say how earlier rounds changed the amount, each with the plain arithmetic."""
    in_vain: str = ""
    """Of the notes the one that says why this cut can be given no such change of girth; empty where it can."""

    @property
    def operations(self) -> tuple[Operation, ...]:
        """What is drawn; empty where nothing is."""
        return self.on_paper.operations if self.on_paper is not None else ()


class Round(Struct, frozen=True):
    """What is done before the next try-on, and what that try-on should show."""

    number: int
    steps: tuple[StepPlan, ...]
    then: str
    expect: tuple[str, ...] = ()

    @property
    def on_paper(self) -> OnPaper | None:
        """All its steps' drawings as one; None where none of them is drawn."""
        drawn = [step.on_paper for step in self.steps if step.on_paper is not None]
        return reduce(OnPaper.then, drawn) if drawn else None


class Diagnosis(Struct, frozen=True):
    """Everything that is said of one try-on.

    `exact`: whether every chance is worked out exactly; otherwise some are near, since too many findings hang together.
    """

    id: str
    stop: Stop | None
    gap: GapReading
    causes: tuple[CauseFound, ...]
    rounds: tuple[Round, ...]
    held_back: tuple[HeldBack, ...]
    ask: tuple[Ask, ...]
    cautions: tuple[str, ...]
    presumed: tuple[str, ...]
    findings: Mapping[Side, Mapping[str, str]] = field(default_factory=dict)
    reopened: Reopened | None = None
    finish: tuple[str, ...] = ()
    exact: bool = True

    @property
    def first_steps(self) -> tuple[StepPlan, ...]:
        """What is to be done before the next try-on: the steps of round 1."""
        return self.rounds[0].steps if self.rounds else ()
