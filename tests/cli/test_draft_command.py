"""``diagnose draft`` and what ``diagnose new`` says it understood, as she would give them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.casebook import open_case
from diagnose.cli.running import run
from diagnose.model.believable import outside
from diagnose.rulebase.loading import load_rulebase

PATTERNS = Path(__file__).parents[2] / "cases" / "patterns"
CORSET = str(PATTERNS / "six-panel-corset.json")
ABOUT = """garment: {style: corset, closure: back, boning: full}
wearer: {bust: 36 1/2 in, underbust: 31 in, waist: 27 in, hip: 35 in, planned_reduction: 2 in}
target: 2 in
"""
IN_CM = """piece,edge,role,out,up
front,hem,bottom,17,-12
front,side,seam,17,18
front,over,top,0,18
front,cf,opening,0,-12
back,hem,bottom,37,-12
back,cb,lacing,37,18
back,over,top,20,18
back,side,seam,20,-12
"""


@pytest.fixture
def about(tmp_path: Path) -> str:
    path = tmp_path / "about.yaml"
    path.write_text(ABOUT, encoding="utf-8")
    return str(path)


def test_a_draft_that_fits_ends_in_one_line(about: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["draft", "--pattern", CORSET, "--about", about]) == 0
    assert capsys.readouterr().out.rstrip().splitlines()[-1] == "Cut the toile."


def test_a_missing_girth_ends_with_1_and_says_how_it_is_taken(
    tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path(about).write_text(ABOUT.replace("underbust: 31 in, ", ""), encoding="utf-8")
    assert run(["draft", "--pattern", CORSET, "--about", about, "--json"]) == 1
    data = json.loads(capsys.readouterr().out)["draft"]
    assert (data["verdict"], [one["name"] for one in data["missing"]]) == ("measure", ["underbust"])
    assert set(data["stations"]) == {"top", "waist", "hip"}


def test_the_draft_of_a_case_uses_what_the_case_knows(
    tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    case = str(tmp_path / "case")
    assert run(["new", case, "--pattern", CORSET, "--about", about]) == 0
    assert run(["draft", case, "--target", "3 in"]) == 0
    out = capsys.readouterr().out
    assert "Mend this first: " in out
    assert "What the toile would likely show" in out


@pytest.mark.parametrize("words", [[], ["x", "--pattern", "y"]])
def test_one_pattern_is_held_against_one_wearer(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["draft", *words]) == 2
    assert "Give a CASE, or --pattern and --about." in capsys.readouterr().err


def test_what_was_understood_is_said_after_new(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["new", str(tmp_path / "case"), "--pattern", str(PATTERNS / "corset-drawing.svg")]) == 0
    out = capsys.readouterr().out
    for words in ("Pieces, from the centre front on", "panel-1/back-seam", "Their lengths are alike", "Laced: panel-6",
                  "On the fold: panel-1", "waist      23 in (584 mm)        laid", "Presumed"):  # fmt: skip
        assert words in out
    assert max(map(len, out.splitlines()[2:-2])) <= 80


def test_a_waist_beyond_belief_is_refused_with_the_word_that_settles_it_and_nothing_is_stored(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, case = tmp_path / "mine.csv", tmp_path / "case"
    table.write_text(IN_CM, encoding="utf-8")
    assert run(["new", str(case), "--pattern", str(table)]) == 2
    err = capsys.readouterr().err
    assert "The whole waist comes to 68 in" in err
    assert "--unit cm" in err
    assert "--sure waist" in err
    assert not case.exists()
    assert run(["new", str(case), "--pattern", str(table), "--unit", "cm"]) == 0
    assert open_case(case).unit == "cm"
    assert "68.0 cm" in capsys.readouterr().out
    sure = ["--sure", "waist", "--sure", "height"]
    assert run(["new", str(tmp_path / "sure"), "--pattern", str(table), *sure]) == 0


def test_a_girth_that_is_not_the_wearer_s_is_asked_about(
    tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path(about).write_text(ABOUT.replace("waist: 27 in", "waist: 43 in"), encoding="utf-8")
    assert run(["new", str(tmp_path / "case"), "--pattern", CORSET, "--about", about]) == 2
    err = capsys.readouterr().err
    assert "The whole waist comes to 23 in" in err
    assert "--sure waist" in err


@pytest.mark.parametrize(("unit", "sure"), [("unit: in\n", []), ("", ["--sure", "hip"])])
def test_a_girth_that_a_try_on_would_not_believe_is_refused_in_its_words_before_a_case_is_begun(
    unit: str, sure: list[str], tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "case"
    Path(about).write_text(unit + ABOUT.replace("hip: 35 in", "hip: 90 in"), encoding="utf-8")
    assert run(["new", str(case), "--pattern", CORSET, "--about", about, *sure]) == 2
    refused = " ".join(capsys.readouterr().err.split())
    assert not case.exists()
    said = outside(90 * 25.4, *load_rulebase().vocabulary.ranges["hip"])
    assert said is not None
    assert f"wearer.hip: {said[0]}" in refused
    Path(about).write_text(unit + ABOUT, encoding="utf-8")
    assert run(["new", str(case), "--pattern", CORSET, "--about", about]) == 0
    capsys.readouterr()
    assert run(["note", str(case), "--measured", "hip=90 in"]) == 2
    assert said[0] in " ".join(capsys.readouterr().err.split())
    assert len(open_case(case).measurings) == 1


def test_a_table_in_centimetres_of_its_own_makes_a_case_in_centimetres(tmp_path: Path) -> None:
    table = tmp_path / "mine.csv"
    table.write_text("# unit: cm\n" + IN_CM, encoding="utf-8")
    assert run(["new", str(tmp_path / "case"), "--pattern", str(table)]) == 0
    assert open_case(tmp_path / "case").unit == "cm"
    assert run(["new", str(tmp_path / "other"), "--pattern", str(table), "--unit", "in"]) == 2


def test_the_mended_draft_is_written_and_fits_when_it_is_held_again(
    tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path(about).write_text(ABOUT.replace("waist: 27 in", "waist: 28 in"), encoding="utf-8")
    mended = tmp_path / "mended.json"
    words = ["draft", "--pattern", CORSET, "--about", about, "--out", str(mended)]
    assert run(words) == 0
    assert "Mend this first: " in capsys.readouterr().out
    assert run(words) == 0, "it is ours to write over"
    capsys.readouterr()
    assert run(["draft", "--pattern", str(mended), "--about", about, "--json"]) == 0
    waist = json.loads(capsys.readouterr().out)["draft"]["stations"]["waist"]
    assert abs(waist["change_mm"]) <= 25.4 / 4 + 0.1


def test_a_draft_of_a_pattern_beyond_belief_is_asked_about_first(
    tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "mine.csv"
    table.write_text(IN_CM, encoding="utf-8")
    words = ["draft", "--pattern", str(table), "--about", about]
    assert run(words) == 2
    assert "--unit cm" in capsys.readouterr().err
    assert run([*words, "--unit", "cm"]) == 0
    assert "68.0 cm" in capsys.readouterr().out


def test_what_a_case_knows_is_not_told_beside_it(
    tmp_path: Path, about: str, capsys: pytest.CaptureFixture[str]
) -> None:
    case = str(tmp_path / "case")
    assert run(["new", case, "--pattern", CORSET, "--about", about]) == 0
    for words in (["--unit", "cm"], ["--about", about], ["--sure", "waist"]):
        assert run(["draft", case, *words]) == 2
        assert "A case knows its own" in capsys.readouterr().err
