"""What a body that changes does to the gap, in words: the gap over her range, now and after the first round."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.gap.range import GapRange, gap_range
from diagnose.gap.reading import GapReading, today_of
from diagnose.model.stations import Station
from diagnose.model.tryon import TryOn
from diagnose.rulebase.base import RuleBase
from diagnose.units import Unit, both

__all__ = ["range_lines"]

STANDS = {"smallest": "at its smallest", "usual": "midway", "largest": "at its largest"}


def range_lines(
    tryon: TryOn, reading: GapReading, predicted: Mapping[Station, float], base: RuleBase, unit: Unit
) -> Iterator[str]:
    """How the gap runs over her range; nothing for a body that stays as it is.

    Args:
        tryon: says by how much the body changes, and where it stands today.
        reading: the gap of today; predicted: after the first round, by station.
        base: for the limits; unit: the maker's.
    """
    changes_mm, today = tryon.wearer.changes_by_mm, today_of(tryon)
    if not changes_mm or not reading.stations:
        return
    narrowest, widest = base.settings.mm("gap-narrowest"), base.settings.mm("gap-widest")
    yield (
        f"The body changes by {both(changes_mm, unit)} from smallest to largest, and stands {STANDS[today]} "
        f"today. The gap is to stay between {both(narrowest, unit)} and {both(widest, unit)} over all of that."
    )
    for name, one in reading.stations.items():
        after = gap_range(predicted.get(name, one.apart_mm), today, changes_mm)
        changed = f"it runs from {_run(gap_range(one.apart_mm, today, changes_mm), unit)}"
        if name in predicted:
            changed += f", and after this round from {_run(after, unit)}"
        yield f"At the {name} {changed}{_misses(after, GapRange(narrowest, widest), unit)}."


def _run(run: GapRange, unit: Unit) -> str:
    least = f"a lap of {both(-run.narrowest_mm, unit)}" if run.narrowest_mm < 0 else both(run.narrowest_mm, unit)
    return f"{least} to {both(run.widest_mm, unit)}"


def _misses(run: GapRange, limits: GapRange, unit: Unit) -> str:
    """What of the range still lies outside the limits."""
    if run.inside(limits):
        return ""
    ends = {
        "too narrow on her smallest days": limits.narrowest_mm - run.narrowest_mm,
        "too wide on her largest": run.widest_mm - limits.widest_mm,
    }
    return "; " + " and ".join(f"{both(by, unit)} {what}" for what, by in ends.items() if by > 1e-6)
