"""Files written for her outside a case: one that she made, or changed since, is never replaced unasked.

What is written where is kept with its checksum, before it is written and beside that of the file it replaces, so that a
kill in between makes neither of them hers; a file of that name with another checksum is.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

from platformdirs import user_state_dir

from diagnose.casebook.safely import write_bytes
from diagnose.errors import FitError, shown_path
from diagnose.places import own_folder

__all__ = ["check_own", "check_own_folder", "keep_own_folder", "write_own"]

MOST_KEPT = 5000


def write_own(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write a file, in place of one of that name only where that is as it was written by this program.

    Raises:
        FitError: when another is there and `replace` is not given, or it can't be written.
    """
    check_own(path, replace=replace)
    _keep({_name(path): sha256(data).hexdigest()})
    write_bytes(path, data)


def check_own(path: Path, *, replace: bool = False) -> None:
    """See that nothing of hers stands there, before the work is done.

    Raises:
        FitError: when a file stands there that is not as this program wrote it.
    """
    if replace or not path.is_file():
        return
    if _sum_of(path) not in _of(_kept(), path):
        what = "A file of that name is there, which was not written by this program or was changed since."
        raise FitError.of(shown_path(path), what, "Give another name, or --replace to lose it.", code="not-ours")


def check_own_folder(folder: Path, *, replace: bool = False) -> None:
    """See that no file in a folder that is to be written over is hers.

    Raises:
        FitError: with the first few that are not as this program wrote them.
    """
    if replace or not folder.is_dir():
        return
    kept = _kept()
    hers = [path for path in sorted(folder.rglob("*")) if path.is_file() and _sum_of(path) not in _of(kept, path)]
    if hers:
        more = f" and {len(hers) - 1} more" if len(hers) > 1 else ""
        what = f"{hers[0].relative_to(folder)}{more} there was not written by this program, or was changed since."
        raise FitError.of(shown_path(folder), what, "Name another folder, or --replace to lose it.", code="not-ours")


def keep_own_folder(part: Path, folder: Path) -> None:
    """Keep that everything that stands in `part`, and is to be moved into the folder, was written by this program."""
    paths = (path for path in sorted(part.rglob("*")) if path.is_file())
    _keep({_name(folder / path.relative_to(part)): _sum_of(path) for path in paths})


def _sum_of(path: Path) -> str:
    try:
        return sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def _ledger() -> Path:
    return own_folder(user_state_dir) / "written.json"


def _name(path: Path) -> str:
    return os.path.realpath(path)


def _kept() -> dict[str, str]:
    with suppress(OSError, ValueError, RecursionError):
        raw = json.loads(_ledger().read_text(encoding="utf-8"))
        return {str(name): str(sum_) for name, sum_ in raw.items()} if isinstance(raw, dict) else {}
    return {}


def _of(kept: Mapping[str, str], path: Path) -> list[str]:
    """The checksums of a file as it was last written, and of what that replaced."""
    return kept.get(_name(path), "").split()


def _keep(written: Mapping[str, str]) -> None:
    """Keep what is written, checksums by name; where that can't be, the files are taken for hers the next time."""
    with suppress(OSError, FitError):
        before = _kept()
        kept = {name: one for name, one in before.items() if name not in written}
        kept = dict(list(kept.items())[-MOST_KEPT:])
        new = {name: " ".join([*before.get(name, "").split()[-1:], sum_]) for name, sum_ in written.items()}
        _ledger().parent.mkdir(parents=True, exist_ok=True)
        write_bytes(_ledger(), json.dumps({**kept, **new}).encode())
