"""Starting a case. It is there once ``case.json`` is, which is written last; a start that was killed is begun anew."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from diagnose.casebook import layout
from diagnose.casebook.case import Case
from diagnose.casebook.case_reading import check_about, open_case
from diagnose.casebook.jsonfile import as_model, json_text
from diagnose.casebook.lock import LOCK_NAME, locked
from diagnose.casebook.photograph import Photograph, put_photograph
from diagnose.casebook.putting import day, first_version, put_version
from diagnose.casebook.safely import refusal, sync_folder, write_new_text
from diagnose.casebook.sealing import sealed
from diagnose.errors import FitError, one_line, shown_path
from diagnose.model.case_files import CaseFile
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["create"]

ANOTHER = "Give another folder."


def create(
    folder: Path,
    pattern: Pattern,
    *,
    garment: Mapping[str, Any] | None = None,
    target: Any = None,
    wearer: Mapping[str, Any] | None = None,
    unit: Unit = "in",
    settings: Mapping[str, float] | None = None,
    date: str | None = None,
    photograph: Photograph | None = None,
) -> Case:
    """Start a case with version 1 of its pattern.

    Args:
        folder: the case's folder, whose name becomes the case's; it is made, or must be empty.
        pattern: version 1.
        garment: as in a try-on.
        target: the gap aimed at, as in a try-on.
        wearer: her girths as taken that day, as in a try-on.
        unit: of lengths written without one.
        settings: those that differ from the usual, by name, in mm where they are lengths.
        date: the day, as 2026-03-09; today unless given.
        photograph: the straightened picture that the pattern was read from.

    Raises:
        FitError: when there is a case or anything else there, it can't be written, or something given is wrong;
            nothing is left behind then.
    """
    text = _about(folder, garment, target, wearer=wearer, unit=unit, settings=settings, date=day(date))
    made = _make(folder)
    try:
        if not made:
            _check_free(folder)  # before anything is put there, be it a lock
        with locked(folder):
            _check_free(folder)
            _fill(folder, pattern, text, date=day(date), photograph=photograph)
    except BaseException:
        if made:
            with suppress(OSError):  # it stays when another program has put something into it
                folder.rmdir()
        raise
    return open_case(folder)


def _about(
    folder: Path,
    garment: Mapping[str, Any] | None,
    target: Any,
    wearer: Mapping[str, Any] | None,
    unit: Unit,
    settings: Mapping[str, float] | None,
    date: str,
) -> str:
    """The text of ``case.json``."""
    check_about(garment or {}, target, [wearer or {}], unit=unit)
    raw = {
        "format": "fit-case",
        "version": 1,
        "name": _name(folder),
        "created": date,
        "unit": unit,
        "garment": dict(garment or {}),
        "target": target,
        "measurings": [{"date": date, "wearer": dict(wearer)}] if wearer else [],
        "settings": dict(settings or {}),
    }
    raw["stored"] = {"versions": 1, "tryons": 0}
    text = json_text(as_model(CaseFile, raw, layout.CASE_NAME).model_dump(), layout.CASE_NAME)
    return sealed(text, layout.CASE_NAME, {})


def _name(folder: Path) -> str:
    if "\0" in str(folder):
        raise FitError.of(shown_path(folder), "A name can't hold a zero character.", ANOTHER, code="bad-name")
    return one_line(os.path.basename(os.path.abspath(folder)), 200) or "case"


def _make(folder: Path) -> bool:
    """Make the folder; False when it was there."""
    try:
        folder.mkdir()
    except FileExistsError:
        if folder.is_dir():
            return False
        raise FitError.of(
            shown_path(folder), "A file of that name exists already.", ANOTHER, code="name-taken"
        ) from None
    except OSError as error:
        raise refusal(folder, error) from None
    return True


def _check_free(folder: Path) -> None:
    if os.path.lexists(folder / layout.CASE_NAME):
        raise FitError.of(shown_path(folder), "There is a case here already.", ANOTHER, code="case-exists")
    if not layout.is_unfinished(folder):
        raise FitError.of(
            shown_path(folder),
            "The folder holds other things.",
            "Give another folder, or an empty one.",
            code="folder-in-use",
        )


def _fill(folder: Path, pattern: Pattern, text: str, date: str, photograph: Photograph | None) -> None:
    """Write all there is to a new case; when that fails, take it away again."""
    _empty(folder)
    try:
        for part in (layout.PATTERNS, layout.TRYONS):
            (folder / part).mkdir()
        sync_folder(folder)
        sync_folder(folder.parent)
        put_version(folder, pattern, first_version(date))
        if photograph is not None:
            put_photograph(folder, photograph)
        write_new_text(folder / layout.CASE_NAME, text)
    except OSError as error:
        _undo(folder)
        raise refusal(folder, error) from None
    except BaseException:
        _undo(folder)
        raise


def _empty(folder: Path) -> None:
    """Take away what a killed start has left."""
    try:
        first = (layout.pattern_of(1), layout.done_of(1), layout.PHOTOGRAPH, layout.PICTURE)
        for path in [*layout.leftovers(folder), *(folder / name for name in first)]:
            path.unlink(missing_ok=True)
        for part in (layout.PATTERNS, layout.TRYONS):
            with suppress(FileNotFoundError):
                (folder / part).rmdir()
    except OSError as error:
        raise refusal(folder, error) from None


def _undo(folder: Path) -> None:
    with suppress(OSError, FitError):  # what can't be taken away is a killed start, which the next one sweeps
        (folder / layout.CASE_NAME).unlink(missing_ok=True)
        _empty(folder)
        (folder / LOCK_NAME).unlink(missing_ok=True)
