import errno
import os
import resource
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.casebook.safely import write_bytes, write_new_text, write_text
from diagnose.errors import FitError

WRITERS: list[Callable[[Path, str], None]] = [write_new_text, write_text]


def names(folder: Path) -> list[str]:
    return sorted(os.listdir(folder))


@pytest.mark.parametrize("write", WRITERS)
def test_what_is_written_is_what_stands_there_and_nothing_beside_it(tmp_path: Path, write: Callable[..., None]) -> None:
    write(tmp_path / "a.json", "größer\r\n")
    assert (tmp_path / "a.json").read_bytes() == "größer\r\n".encode()
    assert names(tmp_path) == ["a.json"]


def test_a_file_that_exists_is_not_written_as_new(tmp_path: Path) -> None:
    write_new_text(tmp_path / "a", "old")
    with pytest.raises(FitError, match="It exists already"):
        write_new_text(tmp_path / "a", "new")
    assert (tmp_path / "a").read_text() == "old"
    assert names(tmp_path) == ["a"]


def test_a_link_that_leads_nowhere_is_not_written_through_as_new(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "nowhere")
    with pytest.raises(FitError, match="It exists already"):
        write_new_text(tmp_path / "a", "new")
    assert names(tmp_path) == ["a"]


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    write_text(tmp_path / "a", "a long old text")
    write_text(tmp_path / "a", "new")
    assert (tmp_path / "a").read_text() == "new"


def test_writing_over_a_link_writes_what_it_leads_to_and_keeps_the_link(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to("real")
    write_bytes(tmp_path / "link", b"new")
    assert (tmp_path / "real").read_bytes() == b"new"
    assert (tmp_path / "link").is_symlink()


@pytest.mark.parametrize("write", WRITERS)
@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "It is a folder"),
        ("missing/a", "no such file or folder"),
        ("file/a", "A part of its path is no folder"),
        ("n" * 300, "The name is too long"),
        ("a\0b", "zero character"),
        ("pipe", "no ordinary file"),
    ],
)
def test_each_impossible_place_is_refused_in_one_sentence(
    tmp_path: Path, write: Callable[..., None], name: str, says: str
) -> None:
    (tmp_path / "file").write_text("here")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FitError, match=says) as refused:
        write(tmp_path / name, "x")
    assert len(refused.value.mistakes) == 1
    assert names(tmp_path) == ["file", "pipe"]


@pytest.mark.parametrize("write", WRITERS)
def test_half_a_character_is_refused(tmp_path: Path, write: Callable[..., None]) -> None:
    with pytest.raises(FitError, match="half a character"):
        write(tmp_path / "a", "\ud800")
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    ("write", "call"),
    [(write, call) for write in WRITERS for call in ("open", "fsync")]
    + [(write_new_text, "link"), (write_text, "replace")],
)
@pytest.mark.parametrize(
    ("code", "says"),
    [(errno.ENOSPC, "disk is full"), (errno.EROFS, "only be read"), (errno.EACCES, "no right"), (errno.EIO, "error")],
)
def test_a_refusal_of_the_system_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: Callable[..., None], call: str, code: int, says: str
) -> None:
    (tmp_path / "other").write_text("stays")

    def refuse(*_args: object, **_more: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, call, refuse)
    with pytest.raises(FitError, match=says) as refused:
        write(tmp_path / "a", "x")
    assert "Nothing has been changed" in str(refused.value)
    assert names(tmp_path) == ["other"]


def test_a_disk_without_hard_links_still_refuses_to_overwrite(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_args: object) -> None:
        raise OSError(errno.EPERM, "no hard links here")

    monkeypatch.setattr(os, "link", no_links)
    write_new_text(tmp_path / "a", "first")
    with pytest.raises(FitError, match="It exists already"):
        write_new_text(tmp_path / "a", "second")
    assert (tmp_path / "a").read_text() == "first"
    assert names(tmp_path) == ["a"]


def test_a_disk_that_fills_up_in_mid_file_keeps_the_old_one(tmp_path: Path) -> None:
    """The kernel itself refuses, by a limit on the size of files in a child."""
    (tmp_path / "a").write_text("old")
    child = os.fork()
    if child == 0:
        code = 1
        try:
            sys.dont_write_bytecode = True  # Python would leave half of it
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (5000, 5000))
            write_text(tmp_path / "a", "x" * 100_000)
        except FitError:
            code = 0
        finally:
            os._exit(code)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert (tmp_path / "a").read_text() == "old"
    assert names(tmp_path) == ["a"]


@pytest.mark.parametrize("write", WRITERS)
def test_what_a_killed_writer_left_is_taken_away_an_hour_later_and_not_before(
    tmp_path: Path, write: Callable[..., None]
) -> None:
    old, young, other = tmp_path / ".writing-1.part", tmp_path / ".writing-2.part", tmp_path / ".writing-notes.txt"
    for path, age_s in ((old, 3700.0), (young, 3500.0), (other, 9999.0)):
        path.write_text("half")
        os.utime(path, (time.time() - age_s,) * 2)
    write(tmp_path / "a", "whole")
    assert names(tmp_path) == [young.name, other.name, "a"]
