"""The ways of one step: the alterations that would do it, drawn, each with what it costs and what it leaves.

The first ways are those that the cause itself names, in their order; after them stand the alterations of girth that can
give the same change at the same stations, wherever on the garment they take it. A step may also be shared between two
places: part of the change by one alteration and the rest by another, drawn one after the other.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, nearest
from diagnose.model.diagnosis import Amount, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.in_words import Note
from diagnose.pattern.outline import Pattern
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.drawing import Drawn, draw_on, is_drawable
from diagnose.plan.drawing.paper import Cost, OnPaper, Paper
from diagnose.plan.foreseeing import Foreseen
from diagnose.plan.profiles import named_stations
from diagnose.plan.wanted import Wanted, limited
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice
from diagnose.sentences import lower_first
from diagnose.units import on_ruler

__all__ = ["Part", "Way", "all_ways", "fell_short", "parts_of", "way_of"]

ANYWHERE = "either"
AT_THE_HEM = frozenset({"hip", "bottom"})
"""Where a gore let into the lower edge gives width."""


class Part(Struct, frozen=True):
    """A part of a step: the alteration that does it, and what share of the whole."""

    item: Wanted
    share: Fraction = Fraction(1)

    @property
    def alteration(self) -> str:
        """The id of the alteration."""
        return self.item.alteration.id


class Way(Struct, frozen=True):
    """One way of a step, drawn.

    Attributes:
        parts: the alterations it is made of, with their shares; one of them, as a rule.
        amount: how much, as drawn.
        profile: the change of the whole girth at each station, as drawn; take in positive.
        gap: the gap foreseen when the step is done so.
        drawn: whether it could be drawn; `notes` say why not.
        capped: whether it gives less than was wanted: a round may take no more, or the pattern has no room for more.
        notes: what the maker should know.
        paper: the paper after it.
        on_paper: the drawing.
        in_vain: why this cut can be given no such change of girth by any way; empty where it can.
    """

    parts: tuple[Part, ...]
    amount: Amount
    profile: Mapping[Station, float]
    gap: Foreseen
    drawn: bool
    capped: bool
    notes: tuple[Note, ...] = ()
    paper: Paper | None = None
    on_paper: OnPaper | None = None
    in_vain: str = ""

    @property
    def name(self) -> str:
        """As it is asked for: the alteration, or the alterations with their shares."""
        if len(self.parts) == 1:
            return self.parts[0].alteration
        return "+".join(f"{part.alteration}:{part.share}" for part in self.parts)

    @property
    def item(self) -> Wanted:
        """The alteration wanted that it is made of, or the first of them."""
        return self.parts[0].item

    @property
    def side(self) -> Side:
        """On which side."""
        return self.item.side

    @property
    def at(self) -> str:
        """At which place, or places."""
        return " And ".join([self.item.choice.at, *(lower_first(part.item.choice.at) for part in self.parts[1:])])

    @property
    def cost(self) -> Cost:
        """What it costs."""
        return self.on_paper.cost if self.on_paper is not None else Cost()

    @property
    def predicted_gap_mm(self) -> dict[Station, float]:
        """The gap at each station, as it will be read."""
        return self.gap.gap_mm

    @property
    def leaves_mm(self) -> dict[Station, float]:
        """What is left between the gap foreseen and its target, wider above 0."""
        return {station: round(self.gap.off_mm(station), 2) for station in self.gap.apart_mm}

    def with_losses(self, before: Foreseen) -> Way:
        """The way, with a word on every station that it takes from its target."""
        return replace(self, notes=(*self.notes, *before.losses(self.gap)))


def all_ways(item: Wanted, base: RuleBase, pattern: Pattern | None) -> tuple[Wanted, ...]:
    """The alteration wanted and those that would do the same, best first.

    Args:
        item: what is wanted, with the others that its cause names.
        base: the rule base.
        pattern: her pattern; what it has no place for is left out, unless nothing else is left to say.
    """
    found = [item, *item.others]
    if item.alteration.kind == "girth" and not item.parts:
        have = {one.alteration.id for one in found}
        for alteration in base.entries.alterations.values():
            if alteration.id not in have and _gives(alteration, item):
                found.append(_as(alteration, item, base))
    if pattern is not None:
        seams = any(edge.role == "seam" for piece in pattern.pieces for edge in piece.edges)
        found = [one for one in found if seams or not _by_seams(one.alteration)] or [item]
    return tuple(replace(one, others=()) for one in found)


def _by_seams(alteration: Alteration) -> bool:
    return any(move.do in ("seams", "split-share") for move in alteration.moves)


def _gives(alteration: Alteration, item: Wanted) -> bool:
    """Whether an alteration can give the change wanted: of girth, that way, and at those very stations."""
    wanted = {station: change for station, change in item.profile.items() if abs(change) > NOISE_MM}
    if alteration.kind != "girth" or not alteration.moves or not wanted:
        return False
    ways = {"in": all(mm > 0 for mm in wanted.values()), "out": all(mm < 0 for mm in wanted.values())}
    if not ways.get(alteration.direction, alteration.direction == ANYWHERE):
        return False
    if any(move.do == "gores" for move in alteration.moves) and not wanted.keys() <= AT_THE_HEM:
        return False
    named = named_stations(alteration)
    if any(named.get(station) == "nothing" for station in wanted):
        return False
    return not _by_seams(alteration) or all(station in wanted for station, how in named.items() if how == "full")


def _as(alteration: Alteration, item: Wanted, base: RuleBase) -> Wanted:
    """The change wanted made by another alteration, no more of it than that may take in a round."""
    choice = _choice_of(alteration, item, base) or item.choice.model_copy(update={"alteration": alteration.id})
    if all(choice != own for own in base.entries.causes[item.cause.id].alterations):
        choice = choice.model_copy(update={"because": alteration.because})  # that of another cause argues another case
    made = replace(item, alteration=alteration, choice=choice, others=())
    return limited(made, base.settings)


def _choice_of(alteration: Alteration, item: Wanted, base: RuleBase) -> AlterationChoice | None:
    """How the alteration is spoken of: by its own cause, else by the first that names it."""
    causes = [base.entries.causes[item.cause.id], *base.entries.causes.values()]
    found = (one for cause in causes for one in cause.alterations if one.alteration == alteration.id)
    return next(found, None)


def parts_of(text: str, ways: Sequence[Wanted], where: str = "way") -> tuple[Part, ...]:
    """What is asked for: ``ALTERATION``, or ``ONE:1/2+OTHER:1/2``.

    Raises:
        FitError: when it is not written so, names what is no way of the step, or the shares do not make a whole.
    """
    known = {one.alteration.id: one for one in ways}
    parts: list[Part] = []
    for word in re.split(r"\s*\+\s*", text.strip()):
        name, colon, told = word.partition(":")
        if name not in known:
            raise FitError.of(where, f"“{name[:60]}” is no way of this step.", nearest(name, known), code="no-such-way")
        parts.append(Part(known[name], _share(told, where) if colon else Fraction(1)))
    if len({part.alteration for part in parts}) < len(parts):
        raise FitError.of(
            where, "One alteration is named twice.", "Name each once, with its whole share.", code="named-twice"
        )
    if sum(part.share for part in parts) != 1:
        raise FitError.of(
            where, "The shares do not make a whole.", "Write them like ONE:1/2+OTHER:1/2.", code="no-whole"
        )
    return tuple(parts)


def _share(text: str, where: str) -> Fraction:
    try:
        found = Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        found = Fraction(0)
    if not 0 < found <= 1:
        raise FitError.of(
            where, f"“{text[:20]}” is no share.", "Write a fraction, like 1/2 or 0.25.", code="not-a-share"
        )
    return found


def way_of(parts: Sequence[Part], paper: Paper | None, before: Foreseen) -> Way:
    """A way of a step, drawn part by part.

    Args:
        parts: what it is made of.
        paper: the paper before the step; None where there is no pattern.
        before: the gap before it.
    """
    items = [_part(part, before.settings) for part in parts]
    made: list[Drawn] = []
    notes: list[Note] = []
    on, gap, capped = paper, before, False
    drawing: OnPaper | None = None
    profile = dict.fromkeys(STATIONS, 0.0)
    for item in items:
        one = draw_on(item, on, before.settings)
        notes += [note for note in one.notes if note not in notes]
        capped = capped or item.capped or fell_short(item, one.amount)
        if one.on_paper is not None if paper is not None else is_drawable(item):
            made.append(one)
            gap, on = gap.after(one.profile), one.paper
            drawing = one.on_paper if drawing is None or one.on_paper is None else drawing.then(one.on_paper)
            profile = {station: mm + one.profile.get(station, 0.0) for station, mm in profile.items()}
    return Way(
        parts=tuple(parts),
        amount=_sum([one.amount for one in made] or [item.amount for item in items]),
        profile=profile,
        gap=gap,
        drawn=len(made) == len(items),
        capped=capped,
        notes=tuple(notes),
        paper=on,
        on_paper=drawing,
    )


def fell_short(item: Wanted, drawn: Amount) -> bool:
    """Whether of a length less was drawn than was wanted, the pattern having no room for all of it."""
    wanted, made = item.amount.length_mm, drawn.length_mm
    return wanted is not None and made is not None and made < wanted - NOISE_MM


def _part(part: Part, settings: Settings) -> Wanted:
    """So much of the change; the parts of a girth are whole divisions of the ruler on a half."""
    item, share = part.item, float(part.share)
    if share == 1.0:
        return item
    if item.alteration.kind != "girth":
        length = item.amount.length_mm
        less = None if length is None else on_ruler(length * share, settings.ruler_mm)
        return replace(item, amount=replace(item.amount, length_mm=less))
    halves = 2 if item.side == "both" else 1
    profile = {s: halves * on_ruler(mm * share / halves, settings.ruler_mm) for s, mm in item.profile.items()}
    return limited(replace(item, profile=profile, capped=item.capped), settings)


def _sum(amounts: Sequence[Amount]) -> Amount:
    """Several amounts as one; what stands on single lines is said only where there is but one."""
    if len(amounts) == 1:
        return amounts[0]
    if any(one.length_mm is not None for one in amounts):
        return Amount(length_mm=sum(one.length_mm or 0.0 for one in amounts))
    stations = dict.fromkeys(station for one in amounts for station in one.by_station_mm)
    by_station = {s: sum(one.by_station_mm.get(s, 0.0) for one in amounts) for s in stations}
    return Amount(
        whole_mm=sum(one.whole_mm or 0.0 for one in amounts),
        per_half_mm=sum(one.per_half_mm or 0.0 for one in amounts),
        by_station_mm=by_station,
    )
