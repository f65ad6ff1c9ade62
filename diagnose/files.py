"""Taking a file's bytes from the disk: never more than asked for, and no waiting where an ordinary file is wanted."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

__all__ = ["LARGEST_YAML", "bytes_of"]

LARGEST_YAML = 1_000_000
"""Bytes of a YAML file."""
_NO_WAIT, _NO_LINK = getattr(os, "O_NONBLOCK", 0), getattr(os, "O_NOFOLLOW", 0)
"""Windows has neither: no pipe stands among its files, and a link is looked for beforehand."""


def bytes_of(path: Path | str, most: int, *, ordinary: bool = False, follow: bool = True) -> bytes:
    """The first `most` + 1 bytes of a file, so that one too many is seen and no more than that is held.

    Args:
        path: the file.
        most: how many bytes it may have.
        ordinary: refuse pipes and devices; without it a pipe that the maker names is waited for.
        follow: follow a link.

    Raises:
        OSError: when it can't be read, is a folder, or is not what was asked for.
    """
    flags = os.O_RDONLY | (_NO_WAIT if ordinary else 0) | (0 if follow else _NO_LINK)
    if "\0" in str(path):
        raise OSError(errno.EINVAL, "a name can't hold a zero character")
    if not (follow or _NO_LINK) and os.path.islink(path):
        raise OSError(errno.ELOOP, "it is a link")
    with os.fdopen(os.open(path, flags), "rb") as file:  # a folder is refused here, as one
        told = os.fstat(file.fileno())
        if ordinary and not stat.S_ISREG(told.st_mode):
            raise OSError(errno.EINVAL, "it is no ordinary file")
        # Asked for the most, Python would take that much memory for the smallest file.
        data = file.read(min(told.st_size, most) + 1)
        return data if len(data) <= told.st_size else data + file.read(most + 1 - len(data))
