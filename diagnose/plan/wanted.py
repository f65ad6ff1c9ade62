"""An alteration wanted: on which side, how much of it, cut to its limit and shared over the seams that take it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.gap.shares import share_out
from diagnose.model.diagnosis import Amount, CauseFound, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import Station
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.profiles import Profile
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice
from diagnose.rulebase.reading.moves import Move, moves_for
from diagnose.units import both, on_ruler

__all__ = ["Part", "Unmeasured", "Wanted", "few", "is_the_rounds", "limited", "on_few_seams"]

Part = Literal["front", "back"]


class Wanted(Struct, frozen=True):
    """An alteration wanted for a cause on a side, and how much of it in this round.

    Attributes:
        profile: the change of the whole girth at each station, take in positive.
        capped: whether more is wanted than a round may take.
        read: where a gap was read.
        seams: how many seams a half has; None where nobody knows.
        asked: the change of girth before it was cut to its limit.
        others: the other alterations that the cause names for it, in their order.
        part: the front's or the back's pieces alone, of a garment that laces front and back.
        parts: what each of the two takes, where each gap is answered for itself.
        exchanged: one half is given what the other gives up, so that the whole gap stays where it is.
        overdoes: with what is wanted before it, it takes more at a station than its gap asks for.
    """

    alteration: Alteration
    choice: AlterationChoice
    cause: CauseFound
    side: Side
    amount: Amount
    profile: Profile
    capped: bool
    read: frozenset[Station] = frozenset()
    seams: int | None = None
    asked: Mapping[Station, float] = field(default_factory=dict)
    others: tuple[Wanted, ...] = ()
    part: Part | None = None
    parts: Mapping[Part, Profile] = field(default_factory=dict)
    exchanged: bool = False
    overdoes: bool = False

    @property
    def moves(self) -> tuple[Move, ...]:
        """What is done to the outline: of the alteration's moves those that the choice that led to it means."""
        shown = [line.fact for line in self.choice.only_if if line.comparison == "is" and line.value == "yes"]
        return moves_for(self.alteration.moves, shown, [evidence.finding for evidence in self.cause.for_])


class Unmeasured(Struct, frozen=True):
    """An alteration whose amount waits for a measurement."""

    alteration: Alteration
    choice: AlterationChoice
    cause: CauseFound
    side: Side
    missing: tuple[str, ...]


def limited(item: Wanted, settings: Settings) -> Wanted:
    """A girth change cut to its limit at each station and rounded so that a half is in divisions of the ruler."""
    halves, most = (2 if item.side == "both" else 1), _most_of_a_half(item, settings)
    wanted = {station: change / halves for station, change in item.profile.items()}
    capped = item.capped or any(abs(half) > most + NOISE_MM for half in wanted.values())
    half = {s: on_ruler(max(-most, min(most, mm)), settings.ruler_mm) for s, mm in wanted.items()}
    greatest = max(half.values(), key=abs)
    count = _seams_moved(item, greatest, settings)
    lines = {s: share_out(mm, 2 * count, settings.ruler_mm) for s, mm in half.items()} if count else {}
    profile: Profile = {station: halves * mm for station, mm in half.items()}
    amount = Amount(
        whole_mm=halves * greatest,
        per_half_mm=greatest,
        per_seam_mm=greatest / count if count else None,
        per_edge_mm=greatest / (2 * count) if count else None,
        by_station_mm=profile,
        edges_mm=lines,
    )
    return replace(item, profile=profile, amount=amount, capped=capped)


def _seams_moved(item: Wanted, half_mm: float, settings: Settings) -> int | None:
    """How many seams of a half share a change of so much; None where the alteration shares nothing over seams.

    Few are moved far enough to be seen and sewn, rather than many by a pencil line: no more than leaves each stitching
    line the setting `least-on-a-line`.
    """
    which = _seams_meant(item.alteration)
    if which is None or not item.seams:
        return None
    count = _named(item.part or which, item.seams)
    return few(count, half_mm, settings)


def _seams_meant(alteration: Alteration) -> str | None:
    """Which seams it moves, by the word of its rule; None where it moves none."""
    return next((move.which for move in alteration.moves if move.do == "seams"), None)


def on_few_seams(item: Wanted, amount: Amount, settings: Settings) -> str:
    """Which of the seams meant share a change, in a sentence, where it is not all of them; nothing where it is."""
    which = _seams_meant(item.alteration)
    if which is None or not item.seams or not amount.per_seam_mm or not amount.per_half_mm:
        return ""
    moved, meant = round(amount.per_half_mm / amount.per_seam_mm), _named(item.part or which, item.seams)
    if moved >= meant:
        return ""
    on = "one of them alone, that" if moved == 1 else f"{NUMBERS.get(moved, str(moved))} of them, those"
    least = both(settings.mm("least-on-a-line"), settings.unit)
    return f"On {on} nearest to the side: {least} or more on a line can be seen and sewn; over all {meant} it is lost."


NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def few(count: int, half_mm: float, settings: Settings) -> int:
    """Of so many seams, over how many a change of one half is shared."""
    least = settings.mm("least-on-a-line")
    return max(1, min(count, int(abs(half_mm) / (2 * least) + NOISE_MM))) if least > 0.0 else count


def _named(which: str, seams: int) -> int:
    """How many of a half's seams a move means, where no pattern shows them."""
    return {"side": 1, "bust": 1, "belly": min(2, max(1, seams // 2)), "front": max(1, seams // 2),
            "back": max(1, seams // 2)}.get(which, seams)  # fmt: skip


def _most_of_a_half(item: Wanted, settings: Settings) -> float:
    """The most that one half may change at a station in one round.

    A limit on a line or a seam counts the seams that are meant, and is never more than a round may take at all.
    """
    limit, on, round_most = item.choice.limit, item.choice.limit_on, settings.mm("round-most") / 2.0
    if limit is None or on in ("-", "length"):
        return round_most
    if on in ("half", "whole"):
        return limit if on == "half" else limit / 2.0
    which = _seams_meant(item.alteration) or "all"
    count = _named(which, item.seams) if item.seams else 0
    return min(round_most, limit * count * (2 if on == "edge" else 1)) if count else round_most


def is_the_rounds(item: Wanted, settings: Settings) -> bool:
    """Whether what limits a change of girth is the most that a round may take, and not its own limit."""
    own = item.choice.limit_on in ("half", "whole") and item.choice.limit is not None
    most = _most_of_a_half(item, settings)
    return item.alteration.kind == "girth" and not own and most >= settings.mm("round-most") / 2.0 - NOISE_MM
