"""“Add a rule in ten minutes”: the very steps of DEVELOPERS.md, followed in an empty folder by a maker with a shell."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.places import bundled_rules

CHECKOUT = Path(__file__).parents[2]
HEADING = "## Add a rule in ten minutes\n"
BLOCK = re.compile(r"^```(sh|yaml)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
Step = tuple[str, str, str]


def steps_of(page: str) -> list[Step]:
    """The fenced blocks of the section: what kind, what it says, and the last path named before it."""
    section = page.partition(HEADING)[2].partition("\n## ")[0]
    found = []
    for block in BLOCK.finditer(section):
        paths = re.findall(r"`(my-rules/[^`]+\.yaml)`", section[: block.start()])
        found.append((block[1], block[2], paths[-1] if paths else ""))
    return found


def follow(steps: list[Step], folder: Path) -> list[str]:
    """What each command said; the files are written as they come."""
    shutil.copytree(bundled_rules(), folder / "rules")
    shim = folder / "bin" / "diagnose"
    shim.parent.mkdir()
    shim.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m diagnose "$@"\n')
    shim.chmod(0o755)
    environment = {**os.environ, "PATH": f"{shim.parent}:{os.environ['PATH']}", "PYTHONPATH": str(CHECKOUT)}
    said = []
    for kind, text, path in steps:
        if kind == "yaml":
            (folder / path).write_text(text, encoding="utf-8")
            continue
        run = subprocess.run(["sh", "-ec", text], cwd=folder, env=environment, capture_output=True, text=True)
        assert run.returncode == 0, run.stdout + run.stderr
        said.append(run.stdout)
    return said


@pytest.fixture(scope="module")
def steps() -> list[Step]:
    found = steps_of((CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    if not found:
        pytest.skip("DEVELOPERS.md gives no commands for adding a rule")
    return found


def test_the_steps_add_a_sign_that_speaks_for_its_cause(steps: list[Step], tmp_path: Path) -> None:
    said = follow(steps, tmp_path)
    assert [kind for kind, _, _ in steps] == ["sh", "yaml", "sh", "sh"]
    new = Path(steps[1][2])
    assert not (bundled_rules() / new.relative_to("my-rules")).exists()
    assert said[1].startswith("The rules are right.")
    answer = json.loads(said[2])
    speaking = {one["symptom"]: cause["id"] for cause in answer["causes"] for one in cause["for"]}
    linked = re.search(r"- cause: (\S+)", steps[1][1])
    assert linked is not None
    assert speaking[new.stem] == linked[1]


def test_a_slip_in_the_new_file_is_told_with_its_line(steps: list[Step], tmp_path: Path) -> None:
    slipped = [(kind, text.replace("- cause: too-small-at-waist", "- cause: too-small-at-wast"), path)
               for kind, text, path in steps]  # fmt: skip
    with pytest.raises(AssertionError) as told:
        follow(slipped, tmp_path)
    line = next(n for n, one in enumerate(slipped[1][1].splitlines(), 1) if "- cause:" in one)
    assert f"{slipped[1][2]}:{line}: There is no cause 'too-small-at-wast'." in str(told.value)
