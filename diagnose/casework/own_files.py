"""Files written for her outside a case: one that she made, or changed since, is never replaced unasked.

What was written where is kept with its checksum; a file of that name that no longer has it is hers.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

from platformdirs import user_state_dir

from diagnose.casebook.safely import write_bytes
from diagnose.errors import FitError, shown_path

__all__ = ["check_own", "write_own"]

MOST_KEPT = 5000


def write_own(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write a file, in place of one of that name only where that is as it was written by this program.

    Raises:
        FitError: when another is there and `replace` is not given, or it can't be written.
    """
    check_own(path, replace=replace)
    write_bytes(path, data)
    _keep(path, sha256(data).hexdigest())


def check_own(path: Path, *, replace: bool = False) -> None:
    """See that nothing of hers stands there, before the work is done.

    Raises:
        FitError: when a file stands there that is not as this program wrote it.
    """
    if replace or not path.is_file():
        return
    try:
        now = sha256(path.read_bytes()).hexdigest()
    except OSError:
        now = ""
    if _kept().get(_name(path)) != now:
        what = "A file of that name is there, which was not written by this program or was changed since."
        raise FitError.of(shown_path(path), what, "Give another name, or --replace to lose it.", code="not-ours")


def _ledger() -> Path:
    return Path(user_state_dir("diagnose-fit", appauthor=False)) / "written.json"


def _name(path: Path) -> str:
    return os.path.realpath(path)


def _kept() -> dict[str, str]:
    with suppress(OSError, ValueError, RecursionError):
        raw = json.loads(_ledger().read_text(encoding="utf-8"))
        return {str(name): str(sum_) for name, sum_ in raw.items()} if isinstance(raw, dict) else {}
    return {}


def _keep(path: Path, sum_: str) -> None:
    """Keep what was written; where that can't be, the file is taken for hers the next time."""
    with suppress(OSError, FitError):
        kept = {name: one for name, one in _kept().items() if name != _name(path)}
        kept = dict(list(kept.items())[-MOST_KEPT:])
        _ledger().parent.mkdir(parents=True, exist_ok=True)
        write_bytes(_ledger(), json.dumps({**kept, _name(path): sum_}).encode())
