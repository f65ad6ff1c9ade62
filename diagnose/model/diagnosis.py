"""What is said of a try-on, part by part: causes and what speaks for them, amounts, what is asked, what waits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct, field

from diagnose.model.stations import Station

__all__ = [
    "Amount", "Ask", "CauseFound", "Evidence", "HeldBack", "Reopened", "Side", "Stop",
]  # fmt: skip

Side = Literal["left", "right", "both"]


class Evidence(Struct, frozen=True):
    """A finding that speaks for or against a cause: by which factor the odds move because of it.

    `absent`: it weighs by not being there, a sign that was looked for or an answer that was not the one given.
    """

    finding: str
    rule: str
    weight: float
    absent: bool = False

    @property
    def as_given(self) -> str:
        """The finding; an answer to a question stands as it was given, also where it weighs by not being the other."""
        name, equals, answer = self.finding.partition("=")
        return f"{name}={'no' if answer == 'yes' else 'yes'}" if equals and self.absent else self.finding


class CauseFound(Struct, frozen=True):
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
