"""What earlier rounds teach of this wearer: how much of a take-in shows in her gap, and what a miss may mean.

A take-in of the girth by w opens the gap by w only on a body that does not yield. The share that shows at a station is
her *give* there: a normal estimate around 1 (nothing known) that each pair of readings moves and makes surer. The plain
arithmetic is never hidden: a step whose amount was changed by it says both figures.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from msgspec import Struct, field

from diagnose.gap.reading import change_facts
from diagnose.model.settings import Settings
from diagnose.model.stations import Station
from diagnose.rulebase.neutral import Facts
from diagnose.units import both

__all__ = ["Give", "Learnt", "Observed", "give_notes", "give_of", "miss_facts", "scaled_changes"]


class Observed(Struct, frozen=True):
    """One alteration tried on: the girth taken in at a station and how much wider the gap became, mm."""

    station: Station
    planned_mm: float
    measured_mm: float


class Give(Struct, frozen=True):
    """The share of a take-in that shows in the gap at a station, and the standard deviation of what is known of it."""

    share: float
    sd: float

    def used(self, settings: Settings) -> bool:
        """Whether it is sure enough, and different enough from 1, to change an amount."""
        return self.sd <= settings.mm("give-sure") and abs(self.share - 1.0) > self.sd


class Learnt(Struct, frozen=True):
    """What the rounds before teach.

    Attributes:
        give: by station, where an alteration has been tried on.
        miss_mm: the gap less what was foreseen, by station, at this try-on; empty when nothing was foreseen.
        causes: the causes whose steps were done before this try-on.
        done_mm: the change of the whole girth that those steps made, by station.
    """

    give: Mapping[Station, Give] = field(default_factory=dict)
    miss_mm: Mapping[str, float] = field(default_factory=dict)
    causes: tuple[str, ...] = ()
    done_mm: Mapping[str, float] = field(default_factory=dict)


def give_of(observed: Iterable[Observed], settings: Settings) -> dict[Station, Give]:
    """The give at each station: prior 1 ± `give-spread`, each change of gap read to ± `reading-spread` twice over.

    The conjugate normal estimate: with planned x and measured y of known error s, the mean is
    (1/p² + Σxy/s²) / (1/p² + Σx²/s²) and the variance the inverse of the divisor.
    """
    prior = 1.0 / settings.mm("give-spread") ** 2
    error = 2.0 * settings.mm("reading-spread") ** 2
    sums: dict[Station, tuple[float, float]] = {}
    for one in observed:
        weight, moved = sums.get(one.station, (prior, prior))
        sums[one.station] = (
            weight + one.planned_mm**2 / error,
            moved + one.planned_mm * one.measured_mm / error,
        )
    return {station: Give(moved / weight, 1.0 / math.sqrt(weight)) for station, (weight, moved) in sums.items()}


def scaled_changes(facts: Facts, give: Mapping[Station, Give], settings: Settings) -> dict[str, float]:
    """The facts of change with each station's own divided by her give there, where that is used."""
    changes = {name: value for name, value in facts.items() if name.startswith("change-") and isinstance(value, float)}
    own = {f"change-{station}": one.share for station, one in give.items() if one.used(settings) and one.share > 0}
    touched = {name: value / own[name] for name, value in changes.items() if name in own}
    if not touched:
        return {}
    stations = [touched.get(name, value) for name, value in changes.items() if name.split("-", 1)[1] not in SUMMARIES]
    return touched | change_facts(stations)


SUMMARIES = ("mean", "most", "least")
DRAWN_MM = 1.0
"""A change of the whole girth that is less is not drawn on any line."""


def miss_facts(miss_mm: Mapping[str, float], done_mm: Mapping[str, float] | None = None) -> dict[str, str | float]:
    """The facts that the entries of ``misses.yaml`` may name: miss by station, mean, spread, the waist apart, and what
    moved where nothing had been altered.
    """
    if not miss_mm:
        return {}
    done = done_mm or {}
    values = list(miss_mm.values())
    facts: dict[str, str | float] = {f"miss-{name}": value for name, value in miss_mm.items()}
    facts |= {
        "miss-mean": sum(values) / len(values),
        "miss-most": max(values, key=abs),
        "miss-size": max(map(abs, values)),
        "miss-spread": max(values) - min(values),
        "miss-highest": max(values),
        "miss-unaltered": max((abs(miss) for name, miss in miss_mm.items() if abs(done.get(name, 0.0)) < DRAWN_MM),
                              default=0.0),
        "done-waist": done.get("waist", 0.0),
    }  # fmt: skip
    others = [value for name, value in miss_mm.items() if name != "waist"]
    if "waist" in miss_mm and others:
        facts["miss-waist-apart"] = miss_mm["waist"] - sum(others) / len(others)
    return facts


def give_notes(
    profile: Mapping[Station, float], learnt: Learnt, settings: Settings, asked: Mapping[Station, float] | None = None
) -> tuple[str, ...]:
    """For each station whose amount was changed by her give: the plain arithmetic, her give, and the amount drawn.

    Args:
        profile: what is drawn of the whole girth, by station.
        learnt: her give.
        settings: for unit and ruler.
        asked: what was asked for before a round's limit cut it, where that may be more.
    """
    notes = []
    for station, give in learnt.give.items():
        drawn = profile.get(station, 0.0)
        if give.used(settings) and drawn:
            wanted, unit = (asked or {}).get(station, drawn), settings.unit
            is_cut = abs(wanted) - abs(drawn) > 2.0 * settings.ruler_mm
            wanted = wanted if is_cut else drawn
            now = f", of which {both(abs(drawn) / 2, unit)} now" if is_cut else ""
            notes.append(
                f"By plain arithmetic {both(abs(wanted * give.share) / 2, unit)} a half at the {station}; of earlier "
                f"changes {give.share:.2f} ± {give.sd:.2f} has shown in this wearer's gap there, "
                f"so {both(abs(wanted) / 2, unit)}{now}."
            )
    return tuple(notes)
