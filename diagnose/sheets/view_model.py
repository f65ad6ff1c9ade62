"""What a fitting sheet shows, as plain words, rows and drawings; worked out by `diagnose.sheets.view`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from msgspec import Struct, field

if TYPE_CHECKING:
    from diagnose.model.tryon import TryOn
    from diagnose.pattern.altered import Zone
    from diagnose.pattern.outline import Pattern
    from diagnose.plan.drawing.paper import OnPaper
    from diagnose.plan.planned import Diagnosis
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.reading.entries import Picture
    from diagnose.sheets.drawn.drawing import Drawing
    from diagnose.sheets.drawn.work_layers import Lettered
    from diagnose.sheets.hand.figures import HandStep
    from diagnose.units import Unit

__all__ = [
    "FROM_THE_GAP", "CauseView", "Fact", "GapRow", "OnSheet", "RoundView", "SheetView", "Sign", "StepView", "StopView",
    "Tried", "Weight",
]  # fmt: skip

FROM_THE_GAP = "from the gap readings"
"""Said of a finding that was worked out and not looked for."""


class Tried(Struct, frozen=True):
    """A try-on worked out, as its sheet is made of it.

    Attributes:
        title: whose it is, in the maker's words.
        tryon: what was measured, seen and answered.
        diagnosis: what it came to.
        base: the rule base, for the words.
        unit: the maker's unit.
        date: the day of the try-on.
        version: the name of the new pattern version.
        before: the pattern that was tried on; None when there is none.
        drawn: what round 1 draws into it; None when nothing is drawn.
    """

    title: str
    tryon: TryOn
    diagnosis: Diagnosis
    base: RuleBase
    unit: Unit
    date: str
    version: str
    before: Pattern | None = None
    drawn: OnPaper | None = None

    @property
    def after(self) -> Pattern | None:
        """The pattern with round 1 drawn in; None when nothing is drawn."""
        return self.drawn.after if self.drawn is not None else None


class OnSheet(Struct, frozen=True):
    """What a sheet shows: words, figures and drawings."""


class StopView(OnSheet, frozen=True):
    """Why nothing is ranked: each flag, with what to do about it now."""

    flags: tuple[Fact, ...]


class StepView(OnSheet, frozen=True):
    """One alteration: what, on which side, how much, where, and why."""

    title: str
    side: str
    figure: str
    figure_of: str
    rows: tuple[tuple[str, str], ...]
    at: str
    why: str
    remarks: tuple[str, ...]
    rows_of: str = "on each half"


class RoundView(OnSheet, frozen=True):
    """A round after the first: its steps in a line each."""

    number: int
    steps: tuple[StepView, ...]


class Sign(OnSheet, frozen=True):
    """What the picture of a sign is drawn from, on paper alone: the rule's line, her kind of garment, and its title."""

    picture: Picture
    style: str | None
    title: str


class Fact(OnSheet, frozen=True):
    """A short statement, what is added to it in a quieter voice, and the sign that it is about."""

    text: str
    more: str = ""
    sign: Sign | None = None


class Weight(OnSheet, frozen=True):
    """A finding for or against: in words, how strongly, and its bar (0 to 1)."""

    text: str
    strength: str
    share: float


class CauseView(OnSheet, frozen=True):
    """A cause, how sure, its chance in words, and what speaks for and against it."""

    title: str
    side: str
    sure: str
    chance: str
    because: str
    for_: tuple[Weight, ...]
    against: tuple[Weight, ...]


class GapRow(OnSheet, frozen=True):
    """One station: read, aimed at, the change wanted, and what the plan should make of it."""

    station: str
    read: str
    target: str
    change: str
    predicted: str


class SheetView(OnSheet, frozen=True):
    """A fitting sheet, in the order in which it is read; what is worked out on the outline, and drawn, stands last."""

    title: str
    garment: str
    date: str
    version: str
    stop: StopView | None
    first: tuple[StepView, ...]
    nothing: str
    findings: tuple[Fact, ...]
    absent: tuple[str, ...]
    answered: tuple[str, ...]
    causes: tuple[CauseView, ...]
    gap_shape: str
    gap: tuple[GapRow, ...]
    paper: tuple[str, ...]
    later: tuple[RoundView, ...]
    held: tuple[Fact, ...]
    expect: tuple[str, ...]
    ask: tuple[Fact, ...]
    presumed: tuple[str, ...]
    cautions: tuple[str, ...]
    lacing: tuple[str, ...]
    body: tuple[str, ...] = ()
    reopened: tuple[str, ...] = ()
    finish: tuple[str, ...] = ()
    near: str = ""
    gap_picture: Drawing | None = None
    pattern_picture: Drawing | None = None
    wall: tuple[Drawing, ...] = ()
    wall_gap: Drawing | None = None
    steps: tuple[HandStep, ...] = ()
    zones: tuple[Zone, ...] = ()

    halves: Mapping[str, str] = field(default_factory=dict)
    """What all steps together do to each half, by station."""

    @property
    def letters(self) -> tuple[Lettered, ...]:
        """The lettered marks of all steps."""
        return tuple(mark for step in self.steps for mark in step.marks)
