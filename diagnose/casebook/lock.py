"""One change of a case at a time: a lock on the case's folder, let go by the system when its holder dies."""

from __future__ import annotations

import errno
import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from diagnose.casebook.safely import refusal
from diagnose.errors import FitError, shown_path

__all__ = ["LOCK_NAME", "WAIT_S", "asking", "locked"]

LOCK_NAME = ".lock"
ASKING_NAME = ".asking.lock"
WAIT_S = 5.0
CHANGING = (
    "Another program is changing this case just now.",
    "Wait until it is done and do it again; nothing has been changed.",
)
ASKING = (
    "A try-on of this case is being answered already, in another window or on the page.",
    "Go on with it there, or stop it there first; its answers are kept.",
)
LOOK_AGAIN_S = 0.05
_HELD = frozenset({errno.EAGAIN, errno.EACCES})


@contextmanager
def asking(folder: Path) -> Iterator[None]:
    """Hold the questions of a case's try-on, so that they are answered in one place at a time.

    Raises:
        FitError: when they are being answered elsewhere, or the folder can't be written.
    """
    with locked(folder, 0.0, ASKING_NAME, ASKING):
        yield


@contextmanager
def locked(
    folder: Path, wait_s: float = WAIT_S, name: str = LOCK_NAME, busy: tuple[str, str] = CHANGING
) -> Iterator[None]:
    """Hold a lock of the folder.

    Args:
        folder: an existing folder.
        wait_s: how long to wait for another holder.
        name: of the lock's file.
        busy: what is said when another holds it, and what to do.

    Raises:
        FitError: when the folder can't be written, or another program still holds the lock after `wait_s`.
    """
    give_up = time.monotonic() + wait_s
    handle = _held(folder, name, busy, give_up)
    try:
        yield
    finally:
        os.close(handle)


def _held(folder: Path, name: str, busy: tuple[str, str], give_up: float) -> int:
    """The open lock file, locked, and still the one that has the name (a start undone takes it away)."""
    path = folder / name
    while True:
        handle = _opened(path, folder)
        try:
            _wait(handle, give_up, folder, busy)
            if _is_still(path, handle):
                return handle
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)


def _opened(path: Path, folder: Path) -> int:
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC, 0o666)
    except OSError as error:
        raise refusal(path if error.errno in (errno.ELOOP, errno.EISDIR) else folder, error) from None


def _wait(handle: int, give_up: float, folder: Path, busy: tuple[str, str]) -> None:
    while True:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno not in _HELD:
                raise refusal(folder, error) from None
        else:
            return
        if time.monotonic() >= give_up:
            raise FitError.of(shown_path(folder), *busy)
        time.sleep(LOOK_AGAIN_S)


def _is_still(path: Path, handle: int) -> bool:
    try:
        return os.path.samestat(os.stat(path, follow_symlinks=False), os.fstat(handle))
    except FileNotFoundError:
        return False
