"""What a maker's own cases suggest against the base: for each link its word, for each amount its size.

Two things are counted. An amount: of a step that alone changed a station, how much of it showed in the gap at the next
try-on; a case counts once, with the mean of its rounds. A link: of the try-ons whose likeliest cause the next try-on
bore out, how often the sign had shown; a case counts once for a cause, and a try-on counts only where the cause would
have been acted on without that sign, or a sign that helps to name a cause would seem to follow from it too often.

Each interval is held so wide that, of all that is looked at together, one in twenty makers whose cases hold nothing but
noise would be told anything. Nothing here changes a rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from statistics import NormalDist, fmean, stdev
from typing import Any

from msgspec import Struct

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casebook.layout import CASE_NAME
from diagnose.casework.learnt import alike
from diagnose.errors import FitError
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.rulebase.base import RuleBase

__all__ = ["AmountLearnt", "Experience", "LinkLearnt", "Shared", "Shown", "experience_of", "read_experience"]


class Shared(Struct, frozen=True):
    """One round of one case: of what an alteration drew for a cause, the share that showed in the gap."""

    case: str
    cause: str
    alteration: str
    share: float


class Shown(Struct, frozen=True):
    """One case in which a cause was borne out: whether a sign that it may show was there."""

    case: str
    sign: str
    cause: str
    there: bool


class AmountLearnt(Struct, frozen=True):
    """What her cases say of an amount.

    Attributes:
        cause, alteration: whose amount; rounds, cases: how many it rests on.
        share: of what was drawn, how much showed; low, high: between which it lies.
        times: by what she would multiply the base's amount; None where the cases do not say.
    """

    cause: str
    alteration: str
    rounds: int
    cases: int
    share: float
    low: float
    high: float
    times: float | None


class LinkLearnt(Struct, frozen=True):
    """What her cases say of a link.

    Attributes:
        sign, cause: the link; word: the base's; value: what that is worth.
        there, cases: in how many of how many cases the sign showed; low, high: between which its chance lies.
        suggests: another word; None where the cases do not say.
    """

    sign: str
    cause: str
    word: str
    value: float
    there: int
    cases: int
    low: float
    high: float
    suggests: str | None


class Experience(Struct, frozen=True):
    """All that was counted, what says something first."""

    cases: int
    rounds: int
    amounts: tuple[AmountLearnt, ...]
    links: tuple[LinkLearnt, ...]

    @property
    def says_something(self) -> bool:
        """Whether any count suggests a change."""
        return any(one.times for one in self.amounts) or any(one.suggests for one in self.links)


def read_experience(folder: Path, base: RuleBase) -> Experience:
    """What the cases under a folder say.

    Raises:
        FitError: when there is no case there, or one can't be read.
    """
    found = sorted(path.parent for path in folder.rglob(CASE_NAME)) if folder.is_dir() else []
    if not found:
        raise FitError.of(
            str(folder), "There is no case in this folder.", "Name the folder that her cases lie in.", code="no-case"
        )
    cases = [casebook.open_case(path) for path in found]
    shared = [one for case in cases for one in _shared(case, base.settings.mm("learn-taken"))]
    shown = [one for case in cases for one in _shown(case, base)]
    made = experience_of(shared, shown, base)
    return Experience(len(cases), sum(max(0, len(case.tryons) - 1) for case in cases), made.amounts, links=made.links)


def experience_of(shared: Iterable[Shared], shown: Iterable[Shown], base: RuleBase) -> Experience:
    """The counts and what they suggest, from the single observations."""
    by_amount: dict[tuple[str, str], dict[str, list[float]]] = {}
    for part in shared:
        by_amount.setdefault((part.cause, part.alteration), {}).setdefault(part.case, []).append(part.share)
    by_link: dict[tuple[str, str], list[bool]] = {}
    for sign in shown:
        by_link.setdefault((sign.sign, sign.cause), []).append(sign.there)
    fewest = base.settings.mm("learn-cases")
    enough = [len(of) >= fewest for of in (*by_amount.values(), *by_link.values())]
    level = base.settings.mm("learn-doubt") / max(1, sum(enough))
    amounts = [_amount(*key, of, level, base.settings) for key, of in by_amount.items()]
    links = [_link(*key, of, level, base) for key, of in by_link.items()]
    amounts.sort(key=lambda one: (one.times is None, -one.cases, one.cause, one.alteration))
    links.sort(key=lambda one: (one.suggests is None, -one.cases, one.sign, one.cause))
    return Experience(0, 0, tuple(amounts), links=tuple(links))


def _amount(
    cause: str, alteration: str, of: Mapping[str, Sequence[float]], level: float, settings: Settings
) -> AmountLearnt:
    means = [fmean(shares) for shares in of.values()]
    share, cases = fmean(means), len(means)
    low, high = _mean_between(means, level) if cases >= settings.mm("learn-cases") else (-math.inf, math.inf)
    sure = low > 0.0 and (low > 1.0 or high < 1.0) and abs(1.0 / share - 1.0) >= settings.mm("learn-change")
    times = round(1.0 / share, 2) if sure else None
    return AmountLearnt(
        cause, alteration, sum(map(len, of.values())), cases=cases, share=share, low=low, high=high, times=times
    )


def _mean_between(values: Sequence[float], level: float) -> tuple[float, float]:
    """Between which the mean lies, by Student's distribution."""
    half = _student(1.0 - level / 2.0, len(values) - 1) * stdev(values) / math.sqrt(len(values))
    return fmean(values) - half, fmean(values) + half


def _student(chance: float, freedom: int) -> float:
    """The quantile of Student's distribution, by its expansion about the normal one (Abramowitz, Stegun 26.7.5)."""
    z, n = NormalDist().inv_cdf(chance), float(freedom)
    terms = (
        (z**3 + z) / 4.0,
        (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0,
        (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0,
        (79.0 * z**9 + 776.0 * z**7 + 1482.0 * z**5 - 1920.0 * z**3 - 945.0 * z) / 92160.0,
    )
    return z + sum(term / n**power for power, term in enumerate(terms, 1))


def _link(sign: str, cause: str, of: Sequence[bool], level: float, base: RuleBase) -> LinkLearnt:
    words = base.entries.words.shows
    word = next(link.shows for link in base.entries.symptoms[sign].causes if link.cause == cause)
    there, cases = sum(of), len(of)
    low, high = _chance_between(there, cases, level)
    nearest_word = min(words, key=lambda one: abs(words[one] - (there + 0.5) / (cases + 1.0)))
    sure = cases >= base.settings.mm("learn-cases") and not low <= words[word] <= high and nearest_word != word
    return LinkLearnt(
        sign,
        cause,
        word,
        value=words[word],
        there=there,
        cases=cases,
        low=low,
        high=high,
        suggests=nearest_word if sure else None,
    )


def _chance_between(there: int, cases: int, level: float) -> tuple[float, float]:
    """Between which the chance lies (Clopper and Pearson 1934: exact, never too narrow)."""
    low = 0.0 if there == 0 else _solved(lambda p: _at_least(there, cases, p) - level / 2.0)
    high = 1.0 if there == cases else _solved(lambda p: level / 2.0 - (1.0 - _at_least(there + 1, cases, p)))
    return low, high


def _at_least(there: int, cases: int, chance: float) -> float:
    return sum(math.comb(cases, k) * chance**k * (1.0 - chance) ** (cases - k) for k in range(there, cases + 1))


def _solved(rising: Any) -> float:
    """Where a rising function of a chance comes to nothing."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if rising(middle) > 0.0 else (middle, high)
    return (low + high) / 2.0


def _shared(case: Case, least_mm: float) -> Iterator[Shared]:
    """Each girth step that alone changed some station by so much, with the share of it that showed there."""
    rounds = casebook.history(case).rounds
    for before, round_ in zip(case.tryons, rounds[1:], strict=False):
        after = case.tryon(round_.tryon)
        if not alike(before.answers, after.answers):
            continue
        done = {step.step for step in round_.done if step.tryon == before.number}
        steps = [step for step in before.steps if str(step.get("id")) in done]
        for step in steps:
            others = [_by_station(other) for other in steps if other is not step]
            drawn = {
                s: mm for s, mm in _by_station(step).items()
                if abs(mm) >= least_mm and not any(o.get(s) for o in others)
            }  # fmt: skip
            gaps = [(mm, gap) for s, mm in drawn.items() if (gap := _moved(before, round_, s)) is not None]
            if gaps:
                share = sum(mm * gap for mm, gap in gaps) / sum(mm * mm for mm, _ in gaps)
                yield Shared(str(case.folder), str(step.get("cause")), str(step.get("alteration")), share=share)


def _by_station(step: Mapping[str, Any]) -> dict[str, float]:
    amounts = step.get("amount_mm")
    by = amounts.get("by_station") if isinstance(amounts, Mapping) else None
    return {s: float(by[s]) for s in STATIONS if isinstance(by, Mapping) and isinstance(by.get(s), int | float)}


def _moved(before: StoredTryOn, after: casebook.HistoryRound, station: str) -> float | None:
    """How much wider the gap became there; None where either reading was closed or missing."""
    gap = (before.plan or {}).get("gap")
    stations = gap.get("stations") if isinstance(gap, Mapping) else None
    row = stations.get(station) if isinstance(stations, Mapping) else None
    now = after.stations.get(station)
    if not isinstance(row, Mapping) or now is None or now.at_least or row.get("at_least") or row.get("closed"):
        return None
    return now.gap_mm - float(row["gap_mm"])


def _shown(case: Case, base: RuleBase) -> Iterator[Shown]:
    """The signs of each cause that was thought likeliest, mended, and gone at the next try-on; a cause counts once."""
    act = base.entries.words.thresholds["act"]
    told: set[str] = set()
    rounds = casebook.history(case).rounds
    for before, after, round_ in zip(case.tryons, case.tryons[1:], rounds[1:], strict=False):
        found, left = before.causes, after.causes
        done = {step.step for step in round_.done if step.tryon == before.number}
        first = found[0] if found else {}
        cause = str(first.get("id"))
        mended = any(str(s.get("id")) in done and s.get("cause") == cause for s in before.steps)
        if not mended or cause in told or any(c.get("id") == cause for c in left):
            continue
        told.add(cause)
        seen = before.answers.get("seen")
        for sign in _signs_of(cause, base):
            looked = seen.get(sign) if isinstance(seen, Mapping) else None
            if looked is not None and _without(first, sign) >= act:
                yield Shown(str(case.folder), sign, cause, there=bool(looked))


def _signs_of(cause: str, base: RuleBase) -> Iterator[str]:
    """The signs that the cause may show, whatever else holds."""
    for symptom in base.entries.symptoms.values():
        if any(link.cause == cause and not link.only_if for link in symptom.causes):
            yield symptom.id


def _without(cause: Mapping[str, Any], sign: str) -> float:
    """How probable the cause would have been had that sign not been looked for."""
    chance = min(max(float(cause.get("probability", 0.0)), 1e-6), 1.0 - 1e-6)
    odds = chance / (1.0 - chance)
    for side, by in (("for", -1.0), ("against", 1.0)):
        for row in cause.get(side) or ():
            if row.get("symptom") == sign and float(row.get("weight", 0.0)) > 0.0:
                odds *= float(row["weight"]) ** by
    return odds / (1.0 + odds)
