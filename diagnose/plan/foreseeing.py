"""The gap foreseen: what each step is expected to leave at every station read, and what that spoils."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.gap.reading import GapReading
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.give import Learnt
from diagnose.units import both

__all__ = ["Foreseen"]

LEAST_UNDONE_MM = 2.5


class Foreseen(Struct, frozen=True):
    """The gap at each station read, as it will be when what has been planned so far is done.

    Attributes:
        apart_mm: how far the edges stand apart; a lap counts below 0.
        target_mm: what is aimed at.
        shows: the part of a change of girth that shows in this wearer's gap.
        settings: the dead-band and the unit.
        done_mm: what the steps before have changed of the whole girth, take in positive.
    """

    apart_mm: Mapping[Station, float]
    target_mm: Mapping[Station, float]
    shows: Mapping[Station, float]
    settings: Settings
    done_mm: Mapping[Station, float] = field(default_factory=dict)

    @classmethod
    def read(cls, reading: GapReading, learnt: Learnt, settings: Settings) -> Foreseen:
        """The gap as it was read, with nothing done yet."""
        give = {name: found.share for name, found in learnt.give.items() if found.used(settings)}
        return cls(
            apart_mm={name: station.apart_mm for name, station in reading.stations.items()},
            target_mm={name: station.target_mm for name, station in reading.stations.items()},
            shows={name: give.get(name, 1.0) for name in reading.stations},
            settings=settings,
        )

    def after(self, profile: Mapping[Station, float]) -> Foreseen:
        """The gap after a change of the whole girth, take in positive."""
        moved = {s: gap + profile.get(s, 0.0) * self.shows[s] for s, gap in self.apart_mm.items()}
        done = {s: self.done_mm.get(s, 0.0) + profile.get(s, 0.0) for s in STATIONS}
        return replace(self, apart_mm=moved, done_mm=done)

    def aimed_at(self, profile: Mapping[Station, float]) -> Foreseen:
        """The gap held against what a change of the whole girth would bring, whatever the target."""
        return replace(self, target_mm=self.after(profile).apart_mm)

    def undone_by(self, profile: Mapping[Station, float]) -> bool:
        """Whether a change takes back, anywhere, what the steps before have done there."""
        return any(
            done * profile.get(station, 0.0) < 0.0 and min(abs(done), abs(profile[station])) > LEAST_UNDONE_MM
            for station, done in self.done_mm.items()
        )

    @property
    def gap_mm(self) -> dict[Station, float]:
        """The gap as it will be read: edges that would lap are closed."""
        return {name: round(max(0.0, apart), 2) for name, apart in self.apart_mm.items()}

    def off_mm(self, station: Station) -> float:
        """How much wider than its target the gap is; below 0 where it is narrower."""
        return self.apart_mm[station] - self.target_mm[station]

    @property
    def whole_off_mm(self) -> float:
        """How far off the whole gap is: the misses beyond the dead-band, all stations together."""
        band = self.settings.mm("dead-band")
        return sum(max(0.0, abs(self.off_mm(station)) - band) for station in self.apart_mm)

    def spoilt_by(self, later: Foreseen) -> tuple[Station, ...]:
        """The stations that a step takes from their target, or farther from it, by more than lacing twice would."""
        band, least = self.settings.mm("dead-band"), self.settings.mm("dead-band") / 2.0
        worse = {s: (abs(later.off_mm(s)), abs(self.off_mm(s))) for s in self.apart_mm}
        return tuple(s for s, (now, was) in worse.items() if now > band + NOISE_MM and now > was + least + NOISE_MM)

    def losses(self, later: Foreseen) -> Iterator[str]:
        """What a step spoils, station by station, in words."""
        for station in self.spoilt_by(later):
            off = later.off_mm(station)
            way = "wider" if off > 0.0 else "narrower"
            yield (
                f"At the {station} this leaves the gap {both(abs(off), self.settings.unit)} {way} than its target: look"
                " there first at the next try-on."
            )
