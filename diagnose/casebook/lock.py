"""One change of a case at a time: a lock on the case's folder, let go by the system when its holder dies."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from diagnose.casebook.safely import refusal
from diagnose.errors import FitError, shown_path

__all__ = ["LOCK_NAME", "WAIT_S", "asking", "locked"]

LOCK_NAME = ".lock"
ASKING_NAME = ".asking.lock"
WAIT_S = 5.0
LOOK_AGAIN_S = 0.05
CHANGING = (
    "Another program is changing this case just now.",
    "Wait until it is done and do it again; nothing has been changed.",
)
ASKING = (
    "A try-on of this case is being answered already, in another window or on the page.",
    "Go on with it there, or stop it there first; its answers are kept.",
)


@contextmanager
def asking(folder: Path) -> Iterator[None]:
    """Hold the questions of a case's try-on, so that they are answered in one place at a time.

    Raises:
        FitError: when they are being answered elsewhere, or the folder can't be written.
    """
    with locked(folder, 0.0, ASKING_NAME, busy=ASKING):
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
    from filelock import FileLock, Timeout  # here, for whoever only reads a case takes no lock

    lock = FileLock(folder / name, timeout=wait_s, mode=0o666)
    try:
        lock.acquire(poll_interval=LOOK_AGAIN_S)
    except Timeout:
        raise FitError.of(shown_path(folder), *busy, code="busy") from None
    except OSError as error:
        odd = (folder / name).is_symlink() or (folder / name).is_dir()
        raise refusal(folder / name if odd else folder, error) from None
    try:
        yield
    finally:
        lock.release()
