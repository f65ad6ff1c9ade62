"""Putting what is stored into a case's folder: a version with its record, and the seals of what it was made from."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date as calendar
from pathlib import Path
from typing import Any

from diagnose.casebook import layout
from diagnose.casebook.case import PatternVersion
from diagnose.casebook.case_reading import made_version
from diagnose.casebook.jsonfile import bounded, json_text, read_text
from diagnose.casebook.safely import write_new_text
from diagnose.casebook.sealing import sealed, unsealed
from diagnose.errors import FitError, one_line
from diagnose.model.case_files import DoneFile, is_day
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import dump_text, to_json
from diagnose.pattern.outline import Pattern

__all__ = ["day", "done_record", "first_version", "next_number", "put_version", "sums_of"]

MOST_NUMBER = 9999


def day(date: str | None) -> str:
    """The day given, or today.

    Raises:
        FitError: when it is not a day like 2026-03-09.
    """
    if date is None:
        return calendar.today().isoformat()
    if not is_day(date):
        raise FitError.of(
            "date", f"“{one_line(date, 60)}” is not a day.", "Write it like 2026-03-09.", code="not-a-day"
        )
    return date


def first_version(date: str) -> DoneFile:
    """The record of the version a case starts with."""
    return done_record(1, date, None, tryon=None)


def sums_of(folder: Path, *names: str) -> dict[str, str]:
    """The checksums of what files of a case hold, of those that there are."""
    return {name: unsealed(read_text(folder / name, name)).holds for name in names if (folder / name).exists()}


def put_version(folder: Path, pattern: Pattern, done: DoneFile) -> PatternVersion:
    """Write a version's two files, the record first: with the pattern the version is there.

    Args:
        folder: of the case.
        pattern: the version.
        done: its record, which seals it.

    Raises:
        FitError: when the pattern would not be read back, or can't be written.
    """
    where = layout.pattern_of(done.number)
    stored = read_pattern(to_json(pattern), where)
    text = bounded(dump_text(stored), where)
    sources = [layout.pattern_of(done.made_from)] if done.made_from is not None else []
    sources += [layout.plan_of(done.tryon)] if done.steps and done.tryon is not None else []
    made_from = {where: unsealed(text).holds, **sums_of(folder, *sources)}
    record = layout.done_of(done.number)
    write_new_text(folder / record, sealed(json_text(done.model_dump(), record), record, made_from))
    write_new_text(folder / where, text)
    return made_version(done, stored)


def done_record(
    number: int,
    date: str,
    made_from: int | None,
    tryon: int | None,
    *,
    back: bool = False,
    steps: Sequence[str] = (),
    operations: Sequence[dict[str, Any]] = (),
    notes: Sequence[str] = (),
    otherwise: Sequence[dict[str, Any]] = (),
) -> DoneFile:
    """The record of a version: what it was made from, how, and when.

    Args:
        number: of the version.
        date: the day.
        made_from: the version that it was made from; None for the first.
        tryon: the try-on whose steps were drawn; None for what was done by hand.
        back: whether it is an older version taken up again.
        steps: the steps drawn, by their ids.
        operations: what was done, as it is stored.
        notes: what was said of it.
        otherwise: steps that were drawn in another way than the first.

    Raises:
        FitError: when the case is full.
    """
    return DoneFile(
        format="fit-done", version=1, number=next_number(number, "versions"), date=date, made_from=made_from, back=back,
        tryon=tryon, steps=list(steps), operations=list(operations), notes=list(notes),
        otherwise=list(otherwise),
    )  # fmt: skip


def next_number(number: int, what: str) -> int:
    """The number of the next version or try-on.

    Raises:
        FitError: when the case is full.
    """
    if number > MOST_NUMBER:
        raise FitError.of(
            "case", f"A case holds at most {MOST_NUMBER} {what}.", "Start another case.", code="case-full"
        )
    return number
