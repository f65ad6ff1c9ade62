"""A batch shared out over processes: blocks of lines go out, their answers come back in the order of the lines.

Only a few blocks a process are under way at a time, however long the input, so memory stays as it is. A process has its
own rule base and matcher (a matcher belongs to the process that made it), and ends when the one that started it does.
"""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import parent_process
from typing import TYPE_CHECKING

from msgspec import Struct

from diagnose.cli.batching.batch_lines import Answered, Making, answers, written
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.neutral import Matcher

__all__ = ["Block", "answer_block", "answered_apart", "blocks_of"]

MOST_LINES = 32
MOST_BYTES = 1_000_000
"""A block is closed when it holds so many lines or so many bytes."""
UNDER_WAY = 4
"""Blocks under way for each process: one in work, the others waiting, so that none stands idle."""


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
