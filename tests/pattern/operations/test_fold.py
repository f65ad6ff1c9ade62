"""Folding a strip out and spreading: sheets by hand, properties, awkward outlines, shapely."""

from __future__ import annotations

import math
import time

import pytest
from cut_paper import INCH, alone, corners_deg, curved_hem, leaning, only, polygon, sheet, shut, width_inside
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Polygon
from shapely.affinity import translate

from diagnose.errors import FitError
from diagnose.pattern import operations
from diagnose.pattern.altered import Altered
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.geometry.runs import run_nearest, run_point_at, smooth_through
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import channel_length, edge_length, line_length, piece_area, station_width
from diagnose.pattern.moved.strip import Strip
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.outline import Channel, Edge, Line, Notch, Pattern, Piece, Point, Slit

unhurried = settings(max_examples=40, deadline=None)


def folded(
    piece: Piece, start: tuple[float, float], end: tuple[float, float], *amounts: float, move: str = "left"
) -> Altered:
    first, last = amounts if len(amounts) == 2 else (amounts[0], amounts[0])
    return Fold(piece.name, Point(*start), Point(*end), first, last, move).done(alone(piece))  # type: ignore[arg-type]


def upright(piece: Piece, *amounts: float, x: float = 150.0, move: str = "left") -> Piece:
    return only(folded(piece, (x, -100), (x, 500), *amounts, move=move).pattern)


def test_a_strip_takes_its_width_off_every_level_it_crosses_squarely_and_width_times_height_off_the_area() -> None:
    made = upright(sheet(), INCH)
    assert [station_width(made, s) for s in made.levels] == pytest.approx([300 - INCH] * 3, abs=1e-9)
    assert piece_area(made) == pytest.approx((300 - INCH) * 400, abs=1e-6)


def test_edges_cut_square_stay_one_straight_line_with_their_names() -> None:
    made = upright(sheet(), INCH)
    assert [(e.name, len(e.segments)) for e in made.edges] == [("hem", 1), ("back", 1), ("neck", 1), ("front", 1)]
    assert made.edge("front").segments == (Line(Point(INCH, 400), Point(INCH, 0)),)


def test_only_the_named_side_moves() -> None:
    left, right = upright(sheet(), INCH), upright(sheet(), INCH, move="right")
    assert left.landmarks["bust-point"] == Point(60 + INCH, 320)
    assert left.channels[1].line == sheet().channels[1].line
    assert right.landmarks["bust-point"] == Point(60, 320)
    assert right.channels[1].line[0] == pytest.approx((260 - INCH, 6))


def test_a_quarter_inch_to_either_side_takes_half_an_inch_out_of_that_side() -> None:
    made = upright(sheet(), 2 * 6.35)
    assert station_width(made, "waist") == pytest.approx(300 - INCH / 2)


def test_a_wedge_takes_its_share_at_each_distance_down_the_line() -> None:
    """w·(L-d)/L to first order: 1 in over 400 mm, at 100, 200 and 300 mm from the wide end."""
    made = upright(sheet(), INCH, 0.0, x=150.0)  # from (150, -100) to (150, 500): 600 long
    for station, y in (("hip", 100.0), ("waist", 200.0), ("top", 300.0)):
        share = INCH * (500.0 - y) / 600.0
        assert 300.0 - line_length(made.levels[station]) == pytest.approx(share, abs=0.03)


def test_a_wedge_turns_the_moving_part_by_twice_the_half_angle() -> None:
    made = only(folded(sheet(), (150, 0), (150, 400), INCH, 0.0).pattern)
    line = made.channels[0].line
    turned = math.degrees(math.atan2(line[1].x - line[0].x, line[1].y - line[0].y))
    assert abs(turned) == pytest.approx(math.degrees(2.0 * math.atan(INCH / 800.0)), abs=1e-9)


def test_a_slanting_edge_is_stepped_by_the_strip_times_the_tangent_of_its_slope() -> None:
    """1 in at 15 degrees: 0.27 in (geometry). Beyond the blend the two halves lie that far apart."""
    piece = leaning(15.0)
    made = only(folded(piece, (-10, 200), (500, 200), INCH).pattern)
    run = made.edge("back").segments
    low, high = run[0], run[-1]
    assert isinstance(low, Line)
    assert isinstance(high, Line)
    slope = math.tan(math.radians(15.0))
    apart = (high.end.x - high.end.y * slope) - (low.start.x - low.start.y * slope)
    assert apart / INCH == pytest.approx(0.27, abs=0.005)
    assert max(corners_deg(made.edge("back"))) < 1e-4


def test_a_half_inch_wedge_hinged_seven_inches_away_throws_the_back_out_nearly_two_thirds_of_an_inch() -> None:
    """0.64 in at 9 in above the fold to first order (geometry); exactly, the turn of 2·atan(w/2L)."""
    piece = sheet(7 * INCH, 18 * INCH, back="lacing")
    made = only(folded(piece, (7 * INCH, 9 * INCH), (0, 9 * INCH), INCH / 2, 0.0, move="right").pattern)
    thrown = made.edge("back").end.x - 7 * INCH
    assert thrown / INCH == pytest.approx(0.64, abs=0.02)
    half = math.atan(0.25 / 7.0)
    exact = 7 * math.cos(2 * half) + 9 * math.sin(2 * half) - 7
    assert thrown / INCH == pytest.approx(exact, abs=1e-9)


def test_a_straight_lacing_edge_stays_one_straight_line_and_the_maker_is_told() -> None:
    piece = sheet(7 * INCH, 18 * INCH, back="lacing")
    made = folded(piece, (7 * INCH, 9 * INCH), (0, 9 * INCH), INCH / 2, 0.0, move="right")
    assert len(only(made.pattern).edge("back").segments) == 1
    assert any(
        "the back of the sheet piece" in note and "redrawn" in note.lower() for note in notes_said(made.notes, {})
    )


@pytest.mark.parametrize("begins", [0, 2])
@pytest.mark.parametrize("joint", [100.0, 9 * INCH, 320.0])
def test_a_lacing_edge_stored_in_two_parts_is_ruled_as_the_one_line_it_is(joint: float, begins: int) -> None:
    """A wedge of 1/2 in over 7 in once left a corner of 4 degrees where the parts meet."""
    piece = sheet(7 * INCH, 18 * INCH, back="lacing")
    at, back = Point(7 * INCH, joint), piece.edge("back")
    parts = tuple(Edge(n, "lacing", (Line(*ends),)) for n, ends in (("low", (back.start, at)), ("up", (at, back.end))))
    edges = [one for edge in piece.edges for one in (parts if edge is back else (edge,))]
    notches = tuple(replace(n, edge="low" if joint > 200.0 else "up") if n.edge == "back" else n for n in piece.notches)
    notches = tuple(replace(n, at=n.at - joint) if n.edge == "up" else n for n in notches)
    apart = replace(piece, edges=(*edges[begins:], *edges[:begins]), notches=notches)
    wedge = ((7 * INCH, 9 * INCH), (0.0, 9 * INCH), INCH / 2, 0.0)
    whole, made = (only(folded(one, *wedge, move="right").pattern) for one in (piece, apart))
    low, up, one = made.edge("low"), made.edge("up"), whole.edge("back")
    assert len(low.segments) == len(up.segments) == 1
    assert distance(low.start, one.start) < 0.01
    assert distance(up.end, one.end) < 0.01
    assert run_nearest(one.segments, low.end)[1] < 0.001
    for name in piece.levels:
        assert station_width(made, name) == pytest.approx(station_width(whole, name), abs=0.05)
    assert run_point_at((low if joint > 200.0 else up).segments, made.notches[0].at) == pytest.approx(
        run_point_at(one.segments, whole.notches[0].at), abs=0.05
    )


def test_folding_and_spreading_again_on_the_closing_line_gives_the_old_outline() -> None:
    piece = sheet()
    once = upright(piece, INCH, x=150.0)
    again = only(folded(once, (150 + INCH / 2, -100), (150 + INCH / 2, 500), -INCH).pattern)
    for new, old in zip(again.edges, piece.edges, strict=True):
        assert distance(new.start, old.start) < 0.01
        assert len(new.segments) == len(old.segments)
    for name, level in again.levels.items():
        assert [distance(p, q) < 0.01 for p, q in zip(level, piece.levels[name], strict=True)] == [True, True]


@unhurried
@given(st.floats(60, 240), st.floats(1, 50), st.sampled_from(["left", "right"]))
def test_fold_and_spread_undo_each_other_wherever_they_are(x: float, width: float, move: str) -> None:
    once = upright(replace(sheet(), slits=()), width, x=x, move=move)
    closing = x + width / 2 if move == "left" else x - width / 2
    again = only(folded(once, (closing, -9), (closing, 409), -width, move=move).pattern)
    assert polygon(again).symmetric_difference(polygon(sheet())).area < 0.01


@given(st.floats(1, 60), st.floats(0, 60), st.floats(-3, 3), st.sampled_from([1.0, -1.0]))
def test_the_move_of_a_tapering_fold_is_undone_by_the_spread_on_its_closing_line(
    first: float, last: float, angle: float, moving: float
) -> None:
    start, end = Point(10, 20), Point(10 + 300 * math.cos(angle), 20 + 300 * math.sin(angle))
    strip = Strip(start, end, (first, last), moving=moving)
    closing = strip.line(-moving)
    back = Strip(*closing, (-first, -last), moving=moving).move()
    for point in (Point(0, 0), Point(400, -70)):
        assert distance(back(strip.move()(point)), point) < 1e-8


def test_an_amount_of_nothing_gives_an_equal_pattern() -> None:
    pattern = alone(sheet())
    assert Fold("sheet", Point(150, 0), Point(150, 400), 0.0, 0.0, "left").done(pattern) == Altered(pattern)


@unhurried
@given(st.floats(70, 230), st.floats(-40, 40), st.floats(2, 40))
def test_fold_oracle_shapely_closes_the_same_outline_but_for_the_truing(x: float, lean: float, width: float) -> None:
    """The outline cut by two half planes, the left part moved over: what truing changes is a sliver at either end."""
    piece = curved_hem()
    made = folded(piece, (x, -100), (x + lean, 500), width)
    long = math.hypot(lean, 600)
    nx, ny = -600 / long * width / 2, lean / long * width / 2
    far = 9 * (lean), 9 * 600.0

    def side(sign: float) -> Polygon:
        bx, by = x + sign * nx, -100 + sign * ny
        a, b = (bx - far[0], by - far[1]), (bx + far[0], by + far[1])
        wide = sign * 5000
        return Polygon([a, b, (b[0] - wide, b[1]), (a[0] - wide, a[1])])

    whole = polygon(piece)
    theirs = translate(whole.intersection(side(1.0)), -2 * nx, -2 * ny).union(whole.intersection(side(-1.0)))
    ours = polygon(only(made.pattern))
    moved = sum(one.by_mm * one.reach_mm for one in made.trued)
    assert ours.is_valid
    assert ours.symmetric_difference(theirs).area <= moved + 1.0


@unhurried
@given(st.floats(70, 230), st.floats(-60, 60), st.floats(-30, 40), st.floats(-30, 40))
def test_no_corner_appears_where_there_was_none(x: float, lean: float, first: float, last: float) -> None:
    made = only(folded(curved_hem(), (x, -100), (x + lean, 500), first, last).pattern)
    for edge in made.edges:
        assert max(corners_deg(edge), default=0.0) < 0.05
        assert [a.end for a in edge.segments[:-1]] == [b.start for b in edge.segments[1:]]
    assert piece_mistakes(made, "sheet") == []


def test_what_lies_beyond_the_blend_is_moved_and_not_bent() -> None:
    piece = leaning(15.0)
    made = folded(piece, (-10, 200), (500, 200), INCH)
    reach = sum(one.reach_mm for one in made.trued)
    assert 2 * INCH <= reach < 250
    low = only(made.pattern).edge("back").segments[0]
    assert run_nearest(piece.edge("back").segments, low.end)[1] < 1e-9


@pytest.mark.parametrize("at", [150.0, 185.0, 200.0, 215.0, 250.0])
def test_truing_never_takes_more_than_a_thirty_second_of_an_inch_off_a_level(at: float) -> None:
    piece = leaning(20.0)
    made = only(folded(piece, (-10, at), (500, at), INCH).pattern)
    level = made.levels["waist"]
    y = level[0].y
    slope = math.tan(math.radians(20.0))
    beyond_low = y < at - INCH / 2 - 1e-9
    raw = 300 + y * slope + (0.0 if beyond_low else INCH * slope)
    joint = abs(y - (at - INCH / 2)) < 1e-6
    least = min(raw, 300 + y * slope) if joint else raw
    assert width_inside(made, (Point(-50, y), Point(600, y))) > least - INCH / 32 - 0.01


def test_a_level_that_a_fold_has_stepped_is_drawn_through_beside_the_step() -> None:
    piece = replace(sheet(), levels={"waist": (Point(0, 150), Point(300, 250))})
    made = upright(piece, 30.0, x=90.0)
    start, before, after, end = made.levels["waist"]
    assert (start, end) == (Point(30, 150), Point(300, 250))
    # The parts meet at x = 105, at 175 and at 185; 2 in away from there they lie as they lay.
    assert distance(before, Point(105, 175)) == pytest.approx(2 * INCH, abs=0.01)
    assert distance(after, Point(105, 185)) == pytest.approx(2 * INCH, abs=0.01)


def test_a_channel_cut_by_the_fold_is_straight_between_its_moved_ends() -> None:
    piece = replace(sheet(), channels=(Channel("slant", (Point(60, 100), Point(240, 300)), 9.5),))
    made = folded(piece, (100, -10), (100, 410), 20.0)
    assert only(made.pattern).channels[0].line == (Point(80, 100), Point(240, 300))
    assert any("slant" in note and "straight" in note for note in notes_said(made.notes, {}))


def test_what_lies_in_the_strip_comes_to_lie_on_the_closing_line_and_is_reported() -> None:
    piece = replace(
        sheet(),
        channels=(
            Channel("in", (Point(148, 20), Point(152, 380)), 9.5),
            Channel("gone", (Point(142, 50), Point(158, 50)), 9.5),
        ),
        landmarks={"mark": Point(155, 90)},
    )
    made = folded(piece, (150, -10), (150, 410), 20.0)
    new = only(made.pattern)
    assert new.channels == (Channel("in", (Point(160, 20), Point(160, 380)), 9.5),)
    assert new.landmarks["mark"] == pytest.approx((160, 90))
    said = " ".join(notes_said(made.notes, {}))
    assert "Channel in of the sheet piece lay in the strip and now lies on the closing line." in said
    assert "lie on the closing line: mark." in said
    assert "channel gone" in said


def test_a_channel_that_comes_to_lie_on_another_is_reported_as_doubled() -> None:
    piece = replace(
        sheet(),
        channels=(
            Channel("a", (Point(135, 20), Point(135, 380)), 9.5),
            Channel("b", (Point(165, 20), Point(165, 380)), 9.5),
        ),
    )
    assert any("Channels a and b" in note for note in notes_said(folded(piece, (150, -10), (150, 410), 28.0).notes, {}))
    assert not any(
        "Channels a and b" in note for note in notes_said(folded(piece, (150, -10), (150, 410), 15.0).notes, {})
    )


def test_notches_are_measured_anew_along_the_edge() -> None:
    made = only(folded(sheet(), (-10, 100), (310, 100), INCH).pattern)
    assert {n.edge: n.at for n in made.notches} == {
        "back": pytest.approx(200 - INCH),
        "front": pytest.approx(200.0),
    }
    piece = replace(sheet(), notches=(Notch("back", 100.0), Notch("back", 30.0)))
    made = only(folded(piece, (-10, 100), (310, 100), INCH).pattern)
    assert [n.at for n in made.notches] == pytest.approx([100 - INCH / 2, 30.0])


def test_a_notch_keeps_its_place_on_the_paper_past_a_trued_step() -> None:
    piece = replace(leaning(15.0), notches=(Notch("back", 390.0), Notch("back", 20.0)))
    made = only(folded(piece, (-10, 200), (500, 200), INCH).pattern)
    places = [run_point_at(made.edge("back").segments, n.at) for n in made.notches]
    old = [run_point_at(piece.edge("back").segments, at) for at in (390.0, 20.0)]
    assert distance(places[0], Point(old[0].x, old[0].y - INCH)) < 1e-6
    assert distance(places[1], old[1]) < 1e-6


def test_a_fold_along_a_slit_lays_it_on_the_closing_line_with_its_foot_on_the_edge() -> None:
    made = folded(curved_slit(), (80, -100), (80, 500), 12.0)
    new = only(made.pattern)
    foot, tip = new.slits[0].line
    assert run_nearest(new.edge("hem").segments, foot)[1] < 1e-6
    assert (foot.x, tip.x) == pytest.approx((86.0, 86.0), abs=0.1)
    assert any("Slit 1 " in note for note in notes_said(made.notes, {}))


def curved_slit() -> Piece:
    piece = curved_hem()
    foot = next(p for p in (run_point_at(piece.edge("hem").segments, i / 10) for i in range(3000)) if p.x >= 80)
    return replace(piece, slits=(Slit("s1", (foot, Point(80, 40))),))


def test_a_fold_across_a_slit_shortens_it_and_leaves_its_foot_on_the_hem() -> None:
    made = folded(sheet(), (-10, 30), (310, 30), 10.0)
    (slit,) = only(made.pattern).slits
    assert slit.line == (Point(80, 0), Point(80, 50))
    assert any("Slit 1 " in note for note in notes_said(made.notes, {}))


def test_a_spread_fills_its_gap_in_the_edges_and_lengthens_the_levels() -> None:
    made = upright(sheet(), -INCH)
    assert station_width(made, "waist") == pytest.approx(300 + INCH)
    assert edge_length(made.edge("hem")) == pytest.approx(300 + INCH)
    assert piece_area(made) == pytest.approx((300 + INCH) * 400)


def test_a_spread_at_one_end_hinged_at_the_other_opens_by_its_amount() -> None:
    made = only(folded(sheet(), (150, 400), (150, 0), -INCH, 0.0, move="right").pattern)
    gained = line_length(made.levels["top"]) - 300
    assert gained == pytest.approx(INCH * 0.75, abs=0.03)
    assert polygon(made).is_valid


def test_the_hinge_may_be_a_corner_which_stays_where_it_is() -> None:
    made = only(folded(sheet(), (0, 250), (300, 0), 20.0, 0.0, move="right").pattern)
    assert distance(made.edge("back").start, Point(300, 0)) < 1e-9
    assert piece_mistakes(made, "sheet") == []


def test_a_fold_over_a_corner_sets_the_corner_on_the_closing_line() -> None:
    made = folded(sheet(), (300, 0), (0, 300), 20.0, move="left")
    assert piece_mistakes(only(made.pattern), "sheet") == []
    assert [e.name for e in only(made.pattern).edges] == ["hem", "back", "neck", "front"]


def test_a_fold_through_several_prongs_moves_them_all() -> None:
    points = [(0, 0), (90, 0), (90, 100), (70, 100), (70, 30), (50, 30), (50, 100), (30, 100), (30, 30), (0, 30)]
    run = [Line(Point(*p), Point(*q)) for p, q in zip(points, points[1:] + points[:1], strict=True)]
    comb = Piece(
        "comb", "single", "both",
        (
            Edge("hem", "bottom", tuple(run[:1])), Edge("back", "seam", tuple(run[1:2])),
            Edge("neck", "top", tuple(run[2:9])), Edge("front", "seam", tuple(run[9:])),
        ),
    )  # fmt: skip
    made = only(folded(comb, (-5, 65), (95, 65), 10.0).pattern)
    assert piece_area(made) == pytest.approx(piece_area(comb) - 2 * 20 * 10)
    assert [round(s.end.y, 9) for s in made.edge("neck").segments] == [90, 30, 30, 90, 90, 30, 30]


def test_a_line_that_meets_the_piece_again_beyond_its_end_cuts_only_between_its_points(bodies: Pattern) -> None:
    """From the centre front to the armhole; drawn on, the line would cross the back of the one-piece body too."""
    made = Fold("bodies", Point(-5, 150), Point(260, 152), 8.0, 0.0, "left").done(bodies)
    piece, old = made.pattern.pieces[0], bodies.pieces[0]
    assert piece_mistakes(piece, "bodies") == []
    assert piece.edge("lacing") == old.edge("lacing")
    assert piece.landmarks["bust-point"] != old.landmarks["bust-point"]
    assert piece.landmarks["strap-back"] == old.landmarks["strap-back"]


def test_every_panel_of_the_corset_can_be_folded_lengthwise_and_across(corset: Pattern) -> None:
    for piece in corset.pieces:
        middle = sum(p.x for e in piece.edges for p in (e.start,)) / len(piece.edges)
        for do in (
            Fold(piece.name, Point(middle, -400), Point(middle, 400), 10.0, 6.0, "left"),
            Fold(piece.name, Point(middle - 300, 40), Point(middle + 300, 60), 12.7, -6.0, "right"),
        ):
            made = do.done(corset)
            assert piece_mistakes(made.pattern.piece(piece.name), piece.name) == []
            assert [e.name for e in made.pattern.piece(piece.name).edges] == [e.name for e in piece.edges]


@pytest.mark.parametrize(
    ("do", "words"),
    [
        (Fold("sheet", Point(500, 0), Point(500, 400), 10, 10, "left"), "does not cross"),
        (Fold("sheet", Point(150, 100), Point(150, 400), 10, 0, "left"), "from: .*lies inside"),
        (Fold("sheet", Point(150, 0), Point(150, 300), 10, 0, "left"), "to: .*lies inside.*dart"),
        (Fold("sheet", Point(150, 0), Point(150, 1), 10, 10, "left"), "one and the same"),
        (Fold("sheet", Point(150, 0), Point(150, math.nan), 10, 10, "left"), "not a number"),
        (Fold("sheet", Point(150, 0), Point(150, 400), 10, 10, "up"), "no side"),  # type: ignore[arg-type]
        (Fold("shirt", Point(150, 0), Point(150, 400), 10, 10, "left"), "no piece 'shirt'"),
    ],
)
def test_refusals_say_what_is_wrong(do: Fold, words: str) -> None:
    with pytest.raises(FitError, match=words):
        do.done(alone(sheet()))


def test_a_strip_wider_than_the_paper_is_refused_with_the_width_there_is_room_for() -> None:
    wide = Fold("sheet", Point(150, -10), Point(150, 410), 310.0, 310.0, "left")
    with pytest.raises(FitError, match="room for is about") as caught:
        operations.do(alone(replace(sheet(), slits=())), [wide])
    assert "11 13/16 in" in str(caught.value) or "11 3/4 in" in str(caught.value)


def test_an_edge_may_not_fall_away_altogether() -> None:
    with pytest.raises(FitError, match=r"Take a smaller amount|room for"):
        folded(sheet(), (290, -10), (290, 410), 60.0)


def test_the_old_pattern_is_untouched() -> None:
    pattern = alone(sheet())
    Fold("sheet", Point(150, 0), Point(150, 400), 10, 10, "left").done(pattern)
    assert pattern == alone(sheet())


def test_a_channel_beside_the_strip_keeps_its_length() -> None:
    made = upright(sheet(), INCH)
    assert [channel_length(c) for c in made.channels] == [channel_length(c) for c in sheet().channels]


def test_work_grows_about_with_the_number_of_segments() -> None:
    def spent(count: int, size: float = 900) -> float:
        points = [
            Point(size * math.cos(2 * math.pi * i / count), size * math.sin(2 * math.pi * i / count))
            for i in range(count)
        ]
        run = smooth_through([*points, points[0]])
        half = count // 2
        disc = Piece("disc", "single", "both", (Edge("neck", "top", run[:half]), Edge("hem", "bottom", run[half:])))
        start = time.process_time()
        folded(disc, (100, -1000), (150, 1000), 20.0, 10.0)
        return time.process_time() - start

    spent(50)
    least = {count: min(spent(count, 900 + turn) for turn in range(3)) for count in (1000, 4000)}
    assert least[4000] < 12 * max(least[1000], 0.02)


def test_a_four_sided_piece_leaning_every_way_keeps_its_area_but_for_the_strip() -> None:
    piece = shut([Point(0, 0), Point(260, -30), Point(300, 390), Point(-20, 420)])
    made = folded(piece, (120, -60), (150, 460), 15.0)
    strip = Polygon([(112.5, -60), (127.5, -60), (157.5, 460), (142.5, 460)])
    lost = polygon(piece).intersection(strip).area
    moved = sum(one.by_mm * one.reach_mm for one in made.trued)
    assert piece_area(only(made.pattern)) == pytest.approx(piece_area(piece) - lost, abs=moved + 20.0)


def test_a_spread_that_opens_at_a_corner_fills_the_edge_that_runs_on_across_it() -> None:
    made = only(folded(sheet(), (300, 400), (0, 0), -20.0, 0.0, move="left").pattern)
    assert piece_mistakes(made, "sheet") == []
    assert piece_area(made) == pytest.approx(120_000 + 500 * 20 / 2, rel=0.01)
    grown = {e.name: edge_length(e) - edge_length(sheet().edge(e.name)) for e in made.edges}
    assert grown["hem"] == pytest.approx(0.0, abs=0.01)
    assert grown["back"] + grown["neck"] == pytest.approx(20.0, abs=3.0)  # less what rounding the corner saves


def test_a_corner_that_falls_away_is_set_on_the_edge_that_has_to_stay_straight() -> None:
    piece = replace(sheet(back="lacing"), slits=(), channels=())
    made = only(folded(piece, (150, -10), (300, 30), 4.0, move="left").pattern)
    assert len(made.edge("back").segments) == 1
    piece = replace(piece, levels={})
    over = only(folded(piece, (302, -2), (-2, 302), 20.0, move="left").pattern)
    assert len(over.edge("back").segments) == 1
    assert over.edge("back").end == over.edge("neck").start


def test_a_strip_that_runs_along_an_edge_it_does_not_cross_is_refused() -> None:
    bowed = replace(curved_hem(), levels={})
    with pytest.raises(FitError):
        folded(bowed, (10, 3), (290, 3), 60.0)


def test_a_step_of_more_than_two_inches_is_refused() -> None:
    with pytest.raises(FitError, match=r"stepped by|far side"):
        folded(leaning(60.0), (-10, 200), (900, 200), 60.0)


def test_a_closed_outline_that_would_touch_itself_is_refused_with_the_place() -> None:
    """A horseshoe whose prongs are turned towards each other until they touch."""
    points = [(0, 0), (200, 0), (200, 300), (150, 300), (150, 60), (50, 60), (50, 300), (0, 300)]
    run = [Line(Point(*p), Point(*q)) for p, q in zip(points, points[1:] + points[:1], strict=True)]
    shoe = Piece(
        "shoe", "single", "both",
        (
            Edge("hem", "bottom", tuple(run[:1])), Edge("back", "seam", tuple(run[1:2])),
            Edge("neck", "top", tuple(run[2:7])), Edge("front", "seam", tuple(run[7:])),
        ),
    )  # fmt: skip
    with pytest.raises(FitError, match=r"touches itself near .* room for is about"):
        operations.do(alone(shoe), [Fold("shoe", Point(100, 60), Point(100, 0), 40.0, 0.0, "left")])
