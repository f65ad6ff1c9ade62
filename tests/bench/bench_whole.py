"""The whole program measured against what stands beside it, in one run: ratios, not seconds.

Run: ``python tests/bench/bench_whole.py [--quick]``. Prints one table: start-up of commands against the bare import of
typer, rich and pydantic (for a try-on that of durable and shapely besides, on which it stands); try-ons a second of a
batch against the same batch on CLIPS and on the plain indexed matcher; milliseconds an operation on the six-panel
pattern; load of the rule base cold and warm.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "engine"))

BARE = "import typer, rich, pydantic"
BARE_TRYON = f"{BARE}, durable.engine, shapely"
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
Times = list[tuple[float, float]]


def seconds(command: list[str], environment: Mapping[str, str]) -> tuple[float, float]:
    """The processor time and the wall-clock time of a command in a fresh interpreter, its children's included."""
    before, start = os.times(), time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, cwd=ROOT, env=environment)
    wall, after = time.perf_counter() - start, os.times()
    used = after.children_user + after.children_system - before.children_user - before.children_system
    return used, wall


def start_up(repeat: int) -> list[Row]:
    """Commands against the bare imports, run turn and turn about.

    All is run once before it is timed, with byte code kept apart from the checkout: as an installed program runs.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(folder / "code")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        commands = _commands(folder, environment)
        taken: dict[str, list[tuple[float, float]]] = {command: [] for command in commands}
        for turn in range(repeat + 1):
            for command, run in commands.items():
                shutil.rmtree(folder / "case", ignore_errors=True)
                shutil.copytree(folder / "started", folder / "case")
                time_taken = seconds(run, environment)
                if turn:
                    taken[command].append(time_taken)
        return [_start_row(command, times, taken) for command, times in taken.items()]


def _commands(folder: Path, environment: Mapping[str, str]) -> dict[str, list[str]]:
    """The commands by name, and a case for them that has been started."""
    run, answers = [sys.executable, "-m", "diagnose"], folder / "answers.json"
    answers.write_text(json.dumps(TRYON))
    pattern = str(ROOT / "cases/patterns/six-panel-corset.json")
    seconds([*run, "new", str(folder / "started"), "--pattern", pattern], environment)
    return {
        BARE: [sys.executable, "-c", BARE],
        BARE_TRYON: [sys.executable, "-c", BARE_TRYON],
        "diagnose gap, no case": [*run, *GAP],
        "diagnose takein, no case": [*run, *TAKEIN],
        "diagnose tryon --answers, six panels": [*run, "tryon", str(folder / "case"), "--answers", str(answers)],
    }


def _start_row(command: str, times: Times, taken: Mapping[str, Times]) -> Row:
    """Processor time, and its ratio to the bare import of what the command stands on; beside it the wall clock's."""
    base = taken[BARE_TRYON if "tryon" in command else BARE]
    (used, wall), (base_used, base_wall) = _medians(times), _medians(base)
    return command, f"{used * 1000:.0f} ms", f"{used / base_used:.2f} x ({wall / base_wall:.2f} x wall)"


def _medians(times: Times) -> tuple[float, float]:
    return statistics.median(used for used, _ in times), statistics.median(wall for _, wall in times)


def batch(count: int) -> list[Row]:
    """Try-ons a second of the whole way from line to line, on each matcher in turn."""
    from clips_reference import ClipsMatcher  # type: ignore[import-not-found]

    from diagnose.cli.batch_lines import answers
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
        print(f"{name:54}{figure:>14}{ratio:>24}")


if __name__ == "__main__":
    main()
