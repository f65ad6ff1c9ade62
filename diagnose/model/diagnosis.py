"""What a try-on comes to: the causes, the plan, what is asked, held back, presumed and cautioned."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, NamedTuple

from msgspec import Struct, field

from diagnose.model.stations import Station

__all__ = [
    "Amount", "Ask", "CauseFound", "Diagnosis", "Evidence", "HeldBack", "Reopened", "Round", "Side", "StepPlan", "Stop",
]  # fmt: skip

Side = Literal["left", "right", "both"]


class Evidence(NamedTuple):
    """A finding that speaks for or against a cause: by which factor the odds move because of it."""

    finding: str
    rule: str
    weight: float


class CauseFound(NamedTuple):
    """A cause, how probable it is, on which side, and what speaks for and against it."""

    id: str
    probability: float
    side: Side
    for_: tuple[Evidence, ...]
    against: tuple[Evidence, ...]


class Amount(Struct, frozen=True):
    """How much, in mm. A girth change has whole and parts (at its greatest station); a length change has length."""

    whole_mm: float | None = None
    per_half_mm: float | None = None
    per_seam_mm: float | None = None
    per_edge_mm: float | None = None
    length_mm: float | None = None
    by_station_mm: Mapping[Station, float] = field(default_factory=dict)
    """The change of the whole girth at each station."""
    edges_mm: Mapping[Station, tuple[float, ...]] = field(default_factory=dict)
    """What is drawn on each stitching line of a half at each station, where seams share the change."""


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
    operations: tuple[Mapping[str, Any], ...] = ()
    notes: tuple[str, ...] = ()
    taught: tuple[str, ...] = ()
    """Of the notes those that say how earlier rounds changed the amount, each with the plain arithmetic."""


class Round(Struct, frozen=True):
    """What is done before the next try-on, and what that try-on should show."""

    number: int
    steps: tuple[StepPlan, ...]
    then: str
    expect: tuple[str, ...] = ()


class HeldBack(Struct, frozen=True):
    """An alteration that waits, and until when."""

    alteration: str
    cause: str
    side: Side
    until: str
    because: str


class Ask(Struct, frozen=True):
    """A question that would change the plan."""

    id: str
    question: str
    why: str
    how: str
    settles: tuple[str, ...]


class Reopened(Struct, frozen=True):
    """A miss of the gap that reopens what was acted on: by how much, the causes in doubt, what may explain it."""

    miss_mm: Mapping[str, float]
    causes: tuple[str, ...]
    explanations: tuple[str, ...]


class Stop(Struct, frozen=True):
    """A stop flag: nothing is ranked; what to do now."""

    flags: tuple[str, ...]
    do: str


class Diagnosis(Struct, frozen=True):
    """Everything that is said of one try-on.

    `exact`: whether every chance is worked out exactly; otherwise some are near, since too many findings hang together.
    """

    id: str
    stop: Stop | None
    gap: Any
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
