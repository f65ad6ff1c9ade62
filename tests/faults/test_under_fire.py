"""Whole commands where the disk is full or can only be read, where others write too, and on text that is a weapon."""

from __future__ import annotations

import io
import json
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from killing import COMMANDS, child_of, ended, prepared, state_of

from diagnose import casebook
from diagnose.cli.batch_lines import LONGEST_LINE, lines_of
from diagnose.errors import FitError
from diagnose.pattern.reader import load_pattern
from diagnose.places import bundled_rules
from diagnose.rulebase.base import load_rulebase
from diagnose.rulebase.cache import cache_folder
from diagnose.rulebase.settings import read_settings

NOBODY = 65534
STEERING = "\x1b[2J\x9b31m\x07\u202egnorts\u2028\x7f"
"""Clears a terminal, colours it, rings, turns the writing round, breaks the line."""
WRITING = ["new", "tryon", "alter", "back", "sheet.html", "sheet.pdf", "alter a file"]


@pytest.fixture(scope="session")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return prepared(tmp_path_factory.mktemp("fire") / "model")


@pytest.fixture
def room(model: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(model, tmp_path / "room"))


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
def test_where_nothing_may_be_written_nothing_is_and_it_is_told(name: str, room: Path) -> None:
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


def is_harmless(text: str) -> bool:
    return all(c.isprintable() or c == "\n" for c in text)


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
    case = casebook.open_case(folder)
    raw = json.loads((folder / "tryons/0001.json").read_text())
    raw["answers"]["id"] = STEERING + "<script>alert(1)</script>"
    (folder / "tryons/0001.json").write_text(json.dumps(raw))
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


def run_here(line: str, room: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """`diagnose` by way of the shell, whose redirections close and fill streams."""
    command = f"{sys.executable} -m diagnose {line}"
    return subprocess.run(
        ["bash", "-c", command], cwd=room, capture_output=True, env={**os.environ, **environment}, timeout=60
    )


def test_a_full_stdout_is_told_and_ends_with_two(room: Path) -> None:
    done = run_here("takein --waist 1in --target 2in > /dev/full", room)
    assert done.returncode == 2
    assert b"No space left" in done.stderr
    assert b"Traceback" not in done.stderr


def test_closed_streams_are_no_fault(room: Path) -> None:
    done = run_here("takein --waist 1in --target 2in <&- >&- 2>&-", room)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")


def test_json_stays_json_where_the_terminal_knows_no_unicode(room: Path) -> None:
    done = run_here("batch", room, PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    (room / "in").write_text(json.dumps({"id": "é" + STEERING, "gap": {"top": 0}, "target": 50}) + "\n")
    for encoding in ("ascii", "latin-1", "utf-8", "utf-16"):
        done = run_here("batch < in", room, PYTHONIOENCODING=encoding)
        assert json.loads(done.stdout.decode(encoding))["id"] == "é" + STEERING, done.stderr
        assert is_harmless(done.stdout.decode(encoding))


def test_no_home_and_no_cache_are_no_fault(room: Path) -> None:
    done = run_here("takein --waist 1in --target 2in", room, HOME="", XDG_CACHE_HOME="not/absolute")
    assert done.returncode == 0
    assert not (room / "not").exists()


def _flipped(data: bytes) -> Iterator[bytes]:
    for at in range(0, len(data), max(1, len(data) // 60)):
        yield data[:at] + bytes([data[at] ^ 1 << at % 8]) + data[at + 1 :]


DAMAGES: list[Callable[[bytes], Iterator[bytes]]] = [
    _flipped,
    lambda data: iter([data[:40], data[:-1], b"", b"\0" * len(data), b"[" * 100_000]),
]


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_cache_that_is_damaged_in_any_bit_is_never_believed(
    damage: Callable[[bytes], Iterator[bytes]], rules_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    true = read_settings(rules_folder)
    (kept,) = cache_folder().glob("settings-*.json")
    whole = kept.read_bytes()
    for damaged in damage(whole):
        kept.write_bytes(damaged)
        assert read_settings(rules_folder) == true
        assert kept.read_bytes() == whole


def test_a_cache_of_rules_with_one_figure_changed_is_not_believed(
    rules_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    true = load_rulebase(rules_folder).entries
    kept = next(path for path in cache_folder().glob("rules-*.json") if "compiled" not in path.name)
    kept.write_bytes(kept.read_bytes().replace(b'"often"', b'"rarely"'))
    os.truncate(kept, kept.stat().st_size)
    assert load_rulebase(rules_folder).entries == true


def test_a_pipe_in_place_of_a_file_is_not_waited_for(room: Path) -> None:
    (room / "rules").mkdir()
    os.mkfifo(room / "rules" / "facts.yaml")
    os.mkfifo(room / "case" / "tryons" / "0002.json")
    for read in (lambda: load_rulebase(room / "rules"), lambda: casebook.open_case(room / "case")):
        with pytest.raises(FitError, match="no ordinary file"):
            read()


@pytest.mark.parametrize("name", ["x.json", "x.csv", "x.svg", "x.dxf"])
def test_a_file_without_end_is_refused(name: str, room: Path) -> None:
    (room / name).symlink_to("/dev/zero")
    assert ended(child_of(["new", str(room / "n"), "--pattern", str(room / name)], room)) == 2
    if name in ("x.json", "x.csv"):
        with pytest.raises(FitError):
            load_pattern(room / name)


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e999", "x", ""])
def test_a_setting_that_is_no_finite_number_is_refused_on_the_line_and_in_the_file(value: str, room: Path) -> None:
    own = Path(shutil.copytree(bundled_rules(), room / "rules"))
    file = own / "settings.yaml"
    name = next(name for name, setting in read_settings(own).values.items() if not setting.is_length)
    assert ended(child_of(["gap", "--top", "1 in", "--set", f"{name}={value}"], room)) == 2
    start = file.read_text().index(f"\n{name}:")
    file.write_text(
        file.read_text()[:start] + re.sub(r"value: .*", f"value: '{value}'", file.read_text()[start:], count=1)
    )
    with pytest.raises(FitError, match="is no value"):
        read_settings(own)


@pytest.mark.parametrize("text", ["", "- a", "x", "dead-band: 1", "dead-band: {title: [a], value: {b: c}}"])
def test_a_file_of_settings_that_holds_something_else_is_refused(text: str, tmp_path: Path) -> None:
    (tmp_path / "settings.yaml").write_text(text)
    with pytest.raises(FitError, match="setting"):
        read_settings(tmp_path)


def test_of_a_line_without_end_only_the_beginning_is_held_and_the_next_lines_go_on() -> None:
    stream = io.BytesIO(b"x" * (3 * LONGEST_LINE) + b"\n{}\n" + b"y" * (LONGEST_LINE + 5))
    assert [len(line) for line in lines_of(stream)] == [LONGEST_LINE + 1, 3, LONGEST_LINE + 1]
