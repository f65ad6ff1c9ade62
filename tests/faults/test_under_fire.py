"""Whole commands where the disk is full or can only be read, where others write too, and on text that is a weapon."""

from __future__ import annotations

import json
import os
import resource
import shutil
import signal
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from killing import COMMANDS, STEERING, child_of, ended, is_harmless, state_of, warm

from diagnose import casebook
from diagnose.errors import FitError
from diagnose.places import bundled_rules

NOBODY = 65534
WRITING = ["new", "tryon", "alter", "back", "sheet.html", "sheet.pdf", "alter a file"]


def said(room: Path) -> str:
    return (room / "said").read_text(errors="surrogateescape")


def small_files() -> None:
    """The kernel refuses to let any file grow beyond 300 bytes, as a full disk does."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (300, 300))


@pytest.mark.parametrize("name", WRITING)
def test_a_disk_that_fills_up_leaves_all_as_it_was_and_is_told(name: str, room: Path) -> None:
    command = COMMANDS[name]
    before = state_of(room)
    code = ended(child_of(command.line(room), room, ready=small_files))
    assert code == 2, said(room)
    assert {file: data for file, data in state_of(room).items() if file not in ("said", "typed")} == before
    assert "Traceback" not in said(room)
    assert ended(child_of(command.line(room), room)) == 0, said(room)


@pytest.fixture
def small_disk(room: Path) -> Iterator[Path]:
    """The case on a disk of its own with hardly any room left."""
    disk = room / "disk"
    disk.mkdir()
    size = 4096 * 40
    if subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", disk], capture_output=True).returncode:
        pytest.skip("no disk may be mounted here")
    try:
        shutil.copytree(room / "case", disk / "case")
        with open(disk / "filler", "wb") as filler:
            filler.write(b"x" * (shutil.disk_usage(disk).free - 4096))
        yield disk
    finally:
        subprocess.run(["umount", disk], check=True)


def test_on_a_disk_that_is_truly_full_a_tryon_is_refused_and_goes_through_once_there_is_room(
    small_disk: Path, room: Path
) -> None:
    line = ["tryon", str(small_disk / "case"), "--answers", str(room / "answers.json")]
    before = state_of(small_disk / "case")
    assert ended(child_of(line, room)) == 2
    assert "The disk is full. Make room and do it again. Nothing has been changed." in said(room)
    assert state_of(small_disk / "case") == before
    (small_disk / "filler").unlink()
    assert ended(child_of(line, room)) == 0, said(room)
    assert len(casebook.open_case(small_disk / "case").tryons) == 2


def without_rights() -> None:
    if os.geteuid() == 0:
        os.setgid(NOBODY)
        os.setuid(NOBODY)


def open_to_all(folder: Path) -> None:
    """Let anybody come in as far as this folder."""
    for above in (folder, *folder.parents):
        if above.stat().st_uid == os.geteuid() and len(above.parts) > 2:
            above.chmod(above.stat().st_mode | 0o055)


@pytest.mark.parametrize("name", [name for name in WRITING if name != "sheet.pdf"])
def test_where_nothing_may_be_written_nothing_is_and_it_is_told(name: str, room: Path, tmp_path: Path) -> None:
    if not all(folder.stat().st_mode & 0o001 for folder in bundled_rules().parents):
        pytest.skip("nobody else may come to where the rules lie")
    # Without rights the child may not even come to where the program's libraries lie.
    warm(COMMANDS[name], Path(shutil.copytree(room, tmp_path / "warm")))
    open_to_all(room)
    folders = [room, *(path for path in room.rglob("*") if path.is_dir())]
    before = state_of(room)
    for folder in folders:
        folder.chmod(0o555)
    try:
        handles = (room / "said", room / "typed")
        if os.geteuid():
            pytest.skip("the child's own files can't be written here either")
        code = ended(child_of(COMMANDS[name].line(room), room, ready=without_rights))
        assert code == 2, said(room)
        assert "right" in said(room)
        assert {f: d for f, d in state_of(room).items() if f not in {h.name for h in handles}} == before
    finally:
        for folder in folders:
            folder.chmod(0o755)


def test_four_programs_at_once_on_one_case_all_have_their_tryon_stored(room: Path) -> None:
    children = []
    for number in range(4):
        own = room / f"own-{number}"
        own.mkdir()
        children.append(child_of(COMMANDS["tryon"].line(room), own))
    line = [str(room / f"own-{n}") for n in range(4)]
    assert [ended(child) for child in children] == [0] * 4, [said(Path(own)) for own in line]
    case = casebook.open_case(room / "case")
    assert len(case.tryons) == 5
    assert [tryon.number for tryon in case.tryons] == list(range(1, 6))


def weapons(room: Path) -> None:
    """Put the steering text wherever a maker or a stranger may write text."""
    (room / "case").rename(room / f"case{STEERING}")
    for file, old in (("tryons/0001.json", '"format"'), ("patterns/0001.done.json", '"format"')):
        path = room / f"case{STEERING}" / file
        path.write_text(path.read_text().replace(old, f'"{json.dumps(STEERING)[1:-1]}": 1, {old}', 1))
    answers = json.loads((room / "answers.json").read_text())
    (room / "answers.json").write_text(json.dumps({**answers, "id": STEERING}))


@pytest.mark.parametrize("more", [[], ["--json"]])
@pytest.mark.parametrize("what", ["tryon", "plan", "alter", "back", "history", "cutting", "gap", "takein", "sheet"])
def test_nothing_a_maker_or_a_file_says_can_steer_the_terminal(what: str, more: list[str], room: Path) -> None:
    weapons(room)
    folder = next(str(path) for path in room.glob("case*"))
    lines = {
        "tryon": ["tryon", folder, "--answers", str(room / "answers.json")], "back": ["back", folder, "1"],
        "sheet": ["sheet", folder, "--out", str(room / f"s{STEERING[:9]}.nothing")],
    }  # fmt: skip
    ended(child_of([*lines.get(what, [what, folder]), *(more if what != "sheet" else [])], room))
    assert said(room)
    assert is_harmless(said(room))


@pytest.mark.parametrize("ending", ["html", "svg", "dxf", "pdf"])
def test_nothing_a_maker_says_gets_into_a_sheet_as_a_control_character(ending: str, room: Path) -> None:
    weapons(room)
    folder = next(room.glob("case*"))
    raw = json.loads((folder / "tryons/0001.json").read_text())
    raw["answers"]["id"] = STEERING + "<script>alert(1)</script>"
    (folder / "tryons/0001.json").write_text(json.dumps(raw))
    with suppress(FitError):  # the second file is still to be kept
        casebook.keep_as_it_stands(folder, "patterns/0001.done.json")
    case = casebook.keep_as_it_stands(folder, "tryons/0001.json")
    out = room / f"s.{ending}"
    assert ended(child_of(["sheet", str(folder), "--out", str(out)], room)) == 0, said(room)
    assert case.name
    data = out.read_bytes()
    assert not any(weapon in data for weapon in (b"\x1b", b"\x07", "\x9b31m".encode(), "\u202e".encode()))
    assert b"<script>alert" not in data


@pytest.mark.parametrize("text", [STEERING, '{"a": 1', "\x1b]0;x\x07", "half\udc9b"])
def test_a_command_line_that_is_a_weapon_is_told_harmlessly(text: str, room: Path) -> None:
    lines = [["gap", "--top", text], ["gap", "--target", text], ["gap", "--set", text], ["gap", "--unit", text],
             ["tryon", str(room / text)], ["new", str(room / "a" / text), "--pattern", str(room / "p.json")],
             ["new", str(room / "b"), "--pattern", str(room / text)], ["rules", "show", text], ["rules", "check", text],
             ["plan", str(room / "case"), "--why", text], ["alter", str(room / "case"), text],
             ["alter", "--pattern", str(room / "p.json"), "--do", text, "--out", str(room / "o.json")]]  # fmt: skip
    for line in lines:
        assert ended(child_of(line, room)) == 2, (line, said(room))
        assert is_harmless(said(room)), line


@pytest.mark.parametrize(
    "name", ["..", "../..", ".", "/", "/dev/null", "/proc/self/x", "a/b/c", "x" * 300, "y/" * 3000, "p.json", " ", "~"]
)
def test_a_case_is_only_made_in_a_folder_of_its_own(name: str, room: Path) -> None:
    before = state_of(room)
    code = ended(child_of(["new", os.path.join(room, name), "--pattern", str(room / "p.json")], room))
    now = {f: d for f, d in state_of(room).items() if f not in ("said", "typed")}
    assert "Traceback" not in said(room)
    assert {file: now[file] for file in before} == before
    assert (code == 0) == (name in (" ", "~")), said(room)


def test_a_case_that_is_a_link_elsewhere_is_not_written_through_its_inner_links(room: Path) -> None:
    shutil.rmtree(room / "case" / "tryons")
    (room / "elsewhere").mkdir()
    (room / "case" / "tryons").symlink_to(room / "elsewhere")
    assert ended(child_of(COMMANDS["tryon"].line(room), room)) == 2
    assert list((room / "elsewhere").iterdir()) == []
