"""How many small faults put into the code the tests notice: a seeded sample of mutants, package by package.

Run, in a venv that has mutmut as well: ``nice python tests/bench/mutate.py gap plan pattern/operations --sample 400``.
Each package is judged by the tests of its own folder alone. Left out of the sample are mutants that only reword what a
person reads (a string with a space in it): the tests hold what is said, not how. ``--out FILE`` keeps the survivors.
"""

from __future__ import annotations

import argparse
import ast
import collections
import difflib
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("diagnose", "rules", "cases", "tests")
CALM = """from hypothesis import Phase, settings
phases = (Phase.explicit, Phase.generate)
settings.register_profile("calm", derandomize=True, database=None, deadline=None, max_examples=30, phases=phases)
settings.load_profile("calm")
"""
"""No shrinking, no memory, few examples: a fault is noticed or not, and nobody reads the example."""
CONFIG = """
[tool.mutmut]
source_paths = ["diagnose"]
only_mutate = ["diagnose/{package}/*"]
also_copy = ["rules", "cases", "calm.py"]
pytest_add_cli_args_test_selection = ["tests/{package}"]
pytest_add_cli_args = ["-p", "calm", "-n0", "-m", "not slow", "-k", "not takes_no_longer and not work_grows"]
timeout_multiplier = 2.0
timeout_constant = 90.0
"""
"""The two tests of speed are left out: mutmut's own wrappers upset their ratios."""
MUTMUT = str(Path(sys.executable).with_name("mutmut"))
ALIVE = ("survived", "no tests")


@dataclass(frozen=True, slots=True)
class Mutant:
    """One fault: mutmut's name for it, and the function before and after."""

    name: str
    before: ast.AST
    after: ast.AST

    @property
    def is_wording(self) -> bool:
        """Whether the only string that differs is prose."""
        before, after = (collections.Counter(_strings(tree)) for tree in (self.before, self.after))
        gone, come = before - after, after - before
        return bool(gone and come) and all(" " in text for text in (*gone, *come))

    @property
    def diff(self) -> str:
        """The lines that it changes."""
        sides = (ast.unparse(tree).splitlines()[1:] for tree in (self.before, self.after))
        lines = difflib.unified_diff(*sides, n=1, lineterm="")
        return "\n".join(line for line in lines if not line.startswith(("---", "+++", "@@")))


def _strings(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def mutants_of(path: Path) -> Iterator[Mutant]:
    """The mutants of one module, its wording aside; the working folder is the copy."""
    from mutmut.mutation.file_mutation import mutate_file_contents
    from mutmut.utils.format_utils import get_mutant_name

    mutated = mutate_file_contents(str(path), path.read_text())
    functions = {n.name: n for n in ast.walk(ast.parse(mutated.code)) if isinstance(n, ast.FunctionDef)}
    for name in mutated.mutant_names:
        before = functions[name.partition("__mutmut_")[0] + "__mutmut_orig"]
        mutant = Mutant(get_mutant_name(path, name), before, functions[name])
        if not mutant.is_wording:
            yield mutant


def prepare(folder: Path, package: str) -> None:
    """Lays a copy of the checkout and the settings of the run into a folder."""
    for name in COPIED:
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    project = (ROOT / "pyproject.toml").read_text()
    (folder / "pyproject.toml").write_text(project + CONFIG.format(package=package))
    (folder / "calm.py").write_text(CALM)


def verdicts(names: list[str]) -> dict[str, str]:
    """What became of each mutant."""
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run([MUTMUT, "run", *names], check=False, capture_output=True, text=True, env=environment)
    if done.returncode:
        sys.exit(f"mutmut could not run; the end of what it said:\n{done.stdout[-3000:]}{done.stderr[-1000:]}")
    told = [MUTMUT, "results", "--all", "true"]
    listed = subprocess.run(told, check=True, capture_output=True, text=True).stdout
    found = dict(line.strip().rsplit(": ", 1) for line in listed.splitlines() if ": " in line)
    return {name: found[name] for name in names}


def measure(package: str, sample: int, seed: int) -> str:
    """Tests one package; prints its row and gives back the survivors as text."""
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder), package)
        os.chdir(folder)
        every = [mutant for path in sorted(Path("diagnose", package).rglob("*.py")) for mutant in mutants_of(path)]
        chosen = every if len(every) <= sample else random.Random(seed).sample(every, sample)
        became = verdicts([mutant.name for mutant in chosen])
        os.chdir(ROOT)
    alive = [mutant for mutant in chosen if became[mutant.name] in ALIVE]
    killed = len(chosen) - len(alive)
    rest = ", ".join(f"{count} {state}" for state, count in collections.Counter(became.values()).most_common())
    share = f"{killed} of {len(chosen)} killed ({killed / len(chosen):.1%})"
    print(f"{package}: {share}, out of {len(every)} mutants: {rest}", flush=True)
    return "\n".join(f"# {mutant.name}: {became[mutant.name]}\n{mutant.diff}\n" for mutant in alive)


def main() -> int:
    """Measures each package named."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("packages", nargs="+", help="as under diagnose/, such as gap or pattern/operations")
    asked.add_argument("--sample", type=int, default=400, help="at most so many mutants of a package")
    asked.add_argument("--seed", type=int, default=7)
    asked.add_argument("--out", type=Path, help="a file for the survivors")
    args = asked.parse_args()
    survivors = [measure(package, args.sample, args.seed) for package in args.packages]
    if args.out:
        args.out.write_text("\n".join(survivors))
    return 0


if __name__ == "__main__":
    sys.exit(main())
