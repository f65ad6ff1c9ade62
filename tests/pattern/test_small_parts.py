"""Small parts of the geometry at their ends: joints, two points alone, levels that miss, answers kept."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import linprog
from stored_forms import rectangle_json

from diagnose.pattern.finish import walking
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.geometry.joins import meet
from diagnose.pattern.geometry.polylines import evenest_line
from diagnose.pattern.geometry.runs import run_split, smooth_through
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.kept import forget, kept
from diagnose.pattern.moved.carried_marks import doubled_channels
from diagnose.pattern.moved.fairing import Remeasured
from diagnose.pattern.moved.level_ends import trimmed
from diagnose.pattern.outline import Channel, Line, Pattern, Point

BARE = read_pattern(rectangle_json()).pieces[0]
"""200 wide, 300 high, from (0, 0)."""


def line_of(*spots: tuple[float, float]) -> tuple[Line, ...]:
    return tuple(Line(Point(*a), Point(*b)) for a, b in pairwise(spots))


@given(
    st.lists(st.tuples(st.floats(1.0, 299.0), st.floats(-20.0, 20.0)), max_size=6),
    st.none() | st.tuples(st.floats(1.0, 299.0), st.floats(-20.0, 20.0)),
)
def test_the_evenest_line_strays_no_more_than_the_one_linear_programming_finds(
    places: list[tuple[float, float]], through: tuple[float, float] | None
) -> None:
    """An oracle: scipy's linear programme for the same question."""
    start, end = Point(0.0, 0.0), Point(300.0, 0.0)
    a, b = evenest_line(start, end, [Point(*one) for one in places], through and Point(*through))
    spots = [(0.0, 0.0), *places, (300.0, 0.0)]
    slope = (b.y - a.y) / (b.x - a.x)
    most = max(abs(y - (a.y + slope * (x - a.x))) for x, y in spots)
    rows = [[sign, sign * x, -1.0] for x, _ in spots for sign in (1.0, -1.0)]
    limits = [sign * y for _, y in spots for sign in (1.0, -1.0)]
    held = {"A_eq": [[1.0, through[0], 0.0]], "b_eq": [through[1]]} if through else {}
    best = linprog([0.0, 0.0, 1.0], A_ub=rows, b_ub=limits, bounds=[(None, None), (None, None), (0.0, None)], **held)
    assert most == pytest.approx(best.fun, abs=1e-4)
    assert not through or a.y + slope * through[0] == pytest.approx(through[1], abs=1e-6)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (((0, 0), (10, 0), (20, 0)), ((10, -10), (10, 10), (20, 20))),  # at a joint of the first
        (((0, 0), (20, 0)), ((0, -10), (10, 0), (20, 20))),  # at a joint of the second
        (((0, 0), (10, 0), (20, 0)), ((10, -5), (10, 0), (10, 20))),  # at a joint of both
    ],
)
def test_two_lines_that_cross_at_a_joint_are_cut_there(first: Any, second: Any) -> None:
    joined = meet(line_of(*first), line_of(*second))
    assert joined is not None
    head, tail = joined
    assert (head[0].start, head[-1].end, tail[0].start, tail[-1].end) == ((0, 0), (10, 0), (10, 0), second[-1])
    assert all(segment.start != segment.end for segment in (*head, *tail))


def test_of_a_line_trimmed_to_where_it_began_nothing_is_left() -> None:
    """A stretch a millionth of a millimetre long is lost in writing, and what was written was then refused."""
    head = line_of((0, 0), (10, 0), (10.025, 0))
    joined = meet(head, line_of((10.0000005, -5), (10.0000005, 20)))
    assert joined is not None
    assert [len(part) for part in joined] == [1, 1]
    assert joined[0][-1].end == joined[1][0].start
    joined = meet(line_of((9.9999995, -20), (9.9999995, 5)), line_of((9.975, 0), (10, 0), (20, 0)))
    assert joined is not None
    assert [segment.end for segment in joined[1]] == [(20, 0)]


def channel(name: str, x: float) -> Channel:
    return Channel(name, (Point(x, 20.0), Point(x, 180.0)), 9.0)


def test_only_channels_that_did_not_lie_on_each_other_before_are_told_to_be_doubled() -> None:
    before = replace(BARE, channels=(channel("a", 20.0), channel("b", 22.0), channel("c", 60.0)))
    after = replace(before, channels=(channel("a", 20.0), channel("b", 22.0), channel("c", 24.0)))
    pairs = [sentence.split(" of ")[0] for sentence in notes_said(doubled_channels(before, after), {})]
    assert pairs == ["Channels a and c", "Channels b and c"]
    assert list(doubled_channels(before, before)) == []


def test_a_curve_through_two_points_is_the_straight_line_between() -> None:
    (cubic,) = smooth_through([Point(0.0, 0.0), Point(30.0, 60.0), Point(30.0, 60.0)])
    assert cubic == ((0.0, 0.0), (10.0, 20.0), (20.0, 40.0), (30.0, 60.0))


@pytest.mark.parametrize(
    ("mm", "now"), [(-3.0, 0.0), (10.0, 10.0), (30.0, 35.0), (40.0, 50.0), (90.0, 100.0), (95.0, 100.0)]
)
def test_a_place_along_a_redrawn_edge_lies_in_step_and_never_beyond_its_ends(mm: float, now: float) -> None:
    """20 to 40 of 90 has become 30 long: a place within goes in proportion, one after it 10 farther on."""
    assert Remeasured().then(20.0, 40.0, 30.0, 90.0)(mm) == pytest.approx(now)


def test_a_level_that_misses_the_piece_is_left_as_it_is() -> None:
    start, end = trimmed(BARE, (Point(-10.0, 50.0), Point(300.0, 50.0)))
    assert (*start, *end) == pytest.approx((0.0, 50.0, 200.0, 50.0))
    beside = (Point(210.0, 50.0), Point(300.0, 50.0))
    assert trimmed(BARE, beside) == beside


def test_an_answer_is_kept_until_it_is_forgotten() -> None:
    asked: list[int] = []

    @kept(2)
    def doubled(number: int) -> int:
        asked.append(number)
        return 2 * number

    assert [doubled(3), doubled(3)] == [6, 6]
    assert asked == [3]
    forget()
    assert doubled(3) == 6
    assert asked == [3, 3]


@pytest.mark.parametrize(
    ("changed", "off", "due"),
    [
        ((2.0, 0.5), 2.5, {True: 2.0, False: 0.5}),  # as it was changed
        ((0.3, 0.1), 0.4, {}),  # within 1/16 in
        ((0.3, 0.1), 1.7, {True: 1.7}),  # the last of many small ones
        ((0.1, -0.3), -1.7, {False: -1.7}),
        ((0.3, 0.1), 2.5, {}),  # its maker's own
    ],
)
def test_small_changes_of_a_seam_that_add_up_to_a_sixteenth_are_owed_as_a_whole(
    changed: tuple[float, float], off: float, due: dict[bool, float], corset: Pattern, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(walking, "seam_difference", lambda *_: off)
    assert dict(walking.owed(corset, corset.seams[0], walking.Arms(*changed))) == due


def test_a_cut_within_a_hundredth_of_a_millimetre_of_a_joint_is_made_at_the_joint() -> None:
    """A stretch of 0.0055 mm, moved on with its edge, once turned by 4.5 degrees."""
    run = line_of((0, 0), (50.8055, 0), (100, 3))
    before, after = run_split(run, 50.8)
    assert (len(before), len(after)) == (1, 1)
    assert before[-1].end == after[0].start == (50.8055, 0)
