"""The command line's way in: ``--pattern`` with ``--labels`` and ``--length``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from drawings import plain_svg

from diagnose.casebook import open_case
from diagnose.cli.asking.patterns import read_pattern_file
from diagnose.cli.commands.keeping import new
from diagnose.errors import FitError
from diagnose.pattern.brought import Terms

PATTERNS = Path(__file__).parents[3] / "cases" / "patterns"


@pytest.mark.parametrize(
    ("name", "labels", "pieces"),
    [
        ("six-panel-corset.json", None, 6),
        ("underarm-panels.csv", None, 2),
        ("corset-drawing.svg", None, 6),
        ("corset-drawing.dxf", "corset-drawing-labels.yaml", 6),
    ],
)
def test_every_bundled_form_starts_a_case(tmp_path: Path, name: str, labels: str | None, pieces: int) -> None:
    new(tmp_path / "case", [PATTERNS / name], labels=PATTERNS / labels if labels else None)
    assert len(open_case(tmp_path / "case").pattern.pieces) == pieces


def test_what_was_presumed_is_told_with_the_pattern() -> None:
    made = read_pattern_file(PATTERNS / "corset-drawing.svg", Terms("in"), None, "panel-6.centre-back=14 in")
    assert len(made.settled().pieces) == 6
    assert any("waist was presumed" in sentence for sentence in made.said)
    assert made.said[-1] == "Scale checked: “panel-6.centre-back” measures 14 in (356 mm), as stated."


def test_a_missing_labels_file_is_answered_with_a_draft_of_it(tmp_path: Path) -> None:
    with pytest.raises(FitError) as caught:
        read_pattern_file(PATTERNS / "corset-drawing.dxf", Terms("in"), tmp_path / "mine.yaml")
    text = str(caught.value)
    assert "no such labels file" in text
    assert "      - {name: hem, role: bottom, from: [0.00, -182.88]}" in text
    (tmp_path / "mine.yaml").write_text(text.partition("\n\n")[2], encoding="utf-8")
    assert len(read_pattern_file(PATTERNS / "corset-drawing.dxf", Terms("in"), tmp_path / "mine.yaml").seams) == 5


def test_labels_and_lengths_are_refused_beside_a_pattern_that_names_itself() -> None:
    with pytest.raises(FitError) as caught:
        read_pattern_file(PATTERNS / "six-panel-corset.json", Terms("in"), Path("x.yaml"), "p1=3 in")
    assert "no drawing" in str(caught.value)


@pytest.mark.parametrize("ending", [".pdf", ".dwg", ".svgz", ".WEBP"])
def test_other_forms_are_refused_with_those_that_are_read(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"x{ending}"
    path.write_bytes(b"x")
    with pytest.raises(FitError) as caught:
        read_pattern_file(path, Terms("in"))
    assert ".svg or .dxf" in str(caught.value)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FitError) as caught:
        read_pattern_file(tmp_path / "none.svg", Terms("in"))
    assert "can't be read" in str(caught.value)


def test_a_file_that_is_too_large_is_not_taken_in(tmp_path: Path) -> None:
    path = tmp_path / "x.svg"
    with path.open("wb") as file:
        file.truncate(30_000_000)
    with pytest.raises(FitError) as caught:
        read_pattern_file(path, Terms("in"))
    assert "20 MB" in str(caught.value)


def test_the_ending_is_read_in_any_case(tmp_path: Path) -> None:
    path = tmp_path / "X.SVG"
    path.write_bytes(plain_svg())
    assert len(read_pattern_file(path, Terms("in")).settled().pieces) == 2


def test_the_libraries_say_nothing_on_the_terminal(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "x.dxf"
    path.write_bytes((PATTERNS / "corset-drawing.dxf").read_bytes().replace(b"7.2", b"7x2", 1))
    with pytest.raises(FitError) as caught:
        read_pattern_file(path, Terms("in"))
    assert "spoilt" in str(caught.value)
    assert capfd.readouterr() == ("", "")


def test_nothing_heavy_is_imported_before_a_drawing_is_read() -> None:
    code = (
        "import sys, diagnose.cli.asking.patterns, diagnose.pattern.brought.drawings.svg_drawing; "
        "import diagnose.pattern.brought.drawings.dxf_drawing; "
        "print([m for m in ('svgelements', 'ezdxf', 'shapely', 'numpy', 'yaml') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
