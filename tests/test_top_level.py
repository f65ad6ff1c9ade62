"""The top level of the house holds what it should and nothing else."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
STANDS = {"README.md", "DEVELOPERS.md", "pyproject.toml", "diagnose", "rules", "tests", "cases"}


def test_nothing_else_is_kept_at_the_top_but_dotfiles() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("only a checkout can say what is kept")
    kept = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout
    tops = {path.partition("/")[0] for path in kept.split("\0") if path}
    assert {top for top in tops if not top.startswith(".")} == STANDS
