"""What a case lends to its answers and readings, and files of answers that are none."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.cli.asking.answers_file import read_answers
from diagnose.cli.commands.demo import _rounds
from diagnose.cli.running import run
from diagnose.errors import FitError
from diagnose.pattern.outline import Pattern

Said = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, corset: Pattern) -> Path:
    """A corset of five seams a half for which 3 in are meant; no try-on yet."""
    casebook.create(tmp_path / "wren", corset, garment={"closure": "back"}, target="3 in", date="2026-03-02")
    return tmp_path / "wren"


def tried(folder: Path, answers: dict[str, Any], capsys: Said) -> dict[str, Any]:
    file = folder.parent / "answers.json"
    file.write_text(json.dumps(answers), encoding="utf-8")
    assert run(["tryon", str(folder), "--answers", str(file), "--json"]) == 0
    return dict(json.loads(capsys.readouterr().out))


def gap_of(folder: Path, capsys: Said, *options: str) -> dict[str, dict[str, Any]]:
    assert run(["gap", str(folder), *options, "--json"]) == 0
    return dict(json.loads(capsys.readouterr().out)["gap"]["stations"])


@pytest.mark.parametrize(
    ("told", "target"),
    [({}, 76.2), ({"target": None}, 76.2), ({"target": "2 in"}, 50.8), ({"garment": None, "wearer": {}}, 76.2)],
)
def test_the_cases_target_stands_in_where_the_answers_give_none(
    told: dict[str, Any], target: float, folder: Path, capsys: Said
) -> None:
    found = tried(folder, {"gap": {"waist": "1 in"}, **told}, capsys)
    assert found["gap"]["stations"]["waist"]["target_mm"] == pytest.approx(target)


@pytest.mark.parametrize("name", ["garment", "wearer"])
def test_a_garment_or_wearer_that_is_no_table_of_answers_is_refused_as_in_a_batch(
    name: str, folder: Path, capsys: Said
) -> None:
    file = folder.parent / "answers.json"
    file.write_text(json.dumps({"gap": {"waist": "1 in"}, name: "corset"}), encoding="utf-8")
    assert run(["tryon", str(folder), "--answers", str(file)]) == 2
    assert capsys.readouterr().err.startswith(f"answers.json: {name}: ")
    assert casebook.open_case(folder).tryons == ()


def test_without_a_target_anywhere_the_usual_one_is_taken(tmp_path: Path, corset: Pattern, capsys: Said) -> None:
    casebook.create(tmp_path / "wren", corset, date="2026-03-02")
    found = tried(tmp_path / "wren", {"gap": {"waist": "1 in"}}, capsys)
    assert found["gap"]["stations"]["waist"]["target_mm"] == pytest.approx(50.8)


def test_the_cases_own_settings_hold_for_its_plan(tmp_path: Path, corset: Pattern, capsys: Said) -> None:
    """A usual target of 3 in in place of 2 in: a gap of 1 in wants 2 in more, not 1."""
    for name, own, wanted in (("usual", {}, 25.4), ("own", {"target-gap": 76.2}, 50.8)):
        casebook.create(tmp_path / name, corset, settings=own, date="2026-03-02")
        found = tried(tmp_path / name, {"gap": {"top": "1 in", "waist": "1 in", "bottom": "1 in"}}, capsys)
        (step,) = found["plan"][0]["steps"]
        assert step["amount_mm"]["whole"] == pytest.approx(wanted)


def test_a_reading_on_the_line_stands_in_for_all_of_the_last_tryon(folder: Path, capsys: Said) -> None:
    assert run(["gap", str(folder)]) == 1  # nothing has been read yet
    capsys.readouterr()
    tried(folder, {"gap": {"top": "0", "waist": "2 in"}, "overlap": {"top": "1/2 in"}}, capsys)
    last = gap_of(folder, capsys)
    assert {name: row["change_mm"] for name, row in last.items()} == pytest.approx({"top": 88.9, "waist": 25.4})
    now = gap_of(folder, capsys, "--top", "0")
    assert list(now) == ["top"]
    assert now["top"]["at_least"] is True  # the lap was of the reading before


def test_a_target_on_the_line_goes_before_the_cases_own_and_its_seams_are_counted(folder: Path, capsys: Said) -> None:
    """2 in are wanted: 1 in a half, a fifth of it on each of five seams; of two seams a half each."""
    meant = gap_of(folder, capsys, "--waist", "1 in")["waist"]
    assert (meant["target_mm"], meant["change"]["per_seam"]) == pytest.approx((76.2, 5.08))
    told = gap_of(folder, capsys, "--waist", "1 in", "--target", "5 in", "--seams", "2")["waist"]
    assert (told["target_mm"], told["change"]["per_seam"]) == pytest.approx((127.0, 25.4))


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("none.json", None, "none.json: The answers can't be read (No such file or directory)."),
        ("bad.json", b"{", "bad.json, line 1"),
        ("list.json", b"[1]", "list.json"),
        ("list.yaml", b"- a\n", "list.yaml: The file holds no answers. See the README for an example."),
        ("empty.yaml", b"", "empty.yaml: The file holds no answers."),
        ("date.yaml", b"gap: {top: 2026-99-99}\n", "date.yaml: A value in it can't be read. Put quotes round dates"),
        ("twice.yaml", b"gap: {}\ngap: {}\n", "twice.yaml:2: “gap” stands twice."),
        ("latin.yaml", b"\xff", "latin.yaml: The answers can't be read (it is not UTF-8 text)."),
        ("folder.yaml", b"/", "folder.yaml: The answers can't be read (Is a directory). Name a JSON or YAML file."),
    ],
)
def test_a_file_of_answers_that_is_none_is_refused_and_nothing_is_stored(
    name: str, data: bytes | None, says: str, folder: Path, capsys: Said
) -> None:
    path = folder.parent / name
    if data == b"/":
        path.mkdir()
    elif data is not None:
        path.write_bytes(data)
    assert run(["tryon", str(folder), "--answers", str(path)]) == 2
    assert capsys.readouterr().err.startswith(says)
    assert casebook.open_case(folder).tryons == ()


@pytest.mark.parametrize(
    ("name", "text"),
    [("a.json", '{"gap": {"top": "1 in"}}'), ("a.JSON", '\ufeff{"gap": {"top": "1 in"}}'),
     ("a.yaml", "gap: {top: 1 in}"), ("a.txt", "gap:\n  top: 1 in\n")],
)  # fmt: skip
def test_json_is_told_by_the_ending_and_all_else_is_read_as_yaml(name: str, text: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    assert read_answers(tmp_path / name) == {"gap": {"top": "1 in"}}


def test_answers_together_with_a_page_are_refused(folder: Path, capsys: Said) -> None:
    assert run(["tryon", str(folder), "--answers", "x.json", "--page"]) == 2
    assert "--page: It does not go with --answers." in capsys.readouterr().err


def test_a_demo_is_not_written_over_nor_where_no_folder_can_be(tmp_path: Path, capsys: Said) -> None:
    (tmp_path / "stage-bodies").mkdir()
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for out, says in (
        (tmp_path, "A demo has been written there already. Name another folder with --out."),
        (
            tmp_path / "file" / "out",
            "A part of its path is no folder. Look at its name and place. Nothing has been changed.",
        ),
    ):
        assert run(["demo", "--out", str(out)]) == 2
        assert capsys.readouterr().err.endswith(f"{out}: {says}\n")  # a word on the matcher may precede it
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "stage-bodies"]
    assert list((tmp_path / "stage-bodies").iterdir()) == []


def test_a_round_that_draws_nothing_makes_no_version(tmp_path: Path) -> None:
    """The apprentice's first round mends the toile itself; her second takes in, and then nothing is left to alter."""
    worked = _rounds(bundled_case("apprentice"), tmp_path / "apprentice")
    case = casebook.open_case(tmp_path / "apprentice")
    assert [bool(one.operations) for one in worked].count(True) == len(case.versions) - 1
    assert [tryon.pattern_version for tryon in case.tryons] == [1, 1, 2, 2]
    with pytest.raises(FitError):
        case.version(3)
