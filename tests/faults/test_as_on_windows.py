"""The job is done without what only Unix has."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

AS_ON_WINDOWS = Path(__file__).with_name("as_on_windows.py")


def run_so(place: Path, *arguments: str) -> str:
    """What a command says; nothing goes wrong, and nothing is complained of."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(place / "cache"), "PYTHONPATH": os.getcwd(),
                   # The locks of Windows aren't there either: without any of Unix it takes those of last resort.
                   "PYTHONWARNINGS": "ignore:only soft file lock"}  # fmt: skip
    done = subprocess.run(
        [sys.executable, str(AS_ON_WINDOWS), *arguments], cwd=place, stdin=subprocess.DEVNULL, capture_output=True,
        encoding="utf-8", env=environment, check=False,
    )  # fmt: skip
    assert (done.returncode, "Traceback" in done.stderr) == (0, False), done.stderr
    return done.stdout


@pytest.mark.long
def test_from_the_demo_to_the_printed_sheet_and_back(tmp_path: Path) -> None:
    case = "made/stage-bodies"
    assert "round-2.pdf" in run_so(tmp_path, "demo", "--out", "made")
    assert "Lower the underarm" in run_so(tmp_path, "plan", case)
    for name in ("sheet.pdf", "sheet.html", "sheet.pdf"):  # the last over what stands there already
        assert name in run_so(tmp_path, "sheet", case, "--out", name)
    assert "version 1 again" in run_so(tmp_path, "back", case, "1")
    run_so(tmp_path, "pattern", case, "--out", "pattern.svg")
    run_so(tmp_path, "new", "again", "--pattern", "pattern.svg")
    assert "again" in run_so(tmp_path, "list", ".")
    kept = {path.name.split("-")[0] for path in (tmp_path / "cache" / "diagnose-fit").iterdir()}
    assert kept == {"page", "rules", "settings"}
    assert not [path for path in tmp_path.rglob("*") if path.suffix in (".part", ".new")]
