"""What a case's earlier rounds teach for its next diagnosis."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, cast

from diagnose import casebook
from diagnose.casebook import Case, HistoryRound, StoredTryOn
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.plan.give import Give, Learnt, Observed, give_of

__all__ = ["alike", "give_shown", "learnt_before"]


def learnt_before(
    case: Case, number: int, answers: Mapping[str, Any], gap_mm: dict[str, float], settings: Settings
) -> Learnt:
    """What the rounds before try-on `number` teach, and by how much its own gap misses what was foreseen.

    Args:
        case: the case; number: of the try-on that is being worked out (it need not be stored yet).
        answers: its answers; gap_mm: its gap by station; settings: the case's.
    """
    from diagnose.casebook.readings import gap_readings, predicted_gap

    stored = case.tryons[: number - 1]
    if not stored:
        return Learnt()
    observed = list(_between(stored, casebook.history(case).rounds))
    last = stored[-1]
    worn = case.version(case.tryons[number - 1].pattern_version) if number <= len(case.tryons) else case.newest
    steps_done = casebook.steps_beyond(case, worn, case.version(last.pattern_version))
    done = {step.step: step.drawn for step in steps_done if step.tryon == last.number}
    readings = gap_readings(case, last)
    closed = {name for name, reading in readings.items() if reading.at_least}
    foreseen = predicted_gap(last, readings, done)
    miss = {name: round(gap_mm[name] - foreseen[name], 2) for name in gap_mm if name in foreseen and name not in closed}
    steps = [step for step in last.steps if str(step.get("id")) in done]
    planned = _planned(done.values())
    observed += [
        Observed(cast(Station, name), planned[name], gap_mm[name] - readings[name].gap_mm)
        for name in miss
        if planned.get(name) and alike(last.answers, answers)
    ]
    causes = tuple(dict.fromkeys(str(step.get("cause")) for step in steps))
    return Learnt(give_of(observed, settings), miss, causes, done_mm=planned)


def give_shown(case: Case, rounds: Sequence[HistoryRound], settings: Settings) -> Mapping[Station, Give]:
    """What all stored rounds show of how much of a change shows in her gap, by station."""
    return give_of(_between(case.tryons, rounds), settings)


def _between(stored: Sequence[StoredTryOn], rounds: Sequence[HistoryRound]) -> Iterator[Observed]:
    """What the stored try-ons show from each to the next; `rounds` are those of the case from the first on."""
    for before, now, round_ in zip(stored, stored[1:], rounds[1:], strict=False):
        if alike(before.answers, now.answers):
            yield from _observed(before, round_)


def alike(before: Mapping[str, Any], now: Mapping[str, Any]) -> bool:
    """Whether two gaps may be compared: read at one pull, on a body that stood alike in its range."""
    return _pull_and_body(before) == _pull_and_body(now)


def _pull_and_body(answers: Mapping[str, Any]) -> tuple[Any, Any]:
    wearer = answers.get("wearer")
    today = wearer.get("today") if isinstance(wearer, Mapping) else None
    return answers.get("tension") or "working", today or "usual"


def _planned(done: Iterable[Mapping[str, Any]]) -> dict[str, float]:
    """The change of the whole girth, by station, of the steps that were done, as they were drawn."""
    planned: dict[str, float] = {}
    for step in done:
        amounts = step.get("amount_mm")
        by_station = amounts.get("by_station") if isinstance(amounts, dict) else None
        if isinstance(by_station, dict):
            for name, value in by_station.items():
                planned[name] = planned.get(name, 0.0) + float(value)
    return planned


def _observed(before: StoredTryOn, after: HistoryRound) -> Iterator[Observed]:
    """What one stored round shows: planned against measured, where neither gap was closed."""
    from diagnose.casebook.jsonfile import table

    planned = _planned(step.drawn for step in after.done if step.tryon == before.number)
    rows = table(table((before.plan or {}).get("gap")).get("stations"))
    for name, station in after.stations.items():
        row = table(rows.get(name))
        if name not in STATIONS or station.at_least or row.get("at_least") or not planned.get(name) or not row:
            continue
        was = float(row["target_mm"]) - float(row["change_mm"])
        yield Observed(name, planned[name], station.gap_mm - was)
