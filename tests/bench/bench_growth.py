"""How the cost grows: with the rules, with the findings of a try-on, with the rounds of a case, with the segments."""

from __future__ import annotations

import io
import json
import statistics
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from random import Random

from bench_batch import OURS, matchers_of, rates_of
from bench_operations import CHORD_MM, OPERATIONS, SHAPELY, best_ms, in_shapely, sheet
from invented_tryons import invented_line, invented_tryon
from table import Row, at_most, plain

from diagnose.cli.running import run
from diagnose.engine.findings import find_sides
from diagnose.engine.matching import matcher_for
from diagnose.engine.ranking import rank_sides
from diagnose.gap.reading import read_gap
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.geometry.bezier import outline_points
from diagnose.pattern.operations import do, parse_operations
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.entries import Symptom

__all__ = ["finding_rows", "round_rows", "rule_rows", "segment_rows"]

PATTERN = Path(__file__).resolve().parents[2] / "cases" / "patterns" / "six-panel-corset.json"
FINDINGS = (5, 10, 15, 20, 30, 40, 60)
RANKED_MOST, RANKING_AIM_MS = 15, 5.0
OUR_FAULT = 3
AIM_ROUNDS = 3.0
"""How much longer the last round of a case may take than the first; it reads all that went before."""
READ_AGAIN = 5
"""What changes nothing is timed so often, and the least taken."""


def rule_rows(counts: Sequence[int], tryons: int) -> Iterator[Row]:
    """Try-ons a second on a base of so many links: the bundled signs that are looked for, again and again."""
    bundled = load_rulebase()
    for count in counts:
        base = base_of_links(bundled, count)
        chance = Random(count)
        lines = [invented_line(number, base, chance) for number in range(tryons)]
        rates = rates_of(lines, base, matchers_of(base))
        ours = rates.pop(OURS)
        links = sum(map(len, base.links.values()))
        for name, rate in rates.items():
            yield plain(f"{links:,} links, {len(base.rules):,} conditions", f"{ours:.0f}/s", f"{name}: {rate:.0f}/s",
                        f"{ours / rate:.2f} x")  # fmt: skip


def base_of_links(base: RuleBase, count: int) -> RuleBase:
    """The base with about so many links: a few of its signs alone, or all of it and copies of its signs."""
    own = {name: entry for name, entry in base.entries.symptoms.items() if not entry.when and entry.now is None}
    if count < sum(map(len, base.links.values())):
        few = dict(_until(own.items(), count))
        entries = base.entries.model_copy(update={"symptoms": few, "questions": {}})
        return RuleBase(entries, base.settings, f"bench-{count}")
    symptoms, links, number = dict(base.entries.symptoms), sum(map(len, base.links.values())), 1
    while links < count:
        number += 1
        for name, entry in _until(own.items(), count - links):
            symptoms[f"{name}-copy-{number}"] = entry.model_copy(update={"id": f"{name}-copy-{number}"})
            links += len(entry.causes)
    return RuleBase(base.entries.model_copy(update={"symptoms": symptoms}), base.settings, f"bench-{count}")


def _until(entries: Iterable[tuple[str, Symptom]], links: int) -> Iterator[tuple[str, Symptom]]:
    """The first entries that have so many links in all."""
    for name, entry in entries:
        if links <= 0:
            return
        links -= len(entry.causes)
        yield name, entry


def finding_rows(draws: int) -> Iterator[Row]:
    """Milliseconds a diagnosis with so many findings, ranking alone, and where ranking is only near.

    A third of the findings are answers; of the signs half show, drawn at random, which ties them together more than a
    real fault does. The plan of an island is made anew for each, as for a try-on that was never seen before.
    """
    base = load_rulebase()
    matcher, chance = matcher_for(base), Random(60)
    for count in FINDINGS:
        raw = [invented_tryon(n, base, chance, count - count // 3, count // 3) for n in range(draws)]
        tryons = [read_tryon(one, base.vocabulary) for one in raw]
        ranking = statistics.median([_ranking_ms(tryon, base, matcher) for tryon in tryons])
        whole = statistics.median([_ms(lambda t=tryon: diagnose(t, base, matcher)) for tryon in tryons])
        near = sum(not diagnose(tryon, base, matcher).exact for tryon in tryons)
        yield plain(f"{count} findings: a diagnosis", f"{whole:.1f} ms", f"only near: {near} of {draws}")
        if count <= RANKED_MOST:
            yield at_most(f"{count} findings: ranking", f"{ranking:.1f} ms", "", ranking, RANKING_AIM_MS, " ms")
        else:
            yield plain(f"{count} findings: ranking", f"{ranking:.1f} ms")


def _ranking_ms(tryon: TryOn, base: RuleBase, matcher: Matcher) -> float:
    found = find_sides(tryon, read_gap(tryon, base.settings), base, matcher)
    start = time.process_time()
    rank_sides(found, base)
    return (time.process_time() - start) * 1000


def _ms(work: Callable[[], object], repeats: int = 3) -> float:
    """The least processor time of a few goes."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append((time.process_time() - start) * 1000)
    return min(times)


def round_rows(rounds: int) -> Iterator[Row]:
    """A case on the six-panel pattern taken through its rounds: the try-on, the alteration and the history of each.

    The gap is by turns too narrow and too wide, so that the pattern stays near where it began. Another case
    goes before, of another gap: what it loads is loaded, and nothing that the first round draws is drawn already.
    """
    with tempfile.TemporaryDirectory() as name:
        case, first = Path(name) / "case", _round(Path(name) / "warm", 1, "1 1/4 in")
        for number in range(1, rounds + 1):
            taken = _round(case, number, "1 1/2 in" if number % 2 else "2 1/2 in")
            first = taken if number == 1 else first
            if number in (1, 2, 5, 10, rounds):
                for what, ms in taken.items():
                    row = f"round {number}: {what}", f"{ms:.0f} ms", f"round 1: {first[what]:.0f} ms"
                    yield at_most(*row, ms / first[what], AIM_ROUNDS) if number == rounds else plain(*row)


def _round(case: Path, number: int, gap: str) -> dict[str, float]:
    """Milliseconds of each command of a round with that gap all the way; the first begins the case."""
    if number == 1:
        _command("new", str(case), "--pattern", str(PATTERN))
    answers, gaps = case.with_suffix(".json"), dict.fromkeys(("top", "waist", "bottom"), gap)
    answers.write_text(json.dumps({"id": str(number), "target": "2 in", "gap": gaps, "tension": "working"}))
    return {
        "tryon --answers": _command("tryon", str(case), "--answers", str(answers)),
        "alter": _command("alter", str(case)),
        "history": min(_command("history", str(case)) for _ in range(READ_AGAIN)),
    }


def _command(*arguments: str) -> float:
    """Milliseconds of processor time of a command in this process; what it says is not shown."""
    start = time.process_time()
    with redirect_stdout(io.StringIO()) as said, redirect_stderr(said):
        code = run(arguments)
    assert code != OUR_FAULT, f"diagnose {' '.join(arguments)}: {said.getvalue()}"
    return (time.process_time() - start) * 1000


def segment_rows(sizes: Sequence[int]) -> Iterator[Row]:
    """Milliseconds an operation on a piece of so many segments, beside the polygon work alone in shapely."""
    for name, raw in OPERATIONS.items():
        operations = parse_operations(raw)
        for size in sizes:
            pattern = sheet(size)
            points = [tuple(point) for point in outline_points(pattern.pieces[0], CHORD_MM)]
            ours = best_ms(lambda p=pattern, o=operations: do(p, o), 3)
            theirs = best_ms(lambda p=points, n=name: in_shapely(p, SHAPELY[n]), 3)
            against = f"shapely: {theirs:.2f} ms"
            yield plain(f"{name}, {size:,} segments", f"{ours:.1f} ms", against, f"{ours / theirs:.1f} x")
