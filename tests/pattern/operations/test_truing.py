"""Blending a joint and walking the seams: by hand, as properties, on the bundled corset."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from cut_paper import INCH, alone, corners_deg, leaning, only, polygon, sheet, width_inside
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import LineString

from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.finished import Cuts, walked
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.geometry.bezier import flatten, tangent
from diagnose.pattern.geometry.blend import LEAST_REACH_MM, Joint, blend, joint_of, plainly_joined, shifted_end
from diagnose.pattern.geometry.plane import distance, turn
from diagnose.pattern.geometry.runs import run_length, run_nearest
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, seam_difference
from diagnose.pattern.moved.fairing import MOST_NARROWING_MM, Remeasured, fair_joint
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.move_edge import MoveEdge, Place
from diagnose.pattern.outline import Cubic, Edge, EdgeRef, Line, Pattern, Point, Seam

UP = (Line(Point(0, 0), Point(0, 300)),)
STEPPED = (Line(Point(10, 300), Point(10, 600)),)


def smooth(run: tuple[Line | Cubic, ...]) -> bool:
    return all(a.end == b.start and distance(tangent(a, 1.0), tangent(b, 0.0)) < 1e-6 for a, b in pairwise(run))


def test_a_step_is_blended_over_two_inches_to_either_side() -> None:
    made = fair_joint(Joint(UP, STEPPED), [], 300.0, 300.0)
    assert made is not None
    assert (made.before_mm, made.after_mm) == (LEAST_REACH_MM, LEAST_REACH_MM)


def test_a_high_step_is_blended_over_four_times_its_height() -> None:
    made = fair_joint(Joint(UP, (Line(Point(30, 300), Point(30, 600)),)), [], 300.0, 300.0)
    assert made is not None
    assert (made.before_mm, made.after_mm) == pytest.approx((120.0, 120.0))


def test_a_blend_is_no_longer_than_the_edge() -> None:
    made = fair_joint(Joint(UP, (Line(Point(10, 300), Point(10, 320)),)), [], 300.0, 20.0)
    assert made is not None
    assert (made.before_mm, made.after_mm) == (LEAST_REACH_MM, 20.0)


def test_parts_that_run_on_need_no_blend_and_become_one_line() -> None:
    joint = Joint(UP, (Line(Point(0, 320), Point(0, 600)),))
    assert fair_joint(joint, [], 300.0, 300.0) is None
    assert plainly_joined(joint) == (Line(Point(0, 0), Point(0, 600)),)


def test_a_blended_step_meets_both_lines_half_way_and_leaves_them_alone_beyond() -> None:
    run = blend(Joint(UP, STEPPED), 50.0, 50.0)
    assert (run[0], run[-1]) == (Line(Point(0, 0), Point(0, 250)), Line(Point(10, 350), Point(10, 600)))
    assert run[1].end == pytest.approx((5.0, 300.0))
    assert smooth(run)


def test_a_corner_is_rounded_as_a_parabola_between_its_arms() -> None:
    """Half way between the corner and the middle of the chord (geometry of the parabola)."""
    angle = math.radians(10.0)
    arm = (Line(Point(0, 300), Point(300 * math.sin(angle), 300 + 300 * math.cos(angle))),)
    run = blend(Joint(UP, arm), 60.0, 60.0)
    chord = Point(30 * math.sin(angle), 300 - 30 + 30 * math.cos(angle))
    assert run[1].end == pytest.approx((chord.x / 2, (chord.y + 300) / 2))
    assert smooth(run)


@settings(max_examples=60, deadline=None)
@given(st.floats(-30, 30), st.floats(-10, 30), st.floats(-0.6, 0.6), st.floats(20, 120), st.floats(20, 120))
def test_every_blend_is_smooth_and_changes_nothing_beyond_its_reach(
    aside: float, ahead: float, angle: float, before: float, after: float
) -> None:
    start = Point(aside, 300 + ahead)
    bowed = Cubic(start, Point(aside + 20, start.y + 60), Point(aside + 20, start.y + 140), Point(aside, start.y + 200))
    turned = Cubic(*(turn(start, angle)(p) for p in (bowed.start, bowed.c1, bowed.c2, bowed.end)))
    run = blend(Joint(UP, (turned,)), before, after)
    assert smooth(run)
    assert run[0] == Line(Point(0, 0), pytest.approx((0.0, 300.0 - before)))
    rest = run[-1]
    assert rest.end == turned.end
    assert run_nearest((turned,), flatten(rest, 1.0)[1])[1] < 1e-6


def test_a_corner_of_the_edge_s_own_is_kept_and_only_the_step_taken_away() -> None:
    joint = Joint(UP, (Line(Point(6, 300), Point(306, 300)),), keeps_corner=True)
    made = fair_joint(joint, [], 300.0, 300.0)
    assert made is not None
    run = (*made.zone[0], *made.zone[1], *made.zone[2])
    turns = corners_deg(Edge("back", "seam", run))
    assert sum(turn > 80 for turn in turns) == 1 == sum(turn > 0.01 for turn in turns)
    assert all(a.end == b.start for a, b in pairwise(run))


def test_ends_a_rounding_apart_are_one() -> None:
    joint = joint_of(UP, (Line(Point(1e-7, 300), Point(0, 600)),))
    assert joint.before[-1].end == joint.after[0].start


@pytest.mark.parametrize("at_start", [True, False])
def test_an_end_moved_to_a_new_corner_fades_to_nothing_and_keeps_its_direction(at_start: bool) -> None:
    run = shifted_end(UP, Point(8, 0) if at_start else Point(8, 300), 100.0, at_start=at_start)
    end = run[0].start if at_start else run[-1].end
    assert end == Point(8, 0 if at_start else 300)
    assert smooth(run)
    assert Line(Point(0, 100), Point(0, 300)) in run if at_start else Line(Point(0, 0), Point(0, 200)) in run
    way = tangent(run[0], 0.0) if at_start else tangent(run[-1], 1.0)
    assert way == pytest.approx((0.0, 1.0), abs=1e-9)


@pytest.mark.parametrize("y", [250.0, 270.0, 290.0, 299.0, 305.0, 340.0])
def test_a_blend_is_shortened_where_it_would_narrow_a_level(y: float) -> None:
    # The paper lies to the left of the edge, which runs up: of the two halves the one further right is the wider.
    wide = (Line(Point(20, 300), Point(20, 600)),)
    level = (Point(-200, y), Point(400, y))
    made = fair_joint(Joint(UP, wide), [level], 300.0, 300.0)
    assert made is not None
    raw = LineString([(0, 0), (0, 300), (20, 300), (20, 600)]).intersection(LineString(level)).x
    run = [p for s in (*made.zone[0], *made.zone[1], *made.zone[2]) for p in flatten(s, 1e-4)]
    assert raw - LineString(run).intersection(LineString(level)).x <= MOST_NARROWING_MM + 1e-3
    assert smooth((*made.zone[0], *made.zone[1], *made.zone[2]))


def test_a_level_well_away_does_not_shorten_the_blend() -> None:
    level = (Point(-200, 100.0), Point(400, 100.0))
    made = fair_joint(Joint(UP, STEPPED), [level], 300.0, 300.0)
    assert made is not None
    assert made.total_mm == pytest.approx(2 * LEAST_REACH_MM)


def test_a_level_in_the_blend_ends_on_the_redrawn_edge() -> None:
    piece = leaning(20.0)
    made = only(
        Fold("sheet", Point(-10, 160), Point(600, 160), INCH, INCH, "left").done(Pattern("t", "back", (piece,))).pattern
    )
    end = made.levels["waist"][1]
    assert run_nearest(made.edge("back").segments, end)[1] < 1e-6
    assert width_inside(made, made.levels["waist"]) == pytest.approx(end.x, abs=0.01)


def test_measuring_anew_keeps_order_and_stays_within_the_edge() -> None:
    measured = Remeasured((((0.0, 0.0), (100.0, 100.0), (120.0, 100.0), (200.0, 180.0)),)).then(
        90.0, 110.0, 22.0, 180.0
    )
    places = [measured(mm) for mm in range(0, 201, 5)]
    assert places == sorted(places)
    assert (places[0], places[-1]) == (0.0, 182.0)
    assert measured(-5.0) == 0.0


def two_sheets() -> Pattern:
    """Two sheets side by side, the back of the first sewn to the front of the second."""
    first = replace(sheet(), name="first", slits=(), channels=())
    second = replace(sheet(), name="second", slits=(), channels=())
    return Pattern(
        "a test", "back", (first, second), (Seam("s", EdgeRef("first", "back"), EdgeRef("second", "front")),)
    )


def walked_after(before: Pattern, made: Altered, cut: str) -> Altered:
    """What was made walked, as if all of it had been cuts of that piece."""
    return walked(before, made, replace(Cuts().with_cut(before, made.pattern), pieces=frozenset({cut})))


def test_walking_restores_an_edge_that_lost_length_at_its_top() -> None:
    before = two_sheets()
    made = Fold("first", Point(300, 250), Point(0, 250), 10.0, 0.0, "right").done(before)
    assert seam_difference(made.pattern, before.seams[0]) == pytest.approx(-10.0, abs=0.7)
    done = walked_after(before, made, "first")
    assert abs(seam_difference(done.pattern, before.seams[0])) < 0.05
    assert edge_length(done.pattern.piece("second").edge("front")) == 400.0
    assert piece_mistakes(done.pattern.piece("first"), "first") == []
    assert done.trued[-1].why == "partner"
    assert any("drawn on" in note for note in notes_said(done.notes, {}))


def test_walking_trims_an_edge_that_gained_length() -> None:
    before = two_sheets()
    made = Fold("second", Point(0, 250), Point(300, 250), -10.0, 0.0, "left").done(before)
    done = walked_after(before, made, "second")
    assert abs(seam_difference(done.pattern, before.seams[0])) < 0.05
    assert any("trimmed" in note for note in notes_said(done.notes, {}))
    assert {n.edge: n.at for n in done.pattern.piece("second").notches}["back"] == pytest.approx(200.0)


def test_walking_leaves_what_differs_by_less_than_a_sixteenth_and_pieces_not_altered() -> None:
    before = two_sheets()
    small = Fold("first", Point(300, 250), Point(0, 250), 1.0, 0.0, "right").done(before)
    assert walked_after(before, small, "first") == small
    large = Fold("first", Point(300, 250), Point(0, 250), 10.0, 0.0, "right").done(before)
    assert walked_after(before, large, "third") == large


def test_a_wedge_through_two_neighbours_needs_no_walking() -> None:
    before = two_sheets()
    one = Fold("first", Point(300, 250), Point(0, 250), 10.0, 0.0, "right").done(before)
    two = Fold("second", Point(300, 250), Point(0, 250), 20.0, 10.0, "right").done(one.pattern)
    made = one.then(two)
    assert walked(before, made, Cuts().with_cut(before, made.pattern)) == made


def test_walking_the_corset_after_a_dart_into_a_seam_makes_it_match_again(corset: Pattern) -> None:
    piece = corset.piece("p3")
    top, back = piece.edge("top-edge"), piece.edge("back-seam")
    mouth = Point((top.start.x + top.end.x) / 2, (top.start.y + top.end.y) / 2)
    relief = back.segments[-1].start
    point = Point((mouth.x + 3 * mouth.x) / 4, relief.y)
    made = Dart("p3", mouth, 12.0, point, relief).done(corset)
    seams = [s for s in corset.seams if EdgeRef("p3", "back-seam") in (s.a, s.b)]
    done = walked_after(corset, made, "p3")
    for seam in seams:
        assert abs(seam_difference(made.pattern, seam)) > INCH / 16
        assert abs(seam_difference(done.pattern, seam) - seam_difference(corset, seam)) < 0.1
    assert polygon(done.pattern.piece("p3")).is_valid
    assert run_length(done.pattern.piece("p3").edge("back-seam").segments) > 100


def test_a_level_whose_last_bend_an_edge_has_passed_ends_before_it() -> None:
    piece = replace(sheet(), levels={"waist": (Point(0, 100), Point(290, 129), Point(300, 105))})
    done = MoveEdge("sheet", "back", (Place(20.0, along=0.5),)).done(alone(piece))
    (start, end) = only(done.pattern).levels["waist"]
    assert start == Point(0, 100)
    assert end == pytest.approx((280.0, 128.0))


def test_walking_does_not_touch_an_edge_that_reaches_neither_top_nor_bottom() -> None:
    before = two_sheets()
    first = before.piece("first")
    roles = {"neck": "seam", "hem": "seam"}
    inner = replace(first, edges=tuple(replace(e, role=roles.get(e.name, e.role)) for e in first.edges))  # type: ignore[arg-type]
    before = before.with_piece(inner)
    made = Fold("first", Point(300, 250), Point(0, 250), 10.0, 0.0, "right").done(before)
    assert walked_after(before, made, "first") == made


def test_a_gap_along_the_edge_too_small_to_have_a_direction_is_no_line_of_its_own() -> None:
    """A sliver drawn into it would turn as rounding has it: a corner that was not there."""
    up = (Line(Point(0.0, 0.0), Point(0.0, 300.0)),)
    beyond = (Line(Point(1.0, 300.00005), Point(1.0, 600.0)),)
    made = fair_joint(Joint(up, beyond), [], 300.0, 300.0)
    assert made is not None
    assert all(math.dist(segment.start, segment.end) > 1.0 for segment in made.zone[1])
