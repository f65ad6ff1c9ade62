"""What the maker is told to draw: the figure, the side of the line, and the reason, in inches and in millimetres."""

from typing import Any

import pytest

from diagnose.gap.reading import read_gap
from diagnose.gap.takein import suggest_take_in
from diagnose.model.settings import Settings
from diagnose.model.tryon_reading import Vocabulary, read_tryon
from diagnose.sheets.words.takein_words import TakeInInWords, take_in_words
from diagnose.units import Unit

IN = 25.4
STRAIGHT_IN = {"top": "1/2 in", "waist": "1/2 in", "bottom": "1/2 in"}
TO_EACH_SIDE = {"top": "1 in", "waist": "2 in", "bottom": "3 in"}
WIDER_UPWARD = {"top": "3 1/2 in", "waist": "3 in", "bottom": "2 1/2 in"}


def take_in(settings: Settings, seams: int | None, gap: dict[str, str], unit: Unit = "in", **raw: Any) -> TakeInInWords:
    """The take-in for a target of 2 in."""
    tryon = read_tryon({"id": "t", "gap": gap, "target": "2 in", **raw}, Vocabulary({}, frozenset()))
    own = settings.in_unit(unit)
    return take_in_words(suggest_take_in(read_gap(tryon, settings), seams, own), own)


def said(found: TakeInInWords) -> str:
    return "\n".join(found.steps)


def test_inside_the_dead_band_nothing_is_called_tapered_capped_or_at_least(settings: Settings) -> None:
    found = take_in(settings, 4, {"top": "2 in", "waist": "2 1/8 in"})
    assert (found.form, found.at_least, found.capped) == ("none", False, False)
    assert found.steps
    assert "1/4 in" in found.why
    metric = take_in(settings, 4, {"top": "2 in"}, "mm").why
    assert "6 mm" in metric
    assert "1/4" not in metric


@pytest.mark.parametrize(("gap", "way"), [("1 in", "inside"), ("3 in", "outside")])
def test_a_lacing_edge_moves_by_the_half_to_the_side_that_mends_it(settings: Settings, gap: str, way: str) -> None:
    everywhere = {"top": gap, "waist": gap, "bottom": gap}
    assert f"1/2 in (13 mm) {way} it" in said(take_in(settings, 4, everywhere))
    assert f"a line 13 mm {way} it" in said(take_in(settings, 4, everywhere, "mm"))


def test_half_an_inch_a_half_is_the_most_for_the_lacing_edge(settings: Settings) -> None:
    assert take_in(settings, 4, {"top": "1 in", "waist": "1 in"}).place == "lacing edges"
    more = take_in(settings, 4, {"top": "7/8 in", "waist": "7/8 in"})
    assert more.place == "seams"
    assert more.why == "A half wants more than 1/2 in (13 mm); the seams can share it."


def test_a_shaped_gap_stays_off_the_lacing_edges_and_says_so(settings: Settings) -> None:
    assert "not parallel" in take_in(settings, 4, TO_EACH_SIDE).why
    assert "the seams can share it" in take_in(settings, None, TO_EACH_SIDE).why
    assert "no seam runs there" in take_in(settings, 0, TO_EACH_SIDE).why


def test_each_height_is_marked_on_its_own_side_of_the_old_line(settings: Settings) -> None:
    top, waist, bottom = take_in(settings, 4, TO_EACH_SIDE).steps[1:4]
    assert top == "At the top: mark 1/16 in (1.5 mm) on each stitching line, inside the old line."
    assert waist == "At the waist: leave the lines where they are."
    assert bottom == "At the bottom: mark 1/16 in (1.5 mm) on each stitching line, outside the old line."


def test_a_height_within_the_dead_band_of_a_shaped_gap_is_left_and_one_at_it_is_not(settings: Settings) -> None:
    within = take_in(settings, 4, {"top": "1 in", "waist": "1 13/16 in", "bottom": "3 in"})
    assert within.shares["waist"].whole_mm == 0
    at = take_in(settings, 4, {"top": "1 in", "waist": "1 3/4 in", "bottom": "3 in"})
    assert at.shares["waist"].whole_mm == pytest.approx(IN / 4)


def test_what_does_not_divide_is_told_line_by_line(settings: Settings) -> None:
    # 3/4 in a half on ten lines is twelve sixteenths: two lines of two, eight of one.
    shown = "1/8 in (3 mm) on 2 of the 10 lines (the side first), 1/16 in (1.5 mm) on the others, inside"
    assert shown in said(take_in(settings, 5, STRAIGHT_IN))
    # 19 mm on ten lines: nine of 2 mm and one of 1 mm.
    metric = "mark 2 mm on 9 of the 10 lines (the side first), 1 mm on the others, inside"
    assert metric in said(take_in(settings, 5, STRAIGHT_IN, "mm"))


def test_lines_that_get_nothing_are_told_so(settings: Settings) -> None:
    # 1/4 in over a half of six seams: four sixteenths on twelve lines.
    steps = said(take_in(settings, 6, {"top": "1 1/2 in", "waist": "2 1/2 in"}))
    assert "At the top: mark 1/16 in (1.5 mm) on 4 of the 12 lines (the side first), nothing on the others" in steps


def test_with_the_seams_not_known_the_half_is_given_to_divide(settings: Settings) -> None:
    assert "At the top: 3/4 in (19 mm) a half." in said(take_in(settings, None, STRAIGHT_IN))
    assert "At the top: 19 mm a half." in said(take_in(settings, None, STRAIGHT_IN, "mm"))


def test_a_straight_fold_has_one_mark_and_is_folded(settings: Settings) -> None:
    found = take_in(settings, 0, STRAIGHT_IN)
    marks = [step for step in found.steps if "across the line" in step]
    assert marks == ["All the way down, mark 3/4 in (19 mm) across the line, half each side of it."]
    assert "Fold one side on to the other" in said(found)
    assert "was meant there" not in said(found)
    assert "mark 19 mm across" in said(take_in(settings, 0, STRAIGHT_IN, "mm"))


def test_a_tapered_strip_let_out_is_cut_and_spread_and_checked_at_the_hem(settings: Settings) -> None:
    found = take_in(settings, 0, WIDER_UPWARD)
    marks = [step for step in found.steps if "across the line" in step]
    assert [mark.partition(" across")[0] for mark in marks] == [
        "At the top, mark 3/4 in (19 mm)", "At the waist, mark 1/2 in (13 mm)",
    ]  # fmt: skip
    assert "Cut along the line, spread" in said(found)
    assert "Measure what the strip gave at the bottom. 1/4 in (6 mm) was meant there" in said(found)
    assert "gave at the bottom. 6 mm was meant" in said(take_in(settings, 0, WIDER_UPWARD, "mm"))


@pytest.mark.parametrize(
    ("gap", "cut", "shut"),
    [
        ({"top": "1 1/2 in", "bottom": "3 1/2 in"}, "hem up", "above"),
        ({"top": "1/2 in", "bottom": "2 1/2 in"}, "hem up", "above"),
        ({"top": "3 in", "waist": "1 1/2 in", "bottom": "1 in"}, "top edge down", "below"),
    ],
)
def test_a_strip_that_takes_in_and_lets_out_is_cut_to_where_its_sides_cross(
    gap: dict[str, str], cut: str, shut: str, settings: Settings
) -> None:
    steps = said(take_in(settings, 0, gap))
    assert "each from one side of the line to the other" in steps
    assert f"Cut the line from the {cut} to where the sides cross. Fold the part {shut} shut" in steps


def test_where_the_waist_is_right_the_sides_meet_on_the_line_and_the_hem_opens(settings: Settings) -> None:
    gap = {"top": "1 in", "underbust": "1 1/2 in", "waist": "2 in", "hip": "2 1/4 in", "bottom": "2 1/2 in"}
    found = take_in(settings, 0, gap)
    steps = said(found)
    assert "At the waist, mark the line itself" in steps
    assert "0 in" not in steps.replace("10 in", "")
    assert "they cross where they meet" in steps
    assert "Measure what the strip gave at the bottom. 1/4 in (6 mm) was meant there" in steps


def test_marks_are_set_at_the_top_and_the_waist_however_many_heights_were_read(settings: Settings) -> None:
    gap = {"top": "1/2 in", "underbust": "3/4 in", "waist": "1 in", "hip": "1 1/2 in", "bottom": "2 1/2 in"}
    found = take_in(settings, 0, gap)
    marks = [step.partition(",")[0] for step in found.steps if "across the line" in step]
    assert marks == ["At the top", "At the waist"]
    assert "Measure what the strip took at the bottom. 1/4 in (6 mm) the other way was meant there" in said(found)


def test_what_was_meant_to_stay_is_said_to_be_nothing(settings: Settings) -> None:
    steps = said(take_in(settings, 0, {"top": "1 in", "waist": "1 1/2 in", "bottom": "2 in"}))
    assert "took at the bottom. Nothing was meant there" in steps


def test_a_tapered_strip_taken_in_says_what_it_took(settings: Settings) -> None:
    found = take_in(settings, 0, {"top": "1/2 in", "waist": "1 in", "bottom": "1 1/2 in"})
    assert "Fold one side" in said(found)
    assert "Measure what the strip took at the bottom. 1/4 in (6 mm) was meant there" in said(found)


def test_with_two_heights_a_tapered_strip_lands_on_both_and_nothing_is_left_to_check(settings: Settings) -> None:
    found = take_in(settings, 0, {"top": "1/2 in", "bottom": "1 1/2 in"})
    assert "was meant there" not in said(found)
    assert sum("across the line" in step for step in found.steps) == 2


def test_a_closed_gap_ends_with_reading_it_again(settings: Settings) -> None:
    closed = take_in(settings, 4, {"top": "0", "waist": "0"})
    assert closed.steps[-1].startswith("The gap is closed, so this is the least")
    assert "least" not in said(take_in(settings, 4, {"top": "1/2 in", "waist": "1/2 in"}))


def test_another_base_size_names_how_far_the_girth_is_out(settings: Settings) -> None:
    found = take_in(settings, 3, {"top": "6 in", "bottom": "5 in"})
    assert (found.place, found.form, found.capped, found.at_least) == ("another base size", "none", True, False)
    assert "out by 4 in (102 mm); past 3 in (76 mm)" in found.why
    assert "out by 102 mm; past 76 mm" in take_in(settings, 3, {"top": "6 in", "bottom": "5 in"}, "mm").why


def test_three_inches_is_already_another_base_size_and_two_are_not_yet_capped(settings: Settings) -> None:
    assert take_in(settings, 3, {"top": "5 in", "waist": "5 in"}).place == "another base size"
    assert not take_in(settings, 3, {"top": "4 in", "waist": "4 in"}).capped
    let_out = take_in(settings, 3, {"top": "4 1/2 in", "waist": "4 1/2 in"})
    assert let_out.capped
    assert let_out.shares["top"].whole_mm == pytest.approx(-2 * IN)


def test_half_an_inch_between_heights_is_tapered_and_less_is_straight(settings: Settings) -> None:
    assert take_in(settings, 4, {"top": "1 in", "bottom": "1 1/2 in"}).form == "tapered"
    straight = take_in(settings, 4, {"top": "1 in", "bottom": "1 7/16 in"})
    assert straight.form == "straight"
    # 1 in and 9/16 in wanted: their mean of 25/32 in, in whole sixteenths of a half.
    assert straight.shares["top"].whole_mm == straight.shares["bottom"].whole_mm == pytest.approx(0.75 * IN)
