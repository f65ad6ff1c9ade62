"""`diagnose alter`: plan steps on a case's newest pattern, or operations on a pattern file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose import casebook
from diagnose.cli.running import run
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases

BODIES = str(bundled_cases() / "patterns" / "boned-bodies.json")
SLANTED = {"gap": {"top": "1 in", "waist": "2 in", "bottom": "3 in"}, "tension": "working"}
LONGER = [{"op": "strap", "piece": "bodies", "end": "front", "lengthen": "1/2"}]
Said = pytest.CaptureFixture[str]


@pytest.fixture
def started(tmp_path: Path, corset: Pattern) -> Path:
    casebook.create(tmp_path / "wren", corset, garment={"closure": "back"}, target="2 in", date="2026-03-02")
    return tmp_path / "wren"


@pytest.fixture
def tried(started: Path, tmp_path: Path, capsys: Said) -> Path:
    """Tried on once; round 1 takes in above and lets out below."""
    (tmp_path / "answers.json").write_text(json.dumps(SLANTED), encoding="utf-8")
    assert run(["tryon", str(started), "--answers", str(tmp_path / "answers.json")]) == 0
    capsys.readouterr()
    return started


def without_steps(folder: Path) -> None:
    """Leave the plan of the last try-on without a step."""
    path = folder / "tryons" / "0001.plan.json"
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), "plan": []}), encoding="utf-8")
    casebook.keep_as_it_stands(folder, "tryons/0001.plan.json")


def test_the_steps_of_round_one_are_drawn_and_the_girths_that_changed_are_told(tried: Path, capsys: Said) -> None:
    """1 in too narrow a gap at the top is 1 in to take in, as 1 in too wide at the bottom is 1 in to let out."""
    assert run(["alter", str(tried)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert told.startswith("Version 2 stored, made from version 1 by: 1.1.")
    assert "Girth of the whole at the top: 34 1/2 in (876 mm) to 33 1/2 in (851 mm), 1 in (25 mm) less" in told
    assert "Girth of the whole at the bottom: 35 in (889 mm) to 36 in (914 mm), 1 in (26 mm) more" in told
    assert "at the waist" not in told
    assert "Note: Channel 3 of the third panel moved with the front seam." in told
    before, after = casebook.open_case(tried).versions
    change = (garment_girth(after.pattern, "top") or 0.0) - (garment_girth(before.pattern, "top") or 0.0)
    assert change == pytest.approx(-25.4, abs=1.0)


def test_no_line_is_wider_than_eighty_columns_and_no_note_is_cut_short(tried: Path, capsys: Said) -> None:
    assert run(["alter", str(tried)]) == 0
    told = capsys.readouterr().out
    assert [line for line in told.splitlines() if len(line) > 80] == []
    notes = casebook.open_case(tried).newest.done.notes
    assert all(note in " ".join(told.split()) for note in notes)


def test_the_same_as_data_says_version_steps_operations_and_report(tried: Path, capsys: Said) -> None:
    assert run(["alter", str(tried), "1.1", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["version_stored"], data["made_from"], data["steps"]) == (2, 1, ["1.1"])
    assert list(data["operations"]) == [dict(one) for one in casebook.open_case(tried).newest.done.operations]
    assert data["report"]["girths"]["top"]["by_mm"] == pytest.approx(-25.4, abs=1.0)


def test_without_a_tryon_there_is_nothing_to_draw(started: Path, capsys: Said) -> None:
    for line in (["alter"], ["plan"], ["sheet", "--out", str(started / "x.html")]):
        assert run([line[0], str(started), *line[1:]]) == 2
        assert "There is no try-on yet. Answer one with: diagnose tryon CASE" in capsys.readouterr().err


def test_a_plan_without_a_step_sends_her_to_another_tryon(tried: Path, capsys: Said) -> None:
    without_steps(tried)
    assert run(["alter", str(tried)]) == 2
    assert "The last try-on has no step to apply. Answer another try-on." in capsys.readouterr().err


@pytest.mark.parametrize("done_by", ["alter", "note"])
def test_a_round_that_is_done_or_noted_as_not_done_is_not_drawn_again(done_by: str, tried: Path, capsys: Said) -> None:
    first = ["alter", str(tried)] if done_by == "alter" else ["note", str(tried), "--skipped", "1.1=no cloth left"]
    assert run(first) == 0
    assert run(["alter", str(tried)]) == 2
    noted = ", or noted as not done" if done_by == "note" else ""
    assert f"plan: Round 1 is in the pattern already{noted}. Sew, try on" in capsys.readouterr().err
    assert len(casebook.open_case(tried).versions) == (2 if done_by == "alter" else 1)


def test_a_step_of_another_name_is_refused_with_what_the_plan_has(tried: Path, capsys: Said) -> None:
    assert run(["alter", str(tried), "1.1", "1.l"]) == 2
    assert "1.l: The plan has no step “1.l”. Did you mean 1.1?" in capsys.readouterr().err
    assert len(casebook.open_case(tried).versions) == 1


def test_a_step_named_that_is_in_the_pattern_is_refused_with_the_way_back(tried: Path, capsys: Said) -> None:
    assert run(["alter", str(tried), "1.1"]) == 0
    assert run(["alter", str(tried), "1.1"]) == 2
    assert "1.1: This step is in the newest version already. Go back with: diagnose back CASE N" in (
        capsys.readouterr().err
    )
    assert run(["back", str(tried), "1"]) == 0
    assert run(["alter", str(tried), "1.1"]) == 0
    assert [version.made_from for version in casebook.open_case(tried).versions] == [None, 1, 1, 3]


def test_a_named_step_that_is_skipped_is_drawn_all_the_same(tried: Path) -> None:
    """She has changed her mind: only what she leaves to the program passes over what she noted."""
    assert run(["note", str(tried), "--skipped", "1.1=no time"]) == 0
    assert run(["alter", str(tried), "1.1"]) == 0


def test_a_step_that_is_no_work_on_paper_says_so_and_stores_nothing(
    started: Path, tmp_path: Path, capsys: Said
) -> None:
    soft = SLANTED | {"known": {"toile-cloth-firm": False}}
    (tmp_path / "answers.json").write_text(json.dumps(soft), encoding="utf-8")
    assert run(["tryon", str(started), "--answers", str(tmp_path / "answers.json"), "--json"]) == 0
    first = json.loads(capsys.readouterr().out)["plan"][0]["steps"][0]["alteration"]
    assert first == "repair-the-toile"
    assert run(["alter", str(started)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert told.startswith("Nothing is drawn. What is to be done is for the hand: 1.1 ")
    assert told.endswith("When it is done, say so with: diagnose alter CASE --by-hand 1.1")
    assert len(casebook.open_case(started).versions) == 1
    assert run(["alter", str(started), "--by-hand", "1.1"]) == 0
    before, after = casebook.open_case(started).versions
    assert (after.done.steps, after.done.operations, after.pattern) == (("1.1",), (), before.pattern)


def test_operations_on_a_file_are_drawn_into_a_new_file_in_the_unit_told(tmp_path: Path, capsys: Said) -> None:
    """Half an inch is 12.7 mm, half a centimetre 5 mm; a bare number is of the unit."""
    for unit, much, words in (("in", "1/2", "(13 mm)"), ("cm", "0.5", "(5 mm)"), ("mm", "5", "(5 mm)")):
        out = tmp_path / f"{unit}.json"
        do = json.dumps([LONGER[0] | {"lengthen": much}])
        assert run(["alter", "--pattern", BODIES, "--do", do, "--out", str(out), "--unit", unit]) == 0
        told = capsys.readouterr().out.splitlines()
        assert told[0] == f"Written: {out}"
        assert told[1].startswith("Cut the strap at the front fixing")
        assert told[1].endswith(f"{words} longer.")
        assert load_pattern(out).pieces[0].name == "bodies"
    assert (tmp_path / "cm.json").read_bytes() == (tmp_path / "mm.json").read_bytes()
    assert (tmp_path / "in.json").read_bytes() != (tmp_path / "mm.json").read_bytes()


def test_operations_may_stand_in_a_file_and_the_report_may_be_data(tmp_path: Path, capsys: Said) -> None:
    (tmp_path / "do.json").write_text(json.dumps(LONGER), encoding="utf-8-sig")
    out = tmp_path / "out.json"
    line = ["alter", "--pattern", BODIES, "--do", str(tmp_path / "do.json"), "--out", str(out), "--json"]
    assert run(line) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["out"] == str(out)
    assert len(data["notes"]) == 1
    assert {change["by_mm"] for change in data["report"]["girths"].values()} == {0.0}
    kept = out.read_bytes()
    assert run(line) == 0, "it is ours to write over"
    capsys.readouterr()
    out.write_bytes(kept + b" ")
    assert run(line) == 2
    assert "was changed since" in capsys.readouterr().err
    assert out.read_bytes() == kept + b" "


@pytest.mark.parametrize(
    ("do", "says"),
    [
        ("[{", "--do: This is not JSON (line 1)."),
        ("[\n1,\n", "--do: This is not JSON (line 3)."),
        ("[" * 100_000, "--do: This is not JSON. "),
        ("nowhere.json", "--do nowhere.json: There is no such file of JSON. Give JSON text or a file's path."),
        ("latin.json", "--do latin.json: There is no such file of JSON."),
        ("bad.json", "--do bad.json: This is not JSON (line 2). Look for a missing comma, quote or bracket."),
        ('[{"op": "fold"}]', "do"),
    ],
)  # fmt: skip
def test_operations_that_are_none_are_refused_and_nothing_is_written(
    do: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bad.json").write_text("[\n{]", encoding="utf-8")
    Path("latin.json").write_bytes('["é"]'.encode("latin-1"))
    assert run(["alter", "--pattern", BODIES, "--do", do, "--out", "out.json"]) == 2
    assert capsys.readouterr().err.startswith(says)
    assert not Path("out.json").exists()


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ([], "alter: Missing: --pattern, --do, --out. Or name a case folder."),
        (["--do", "[]"], "alter: Missing: --pattern, --out. Or name a case folder."),
        (["--pattern", BODIES, "--out", "o.json"], "alter: Missing: --do."),
        (["CASE", "--pattern", BODIES], "--pattern: It does not go with a case. Leave it out."),
        (["CASE", "--do", "[]"], "--do: It does not go with a case. Leave it out."),
        (["CASE", "--out", "o.json", "--do", "[]"], "--do, --out: They do not go with a case. Leave them out."),
    ],
)
def test_a_case_and_a_file_are_kept_apart_and_what_is_missing_is_named(
    line: list[str], says: str, tried: Path, capsys: Said
) -> None:
    assert run(["alter", *(str(tried) if part == "CASE" else part for part in line)]) == 2
    assert capsys.readouterr().err.startswith(says)
    assert len(casebook.open_case(tried).versions) == 1
