"""Ctrl-C at any instant, while all still loads too: exit code 130, one sentence, no traceback, nothing half-written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from random import Random

import pytest

from diagnose.cli.stopping import STOPPED, StoppedError

COMMANDS = {
    "gap": ["gap", "--waist", "1 in", "--target", "2 in"],
    "rules": ["rules", "check"],
    "demo": ["demo", "--out", "demo-out"],
    "batch": ["batch"],
}


def stopped_after(seconds: float, command: list[str], here: Path) -> tuple[int, str]:
    """How a command ends that gets Ctrl-C after so many seconds, and what it says on stderr."""
    lines = b'{"id": "a", "gap": {"waist": "1 in"}}\n' * 3000
    (here / "lines").write_bytes(lines)
    ready = (
        "import os, signal, sys; from diagnose.cli import main; sys.argv[0] = 'diagnose'; real = signal.signal\n"
        "def told(*a):\n    signal.signal = real; real(*a); os.write(2, b'.')\n"
        "signal.signal = told; main()"
    )
    with (here / "lines").open("rb") as stdin:
        process = subprocess.Popen(
            [sys.executable, "-B", "-c", ready, *command], cwd=here, stdin=stdin, stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE, env={**os.environ, "DIAGNOSE_TRACE": ""},
        )  # fmt: skip
        assert process.stderr is not None
        assert process.stderr.read(1) == b"."
        time.sleep(seconds)
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=120)
    return process.returncode, said.decode()


def check(name: str, seconds: float, here: Path) -> None:
    code, said = stopped_after(seconds, COMMANDS[name], here)
    assert "Traceback" not in said, said
    if code == 0:  # it was done before it was stopped
        return
    assert code == STOPPED, (code, said)
    assert [line for line in said.splitlines() if "drawing the sheets" not in line and "durable" not in line] == [
        str(StoppedError())
    ]
    assert not [path for path in here.rglob("*") if "writing-" in path.name]
    assert not (here / "demo-out").exists() or (here / "demo-out" / "stage-bodies" / "case.json").exists()


@pytest.mark.parametrize("name", list(COMMANDS))
@pytest.mark.parametrize("seconds", [0.0, 0.2, *(pytest.param(at, marks=pytest.mark.long) for at in (0.05, 0.6))])
def test_ctrl_c_ends_with_130_and_one_sentence(name: str, seconds: float, tmp_path: Path) -> None:
    check(name, seconds, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(int(os.environ.get("DIAGNOSE_STOPS", "20"))))
def test_ctrl_c_at_random_ends_with_130_and_one_sentence(seed: int, tmp_path: Path) -> None:
    chance = Random(seed)
    check(chance.choice(list(COMMANDS)), chance.random() * chance.choice([0.1, 0.5, 2.0]), tmp_path)


def test_ctrl_c_that_comes_where_nothing_can_be_raised_comes_again() -> None:
    told = """
import signal, sys, time
from diagnose.cli.stopping import StoppedError, _stop, _unraised
signal.signal(signal.SIGINT, _stop)
sys.unraisablehook = _unraised
class Gone:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
try:
    Gone()
    time.sleep(5)
except StoppedError:
    print("stopped")
"""
    ended = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, timeout=120)
    assert (ended.stdout, ended.stderr) == ("stopped\n", "")


def test_ctrl_c_that_comes_while_pydantic_builds_a_validator_is_no_fault_of_ours() -> None:
    """Whatever comes up while a validator is built is told as an error of the schema (pydantic's own habit)."""
    told = """
import signal, time
from pydantic import TypeAdapter
from diagnose.cli.stopping import StoppedError, _stop
class Schema:
    @classmethod
    def __get_pydantic_core_schema__(cls, source, handler):
        signal.raise_signal(signal.SIGINT)
        return handler(str)
signal.signal(signal.SIGINT, _stop)
try:
    TypeAdapter(Schema)
    time.sleep(5)
except StoppedError:
    print("stopped")
"""
    ended = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, timeout=120)
    assert (ended.stdout, ended.stderr) == ("stopped\n", "")
