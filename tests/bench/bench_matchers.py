"""What a try-on costs by each matcher, side by side in one process: python tests/bench/bench_matchers.py

A try-on is four stages of a rule base of chance, 60 facts in all, 20 of them known. Figures are CPU time, the best of
several rounds, the matchers taking turns; the ratio is to the indexed matcher. CLIPS is reached through Python and
written to be read, not to be fast.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent.parent / "engine"))

from clips_reference import ClipsMatcher
from invented_rules import invented_facts, invented_rules

from diagnose.engine.durable import DurableMatcher, compile_rules
from diagnose.engine.indexed import IndexedMatcher
from diagnose.rulebase.neutral import Facts, Matcher

STAGES = tuple(f"stage-{n}" for n in range(4))
FACTS, KNOWN, TRY_ONS, ROUNDS = 60, 20, 200, 7


def cpu_us(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return (time.process_time() - start) * 1e6


def try_on_all(matcher: Matcher, all_facts: Sequence[Facts]) -> int:
    return sum(len(matcher.match(stage, facts)) for facts in all_facts for stage in STAGES)


def row(count: int) -> str:
    chance = Random(count)
    rules = invented_rules(count, facts=FACTS, stages=len(STAGES), chance=chance)
    all_facts = [invented_facts(KNOWN, facts=FACTS, chance=chance) for _ in range(TRY_ONS)]
    compiling = cpu_us(lambda: compile_rules(rules)) / 1000
    stored = json.dumps(compile_rules(rules))
    loading = cpu_us(lambda: DurableMatcher.from_compiled(json.loads(stored)).close()) / 1000
    with DurableMatcher(rules) as durable:
        matchers = (durable, IndexedMatcher(rules), ClipsMatcher(rules))
        firings = [try_on_all(matcher, all_facts) for matcher in matchers]
        assert len(set(firings)) == 1
        times = [[cpu_us(lambda m=matcher: try_on_all(m, all_facts)) for matcher in matchers] for _ in range(ROUNDS)]
    best = [min(each) / TRY_ONS for each in zip(*times, strict=True)]
    figures = "".join(f"{us:9.0f} {us / best[1]:5.1f}x" for us in best)
    return f"{count:6} {firings[0] / TRY_ONS:8.1f}{figures}{compiling:13.1f}{loading:10.1f}"


def main() -> None:
    print("       firings        µs a try-on, and ratio to indexed             rule engine, ms")
    print(" rules a try-on  rule engine         indexed           CLIPS     compiling   loading")
    for count in (20, 200, 400, 2000):
        print(row(count), flush=True)


if __name__ == "__main__":
    main()
