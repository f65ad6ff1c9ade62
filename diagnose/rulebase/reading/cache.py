"""The cache of what has been read and found right: in the user's cache folder, never a reason to fail.

An entry is its check sum on a line and then the data, so that one that was cut short or spoilt is seen and passed over.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from zlib import crc32

from platformdirs import user_cache_dir

from diagnose.files import bytes_of
from diagnose.places import own_folder

__all__ = ["cache_folder", "keep_file", "kept_file"]

LARGEST = 100_000_000


def cache_folder() -> Path:
    """Where rules and templates are kept."""
    return own_folder(user_cache_dir)


def kept_file(path: Path) -> bytes | None:
    """A cache entry as it was kept; None when there is none, or it is not what was kept."""
    try:
        line, _, data = bytes_of(path, LARGEST, ordinary=True).partition(b"\n")
    except OSError:
        return None
    return data if line == _sum(data) else None


def keep_file(path: Path, data: bytes) -> None:
    """Write a cache entry whole or not at all; a folder that can't be written only costs time."""
    new = path.with_name(f"{path.name}.{os.urandom(8).hex()}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        new.write_bytes(_sum(data) + b"\n" + data)
        os.replace(new, path)
    except OSError:
        with suppress(OSError):
            new.unlink()


def _sum(data: bytes) -> bytes:
    return b"%08x" % crc32(data)
