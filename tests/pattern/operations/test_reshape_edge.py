"""Reshaping an edge: a hump by hand, what must not move, corners, ends, and what other libraries measure."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper import curved, edge, oblong, one, ring
from shapely import LineString, Polygon
from svgpathtools import CubicBezier
from svgpathtools import Line as StraightLine

from diagnose.errors import FitError
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.geometry.bezier import flatten, tangent
from diagnose.pattern.geometry.runs import run_point_at
from diagnose.pattern.measure import edge_length, edge_point_at, piece_area, station_width
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.outline import Channel, Cubic, Line, Notch, Pattern, Piece, Point, Slit

HALF_INCH = 12.7


def reshaped(piece: Piece, *edges: str, **how: object) -> Piece:
    do = ReshapeEdge(piece.name, edges, **how)  # type: ignore[arg-type]
    return do.done(one(piece)).pattern.pieces[0]


def raised(piece: Piece, height: float = HALF_INCH, **how: object) -> Piece:
    """The neck of the oblong (which runs from the back, x = 100, to the front) raised between x = 80 and x = 20."""
    places = {"from_": Point(80.0, 200.0), "peak": Point(50.0, 200.0), "to": Point(20.0, 200.0)}
    return reshaped(piece, "neck", **{**places, "height": height, **how})


def neck_points(piece: Piece, tol_mm: float = 1e-4) -> list[Point]:
    return [p for s in piece.edge("neck").segments for p in flatten(s, tol_mm)]


def test_the_peak_rises_by_exactly_the_height_and_the_ends_by_nothing() -> None:
    neck = raised(oblong()).edge("neck")
    assert max(p.y for p in neck_points(raised(oblong()))) == pytest.approx(200.0 + HALF_INCH, abs=1e-9)
    assert [s.start for s in neck.segments[1:]] == [Point(80.0, 200.0), Point(50.0, 212.7), Point(20.0, 200.0)]


def test_everything_beyond_the_ends_is_exactly_where_it_was() -> None:
    before, after = oblong(), raised(oblong())
    assert [e for e in after.edges if e.name != "neck"] == [e for e in before.edges if e.name != "neck"]
    assert after.edge("neck").segments[0] == Line(Point(100.0, 200.0), Point(80.0, 200.0))
    assert after.edge("neck").segments[-1] == Line(Point(20.0, 200.0), Point(0.0, 200.0))


def test_the_new_line_leaves_and_joins_the_old_one_without_a_corner() -> None:
    segments = raised(oblong()).edge("neck").segments
    for before, after in pairwise(segments):
        assert tangent(before, 1.0) == pytest.approx(tangent(after, 0.0), abs=1e-9)


def test_a_hump_on_a_straight_edge_adds_half_its_height_times_its_length() -> None:
    """By hand: the smooth rise 3q² - 2q³ encloses half of the oblong of its height and length."""
    assert piece_area(raised(oblong())) - piece_area(oblong()) == pytest.approx(HALF_INCH * 60.0 / 2.0)


def test_a_level_that_the_edge_does_not_reach_is_not_changed() -> None:
    assert raised(oblong()).levels == oblong().levels


def test_a_level_that_the_edge_cuts_into_goes_round_it_from_edge_to_edge() -> None:
    dipped = raised(oblong(), height=-40.0)
    level = dipped.levels["top"]
    assert (level[0], level[-1]) == (oblong().levels["top"][0], oblong().levels["top"][-1])
    # 20 mm below the old level at its middle, taut from both ends: not much more than two straight lines.
    straight = 2.0 * math.hypot(50.0, 20.0)
    assert straight <= station_width(dipped, "top") < straight + 2.0


def test_a_channel_that_ended_at_the_old_edge_ends_as_far_from_the_new_one() -> None:
    piece = replace(oblong(), channels=(Channel("c", (Point(50.0, 6.0), Point(50.0, 195.0)), 9.5),))
    assert raised(piece).channels[0].line == (Point(50.0, 6.0), pytest.approx(Point(50.0, 195.0 + HALF_INCH)))


def test_a_channel_that_ended_far_below_stays_and_one_in_the_way_is_cut_back() -> None:
    short = Channel("short", (Point(50.0, 6.0), Point(50.0, 150.0)), 9.5)
    piece = replace(oblong(), channels=(short,))
    assert raised(piece).channels == (short,)
    (cut,) = raised(piece, height=-48.0).channels
    assert cut.line[1] == pytest.approx(Point(50.0, 152.0 - 6.35))


def test_landmarks_notches_and_slits_on_the_edge_go_with_it() -> None:
    slit = Slit("s1", (Point(50.0, 200.0), Point(50.0, 150.0)))
    made = raised(replace(oblong(), notches=(Notch("neck", 50.0),), slits=(slit,), channels=()))
    peak = Point(50.0, 200.0 + HALF_INCH)
    assert made.landmarks["apex"] == pytest.approx(peak)
    assert made.slits[0].line[0] == pytest.approx(peak)
    assert run_point_at(made.edge("neck").segments, made.notches[0].at) == pytest.approx(peak)


def test_places_may_be_given_as_lengths_along_the_edge_and_in_either_order() -> None:
    assert raised(oblong(), from_=80.0, peak=50.0, to=20.0) == raised(oblong())


@pytest.mark.parametrize(
    ("direction", "where"),
    [("out", (110.0, 100.0)), ("in", (90.0, 100.0)), ("up", (100.0, 110.0)), ("down", (100.0, 90.0))],
)
def test_each_direction_is_seen_from_the_maker(direction: str, where: tuple[float, float]) -> None:
    piece = reshaped(oblong(), "back", from_=40.0, peak=100.0, to=160.0, height=10.0, direction=direction)
    assert min(math.dist(s.start, where) for s in piece.edge("back").segments) < 1e-9


def test_a_seams_levels_are_trimmed_to_it() -> None:
    piece = reshaped(oblong(), "back", from_=40.0, peak=100.0, to=160.0, height=10.0, direction="in")
    assert piece.levels["waist"] == (Point(0.0, 100.0), Point(90.0, 100.0))
    assert station_width(piece, "waist") == pytest.approx(90.0)


def test_a_peak_at_the_end_of_the_run_draws_the_adjoining_edge_on() -> None:
    """As at centre front: the neck rises most where it meets the front line, which is drawn on upwards."""
    piece = reshaped(
        oblong(), "neck", from_=Point(60.0, 200.0), peak=Point(0.0, 200.0), to=Point(0.0, 200.0), height=9.0
    )
    assert piece.edge("front").segments == (Line(Point(0.0, 209.0), Point(0.0, 0.0)),)
    assert piece.edge("neck").end == Point(0.0, 209.0)
    assert not piece_mistakes(piece, "")


def test_adjoining_edges_are_reshaped_as_one_and_a_tab_keeps_its_corner() -> None:
    piece = oblong()
    tab = (edge("armhole", "top", (100.0, 200.0), (60.0, 180.0), (50.0, 230.0)),)
    tab = (*tab, edge("neck", "top", (50.0, 230.0), (40.0, 180.0), (0.0, 200.0)))
    piece = replace(
        piece, edges=(*piece.edges[:2], *tab, piece.edges[3]), landmarks={"strap-front": Point(50.0, 230.0)}
    )
    do = {"from_": Point(85.0, 192.5), "peak": Point(50.0, 230.0), "to": Point(15.0, 192.5), "height": 8.0}
    made = reshaped(piece, "neck", "armhole", **do)
    assert made.edge("armhole").end == made.edge("neck").start == Point(50.0, 238.0)
    assert made.landmarks["strap-front"] == Point(50.0, 238.0)
    assert not piece_mistakes(made, "")


def test_no_height_returns_an_equal_pattern() -> None:
    assert raised(oblong(), height=0.0) == oblong()


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"peak": 90.0}, "must lie between"),
        ({"to": 50.0}, "must lie between"),
        ({"from_": Point(80.0, 260.0), "to": 300.0}, "is not on the edge"),
        ({"from_": Point(80.0, 260.0)}, "off the edge"),
        ({"height": -230.0}, None),
    ],
)
def test_places_off_the_edge_or_out_of_order_are_refused(how: dict[str, object], said: str | None) -> None:
    if said is None:
        assert piece_mistakes(raised(replace(oblong(), channels=()), **how), "")  # `do` refuses such an outline
        return
    with pytest.raises(FitError, match=said):
        raised(oblong(), **how)


@pytest.mark.parametrize(
    ("names", "said"), [(("neck", "back"), "different roles"), (("back", "front"), "follow on"), (("nek",), "no edge")]
)
def test_edges_that_do_not_belong_together_are_refused(names: tuple[str, ...], said: str) -> None:
    with pytest.raises(FitError, match=said):
        reshaped(oblong(), *names, from_=10.0, peak=20.0, to=30.0, height=5.0)


def test_an_edge_that_begins_and_ends_the_list_of_edges_is_still_one_run() -> None:
    piece = oblong()
    split = (edge("neck", "top", (30.0, 200.0), (0.0, 200.0)), piece.edge("front"), *piece.edges[:2])
    piece = replace(piece, edges=(*split, edge("neck-2", "top", (100.0, 200.0), (30.0, 200.0))))
    made = reshaped(piece, "neck", "neck-2", from_=20.0, peak=70.0, to=90.0, height=6.0)
    assert made.edge("neck").start == made.edge("neck-2").end == Point(30.0, 206.0)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.05, 0.3), st.floats(0.35, 0.65), st.floats(0.7, 0.95), st.floats(-25.0, 25.0).filter(bool))
def test_a_curved_edge_rises_by_its_height_at_the_peak_and_is_untouched_beyond(
    first: float, middle: float, last: float, height: float
) -> None:
    old = curved().edge("neck").segments
    size = edge_length(curved().edge("neck"))
    made = reshaped(curved(), "neck", from_=first * size, peak=middle * size, to=last * size, height=height)
    peak = run_point_at(old, middle * size)
    wanted = Point(peak.x, peak.y + height)
    assert min(math.dist(s.start, wanted) for s in made.edge("neck").segments) < 1e-6
    line, new = LineString([p for s in old for p in flatten(s, 1e-4)]), made.edge("neck").segments
    outside = [p for s in (new[0], new[-1]) for p in flatten(s, 1.0)]
    assert max(LineString([p, p]).distance(line) for p in outside) < 2e-4
    assert not piece_mistakes(made, "")


def test_oracle_the_highest_place_and_the_length_are_what_svgpathtools_finds() -> None:
    segments = raised(curved(), from_=20.0, peak=60.0, to=90.0).edge("neck").segments
    theirs = [
        CubicBezier(*(complex(*p) for p in (s.start, s.c1, s.c2, s.end)))
        if isinstance(s, Cubic)
        else StraightLine(complex(*s.start), complex(*s.end))
        for s in segments
    ]
    mine = edge_length(raised(curved(), from_=20.0, peak=60.0, to=90.0).edge("neck"))
    assert sum(s.length(error=1e-9) for s in theirs) == pytest.approx(mine, abs=1e-6)
    peak = run_point_at(curved().edge("neck").segments, 60.0)
    assert min(abs(s.start - complex(peak.x, peak.y + HALF_INCH)) for s in theirs) < 1e-6


def test_oracle_the_area_gained_is_what_shapely_measures() -> None:
    before, after = curved(), raised(curved(), from_=20.0, peak=60.0, to=90.0)
    gained = piece_area(after) - piece_area(before)
    assert Polygon(ring(after)).area - Polygon(ring(before)).area == pytest.approx(gained, rel=1e-3)


@pytest.mark.parametrize("height", [6.35, 12.7, 25.4])
def test_a_neckline_raised_before_its_strap_runs_up_to_it_without_a_hollow(bodies: Pattern, height: float) -> None:
    """From its peak the new line goes on rising to the strap's corner, or lies level with it: it never falls back."""
    raw = {"op": "reshape-edge", "piece": "bodies", "edge": ["neck"], "from": [40.6, 211.2], "peak": [141.8, 217.1],
           "to": [180.84, 243.99], "height": height}  # fmt: skip
    neck = do(bodies, parse_operations(raw)).pattern.piece("bodies").edge("neck")
    assert neck.start == bodies.piece("bodies").edge("neck").start
    whole = edge_length(neck)
    heights = [edge_point_at(neck, whole * n / 200).y for n in range(80, -1, -1)]
    fallen = max(max(heights[: n + 1]) - y for n, y in enumerate(heights))
    assert fallen < 1.0


def test_an_end_that_runs_on_across_a_seam_is_still_joined_without_a_corner(corset: Pattern) -> None:
    top = corset.piece("p2").edge("top-edge")
    raw = {"op": "reshape-edge", "piece": "p2", "edge": "top-edge", "from": list(top.start), "peak": [150.0, 209.0],
           "to": list(top.end), "height": 8.0}  # fmt: skip
    made = do(corset, parse_operations(raw)).pattern.piece("p2").edge("top-edge")
    for t, n in ((0.0, 0), (1.0, -1)):
        was, now = tangent(top.segments[n], t), tangent(made.segments[n], t)
        assert math.degrees(math.acos(min(1.0, was.x * now.x + was.y * now.y))) < 0.5


def vertices_deg(segments: tuple[Line | Cubic, ...]) -> list[float]:
    """How much an edge turns where its segments meet."""
    ways = [(tangent(a, 1.0), tangent(b, 0.0)) for a, b in pairwise(segments)]
    return [math.degrees(math.acos(min(1.0, out.x * on.x + out.y * on.y))) for out, on in ways]


def polygonal(step_deg: float) -> Piece:
    """The oblong with its neck hollowed: a polygon on an arc of 80 mm radius whose corners turn by so much."""
    count = 12
    halves = [math.radians(step_deg) * (n - count / 2) for n in range(count + 1)]
    low = 80.0 * math.cos(halves[0])
    spots = [Point(50.0 - 80.0 * math.sin(at), 200.0 + low - 80.0 * math.cos(at)) for at in halves]
    spots = [Point(100.0, 200.0), *spots, Point(0.0, 200.0)]
    return oblong().with_edge(replace(oblong().edge("neck"), segments=tuple(Line(a, b) for a, b in pairwise(spots))))


def test_a_polygon_that_stands_for_a_curve_comes_out_no_rougher_than_it_was() -> None:
    """Each of the arc's sides turns 5 degrees from the one before; within what is raised no corner is left."""
    piece = polygonal(5.0)
    ends = piece.edge("neck").segments[1].start, piece.edge("neck").segments[-1].start
    peak = edge_point_at(piece.edge("neck"), 0.5 * edge_length(piece.edge("neck")))
    made = reshaped(piece, "neck", from_=ends[0], peak=peak, to=ends[1], height=-8.0).edge("neck").segments
    inner = vertices_deg(made)[1:-1]
    assert max(inner) < 0.1
    assert max(vertices_deg(piece.edge("neck").segments)[1:-1]) == pytest.approx(5.0)


def test_a_corner_that_was_cut_so_stays_a_corner() -> None:
    piece = polygonal(16.0)
    neck = piece.edge("neck")
    peak = edge_point_at(neck, 0.5 * edge_length(neck))
    made = reshaped(piece, "neck", from_=neck.segments[1].start, peak=peak, to=neck.segments[-1].start, height=2.0)
    assert sum(turn > 12.0 for turn in vertices_deg(made.edge("neck").segments)) >= 11


def test_a_moved_polygon_that_stands_for_a_curve_comes_out_no_rougher_either() -> None:
    piece = polygonal(3.7)
    by = [{"along": 0, "mm": 0}, {"along": 0.5, "mm": -12.7}, {"along": 1, "mm": 0}]
    made = do(one(piece), parse_operations({"op": "move-edge", "piece": piece.name, "edge": "neck", "by": by})).pattern
    before, after = (vertices_deg(p.edge("neck").segments) for p in (piece, made.pieces[0]))
    assert sorted(after)[-3] < 1.0 < 3.7 == pytest.approx(sorted(before)[-3])
