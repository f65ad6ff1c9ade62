"""The whole program measured against what stands beside it, in one run: ratios, not seconds.

Run: ``python tests/bench/bench_whole.py [--quick]``. Prints one table: start-up of commands against the bare import of
typer, rich and pydantic; try-ons a second of a batch against the same batch on CLIPS and on the plain indexed matcher;
milliseconds an operation on the six-panel pattern; load of the rule base cold and warm.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "engine"))

BARE = "import typer, rich, pydantic"
TAKEIN = ["takein", "--top", "1 in", "--waist", "1 1/2 in", "--bottom", "2 in", "--target", "2 in", "--seams", "4"]
GAP = ["gap", *TAKEIN[1:]]
TRYON = {
    "id": "b", "garment": {"style": "corset", "closure": "back", "seams_per_half": 5}, "target": "2 in",
    "gap": {"top": "1 in", "waist": "2 in", "bottom": "3 in"}, "tension": "working",
    "seen": {"slides-down": True, "fold-under-bust": False, "hem-too-tight": True, "gape-at-front-top": True,
             "spill-at-front": False, "digs-under-arm": {"side": "right", "amount": "5/8 in"}},
    "known": {"toile-boned-at-back": True, "relaced-from-waist": True, "hand-slides-under-waist": False},
}  # fmt: skip
Row = tuple[str, str, str]


def seconds(command: list[str], repeat: int) -> float:
    """The median wall-clock time of a command."""
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, cwd=ROOT)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def start_up(repeat: int) -> list[Row]:
    """Commands against the bare imports, run turn and turn about."""
    bare = seconds([sys.executable, "-c", BARE], repeat)
    rows: list[Row] = [("bare import of typer, rich, pydantic", f"{bare * 1000:.0f} ms", "1.00 x")]
    with tempfile.TemporaryDirectory() as folder:
        case, answers = Path(folder) / "case", Path(folder) / "answers.json"
        answers.write_text(json.dumps(TRYON))
        run = [sys.executable, "-m", "diagnose"]
        pattern = str(ROOT / "cases/patterns/six-panel-corset.json")
        subprocess.run([*run, "new", str(case), "--pattern", pattern], check=True, capture_output=True, cwd=ROOT)
        for name, command in (("gap", GAP), ("takein", TAKEIN)):
            taken = seconds([*run, *command], repeat)
            rows.append((f"diagnose {name}, no case", f"{taken * 1000:.0f} ms", f"{taken / bare:.2f} x"))
        taken = seconds([*run, "tryon", str(case), "--answers", str(answers)], repeat)
        rows.append(("diagnose tryon --answers, six-panel case", f"{taken * 1000:.0f} ms", f"{taken / bare:.2f} x"))
    return rows


def batch(count: int) -> list[Row]:
    """Try-ons a second of the whole way from line to line, on each matcher in turn."""
    from clips_reference import ClipsMatcher  # type: ignore[import-not-found]

    from diagnose.cli.batch import answers
    from diagnose.engine.indexed import IndexedMatcher
    from diagnose.engine.matching import matcher_for
    from diagnose.rulebase.base import load_rulebase

    base = load_rulebase()
    lines = [json.dumps({**TRYON, "id": str(n)}).encode() for n in range(count)]
    matchers = {"durable-rules": matcher_for(base), "CLIPS": ClipsMatcher(base.rules),
                "plain loop (indexed)": IndexedMatcher(base.rules)}  # fmt: skip
    rows: list[Row] = []
    rates: dict[str, float] = {}
    for name, matcher in matchers.items():
        list(answers(lines[:20], base, matcher))
        start = time.process_time()
        done = sum(1 for _ in answers(lines, base, matcher))
        rates[name] = done / (time.process_time() - start)
    for name, rate in rates.items():
        rows.append((f"batch on {name}", f"{rate:.0f} a second", f"{rate / rates['CLIPS']:.2f} x CLIPS"))
    return rows


def operations() -> list[Row]:
    """Milliseconds an operation on the six-panel pattern."""
    from diagnose.pattern import operations as ops
    from diagnose.pattern.reader import load_pattern

    pattern = load_pattern(ROOT / "cases/patterns/six-panel-corset.json")
    piece = pattern.pieces[2]
    seam = next(edge.name for edge in piece.edges if edge.role == "seam")
    top = next(edge for edge in piece.edges if edge.role == "top")
    hem = next(edge for edge in piece.edges if edge.role == "bottom")
    middle = [(top.start.x + top.end.x) / 2, (top.start.y + top.end.y) / 2]
    foot = [(hem.start.x + hem.end.x) / 2, (hem.start.y + hem.end.y) / 2]
    ends = [list(top.start), list(top.end)]
    asked: dict[str, dict[str, object]] = {
        "fold": {"op": "fold", "piece": piece.name, "from": middle, "to": foot, "amount_from": 6, "amount_to": 3,
                 "move": "left"},
        "move-edge": {"op": "move-edge", "piece": piece.name, "edge": seam,
                      "by": [{"at": "top", "mm": 3}, {"at": "waist", "mm": 0}], "true_partner": True},
        "reshape-edge": {"op": "reshape-edge", "piece": piece.name, "edge": top.name, "from": ends[0],
                         "peak": middle, "to": ends[1], "height": 6, "direction": "up"},
        "length": {"op": "length", "at": {"station": "waist", "offset": 50}, "amount": 6},
    }  # fmt: skip
    rows: list[Row] = []
    for name, raw in asked.items():
        rows.append((f"operation {name}", f"{_milliseconds(lambda raw=raw: _do(ops, pattern, raw)):.1f} ms", ""))
    return rows


def _do(ops: object, pattern: object, raw: object) -> object:
    return ops.do(pattern, ops.parse_operations(raw))  # type: ignore[attr-defined]


def _milliseconds(call: Callable[[], object], repeat: int = 15) -> float:
    times = []
    for _ in range(repeat):
        start = time.process_time()
        call()
        times.append(time.process_time() - start)
    return statistics.median(times) * 1000


def rule_base() -> list[Row]:
    """Reading, checking and compiling the whole base: without the cache, and from it."""
    code = "import time;s=time.process_time();from diagnose.rulebase.base import load_rulebase;" \
           "from diagnose.engine.matching import matcher_for;i=time.process_time();matcher_for(load_rulebase());" \
           "print((time.process_time()-i)*1000)"  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "XDG_CACHE_HOME": folder}
        times = [
            float(subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, cwd=ROOT,
                                 env=environment).stdout)
            for _ in range(6)
        ]  # fmt: skip
    warm = statistics.median(times[1:])
    return [("rule base, cold", f"{times[0]:.0f} ms", ""), ("rule base, from the cache", f"{warm:.0f} ms", "")]


def main() -> None:
    """Print the table."""
    quick = "--quick" in sys.argv
    rows = [*start_up(3 if quick else 9), *rule_base(), *batch(200 if quick else 2000), *operations()]
    for name, figure, ratio in rows:
        print(f"{name:44}{figure:>18}{ratio:>16}")


if __name__ == "__main__":
    main()
