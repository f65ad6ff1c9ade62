"""A case begun in a terminal: what was not told is asked, what was is not, and Enter leaves a thing unsaid."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from terminal import Terminal

from diagnose import casebook
from diagnose.places import bundled_cases

CORSET = bundled_cases() / "patterns" / "six-panel-corset.json"
ABOUT = "garment: {style: corset, closure: back}\n"


@pytest.fixture
def about(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "about.yaml").write_text(ABOUT, encoding="utf-8")
    return tmp_path / "about.yaml"


def answer(terminal: Terminal, *pairs: tuple[str, str]) -> None:
    for words, reply in pairs:
        terminal.until(words)
        os.write(terminal.handle, reply.encode() + b"\n")


def test_unit_target_and_girths_are_asked_where_nothing_says_them(about: Path, tmp_path: Path) -> None:
    with Terminal("new", str(tmp_path / "wren"), "--pattern", str(CORSET), "--about", str(about)) as terminal:
        answer(
            terminal, ("inches, centimetres or millimetres?", "ell"), ("Type in, cm or mm.", "cm"),
            ("lacing gap to stand?", "wide"), ("is not a length", "5"), ("Her bust", "94,5"), ("Her underbust", ""),
            ("Her waist", "70"), ("Her hip", ""), ("laced in", "5"),
        )  # fmt: skip
        code, _ = terminal.end()
    assert code == 0
    case = casebook.open_case(tmp_path / "wren")
    assert (case.unit, case.target) == ("cm", "5")
    assert case.wearer == {"bust": "94,5", "waist": "70", "planned_reduction": "5"}


def test_what_was_told_by_file_option_or_setting_is_not_asked_again(about: Path, tmp_path: Path) -> None:
    about.write_text(f"{ABOUT}unit: in\nwearer: {{waist: 27 in}}\n", encoding="utf-8")
    line = ["new", str(tmp_path / "wren"), "--pattern", str(CORSET), "--about", str(about), "--target", "2 in"]
    with Terminal(*line) as terminal:
        code, shown = terminal.end()
    assert code == 0
    assert "?" not in shown.partition("Started")[0]
    assert casebook.open_case(tmp_path / "wren").wearer == {"waist": "27 in"}


def test_a_unit_by_option_that_contradicts_the_file_is_refused(about: Path, tmp_path: Path) -> None:
    about.write_text(f"{ABOUT}unit: cm\n", encoding="utf-8")
    line = ["new", str(tmp_path / "wren"), "--pattern", str(CORSET), "--about", str(about), "--unit", "in"]
    with Terminal(*line) as terminal:
        code, shown = terminal.end()
    assert code == 2
    assert "It says in, and about.yaml says cm." in " ".join(shown.split())
    assert not (tmp_path / "wren").exists()


def test_girths_that_the_pattern_can_t_be_for_are_asked_about_though_they_were_typed(
    about: Path, tmp_path: Path
) -> None:
    about.write_text(f"{ABOUT}unit: in\ntarget: 2 in\n", encoding="utf-8")
    with Terminal("new", str(tmp_path / "wren"), "--pattern", str(CORSET), "--about", str(about)) as terminal:
        answer(
            terminal, ("Her bust", "2 in"), ("no body girth", ""), ("Her underbust", ""), ("Her waist", "48 in"),
            ("Her hip", ""), ("laced in", ""), ("Is it so?", "n"),
        )  # fmt: skip
        code, shown = terminal.end()
    assert code == 2
    assert "the wearer measures 48 in" in " ".join(shown.split())
    assert not (tmp_path / "wren").exists()
