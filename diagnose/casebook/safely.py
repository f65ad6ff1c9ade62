"""Writing a file so that a crash at any instant leaves the old state or the new one, never a part of either.

The bytes go into a part-file beside the file, are forced to the disk, and only then get the file's name; last the
folder is forced to the disk. A new file gets its name by a hard link, which fails when the name is taken, so that
nothing is ever overwritten unseen. Where the disk knows no hard links the name is claimed with an empty file first: a
kill just then leaves an empty file, which readers of a case pass over.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
import stat
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake, shown_path

__all__ = [
    "PART_PREFIX", "PART_SUFFIX", "filled", "refusal", "sync_folder", "write_bytes", "write_new_text", "write_text",
]  # fmt: skip

PART_PREFIX = ".writing-"
PART_SUFFIX = ".part"
OLD_S = 3600.0
"""A part-file this old has no writer any more: it was killed."""
NOTHING_DONE = "Nothing has been changed."
NOT_SURE = "It was written, but may not outlast a power cut."
_NO_LINKS = frozenset({errno.EPERM, errno.EMLINK, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP})
_SAY: dict[int, tuple[str, str]] = {
    errno.ENOSPC: ("The disk is full.", "Make room and do it again."),
    errno.EDQUOT: ("Your share of the disk is used up.", "Make room and do it again."),
    errno.EFBIG: ("The disk takes no file of this size.", "Look at how large a file may be there."),
    errno.EROFS: ("The disk can only be read.", "Put it on a disk that can be written."),
    errno.EACCES: ("You have no right to read or write it.", "Look at the rights of the file and of its folder."),
    errno.EPERM: ("You have no right to read or write it.", "Look at the rights of the file and of its folder."),
    errno.EISDIR: ("It is a folder.", "Give the name of a file."),
    errno.ENOENT: ("There is no such file or folder.", "Look at its name and place; its folder must exist."),
    errno.ENOTDIR: ("A part of its path is no folder.", "Look at its name and place."),
    errno.ELOOP: ("It is a link that stands where a file of its own is wanted.", "Put the file itself there."),
    errno.ENAMETOOLONG: ("The name is too long.", "Give a shorter one."),
    errno.EEXIST: ("It exists already.", "Give another name, or move the old one away: it is not overwritten."),
}  # fmt: skip


def write_new_text(path: Path, text: str) -> None:
    """Write a file that does not exist yet, all or nothing.

    Args:
        path: where; its folder must exist.
        text: what, written as UTF-8.

    Raises:
        FitError: when anything of that name exists (a link that leads nowhere too), or it can't be written.
    """
    _write(path, _encoded(path, text), _put_new)


def write_text(path: Path, text: str) -> None:
    """Write a file, all or nothing, in place of the one of that name if there is one.

    Raises:
        FitError: when it can't be written; the old one then stands as it was.
    """
    write_bytes(path, _encoded(path, text))


def write_bytes(path: Path, data: bytes) -> None:
    """Write bytes, all or nothing, in place of the file of that name if there is one.

    Where `path` is a link, the file it leads to is written, and the link stays.
    """
    real = path if "\0" in str(path) else Path(os.path.realpath(path))
    _write(real, data, _put_over)


@contextmanager
def filled(folder: Path) -> Iterator[Path]:
    """A folder beside `folder` to write into: what is in it comes into `folder` when the block ends, or else is gone.

    Raises:
        FitError: when it can't be written.
    """
    part = folder.parent / f"{PART_PREFIX}{secrets.token_hex(8)}{PART_SUFFIX}"
    try:
        part.mkdir(parents=True)
        for place in (folder.parent, folder):
            _sweep(place)
        yield part
        for path in sorted(part.rglob("*")):
            there = folder / path.relative_to(part)
            if path.is_dir():
                there.mkdir(parents=True, exist_ok=True)
            else:
                there.parent.mkdir(parents=True, exist_ok=True)
                os.replace(path, there)
    except OSError as error:
        raise refusal(folder, error, NOTHING_DONE) from None
    except FitError as error:  # told of the place that it was meant for, and not of the part beside it
        raise FitError(_placed(mistake, part, folder) for mistake in error.mistakes) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _placed(mistake: Mistake, part: Path, folder: Path) -> Mistake:
    return replace(mistake, where=mistake.where.replace(str(part), str(folder)).replace(part.name, folder.name))


def refusal(path: Path, error: OSError, done: str = "") -> FitError:
    """What the system refused, as one clear sentence.

    Args:
        path: the file or folder it was about.
        error: what the system said.
        done: a sentence added to the remedy.
    """
    what, do = _SAY.get(error.errno or 0, (f"{error.strerror or 'It failed'}.", "Look at the disk."))
    return FitError.of(shown_path(path), what, f"{do} {done}".strip(), code="disk-refuses")


def sync_folder(folder: Path) -> None:
    """Force a folder's list of names to the disk.

    Raises:
        OSError: when the disk fails. Disks that can't do this for a folder are let be, and so is Windows, which opens
            no folders.
    """
    if (directory := getattr(os, "O_DIRECTORY", None)) is None:
        return
    handle = os.open(folder, os.O_RDONLY | directory)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno != errno.EINVAL:
            raise
    finally:
        os.close(handle)


def _encoded(path: Path, text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:
        raise FitError.of(
            shown_path(path), "The text holds half a character.", "Take it out.", code="half-character"
        ) from None


def _write(path: Path, data: bytes, put: Callable[[Path, Path], None]) -> None:
    if "\0" in str(path):
        raise FitError.of(
            shown_path(path), "A name can't hold a zero character.", "Give another name.", code="bad-name"
        )
    part = path.parent / f"{PART_PREFIX}{secrets.token_hex(8)}{PART_SUFFIX}"
    try:
        _refuse_odd(path)
        _sweep(path.parent)
        _write_part(part, data)
        put(part, path)
    except OSError as error:
        raise refusal(path, error, NOTHING_DONE) from None
    finally:
        with suppress(OSError):  # gone already, or not even written; what stays of it is swept later
            part.unlink()
    try:
        sync_folder(path.parent)
    except OSError as error:
        raise refusal(path, error, NOT_SURE) from None


def _sweep(folder: Path) -> None:
    """Take away the part-files of writers that were killed."""
    now = time.time()
    for part in folder.glob(f"{PART_PREFIX}*{PART_SUFFIX}"):
        with suppress(OSError):  # another sweeps too, or it is not ours to take away
            if now - part.lstat().st_mtime > OLD_S:
                shutil.rmtree(part) if part.is_dir() else part.unlink()


def _refuse_odd(path: Path) -> None:
    """Only an ordinary file may be replaced; a folder gets its own sentence, before anything is written."""
    with suppress(FileNotFoundError):
        mode = path.lstat().st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, "is a folder")
        if not stat.S_ISREG(mode) and not stat.S_ISLNK(mode):
            raise FitError.of(
                shown_path(path), "It is no ordinary file.", "Give the name of a file.", code="not-a-file"
            )


def _write_part(part: Path, data: bytes) -> None:
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _put_over(part: Path, path: Path) -> None:
    os.replace(part, path)


def _put_new(part: Path, path: Path) -> None:
    try:
        os.link(part, path)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        _claim_and_replace(part, path)


def _claim_and_replace(part: Path, path: Path) -> None:
    os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
    try:
        os.replace(part, path)
    except OSError:
        path.unlink()
        raise
