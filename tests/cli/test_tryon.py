"""`diagnose tryon` with the answers in a file, and what it gives as data."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose import casebook
from diagnose.pattern.form.reader import read_pattern
from diagnose.places import bundled_cases

ANSWERS = {"gap": {"top": "1 in", "waist": "2 in", "bottom": "3 in"}, "tension": "working"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    raw = json.loads((bundled_cases() / "patterns" / "six-panel-corset.json").read_text(encoding="utf-8"))
    casebook.create(tmp_path / "wren", read_pattern(raw), garment={"closure": "back"}, target="2 in")
    return tmp_path / "wren"


def run(*arguments: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "diagnose", "tryon", *arguments]
    return subprocess.run(command, input=typed, capture_output=True, text=True, timeout=120)


def answers_file(folder: Path, answers: object, name: str = "answers.json") -> str:
    path = folder.parent / name
    path.write_text(answers if isinstance(answers, str) else json.dumps(answers), encoding="utf-8")
    return str(path)


def test_answers_of_a_file_are_stored_and_worked_out(folder: Path) -> None:
    ran = run(str(folder), "--answers", answers_file(folder, ANSWERS))
    assert ran.returncode == 0, ran.stderr
    assert "Do this first" in ran.stdout
    assert casebook.open_case(folder).tryons[0].answers == ANSWERS


def test_yaml_answers_do_as_well(folder: Path) -> None:
    text = "gap:\n  top: 1 in\n  waist: 2 in\n  bottom: 3 in\ntension: working\n"
    ran = run(str(folder), "--answers", answers_file(folder, text, "answers.yaml"))
    assert ran.returncode == 0, ran.stderr
    assert casebook.open_case(folder).tryons[0].answers == ANSWERS


def test_json_is_one_object_as_a_batch_gives_out(folder: Path) -> None:
    ran = run(str(folder), "--answers", answers_file(folder, ANSWERS), "--json")
    found = json.loads(ran.stdout)
    assert (found["version"], found["tryon"], found["stop"]) == (1, 1, None)
    assert found["gap"]["shape"] == "widens-downward"
    assert found["plan"]
    assert found["causes"]


def test_with_json_the_questions_go_to_stderr(folder: Path) -> None:
    ran = run(str(folder), "--json", typed="n\n1 in\nstop\np\n")
    assert json.loads(ran.stdout)["gap"]["stations"]["top"]["gap_mm"] == 25.4
    assert "How wide is the gap" in ran.stderr


def test_every_mistake_of_the_file_is_told_and_nothing_is_stored(folder: Path) -> None:
    ran = run(str(folder), "--answers", answers_file(folder, {"gap": {"top": "wide"}, "seen": {"slides": True}}))
    assert ran.returncode == 2
    assert "gap.top" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert casebook.open_case(folder).tryons == ()


def test_nothing_known_says_what_is_missing_with_exit_code_one(folder: Path) -> None:
    ran = run(str(folder), "--answers", answers_file(folder, {}))
    assert ran.returncode == 1
    assert "How wide is the gap" in ran.stdout


def test_answers_and_page_together_are_refused(folder: Path) -> None:
    ran = run(str(folder), "--answers", answers_file(folder, ANSWERS), "--page")
    assert ran.returncode == 2
    assert "does not go with" in ran.stderr


def test_there_is_no_case_is_said_clearly(tmp_path: Path) -> None:
    ran = run(str(tmp_path / "none"))
    assert ran.returncode == 2
    assert "There is no case here" in ran.stderr
