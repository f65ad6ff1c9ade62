"""A case's try-on to its diagnosis and plan, stored or worked out anew; the rules and settings that a case goes by."""

from __future__ import annotations

import os
import threading
from collections.abc import Collection, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casebook.jsonfile import table
from diagnose.casework.learnt import learnt_before
from diagnose.engine.matching import matcher_for
from diagnose.errors import FitError
from diagnose.gap.reading import read_gap
from diagnose.model.settings import Settings
from diagnose.model.standing import standing
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.plan.drawing.paper import OnPaper
from diagnose.plan.give import Learnt
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher
from diagnose.sheets.json_out import diagnosis_to_json
from diagnose.units import Unit

__all__ = [
    "WorkedOut", "base_for", "check_answers", "last_tryon", "learnt_of", "matcher_of",
    "readings_of_case", "settings_of", "store_tryon", "tryon_of", "usual_base", "warmed", "work_out", "work_out_stored",
]  # fmt: skip


class WorkedOut(Struct, frozen=True):
    """A try-on of a case with its diagnosis, the pattern before round 1, and what round 1 draws into it."""

    case: Case
    number: int
    tryon: TryOn
    diagnosis: Diagnosis
    base: RuleBase
    before: Pattern
    tried_version: int

    @property
    def on_paper(self) -> OnPaper | None:
        """What round 1 draws; None when nothing is drawn."""
        return self.diagnosis.rounds[0].on_paper if self.diagnosis.rounds else None

    @property
    def operations(self) -> tuple[Operation, ...]:
        """What round 1 does to the pattern."""
        return self.on_paper.operations if self.on_paper is not None else ()

    @property
    def after(self) -> Pattern | None:
        """The pattern after round 1; None when nothing is drawn."""
        return self.on_paper.after if self.on_paper is not None else None


def base_for(case: Case) -> RuleBase:
    """The rule base under the case's own settings and unit."""
    return _base_under(case.unit, tuple(sorted({**standing().values, **case.settings}.items())))


@lru_cache(maxsize=16)
def _base_under(unit: Unit, changed: tuple[tuple[str, float], ...]) -> RuleBase:
    """One base for all cases of a unit and settings: what is worked out of its rules once need not be again."""
    base = _loaded()
    return base.with_settings(_changed(base.settings.in_unit(unit), dict(changed)))


def _changed(settings: Settings, own: Mapping[str, float]) -> Settings:
    """The settings with hers; one that these rules no longer have changes nothing."""
    for name, value in own.items():
        if name in settings.values:
            settings = settings.with_value(name, value)
    return settings


@lru_cache(maxsize=1)
def _loaded() -> RuleBase:
    return load_rulebase()


_OWN = threading.local()


def matcher_of(base: RuleBase) -> Matcher:
    """The matcher of a rule base; a thread of a process has one of its own, which it keeps."""
    made_for = (os.getpid(), base.digest)
    if getattr(_OWN, "made_for", None) != made_for:
        _OWN.matcher, _OWN.made_for = matcher_for(base), made_for
    return _OWN.matcher  # type: ignore[no-any-return]


def usual_base(unit: Unit = "in") -> RuleBase:
    """The rule base under the maker's standing settings."""
    return _base_under(unit, tuple(sorted(standing().values.items())))


def warmed() -> None:
    """Load the rules and their matcher, so that the first try-on does not wait for them."""
    matcher_of(_loaded())


def settings_of(case: Case, settings: Settings) -> Settings:
    """The settings with those that the case has of its own."""
    return _changed(settings, case.settings)


def store_tryon(folder: Path, answers: Mapping[str, Any], date: str | None = None) -> WorkedOut:
    """Work a try-on out and store it, with its plan, in the case."""
    case = casebook.open_case(folder)
    worked = work_out(case, answers, len(case.tryons) + 1)
    case = casebook.add_tryon(case, answers, diagnosis_to_json(worked.diagnosis), date=date)
    return replace(worked, case=case)


def check_answers(folder: Path, answers: Mapping[str, Any]) -> None:
    """Refuse what is wrong in the answers of a case's next try-on; nothing is worked out or stored.

    Raises:
        FitError: with every mistake.
    """
    case = casebook.open_case(folder)
    base = base_for(case)
    tryon_of(case, answers, len(case.tryons) + 1, base=base)


def last_tryon(case: Case) -> StoredTryOn:
    """The newest try-on.

    Raises:
        FitError: when the case has none.
    """
    if not case.tryons:
        typed = "Answer one with: diagnose tryon CASE"
        raise FitError.of(case.name, "There is no try-on yet.", typed=typed, code="no-tryon")
    return case.tryons[-1]


def work_out(
    case: Case, answers: Mapping[str, Any], number: int, version: int | None = None,
    only: Collection[str] | None = None, ways: Mapping[str, str] | None = None,
) -> WorkedOut:  # fmt: skip
    """The diagnosis of answers on a pattern version of the case (the newest unless told).

    Args:
        case: the case; its garment, target and wearer stand in for what the answers leave out.
        answers: as a line of a batch.
        number: of the try-on, for its id.
        version: the pattern version tried on.
        only: draw only these plan steps.
        ways: for a step by its id, the way asked for instead of the first.
    """
    base = base_for(case)
    tried = version or case.newest.number
    pattern = case.version(tried).pattern
    tryon = tryon_of(case, answers, number, base=base)
    learnt = learnt_of(case, number, answers, tryon=tryon, base=base)
    found = diagnose(
        tryon, base, matcher_of(base), pattern=pattern, exact_asking=True, only=only, learnt=learnt, ways=ways
    )
    return WorkedOut(
        case=case, number=number, tryon=tryon, diagnosis=found, base=base, before=pattern, tried_version=tried
    )


def learnt_of(case: Case, number: int, answers: Mapping[str, Any], tryon: TryOn, base: RuleBase) -> Learnt:
    """What the rounds before a try-on teach of its wearer."""
    reading = read_gap(tryon, base.settings)
    gap_mm = {str(name): s.apart_mm for name, s in reading.stations.items() if not s.at_least}
    return learnt_before(case, number, answers, gap_mm=gap_mm, settings=base.settings)


def tryon_of(case: Case, answers: Mapping[str, Any], number: int, base: RuleBase) -> TryOn:
    """The answers of a case's try-on as a try-on; the case stands in for what they leave out.

    Raises:
        FitError: with every mistake.
    """
    return read_tryon(_with_case(case, answers, number), base.vocabulary, case.unit)


def _with_case(case: Case, answers: Mapping[str, Any], number: int) -> dict[str, Any]:
    raw = {"id": f"{case.name}, try-on {number}", **answers}
    for name, known in (("garment", case.garment), ("wearer", case.wearer)):
        told = answers.get(name)
        raw[name] = {**known, **table(told)} if told is None or isinstance(told, Mapping) else told  # is refused
    if raw.get("target") is None and case.target is not None:
        raw["target"] = case.target
    return raw


def readings_of_case(case: Case, raw: Mapping[str, Any]) -> dict[str, Any]:
    """Readings on the command line, over those of the case's last try-on."""
    from diagnose.pattern.measure import seams_per_half

    last = dict(case.tryons[-1].answers) if case.tryons else {}
    merged = _with_case(case, last, len(case.tryons))
    if raw["gap"]:
        merged |= {"gap": raw["gap"], "overlap": raw.get("overlap", {}), "gap_front": {}}
    if "target" in raw:
        merged["target"] = raw["target"]
    merged["garment"] = {
        "seams_per_half": seams_per_half(case.pattern),
        **table(merged["garment"]),
        **raw["garment"],
    }
    return {key: merged[key] for key in ("id", "gap", "overlap", "gap_front", "target", "garment") if key in merged}


def work_out_stored(case: Case, stored: StoredTryOn, ways: Mapping[str, str] | None = None) -> WorkedOut:
    """A stored try-on worked out on the version it was of, each step in the way that it was drawn.

    Args:
        case: the case; stored: its try-on.
        ways: for a step by its id, the way she asks for now.

    Raises:
        FitError: when a way asked for is none of the step.
    """
    tried = case.version(stored.pattern_version)
    steps = casebook.steps_beyond(case, case.newest, tried)
    drawn = {one.step: str(one.drawn["way"]) for one in steps if one.tryon == stored.number and "way" in one.drawn}
    try:
        return work_out(case, stored.answers, stored.number, version=tried.number, ways={**drawn, **(ways or {})})
    except FitError:  # the rules may have changed since: a way that was drawn need not be one any more
        if not drawn:
            raise
        return work_out(case, stored.answers, stored.number, version=tried.number, ways=ways)
