"""A batch on one process and on several: the same answers in the same order, and nothing held that is not needed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.batching import MOST_BYTES, MOST_LINES, UNDER_WAY, Block, answered_apart, blocks_of
from diagnose.engine.matching import matcher_for
from diagnose.errors import FitError
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher

SOME = 3 * MOST_LINES + 5


def line(number: int, **more: Any) -> str:
    gap = {"top": f"{number % 5} in", "waist": "1 in", "bottom": "2 in"}
    return json.dumps({"id": str(number), "target": "2 in", "gap": gap, "seen": {"slides-down": True}, **more})


def run(text: str, *options: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "diagnose", "batch", *options], input=text.encode(), capture_output=True
    )


def made() -> tuple[RuleBase, Matcher]:
    base = load_rulebase()
    return base, matcher_for(base)


def killed() -> tuple[RuleBase, Matcher]:
    os.kill(os.getpid(), signal.SIGKILL)
    return made()


def test_two_processes_give_the_same_lines_in_the_same_order_as_one() -> None:
    lines = [line(number) for number in range(SOME)]
    lines[7], lines[40], lines[41] = "no JSON", "", line(41, gap={"top": "-1 in"})
    one, two = (run("\n".join(lines), "--jobs", jobs) for jobs in ("1", "2"))
    assert one.returncode == two.returncode == 2
    assert one.stdout == two.stdout
    found = [json.loads(text) for text in two.stdout.splitlines()]
    assert [answer["id"] for answer in found] == [None if n == 7 else str(n) for n in range(SOME) if n != 40]
    assert found[7]["error"]["where"] == "line 8"
    assert found[40]["error"]["where"] == "gap.top"


def test_a_batch_without_mistakes_ends_with_0_and_an_empty_one_says_nothing() -> None:
    assert run(line(1), "--jobs", "2").returncode == 0
    empty = run("\n\n", "--jobs", "2")
    assert (empty.returncode, empty.stdout) == (0, b"")


def test_the_settings_asked_for_hold_in_every_process() -> None:
    one, two = (run(line(1), "--jobs", jobs, "--unit", "cm", "--set", "dead-band=2 in") for jobs in ("1", "2"))
    assert one.stdout == two.stdout != run(line(1), "--jobs", "2").stdout


def test_a_block_is_closed_by_its_lines_or_by_its_bytes() -> None:
    short, long = b"x\n", b"y" * MOST_BYTES
    blocks = list(blocks_of([*[short] * (MOST_LINES + 1), long, short]))
    assert [(block.first, len(block.lines)) for block in blocks] == [
        (1, MOST_LINES),
        (MOST_LINES + 1, 2),
        (MOST_LINES + 3, 1),
    ]


def test_no_more_lines_are_read_than_are_under_way() -> None:
    read = 0

    def endless() -> Iterator[Block]:
        nonlocal read
        while True:
            read += 1
            yield Block(read, (line(read).encode(),))

    answers = answered_apart(endless(), 2, made)
    for number in range(1, 4):
        assert json.loads(next(answers).text)["id"] == str(number)
        assert read < number + 2 * UNDER_WAY
    answers.close()  # type: ignore[attr-defined]


def test_a_process_that_is_killed_is_told_in_a_sentence() -> None:
    blocks = [Block(1, (line(1).encode(),))]
    with pytest.raises(FitError, match="ended in the middle"):
        list(answered_apart(blocks, 2, killed))


@pytest.fixture
def waiting_batch() -> Iterator[subprocess.Popen[bytes]]:
    """A batch on two processes that has answered one round of blocks and waits for more."""
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "batch", "--jobs", "2"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    assert process.stdin
    assert process.stdout
    process.stdin.write("".join(line(number) + "\n" for number in range(2 * UNDER_WAY * MOST_LINES)).encode())
    process.stdin.flush()
    assert process.stdout.read(1)
    yield process
    process.kill()
    process.communicate()


def left_of(session: int) -> list[int]:
    """The processes of a session that are still there (a zombie is not)."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, _, own = stat.read_text().rpartition(")")[2].split()[:4]
        except OSError:
            continue
        if int(own) == session and state != "Z":
            found.append(int(stat.parent.name))
    return found


def gone(session: int) -> bool:
    deadline = time.monotonic() + 30
    while left_of(session) and time.monotonic() < deadline:
        time.sleep(0.05)
    return not left_of(session)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc to see what is left")
def test_ctrl_c_ends_all_processes_at_once_and_without_a_traceback(waiting_batch: subprocess.Popen[bytes]) -> None:
    assert len(left_of(waiting_batch.pid)) >= 3
    os.killpg(waiting_batch.pid, signal.SIGINT)
    _, told = waiting_batch.communicate(timeout=60)
    assert b"Traceback" not in told
    assert waiting_batch.returncode == 130
    assert gone(waiting_batch.pid)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc to see what is left")
def test_a_batch_that_is_killed_leaves_no_process_behind(waiting_batch: subprocess.Popen[bytes]) -> None:
    waiting_batch.kill()
    waiting_batch.wait()
    assert gone(waiting_batch.pid)
