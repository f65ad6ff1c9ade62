"""What is noted with a case: what was taped anew, and which step was not done and why."""

from __future__ import annotations

from pathlib import Path

import pytest
from begun import begun

from diagnose import casebook
from diagnose.casework.working import alter_case
from diagnose.cli.commands.keeping import history, note
from diagnose.errors import FitError


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return begun(tmp_path / "dancer", "dancer")


def test_a_step_not_done_is_shown_with_its_reason_and_not_drawn(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    note(folder, skipped=["1.1=no cloth left"])
    history(folder)
    assert "not done: step 1.1: no cloth left" in capsys.readouterr().out
    with pytest.raises(FitError):
        alter_case(folder, [])


def test_a_new_measuring_stands_beside_the_old(folder: Path) -> None:
    note(folder, measured=["waist=27 in"])
    case = casebook.open_case(folder)
    assert [one.wearer["waist"] for one in case.measurings] == ["26 in", "27 in"]
    assert case.wearer["hip"] == "37 in"


def test_a_step_that_there_is_none_of_is_refused(folder: Path) -> None:
    with pytest.raises(FitError, match="no step"):
        note(folder, skipped=["7.7=why"])
    with pytest.raises(FitError, match="nothing to note"):
        note(folder)
