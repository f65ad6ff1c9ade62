"""The try-on in a real pseudo-terminal: keyboard alone, 80 columns, broken off and resumed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from terminal import Terminal

from diagnose import casebook
from diagnose.pattern.form.reader import read_pattern
from diagnose.places import bundled_cases

GARMENT = {"style": "corset", "closure": "back", "straps": "none", "tabs": "none"}
CTRL_C, CTRL_D = b"\x03", b"\x04"
TO_THE_PLACES = ("n", "1 in", "2 in", "3 in", "1", "y", "1", "?")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    raw = json.loads((bundled_cases() / "patterns" / "six-panel-corset.json").read_text(encoding="utf-8"))
    casebook.create(tmp_path / "wren", read_pattern(raw), garment=GARMENT, target="2 in")
    return tmp_path / "wren"


def stored(folder: Path) -> dict[str, Any]:
    return dict(casebook.open_case(folder).tryons[-1].answers)


def kept(folder: Path) -> dict[str, Any]:
    draft = casebook.load_draft(casebook.open_case(folder))
    return {row["question"]: row["reply"] for row in draft["replies"]} if draft else {}


def to_the_end(terminal: Terminal) -> tuple[int, str]:
    """Say “can't tell” to whatever is still asked, and take the plan."""
    while "Enter for the plan" not in (shown := terminal.until("> ")):
        terminal.press(b"?\n")
        assert "--- question" not in shown or "what to do" not in shown
    terminal.press(b"\n")
    return terminal.end()


def test_whole_tryon_ends_with_findings_plan_and_what_comes_next(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type(*TO_THE_PLACES, "n", "all")
        code, shown = to_the_end(terminal)
    assert code == 0
    for title in ("Do this first", "What the next try-on should show"):
        assert f"{title} ──" in shown
    assert "The gap widens downward. Gap: top 1 in (25 mm); waist 2 in (51 mm); bottom 3 in" in shown
    assert "diagnose plan " in shown
    assert "Stored as try-on 1." in shown
    answers = stored(folder)
    assert answers["gap"] == {"top": "1 in", "waist": "2 in", "bottom": "3 in"}
    assert answers["tension"] == "working"
    assert answers["known"]["toile-cloth-firm"] is True
    assert answers["seen"]["spill-at-front"] is False
    assert kept(folder) == {}


def test_no_line_is_wider_than_eighty_columns_nor_coloured(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("how", *TO_THE_PLACES, "how", "1 2", "1", "2", "1/2", "how", "2", "1", "2", "all")
        terminal.until("Once it is off")
        code, _ = to_the_end(terminal)
    assert code == 0
    assert "\x1b" not in terminal.everything
    assert [line for line in terminal.everything.splitlines() if len(line) > 80] == []


def test_stop_flag_says_what_to_do_at_once_is_stored_and_ends(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("y", "1 3")
        code, shown = terminal.end()
    assert code == 0
    assert "UNLACE NOW" in shown
    assert "emergency help" in shown
    assert "Do this first" not in shown
    assert stored(folder)["seen"]["breath-short"] is True
    assert casebook.open_case(folder).tryons[-1].plan["stop"]["flags"]


def test_gap_is_asked_with_a_picture_of_where_it_is_read(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n")
        shown = terminal.until("edge to edge?")
    top = next(line for line in shown.splitlines() if "top edge" in line)
    assert "|<-->|" in top
    assert "measure here" in top


def test_closed_gap_is_followed_by_the_lap(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "closed")
        terminal.until("lap over at the top edge")
        terminal.type("1/2")
        terminal.until("at the waist, edge to edge?")
    assert kept(folder) == {"stop": [], "gap.top": "0 in", "lap.top": "1/2 in"}


def test_a_bad_length_is_explained_and_asked_again_however_often(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n")
        for typed, says in (
            ("two", "is not a length"), ("-1", "less than nothing"), ("1/0", "is not a length"),
            ("900", "outside what is believable"),
            ("2 ft", "is not a length"), ("", "is not a length"), ("1;2", "is not a length"),
        ):  # fmt: skip
            terminal.type(typed)
            terminal.until(says)
            assert kept(folder) == {"stop": []}
        terminal.type("5.1 cm")
        terminal.until("at the waist, edge to edge?")
    assert kept(folder)["gap.top"] == "5.1 cm"


def test_ctrl_c_keeps_every_answer_and_the_next_start_goes_on(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "1 in", "2 in")
        terminal.until("bottom edge, edge to edge?")
        terminal.press(CTRL_C)
        code, shown = terminal.end()
    assert code == 130
    assert "kept" in shown
    assert "Traceback" not in shown
    assert kept(folder) == {"stop": [], "gap.top": "1 in", "gap.waist": "2 in"}
    with Terminal("tryon", str(folder)) as terminal:
        terminal.until("3 answers are kept")
        terminal.type("y")
        terminal.until("question 4 of about")
        terminal.type("3 in", "1", "y", "1", "?", "n", "all")
        assert to_the_end(terminal)[0] == 0
    assert stored(folder)["gap"] == {"top": "1 in", "waist": "2 in", "bottom": "3 in"}


def test_closing_the_terminal_keeps_every_answer(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "1 in")
        terminal.until("at the waist, edge to edge?")
        terminal.hang_up()
        terminal.end()
    assert kept(folder) == {"stop": [], "gap.top": "1 in"}


def test_end_of_input_keeps_every_answer(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n")
        terminal.until("edge to edge?")
        terminal.until("> ")
        terminal.press(CTRL_D)
        code, shown = terminal.end()
    assert code == 2
    assert "Traceback" not in shown
    assert kept(folder) == {"stop": []}


def test_answers_kept_may_be_dropped_and_begun_afresh(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "1 in")
        terminal.until("at the waist, edge to edge?")
        terminal.press(CTRL_C)
        terminal.end()
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("what", "n")
        terminal.until("question 1 of about")
    assert kept(folder) == {}


def test_back_goes_one_back_and_enter_keeps_what_was_said(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "1 in", "back")
        terminal.until("You said: 1 in (25 mm). Enter keeps it.")
        terminal.type("back")
        terminal.until("You said: none of these.")
        terminal.type("", "1 1/2 in", "back", "1 3/4")
        terminal.until("bottom edge, edge to edge?")
    assert kept(folder) == {"stop": [], "gap.top": "1 in", "gap.waist": "1 3/4 in"}


def test_first_question_has_none_before_it(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("back")
        terminal.until("This is the first question.")


def test_any_answer_can_be_corrected_from_the_list_and_the_rest_stays(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "0", "1/2", "2 in", "list", "99", "2", "1 in")
        terminal.until("bottom edge, edge to edge?")
        terminal.type("list")
        shown = terminal.until("Which one do you want to change?")
    assert "1 in (25 mm)" in shown
    assert "lap over" not in shown
    assert kept(folder) == {"stop": [], "gap.top": "1 in", "lap.top": "1/2 in", "gap.waist": "2 in"}


def test_why_and_how_are_told_and_the_question_stays_open(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "why")
        terminal.until("Every girth is judged by the gap")
        terminal.type("how")
        terminal.until("from lacing edge to")
        terminal.type("2 in")
        terminal.until("at the waist, edge to edge?")


def test_side_is_asked_where_sides_can_differ_and_only_there(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type(*TO_THE_PLACES, "3 10", "1", "r", "1/2", "1")
        shown = terminal.until("It slides down: how much?")
        terminal.type("1")
        terminal.until("find nothing (else)?")
    assert "Spill at the side bust" not in shown
    answers = casebook.load_draft(casebook.open_case(folder))
    assert answers is not None
    assert answers["answers"]["seen"]["spill-at-side-bust"] == {"side": "right", "amount": "1/2 in"}
    assert answers["answers"]["seen"]["slides-down"] == {"amount": "1 in"}


def test_she_may_stop_and_have_the_plan_from_what_is_said(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "0", "1/2", "stop", "p")
        code, shown = terminal.end()
    assert code == 0
    assert "Do this first" in shown
    assert stored(folder)["overlap"] == {"top": "1/2 in"}


def test_she_may_stop_and_go_on_another_time(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "2 in", "stop", "k")
        code, shown = terminal.end()
    assert code == 0
    assert "kept" in shown
    assert casebook.open_case(folder).tryons == ()
    assert kept(folder) == {"stop": [], "gap.top": "2 in"}


def test_what_the_case_knows_is_not_asked_again_and_last_time_is_shown(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "1 in", "2 in", "3 in", "1", "y", "2", "1 in", "stop", "p")
        assert terminal.end()[0] == 0
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n")
        terminal.until("(Last time: 1 in (25 mm).)")
        terminal.type("2", "2", "2", "1", "y", "1")
        shown = terminal.until("Where is something not right?")
    assert "from smallest to largest" not in shown


def test_mark_that_stays_too_long_ends_it_as_a_stop_flag(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type(*TO_THE_PLACES, "n", "n")
        while "Which of these do you find?" not in terminal.until("> "):
            terminal.press(b"n\n")
        terminal.press(b"2\n")
        terminal.type("b", "1", "x", "45")
        code, shown = terminal.end()
    assert code == 0
    assert "is not a number of minutes" in terminal.everything
    assert "UNLACE NOW" in shown
    assert "Broken skin or a lasting mark" in shown


def test_a_second_window_on_the_same_case_is_refused_and_told_where_to_go_on(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as first:
        first.type("n")
        first.until("gap at the top edge")
        with Terminal("tryon", str(folder)) as second:
            code, told = second.end()
        assert code == 2
        assert "being answered already" in told
        assert kept(folder) == {"stop": []}
        first.type("1 in")
        first.until("gap at the waist")


def test_a_reading_outside_what_is_believable_is_refused_with_the_range_and_a_spelling(folder: Path) -> None:
    with Terminal("tryon", str(folder)) as terminal:
        terminal.type("n", "38")
        terminal.until("38 in (965 mm) is outside what is believable here, 0 in to 20 in (508 mm)")
        terminal.until("if 38 mm was meant, write it so")
        terminal.type("38 mm")
        terminal.until("gap at the waist")
    assert kept(folder)["gap.top"] == "38 mm"
