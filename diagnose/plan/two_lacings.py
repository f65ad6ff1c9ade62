"""A garment that laces front and back: what the shape of each gap asks of the pieces beside it."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import Amount, CauseFound
from diagnose.model.tryon import STATIONS
from diagnose.plan.choosing import Part, Wanted, limited
from diagnose.plan.profiles import run_between, station_heights
from diagnose.rulebase.base import RuleBase

__all__ = ["for_each_lacing"]

SHARE = "front-back-share-wrong"


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
