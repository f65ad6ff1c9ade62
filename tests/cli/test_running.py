"""How a command line ends: its exit code, and a sentence on stderr for whatever went wrong."""

from __future__ import annotations

import errno
import os
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterator
from io import StringIO, TextIOWrapper
from typing import Any

import pytest

import diagnose.cli.app
from diagnose.cli import STOPPED, StoppedError
from diagnose.cli.running import run
from diagnose.errors import FitError, Mistake

Said = pytest.CaptureFixture[str]


@pytest.fixture
def stdout_kept() -> Iterator[None]:
    """The real stdout, put back when the test has ended."""
    kept = os.dup(1)
    yield
    os.dup2(kept, 1)
    os.close(kept)


@pytest.fixture
def ending(monkeypatch: pytest.MonkeyPatch) -> Callable[[BaseException], int]:
    """The exit code of a command that ends with an exception."""

    def ended(error: BaseException) -> int:
        def command(**_: Any) -> None:
            raise error

        monkeypatch.setattr(diagnose.cli.app, "app", command)
        return run(["gap"])

    return ended


@pytest.mark.parametrize(
    ("error", "code", "told"),
    [
        (FitError([Mistake("top", "It is wide.", "Look.", "wide"), Mistake("waist", "It is not.", "", "not")]), 2,
         "top: It is wide. Look.\nwaist: It is not.\n"),
        (SystemExit(1), 1, ""),
        (SystemExit(), 0, ""),
        (SystemExit("said already"), 0, ""),
        (KeyboardInterrupt(), STOPPED, f"{StoppedError()}\n"), (StoppedError(), STOPPED, f"{StoppedError()}\n"),
        (BrokenPipeError(), 0, ""),
        (OSError(errno.ENOSPC, "No space left on device"), 2,
         "The result can't be read or written (No space left on device). Look at the disk.\n"),
        (OSError(errno.EIO, "Input/output error", "case.json"), 2,
         "case.json can't be read or written (Input/output error). Look at the disk.\n"),
        (ZeroDivisionError("nought"), 3,
         "Something broke in the program itself (ZeroDivisionError: nought).\n"
         "Run it again with DIAGNOSE_TRACE=1 set and send us what it prints.\n"),
    ],
)  # fmt: skip
def test_every_end_has_its_code_and_its_sentence_and_never_a_traceback(
    error: BaseException, code: int, told: str, ending: Callable[[BaseException], int], stdout_kept: None,
    monkeypatch: pytest.MonkeyPatch, capsys: Said,
) -> None:  # fmt: skip
    monkeypatch.delenv("DIAGNOSE_TRACE", raising=False)
    assert ending(error) == code
    assert capsys.readouterr() == ("", told)


def test_a_command_that_simply_returns_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    """Typer ends each by an exit today; that is its own affair."""
    monkeypatch.setattr(diagnose.cli.app, "app", lambda **_: None)
    assert run(["gap"]) == 0


def test_a_fault_of_ours_is_traced_when_that_is_asked_for(
    ending: Callable[[BaseException], int], monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    monkeypatch.setenv("DIAGNOSE_TRACE", "1")
    assert ending(ZeroDivisionError("nought")) == 3
    told = capsys.readouterr().err
    assert told.startswith("Traceback")
    assert "Something broke in the program itself" in told


class Closed(StringIO):
    """A pipe whose reader has gone."""

    def write(self, text: str) -> int:
        raise BrokenPipeError(errno.EPIPE, "Broken pipe")


class Full(StringIO):
    """A pipe whose reader goes before what is held is written out."""

    def flush(self) -> None:
        raise BrokenPipeError(errno.EPIPE, "Broken pipe")


@pytest.mark.parametrize("stream", [Closed, Full])
def test_a_reader_that_has_seen_enough_is_no_mistake(
    stream: type[StringIO], stdout_kept: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = StringIO()
    monkeypatch.setattr(sys, "stdout", stream())
    monkeypatch.setattr(sys, "stderr", told)
    assert run(["gap", "--waist", "1 in"]) == 0
    assert told.getvalue() == ""


@pytest.mark.parametrize("line", ["rules", "gap --waist 1in"])
def test_in_a_shell_a_pipe_that_is_cut_short_ends_well_however_much_was_still_to_come(line: str) -> None:
    command = f"set -o pipefail; {shlex.quote(sys.executable)} -m diagnose {line} | true"
    known = {**os.environ, "LC_ALL": "C.UTF-8"}  # of a language that is not on the machine a shell would complain
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=120, env=known)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_code_of_one_still_says_that_too_little_is_known(capsys: Said) -> None:
    assert run(["gap"]) == 1
    assert "Missing: the gap at the top, the waist and the bottom." in capsys.readouterr().err


def test_streams_that_are_closed_lead_nowhere(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("stdin", "stdout", "stderr"):
        monkeypatch.setattr(sys, name, None)
    assert run(["gap", "--waist", "1 in"]) == 0
    assert run(["gap", "--waist", "wide"]) == 2
    assert sys.stdin.read() == ""
    assert (sys.stdout.name, sys.stderr.name) == (os.devnull, os.devnull)
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        stream.close()


def test_what_a_terminal_cannot_show_is_a_question_mark(monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> None:
    """The ± and “ ” of the history are no ASCII."""
    with open(tmp_path / "out", "wb") as raw:
        out = TextIOWrapper(raw, encoding="ascii", write_through=True)
        monkeypatch.setattr(sys, "stdout", out)
        assert run(["gap", "--waist", "0"]) == 0
        out.detach()
    assert b"only says ?at least?" in (tmp_path / "out").read_bytes()


@pytest.mark.parametrize(
    ("line", "says"), [(["nonsense"], "No such command 'nonsense'"), (["gap", "--nose"], "--nose")]
)
def test_a_command_or_option_that_there_is_not_ends_with_two(line: list[str], says: str, capsys: Said) -> None:
    assert run(line) == 2
    assert says in capsys.readouterr().err
