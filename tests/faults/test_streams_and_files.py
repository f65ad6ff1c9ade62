"""Streams that are closed, full or know no Unicode; caches, settings and files that are not what they should be."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from killing import STEERING, child_of, ended, is_harmless

from diagnose import casebook
from diagnose.cli.batching import LONGEST_LINE, lines_of
from diagnose.errors import FitError
from diagnose.pattern.brought import load_pattern
from diagnose.places import bundled_rules
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.reading.cache import cache_folder
from diagnose.rulebase.reading.settings_file import read_settings


def run_here(line: str, room: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """`diagnose` by way of the shell, whose redirections close and fill streams.

    It would complain of a language that is not on the machine.
    """
    environment = {**os.environ, "LC_ALL": "C.UTF-8", **environment}
    return subprocess.run(
        ["bash", "-c", f"{shlex.quote(sys.executable)} -m diagnose {line}"], cwd=room, stdin=subprocess.DEVNULL,
        capture_output=True, env=environment, timeout=120,
    )  # fmt: skip


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
    changed = re.sub(rb'"common":"[a-z]+"', b'"common":"rare"', kept.read_bytes(), count=1)
    assert changed != kept.read_bytes()
    kept.write_bytes(changed)
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
