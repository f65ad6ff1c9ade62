"""On which side a change of girth is made, and by which of two lacings: what the gap does not say by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import Amount, CauseFound, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.profiles import named_stations, run_between, station_heights
from diagnose.plan.wanted import Part, Wanted, limited
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Facts

__all__ = ["LEANS", "Leaning", "for_each_lacing", "leaning_of", "sided"]

SHARE = "front-back-share-wrong"
LEANS = "lacing-edge-leans"
"""The sign that the halves differ in girth, and by how much."""
LEANS_BELOW = "leans-most-below"
"""The question at which end they differ most."""


def sided(
    item: Wanted, leaning: Leaning | None, facts: Facts, facts_of: Mapping[Side, Facts], base: RuleBase
) -> tuple[list[Wanted], Leaning | None]:  # fmt: skip
    """An alteration on the sides that it is for; and the lean, as far as it still waits to be answered.

    Args:
        item: what is wanted.
        leaning: the lacing edge that leans, until something has answered it.
        facts: what is known by now; facts_of: the facts by side.
        base: the rule base.
    """
    item = _of_the_whole(item, leaning, facts_of, settings=base.settings)
    lean = leaning if _leans_there(item, facts) else None
    exchange = _exchanged(item, base) if leaning is not None else []
    made = exchange or _on_their_sides(item, lean or _one_sided(item, facts_of, base.settings), base.settings)
    return made, None if lean is not None and any(one.side != "both" for one in made) else leaning


def _on_their_sides(item: Wanted, leaning: Leaning | None, settings: Settings) -> list[Wanted]:
    """A change of girth given to the sides that lack it: as a rule to both alike.

    Where one lacing edge leans, the halves differ by what it leans, and the leaning one has met more body: of a change
    c (take in above 0) and a difference d it takes (c - d) / 2 and the other side (c + d) / 2. A share within the
    dead-band is left.
    """
    if leaning is None or item.side != "both" or item.alteration.kind != "girth" or item.profile["waist"]:
        return [item]
    most = max(item.asked.values(), key=abs)
    leans = leaning.by_mm if leaning.by_mm is not None else abs(most)
    other: Side = "right" if leaning.side == "left" else "left"
    shares: list[tuple[Side, float]] = [(leaning.side, (most - leans) / 2.0), (other, (most + leans) / 2.0)]
    least = settings.mm("dead-band") / 2.0 + NOISE_MM
    meant = [(side, mm / most) for side, mm in shares if abs(mm) > least and mm * most > 0.0]
    made = [_on_side(item, side, part, settings=settings) for side, part in meant]
    return [one for one in made if any(one.profile.values())] or [item]


def _of_the_whole(
    item: Wanted, leaning: Leaning | None, facts_of: Mapping[Side, Facts], settings: Settings
) -> Wanted:  # fmt: skip
    """A change of girth that the gap asks for, on both sides alike: the gap is of the whole garment.

    One sign on one side does not put it there; a lacing edge that leans to that side does, or several signs.
    """
    if item.side == "both" or not item.read or LEANS in item.choice.amount:
        return item
    sided = leaning or _one_sided(item, facts_of, settings)
    if sided is not None and sided.side == item.side:
        return item
    others = tuple(_whole(one, settings) for one in item.others)
    return replace(_whole(item, settings), others=others)


def _whole(item: Wanted, settings: Settings) -> Wanted:
    return limited(replace(item, side="both", profile=dict(item.asked), capped=False), settings) if item.read else item


def _leans_there(item: Wanted, facts: Facts) -> bool:
    """Whether the lean may be where a change of girth is made; which end it is at may not be known."""
    below = facts.get(LEANS_BELOW)
    most = max(item.profile, key=lambda station: abs(item.profile[station]))
    if item.alteration.kind != "girth" or below is None or most == "waist":
        return True
    return (below == "yes") == (most in ("hip", "bottom"))


def _exchanged(item: Wanted, base: RuleBase) -> list[Wanted]:
    """What a leaning half is given, and as much given up by the other half at the same stations.

    Nothing where the change is not worked out from the lean, or no alteration does the opposite.
    """
    if item.side == "both" or LEANS not in item.choice.amount:
        return []
    way = {"in": "out", "out": "in"}.get(item.alteration.direction)
    named = named_stations(item.alteration)
    back = next(
        (
            one for one in base.entries.alterations.values()
            if one.kind == "girth" and one.direction == way and named and named_stations(one) == named
        ),
        None,
    )  # fmt: skip
    if back is None:
        return []
    profile = {station: -change for station, change in item.asked.items()}
    choice = item.choice.model_copy(update={"alteration": back.id})
    side: Side = "right" if item.side == "left" else "left"
    other = replace(item, alteration=back, choice=choice, side=side, profile=profile, asked=profile, others=())
    own = replace(item, others=(), exchanged=True)
    return [own, limited(replace(other, exchanged=True), base.settings)]


class Leaning(Struct, frozen=True):
    """The side whose lacing edge leans, and by how much more than the other's; None where nobody measured it."""

    side: Side
    by_mm: float | None


def _one_sided(item: Wanted, facts_of: Mapping[Side, Facts], settings: Settings) -> Leaning | None:
    """The side on which alone all the sided signs of a cause show, where there are enough of them."""
    if not {"left", "right"} <= facts_of.keys():
        return None
    shown = [
        {side for side in ("left", "right") if facts_of[side].get(one.finding) == "yes"} for one in item.cause.for_
    ]
    for side in ("left", "right"):
        if sum(sides == {side} for sides in shown) >= settings.mm("signs-for-a-side"):
            other = "right" if side == "left" else "left"
            if {other} not in shown:
                return Leaning("left" if side == "left" else "right", None)
    return None


def leaning_of(facts_of: Mapping[Side, Facts]) -> Leaning | None:
    """The lacing edge that leans; None where neither or both do."""
    sides: tuple[Side, ...] = ("left", "right")
    found = [side for side in sides if facts_of.get(side, {}).get(LEANS) == "yes"]
    if len(found) != 1:
        return None
    by_mm = facts_of[found[0]].get(f"{LEANS}.amount")
    return Leaning(found[0], by_mm if isinstance(by_mm, float) else None)


def _on_side(item: Wanted, side: Side, share: float, settings: Settings) -> Wanted:
    profile = {station: change * share for station, change in item.asked.items()}
    others = tuple(
        _on_side(one, side, share, settings=settings) for one in item.others if one.alteration.kind == "girth"
    )
    sided = replace(item, side=side, profile=profile, asked=profile, capped=False, others=others)
    return limited(sided, settings)


def for_each_lacing(
    reading: GapReading, wanted: Sequence[Wanted], causes: Sequence[CauseFound], base: RuleBase, seams: int | None
) -> list[Wanted]:
    """The shape of the front's and of the back's gap taken out of the pieces of that part.

    Only the shape: how much wider than the other a part is all the way down is a matter of how the two share the girth.
    What the alterations of the whole girth already take goes half to each.

    Args:
        reading: the gap, with the front's part of it.
        wanted: the alterations wanted already.
        causes: all causes, ranked.
        base: the rule base.
        seams: the seams of one half, where known.
    """
    step = base.settings.mm("shape-step")
    choice = next((one for one in base.entries.causes[SHARE].alterations if "each" in one.stations), None)
    cause = next((one for one in causes if one.id == SHARE), None)
    if choice is None or cause is None:
        return []
    parts: tuple[Part, ...] = ("front", "back")
    made: dict[Part, Wanted] = {}
    for part in parts:
        shape = reading.part_shapes.get(part)
        if shape in (None, "parallel"):
            continue
        done = {s: sum(item.profile[s] for item in wanted) / 2.0 for s in STATIONS}
        left = {s: -excess - done[s] for s, excess in reading.parts[part].items()}
        mean = sum(left.values()) / len(left)
        own = {s: change - mean for s, change in left.items()}
        if max(own.values()) - min(own.values()) < step:
            continue
        profile = run_between(own, station_heights(base.settings))
        item = Wanted(
            alteration=base.entries.alterations[choice.alteration], choice=choice, cause=cause, side="both",
            amount=Amount(), profile=profile, capped=False, read=frozenset(own), seams=seams, asked=profile, part=part,
        )  # fmt: skip
        made[part] = limited(item, base.settings)
    if not made:
        return []
    first = max(made.values(), key=lambda item: abs(item.amount.whole_mm or 0.0))
    profile = {s: sum(item.profile[s] for item in made.values()) for s in STATIONS}
    each = {part: item.profile for part, item in made.items()}
    capped = any(item.capped for item in made.values())
    return [replace(first, profile=profile, part=None, parts=each, capped=capped)]
