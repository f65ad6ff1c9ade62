"""Moving an edge square to itself: the oblong by hand, properties, awkward edges, shapely's parallel line."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper import curved, edge, in_two, line_of, oblong, one, pair_of, ring
from shapely import LineString, Polygon

from diagnose.errors import FitError
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import flatten, point_at, tangent
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import (
    edge_length,
    garment_girth,
    piece_area,
    seam_difference,
    station_width,
)
from diagnose.pattern.operations.doing import do
from diagnose.pattern.operations.move_edge import MoveEdge, Place
from diagnose.pattern.outline import Channel, Cubic, Edge, Line, Notch, Piece, Point, Slit

QUARTER = 6.35


def moved(piece: Piece, name: str, *by: Place, **more: object) -> Piece:
    return MoveEdge(piece.name, name, by, **more).done(one(piece)).pattern.pieces[0]  # type: ignore[arg-type]


def at(station: str, mm: float) -> Place:
    return Place(mm, at=station)


def test_one_amount_takes_that_much_off_every_level_and_keeps_the_edge_one_straight_line() -> None:
    piece = moved(oblong(), "back", at("waist", QUARTER))
    assert {s: station_width(piece, s) for s in piece.levels} == pytest.approx(dict.fromkeys(piece.levels, 93.65))
    assert piece.edge("back").segments == (Line(Point(93.65, 0.0), Point(93.65, 200.0)),)
    assert piece.edge("hem").segments == (Line(Point(0.0, 0.0), Point(93.65, 0.0)),)
    assert piece_area(piece) == pytest.approx(93.65 * 200.0)
    assert piece.levels["waist"] == (Point(0.0, 100.0), Point(93.65, 100.0))


def test_a_quarter_inch_each_side_of_a_seam_takes_one_inch_off_the_whole_girth() -> None:
    pattern = pair_of(oblong("side"), oblong("back-piece", x=200.0))
    after = MoveEdge("side", "back", (at("top", QUARTER),)).done(pattern).pattern
    after = MoveEdge("back-piece", "front", (at("top", QUARTER),)).done(after).pattern
    before_mm, after_mm = garment_girth(pattern, "top"), garment_girth(after, "top")
    assert before_mm is not None
    assert after_mm == pytest.approx(before_mm - 25.4)


def test_two_amounts_at_the_ends_change_evenly_and_leave_a_straight_line() -> None:
    piece = moved(oblong(), "back", Place(0.0, along=0.0), Place(10.0, along=1.0))
    (only,) = piece.edge("back").segments
    assert only == Line(Point(100.0, 0.0), Point(90.0, 200.0))
    assert station_width(piece, "waist") == pytest.approx(95.0)


def test_amounts_stay_beyond_the_outermost_places() -> None:
    piece = moved(oblong(), "back", at("waist", 0.0), at("top", QUARTER))
    assert piece.edge("back").segments[0].start == Point(100.0, 0.0)
    assert piece.edge("back").end.x == pytest.approx(93.65)
    assert station_width(piece, "bottom") == pytest.approx(100.0)
    assert station_width(piece, "waist") == pytest.approx(100.0)
    assert station_width(piece, "top") == pytest.approx(93.65, abs=0.05)


def test_a_slanting_neighbour_is_drawn_on_along_its_own_line() -> None:
    piece = oblong()
    slant = piece.with_edge(edge("neck", "top", (100.0, 200.0), (0.0, 150.0)))
    slant = slant.with_edge(edge("front", "seam", (0.0, 150.0), (0.0, 0.0)))
    slant = replace(slant, levels={"waist": slant.levels["waist"]}, landmarks={}, notches=())
    made = moved(slant, "back", at("waist", -8.0))
    assert made.edge("neck").segments == (Line(Point(108.0, 204.0), Point(0.0, 150.0)),)
    assert made.edge("back").end == Point(108.0, 204.0)


def test_a_lacing_edge_stays_straight_when_its_two_places_stand_near_its_ends() -> None:
    piece = oblong()
    laced = piece.with_edge(replace(piece.edge("back"), role="lacing"))
    made = moved(laced, "back", at("top", 9.0), at("bottom", 1.0))
    assert len(made.edge("back").segments) == 1
    assert station_width(made, "waist") == pytest.approx(95.0)


def test_a_lacing_edge_that_cannot_stay_straight_is_reported() -> None:
    piece = oblong()
    laced = piece.with_edge(replace(piece.edge("back"), role="lacing"))
    done = MoveEdge("side", "back", (at("top", 4.0), at("waist", 0.0), at("bottom", 4.0))).done(one(laced))
    assert any("no longer straight" in note for note in notes_said(done.notes, {}))


def test_channels_stay_unless_they_are_to_follow() -> None:
    stay = moved(oblong(), "back", at("waist", 3.0))
    follow = moved(oblong(), "back", at("waist", 3.0), channels="follow")
    assert stay.channels == oblong().channels
    assert [c.line[0].x for c in follow.channels] == pytest.approx([20.0, 87.0])


def test_channels_between_two_side_edges_share_the_move_out() -> None:
    """By hand: 40 mm from the front and 60 from the back, so (40 - 25.4) / (100 - 50.8) of the move."""
    middle = Channel("m", (Point(40.0, 6.0), Point(40.0, 194.0)), 9.5)
    made = moved(replace(oblong(), channels=(middle,)), "back", at("waist", 10.0), channels="follow")
    assert made.channels[0].line[0].x == pytest.approx(40.0 - 10.0 * 14.6 / 49.2)


def test_a_channel_left_beyond_the_edge_is_reported() -> None:
    upon = do(one(oblong()), (MoveEdge("side", "back", (at("waist", 7.0),)),))
    beyond = do(one(oblong()), (MoveEdge("side", "back", (at("waist", 12.0),)),))
    told = [[note for note in notes_said(done.notes, {}) if "Channel b1" in note] for done in (upon, beyond)]
    assert told == [
        ["Channel b1 of the side now lies on the line of the back: move it inwards."],
        ["Channel b1 of the side would run off the paper: it is re-laid straight inside."],
    ]


def test_notches_stay_at_their_height() -> None:
    piece = moved(oblong(), "back", at("waist", 3.0), at("top", 9.0))
    (notch,) = [n for n in piece.notches if n.edge == "back"]
    assert notch.at == pytest.approx(100.0, abs=0.01)


def test_a_notch_on_a_trimmed_neighbour_keeps_its_place() -> None:
    piece = replace(oblong(), notches=(Notch("neck", 40.0),))
    assert moved(piece, "back", at("waist", QUARTER)).notches == (Notch("neck", pytest.approx(33.65)),)


def test_slit_feet_go_with_the_bottom_edge_and_the_tips_stay() -> None:
    piece = replace(oblong(), slits=(Slit("s1", (Point(50.0, 0.0), Point(50.0, 60.0))),))
    made = moved(piece, "hem", Place(-10.0, along=0.5))
    assert made.slits[0].line == (Point(50.0, -10.0), Point(50.0, 60.0))


def test_an_edge_moved_past_the_tip_of_a_slit_is_refused() -> None:
    piece = replace(oblong(), slits=(Slit("s1", (Point(50.0, 0.0), Point(50.0, 8.0))),))
    with pytest.raises(FitError, match="tip of slit 1"):
        moved(piece, "hem", Place(10.0, along=0.5))


def test_no_amount_returns_an_equal_pattern() -> None:
    assert MoveEdge("side", "back", (at("waist", 0.0),)).done(one(curved())).pattern == one(curved())


@pytest.mark.parametrize(
    ("by", "said"),
    [
        ((Place(3.0, at="hip"),), "no level 'hip'"),
        ((Place(3.0, along=0.5), Place(4.0, along=0.5)), "Two different amounts"),
        ((Place(70.0, along=0.5),), "radius of only 2 1/2 in"),
    ],
)
def test_what_cannot_be_placed_is_refused(by: tuple[Place, ...], said: str) -> None:
    bent = Cubic(Point(100.0, 0.0), Point(160.0, 100.0), Point(160.0, 100.0), Point(100.0, 200.0))
    piece = curved().with_edge(Edge("back", "seam", (bent,)))
    with pytest.raises(FitError, match=said):
        moved(piece, "back", *by)


def test_an_edge_that_runs_on_smoothly_into_its_neighbour_cannot_leave_it() -> None:
    piece = oblong()
    halves = (edge("neck", "top", (100.0, 200.0), (50.0, 200.0)), edge("neck-2", "top", (50.0, 200.0), (0.0, 200.0)))
    piece = replace(piece, edges=(*piece.edges[:2], *halves, piece.edges[3]))
    with pytest.raises(FitError, match="would no longer meet"):
        moved(piece, "neck", Place(5.0, along=0.5))


def test_a_level_that_does_not_reach_the_edge_is_refused() -> None:
    piece = replace(oblong(), levels={"waist": (Point(0.0, 100.0), Point(60.0, 100.0))})
    with pytest.raises(FitError, match="does not reach"):
        moved(piece, "back", at("waist", 3.0))


def test_truing_the_partner_brings_its_length_back_and_does_not_move_it() -> None:
    first, second = curved(), oblong("back-piece", x=200.0)
    hollow = Cubic(Point(200.0, 200.0), Point(173.0, 130.0), Point(173.0, 70.0), Point(200.0, 0.0))
    levels = {"waist": (Point(170.0, 100.0), Point(300.0, 100.0))}
    pattern = pair_of(first, replace(second.with_edge(Edge("front", "seam", (hollow,))), levels=levels))
    do = MoveEdge("side", "back", (at("waist", 0.0), at("top", -14.0)))
    plain, trued = do.done(pattern).pattern, replace(do, true_partner=True).done(pattern)
    assert abs(seam_difference(plain, pattern.seams[0])) > 0.5
    assert abs(seam_difference(trued.pattern, pattern.seams[0])) < 0.1
    assert [t.edge for t in trued.trued] == ["front"]
    assert not piece_mistakes(trued.pattern.pieces[1], "")
    far = trued.pattern.pieces[1].edge("front")
    assert all(min(nearest(s, point_at(hollow, t))[1] for s in far.segments) < 1e-9 for t in (0.1, 0.5, 0.9))


def test_a_corner_within_the_edge_stays_a_corner_where_its_sides_meet_again() -> None:
    """By hand: an edge that goes up 100, in 40 at a right angle, up 100, moved 5 in: every side moves 5."""
    piece = oblong()
    step = edge("back", "seam", (100.0, 0.0), (100.0, 100.0), (60.0, 100.0), (60.0, 200.0))
    piece = piece.with_edge(step).with_edge(edge("neck", "top", (60.0, 200.0), (0.0, 200.0)))
    piece = replace(piece, levels={}, landmarks={}, notches=(), channels=())
    made = moved(piece, "back", Place(5.0, along=0.0))
    assert made.edge("back").segments == line_of((95.0, 0.0), (95.0, 95.0), (55.0, 95.0), (55.0, 200.0))


def test_an_edge_of_many_short_lines_moves_as_one() -> None:
    points = [(100.0 + 10.0 * math.sin(k * math.pi / 40.0), 5.0 * k) for k in range(41)]
    piece = replace(oblong(), levels={}, landmarks={}, notches=(), channels=())
    piece = piece.with_edge(edge("back", "seam", *points))
    made = moved(piece, "back", Place(4.0, along=0.0))
    assert not piece_mistakes(made, "")
    assert piece_area(piece) - piece_area(made) == pytest.approx(4.0 * edge_length(piece.edge("back")), rel=0.03)


def test_a_handle_of_no_length_is_no_obstacle() -> None:
    start = Point(100.0, 0.0)
    piece = curved().with_edge(
        Edge("back", "seam", (Cubic(start, start, Point(90.0, 150.0), Point(100.0, 200.0)),)),
    )
    assert not piece_mistakes(moved(piece, "back", Place(5.0, along=0.5)), "")


@settings(deadline=None, max_examples=40)
@given(st.tuples(*[st.floats(-20.0, 20.0)] * 3))
def test_each_named_station_changes_by_its_own_amount_on_an_upright_edge(amounts: tuple[float, ...]) -> None:
    stations = ("bottom", "waist", "top")
    piece = moved(oblong(), "back", *map(at, stations, amounts))
    for station, amount in zip(stations, amounts, strict=True):
        assert station_width(piece, station) == pytest.approx(100.0 - amount, abs=0.05)
    reached = [p.x for s in piece.edge("back").segments for p in flatten(s, 0.01)]
    assert min(reached) >= 100.0 - max(amounts) - 0.01
    assert max(reached) <= 100.0 - min(amounts) + 0.01


@settings(deadline=None, max_examples=40)
@given(st.floats(-15.0, 15.0))
def test_an_edge_moved_in_and_out_again_comes_back(amount: float) -> None:
    there = moved(oblong(), "back", at("waist", amount))
    back = moved(there, "back", at("waist", -amount))
    assert [v for p in ring(back) for v in p] == pytest.approx([v for p in ring(oblong()) for v in p], abs=0.01)


@settings(deadline=None, max_examples=25)
@given(st.floats(-12.0, 12.0), st.floats(-12.0, 12.0))
def test_a_moved_curve_stays_simple_closed_and_within_reach_of_its_levels(first: float, second: float) -> None:
    piece = moved(curved(), "back", at("top", first), at("bottom", second))
    assert not piece_mistakes(piece, "")


def test_oracle_a_curve_moved_evenly_is_the_parallel_line_shapely_draws() -> None:
    piece = moved(curved(), "back", at("waist", 7.0))
    mine = LineString([p for s in piece.edge("back").segments for p in flatten(s, 0.001)])
    old = LineString(flatten(curved().edge("back").segments[0], 0.0005))
    theirs = old.offset_curve(7.0, quad_segs=64, join_style="mitre")
    inner = [mine.interpolate(f, normalized=True) for f in (0.1, 0.25, 0.5, 0.75, 0.9)]
    assert max(p.distance(theirs) for p in inner) < 0.01


def test_a_varying_amount_is_square_to_the_old_line_within_a_hundredth() -> None:
    """The true place: the old point and the amount on its normal, the amount evenly spread between the two ends."""
    piece = moved(curved(), "back", Place(2.0, along=0.0), Place(9.0, along=1.0))
    (old,) = curved().edge("back").segments
    whole = length(old)
    for t in (0.1, 0.3, 0.5, 0.7, 0.9):
        p, q = point_at(old, t - 1e-6), point_at(old, t + 1e-6)
        slope = math.hypot(q.x - p.x, q.y - p.y)
        done = LineString(flatten(old, 1e-5)).project(LineString([p, q]).centroid)
        amount = 2.0 + 7.0 * done / whole
        centre = point_at(old, t)
        true = Point(centre.x - amount * (q.y - p.y) / slope, centre.y + amount * (q.x - p.x) / slope)
        assert min(nearest(s, true)[1] for s in piece.edge("back").segments) < 0.01


def test_oracle_the_area_lost_is_what_shapely_measures() -> None:
    before, after = Polygon(ring(curved())), Polygon(ring(moved(curved(), "back", at("waist", QUARTER))))
    assert before.contains(after.buffer(-0.01))
    lost = piece_area(curved()) - piece_area(moved(curved(), "back", at("waist", QUARTER)))
    assert before.area - after.area == pytest.approx(lost, rel=1e-4)


def test_a_channel_beside_the_moved_edge_keeps_its_distance_all_along() -> None:
    piece = replace(oblong(), channels=(Channel("b1", (Point(90.0, 10.0), Point(90.0, 190.0)), 9.5),))
    made = moved(piece, "back", Place(0.0, along=0.0), Place(10.0, along=1.0), channels="follow")
    assert [p.x for p in made.channels[0].line] == pytest.approx([89.5, 80.5], abs=0.05)


@pytest.mark.parametrize("piece", [oblong(), curved()], ids=["oblong", "curved"])
@pytest.mark.parametrize("channels", ["stay", "follow"])
@pytest.mark.parametrize("mm", [QUARTER, -QUARTER])
def test_an_edge_in_two_parts_moves_as_the_one_line_it_is(piece: Piece, channels: str, mm: float) -> None:
    by = (at("top", 0.0), at("waist", mm), at("bottom", 0.0))
    piece = replace(piece, notches=())
    whole = moved(piece, "back", *by, channels=channels)
    parts = moved(in_two(piece, "back", 90.0), "back-1", *by, on=("back-2",), channels=channels)
    one, two = (
        Polygon([p for e in made.edges for s in e.segments for p in flatten(s, 0.01)]) for made in (whole, parts)
    )
    assert two.hausdorff_distance(one) < 0.05
    assert two.area == pytest.approx(one.area, rel=1e-5)
    assert {s: station_width(parts, s) for s in parts.levels} == pytest.approx(
        {s: station_width(whole, s) for s in whole.levels}, abs=0.01
    )
    ends = [[end for channel in made.channels for point in channel.line for end in point] for made in (whole, parts)]
    assert ends[1] == pytest.approx(ends[0], abs=0.05)


def test_parts_that_do_not_adjoin_are_no_one_line() -> None:
    with pytest.raises(FitError, match="do not follow on"):
        moved(oblong(), "back", at("waist", QUARTER), on=("front",))


@pytest.mark.parametrize("mm", [12.7, -12.7])
def test_what_goes_up_does_so_by_the_amount_however_steep_the_edge_runs(mm: float) -> None:
    """A top edge that falls by 100 in 100: its corner goes up the side by all of the amount, not by 1.4 of it."""
    piece = oblong()
    slant = (
        edge("neck", "top", (100.0, 200.0), (0.0, 100.0)),
        edge("front", "seam", (0.0, 100.0), (0.0, 0.0)),
    )
    levels = {"bottom": piece.levels["bottom"]}
    piece = replace(piece, edges=(*piece.edges[:2], *slant), levels=levels, landmarks={}, channels=(), notches=())
    by = (Place(mm, along=0.5),)
    up, square = moved(piece, "neck", *by, way="up"), moved(piece, "neck", *by)
    assert up.edge("neck").segments == (Line(Point(100.0, 200.0 + mm), Point(0.0, 100.0 + mm)),)
    assert square.edge("neck").end.y == pytest.approx(100.0 - mm * math.sqrt(2.0))


@pytest.mark.parametrize("mm", [20.0, -20.0])
def test_a_smooth_edge_whose_curvature_jumps_has_no_corner_where_the_amount_changes(mm: float) -> None:
    """A straight side that runs on into an arc of 60 mm: moved unevenly, it once turned there by 4 degrees."""
    straight, arc = Line(Point(100.0, 0.0), Point(100.0, 120.0)), Cubic(
        Point(100.0, 120.0), Point(100.0, 153.1), Point(73.1, 180.0), Point(40.0, 180.0)
    )  # fmt: skip
    piece = oblong()
    edges = (
        piece.edges[0], Edge("back", "seam", (straight, arc)), edge("neck", "top", (40.0, 180.0), (0.0, 180.0)),
        edge("front", "seam", (0.0, 180.0), (0.0, 0.0)),
    )  # fmt: skip
    bent = replace(piece, edges=edges, levels={}, landmarks={}, channels=(), notches=(), grain=None)
    made = (
        moved(bent, "back", Place(0.0, along=0.3), Place(mm, along=0.75), Place(0.0, along=1.0)).edge("back").segments
    )
    turns = [math.degrees(turn) for turn in map(_turn, made, made[1:])]
    assert max(map(abs, turns)) < 2.1


def _turn(before: Line | Cubic, after: Line | Cubic) -> float:
    out, on = tangent(before, 1.0), tangent(after, 0.0)
    return math.atan2(out.x * on.y - out.y * on.x, out.x * on.x + out.y * on.y)
