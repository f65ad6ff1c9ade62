"""`diagnose tryon` asked by lines or on the page, in this process: what is kept, resumed, dropped and told."""

from __future__ import annotations

import io
import json
import sys
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import diagnose.workroom
from diagnose import casebook
from diagnose.casework.working import store_tryon
from diagnose.cli.commands import workroom
from diagnose.cli.running import run
from diagnose.interview import draft_of
from diagnose.pattern.outline import Pattern

GARMENT = {"style": "corset", "closure": "back", "straps": "none", "tabs": "none"}
Said = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, corset: Pattern) -> Path:
    casebook.create(tmp_path / "wren", corset, garment=GARMENT, target="2 in", date="2026-03-02")
    return tmp_path / "wren"


@pytest.fixture
def typing(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """What is typed, a line each; then the end of input."""

    def typed(*lines: str) -> None:
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))

    return typed


def kept(folder: Path) -> dict[str, Any]:
    draft = casebook.load_draft(casebook.open_case(folder))
    return {row["question"]: row["reply"] for row in draft["replies"]} if draft else {}


def test_the_end_of_input_keeps_what_was_answered_and_ends_with_two(
    folder: Path, typing: Callable[..., None], capsys: Said
) -> None:
    typing("n", "1 in")
    assert run(["tryon", str(folder)]) == 2
    told = capsys.readouterr()
    assert told.err == "Stopped. What was answered so far is kept; start it again to go on.\n"
    assert told.out.startswith("wren: try-on 1, of pattern version 1\n")
    assert kept(folder) == {"stop": [], "gap.top": "1 in"}
    assert casebook.open_case(folder).tryons == ()


@pytest.mark.parametrize(("word", "goes_on"), [("y", True), ("YES", True), ("n", False), ("No", False)])
def test_answers_kept_are_gone_on_with_or_dropped_as_she_says(
    word: str, goes_on: bool, folder: Path, typing: Callable[..., None], capsys: Said
) -> None:
    typing("n", "1 in")
    run(["tryon", str(folder)])
    capsys.readouterr()
    typing("perhaps", word)
    run(["tryon", str(folder)])
    told = capsys.readouterr().out
    assert "2 answers are kept from a try-on that was broken off. Go on with them?" in told
    assert told.count("Type y to go on with them, or n to drop them and begin afresh.") == 1
    assert ("question 3 of about" in told) is goes_on
    assert ("question 1 of about" in told) is not goes_on
    assert kept(folder) == ({"stop": [], "gap.top": "1 in"} if goes_on else {})


def test_she_may_leave_and_is_told_that_the_answers_are_kept(
    folder: Path, typing: Callable[..., None], capsys: Said
) -> None:
    typing("n", "1 in", "stop", "k")
    assert run(["tryon", str(folder)]) == 0
    assert capsys.readouterr().err == "The answers are kept. Start it again to go on with them.\n"
    assert casebook.open_case(folder).tryons == ()


def test_the_plan_from_what_is_said_is_stored_and_says_what_can_be_done_with_it(
    folder: Path, typing: Callable[..., None], capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder.parent)
    typing("n", "1 in", "2 in", "3 in", "stop", "p")
    assert run(["tryon", "wren"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-3:] == [
        "Stored as try-on 1.",
        "All of it, with reasons and lines to draw: diagnose plan wren",
        "To draw the steps into the pattern:        diagnose alter wren",
    ]
    assert kept(folder) == {}
    assert len(casebook.open_case(folder).tryons) == 1


def test_a_long_name_of_a_case_is_not_written_into_the_commands(
    folder: Path, typing: Callable[..., None], capsys: Said
) -> None:
    typing("n", "1 in", "1 in", "1 in", "stop", "p")
    assert run(["tryon", str(folder)]) == 0
    assert "diagnose plan CASE" in capsys.readouterr().out


def test_with_a_stop_flag_no_plan_is_offered(folder: Path, typing: Callable[..., None], capsys: Said) -> None:
    typing("1")
    assert run(["tryon", str(folder)]) == 0
    told = capsys.readouterr().out
    assert told.endswith("Stored as try-on 1.\n")
    assert "diagnose alter" not in told


def test_nothing_known_ends_with_one(folder: Path, typing: Callable[..., None], capsys: Said) -> None:
    typing("n", "stop", "p")
    assert run(["tryon", str(folder)]) == 1
    assert "Too little is known to say what to do: above all, the gap was not read." in " ".join(
        capsys.readouterr().out.split()
    )


def test_as_data_only_the_data_go_to_stdout(folder: Path, typing: Callable[..., None], capsys: Said) -> None:
    typing("n", "1 in", "stop", "p")
    assert run(["tryon", str(folder), "--json"]) == 0
    told = capsys.readouterr()
    assert json.loads(told.out)["tryon"] == 1
    assert "How wide is the gap at the top edge" in told.err


def page(monkeypatch: pytest.MonkeyPatch, work: Callable[[Path], Any]) -> list[Any]:
    """Put this in place of the serving of the workroom; what opens a browser is kept, at each time it is served."""
    shows: list[Any] = []

    def hold(root: Path, tell: Callable[[str], None], show: Any, *, start: str, until: Callable[[], bool]) -> None:
        assert start == "/case/wren/tryon"
        assert not until()
        shows.append(show)
        work(root / "wren")

    monkeypatch.setattr(diagnose.workroom, "hold_workroom", hold)
    return shows


def test_a_tryon_finished_in_the_workroom_is_stored_and_told_in_the_terminal(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    page(monkeypatch, lambda case: store_tryon(case, {"gap": {"top": "1 in", "waist": "1 in", "bottom": "1 in"}}))
    assert run(["tryon", str(folder), "--page"]) == 0
    assert "Stored as try-on 1." in capsys.readouterr().out


def test_a_workroom_that_is_left_keeps_the_answers(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Said) -> None:
    page(monkeypatch, lambda case: casebook.save_draft(casebook.open_case(case), draft_of({"stop": []}, {})))
    assert run(["tryon", str(folder), "--page"]) == 0
    assert capsys.readouterr().err == "The answers are kept. Start it again to go on with them.\n"
    assert kept(folder) == {"stop": []}


@pytest.mark.parametrize(
    ("options", "screen", "opens"), [([], ":0", True), (["--no-open"], ":0", False), ([], "", False)]
)
def test_a_browser_is_opened_only_where_there_is_a_screen_and_she_wants_it(
    options: list[str], screen: str, opens: bool, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("DISPLAY", screen)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    shows = page(monkeypatch, lambda case: None)
    assert run(["tryon", str(folder), "--page", *options]) == 0
    assert [show is not None for show in shows] == [opens]


def test_where_no_browser_can_be_found_the_address_is_left_to_her(monkeypatch: pytest.MonkeyPatch) -> None:

    def none(address: str) -> bool:
        raise webbrowser.Error("could not locate runnable browser")

    monkeypatch.setattr(webbrowser, "open", none)
    assert workroom.in_browser("http://127.0.0.1:1/") is False
    monkeypatch.setattr(webbrowser, "open", lambda address: address == "http://127.0.0.1:2/")
    assert workroom.in_browser("http://127.0.0.1:2/") is True
