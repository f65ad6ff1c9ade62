"""The checks with one command: lines and types, the layers, the rule base, and the tests.

``python tests`` leaves out what is marked `long` (kills at random, long walks); ``python tests --long`` runs that too.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PYTHON = sys.executable
TESTS = [PYTHON, "-m", "pytest", "-n", "2", "--dist", "loadgroup", "--no-cov"]
CHECKS = (
    ("lines", [PYTHON, "-m", "ruff", "check", "."]),
    ("format", [PYTHON, "-m", "ruff", "format", "--check", "."]),
    ("types", [PYTHON, "-m", "mypy"]),
    ("layers", [PYTHON, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"]),
    ("rules", [PYTHON, "-m", "diagnose", "rules", "check"]),
)


def main(arguments: list[str]) -> int:
    """Run each check in turn; the exit code is that of the first that fails, 0 when all pass."""
    if arguments not in ([], ["--long"]):
        print(f"{' '.join(arguments)} is no option here. There is --long.")
        return 2
    tests = TESTS if arguments else [*TESTS, "-m", "not long"]
    for name, command in (*CHECKS, ("tests", tests)):
        print(f"== {name}", flush=True)
        code = subprocess.run(command, cwd=ROOT, check=False).returncode
        if code:
            print(f"The check “{name}” failed.", flush=True)
            return code
    print("All checks passed.", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
