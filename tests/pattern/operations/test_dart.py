"""Closing a dart and opening its slash: by hand, properties, awkward outlines, shapely."""

from __future__ import annotations

import math

import pytest
from cut_paper import INCH, alone, corners_deg, curved_hem, only, polygon, sheet
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Polygon
from shapely.affinity import rotate

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.geometry.runs import run_nearest, run_point_at
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, line_length, piece_area
from diagnose.pattern.operations import do
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.outline import Channel, Pattern, Piece, Point, Slit

unhurried = settings(max_examples=40, deadline=None)


def closed(
    piece: Piece,
    mouth: tuple[float, float],
    width: float,
    point: tuple[float, float],
    relief: tuple[float, float] | None,
    turn: str | None = None,
) -> Altered:
    there = Point(*relief) if relief else None
    return Dart(piece.name, Point(*mouth), width, Point(*point), there, turn).done(alone(piece))  # type: ignore[arg-type]


def turned_deg(piece: Piece, name: str = "c2") -> float:
    line = next(c.line for c in piece.channels if c.name == name)
    return math.degrees(math.atan2(line[0].x - line[1].x, line[1].y - line[0].y))


def upper_right(x: float = 260.0) -> Piece:
    """The sheet with a channel in the part that turns, and none that is cut."""
    return replace(sheet(), channels=(Channel("c2", (Point(x, 300), Point(x, 390)), 9.5),))


@pytest.mark.parametrize(
    ("width", "long", "r", "opens"), [(1.5, 8.0, 5.0, 15 / 16), (1.0, 5.0, 3.0, 0.6), (1.5, 8.0, 4.0, 0.75)]
)
def test_the_slash_opens_the_dart_s_width_in_the_ratio_of_the_lengths(
    width: float, long: float, r: float, opens: float
) -> None:
    """2·r·sin(angle/2) = w·r/L: 1 1/2 in over 8 in opens 15/16 in at 5 in; 1 in over 5 in opens 0.6 in at 3 in."""
    piece = upper_right()
    tip = (300 - r * INCH, 400 - long * INCH)
    made = only(closed(piece, (tip[0], 400), width * INCH, tip, (300, tip[1]), "right").pattern)
    # The level through the tip is opened by the slash: the upper edge of it turned with the paper.
    turned = turned_deg(made)
    assert abs(turned) == pytest.approx(math.degrees(2.0 * math.asin(width / (2.0 * long))), abs=1e-9)
    assert 2.0 * r * math.sin(math.radians(abs(turned)) / 2.0) == pytest.approx(opens, abs=1e-9)
    beyond = made.edge("back").end  # the corner between back and neck turned about the tip
    assert distance(beyond, Point(*tip)) == pytest.approx(distance(Point(300, 400), Point(*tip)), abs=1e-9)


def test_the_edge_at_the_relief_grows_by_the_opening_and_the_mouth_s_edge_loses_the_dart() -> None:
    piece = upper_right()
    made = only(closed(piece, (150, 400), 30.0, (150, 250), (300, 250), "right").pattern)
    back, neck = (sum(distance(s.start, s.end) for s in made.edge(n).segments) for n in ("back", "neck"))
    assert back == pytest.approx(400 + 30.0, abs=3.0)  # 150 mm from the tip the slash opens w·150/150
    assert neck == pytest.approx(300 - 30.0, abs=3.0)


def test_a_dart_without_relief_is_a_wedge_right_through() -> None:
    """The same as folding out its width to nothing, but for the third order (2·asin against 2·atan)."""
    piece = replace(sheet(), channels=(), slits=())
    ours = only(closed(piece, (150, 400), 20.0, (150, 0), None, "left").pattern)
    theirs = only(Fold("sheet", Point(150, 0), Point(150, 400), 0.0, 20.0, "left").done(alone(piece)).pattern)
    assert polygon(ours).symmetric_difference(polygon(theirs)).area < 30.0
    assert piece_mistakes(ours, "sheet") == []


def test_the_smaller_part_turns_unless_told_otherwise() -> None:
    piece = upper_right()
    small = only(closed(piece, (150, 400), 30.0, (150, 250), (300, 250)).pattern)
    assert small.landmarks["bust-point"] == piece.landmarks["bust-point"]
    assert turned_deg(small) == pytest.approx(2 * math.degrees(math.asin(0.1)))
    large = only(closed(piece, (150, 400), 30.0, (150, 250), (300, 250), "left").pattern)
    assert large.landmarks["bust-point"] != piece.landmarks["bust-point"]
    assert turned_deg(large) == pytest.approx(0.0)


def test_whichever_part_turns_the_outline_is_the_same() -> None:
    piece = upper_right()
    left, right = (only(closed(piece, (150, 400), 30.0, (150, 250), (300, 250), t).pattern) for t in ("left", "right"))
    assert piece_area(left) == pytest.approx(piece_area(right), rel=1e-9)
    assert polygon(left).length == pytest.approx(polygon(right).length, rel=1e-9)


@unhurried
@given(st.floats(90, 210), st.floats(4, 25), st.floats(120, 280), st.floats(120, 330))
def test_dart_oracle_shapely_turns_the_same_part_but_for_the_truing(
    x: float, width: float, y: float, relief: float
) -> None:
    piece = replace(sheet(), channels=(), slits=())
    tip = Point(x, y)
    made = closed(piece, (x, 400), width, (x, y), (300, relief), "right")
    half = math.asin(width / (2.0 * (400 - y)))
    out = (400 - y) * math.tan(half)
    keep = Polygon([(0, 0), (300, 0), (300, relief), tip, (x - out, 400), (0, 400)])
    turning = Polygon([tip, (300, relief), (300, 400), (x + out, 400)])
    turned = rotate(turning, 2.0 * half, origin=(tip.x, tip.y), use_radians=True)
    hinge = rotate(Polygon([tip, (300, relief), (300, relief + 1e-6)]), 2.0 * half, (tip.x, tip.y), use_radians=True)
    slash = Polygon([tip, (300, relief), hinge.exterior.coords[1]])
    theirs = keep.union(turned.buffer(1e-7)).union(slash.buffer(1e-7))
    ours = polygon(only(made.pattern))
    trued = sum(one.by_mm * one.reach_mm for one in made.trued)
    assert ours.is_valid
    assert ours.symmetric_difference(theirs).area <= trued + 1.0


@unhurried
@given(st.floats(90, 210), st.floats(4, 40), st.floats(120, 250))
def test_closing_a_dart_leaves_no_corner_in_a_smooth_edge(x: float, width: float, y: float) -> None:
    made = only(closed(curved_hem(), (x, mouth_y(x)), width, (x, y), (300, 200)).pattern)
    for edge in made.edges:
        assert max(corners_deg(edge), default=0.0) < 0.05
    assert piece_mistakes(made, "sheet") == []


def mouth_y(x: float) -> float:
    run = curved_hem().edge("neck").segments
    low, high = 300.0, 420.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        inside = run_nearest(run, Point(x, middle))[1] > run_nearest(run, Point(x, middle + 1e-4))[1]
        low, high = (middle, high) if inside else (low, middle)
    return low


def test_levels_bend_where_the_dart_closes_and_where_the_slash_opens() -> None:
    made = only(closed(upper_right(), (150, 400), 30.0, (150, 250), (300, 250), "right").pattern)
    top = made.levels["top"]
    assert line_length(top) == pytest.approx(300 - 10.0, abs=0.2)  # 50 mm above the tip: w·50/150
    assert made.levels["hip"] == sheet().levels["hip"]
    assert len(top) == 3


def test_a_channel_the_dart_cuts_is_straight_between_its_moved_ends() -> None:
    piece = replace(sheet(), channels=(Channel("long", (Point(200, 20), Point(200, 380)), 9.5),), slits=())
    made = closed(piece, (150, 400), 30.0, (150, 250), (300, 250), "right")
    (channel,) = only(made.pattern).channels
    assert channel.line[0] == Point(200, 20)
    assert distance(channel.line[1], Point(150, 250)) == pytest.approx(distance(Point(200, 380), Point(150, 250)))
    assert any("long" in note and "straight" in note for note in notes_said(made.notes, {}))


def test_a_mark_between_the_legs_comes_to_lie_on_the_closing_line() -> None:
    piece = replace(sheet(), landmarks={"mark": Point(152, 380)}, slits=())
    made = closed(piece, (150, 400), 30.0, (150, 250), (300, 250), "right")
    assert distance(only(made.pattern).landmarks["mark"], Point(150, 250)) == pytest.approx(
        distance(Point(152, 380), Point(150, 250))
    )
    assert any("mark" in note and "closing line" in note for note in notes_said(made.notes, {}))


def test_a_slit_beside_a_dart_in_the_hem_keeps_its_foot_on_the_edge() -> None:
    hem = curved_hem().edge("hem").segments
    foot = run_point_at(hem, run_nearest(hem, Point(200, -40))[0])
    piece = replace(curved_hem(), slits=(Slit("s1", (foot, Point(200, 60))),))
    made = only(closed(piece, (150, -45), 16.0, (150, 150), (300, 150)).pattern)
    assert run_nearest(made.edge("hem").segments, made.slits[0].line[0])[1] < 1e-6


def test_a_dart_of_no_width_gives_an_equal_pattern() -> None:
    assert closed(sheet(), (150, 400), 0.0, (150, 250), (300, 250)) == Altered(alone(sheet()))


def test_darts_in_the_bundled_bodies_leave_a_sound_piece(bodies: Pattern) -> None:
    for relief in (Point(0.0, 120.0), Point(0.0, 30.0)):
        made = Dart("bodies", Point(140.0, 217.0), 19.0, Point(95.0, 120.0), relief).done(bodies)
        assert piece_mistakes(made.pattern.pieces[0], "bodies") == []
        assert len(made.pattern.pieces[0].edge("centre-front").segments) == 1


@pytest.mark.parametrize(
    ("do", "words"),
    [
        (Dart("sheet", Point(150, 400), -5.0, Point(150, 250), Point(300, 250)), "width: .*cannot be closed"),
        (Dart("sheet", Point(150, 400), 200.0, Point(150, 250), Point(300, 250)), "width: .*only.*long"),
        (Dart("sheet", Point(150, 380), 20.0, Point(150, 250), Point(300, 250)), "mouth: .*from the outline"),
        (Dart("sheet", Point(150, 400), 20.0, Point(150, 250), Point(280, 250)), "relief: .*from the outline"),
        (Dart("sheet", Point(150, 400), 20.0, Point(150, 250)), "point: .*needs a relief"),
        (Dart("sheet", Point(150, 400), 20.0, Point(-150, 250), Point(300, 250)), "point: .*outside"),
        (Dart("sheet", Point(150, 400), 20.0, Point(150, 400), Point(300, 250)), "lies on its mouth"),
        (Dart("sheet", Point(150, 400), math.inf, Point(150, 250), Point(300, 250)), "not a number"),
        (Dart("sheet", Point(150, 400), 9.0, Point(150, 250), Point(300, 250), "up"), "no side"),  # type: ignore[arg-type]
    ],
)
def test_refusals_say_what_is_wrong(do: Dart, words: str) -> None:
    with pytest.raises(FitError, match=words):
        do.done(alone(sheet()))


def test_all_mistakes_of_the_places_come_at_once() -> None:
    do = Dart("sheet", Point(150, 380), 20.0, Point(150, 250), Point(280, 250))
    with pytest.raises(FitError) as caught:
        do.done(alone(sheet()))
    assert [m.where for m in caught.value.mistakes] == ["mouth", "relief"]


def test_a_slash_that_leaves_the_paper_is_refused() -> None:
    with pytest.raises(FitError, match="leaves the paper"):
        closed(curved_hem(), (300, 200), 10.0, (20, 385), (290, 393))


def test_a_dart_wider_than_there_is_room_for_says_how_wide_it_may_be() -> None:
    asked = Dart("sheet", Point(20, 400), 120.0, Point(20, 250), Point(300, 250))
    with pytest.raises(FitError, match=r"The most there is room for is about"):
        do(alone(sheet()), [asked], whole=False)


@pytest.mark.parametrize("width", [0.01, 0.5, 12.0])
def test_a_mouth_drawn_a_little_off_the_edge_is_taken_where_the_line_from_the_point_meets_it(width: float) -> None:
    made = only(closed(sheet(), (102, 397), width, (70, 250), (300, 250)).pattern)
    # On a level edge the legs are cut a little apart from abreast of each other: the edge loses about the width.
    assert edge_length(made.edge("neck")) == pytest.approx(300.0 - width, abs=0.1 * width + 0.01)
