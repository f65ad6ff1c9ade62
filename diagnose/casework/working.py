"""Working on a case: a try-on to its plan, plan steps to the next pattern version, and what is shown of both."""

from __future__ import annotations

import threading
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache, reduce
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casework.learnt import learnt_before
from diagnose.engine.matching import matcher_for
from diagnose.errors import FitError, nearest
from diagnose.gap.reading import read_gap
from diagnose.interview import Interview, Known
from diagnose.model.settings import Settings
from diagnose.model.tryon import TryOn, read_tryon
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.pattern.report import change_report
from diagnose.plan.planned import Diagnosis, OnPaper
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase, load_rulebase
from diagnose.rulebase.neutral import Matcher
from diagnose.sheets.words.change_text import change_lines
from diagnose.sheets.words.parts import Said, hanging
from diagnose.sheets.writers.json_out import diagnosis_to_json
from diagnose.units import Unit

__all__ = [
    "WorkedOut", "alter_case", "base_for", "done_since", "interview_for", "last_tryon", "readings_of_case",
    "settings_of", "store_tryon", "warmed", "work_out",
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
    return _base_under(case.unit, tuple(sorted(case.settings.items())))


@lru_cache(maxsize=16)
def _base_under(unit: Unit, changed: tuple[tuple[str, float], ...]) -> RuleBase:
    """One base for all cases of a unit and settings: what is worked out of its rules once need not be again."""
    base = _loaded()
    settings = base.settings.in_unit(unit)
    for name, value in changed:
        settings = settings.with_value(name, value)
    return base.with_settings(settings)


@lru_cache(maxsize=1)
def _loaded() -> RuleBase:
    return load_rulebase()


_OWN = threading.local()


def _matcher(base: RuleBase) -> Matcher:
    """The matcher of a rule base; a thread has one of its own, which it keeps."""
    if getattr(_OWN, "digest", None) != base.digest:
        _OWN.matcher, _OWN.digest = matcher_for(base), base.digest
    return _OWN.matcher  # type: ignore[no-any-return]


def warmed() -> None:
    """Load the rules and their matcher, so that the first try-on does not wait for them."""
    _matcher(_loaded())


def settings_of(case: Case, settings: Settings) -> Settings:
    """The settings with those that the case has of its own."""
    for name, value in case.settings.items():
        settings = settings.with_value(name, value)
    return settings


def store_tryon(folder: Path, answers: Mapping[str, Any], date: str | None = None) -> WorkedOut:
    """Work a try-on out and store it, with its plan, in the case."""
    case = casebook.open_case(folder)
    worked = work_out(case, answers, len(case.tryons) + 1)
    case = casebook.add_tryon(case, answers, diagnosis_to_json(worked.diagnosis), date)
    return replace(worked, case=case)


def interview_for(case: Case) -> Interview:
    """The interview of a case's next try-on."""
    number = len(case.tryons) + 1
    return Interview(
        base_for(case), Known.of_case(case), lambda answers: work_out(case, answers, number, only=()).diagnosis.ask
    )


def last_tryon(case: Case) -> StoredTryOn:
    """The newest try-on.

    Raises:
        FitError: when the case has none.
    """
    if not case.tryons:
        raise FitError.of(case.name, "There is no try-on yet.", "Answer one with: diagnose tryon CASE")
    return case.tryons[-1]


def work_out(
    case: Case, answers: Mapping[str, Any], number: int, version: int | None = None, only: Collection[str] | None = None
) -> WorkedOut:
    """The diagnosis of answers on a pattern version of the case (the newest unless told).

    Args:
        case: the case; its garment, target and wearer stand in for what the answers leave out.
        answers: as a line of a batch.
        number: of the try-on, for its id.
        version: the pattern version tried on.
        only: draw only these plan steps.
    """
    base = base_for(case)
    tried = version or case.newest.number
    pattern = case.version(tried).pattern
    tryon = read_tryon(_with_case(case, answers, number), base.vocabulary, case.unit)
    reading = read_gap(tryon, base.settings)
    gap_mm = {str(name): s.apart_mm for name, s in reading.stations.items() if not s.at_least}
    learnt = learnt_before(case, number, answers, gap_mm, base.settings)
    found = diagnose(tryon, base, _matcher(base), pattern, exact_asking=True, only=only, learnt=learnt)
    return WorkedOut(
        case=case, number=number, tryon=tryon, diagnosis=found, base=base, before=pattern, tried_version=tried
    )


def _with_case(case: Case, answers: Mapping[str, Any], number: int) -> dict[str, Any]:
    raw = {"id": f"{case.name}, try-on {number}", **answers}
    for name, known in (("garment", case.garment), ("wearer", case.wearer)):
        told = answers.get(name)
        raw[name] = {**known, **_mapping(told)} if told is None or isinstance(told, Mapping) else told  # is refused
    if raw.get("target") is None and case.target is not None:
        raw["target"] = case.target
    return raw


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


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
        **_mapping(merged["garment"]),
        **raw["garment"],
    }
    return {key: merged[key] for key in ("id", "gap", "overlap", "gap_front", "target", "garment") if key in merged}


def alter_case(folder: Path, steps: Sequence[str], date: str | None = None) -> tuple[list[Said], dict[str, Any]]:
    """Apply plan steps to the newest version and store the next: lines to show, and the same as data.

    Raises:
        FitError: when there is no plan, no such step, a step is in the pattern already, or nothing is to be drawn.
    """
    case = casebook.open_case(folder)
    stored = last_tryon(case)
    done_before = done_since(case, stored)
    chosen = _chosen(stored, steps, done_before)
    worked = work_out(case, stored.answers, stored.number, case.newest.number, only=chosen)
    drawn = [step for round_ in worked.diagnosis.rounds for step in round_.steps if step.id in chosen]
    notes = list(dict.fromkeys(note for step in drawn for note in step.notes))
    done = [step.on_paper for step in drawn if step.on_paper is not None]
    if not done:
        titles = ", ".join(worked.base.entries.alterations[step.alteration].title.lower() for step in drawn)
        by_hand = " ".join(notes) or "It is done on the toile, not on the paper."
        raise FitError.of(", ".join(chosen), f"Nothing is drawn for: {titles}. {by_hand}", "")
    whole = reduce(OnPaper.then, done)
    todo = [operation.to_json() for operation in whole.operations]
    new = casebook.add_version(case, whole.after, case.newest.number, todo, chosen, notes, date)
    report = change_report(case.pattern, whole.after)
    told = [*change_lines(report, case.unit), *(f"Note: {note}" for note in notes)]
    lines: list[Said] = [
        f"Version {new.newest.number} stored, made from version {case.newest.number} by: {', '.join(chosen)}.",
        "",
        *hanging(told),
    ]
    data = {
        "version_stored": new.newest.number, "made_from": case.newest.number, "steps": list(chosen),
        "operations": todo, "notes": notes, "report": report.to_json(),
    }  # fmt: skip
    return lines, data


def done_since(case: Case, stored: StoredTryOn) -> set[str]:
    """The steps of the last plan that the newest version holds already."""
    tried = case.version(stored.pattern_version)
    return {step.step for step in casebook.steps_beyond(case, case.newest, tried) if step.tryon == stored.number}


def _chosen(stored: StoredTryOn, steps: Sequence[str], done: set[str]) -> list[str]:
    known = stored.step_ids
    if not known:
        raise FitError.of("plan", "The last try-on has no step to apply.", "Answer another try-on.")
    if not steps:
        first = known[0].split(".")[0]
        skipped = {one.step for one in stored.skipped}
        left = [step for step in known if step.split(".")[0] == first and step not in done | skipped]
        if not left:
            raise FitError.of(
                "plan",
                f"Round {first} is in the pattern already{', or noted as not done' if skipped else ''}.",
                "Sew, try on and answer again.",
            )
        return left
    for step in steps:
        if step not in known:
            raise FitError.of(step, f"The plan has no step “{step}”.", nearest(step, known))
        if step in done:
            raise FitError.of(step, "This step is in the newest version already.", "Go back with: diagnose back CASE N")
    return [step for step in known if step in steps]
