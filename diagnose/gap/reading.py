"""The lacing gap: what was read, what was aimed at, what shape it has, and what change of girth would mend it.

All lengths are millimetres of the whole gap, edge to edge. The change wanted at a station is target less gap: take in
is positive, let out negative. A closed gap says "at least", unless it is known how far the edges would lap.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.gap.range import GapRange, Today, take_in_over_range
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station

if TYPE_CHECKING:
    from diagnose.model.tryon import TryOn

__all__ = [
    "GapReading", "Readings", "StationGap", "change_facts", "gap_facts", "gap_of", "read_gap", "shape_of", "today_of",
    "usual_targets",
]  # fmt: skip


class Readings(Struct, frozen=True):
    """What a gap is worked out from: all in mm by station, and what is known of garment and body.

    Attributes:
        gap: whole, edge to edge; overlap: how far closed edges would lap; target: the gap aimed at.
        front: the front's part of the gap, where a garment laces front and back.
        meets: the edges are meant to meet.
        today, changes_by_mm: where today stands in a range of the body, and how wide that is; None for one that stays.
    """

    gap: Mapping[Station, float]
    overlap: Mapping[Station, float] = field(default_factory=dict)
    target: Mapping[Station, float] = field(default_factory=dict)
    front: Mapping[Station, float] = field(default_factory=dict)
    meets: bool = False
    today: Today = "usual"
    changes_by_mm: float | None = None


class StationGap(Struct, frozen=True):
    """One station: the gap as read, how far the edges would lap, the target, and the change of girth wanted."""

    gap_mm: float
    target_mm: float
    change_mm: float
    closed: bool
    at_least: bool
    overlap_mm: float = 0.0

    @property
    def apart_mm(self) -> float:
        """How far the edges stand apart; a lap counts below 0."""
        return self.gap_mm - self.overlap_mm

    @property
    def excess_mm(self) -> float:
        """Gap (a lap counts below 0) less target: positive is wider than aimed at."""
        return -self.change_mm


class GapReading(Struct, frozen=True):
    """All stations that were read, top to bottom, and the shape they make.

    `part_shapes` are those of the front's and of the back's gap, each for itself; none where they were not told apart.
    """

    shape: str | None
    stations: Mapping[Station, StationGap]
    presumed_target: bool
    front: Mapping[Station, float]
    part_shapes: Mapping[str, str | None] = field(default_factory=dict)

    @property
    def changes(self) -> list[float]:
        """The change wanted at each station read, top to bottom."""
        return [station.change_mm for station in self.stations.values()]

    @property
    def parts(self) -> dict[str, dict[Station, float]]:
        """Where a garment laces front and back: how much wider than its half of the target each part is.

        Only stations at which the front's part was told; nothing with fewer than two of them.
        """
        told = {name: one for name, one in self.stations.items() if name in self.front}
        if len(told) < 2:
            return {}
        front = {name: self.front[name] - one.target_mm / 2.0 for name, one in told.items()}
        return {"front": front, "back": {name: one.excess_mm - front[name] for name, one in told.items()}}

    @property
    def at_least(self) -> bool:
        """Whether any station was closed with its lap not known."""
        return any(station.at_least for station in self.stations.values())

    def settled(self, dead_band_mm: float) -> bool:
        """Whether every station is within the dead-band of its target, and none is closed against an open one."""
        return bool(self.stations) and all(abs(change) < dead_band_mm for change in self.changes)


def read_gap(tryon: TryOn, settings: Settings) -> GapReading:
    """The gap of a try-on against its target."""
    return gap_of(_readings_of(tryon), settings)


def _readings_of(tryon: TryOn) -> Readings:
    """What of a try-on the gap is worked out from."""
    return Readings(
        tryon.gap, tryon.overlap, tryon.target or {}, front=tryon.gap_front,
        meets=tryon.meets, today=today_of(tryon),
        changes_by_mm=tryon.wearer.changes_by_mm,
    )  # fmt: skip


def gap_of(readings: Readings, settings: Settings) -> GapReading:
    """The gap against its target.

    The target of a station is the one given for it, else the mean of those given, else the usual one; a garment that
    is meant to meet has the target 0.
    """
    target, gap = readings.target, readings.gap
    usual = usual_targets(settings)
    if target or readings.meets:
        usual = dict.fromkeys(STATIONS, sum(target.values()) / len(target) if target else 0.0)
    found: dict[Station, StationGap] = {}
    for station in STATIONS:
        if station in gap:
            lap = readings.overlap.get(station)
            aimed = _today(
                readings, gap[station] - (lap or 0.0), target.get(station, usual[station]), settings=settings
            )
            found[station] = _station(gap[station], lap, aimed)
    shape = shape_of({name: s.excess_mm for name, s in found.items()}, settings.mm("shape-step"))
    if found and all(station.closed for station in found.values()) and shape == "parallel":
        shape = "closed"
    made = GapReading(shape, found, not target and not readings.meets, front=dict(readings.front))
    step = settings.mm("shape-step")
    return replace(made, part_shapes={name: shape_of(excess, step) for name, excess in made.parts.items()})


def _today(readings: Readings, gap_mm: float, target_mm: float, settings: Settings) -> float:
    """What the gap should read today: for a body that changes, so that it keeps inside its limits over her range."""
    changes = readings.changes_by_mm
    if not changes or not target_mm:
        return target_mm
    limits = GapRange(min(settings.mm("gap-narrowest"), target_mm), max(settings.mm("gap-widest"), target_mm))
    best = take_in_over_range(gap_mm, target_mm, readings.today, changes_by_mm=changes, limits=limits).best_mm
    return max(0.0, gap_mm + best)


def today_of(tryon: TryOn) -> Today:
    """Where today stands in her range, as told; usual when nothing is."""
    if tryon.wearer.today is not None:
        return tryon.wearer.today
    return "largest" if tryon.known.get("largest-today") else "usual"


def usual_targets(settings: Settings) -> dict[Station, float]:
    """The gap aimed at where none was planned: one at the waist, and as much wider at the ends as the settings say.

    Between them it widens evenly with the height.
    """
    waist, top, bottom = settings.mm("target-gap"), settings.mm("target-wider-top"), settings.mm("target-wider-bottom")
    wider: dict[Station, float] = {
        "top": top,
        "underbust": top * settings.mm("height-underbust") / settings.mm("height-top"),
        "waist": 0.0,
        "hip": bottom * settings.mm("height-hip") / settings.mm("height-bottom"),
        "bottom": bottom,
    }
    return {station: max(0.0, waist + more) for station, more in wider.items()}


def _station(gap_mm: float, lap_mm: float | None, target_mm: float) -> StationGap:
    closed = gap_mm == 0
    change = round(target_mm - gap_mm + (lap_mm or 0.0), 3)
    at_least = closed and lap_mm is None and target_mm > 0
    return StationGap(gap_mm, target_mm, change, closed=closed, at_least=at_least, overlap_mm=lap_mm or 0.0)


def shape_of(excess: Mapping[Station, float], step_mm: float) -> str | None:
    """The shape of a gap, by what stands out most; None with fewer than two stations.

    Args:
        excess: gap less target at each station read.
        step_mm: from which difference the gap counts as shaped.
    """
    if len(excess) < 2:
        return None
    measures = shape_measures(excess)
    named = {
        "widens-downward": measures.get("gap-fall", 0.0),
        "widens-upward": -measures.get("gap-fall", 0.0),
        "widest-at-waist": measures.get("gap-waist-over-ends", 0.0),
        "narrowest-at-waist": measures.get("gap-ends-over-waist", 0.0),
    }
    shape, most = max(named.items(), key=lambda item: item[1])
    return shape if most >= step_mm - 1e-6 else "parallel"


def shape_measures(excess: Mapping[Station, float]) -> dict[str, float]:
    """The figures that tell the shape: fall from the first to the last station, and the waist against the ends."""
    values = list(excess.values())
    measures = {"gap-fall": values[-1] - values[0], "gap-spread": max(values) - min(values)}
    if "waist" in list(excess)[1:-1]:
        waist = excess["waist"]
        measures["gap-waist-over-ends"] = waist - max(values[0], values[-1])
        measures["gap-ends-over-waist"] = min(values[0], values[-1]) - waist
    return measures


def change_facts(changes: Sequence[float]) -> dict[str, float]:
    """What the changes wanted at the stations, mm, come to together; at least one."""
    most, mean = max(changes, key=abs), sum(changes) / len(changes)
    return {
        "change-mean": mean,
        "change-most": most,
        "change-least": min(changes, key=abs),
        "gap-average": -mean,
        "largest-girth-change": abs(most),
    }


def gap_facts(reading: GapReading) -> dict[str, float]:
    """The facts about the gap that rules may name, in mm (counts are plain numbers)."""
    if not reading.stations:
        return {}
    excess = {name: station.excess_mm for name, station in reading.stations.items()}
    facts = {
        "gap-closed-at": float(sum(station.closed for station in reading.stations.values())),
        "gap-widest": max(station.gap_mm for station in reading.stations.values()),
        **change_facts(reading.changes),
    }
    for name, station in reading.stations.items():
        facts[f"gap-{name}"] = station.apart_mm
        facts[f"change-{name}"] = station.change_mm
    return facts | (shape_measures(excess) if len(excess) > 1 else {})
