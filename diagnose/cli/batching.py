"""A batch: from lines to answers, one at a time, or shared out over processes.

Blocks of lines go out to the processes, their answers come back in the order of the lines. Only a few blocks a process
are under way at a time, however long the input, so memory stays as it is. A process has its own rule base and matcher
(a matcher belongs to the process that made it), and ends when the one that started it does.
"""

from __future__ import annotations

import json
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import parent_process
from typing import TYPE_CHECKING, Any, BinaryIO

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook.jsonfile import DoubledKeyError, keyed
from diagnose.cli.printing import json_line
from diagnose.errors import FitError
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.sheets.json_out import diagnosis_to_json

if TYPE_CHECKING:
    from diagnose.model.settings import Settings
    from diagnose.pattern.outline import Pattern
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.neutral import Matcher

__all__ = [
    "LONGEST_LINE", "Answered", "Block", "Making", "answer_block", "answer_line", "answered_apart", "answers",
    "blocks_of", "lines_of", "written",
]  # fmt: skip

LONGEST_LINE = 20_000_000
Making = Callable[[], tuple["RuleBase", "Matcher"]]
"""Makes the rule base and the matcher that answer."""

MOST_LINES = 32
MOST_BYTES = 1_000_000
"""A block is closed when it holds so many lines or so many bytes."""
UNDER_WAY = 4
"""Blocks under way for each process: one in work, the others waiting, so that none stands idle."""


class Answered(Struct, frozen=True):
    """Some answers as they are written, and whether any is an error."""

    text: str
    wrong: bool


def written(found: Iterable[Mapping[str, Any]]) -> Answered:
    """The answers, a line each."""
    kept = list(found)
    return Answered("".join([json_line(one) + "\n" for one in kept]), any("error" in one for one in kept))


def lines_of(stream: BinaryIO) -> Iterator[bytes]:
    """The lines of a stream; of one that is too long only the beginning, so that it is refused and never held."""
    while line := stream.readline(LONGEST_LINE + 1):
        yield line
        while not line.endswith(b"\n") and line:
            line = stream.readline(LONGEST_LINE)


def answers(lines: Iterable[bytes], base: RuleBase, matcher: Matcher, first: int = 1) -> Iterator[dict[str, Any]]:
    """The answer to each line that is not blank; `first` is the number of the first line."""
    for number, line in enumerate(lines, first):
        if line.strip():
            yield answer_line(line, number, base, matcher=matcher)


def answer_line(line: bytes, number: int, base: RuleBase, matcher: Matcher) -> dict[str, Any]:
    """The answer to one line: a diagnosis, or what is wrong with the line."""
    raw: Any = None
    try:
        raw = _decoded(line, number)
        tryon = read_tryon(raw, base.vocabulary, base.settings.unit)
        return diagnosis_to_json(diagnose(tryon, base, matcher, pattern=_pattern(tryon.pattern, base.settings)))
    except FitError as error:
        named = raw.get("id") if isinstance(raw, dict) else None
        mistakes = [replace(m, where=m.where or f"line {number}").to_json() for m in error.mistakes]
        found: dict[str, Any] = {"version": 1, "id": named if isinstance(named, str | int) else None}
        return {**found, "error": mistakes[0]} | ({"errors": mistakes} if len(mistakes) > 1 else {})


def _decoded(line: bytes, number: int) -> Any:
    if len(line) > LONGEST_LINE:
        raise FitError.of(f"line {number}", "The line is longer than 20 MB.", "Split it.", code="too-large")
    try:
        return json.loads(line, object_pairs_hook=keyed)
    except DoubledKeyError:
        raise FitError.of(
            f"line {number}", "A key stands twice in one object.", "Leave one of the two out.", code="doubled-key"
        ) from None
    except (ValueError, RecursionError):
        raise FitError.of(
            f"line {number}", "This line is not JSON.", "Give one JSON object a line.", code="not-json"
        ) from None


def _pattern(raw: Any, settings: Settings) -> Pattern | None:
    if raw is None:
        return None
    from diagnose.pattern.form.reader import read_pattern

    return read_pattern(raw, "pattern", settings.unit)


class Block(Struct, frozen=True):
    """Lines that follow each other, and the number of the first."""

    first: int
    lines: tuple[bytes, ...]


def blocks_of(lines: Iterable[bytes]) -> Iterator[Block]:
    """The lines in blocks."""
    first, held, size = 1, [], 0
    for number, line in enumerate(lines, 1):
        held.append(line)
        size += len(line)
        if len(held) >= MOST_LINES or size >= MOST_BYTES:
            yield Block(first, tuple(held))
            first, held, size = number + 1, [], 0
    if held:
        yield Block(first, tuple(held))


def answer_block(block: Block, base: RuleBase, matcher: Matcher) -> Answered:
    """The answers of a block."""
    return written(answers(block.lines, base, matcher, first=block.first))


def answered_apart(blocks: Iterable[Block], jobs: int, making: Making) -> Iterator[Answered]:
    """The answers of the blocks, in their order, worked out in so many processes.

    Args:
        blocks: the blocks; no more are taken than are under way.
        jobs: how many processes.
        making: makes the rule base and the matcher, once in each process; it must be picklable.

    Raises:
        FitError: when a process was killed.
    """
    pool = ProcessPoolExecutor(jobs, initializer=_start, initargs=(making,))
    waiting: deque[Future[Answered]] = deque()
    try:
        for block in blocks:
            waiting.append(pool.submit(_answer, block))
            if len(waiting) >= jobs * UNDER_WAY:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    except BrokenProcessPool:
        what = "One of the processes ended in the middle of its work."
        raise FitError.of(
            "--jobs", what, "See that there is memory enough, or take fewer jobs.", code="process-ended"
        ) from None
    finally:
        pool.shutdown(cancel_futures=True)


_own: list[tuple[RuleBase, Matcher]] = []
"""The rule base and matcher of a process, once it has started."""


def _start(making: Making) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches every process: the first one alone answers it
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _own.append(making())


def _end_with_parent() -> None:
    """A parent that is killed tells nobody, and its processes would wait for work for ever."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _answer(block: Block) -> Answered:
    return answer_block(block, *_own[0])
