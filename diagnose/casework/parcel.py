"""A whole case in one file, to keep or to send: a zip of its own files, and nothing else; and a case out of one.

What comes from outside is not trusted: only names that a case has are taken, each once, within bounds, and the case
must then read as a whole.
"""

from __future__ import annotations

import io
import re
import zipfile
from contextlib import suppress
from pathlib import Path

from diagnose.casebook import Case, open_case
from diagnose.casebook.jsonfile import MOST_BYTES
from diagnose.casebook.layout import CASE_NAME, PATTERNS, PHOTOGRAPH, PICTURE, TRYONS
from diagnose.casebook.safely import refusal, write_bytes
from diagnose.errors import FitError, one_line, shown_path

__all__ = ["LARGEST", "packed", "unpacked"]

OURS = re.compile(
    rf"{re.escape(CASE_NAME)}|{PATTERNS}/[0-9]{{4}}(\.done)?\.json|{TRYONS}/[0-9]{{4}}(\.plan|\.draft|\.skipped)?\.json"
    rf"|{re.escape(PHOTOGRAPH)}|{re.escape(PICTURE)}|cutting-ticks\.json"
)
MOST_FILES, MOST_WHOLE = 10_000, 200_000_000
LARGEST = 100_000_000
"""Bytes of a parcel."""
WHOLE = "Take the file from where it was written; it holds one whole case."


def packed(case: Case) -> bytes:
    """The case's files as a zip, under a folder of its name."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as parcel:
        for path in sorted(case.folder.rglob("*")):
            name = path.relative_to(case.folder).as_posix()
            if OURS.fullmatch(name) and path.is_file():
                # One day for all of them: the same case gives the same bytes.
                parcel.writestr(zipfile.ZipInfo(f"{case.folder.name}/{name}", (1980, 1, 1, 0, 0, 0)), path.read_bytes())
    return made.getvalue()


def unpacked(data: bytes, folder: Path, name: str = "the parcel") -> Case:
    """The case of a parcel, written into a folder that is not there yet.

    Args:
        data: the zip.
        folder: where the case is to stand.
        name: of the file, for what is said.

    Raises:
        FitError: when it is no parcel of a case, the folder is there, or the case in it is not sound; nothing is left.
    """
    files = _files(data, name)
    try:
        folder.mkdir()
    except FileExistsError:
        raise FitError.of(
            shown_path(folder), "There is something of this name already.", "Give another name.", code="name-taken"
        ) from None
    except OSError as error:
        raise refusal(folder, error) from None
    try:
        for part in (PATTERNS, TRYONS):
            (folder / part).mkdir()
        for place, text in sorted(
            files.items(), key=lambda one: one[0] == CASE_NAME
        ):  # what makes it a case comes last
            write_bytes(folder / place, text)
        return open_case(folder)
    except BaseException as error:
        _undone(folder, files)
        if isinstance(error, OSError):
            raise refusal(folder, error) from None
        raise


def _files(data: bytes, name: str) -> dict[str, bytes]:
    """What the parcel holds of a case, by place."""
    found: dict[str, bytes] = {}
    left = MOST_WHOLE
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parcel:
            rows = parcel.infolist()
            if len(rows) > MOST_FILES:
                raise FitError.of(name, "It holds too many files.", WHOLE, code="too-many")
            for row in rows:
                place = row.filename.partition("/")[2] if row.filename.split("/")[0] not in _OWN else row.filename
                if row.is_dir() or not OURS.fullmatch(place):
                    continue
                if place in found or row.file_size > MOST_BYTES:
                    raise FitError.of(
                        name,
                        f"“{one_line(row.filename, 80)}” is there twice, or is too large.",
                        WHOLE,
                        code="bad-entry",
                    )
                with parcel.open(row) as file:
                    found[place] = file.read(min(MOST_BYTES, left) + 1)
                left -= len(found[place])
                if left < 0 or len(found[place]) > MOST_BYTES:
                    raise FitError.of(name, "What it holds is too large.", WHOLE, code="too-large")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError, OSError) as error:
        raise FitError.of(
            name, f"It can't be unpacked ({one_line(str(error), 80)}).", WHOLE, code="not-a-parcel"
        ) from None
    if CASE_NAME not in found:
        what = f"It holds no case: there is no {CASE_NAME} in it."
        raise FitError.of(name, what, f"{WHOLE} If a pattern is packed in it, unpack it and give the pattern.",
                          code="not-a-case")  # fmt: skip
    return found


_OWN = (CASE_NAME, PATTERNS, TRYONS, PHOTOGRAPH, PICTURE)


def _undone(folder: Path, files: dict[str, bytes]) -> None:
    """Take away what was written of a case that did not come to be."""
    with suppress(OSError):  # what can't be taken away stays, and is no case
        for place in files:
            (folder / place).unlink(missing_ok=True)
        for part in (PATTERNS, TRYONS):
            (folder / part).rmdir()
        for path in folder.glob(".*lock"):
            path.unlink()
        folder.rmdir()
