"""`diagnose plan` and `diagnose sheet` on a case: the plan in words and as data, and the sheet in each of its forms."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from begun import begun

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.working import store_tryon
from diagnose.cli.running import run

Said = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The singer after her first try-on: a fold is to be drawn."""
    return begun(tmp_path / "singer", "singer")


@pytest.fixture
def unread(tmp_path: Path) -> Path:
    """Her case with a try-on that said nothing: nothing is to be drawn."""
    return begun(tmp_path / "unread", "singer", {"seen": {"rides-up": False}})


def pages(pdf: Path) -> int:
    return pdf.read_bytes().count(b"/Type /Page\n")


def test_the_plan_is_told_in_words_with_what_is_drawn_and_as_data_like_a_line_of_a_batch(
    folder: Path, capsys: Said
) -> None:
    assert run(["plan", str(folder)]) == 0
    words = capsys.readouterr().out
    assert words.startswith("singer: try-on 1\n")
    assert "version 1 and what is to be drawn in · 2026-03-03" in " ".join(words.split())
    assert "\nBy hand:\n" in words
    assert len(words.splitlines()) <= 24
    assert run(["plan", str(folder), "--all"]) == 0
    assert "\nWith ruler and pencil\n" in capsys.readouterr().out
    assert run(["plan", str(folder), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["plan"] == json.loads(json.dumps(casebook.open_case(folder).tryons[0].plan))["plan"]


def test_a_plan_with_nothing_to_draw_names_the_version_alone(unread: Path, capsys: Said) -> None:
    assert run(["plan", str(unread)]) == 0
    words = capsys.readouterr().out
    assert "version 1 · 2026-03-03" in " ".join(words.split())
    assert "By hand:" not in words


def test_the_plan_is_of_the_version_that_was_tried_on_even_when_it_has_been_altered_since(
    folder: Path, capsys: Said
) -> None:
    run(["plan", str(folder), "--json"])
    before = capsys.readouterr().out
    assert run(["alter", str(folder)]) == 0
    capsys.readouterr()
    assert run(["plan", str(folder), "--json"]) == 0
    assert capsys.readouterr().out == before


def test_one_cause_is_argued_in_words_and_as_data_with_the_same_chance(folder: Path, capsys: Said) -> None:
    assert run(["plan", str(folder), "--why", "too-big-at-waist"]) == 0
    words = " ".join(capsys.readouterr().out.split())
    assert run(["plan", str(folder), "--why", "too-big-at-waist", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    (cause,) = data["causes"]
    assert f"{cause['probability']:.0%} sure" in words
    assert [finding["symptom"] for finding in cause["against"]] == ["gap-narrowest-at-waist", "waist-sits-low"]
    assert words.count("against: Not there: ") == 2
    assert [step["id"] for step in data["steps"]] == ["1.1"]


def test_what_is_held_back_can_be_argued_and_what_the_tryon_says_nothing_of_is_refused(
    folder: Path, capsys: Said
) -> None:
    assert run(["plan", str(folder), "--why", "lower-underarm"]) == 0
    assert capsys.readouterr().out.startswith("Held back: ")
    assert run(["plan", str(folder), "--why", "nip-waist"]) == 2
    assert capsys.readouterr().err.startswith("--why: This try-on says nothing of 'nip-waist'.")


@pytest.mark.parametrize("ending", [".html", ".svg", ".pdf", ".dxf", ".SVG"])
def test_the_ending_of_the_file_chooses_the_form_and_an_older_sheet_is_replaced(
    ending: str, folder: Path, capsys: Said
) -> None:
    out = folder.parent / f"sheet{ending}"
    assert run(["sheet", str(folder), "--out", str(out)]) == 0
    capsys.readouterr()
    assert run(["sheet", str(folder), "--out", str(out)]) == 0
    assert capsys.readouterr().out == f"Written: {out}\n"
    data = out.read_bytes()
    begins = {".html": b"<!DOCTYPE html>", ".svg": b"<", ".pdf": b"%PDF-", ".dxf": b"  0\n"}
    assert data.lower().startswith(begins[ending.lower()].lower())
    if ending.lower() == ".svg":
        assert ET.fromstring(data).tag == "{http://www.w3.org/2000/svg}svg"


def test_where_the_sheet_went_is_told_as_data(folder: Path, capsys: Said) -> None:
    out = folder.parent / "sheet.svg"
    assert run(["sheet", str(folder), "--out", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"version": 1, "out": str(out)}


@pytest.mark.parametrize("ending", [".svg", ".pdf", ".dxf"])
def test_with_nothing_to_draw_the_pattern_is_drawn_as_it_is(ending: str, folder: Path, unread: Path) -> None:
    plain, changed = folder.parent / f"plain{ending}", folder.parent / f"changed{ending}"
    assert run(["sheet", str(unread), "--out", str(plain)]) == 0
    assert run(["sheet", str(folder), "--out", str(changed)]) == 0
    assert plain.stat().st_size < changed.stat().st_size


def test_all_on_one_sheet_takes_fewer_pages_than_a4(folder: Path) -> None:
    a4, one = folder.parent / "a4.pdf", folder.parent / "one.pdf"
    assert run(["sheet", str(folder), "--out", str(a4)]) == 0
    assert run(["sheet", str(folder), "--out", str(one), "--paper", "one-sheet"]) == 0
    assert pages(one) < pages(a4)


def test_an_allowance_changes_the_cutting_line_and_a_toiles_own_is_taken_for_its_seams(folder: Path) -> None:
    """An inch is an inch however it is told; the toile's own allowance gives way to one chosen for this once."""
    usual, wide = folder.parent / "usual.dxf", folder.parent / "wide.dxf"
    for out, allow in ((usual, []), (wide, ["--allow", "top=1 in", "--allow", " seam =25.4 mm"])):
        assert run(["sheet", str(folder), "--out", str(out), *allow]) == 0
    assert usual.read_bytes() != wide.read_bytes()


@pytest.mark.parametrize(("own", "chosen", "alike"), [
    ("1 in", None, "1 in"), ("1 in", "2 in", "2 in"), ("2 in", "1 in", "1 in"),
])  # fmt: skip
def test_a_toiles_own_allowance_stands_unless_another_is_chosen(
    own: str, chosen: str | None, alike: str, tmp_path: Path
) -> None:
    corset = bundled_case("dancer")

    def drawn(name: str, garment: dict[str, Any], *allow: str) -> bytes:
        known = {key: value for key, value in corset.about["garment"].items() if key != "allowance"}
        about: dict[str, Any] = {**corset.about, "garment": known | garment}
        casebook.create(tmp_path / name, corset.pattern, date="2026-03-02", **about)
        store_tryon(tmp_path / name, {"seen": {"rides-up": False}}, "2026-03-03")
        assert run(["sheet", str(tmp_path / name), "--out", str(tmp_path / f"{name}.dxf"), *allow]) == 0
        return (tmp_path / f"{name}.dxf").read_bytes()

    told = [f"--allow=seam={chosen}"] if chosen else []
    assert drawn("own", {"allowance": own}, *told) == drawn("plain", {}, f"--allow=seam={alike}")


@pytest.mark.parametrize(
    ("out", "more", "says"),
    [
        ("sheet.png", [], "“.png” is no form of sheet. End it in .html .svg .pdf .dxf."),
        ("sheet", [], "“” is no form of sheet."),
        ("sheet.pdf", ["--paper", "foolscap"], "There is no paper 'foolscap'."),
        ("sheet.pdf", ["--allow", "seam"], "--allow: “seam” gives no length. Write it like --allow 'seam=1 in'."),
        ("sheet.dxf", ["--allow", "seam=wide"], "--allow seam: “wide” is not a length."),
        ("sheet.dxf", ["--allow", "collar=1 in"], "collar"),
        ("none/sheet.svg", [], "There is no such file or folder."),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_and_leaves_nothing(
    out: str, more: list[str], says: str, folder: Path, capsys: Said
) -> None:
    path = folder.parent / out
    assert run(["sheet", str(folder), "--out", str(path), *more]) == 2
    assert says in capsys.readouterr().err
    assert not path.exists()
