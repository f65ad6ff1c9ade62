"""Reading a case folder: the whole state, or every mistake in it at once, each with its file."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook import layout
from diagnose.casebook.case import Case, Done, PatternVersion, StoredTryOn
from diagnose.casebook.jsonfile import FROM_A_COPY, as_model, object_of, read_text
from diagnose.casebook.safely import refusal
from diagnose.casebook.sealing import SEAL, Sealed, seal_mistakes, unsealed
from diagnose.errors import MOST_SHOWN, FitError, Mistake, first_ones, gathered, one_line, shown_path
from diagnose.model.case_files import CaseFile, DoneFile, Skipped, SkippedFile, Stored, TryOnFile
from diagnose.model.tryon_reading import NO_WORDS, Vocabulary, read_tryon
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["check_about", "made_version", "open_case"]

START = "Start one with: diagnose new CASE --pattern FILE"
MOST_KEPT = 60
T = TypeVar("T")


def open_case(folder: Path) -> Case:
    """The case in a folder.

    Nothing is locked: a change going on beside is seen either whole or not at all.

    Raises:
        FitError: when there is no case, or for every mistake in its files.
    """
    _check_folder(folder)
    reader = _Reader(folder, {})
    mistakes: list[Mistake] = []
    file: CaseFile | None = None
    with gathered(mistakes):
        file = _case_file(reader)
    counts = (0, 0)
    with gathered(mistakes):
        counts = _counts(folder, file)
    versions = _all(reader, counts[0], layout.pattern_of, read=_version, mistakes=mistakes)
    tryons = _all(reader, counts[1], layout.answers_of, read=_tryon, mistakes=mistakes)
    if not versions and not mistakes:
        mistakes.append(Mistake(layout.pattern_of(1), "The case has no pattern.", FROM_A_COPY, code="no-pattern"))
    if not mistakes:
        mistakes += _astray(versions, tryons)
    mistakes += seal_mistakes(reader.files)
    if mistakes or file is None:
        raise FitError([*first_ones(mistakes), *_still_sound(mistakes, counts)])
    return Case(
        folder, one_line(file.name), file.created, unit=file.unit, garment=file.garment, target=file.target,
        measurings=tuple(file.measurings),
        settings=file.settings, versions=versions, tryons=tryons,
    )  # fmt: skip


def _check_folder(folder: Path) -> None:
    """The folder is there, and is a case."""
    if "\0" in str(folder):
        raise FitError.of(
            shown_path(folder), "A name can't hold a zero character.", "Name the case's folder.", code="bad-name"
        )
    try:
        if not stat.S_ISDIR(os.stat(folder).st_mode):
            raise FitError.of(
                shown_path(folder), "It is a file, not a case.", "Name the case's folder.", code="not-a-case"
            )
        if layout.is_headless(folder):
            what = f"{layout.CASE_NAME} is missing: the case has lost what it is about."
            versions, tryons = (layout.last_number(folder / part) for part in (layout.PATTERNS, layout.TRYONS))
            lost = Mistake(shown_path(folder), what, "Take it from a copy.", code="missing")
            raise FitError([lost, *_still_sound((), (versions, tryons))])
        if not os.path.lexists(folder / layout.CASE_NAME):
            what = f"It is no case: it holds no {layout.CASE_NAME}."
            raise FitError.of(shown_path(folder), what, typed=START, code="not-a-case")
    except FileNotFoundError:
        raise FitError.of(shown_path(folder), "There is no case here.", typed=START, code="no-such-case") from None
    except OSError as error:
        raise refusal(folder, error) from None


class _Reader(Struct, frozen=True):
    """Reads the files of a case, and keeps the checksum and the seal of each."""

    folder: Path
    files: dict[str, Sealed]

    def text(self, where: str) -> str:
        """The text of a file."""
        text = read_text(self.folder / where, where)
        self.files[where] = unsealed(text)
        return text

    def object(self, where: str) -> dict[str, Any]:
        """The JSON object in a file, without its seal."""
        raw = object_of(self.text(where), where)
        if raw.pop(SEAL, None) is not None and self.files[where].seal is None:
            self.files[where] = Sealed(self.files[where].holds, {})  # it was written anew, and its seal copied with it
        return raw

    def has(self, where: str) -> bool:
        """Whether there is anything of that name."""
        return os.path.lexists(self.folder / where)


def _still_sound(mistakes: Sequence[Mistake], counts: tuple[int, int]) -> Iterator[Mistake]:
    """What of the case is as it was stored, where some of it is not."""
    wrong = " ".join(mistake.where for mistake in mistakes)
    parts = (("version", counts[0], layout.PATTERNS), ("try-on", counts[1], layout.TRYONS))
    sound = [
        f"{word} {number}"
        for word, count, part in parts
        for number in range(1, count + 1)
        if f"{part}/{number:04}" not in wrong
    ]
    if sound:
        do = "Copy them to a safe place before you put the rest right."
        yield Mistake("", f"Still sound: {', '.join(sound)}.", do, code="still-sound")


def _case_file(reader: _Reader) -> CaseFile:
    file = as_model(CaseFile, reader.object(layout.CASE_NAME), layout.CASE_NAME)
    try:
        check_about(file.garment, file.target, [measuring.wearer for measuring in file.measurings], unit=file.unit)
    except FitError as error:
        raise FitError(replace(m, where=f"{layout.CASE_NAME}: {m.where}") for m in error.mistakes) from None
    return file


def check_about(
    garment: Mapping[str, Any],
    target: object,
    wearers: Sequence[Mapping[str, Any]],
    unit: Unit,
    vocabulary: Vocabulary = NO_WORDS,
) -> None:
    """See that garment, target and wearers would do in a try-on.

    Args:
        garment, target, wearers: as in a try-on.
        unit: of lengths written without one.
        vocabulary: the rules', with what is believable of a girth or a gap; without it any length will do.

    Raises:
        FitError: with every mistake.
    """
    mistakes: list[Mistake] = []
    with gathered(mistakes):
        read_tryon({"id": "case", "garment": garment, "target": target}, vocabulary, unit)
    for wearer in wearers:
        with gathered(mistakes):
            read_tryon({"id": "case", "wearer": wearer}, vocabulary, unit)
    if mistakes:
        raise FitError(mistakes)


def _counts(folder: Path, file: CaseFile | None) -> tuple[int, int]:
    """How many versions and try-ons there were at one instant; both only grow, and each may point to the other.

    The case itself keeps how many have been stored, so that the last one, lost, is missed.
    """
    kept = file.stored if file is not None else Stored()
    for part in (layout.PATTERNS, layout.TRYONS):
        _check_part(folder / part, part)
    while True:
        tryons = layout.last_number(folder / layout.TRYONS)
        versions = layout.last_number(folder / layout.PATTERNS)
        if tryons == layout.last_number(folder / layout.TRYONS):
            return max(versions, kept.versions), max(tryons, kept.tryons)


def _all(
    reader: _Reader, count: int, name_of: Callable[[int], str], read: Callable[[_Reader, int], T],
    mistakes: list[Mistake],
) -> tuple[T, ...]:  # fmt: skip
    """All numbered things of a part of the case, as far as they can be read."""
    found: list[T] = []
    for number in range(1, count + 1):
        if len(mistakes) > MOST_SHOWN:
            break
        with gathered(mistakes):
            if not reader.has(name_of(number)):
                raise FitError.of(name_of(number), "It is missing.", "Take it from a copy.", code="missing")
            found.append(read(reader, number))
    return tuple(found)


def _check_part(path: Path, where: str) -> None:
    """A part of the case is a folder of its own; one that holds nothing may be missing (copies drop empty folders)."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise refusal(Path(where), error) from None
    if stat.S_ISLNK(mode):
        raise refusal(Path(where), OSError(errno.ELOOP, "a link"))
    if not stat.S_ISDIR(mode):
        raise FitError.of(where, "It is a file, and should be a folder.", FROM_A_COPY, code="not-a-folder")


def _version(reader: _Reader, number: int) -> PatternVersion:
    mistakes: list[Mistake] = []
    where = layout.pattern_of(number)
    with gathered(mistakes):
        pattern = _pattern_of(reader.text(where), where)
    where = layout.done_of(number)
    with gathered(mistakes):
        done = as_model(DoneFile, reader.object(where), where)
        _check_number(done.number, number, where)
    if mistakes:
        raise FitError(mistakes)
    return made_version(done, pattern)


@lru_cache(maxsize=MOST_KEPT)
def _pattern_of(text: str, where: str) -> Pattern:
    # A change reads the case again under its lock; what has not changed on the disk since need not be checked again.
    return read_pattern(object_of(text, where), where)


def made_version(done: DoneFile, pattern: Any) -> PatternVersion:
    """The view of a version's two files."""
    steps, notes = tuple(map(one_line, done.steps)), tuple(map(one_line, done.notes))
    what = Done(tuple(done.operations), steps, notes, tryon=done.tryon, back=done.back, otherwise=tuple(done.otherwise))
    return PatternVersion(done.number, done.made_from, done.date, done=what, pattern=pattern)


def _tryon(reader: _Reader, number: int) -> StoredTryOn:
    mistakes: list[Mistake] = []
    plan: dict[str, Any] | None = None
    skipped: list[Skipped] = []
    where = layout.answers_of(number)
    with gathered(mistakes):
        file = as_model(TryOnFile, reader.object(where), where)
        _check_number(file.number, number, where)
    where = layout.plan_of(number)
    if reader.has(where):
        with gathered(mistakes):
            plan = reader.object(where)
    where = layout.skipped_of(number)
    if reader.has(where):
        with gathered(mistakes):
            skipped = as_model(SkippedFile, reader.object(where), where).skipped
    if mistakes:
        raise FitError(mistakes)
    clean = tuple(one.model_copy(update={"step": one_line(one.step), "why": one_line(one.why)}) for one in skipped)
    return StoredTryOn(number, file.date, file.pattern_version, answers=file.answers, plan=plan, skipped=clean)


def _check_number(found: int, number: int, where: str) -> None:
    if found != number:
        raise FitError.of(
            where, f"Inside it says it is number {found}.", "Give each file its own name again.", code="wrong-number"
        )


def _astray(versions: Sequence[PatternVersion], tryons: Sequence[StoredTryOn]) -> Iterator[Mistake]:
    """Numbers that point to what is not there."""
    for version in versions:
        if version.made_from is not None and version.made_from >= version.number:
            say = f"It is said to be made from version {version.made_from}."
            yield Mistake(
                layout.done_of(version.number), say, "A version is made from one before it.", code="made-from-later"
            )
        if version.done.tryon is not None and version.done.tryon > len(tryons):
            say = f"It is said to follow try-on {version.done.tryon}, which is not there."
            yield Mistake(layout.done_of(version.number), say, FROM_A_COPY, code="no-such-tryon")
    for tryon in tryons:
        if tryon.pattern_version > len(versions):
            say = f"It is said to be of version {tryon.pattern_version}, which is not there."
            yield Mistake(layout.answers_of(tryon.number), say, FROM_A_COPY, code="no-such-version")
