"""`diagnose` without what only Unix has, its files as they behave on Windows: a stand-in for want of the real one.

Run: ``python tests/faults/as_on_windows.py demo --out DIR``, or any other command. Taken away is what Python's own
documentation marks "Availability: Unix" and neither Python nor a library asks for here. A folder can't be opened there,
and a file that is open can't be replaced, renamed or removed.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

MODULES = ("fcntl", "termios", "pwd", "grp", "resource", "readline", "tty", "pty", "syslog")
NAMES = (
    "O_CLOEXEC", "O_NONBLOCK", "O_NOFOLLOW", "O_DIRECTORY", "O_SYNC", "fork", "forkpty", "getgid", "setuid", "chown",
    "lchown", "fchown", "mkfifo", "mknod", "killpg", "setsid", "getpgid", "getpgrp", "nice", "statvfs", "fstatvfs",
    "sysconf", "pread", "pwrite", "sched_getaffinity", "openpty", "ttyname", "posix_spawn", "register_at_fork",
    "getloadavg", "fdatasync", "sync",
)  # fmt: skip


def take_away() -> None:
    """From here on this process has none of it."""
    for module in MODULES:
        sys.modules[module] = None  # type: ignore[assignment]
    for name in NAMES:
        if hasattr(os, name):
            delattr(os, name)
    os.open = _but(os.open, lambda path, *_: os.path.isdir(path))
    os.replace = _but(os.replace, lambda old, new: _is_open(old) or _is_open(new) or os.path.isdir(new))
    os.rename = _but(os.rename, lambda old, new: _is_open(old) or os.path.lexists(new))
    os.unlink = os.remove = _but(os.unlink, lambda path: _is_open(path))


def _but(really: Callable[..., Any], refused: Callable[..., bool]) -> Callable[..., Any]:
    def call(*args: Any, **more: Any) -> Any:
        if refused(*args):
            raise PermissionError(errno.EACCES, "Access is denied", os.fspath(args[0]))
        return really(*args, **more)

    return call


def _is_open(path: str | os.PathLike[str]) -> bool:
    real = os.path.realpath(path)
    return any(os.path.realpath(handle) == real for handle in Path("/proc/self/fd").iterdir())


if __name__ == "__main__":
    take_away()
    from diagnose.cli.running import run

    sys.exit(run(sys.argv[1:]))
