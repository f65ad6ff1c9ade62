"""``diagnose gap CASE``: the case's own settings, whatever they measure."""

import json
from pathlib import Path

import pytest

from diagnose.cli.running import run
from diagnose.places import bundled_cases


def test_a_case_keeps_its_own_settings_be_they_lengths_or_counts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case, pattern = str(tmp_path / "case"), str(bundled_cases() / "patterns" / "six-panel-corset.json")
    own = ["--set", "seams-usual=5", "--set", "dead-band=0.5 mm", "--set", "target-gap=3 in"]
    assert run(["new", case, "--pattern", pattern, *own]) == 0
    capsys.readouterr()
    assert run(["gap", case, "--waist", "75.4 mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["gap"]
    assert found["stations"]["waist"]["target_mm"] == pytest.approx(76.2)
    assert found["settled"] is False  # 0.8 mm off is outside a dead-band of half a millimetre


@pytest.mark.parametrize("command", ["gap", "takein"])
def test_what_is_missing_is_listed_in_the_one_object_too(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found == {"version": 1, "gap": None, "missing": ["gap.top", "gap.waist", "gap.bottom"]}
