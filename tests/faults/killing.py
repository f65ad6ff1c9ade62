"""Every writing command killed at random instants: what a kill leaves must be whole, and the next run must succeed.

By hand, the long form: ``python tests/faults/killing.py --kills 1000``. A command runs in a child of a process that has
everything imported, so that nearly all instants fall into its work and not into imports.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casebook.layout import leftovers
from diagnose.casebook.safely import PART_PREFIX
from diagnose.casework.working import store_tryon
from diagnose.cli.running import run
from diagnose.errors import FitError
from diagnose.places import bundled_cases

__all__ = [
    "COMMANDS",
    "STEERING",
    "Command",
    "RuinError",
    "child_of",
    "ended",
    "is_harmless",
    "kill_often",
    "prepared",
    "state_of",
    "warm",
]

DISK_S = 0.004
LONGEST_S = 300
"""A child that hangs is ended after so long: that fails one test, and does not hold up all others."""
RUN_AGAIN = 5
"""Every so many kills the command is run again to its end, and what it comes to compared."""
STEERING = "\x1b[2J\x9b31m\x07\u202egnorts\u2028\x7f"
"""Clears a terminal, colours it, rings, turns the writing round, breaks the line."""
ALREADY = 2
"""What a second run ends with when the first had come to its end before the kill."""
TYPED = ("n", "1 in", "2 in", "3 in", "1", "y", "1", *"?" * 12)


class RuinError(AssertionError):
    """A kill left something that is lost, half-written or in the way."""


@dataclass(frozen=True)
class Command:
    """One writing command: its line in a room, what it writes, and whether it may have been done already."""

    line: Callable[[Path], list[str]]
    writes: str
    typed: tuple[str, ...] = ()
    once: bool = False


COMMANDS: Mapping[str, Command] = {
    "new": Command(
        lambda room: [
            "new", str(room / "fresh"), "--pattern", str(room / "p.json"), "--about", str(room / "about.json")
        ],
        "fresh", once=True,
    ),
    "tryon": Command(lambda room: ["tryon", str(room / "case"), "--answers", str(room / "answers.json")], "case"),
    "alter": Command(lambda room: ["alter", str(room / "case")], "case", once=True),
    "back": Command(lambda room: ["back", str(room / "case"), "1"], "case"),
    "questions": Command(lambda room: ["tryon", str(room / "case")], "case", typed=TYPED),
    "sheet.html": Command(lambda room: ["sheet", str(room / "case"), "--out", str(room / "s.html")], "s.html"),
    "sheet.svg": Command(lambda room: ["sheet", str(room / "case"), "--out", str(room / "s.svg")], "s.svg"),
    "sheet.dxf": Command(lambda room: ["sheet", str(room / "case"), "--out", str(room / "s.dxf")], "s.dxf"),
    "sheet.pdf": Command(lambda room: ["sheet", str(room / "case"), "--out", str(room / "s.pdf")], "s.pdf"),
    "alter a file": Command(
        lambda room: [
            "alter", "--pattern", str(room / "p.json"), "--do", str(room / "do.json"), "--out", str(room / "o.json")
        ],
        "o.json", once=True,
    ),
    "handbook": Command(lambda room: ["rules", "handbook", "--out", str(room / "book")], "book"),
}  # fmt: skip


def prepared(room: Path) -> Path:
    """A room with a case of one try-on, a pattern, answers and operations."""
    bundled = bundled_case("singer")
    room.mkdir(parents=True, exist_ok=True)
    shutil.copy(bundled_cases() / "patterns" / "boned-bodies.json", room / "p.json")
    (room / "about.json").write_text(json.dumps(dict(bundled.about)))
    (room / "answers.json").write_text(json.dumps(dict(bundled.rounds[0].answers)))
    (room / "do.json").write_text('[{"op": "length", "at": {"station": "waist"}, "amount": 6}]')
    casebook.create(room / "case", bundled.pattern, date="2026-03-02", **bundled.about)
    store_tryon(room / "case", bundled.rounds[0].answers, "2026-03-02")
    return room


def child_of(line: list[str], room: Path, typed: Iterable[str] = (), ready: Callable[[], object] = lambda: None) -> int:
    """The process id of a child that, once ready, runs a command line; what it says goes to ``said`` there."""
    child = os.fork()
    if child:
        return child
    try:
        sys.dont_write_bytecode = True  # where it may not write its fill, or is killed, it would leave half of it
        signal.alarm(LONGEST_S)
        (room / "typed").write_text("".join(f"{word}\n" for word in typed))
        for name, flags, handle in (("typed", os.O_RDONLY, 0), ("said", os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 1)):
            os.dup2(os.open(room / name, flags, 0o666), handle)
        os.dup2(1, 2)
        sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
        ready()
        code = run(line)
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
    finally:
        os._exit(99)


def _slow_disk() -> None:
    """Let each call that changes the disk take a while, so that many of the instants fall between two of them."""

    def slowly(really: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **more: Any) -> Any:
            time.sleep(DISK_S)
            found = really(*given, **more)
            time.sleep(DISK_S)
            return found

        return call

    for name in ("open", "fsync", "link", "replace", "unlink", "mkdir", "rmdir"):
        setattr(os, name, slowly(getattr(os, name)))


def ended(child: int) -> int:
    """The exit code of a child, less than 0 for the signal that ended it."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _whole_run(command: Command, room: Path) -> tuple[int, float]:
    began = time.monotonic()
    return ended(child_of(command.line(room), room, command.typed, _slow_disk)), time.monotonic() - began


def warm(command: Command, room: Path) -> None:
    """Run it here once, so that children find everything imported."""
    before = sys.stdin, sys.stdout, sys.stderr
    sys.stdin, sys.stdout, sys.stderr = (
        io.StringIO("".join(f"{w}\n" for w in command.typed)),
        io.StringIO(),
        io.StringIO(),
    )
    try:
        run(command.line(room))
    finally:
        sys.stdin, sys.stdout, sys.stderr = before


def state_of(place: Path) -> dict[str, bytes]:
    """What a file or folder holds, without locks, part-files and drafts."""
    files = [place] if place.is_file() else sorted(path for path in place.rglob("*") if path.is_file())
    names = [p for p in files if p.name != ".lock" and not p.name.startswith(PART_PREFIX) and ".draft." not in p.name]
    return {str(path.relative_to(place)): path.read_bytes() for path in names}


def is_harmless(text: str) -> bool:
    """Whether a terminal only shows it."""
    return all(c.isprintable() or c == "\n" for c in text)


def kill_often(name: str, kills: int, chance: Random, folder: Path) -> int:
    """Kill a command so many times, each in a room of its own; how many kills came before its end.

    Raises:
        RuinError: when something was lost, half-written, or in the way of the next run.
    """
    command = COMMANDS[name]
    model = prepared(folder / "model")
    warm(command, Path(shutil.copytree(model, folder / "warm")))
    whole = Path(shutil.copytree(model, folder / "whole"))
    code, first_s = _whole_run(command, whole)
    if code:
        raise RuinError(f"{name} ends with {code}: {(whole / 'said').read_text()[-500:]}")
    after = state_of(whole / command.writes)
    killed = 0
    for number in range(kills):
        room = Path(shutil.copytree(model, folder / "room"))
        child = child_of(command.line(room), room, command.typed, _slow_disk)
        time.sleep(chance.uniform(0.0, first_s))
        os.kill(child, signal.SIGKILL)
        came_to_an_end = ended(child) != -signal.SIGKILL
        killed += not came_to_an_end
        try:
            _look_over(command, state_of(model / command.writes), after, room)
            if number % RUN_AGAIN == 0:
                first_s = 0.7 * first_s + 0.3 * _next_run(command, room, after)
        except (RuinError, FitError, OSError) as error:
            raise RuinError(f"{name}, kill {number}: {error}; see {room}") from error
        shutil.rmtree(room)
    return killed


def _look_over(command: Command, before: Mapping[str, bytes], after: Mapping[str, bytes], room: Path) -> None:
    """What stands there after a kill: all that stood before, and of what is new only whole files.

    A file that a whole run replaces (the case's own, which counts what is stored) is the old one or the new one, whole.
    """
    now = state_of(room / command.writes) if (room / command.writes).exists() else {}
    if command.writes in ("case", "fresh"):
        _look_over_case(room / command.writes, room)
    for file, data in before.items():
        if now.get(file) not in (data, after.get(file)):
            raise RuinError(f"{file} was there before and is not what it was")
    for file, data in now.items():
        if file not in before and data != after.get(file) and not command.typed:
            raise RuinError(f"{file} is neither absent nor whole ({len(data)} bytes)")


def _look_over_case(folder: Path, room: Path) -> None:
    if not (folder / "case.json").exists():
        return
    case = casebook.open_case(folder)
    draft = casebook.load_draft(case)
    said = (room / "said").read_text() if (room / "said").exists() else ""
    asked = said.count("--- question")
    if draft is not None and asked and len(draft["replies"]) < asked - 1:
        raise RuinError(f"{asked} questions were asked, but only {len(draft['replies'])} answers are kept")


def _next_run(command: Command, room: Path, after: Mapping[str, bytes]) -> float:
    """Run it again to its end: it must succeed, and leave nothing half done behind. How long it took."""
    resumed = Command(command.line, command.writes, ("y", *command.typed)) if _has_draft(room) else command
    code, took_s = _whole_run(resumed, room)
    if code and not (command.once and code == ALREADY and set(state_of(room / command.writes)) >= set(after)):
        raise RuinError(f"the next run ends with {code}: {(room / 'said').read_text()[-500:]}")
    if command.writes in ("case", "fresh"):
        casebook.open_case(room / command.writes)
        if left := [path.name for path in leftovers(room / command.writes) if ".draft." not in path.name]:
            raise RuinError(f"the next run left {left}")
    elif any(state_of(room / command.writes).get(file) != data for file, data in after.items()):
        raise RuinError("the next run wrote something else than a run undisturbed")
    return took_s


def _has_draft(room: Path) -> bool:
    return any((room / "case" / "tryons").glob("*.draft.json"))


def main() -> int:
    """The long form, from the command line."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("names", nargs="*", help="of commands; all of them unless given")
    options.add_argument("--kills", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    chance = Random(given.seed)
    total = in_time = 0
    weights = {name: 0.1 if name == "handbook" else 0.5 if "sheet" in name else 1.0 for name in given.names or COMMANDS}
    for name, weight in weights.items():
        kills = max(1, round(given.kills * weight / sum(weights.values()) + 0.5))
        with tempfile.TemporaryDirectory(prefix="kills-") as folder:
            killed = kill_often(name, kills, chance, Path(folder))
        total, in_time = total + kills, in_time + killed
        print(
            f"{name}: {kills} kills, {killed} of them before its end; nothing lost, the next run succeeds", flush=True
        )
    print(f"{total} kills in all, {in_time} before the end of the command.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
