"""Which parts a sheet in the terminal has, and which are left out when there is nothing to say in them."""

from __future__ import annotations

from typing import Any

import pytest
from made_up import sheet
from msgspec.structs import replace

from diagnose.model.diagnosis import Amount, Side
from diagnose.pattern.outline import Pattern
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.view_model import Fact, RoundView, SheetView, StepView, StopView, Weight
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.text import brief_lines, plan_lines
from diagnose.sheets.words.wording import amount_rows, big_figure

PLAIN = StepView(
    "Lower the underarm", "right side", "1/2 in", "to cut away", (), "At the arm.", "It digs.", ("Mind it.",)
)


@pytest.fixture
def shown(base: RuleBase, bodies: Pattern) -> SheetView:
    return sheet(base, bodies)


def lines_of(view: SheetView) -> list[str]:
    return [line.strip() for line in plain_lines(plan_lines(view))]


def brief(view: SheetView) -> str:
    return " ".join(" ".join(plain_lines(brief_lines(view))).split())


@pytest.mark.parametrize(
    ("head", "without"),
    [
        ("Why", {"causes": ()}), ("The lacing gap", {"gap": ()}), ("With ruler and pencil", {"steps": ()}),
        ("Held back, and why", {"held": ()}), ("Look, measure, and answer", {"ask": ()}),
        ("Taken for granted", {"presumed": ()}), ("Cautions", {"cautions": ()}),
        ("What the next try-on should show", {"expect": ()}), ("What the try-on shows", {"findings": ()}),
    ],
)  # fmt: skip
def test_a_part_is_headed_only_where_it_has_something_to_say(
    head: str, without: dict[str, Any], shown: SheetView
) -> None:
    assert head in lines_of(shown)
    assert head not in lines_of(replace(shown, **without))


def test_what_was_looked_for_and_not_there_is_told_in_one_line(shown: SheetView) -> None:
    lines = lines_of(replace(shown, absent=("Hem stands away", "It rides up")))
    assert "Looked for and not there: Hem stands away; It rides up." in lines
    assert not any(line.startswith("Looked for") for line in lines_of(replace(shown, absent=())))


def test_a_stop_flag_is_alone_in_short_as_well(shown: SheetView) -> None:
    stop = StopView((Fact("Breath is short", "Unlace at once."),))
    assert brief(replace(shown, stop=stop)).endswith(
        "STOP. UNLACE NOW. Breath is short Unlace at once. Nothing about the pattern is judged until this is clear."
    )


def test_the_chances_are_said_to_be_near_only_where_causes_are_shown(shown: SheetView) -> None:
    assert "They are near." in lines_of(replace(shown, near="They are near."))
    assert "They are near." not in lines_of(replace(shown, near="They are near.", causes=()))


def test_what_the_paper_undergoes_is_told_even_where_no_line_is_to_be_ruled(shown: SheetView) -> None:
    lines = lines_of(replace(shown, steps=(), paper=("The hem is smoothed.",)))
    assert lines[lines.index("What this does to the paper") + 1] == "- The hem is smoothed."


def test_later_rounds_are_a_line_a_step_with_side_and_figure(shown: SheetView) -> None:
    view = replace(shown, later=(RoundView(2, (PLAIN, replace(PLAIN, side="", figure="", figure_of=""))),
                                 RoundView(3, (PLAIN,))))  # fmt: skip
    lines = lines_of(view)
    second = lines.index("After that, round 2")
    assert lines[second + 1 : second + 5] == [
        "- Lower the underarm right side 1/2 in to cut away", "- Lower the underarm", "", "After that, round 3",
    ]  # fmt: skip
    assert not any(line.startswith("After that") for line in lines_of(shown))


@pytest.mark.parametrize(
    ("side", "much", "where"),
    [("both", "1/2 in (13 mm)", "on each half"), ("right", "1 in (25 mm)", "on the right half")],
)
def test_what_one_side_alone_takes_is_not_halved(side: Side, much: str, where: str) -> None:
    amount = Amount(
        whole_mm=-25.4, per_half_mm=-25.4 if side != "both" else -12.7, by_station_mm={"waist": 0.0, "bottom": -25.4}
    )
    assert amount_rows(amount, "in", side) == (("waist", "nothing"), ("bottom", f"let out {much}"))
    assert big_figure(amount, "in", side=side) == (much, f"to let out {where}")


@pytest.mark.parametrize(
    ("step", "wanted"),
    [
        (PLAIN, ["Lower the underarm (right side)", "1/2 in to cut away", "At the arm.", "Mind it.", "It digs."]),
        (replace(PLAIN, side="", figure="", figure_of="", remarks=()),
         ["Lower the underarm", "At the arm.", "It digs."]),
        (replace(PLAIN, figure_of="", at="", why=""), ["Lower the underarm (right side)", "1/2 in", "Mind it."]),
        (replace(PLAIN, figure="", rows=(("top", "take in 1 in"),), at="", remarks=(), why=""),
         ["Lower the underarm (right side)", "at the  on each half", "top     take in 1 in"]),
        (replace(PLAIN, figure="", rows=(("top", "take in 1 in"),), rows_of="on the right half", remarks=(), why=""),
         ["Lower the underarm (right side)", "at the  on the right half", "top     take in 1 in", "At the arm."]),
    ],
)  # fmt: skip
def test_a_step_has_figure_rows_place_and_remarks_as_far_as_it_has_them(
    step: StepView, wanted: list[str], shown: SheetView
) -> None:
    lines = lines_of(replace(shown, first=(step,), nothing=""))
    start = lines.index("Do this first") + 1
    assert lines[start : lines.index("", start)] == wanted


@pytest.mark.parametrize(
    ("share", "mark", "bar"), [(1.0, "for_", "++++++++++"), (0.5, "for_", "+++++"), (0.01, "against", "-")]
)
def test_the_bar_of_a_finding_is_as_long_as_it_is_strong_and_never_empty(
    share: float, mark: str, bar: str, shown: SheetView
) -> None:
    weight = {"for_": (), "against": (), mark: (Weight("It rides up", "plainly", share),)}
    cause = replace(shown.causes[0], side="left side", **weight)
    lines = lines_of(replace(shown, causes=(cause,)))
    place = lines.index("Why")
    assert lines[place + 1].startswith(f"{cause.title}, left side: ")
    assert lines[place + 2] == f"{bar} It rides up, plainly"


def test_a_body_that_changes_is_told_under_the_gap_and_in_short(shown: SheetView) -> None:
    view = replace(shown, body=("At the top it runs from 1 in to 2 in.",))
    lines = lines_of(view)
    gap = lines.index("The lacing gap")
    assert "At the top it runs from 1 in to 2 in." in lines[gap : lines.index("", gap)]
    assert "At the top it runs from 1 in to 2 in." in brief(view)
    assert "At the top it runs" not in " ".join(lines_of(replace(view, gap=())))


def test_a_shape_that_is_not_known_leaves_no_empty_line_under_the_gap(shown: SheetView) -> None:
    lines = lines_of(replace(shown, gap_shape=""))
    at = lines.index("The lacing gap")
    assert lines[at + 1].startswith("Aimed at 3 in")
    assert lines[at + 2].startswith("at the")


def test_a_fact_ends_in_one_stop_whatever_it_ends_in_itself(shown: SheetView) -> None:
    facts = (Fact("Does it dig?", "Sit down."), Fact("Lower it", "Waits."), Fact("Alone"))
    lines = lines_of(replace(shown, held=facts))
    start = lines.index("Held back, and why") + 1
    assert lines[start : start + 3] == ["- Does it dig? Sit down.", "- Lower it. Waits.", "- Alone."]


def test_in_short_the_target_is_said_once_only_where_it_is_the_same_all_the_way(shown: SheetView) -> None:
    first, *others = shown.gap
    assert brief(shown).count("aimed at 3 in (76 mm)") == 1
    apart = brief(replace(shown, gap=(replace(first, target="2 in (51 mm)"), *others)))
    assert f"top {first.read}, aimed at 2 in (51 mm); waist" in apart
    assert apart.count("aimed at") == len(shown.gap)
    assert "Gap:" not in brief(replace(shown, gap=()))


FINISHED = "The pattern can go to the garment; the whole sheet says what carries over and what to check first."


def test_in_short_a_finished_pattern_is_said_to_be_so(shown: SheetView) -> None:
    assert FINISHED in brief(replace(shown, finish=("Carry the notches over.",)))
    assert FINISHED not in brief(shown)
    assert "- Carry the notches over." in lines_of(replace(shown, finish=("Carry the notches over.",)))


def test_in_short_a_miss_sends_her_below_and_its_question_is_not_put_twice(shown: SheetView) -> None:
    asked = shown.ask[0].text
    missed = replace(shown, reopened=("The gap is not what was foreseen.", f"Does it give? What tells: {asked}"))
    text = brief(missed)
    assert "The gap is not what was foreseen. See below before you cut." in text
    assert text.count(asked) == 1
    assert "It would help to know" not in text
    assert f"It would help to know - {asked}" in brief(shown)
    assert "See below" not in brief(shown)


def test_in_short_what_waits_is_named_once_and_signs_from_the_gap_are_not_called_seen(shown: SheetView) -> None:
    held = (Fact("Lower the underarm", "a"), Fact("Lower the underarm", "b"), Fact("Nip the waist", "c"))
    text = brief(replace(shown, held=held))
    assert "Waiting until then: lower the underarm; nip the waist." in text
    assert "Waiting" not in brief(replace(shown, held=()))
    worked_out = tuple(fact for fact in shown.findings if fact.more == "from the gap readings")
    assert worked_out
    assert "Seen:" not in brief(replace(shown, findings=worked_out))
    assert "Seen: it slides down; digs straight under the arm: 5/8 in (16 mm)." in brief(shown)


def test_in_short_three_causes_at_the_most_are_named(shown: SheetView) -> None:
    (cause,) = shown.causes
    many = tuple(replace(cause, title=f"Cause {n}", side="left side") for n in range(5))
    text = brief(replace(shown, causes=many))
    assert [f"It comes from: cause {n}, left side, " in text for n in range(5)] == [True, True, True, False, False]
