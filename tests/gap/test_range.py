"""Worked by hand: the gap over her range is today's, moved by how far today lies from her smallest and largest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.gap.range import GapRange, Today, gap_range, take_in_over_range

INCH = 25.4
ONE_TO_THREE = GapRange(1 * INCH, 3 * INCH)
"""Accept 1 to 3 in, act outside: the project's own judgement, no published source."""


@pytest.mark.parametrize(
    ("today", "narrowest", "widest"), [("smallest", 2.0, 3.5), ("usual", 1.25, 2.75), ("largest", 0.5, 2.0)]
)
def test_gap_of_two_inches_on_a_body_that_changes_by_one_and_a_half(
    today: Today, narrowest: float, widest: float
) -> None:
    found = gap_range(2 * INCH, today, 1.5 * INCH)
    assert (found.narrowest_mm, found.widest_mm) == pytest.approx((narrowest * INCH, widest * INCH))


def test_closed_gap_at_her_largest_is_taken_in_by_the_target_and_half_her_change() -> None:
    """0 in today at her largest, changes by 1: usual −1/2, so 2 1/2 in brings it to 2; then 1 1/2 to 2 1/2."""
    found = take_in_over_range(0.0, 2 * INCH, "largest", 1 * INCH, ONE_TO_THREE)
    assert found.best_mm == pytest.approx(2.5 * INCH)
    assert (found.after.narrowest_mm, found.after.widest_mm) == pytest.approx((1.5 * INCH, 2.5 * INCH))
    assert found.after.inside(ONE_TO_THREE)


def test_the_same_reading_at_her_smallest_wants_an_inch_less() -> None:
    found = take_in_over_range(0.0, 2 * INCH, "smallest", 1 * INCH, ONE_TO_THREE)
    assert found.best_mm == pytest.approx(1.5 * INCH)


def test_gap_inside_over_her_range_stands_though_it_is_off_target_today() -> None:
    """2 1/2 in at her largest, changes by 1: from 1 1/2 to 2 1/2, inside 1 to 3."""
    found = take_in_over_range(2.5 * INCH, 2 * INCH, "largest", 1 * INCH, ONE_TO_THREE)
    assert found.best_mm == pytest.approx(0.0)
    assert found.after.inside(ONE_TO_THREE)


def test_amount_stops_at_the_limit_that_one_end_of_her_range_would_pass() -> None:
    """Target 1 1/4 in, changes by 1 in: at her smallest 3/4 in would pass 1 in, so 1/4 in more is taken in."""
    found = take_in_over_range(0.5 * INCH, 1.25 * INCH, "usual", 1 * INCH, ONE_TO_THREE)
    assert found.best_mm == pytest.approx(1.0 * INCH)
    assert found.after.narrowest_mm == pytest.approx(1 * INCH)


def test_range_wider_than_the_limits_misses_both_by_the_same() -> None:
    """Changes by 3 in between limits 2 in apart: 1/2 in over at each end."""
    found = take_in_over_range(2 * INCH, 2 * INCH, "usual", 3 * INCH, ONE_TO_THREE)
    assert (found.after.narrowest_mm, found.after.widest_mm) == pytest.approx((0.5 * INCH, 3.5 * INCH))


def test_range_wider_than_the_limits_is_brought_midway_between_them_from_wherever_it_stands() -> None:
    """Changes by 3 in, read 1 in on her usual body: from −1/2 to 2 1/2, so 1 in more puts its middle at 2."""
    found = take_in_over_range(1 * INCH, 2 * INCH, "usual", 3 * INCH, ONE_TO_THREE)
    assert found.best_mm == pytest.approx(1 * INCH)


def test_half_a_millimetre_past_either_limit_is_outside() -> None:
    assert GapRange(1 * INCH, 3 * INCH).inside(ONE_TO_THREE)
    assert not GapRange(1 * INCH - 0.5, 3 * INCH).inside(ONE_TO_THREE)
    assert not GapRange(1 * INCH, 3 * INCH + 0.5).inside(ONE_TO_THREE)


def test_steady_body_wants_the_plain_change() -> None:
    found = take_in_over_range(1 * INCH, 2 * INCH, "usual", 0.0, ONE_TO_THREE)
    assert found.best_mm == pytest.approx(1 * INCH)


@given(
    gap=st.floats(-150, 300), target=st.floats(0, 150), change=st.floats(0, 120),
    today=st.sampled_from(["smallest", "usual", "largest"]), low=st.floats(0, 60), room=st.floats(0, 150),
)  # fmt: skip
def test_best_take_in_stays_inside_whenever_any_does(
    gap: float, target: float, change: float, today: Today, low: float, room: float
) -> None:
    limits = GapRange(low, low + room)
    found = take_in_over_range(gap, target, today, change, limits)
    if change <= room:
        assert found.after.inside(limits)
    if change > room + 0.001:
        assert not found.after.inside(limits)
