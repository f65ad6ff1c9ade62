"""The try-on held by lines: what is shown for each thing typed, and which question comes next."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import pytest
from held_by_lines import hold

from diagnose.cli.asking.mirror import OPENING, _more
from diagnose.errors import FitError
from diagnose.interview import Option, Question, Walk
from diagnose.model.diagnosis import Ask
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.words.parts import plain_lines

TO_THE_END = ("n", "1", "2", "3", "1", "y", "1", "?", "n", "n", "n")
"""No stop flag, the gap, the pull, all so, as usual, not known by how much, nothing anywhere, did not look,
and nothing of what is seen once it is off."""


def wanting(*ids: str) -> Callable[[Mapping[str, Any]], Sequence[Ask]]:
    """These would change the plan until they are known."""

    def ask(answers: Mapping[str, Any]) -> Sequence[Ask]:
        told = {**answers.get("seen", {}), **answers.get("known", {})}
        return [Ask(id_, "?", "", "", ()) for id_ in ids if id_ not in told]

    return ask


def number_of(shown: str) -> str:
    """The question that was put last, as ``N of about M``."""
    found: list[str] = re.findall(r"question (\d+ of (?:about )?\d+(?: at the most)?)", shown)
    return found[-1]


def test_a_tryon_begins_with_how_to_answer_and_one_that_goes_on_does_not(base: RuleBase) -> None:
    assert hold(base).after(0).startswith(OPENING[:70])
    assert OPENING[:70] not in hold(base, replies={"stop": []}).after(0)


def test_help_says_how_to_answer_again(base: RuleBase) -> None:
    assert hold(base, "HELP").last == f"{OPENING} >"


def test_every_reply_is_kept_at_once_with_the_answers_so_far(base: RuleBase) -> None:
    held = hold(base, "n", "why", "1")
    assert [given for given, _ in held.kept] == [{"stop": []}, {"stop": [], "gap.top": "1 in"}]
    assert [made.get("gap") for _, made in held.kept] == [None, {"top": "1 in"}]


def test_a_yes_where_several_may_be_picked_asks_for_their_numbers(base: RuleBase) -> None:
    for word in ("y", "Yes"):
        held = hold(base, word)
        assert held.last == "Which? Type their numbers, like 1 3. >"
        assert held.replies == {}


def test_a_reply_that_is_none_is_explained_and_the_question_stays(base: RuleBase) -> None:
    held = hold(base, "n", "wide")
    assert held.last.startswith("“wide” is not a length.")
    assert held.replies == {"stop": []}


def test_an_odd_length_is_taken_and_doubted(base: RuleBase) -> None:
    """Over 4 in is more than a gap usually is."""
    held = hold(base, "n", "9")
    assert "(9 in (229 mm) is taken, but up to 4 in (102 mm) is usual." in held.last
    assert held.replies["gap.top"] == "9 in"
    assert "is taken, but" not in hold(base, "n", "4").last


def test_nothing_typed_keeps_an_answer_and_is_none_where_there_is_no_answer(base: RuleBase) -> None:
    fresh = hold(base, "n", "")
    assert "is not a length" in fresh.last
    held = hold(base, "n", "1", "back", "")
    assert "You said: 1 in (25 mm). Enter keeps it." in held.after(3)
    assert "at the waist, edge to edge?" in held.last
    assert held.replies["gap.top"] == "1 in"


def test_back_goes_back_one_by_one_to_the_first_and_no_further(base: RuleBase) -> None:
    held = hold(base, "n", "1", "back", "back", "back")
    assert number_of(held.after(2)).startswith("3 of about")
    assert number_of(held.after(3)).startswith("2 of about")
    assert number_of(held.after(4)).startswith("1 of about")
    assert held.last == "This is the first question. >"


def test_the_list_shows_every_answer_and_a_number_leads_to_it(base: RuleBase) -> None:
    held = hold(base, "n", "1", "list", "9", "x", "0", "²", "2", "1 1/2")
    shown = held.after(3)
    assert "1 Is any of these so, right now? none of these" in shown
    assert "2 How wide is the gap at the top edge, edge to edge? 1 in (25 mm)" in shown
    assert "3 How wide" not in shown
    for wrong in (4, 5, 6, 7):
        assert held.after(wrong) == "There is no such number; they go from 1 to 2. >"
    assert "You said: 1 in (25 mm)." in held.after(8)
    assert held.replies["gap.top"] == "1 1/2 in"
    assert "at the waist, edge to edge?" in held.last


@pytest.mark.parametrize("typed", [("",), ("7", "")])
def test_from_the_list_enter_goes_on_where_she_was(typed: tuple[str, ...], base: RuleBase) -> None:
    held = hold(base, "n", "1", "list", *typed)
    assert number_of(held.last).startswith("3 of about")


def test_a_list_of_nothing_says_so_and_asks_on(base: RuleBase) -> None:
    held = hold(base, "list")
    assert held.last.startswith("Nothing is answered yet.")
    assert number_of(held.last).startswith("1 of about")


@pytest.mark.parametrize(
    ("word", "leaves"), [("k", True), ("keep", True), ("STOP", True), ("p", False), ("Plan", False)]
)
def test_stop_offers_the_plan_or_to_keep_the_answers(word: str, leaves: bool, base: RuleBase) -> None:
    held = hold(base, "n", "1", "stop", word)
    assert "plan from what you have said so far (p), keep the answers" in held.after(3)
    if leaves:
        assert held.walk is None
    else:
        assert isinstance(held.walk, Walk)
        assert held.walk.answers["gap"] == {"top": "1 in"}


@pytest.mark.parametrize("word", ["", "what"])
def test_after_stop_anything_else_goes_on_with_the_same_question(word: str, base: RuleBase) -> None:
    held = hold(base, "n", "1", "stop", word)
    assert held.walk == "asked on"
    assert number_of(held.last).startswith("3 of about")


def test_when_all_is_asked_enter_gives_the_plan(base: RuleBase) -> None:
    held = hold(base, *TO_THE_END, "")
    assert held.after(len(TO_THE_END)) == "That is all that is needed. Enter for the plan, or list to look it over. >"
    assert isinstance(held.walk, Walk)
    assert (held.walk.next, held.walk.trouble) == (None, ())


def test_before_the_plan_she_may_go_back_or_change_any_answer(base: RuleBase) -> None:
    back = hold(base, *TO_THE_END, "back", "n", "")
    assert "You said: none of these. Enter keeps it." in back.after(len(TO_THE_END) + 1)
    assert isinstance(back.walk, Walk)
    assert back.walk.answers["seen"]["marks-on-skin"] is False
    listed = hold(base, *TO_THE_END, "List", "2", "1 1/4", "")
    assert isinstance(listed.walk, Walk)
    assert listed.walk.answers["gap"]["top"] == "1 1/4 in"
    kept = hold(base, *TO_THE_END, "list", "")
    assert isinstance(kept.walk, Walk)


def test_a_stop_flag_ends_it_without_a_word_more(base: RuleBase) -> None:
    held = hold(base, "1")
    assert isinstance(held.walk, Walk)
    assert len(held.walk.stop) == 1
    assert held.walk.stop[0] in base.stop_flags
    assert held.last == ""


def narrow(answers: Mapping[str, Any]) -> Sequence[Ask]:
    """What would change the plan, when there can be one: with 9 in at the top there can't."""
    if answers["gap"]["top"] == "9 in":
        raise FitError.of("gap.top", "The gap can't be so.", "Measure it again.", code="contradiction")
    return ()


def test_answers_that_cannot_be_worked_out_are_listed_until_one_is_corrected(base: RuleBase) -> None:
    wrong = ("n", "9", *TO_THE_END[2:-1])
    held = hold(base, *wrong, "2", "1", "n", "", ask=narrow)
    shown = held.after(len(wrong))
    assert "These answers can't be worked out yet. gap.top: The gap can't be so. Measure it again." in shown
    assert "Enter for the plan" not in shown
    assert "You said: 9 in (229 mm)." in held.after(len(wrong) + 1)
    assert "Enter for the plan" in held.after(len(wrong) + 3)
    assert isinstance(held.walk, Walk)
    assert held.walk.trouble == ()


def test_answers_left_as_they_are_are_handed_on_with_their_trouble(base: RuleBase) -> None:
    held = hold(base, "n", "9", *TO_THE_END[2:], "", ask=narrow)
    assert isinstance(held.walk, Walk)
    assert [mistake.where for mistake in held.walk.trouble] == ["gap.top"]


def test_the_closer_look_says_at_most_how_many_there_are_and_a_question_before_it_about(base: RuleBase) -> None:
    held = hold(base, *TO_THE_END[:-1], "back", ask=wanting("fold-under-bust", "narrow-back"))
    asked = len(TO_THE_END) - 1
    assert number_of(held.after(asked)) == f"{asked + 1} of {asked + 13} at the most"
    assert "A closer look" in held.after(asked)
    assert number_of(held.last).startswith(f"{asked} of about")


def test_what_was_answered_the_last_time_is_shown_until_it_is_answered_anew(base: RuleBase) -> None:
    held = hold(base, "n", "2", "back", last={"gap": {"top": "1 in"}})
    assert "(Last time: 1 in (25 mm).)" in held.after(1)
    assert "(Last time" not in held.last
    assert "You said: 2 in (51 mm). Enter keeps it." in held.last


def test_the_picture_carries_what_was_read_and_the_laps_of_closed_edges(base: RuleBase) -> None:
    held = hold(base, "n", "0", "1/2", "2")
    assert "closed, laps 1/2 in (13 mm)" in held.last
    assert "2 in (51 mm)" in held.last
    assert "measure here" in held.last


def test_how_tells_of_each_option_what_helps_and_how_to_look(base: RuleBase) -> None:
    flags = hold(base, "how").last
    assert re.match(r"1 Short of breath: \S.* 2 ", flags)
    assert flags.endswith("If you can't tell, let the lace out first, and see how you feel. >")
    gap = hold(base, "n", "how").last
    assert gap.startswith("Stand at ease and breathe out.")
    assert hold(base, "n", "why").last == ("Every girth is judged by the gap; without it no amount can be given. >")


@pytest.mark.parametrize(
    ("options", "how", "told"),
    [
        ((), "", ["There is no more to say on how; if you can't tell, type ?."]),
        ((Option("left", "Left"),), "", ["There is no more to say on how; if you can't tell, type ?."]),
        ((Option("left", "Left"), Option("both", "Both?", "Look at both.")), "", ["   2  Both: Look at both."]),
        ((Option("left", "Left", "Hers."),), "Sit down.", ["   1  Left: Hers.", "Sit down."]),
    ],
)
def test_how_never_answers_with_nothing(options: tuple[Option, ...], how: str, told: list[str]) -> None:
    put = Question("side.x", "P", "choice", "Which?", "Because.", how, options)
    assert list(plain_lines(_more(put, "how"))) == told


def test_what_helps_to_pick_is_shown_at_once_only_where_there_is_room(base: RuleBase) -> None:
    """The nine stop flags with their help would fill the screen; the three pulls do not."""
    held = hold(base, "n", "1", "2", "3")
    assert "1 Working pull Firm and even" in held.last
    assert "Breath is short at rest" not in held.after(0)


def test_no_line_is_wider_than_eighty_columns(base: RuleBase) -> None:
    typed = (
        "help",
        "how",
        "why",
        "n",
        "how",
        "9",
        "2",
        "3",
        "1",
        "how",
        "y",
        "1",
        "?",
        "how",
        "n",
        "how",
        "n",
        "list",
        "",
    )
    held = hold(base, *typed)
    assert max(len(line) for shown in held.shown for line in shown.splitlines()) <= 80
