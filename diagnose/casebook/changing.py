"""Changing a case: each change is made under the case's lock, is all or nothing, and takes nothing away.

The view handed in says which case, and what its maker had before her; the state changed is what the folder holds now,
so that two programs at once lose neither's work.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from diagnose.casebook import layout
from diagnose.casebook.case import Case, StoredTryOn
from diagnose.casebook.case_reading import check_about, open_case
from diagnose.casebook.jsonfile import json_text, object_of, read_object, read_text
from diagnose.casebook.lock import locked
from diagnose.casebook.putting import day, done_record, next_number, put_version, sums_of
from diagnose.casebook.safely import refusal, write_new_text, write_text
from diagnose.casebook.sealing import SEAL, sealed, unsealed
from diagnose.errors import FitError, nearest, one_line
from diagnose.model.case_files import CaseFile, DoneFile, Measuring, Skipped, SkippedFile, Stored, TryOnFile
from diagnose.pattern.outline import Pattern

if TYPE_CHECKING:
    from diagnose.pattern.operations import Operation

__all__ = [
    "add_measuring", "add_tryon", "add_version", "back_to", "drop_draft", "keep_as_it_stands", "load_draft",
    "note_skipped", "save_draft",
]  # fmt: skip


def add_version(
    case: Case,
    pattern: Pattern,
    made_from: int | None,
    operations: Sequence[Operation],
    steps: Sequence[str] = (),
    notes: Sequence[str] = (),
    date: str | None = None,
    otherwise: Sequence[Mapping[str, Any]] = (),
) -> Case:
    """Store the next version of the pattern.

    Args:
        case: the case; its newest try-on is the one whose plan the steps are of.
        pattern: the new pattern.
        made_from: the version it was made from; None for one brought in from outside.
        operations: what was done to that version, in order.
        steps: ids of the plan's steps that were done.
        notes: sentences kept with it.
        date: the day, as 2026-03-09; today unless given.
        otherwise: the steps as they were drawn, where another way than the plan's first was taken.

    Raises:
        FitError: when the pattern can't be stored, or there is no such version.
    """
    tryon = len(case.tryons) or None
    with _changing(case) as now:
        if made_from is not None:
            now.version(made_from)
        done = done_record(
            len(now.versions) + 1, day(date), made_from, tryon=tryon, operations=[one.to_json() for one in operations],
            steps=[one_line(step) for step in steps], notes=[one_line(note) for note in notes],
            otherwise=[dict(step) for step in otherwise],
        )  # fmt: skip
        return _with_version(now, pattern, done)


def back_to(case: Case, number: int, date: str | None = None) -> Case:
    """Make version `number` the newest again, as a new version that points to it; nothing is taken away.

    Raises:
        FitError: when there is no such version.
    """
    with _changing(case) as now:
        old = now.version(number)
        done = done_record(len(now.versions) + 1, day(date), number, tryon=len(case.tryons) or None, back=True)
        return _with_version(now, old.pattern, done)


def add_tryon(case: Case, answers: Mapping[str, Any], plan: Mapping[str, Any] | None, date: str | None = None) -> Case:
    """Store a try-on of the newest version that `case` shows; the draft of its answers is dropped.

    Args:
        case: the case.
        answers: as a line of a batch.
        plan: what it came to, as a line that a batch gives out; None when nothing was worked out.
        date: the day, as 2026-03-09; today unless given.

    Raises:
        FitError: when the answers or the plan can't be stored.
    """
    with _changing(case) as now:
        number = next_number(len(now.tryons) + 1, "try-ons")
        file = TryOnFile(
            format="fit-tryon", version=1, number=number, date=day(date), pattern_version=case.newest.number,
            answers=dict(answers),
        )  # fmt: skip
        where, of_plan = layout.answers_of(number), layout.plan_of(number)
        tried = layout.pattern_of(file.pattern_version)
        text, plan_text = json_text(file.model_dump(), where), json_text(plan, of_plan)
        answered = sealed(text, where, sums_of(now.folder, tried))
        if plan is not None:
            from_ = {**sums_of(now.folder, tried), where: unsealed(answered).holds}
            write_new_text(case.folder / of_plan, sealed(plan_text, of_plan, from_))
        write_new_text(case.folder / where, answered)
        layout.sweep(case.folder)
        kept = json.loads(text)["answers"], json.loads(plan_text)
        new = StoredTryOn(number, file.date, file.pattern_version, *kept)
        return _counted(replace(now, tryons=(*now.tryons, new)))


def note_skipped(case: Case, tryon: int, step: str, why: str | None, date: str | None = None) -> Case:
    """Note that a step of a try-on's plan was not done, and why; said again of the same step, the last word counts.

    With None for the reason what was noted of the step is taken back.

    Raises:
        FitError: when there is no such try-on or step.
    """
    with _changing(case) as now:
        stored = now.tryon(tryon)
        if step not in stored.step_ids:
            what = f"Its plan has no step “{one_line(step, 60)}”."
            raise FitError.of(
                f"try-on {tryon}", what, nearest(step, map(one_line, stored.step_ids)), code="no-such-step"
            )
        others = [one for one in stored.skipped if one.step != step]
        noted = [] if why is None else [Skipped(step=one_line(step), why=one_line(why), date=day(date))]
        file = SkippedFile(format="fit-skipped", version=1, skipped=[*others, *noted])
        where = layout.skipped_of(tryon)
        plan = layout.plan_of(tryon)
        write_text(case.folder / where, sealed(json_text(file.model_dump(), where), where, sums_of(now.folder, plan)))
        changed = replace(stored, skipped=tuple(file.skipped))
        return replace(now, tryons=tuple(changed if one is stored else one for one in now.tryons))


def add_measuring(case: Case, girths: Mapping[str, Any], date: str | None = None) -> Case:
    """Keep the wearer's girths as taken on a day; a girth not taken anew is as it was last, and earlier days stay.

    Raises:
        FitError: when a girth is none.
    """
    check_about({}, None, [girths], unit=case.unit)
    with _changing(case) as now:
        measuring = Measuring(date=day(date), wearer={**now.wearer, **girths})
        check_about({}, None, [measuring.wearer], unit=case.unit)
        file = _case_file(now)
        _put_case_file(now, file.model_copy(update={"measurings": [*file.measurings, measuring]}))
        return replace(now, measurings=(*now.measurings, measuring))


def keep_as_it_stands(case_folder: Path, where: str) -> Case:
    """Take a file of a case that is not what was stored for what it is now, and seal it anew.

    Raises:
        FitError: when there is no such file of the case, or it can't be read as one all the same.
    """
    with locked(case_folder):
        names = layout.stored_in(case_folder)
        if where not in names:
            raise FitError.of(where, "The case has no file of this name.", nearest(where, names), code="no-such-file")
        texts = {name: read_text(case_folder / name, name) for name in names}
        now = {name: unsealed(text) for name, text in texts.items()}
        kept = texts[where]
        if now[where].seal is not None:
            kept = _sealed_anew(kept, where, now[where].made_from)
            write_text(case_folder / where, kept)
        for name, file in now.items():
            if name != where and file.seal is not None and where in file.made_from:
                made_from = {**file.made_from, where: unsealed(kept).holds}
                write_text(case_folder / name, _sealed_anew(texts[name], name, made_from))
    return open_case(case_folder)


def _sealed_anew(text: str, name: str, made_from: Mapping[str, str]) -> str:
    raw = object_of(text, name)
    raw.pop(SEAL, None)
    return sealed(json_text(raw, name), name, made_from)


def save_draft(case: Case, answers: Mapping[str, Any]) -> None:
    """Keep the answers so far of a try-on under way, in place of those kept before.

    Raises:
        FitError: when they can't be stored.
    """
    with locked(case.folder):
        layout.sweep(case.folder)
        where = _draft(case)
        _make_part(case, layout.TRYONS)
        write_text(case.folder / where, json_text(dict(answers), where))


def load_draft(case: Case) -> dict[str, Any] | None:
    """The answers so far of a try-on under way; None when none is.

    Raises:
        FitError: when the file is broken.
    """
    where = _draft(case)
    return read_object(case.folder / where, where) if os.path.lexists(case.folder / where) else None


def drop_draft(case: Case) -> None:
    """Give up the try-on under way."""
    with locked(case.folder):
        path = case.folder / _draft(case)
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise refusal(path, error) from None


def _with_version(now: Case, pattern: Pattern, done: DoneFile) -> Case:
    return _counted(replace(now, versions=(*now.versions, put_version(now.folder, pattern, done))))


def _counted(case: Case) -> Case:
    """The case, whose file is made to say how much is stored in it. Where it can't, it lags, and nothing is wrong."""
    with suppress(FitError):
        counts = Stored(versions=len(case.versions), tryons=len(case.tryons))
        _put_case_file(case, _case_file(case).model_copy(update={"stored": counts}))
    return case


def _case_file(case: Case) -> CaseFile:
    return CaseFile.model_validate(read_object(case.folder / layout.CASE_NAME, layout.CASE_NAME))


def _put_case_file(case: Case, file: CaseFile) -> None:
    raw = file.model_dump()
    raw.pop(SEAL, None)
    text = json_text(raw, layout.CASE_NAME)
    write_text(case.folder / layout.CASE_NAME, sealed(text, layout.CASE_NAME, {}))


@contextmanager
def _changing(case: Case) -> Iterator[Case]:
    """The case as it is now, locked, its leftovers swept; what a change that fails has half written is swept too."""
    with locked(case.folder):
        now = open_case(case.folder)
        layout.sweep(case.folder)
        _make_part(case, layout.TRYONS)
        try:
            yield now
        except BaseException:
            with suppress(FitError):  # the next change sweeps it
                layout.sweep(case.folder)
            raise


def _make_part(case: Case, part: str) -> None:
    path = case.folder / part
    try:
        path.mkdir(exist_ok=True)
    except OSError as error:
        raise refusal(path, error) from None


def _draft(case: Case) -> str:
    return layout.draft_of(next_number(layout.last_number(case.folder / layout.TRYONS) + 1, "try-ons"))
