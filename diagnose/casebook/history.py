"""The try-ons of a case side by side: where the gap stood and was to stand, what was done between, what came of it.

Lengths are millimetres of the whole gap; edges that lap count below 0. A miss is gap less prediction: positive where
the gap came out wider than the plan said.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct, field

from diagnose.casebook.case import Case, PatternVersion, StoredTryOn
from diagnose.casebook.readings import Reading, gap_readings, predicted_gap, signs
from diagnose.errors import one_line
from diagnose.model.case_files import Skipped
from diagnose.units import Unit

__all__ = ["History", "HistoryRound", "HistoryStation", "StepDone", "history", "line_of", "steps_beyond"]


class HistoryStation(Struct, frozen=True):
    """One station at one try-on.

    Attributes:
        gap_mm: as read; a known lap counts below 0.
        at_least: the gap was closed and its lap not known: it may be less than `gap_mm`.
        target_mm: None when none is known.
        predicted_mm: what the plan before said it would be after the steps that were done; None without such a step.
        miss_mm: gap less prediction.
        flagged: the miss is over the threshold, and a closed gap before does not explain it.
    """

    gap_mm: float
    at_least: bool
    target_mm: float | None
    predicted_mm: float | None
    miss_mm: float | None
    flagged: bool


class StepDone(Struct, frozen=True):
    """A plan step that was done: in which version, of which try-on's plan; the alteration is empty when not known.

    `drawn` is the step as the plan has it, or as it was drawn where another way was taken.
    """

    version: int
    tryon: int | None
    step: str
    alteration: str
    drawn: Mapping[str, Any] = {}

    @property
    def by_hand(self) -> bool:
        """Done on the toile, the bones or the lacing, and drawn nowhere."""
        return self.drawn.get("drawn") is False


class HistoryRound(Struct, frozen=True):
    """One try-on against the one before it.

    Attributes:
        tryon: its number.
        date: its day.
        pattern_version: the version tried on.
        stations: top to bottom.
        done: the steps done since the try-on before.
        undone: the steps that going back to an older version has taken out again.
        skipped: the steps of its own plan that were not done, and why.
        went_back: the version tried on does not come from the one tried on before.
        came: signs seen now and not before.
        went: signs seen before, looked for now and absent.
        not_looked_for: signs seen before and not looked for now.
        planned: the alterations of its own plan's first round, by the ids of the steps.
        left: of those of the plan before, by the ids of the steps, what was neither done nor said to be skipped.
    """

    tryon: int
    date: str
    pattern_version: int
    stations: Mapping[str, HistoryStation]
    done: tuple[StepDone, ...]
    undone: tuple[StepDone, ...]
    skipped: tuple[Skipped, ...]
    went_back: bool
    came: tuple[str, ...]
    went: tuple[str, ...]
    not_looked_for: tuple[str, ...]
    planned: Mapping[str, str] = field(default_factory=dict)
    left: Mapping[str, str] = field(default_factory=dict)


class History(Struct, frozen=True):
    """All rounds, oldest first, and the steps done since the last."""

    name: str
    unit: Unit
    rounds: tuple[HistoryRound, ...]
    versions: tuple[PatternVersion, ...]
    done_since: tuple[StepDone, ...]

    @property
    def flagged(self) -> tuple[tuple[int, str], ...]:
        """The try-ons and stations whose miss is flagged."""
        return tuple((r.tryon, name) for r in self.rounds for name, station in r.stations.items() if station.flagged)


def history(case: Case, reopen_miss_mm: float | None = None) -> History:
    """The case's try-ons side by side.

    Args:
        case: the case.
        reopen_miss_mm: a miss greater than this is flagged (the setting `reopen-miss`); None flags none.

    Raises:
        FitError: when the readings of a try-on without a plan are none.
    """
    before = (None, *case.tryons)
    rounds = tuple(
        _round(case, old, new, reopen_miss_mm=reopen_miss_mm) for old, new in zip(before, case.tryons, strict=False)
    )
    tried = case.version(case.tryons[-1].pattern_version if case.tryons else 1)
    return History(
        case.name, case.unit, rounds, versions=case.versions, done_since=steps_beyond(case, case.newest, tried)
    )


def _round(case: Case, before: StoredTryOn | None, now: StoredTryOn, reopen_miss_mm: float | None) -> HistoryRound:
    tried, tried_before = case.version(now.pattern_version), case.version(before.pattern_version if before else 1)
    done, undone = steps_beyond(case, tried, tried_before), steps_beyond(case, tried_before, tried)
    went_back = tried_before.number not in {version.number for version in line_of(case, tried)}
    earlier = gap_readings(case, before) if before else {}
    steps = {step.step: step.drawn for step in done if before and step.tryon == before.number}
    predicted = predicted_gap(before, earlier, steps) if before and not went_back else {}
    stations = {
        name: _station(reading, predicted.get(name), earlier.get(name), reopen_miss_mm=reopen_miss_mm)
        for name, reading in gap_readings(case, now).items()
    }
    came, went, not_looked_for = _changed(signs(before) if before else {}, signs(now))
    settled = {*steps, *(one.step for one in (before.skipped if before else ()))}
    left = {step: title for step, title in _first_round(before).items() if step not in settled}
    return HistoryRound(
        now.number, now.date, now.pattern_version, stations=stations, done=done, undone=undone, skipped=now.skipped,
        went_back=went_back, came=came, went=went,
        not_looked_for=not_looked_for, planned=_first_round(now), left=left,
    )  # fmt: skip


def _first_round(tryon: StoredTryOn | None) -> dict[str, str]:
    rows = tryon.first_round if tryon else ()
    return {one_line(str(row.get("id") or "")): one_line(str(row.get("alteration") or "")) for row in rows}


def steps_beyond(case: Case, version: PatternVersion, other: PatternVersion) -> tuple[StepDone, ...]:
    """The steps that went into one version and not into the other."""
    known = {one.number for one in line_of(case, other)}
    return tuple(step for one in line_of(case, version) if one.number not in known for step in _steps_of(case, one))


def line_of(case: Case, version: PatternVersion) -> tuple[PatternVersion, ...]:
    """The versions from the one it all began with to this one, each made from the one before it."""
    line = [version]
    while line[-1].made_from is not None:
        line.append(case.version(line[-1].made_from))
    return tuple(reversed(line))


def _steps_of(case: Case, version: PatternVersion) -> list[StepDone]:
    of = version.done.tryon
    planned = [*(case.tryon(of).steps if of else ()), *version.done.otherwise]
    drawn = {str(step.get("id")): step for step in planned}
    return [
        StepDone(version.number, of, name, alteration=one_line(str(step.get("alteration") or "")), drawn=step)
        for name, step in ((name, drawn.get(name, {})) for name in version.done.steps)
    ]


def _station(
    now: Reading, predicted_mm: float | None, before: Reading | None, reopen_miss_mm: float | None
) -> HistoryStation:
    """One station; after a closed gap whose lap was not known, to come out narrower than predicted is explained."""
    miss_mm = None if predicted_mm is None else round(now.gap_mm - predicted_mm, 3)
    explained = before is not None and before.at_least and miss_mm is not None and miss_mm < 0
    flagged = miss_mm is not None and reopen_miss_mm is not None and abs(miss_mm) > reopen_miss_mm and not explained
    return HistoryStation(
        now.gap_mm, now.at_least, now.target_mm, predicted_mm=predicted_mm, miss_mm=miss_mm, flagged=flagged
    )


def _changed(before: Mapping[str, bool], now: Mapping[str, bool]) -> tuple[tuple[str, ...], ...]:
    """The signs that came, that went, and that were there before and were not looked for now."""
    seen = [sign for sign, shown in before.items() if shown]
    came = tuple(sign for sign, shown in now.items() if shown and sign not in seen)
    went = tuple(sign for sign in seen if now.get(sign) is False)
    return came, went, tuple(sign for sign in seen if sign not in now)
