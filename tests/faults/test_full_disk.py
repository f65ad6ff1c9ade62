"""A disk that takes no more while a demo or a handbook is written: told in a sentence, and nothing of it is left."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

LIMITED = """
import resource, sys
sys.dont_write_bytecode = True  # Python would leave half of it, and could not read it ever after
limit = int(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
from itertools import islice
from diagnose.cli.running import run
from diagnose.sheets import handbook
whole = handbook.pages.pages  # the first do as well as all
handbook.pages.pages = lambda base: islice(whole(base), 12)
sys.exit(run(sys.argv[2:]))
"""


def limited(room: Path, most: int, *command: str) -> tuple[int, str]:
    """The exit code and what was said by a command that may write no file of more than so many bytes."""
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(most), *command], capture_output=True, text=True, check=False, cwd=room,
        env={**os.environ, "XDG_CACHE_HOME": str(room.parent / "cache")},
    )  # fmt: skip
    return done.returncode, done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="file sizes can't be limited there")
@pytest.mark.parametrize("most", [3_000, 40_000, 110_000])
def test_a_demo_that_finds_no_room_leaves_nothing_and_says_where(tmp_path: Path, most: int) -> None:
    room = tmp_path / "room"
    room.mkdir()
    code, said = limited(room, most, "demo", "--out", "here")
    assert code == 2
    assert "The disk takes no file of this size." in said
    assert "/here/" in f"/{said.splitlines()[-1]}"
    assert ".writing-" not in said
    assert "Nothing has been changed." in said
    assert list(room.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="file sizes can't be limited there")
def test_a_handbook_that_finds_no_room_leaves_the_old_one_whole(tmp_path: Path) -> None:
    room = tmp_path / "room"
    room.mkdir()
    assert limited(room, 10**9, "rules", "handbook", "--out", "book")[0] == 0
    before = {path: path.read_bytes() for path in room.rglob("*") if path.is_file()}
    assert len([path for path in before if path.suffix == ".html"]) == 12
    code, said = limited(room, 12_000, "rules", "handbook", "--out", "book")
    assert (code, "Nothing has been changed." in said) == (2, True)
    assert {path: path.read_bytes() for path in room.rglob("*") if path.is_file()} == before
