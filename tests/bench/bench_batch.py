"""A batch: try-ons a second on each matcher, on two processes, and what memory it takes however long it runs."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, islice, repeat
from pathlib import Path
from random import Random
from typing import BinaryIO

sys.path.insert(0, str(Path(__file__).parent.parent / "engine"))
sys.path.insert(0, str(Path(__file__).parent.parent / "cases"))

from clips_reference import ClipsMatcher
from generated_python import GeneratedMatcher
from invented_tryons import invented_line, invented_lines
from scoring import read_vignettes
from table import Row, at_least, at_most, plain

from diagnose.cli.batching import answers
from diagnose.cli.printing import json_line
from diagnose.engine.indexed import IndexedMatcher
from diagnose.engine.inference import islands
from diagnose.engine.matching import matcher_for
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher

__all__ = ["batch_rows", "matchers_of", "memory_rows", "rates_of"]

ROOT = Path(__file__).resolve().parents[2]
OURS = "ours"
AIM_A_SECOND, AIM_CLIPS, AIM_GENERATED, AIM_MEMORY = 500, 1.0, 5.0, 1.1
BLOCK = 50
"""Lines that a matcher answers before it is the next one's turn, so that all meet the same moments of the machine."""
MEMORY = """
import pathlib, re, sys
from diagnose.cli import main
sys.argv = ["diagnose", "batch"]
try:
    main()
except SystemExit as ended:
    code = ended.code
held = re.search("VmHWM:\\s+(\\d+)", pathlib.Path("/proc/self/status").read_text())
sys.stderr.write(f"{code} {held[1]}")
"""
"""A batch that tells, in kB, the most it held; what `resource` tells would be its parent's, if that held more."""


def matchers_of(base: RuleBase) -> dict[str, Matcher]:
    """The product's matcher and the three it is measured against, on the same rules."""
    return {
        OURS: matcher_for(base), "CLIPS": ClipsMatcher(base.rules), "plain loop (indexed)": IndexedMatcher(base.rules),
        "generated Python": GeneratedMatcher(base.rules),
    }  # fmt: skip


def rates_of(lines: Sequence[bytes], base: RuleBase, matchers: Mapping[str, Matcher]) -> dict[str, float]:
    """Lines a second, from line to line and processor time alone, of each matcher, taking turns; the best of three.

    What one matcher's turn has learnt of the findings of a line (the plan of an island) is forgotten before the next.
    """
    spent = dict.fromkeys(matchers, 0.0)
    for first in range(0, len(lines), BLOCK):
        block = lines[first : first + BLOCK]
        turns = [(name, _seconds(block, base, matcher)) for _ in range(3) for name, matcher in matchers.items()]
        for name in matchers:
            spent[name] += min(seconds for own, seconds in turns if own == name)
    return {name: len(lines) / seconds for name, seconds in spent.items()}


def _fresh(matcher: Matcher) -> Matcher:
    """CLIPS, reached in this way, slows down with every reset: each turn it has an environment of its own."""
    return ClipsMatcher(matcher.rules) if isinstance(matcher, ClipsMatcher) else matcher


def _seconds(lines: Sequence[bytes], base: RuleBase, matcher: Matcher) -> float:
    islands.islands_of.cache_clear()
    islands._island.cache_clear()
    matcher = _fresh(matcher)
    start = time.process_time()
    for answer in answers(lines, base, matcher):
        json_line(answer)
    return time.process_time() - start


def batch_rows(count: int) -> Iterator[Row]:
    """The whole way from line to line, then matching alone, then two processes."""
    base = load_rulebase()
    matchers, lines = matchers_of(base), invented_lines(count, base)
    told = [json.dumps(one.line).encode() for one in read_vignettes()]
    ours = rates_of(told, base, {OURS: matchers[OURS]})[OURS]
    yield at_least("try-ons a second, one core, the vignettes", f"{ours:.0f}/s", "", ours, AIM_A_SECOND, "/s")
    rates = rates_of(lines, base, matchers)
    ours = rates.pop(OURS)
    yield plain("try-ons a second, one core, invented at random", f"{ours:.0f}/s")
    yield from _against(rates, ours, "the same batch on")
    matching = _matching(lines, base, matchers)
    ours = matching.pop(OURS)
    yield from _against(matching, ours, "matching alone:")
    yield from _jobs(lines)


def _against(rates: Mapping[str, float], ours: float, what: str) -> Iterator[Row]:
    for name, rate in rates.items():
        against, mine = f"{rate:.0f}/s", f"{ours:.0f}/s"
        if name == "CLIPS":
            yield at_least(f"{what} {name}", mine, against, ours / rate, AIM_CLIPS)
        elif name == "generated Python":
            yield at_most(f"{what} {name}", mine, against, rate / ours, AIM_GENERATED)
        else:
            yield plain(f"{what} {name}", mine, against, f"{ours / rate:.2f} x")


class _Recorded:
    """A matcher that notes what it is asked, so that others can be asked the same."""

    def __init__(self, matcher: Matcher) -> None:
        self._matcher = matcher
        self.asked: list[tuple[str, dict[str, str | float]]] = []

    def match(self, stage: str, facts: Mapping[str, str | float]):  # type: ignore[no-untyped-def]
        self.asked.append((stage, dict(facts)))
        return self._matcher.match(stage, facts)


def _matching(lines: Sequence[bytes], base: RuleBase, matchers: Mapping[str, Matcher]) -> dict[str, float]:
    """Try-ons a second that each matcher would serve, were nothing else to do; all must find the same."""
    recorded = _Recorded(matchers[OURS])
    some = lines[: 2 * BLOCK]
    for _ in answers(some, base, recorded):
        pass
    found, rates = set(), dict.fromkeys(matchers, 0.0)
    for _ in range(3):
        for name, used in matchers.items():
            matcher = _fresh(used)
            start = time.process_time()
            found.add(tuple([matcher.match(stage, facts) for stage, facts in recorded.asked]))
            rates[name] = max(rates[name], len(some) / (time.process_time() - start))
    assert len(found) == 1, "the matchers do not agree"
    return rates


def _jobs(lines: Sequence[bytes]) -> Iterator[Row]:
    """Wall-clock time of the whole command on two processes against one, its start included, the better of two runs."""
    text, taken = b"\n".join(lines * 3) + b"\n", {}
    for jobs in ("1", "2") * 2:
        start = time.perf_counter()
        command = [sys.executable, "-m", "diagnose", "batch", "--jobs", jobs]
        subprocess.run(command, input=text, stdout=subprocess.DEVNULL, cwd=ROOT, check=True)
        seconds = time.perf_counter() - start
        taken[jobs] = min(seconds, taken.get(jobs, seconds))
    one, two = (f"{3 * len(lines) / taken[jobs]:.0f}/s wall" for jobs in ("1", "2"))
    ratio = f"{taken['1'] / taken['2']:.2f} x"
    yield plain("batch --jobs 2 (other work on the machine counts)", two, f"--jobs 1: {one}", ratio)


def memory_rows(most: int) -> Iterator[Row]:
    """The most memory a batch ever held, at 1, 1,000, 10,000 lines and so on."""
    base = load_rulebase()
    held: dict[int, int] = {}
    _held_kb(1, base)  # the rules are read and kept; reading them takes more memory than any batch
    for count in sorted({1, 1_000, *(10**n for n in range(4, 7) if 10**n < most), most}):
        held[count] = _held_kb(count, base)
        what, ours = f"most memory held, {count:,} lines", f"{held[count] / 1024:.1f} MB"
        if count <= 1_000:
            yield plain(what, ours)
        else:
            against = f"1,000 lines: {held[1_000] / 1024:.1f} MB"
            yield at_most(what, ours, against, held[count] / held[1_000], AIM_MEMORY)


def _held_kb(count: int, base: RuleBase) -> int:
    """The most memory that a batch of so many lines held, fed through a pipe as it goes."""
    process = subprocess.Popen(
        [sys.executable, "-c", MEMORY],
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd=ROOT,
    )  # fmt: skip
    assert process.stdin
    threading.Thread(target=_feed, args=(process.stdin, count, base), daemon=True).start()
    assert process.stderr
    code, held = process.stderr.read().split()
    assert (process.wait(), code) == (0, b"0"), code
    return int(held)


def _feed(pipe: BinaryIO, count: int, base: RuleBase) -> None:
    """Lines that are never twice the same."""
    chance = Random(count)
    with pipe:
        for number in islice(chain(range(count), repeat(0)), count):
            pipe.write(invented_line(number, base, chance) + b"\n")
