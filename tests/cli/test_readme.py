"""The README followed word for word: what it shows is what comes out, and each of its commands does."""

from __future__ import annotations

import re
import shlex
import shutil
from contextlib import chdir
from pathlib import Path

import pytest

from diagnose.cli.running import run

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
ANSWERS = """
gap: {top: 3/4 in, waist: 2 in, bottom: 3/4 in}
tension: working
"""


Said = pytest.CaptureFixture[str]


def said(command: str, here: Path, capsys: Said) -> str:
    words = shlex.split(command, comments=True)
    assert words[0] == "diagnose"
    with chdir(here):
        code = run(words[1:])
    told = capsys.readouterr()
    assert code == 0, (command, told)
    return told.out


def block(after: str, kind: str) -> str:
    """The first fenced block of a kind after some words of the README."""
    found = re.search(rf"```{kind}\n(.*?)```", README[README.index(after) :], re.DOTALL)
    assert found is not None
    return found[1]


def test_the_case_shown_is_what_the_demo_says(tmp_path: Path, capsys: Said) -> None:
    assert block("## One whole case", "text") in said("diagnose demo --out demo-out", tmp_path, capsys)


def test_the_job_stands_in_one_paragraph_on_top() -> None:
    title, paragraph, *_ = README.split("\n\n")
    assert title.startswith("# ")
    assert all(word in paragraph for word in ("toile", "rule base", "by how much", "pattern outline", "lacing gap"))


@pytest.fixture
def started(tmp_path: Path) -> Path:
    """A folder in which her drawing and her answers lie."""
    shutil.copy(next((ROOT / "cases" / "patterns").glob("*.svg")), tmp_path / "my-pattern.svg")
    (tmp_path / "answers.yaml").write_text(ANSWERS, "utf-8")
    (tmp_path / "about.yaml").write_text(block("## Your own case", "yaml"), "utf-8")
    return tmp_path


def test_the_commands_for_a_case_of_ones_own_go_through_in_their_order(started: Path, capsys: Said) -> None:
    for line in block("## Your own case", "sh").splitlines():
        asks = line.startswith("diagnose tryon corset ")
        said("diagnose tryon corset --answers answers.yaml" if asks else line, started, capsys)


def test_the_commands_for_a_number_alone_answer(tmp_path: Path, capsys: Said) -> None:
    for line in block("Only a number to check?", "sh").splitlines():
        assert said(line, tmp_path, capsys)
