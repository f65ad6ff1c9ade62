"""The whole program measured against what stands beside it, in one run: ratios, not seconds.

Run: ``python tests/bench/bench_whole.py [--quick] [--lines N]``. Prints one table: start-up of commands against the
bare import of typer, rich and pydantic (for a try-on that of shapely besides, on which it stands), and against the
least command that uses them: the libraries put most of what they load off until a first option is read, a first model
is made and a first line is laid out, so that the bare import alone no longer says what they cost. The plan and the
sheet of a try-on by the clock of the processor; load of
the rule base cold and warm; a batch against the same batch on CLIPS, on the plain indexed matcher and on rules
generated into Python; the memory it holds over N lines (10,000 unless given; a million for the full run); growth with
links, findings, rounds and segments; milliseconds an operation on the six-panel pattern. Ends with 1 when an aim is
missed.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

from bench_batch import batch_rows, memory_rows
from bench_growth import finding_rows, round_rows, rule_rows, segment_rows
from bench_operations import SIZES
from table import Row, at_most, plain, show_section

ROOT = Path(__file__).resolve().parents[2]

BARE = "import typer, rich, pydantic"
BARE_TRYON = f"{BARE}, shapely"
LEAST = """
from typing import Annotated
import typer
from pydantic import BaseModel
from rich.console import Console
class Read(BaseModel):
    top: str
def command(top: Annotated[str, typer.Option()] = "1 in") -> None:
    Console().print(Read(top=top).top)
app = typer.Typer(add_completion=False)
app.command()(command)
app()
"""
"""A command with one option, which is read into a model and printed."""

TAKEIN = ["takein", "--top", "1 in", "--waist", "1 1/2 in", "--bottom", "2 in", "--target", "2 in", "--seams", "4"]
GAP = ["gap", *TAKEIN[1:]]
TRYON = {
    "id": "b", "garment": {"style": "corset", "closure": "back", "seams_per_half": 5}, "target": "2 in",
    "gap": {"top": "1 in", "waist": "2 in", "bottom": "3 in"}, "tension": "working",
    "seen": {"slides-down": True, "fold-under-bust": False, "hem-too-tight": True, "gape-at-front-top": True,
             "spill-at-front": False, "digs-under-arm": {"side": "right", "amount": "5/8 in"}},
    "known": {"toile-boned-at-back": True, "relaced-from-waist": True, "hand-slides-under-waist": False},
}  # fmt: skip
Times = list[tuple[float, float]]
GAP_AIM = 2.0
AIMS = {
    "diagnose gap, no case": GAP_AIM, "diagnose takein, no case": GAP_AIM,
    "diagnose tryon --answers, six panels": 3.0,
}  # fmt: skip
LEAST_COMMAND = "the least command with one option"
PLAN, SHEET = "diagnose plan, six panels", "diagnose sheet --out .html, six panels"
SHOWN_AIM_MS = 700.0
OPERATION_AIM_MS, COLD_AIM_MS, WARM_AIM_MS = 20.0, 400.0, 60.0


def seconds(command: list[str], environment: Mapping[str, str]) -> tuple[float, float]:
    """The processor time and the wall-clock time of a command in a fresh interpreter, its children's included."""
    before, start = getrusage(RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, cwd=ROOT, env=environment)
    wall, after = time.perf_counter() - start, getrusage(RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, wall


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
                shutil.copytree(folder / ("answered" if command in (PLAN, SHEET) else "started"), folder / "case")
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
    shutil.copytree(folder / "started", folder / "answered")
    seconds([*run, "tryon", str(folder / "answered"), "--answers", str(answers)], environment)
    return {
        BARE: [sys.executable, "-c", BARE],
        BARE_TRYON: [sys.executable, "-c", BARE_TRYON],
        LEAST_COMMAND: [sys.executable, "-c", LEAST],
        f"{LEAST_COMMAND}, shapely": [sys.executable, "-c", f"import shapely\n{LEAST}"],
        "diagnose gap, no case": [*run, *GAP],
        "diagnose takein, no case": [*run, *TAKEIN],
        "diagnose tryon --answers, six panels": [*run, "tryon", str(folder / "case"), "--answers", str(answers)],
        PLAN: [*run, "plan", str(folder / "case")],
        SHEET: [*run, "sheet", str(folder / "case"), "--out", str(folder / "sheet.html"), "--replace"],
    }


def _start_row(command: str, times: Times, taken: Mapping[str, Times]) -> Row:
    """Processor time, in times of the bare import of what the command stands on, and beside that of the least one."""
    on_shapely = command not in (BARE, LEAST_COMMAND) and AIMS.get(command) != GAP_AIM
    base, least = taken[BARE_TRYON if on_shapely else BARE], taken[f"{LEAST_COMMAND}{', shapely' * on_shapely}"]
    (used, wall), (base_used, base_wall) = _least(times), _least(base)
    ours = f"{used * 1000:.0f} ms"
    beside = f"{used / _least(least)[0]:.2f} x the least, wall {wall / base_wall:.2f} x"
    if command in (PLAN, SHEET):
        return at_most(command, ours, beside, used * 1000, SHOWN_AIM_MS, " ms")
    if command not in AIMS:
        return plain(command, ours, "", f"{used / base_used:.2f} x")
    return at_most(command, ours, beside, used / base_used, AIMS[command])


def _least(times: Times) -> tuple[float, float]:
    """The least of each: what else goes on on the machine only adds."""
    return min(used for used, _ in times), min(wall for _, wall in times)


def operations() -> list[Row]:
    """Milliseconds an operation on the six-panel pattern."""
    from diagnose.pattern import operations as ops
    from diagnose.pattern.brought import load_pattern

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
        taken = _milliseconds(lambda raw=raw: _do(ops, pattern, raw))
        rows.append(at_most(f"operation {name}", f"{taken:.1f} ms", "", taken, OPERATION_AIM_MS, " ms"))
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
    """Reading, checking and compiling the whole base: without the cache, and from it.

    As in a command: the pieces of the libraries that it has loaded by then are loaded before the clock runs.
    """
    code = """
import time
import importlib.metadata, tempfile, yaml
import typer._adapters
from diagnose.engine.matching import matcher_for
from diagnose.rulebase.checking import check
from diagnose.rulebase.reading import load
from diagnose.rulebase.loading import load_rulebase
start = time.process_time()
matcher_for(load_rulebase())
print((time.process_time() - start) * 1000)
"""
    cold, warm = [], []
    for _ in range(5):
        with tempfile.TemporaryDirectory() as folder:
            run = partial(
                subprocess.run, [sys.executable, "-c", code], check=True, capture_output=True, cwd=ROOT,
                env={**os.environ, "XDG_CACHE_HOME": folder},
            )  # fmt: skip
            cold.append(float(run().stdout))
            warm += [float(run().stdout), float(run().stdout)]
    rows = (("rule base, cold", cold, COLD_AIM_MS), ("rule base, from the cache", warm, WARM_AIM_MS))
    return [at_most(what, f"{(ms := statistics.median(took)):.0f} ms", "", ms, aim, " ms") for what, took, aim in rows]


def main() -> int:
    """Print the table; 1 when an aim is missed."""
    wanted = argparse.ArgumentParser(description=__doc__)
    wanted.add_argument("--quick", action="store_true", help="fewer repeats, shorter curves: about a minute")
    wanted.add_argument("--lines", type=int, default=10_000, help="how far the memory of a batch is followed")
    given = wanted.parse_args()
    quick = given.quick
    print(f"{'what':50}{'ours':>16}  {'against':28}{'ratio':>11}{'aim':>11}{'met':>5}")
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder  # the invented rule bases are not to fill the user's cache
        missed += show_section("Start-up, in times of the bare import", start_up(5 if quick else 15))
        missed += show_section("The rule base", rule_base())
        missed += show_section("A batch", batch_rows(100 if quick else 400))
        missed += show_section("The memory of a batch", memory_rows(2_000 if quick else given.lines))
        links = (10, 1_000) if quick else (10, 1_000, 4_000, 10_000)
        missed += show_section("Growth with the links", rule_rows(links, 50))
        missed += show_section("Growth with the findings of a try-on", finding_rows(5 if quick else 25))
        missed += show_section("Growth with the rounds of a case", round_rows(5 if quick else 20))
        missed += show_section("Growth with the segments of a piece", segment_rows((10, 100) if quick else SIZES))
        missed += show_section("Operations on the six-panel pattern", operations())
    print(f"\n{missed} aims missed." if missed else "\nAll aims met.")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
