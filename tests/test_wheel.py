"""The wheel alone, outside the checkout, carries the rules and the cases and runs the demo."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SHOW_HOME = "import diagnose, sys; sys.stdout.write(diagnose.__file__)"


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder holding just what the wheel installs."""
    there = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(there / "dist")]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = (there / "dist").glob("diagnose_fit-*.whl")
    zipfile.ZipFile(wheel).extractall(there / "site")
    return there / "site"


def run(site: Path, here: Path, *arguments: str) -> str:
    """Python with only the unpacked wheel and the libraries, started in another folder."""
    surroundings = {**os.environ, "PYTHONPATH": str(site), "XDG_CACHE_HOME": str(here / "cache")}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=here, env=surroundings, check=False, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_what_runs_is_the_wheel_and_not_the_checkout(unpacked: Path, tmp_path: Path) -> None:
    assert Path(run(unpacked, tmp_path, "-c", SHOW_HOME)).is_relative_to(unpacked)


def test_the_wheel_runs_the_demo_outside_the_checkout(unpacked: Path, tmp_path: Path) -> None:
    said = run(unpacked, tmp_path, "-m", "diagnose", "demo", "--out", "demo-out")
    assert "at the     on each half" in said
    assert {"round-1.html", "round-2.pdf"} <= {path.name for path in (tmp_path / "demo-out").iterdir()}


def test_the_wheel_holds_every_rule_file_and_every_case(unpacked: Path) -> None:
    for folder in ("rules", "cases"):
        ours = {path.relative_to(ROOT / folder) for path in (ROOT / folder).rglob("*") if path.is_file()}
        held = unpacked / "diagnose" / "_data" / folder
        assert ours <= {path.relative_to(held) for path in held.rglob("*")}
