"""What is noted with a case: what was taped anew, and which step was not done and why."""

from __future__ import annotations

from pathlib import Path

import pytest
from begun import begun

from diagnose import casebook
from diagnose.casework.next_version import alter_case
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
    assert "(step 1.1): no cloth left" in capsys.readouterr().out
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


def test_a_step_that_is_drawn_is_not_noted_as_not_done(folder: Path) -> None:
    alter_case(folder, ["1.1"])
    with pytest.raises(FitError, match=r"Step 1\.1 is in version 2 already"):
        note(folder, skipped=["1.1=no cloth left"])
    with pytest.raises(FitError, match=r"Step 1\.1 is in version 2 already"):
        note(folder, done=["1.1"])
    assert casebook.open_case(folder).tryons[-1].skipped == ()


def test_all_that_is_wrong_with_a_note_is_told_at_once_and_nothing_is_kept(folder: Path) -> None:
    with pytest.raises(FitError) as caught:
        note(folder, measured=["waist=wide", "hip=38 in", "chin=9 in"], skipped=["7.7=why"], done=["8.8"])
    assert len(caught.value.mistakes) == 4
    assert len(casebook.open_case(folder).measurings) == 1
    with pytest.raises(FitError) as caught:
        note(folder, measured=["waist", "hip"], skipped=["1.1"])
    assert len(caught.value.mistakes) == 3
