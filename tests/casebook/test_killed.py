"""A kill at any instant leaves the last complete state, which the next change goes on from."""

import os
import random
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from invented_case import ANSWERS, altered, narrower, plan, started, state_of

from diagnose.casebook import Case, add_measuring, add_tryon, add_version, back_to, note_skipped, open_case, save_draft
from diagnose.casebook.layout import leftovers, sweep
from diagnose.errors import FitError

KILLS = 100
CALLS = ("open", "fsync", "link", "replace", "unlink", "mkdir", "rmdir")


def next_version(case: Case) -> Case:
    return add_version(case, altered(case.pattern, 0.25), case.newest.number, narrower(0.25))


def measured(case: Case) -> Case:
    return add_measuring(case, {"waist": "27 in"})


CHANGES: dict[str, Callable[[Case], object]] = {
    "add_version": next_version,
    "back_to": lambda case: back_to(case, 1),
    "add_tryon": lambda case: add_tryon(case, ANSWERS, plan(25.4, 0.0)),
    "note_skipped": lambda case: note_skipped(case, 1, "1.2", "no time"),
    "add_measuring": measured,
    "save_draft": lambda case: save_draft(case, ANSWERS),
}


def killed_at(count: int, after: bool, change: Callable[[], object]) -> bool:
    """Make a change in a child that is killed at its `count`-th call that changes the disk; whether it was killed."""
    child = os.fork()
    if child == 0:
        try:
            sys.dont_write_bytecode = True  # a kill would leave half of it
            _kill_at(count, after)
            change()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def _kill_at(count: int, after: bool) -> None:
    made = [0]

    def counting(really: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            made[0] += 1
            if made[0] == count and not after:
                os.kill(os.getpid(), signal.SIGKILL)
            mine = made[0] == count
            try:
                return really(*args, **more)
            finally:
                if mine:
                    os.kill(os.getpid(), signal.SIGKILL)

        return call

    for name in CALLS:
        setattr(os, name, counting(getattr(os, name)))


LONG = pytest.mark.long
ALL = [pytest.param(name, marks=() if name in ("add_version", "save_draft") else LONG) for name in CHANGES]


@pytest.mark.parametrize("after", [False, pytest.param(True, marks=LONG)])
@pytest.mark.parametrize("change", ALL)
def test_a_change_killed_at_any_call_has_happened_whole_or_not_at_all(tmp_path: Path, change: str, after: bool) -> None:
    case = add_tryon(started(tmp_path / "whole"), ANSWERS, plan(25.4, 0.0))
    CHANGES[change](case)
    whole = open_case(case.folder)
    for count in range(1, 200):
        case = add_tryon(started(tmp_path / str(count)), ANSWERS, plan(25.4, 0.0))
        killed = killed_at(count, after, lambda now=case: CHANGES[change](now))  # type: ignore[misc]
        now = open_case(case.folder)
        same = [(now.versions, now.tryons, len(now.measurings)) == (c.versions, c.tryons, len(c.measurings))
                for c in (case, whole)]  # fmt: skip
        assert any(same)
        if not killed:
            assert same[1]
            assert count > 3
            return
        assert measured(now) == open_case(case.folder)
        assert leftovers(case.folder) == []
    pytest.fail("the change never came to its end")


@pytest.mark.parametrize("after", [False, pytest.param(True, marks=LONG)])
def test_a_start_killed_at_any_call_is_there_or_can_be_made_again(tmp_path: Path, after: bool) -> None:
    (tmp_path / "whole").mkdir()
    whole = state_of(started(tmp_path / "whole" / "x").folder)
    for count in range(1, 200):
        folder = tmp_path / str(count) / "x"
        folder.parent.mkdir()
        killed = killed_at(count, after, lambda to=folder: started(to))  # type: ignore[misc]
        try:
            open_case(folder)
        except FitError:
            assert killed
            started(folder)
        sweep(folder)
        assert state_of(folder) == whole
        if not killed:
            assert count > 10
            return
    pytest.fail("the start never came to its end")


def work(case: Case, told: int) -> None:
    """Change the case without end, and tell each change done."""
    choice = random.Random(os.getpid())
    changes = (next_version, lambda c: back_to(c, 1), lambda c: add_tryon(c, ANSWERS, plan(1.0, 2.0)))
    while True:
        case = choice.choice(changes)(case)
        os.write(told, b".")


def done_before_kill(case: Case, told_first: int, after_s: float) -> int:
    """How many changes a child told of before it was killed, a little after it had told of the first few."""
    read, told = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            sys.dont_write_bytecode = True
            os.close(read)
            work(case, told)
        finally:
            os._exit(1)
    os.close(told)
    with os.fdopen(read, "rb") as pipe:
        heard = len(pipe.read(told_first))
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
        return heard + len(pipe.read())


@pytest.mark.long
def test_a_hundred_kills_at_random_lose_nothing_that_was_done(tmp_path: Path) -> None:
    chance = random.Random(20260105)
    done = 0
    for kill in range(KILLS):
        if kill % 10 == 0:
            case = started(tmp_path / str(kill))
        told = done_before_kill(case, chance.choice((0, 0, 1, 2)), chance.uniform(0.0, 0.03))
        now = open_case(case.folder)
        grown = len(now.versions) + len(now.tryons) - len(case.versions) - len(case.tryons)
        assert grown in (told, told + 1)
        assert now.versions[: len(case.versions)] == case.versions
        assert now.tryons[: len(case.tryons)] == case.tryons
        case, done = now, done + told
    assert done > KILLS // 4
