"""The checks with one command: lines and types, the layers, the rule base, and the tests.

``python tests`` leaves out what is marked `long` (kills, long walks, further patterns); ``--long`` runs that too.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PYTHON = sys.executable
# A file's tests run in one process, so that what they share is made once.
TESTS = [PYTHON, "-m", "pytest", "-n", "2", "--dist", "loadfile", "--no-loadscope-reorder", "--no-cov"]
CHECKS = (
    ("types", [PYTHON, "-m", "mypy"]),
    ("lines", [PYTHON, "-m", "ruff", "check", "."]),
    ("format", [PYTHON, "-m", "ruff", "format", "--check", "."]),
    ("layers", [PYTHON, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"]),
    ("rules", [PYTHON, "-m", "diagnose", "rules", "check"]),
)


def main(arguments: list[str]) -> int:
    """Run every check, whatever the others say, and name those that fail; the exit code is 0 when all pass, else 1."""
    if arguments not in ([], ["--long"]):
        print(f"{' '.join(arguments)} is no option here. There is --long.")
        return 2
    tests = TESTS if arguments else [*TESTS, "-m", "not long"]
    # Types take longer than all other checks: those are run beside them.
    failed = []
    with ThreadPoolExecutor(2) as pool:
        for (name, _), (said, code) in zip(CHECKS, pool.map(checked, [command for _, command in CHECKS]), strict=True):
            print(f"== {name}\n{said}", end="", flush=True)
            failed += [name] * bool(code)
    print("== tests", flush=True)
    failed += ["tests"] * bool(subprocess.run(tests, cwd=ROOT, check=False).returncode)
    print(f"Failed: {', '.join(failed)}." if failed else "All checks passed.", flush=True)
    return 1 if failed else 0


def checked(command: Sequence[str]) -> tuple[str, int]:
    """What a check says, and its exit code."""
    done = subprocess.run(
        command, cwd=ROOT, check=False, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8"
    )
    return done.stdout, done.returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
