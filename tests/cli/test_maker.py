"""What is a maker's own over all her cases: standing settings, the list of cases, and files that are hers."""

from __future__ import annotations

import json
import os
import shutil
import time
from pathlib import Path
from typing import Any

import pytest

from diagnose import casebook
from diagnose.cli.running import run
from diagnose.pattern.brought import load_pattern
from diagnose.places import bundled_cases

Said = pytest.CaptureFixture[str]
CORSET = bundled_cases() / "patterns" / "six-panel-corset.json"


@pytest.fixture(autouse=True)
def _her_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (tmp_path / "cases").mkdir()
    monkeypatch.chdir(tmp_path / "cases")


@pytest.fixture
def wren() -> Path:
    casebook.create(Path("wren"), load_pattern(CORSET), garment={"style": "corset"}, wearer={"waist": "27 in"})
    return Path("wren")


def told(capsys: Said, *arguments: str) -> Any:
    assert run([*arguments, "--json"]) == 0, capsys.readouterr().err
    return json.loads(capsys.readouterr().out)


def test_a_setting_stands_for_every_command_until_a_case_or_the_command_says_otherwise(capsys: Said) -> None:
    target = ("gap", "--waist", "5")
    assert (
        told(capsys, *target)["gap"]["stations"]["waist"]
        == told(capsys, *target, "--unit", "in")["gap"]["stations"]["waist"]
    )
    told(capsys, "settings", "unit=cm", "target=6 cm")
    hers = told(capsys, *target)["gap"]["stations"]["waist"]
    assert (hers["gap_mm"], hers["target_mm"]) == (50.0, 60.0)
    by_command = told(capsys, *target, "--unit", "mm", "--set", "target-gap=7 cm")["gap"]["stations"]["waist"]
    assert (by_command["gap_mm"], by_command["target_mm"]) == (5.0, 70.0)
    assert run(["new", "lark", "--pattern", str(CORSET), "--set", "target-gap=8 cm"]) == 0
    capsys.readouterr()
    assert told(capsys, "gap", "lark", "--waist", "5")["gap"]["stations"]["waist"]["target_mm"] == 80.0
    assert casebook.open_case(Path("lark")).unit == "cm"
    assert casebook.open_case(Path("lark")).settings == {"target-gap": 80.0}


def test_settings_without_a_value_are_the_usual_again_and_are_shown_with_whose_they_are(capsys: Said) -> None:
    yours = told(capsys, "settings", "unit=cm", "ruler=2 mm", "paper=letter", "allowance=1")["yours"]
    assert yours == {"unit": "cm", "paper": "letter", "ruler-metric": 2.0, "allowance-seam": 10.0}
    assert run(["settings"]) == 0
    shown = capsys.readouterr().out
    assert "paper letter yours" in " ".join(shown.split())
    assert told(capsys, "settings", "unit=", "paper=", "ruler-metric=", "allowance=")["yours"] == {}


def test_every_setting_that_can_not_be_is_told_at_once_and_none_is_changed(capsys: Said) -> None:
    assert (
        run(["settings", "unit=cm", "unit=ell", "paper=a0", "nonsense=1", "ruler=0", "dead-band", "target=-1 in"]) == 2
    )
    error = capsys.readouterr().err
    assert len(error.splitlines()) == 6
    assert told(capsys, "settings")["yours"] == {}


def test_where_the_machine_knows_no_home_all_goes_on_and_only_settings_can_not_be_kept(
    capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(os, "getuid", lambda: 2_000_000_011)  # of whom it has no entry
    assert told(capsys, "gap", "--waist", "1 in")["gap"]["stations"]["waist"]["gap_mm"] == 25.4
    assert run(["new", "lark", "--pattern", str(CORSET)]) == 0
    assert run(["pattern", "lark", "--out", "lark.svg"]) == 0
    capsys.readouterr()
    assert run(["settings", "unit=cm"]) == 2
    assert "does not say where your own folder is" in capsys.readouterr().err
    assert told(capsys, "settings")["yours"] == {}


def test_a_settings_file_that_is_spoilt_is_named(tmp_path: Path, capsys: Said) -> None:
    (tmp_path / "config" / "diagnose-fit").mkdir(parents=True)
    (tmp_path / "config" / "diagnose-fit" / "settings.json").write_text("{")
    assert run(["gap", "--waist", "1"]) == 2
    assert "settings.json" in capsys.readouterr().err


def test_the_list_says_wearer_garment_last_and_next_and_words_pick(wren: Path, capsys: Said) -> None:
    casebook.create(Path("lark"), load_pattern(CORSET), garment={"style": "stays", "closure": "front"})
    Path("older").mkdir()
    shutil.copytree("wren", "older/wren-1")
    rows = {one["case"]: one for one in told(capsys, "list")["cases"]}
    assert set(rows) == {"wren", "lark", "older/wren-1"}
    assert (rows["wren"]["wearer"], rows["wren"]["garment"]) == ("waist 27 in", "corset")
    assert rows["lark"]["next"] == "Sew the toile, lace it on, try it on"
    assert [one["case"] for one in told(capsys, "list", "stays", "front")["cases"]] == ["lark"]
    assert [one["case"] for one in told(capsys, "list", "older", "WREN")["cases"]] == ["older/wren-1"]
    assert run(["list", "nightingale"]) == 0
    assert "No case here has all these words." in capsys.readouterr().out


def test_the_list_says_which_file_is_not_what_was_stored(wren: Path, capsys: Said) -> None:
    path = wren / "patterns" / "0001.json"
    path.write_text(path.read_text().replace('"name": "', '"name": "her ', 1))
    assert "patterns/0001.json: It is not what was stored" in told(capsys, "list")["cases"][0]["trouble"]
    assert run(["history", "wren"]) == 2
    assert "patterns/0001.json: It is not what was stored" in capsys.readouterr().err
    told(capsys, "note", "wren", "--as-it-stands", "patterns/0001.json")
    assert told(capsys, "list")["cases"][0]["trouble"] == ""


def test_a_hundred_cases_are_listed_in_under_a_second(wren: Path, capsys: Said) -> None:
    for number in range(99):
        shutil.copytree(wren, f"case-{number}")
    told(capsys, "list")
    start = time.process_time()
    assert len(told(capsys, "list")["cases"]) == 100
    assert time.process_time() - start < 1.0


@pytest.mark.parametrize("ending", [".pdf", ".svg", ".dxf", ".json"])
def test_the_pattern_of_any_version_is_written_at_any_time(wren: Path, ending: str, capsys: Said) -> None:
    opened = casebook.open_case(wren)
    casebook.add_version(opened, opened.pattern, 1, [])
    for version in ("1", "2"):
        out = f"v{version}{ending}"
        assert told(capsys, "pattern", "wren", "--out", out, "--version", version)["pattern_version"] == int(version)
        assert Path(out).stat().st_size > 1000
    assert run(["pattern", "wren", "--out", f"x{ending}", "--version", "3"]) == 2
    assert "There are 1 to 2." in capsys.readouterr().err


def test_before_the_first_tryon_the_sheet_is_the_pattern(wren: Path, capsys: Said) -> None:
    told(capsys, "sheet", "wren", "--out", "s.svg")
    told(capsys, "pattern", "wren", "--out", "p.svg")
    assert Path("s.svg").read_bytes() == Path("p.svg").read_bytes()


def test_a_file_of_hers_is_never_replaced_unasked_and_one_of_ours_is(wren: Path, capsys: Said) -> None:
    for command in ("pattern", "sheet"):
        out = f"{command}.svg"
        Path(out).write_text("<svg>hers</svg>")
        assert run([command, "wren", "--out", out]) == 2
        assert "not written by this program" in capsys.readouterr().err
        assert Path(out).read_text() == "<svg>hers</svg>"
        told(capsys, command, "wren", "--out", out, "--replace")
        told(capsys, command, "wren", "--out", out)
        Path(out).write_text(Path(out).read_text() + "<!-- her mark -->")
        assert run([command, "wren", "--out", out]) == 2
        capsys.readouterr()


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--out", "x.svg", "--paper", "a4"], "--paper"),
        (["--out", "x.svg", "--allow", "seam=1 in"], "--allow"),
        (["--out", "x.json", "--allow", "seam=1 in", "--paper", "a4"], "--paper"),
        (["--out", "x.dxf", "--allow", "nonsense=1 in"], "There is no edge of role 'nonsense'"),
        (["--out", "x.pdf", "--paper", "a0"], "a0"),
        (["--out", "x.html"], "no form of a pattern"),
    ],
)
def test_an_option_that_does_not_apply_is_refused(wren: Path, options: list[str], says: str, capsys: Said) -> None:
    assert run(["pattern", "wren", *options]) == 2
    assert says in capsys.readouterr().err
    assert sorted(path.name for path in Path().iterdir()) == ["wren"]


def test_a_folder_that_is_not_there_is_refused_and_is_no_word(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["list", str(tmp_path / "nowhere")]) == 2
    assert "There is no such folder" in capsys.readouterr().err


def test_a_girth_told_without_a_unit_is_listed_with_that_of_its_case(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case, pattern = str(tmp_path / "case"), str(bundled_cases() / "patterns" / "six-panel-corset.json")
    assert run(["new", case, "--pattern", pattern, "--unit", "cm"]) == 0
    assert run(["note", case, "--measured", "waist=65"]) == 0
    capsys.readouterr()
    assert run(["list", str(tmp_path)]) == 0
    assert "waist 65 cm" in " ".join(capsys.readouterr().out.split())


def test_files_beside_the_cases_are_no_cases(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "notes.yaml").write_text("a: 1\n", encoding="utf-8")
    (tmp_path / "patterns").mkdir()
    assert run(["list", str(tmp_path)]) == 0
    assert "There is no case here." in capsys.readouterr().out
