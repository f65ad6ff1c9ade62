"""Where things stand in a case folder, and what of it is only the leftover of a killed write.

``case.json``; ``patterns/0001.json`` with ``patterns/0001.done.json``; ``tryons/0001.json`` with ``.plan.json``,
``.skipped.json`` and, while the questions are under way, ``.draft.json``. A case begun from photographs has
``photograph.json`` and ``photograph.jpg`` besides.

A pair becomes visible as one because the second file is what counts: ``0002.done.json`` is written first and
``0002.json`` last, and a version exists exactly when its pattern does (so does a try-on when its answers do, its plan
being written before). Two files, rather than one, leave the pattern in the stored form that every other command reads.
The pattern, and not the record, comes last because a record without its pattern is worthless and may be swept, while a
pattern without its record is a maker's drawing: it is never swept but reported.

Leftovers are swept only under the lock: part-files, records and plans above the last number, drafts of try-ons that
have been stored, and empty files above the last number. Nothing else is ever removed.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from diagnose.casebook.lock import LOCK_NAME
from diagnose.casebook.safely import PART_PREFIX, PART_SUFFIX, refusal

__all__ = [
    "CASE_NAME", "PATTERNS", "PHOTOGRAPH", "PICTURE", "TRYONS", "answers_of", "done_of", "draft_of", "is_unfinished",
    "last_number", "leftovers", "pattern_of", "plan_of", "skipped_of", "stored_in", "sweep",
]  # fmt: skip

CASE_NAME = "case.json"
PHOTOGRAPH, PICTURE = "photograph.json", "photograph.jpg"
PATTERNS = "patterns"
TRYONS = "tryons"
_NUMBERED = re.compile(r"(?P<number>[0-9]{4})(?P<kind>\.done|\.plan|\.draft|\.skipped)?\.json", re.ASCII)


def pattern_of(number: int) -> str:
    """The stored pattern of a version."""
    return f"{PATTERNS}/{number:04}.json"


def done_of(number: int) -> str:
    """What was done to get a version."""
    return f"{PATTERNS}/{number:04}.done.json"


def answers_of(number: int) -> str:
    """The answers of a try-on."""
    return f"{TRYONS}/{number:04}.json"


def plan_of(number: int) -> str:
    """The plan that a try-on came to."""
    return f"{TRYONS}/{number:04}.plan.json"


def draft_of(number: int) -> str:
    """The answers so far of a try-on under way."""
    return f"{TRYONS}/{number:04}.draft.json"


def skipped_of(number: int) -> str:
    """The steps of a try-on's plan that were not done."""
    return f"{TRYONS}/{number:04}.skipped.json"


def last_number(folder: Path) -> int:
    """The highest number of a version or try-on in its folder; 0 when there is none, or no folder.

    Raises:
        FitError: when the folder can't be read.
    """
    return max((number for number, kind, path in _numbered(folder) if not kind and not _is_empty(path)), default=0)


def _numbered(folder: Path) -> Iterator[tuple[int, str, Path]]:
    for path in _inside(folder):
        match = _NUMBERED.fullmatch(path.name)
        if match and int(match["number"]):
            yield int(match["number"]), match["kind"] or "", path


def _inside(folder: Path) -> list[Path]:
    try:
        return sorted(folder / name for name in os.listdir(folder))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise refusal(folder, error) from None


def _is_empty(path: Path) -> bool:
    """Whether a name was claimed and never filled."""
    with suppress(FileNotFoundError):
        state = path.lstat()
        return stat.S_ISREG(state.st_mode) and state.st_size == 0
    return True


def leftovers(folder: Path) -> list[Path]:
    """What a killed write left in a case folder, or a killed start in a folder that is to become one."""
    parts = (folder / PATTERNS, folder / TRYONS)
    found = [path for place in (folder, *parts) for path in _inside(place) if _is_part(path)]
    for place in parts:
        last = last_number(place)
        found += [path for number, kind, path in _numbered(place) if (number <= last) == (kind == ".draft")]
    return found


def stored_in(folder: Path) -> list[str]:
    """The names of the files that a case is made of, but for drafts.

    Raises:
        FitError: when the folder can't be read.
    """
    found = [path for place in (PATTERNS, TRYONS) for _, kind, path in _numbered(folder / place) if kind != ".draft"]
    return [CASE_NAME, *(f"{path.parent.name}/{path.name}" for path in found)]


def _is_part(path: Path) -> bool:
    return path.name.startswith(PART_PREFIX) and path.name.endswith(PART_SUFFIX)


def sweep(folder: Path) -> None:
    """Remove the leftovers; only under the lock.

    Raises:
        FitError: when one can't be removed.
    """
    for path in leftovers(folder):
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise refusal(path, error) from None


def is_headless(folder: Path) -> bool:
    """Whether the folder is a case that has lost its ``case.json``: it holds more than a start that was killed."""
    if os.path.lexists(folder / CASE_NAME) or not all((folder / part).is_dir() for part in (PATTERNS, TRYONS)):
        return False
    versions, tryons = last_number(folder / PATTERNS), last_number(folder / TRYONS)
    return versions > 1 or (versions == 1 and tryons > 0)


def is_unfinished(folder: Path) -> bool:
    """Whether the folder is empty or holds only a start that was killed before its ``case.json`` was there."""
    first = {pattern_of(1), done_of(1)}
    for path in _inside(folder):
        if path.name in (PATTERNS, TRYONS) and path.is_dir() and not path.is_symlink():
            if any(f"{path.name}/{p.name}" not in first and not _is_part(p) for p in _inside(path)):
                return False
        elif path.name not in (LOCK_NAME, PHOTOGRAPH, PICTURE) and not _is_part(path):
            return False
    return True
