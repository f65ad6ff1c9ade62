"""The checks with one command: lines and types, the layers, the rule base, and the tests."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PYTHON = sys.executable
CHECKS = (
    ("lines", [PYTHON, "-m", "ruff", "check", "."]),
    ("format", [PYTHON, "-m", "ruff", "format", "--check", "."]),
    ("types", [PYTHON, "-m", "mypy"]),
    ("layers", [PYTHON, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"]),
    ("rules", [PYTHON, "-m", "diagnose", "rules", "check"]),
    ("tests", [PYTHON, "-m", "pytest", "-n", "2", "--no-cov"]),
)


def main() -> int:
    """Run each check in turn; the exit code is that of the first that fails, 0 when all pass."""
    for name, command in CHECKS:
        print(f"== {name}", flush=True)
        code = subprocess.run(command, cwd=ROOT, check=False).returncode
        if code:
            print(f"The check “{name}” failed.", flush=True)
            return code
    print("All checks passed.", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
