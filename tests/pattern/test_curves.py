"""The geometry of segments and runs: by hand, as properties, at awkward curves, against svgpathtools and mpmath."""

from __future__ import annotations

import math
from itertools import pairwise

import mpmath
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import Polygon
from svgpathtools import CubicBezier

from diagnose.errors import FitError
from diagnose.pattern.geometry.arclength import length, t_at_length
from diagnose.pattern.geometry.bezier import area, derivative, flatten, moved, part, point_at, reverse, split, tangent
from diagnose.pattern.geometry.hits import line_hits, nearest
from diagnose.pattern.geometry.plane import distance, turn
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_point_at, run_split, smooth_through
from diagnose.pattern.outline import Cubic, Line, Point, Segment
from diagnose.pattern.tolerances import SLIVER_MM

unhurried = settings(max_examples=60, deadline=None)
spots = st.builds(Point, st.floats(-500, 500), st.floats(-500, 500))
cubics = st.builds(Cubic, spots, spots, spots, spots)
ARCH = Cubic(Point(0, 0), Point(0, 40), Point(60, 40), Point(60, 0))
CUSP = Cubic(Point(0, 0), Point(100, 100), Point(0, 100), Point(100, 0))


def test_a_parabola_is_as_long_as_its_formula_says() -> None:
    parabola = Cubic(Point(0, 0), Point(20, 20), Point(40, 20), Point(60, 0))
    # y = x - x²/60: the closed form of its length, 2·∫sqrt(1 + u²) over half of it (geometry).
    assert length(parabola) == pytest.approx(30.0 * (math.sqrt(2.0) + math.asinh(1.0)), rel=1e-12)


def test_an_arc_of_six_inches_with_half_an_inch_of_bulge_is_a_ninth_of_an_inch_longer_than_its_chord() -> None:
    """Geometry (circle): 0.11 in at 1/2 in of bulge, 0.43 in at 1 in."""
    for bulge, more in ((0.5, 0.11), (1.0, 0.43)):
        radius = (9.0 + bulge * bulge) / (2.0 * bulge)
        half = math.asin(3.0 / radius)
        points = [
            Point(25.4 * radius * math.sin(a), 25.4 * radius * math.cos(a))
            for a in (half * (i / 8 - 1) for i in range(17))
        ]
        assert run_length(smooth_through(points)) / 25.4 - 6.0 == pytest.approx(more, abs=0.01)


@unhurried
@given(cubics)
def test_length_oracle_svgpathtools_agrees(cubic: Cubic) -> None:
    size = sum(distance(p, q) for p, q in pairwise((cubic.start, cubic.c1, cubic.c2, cubic.end)))
    slowest = min(math.hypot(*derivative(cubic, i / 64)) for i in range(65))
    assume(slowest > 0.1 * size)  # their rule misses where a curve all but turns on the spot; the next tests do not
    theirs = CubicBezier(*(complex(p.x, p.y) for p in (cubic.start, cubic.c1, cubic.c2, cubic.end)))
    assert length(cubic) == pytest.approx(theirs.length(error=1e-9), rel=1e-7, abs=1e-7)


def test_a_curve_that_doubles_back_on_itself_is_as_long_as_the_way_there_and_back() -> None:
    back = Cubic(Point(0, 0), Point(115, 0), Point(116, 0), Point(0, 0))
    t = (math.sqrt(684.0**2 + 36.0 * 345.0) - 684.0) / 18.0  # where x = 345t - 342t² - 3t³ turns
    assert length(back) == pytest.approx(2.0 * (345.0 * t - 342.0 * t * t - 3.0 * t**3), rel=1e-9)


NEARLY_TURNING = Cubic(Point(8, 76), Point(2, -491.7109375), Point(0.953125, 35.02524748811106), Point(0, 0))


@pytest.mark.parametrize(
    "cubic", [ARCH, CUSP, NEARLY_TURNING, Cubic(Point(3, 1), Point(90, -40), Point(-70, 55), Point(12, 160))]
)
def test_length_oracle_mpmath_agrees_to_a_thousand_millionth(cubic: Cubic) -> None:
    mpmath.mp.dps = 30
    points = (cubic.start, cubic.c1, cubic.c2, cubic.end)

    def speed(t: mpmath.mpf) -> mpmath.mpf:
        return mpmath.sqrt(
            sum(
                (3 * (1 - t) ** 2 * (b - a) + 6 * (1 - t) * t * (c - b) + 3 * t * t * (d - c)) ** 2
                for a, b, c, d in ([p[axis] for p in points] for axis in (0, 1))
            )
        )

    exact = mpmath.quad(speed, [mpmath.mpf(i) / 64 for i in range(65)])
    assert abs(length(cubic) - exact) / exact < 1e-9


@unhurried
@given(st.lists(st.tuples(st.floats(0.0, 6.3), st.floats(0.0, 0.15)), min_size=3, max_size=3))
def test_length_of_a_gentle_curve_is_that_of_its_sixteen_parts(bends: list[tuple[float, float]]) -> None:
    # Legs of about 100 mm, each up to 15 mm aside of straight on: these are measured by the coarser rules.
    points = [Point(0.0, 0.0)]
    for angle, aside in bends:
        points.append(
            Point(points[-1].x + 100 + 100 * aside * math.cos(angle), points[-1].y + 100 * aside * math.sin(angle))
        )
    parts: list[Segment] = [Cubic(*points)]
    for _ in range(4):
        parts = [half for one in parts for half in split(one, 0.5)]
    assert length(Cubic(*points)) == pytest.approx(sum(map(length, parts)), rel=2e-10)


ACCIDENTS = (
    ((0.0, -147.0), (94.0, -484.0), (196.0, 0.0), (0.0, 194.0)),
    ((1.0, 0.0), (0.0, 1.5), (461.0, -327.0), (0.0, 0.0)),
)


@pytest.mark.parametrize("points", ACCIDENTS)
def test_length_is_true_where_two_rules_agree_by_accident(points: tuple[tuple[float, float], ...]) -> None:
    cubic = Cubic(*(Point(*point) for point in points))
    parts: list[Segment] = [cubic]
    for _ in range(6):
        parts = [half for one in parts for half in split(one, 0.5)]
    assert length(cubic) == pytest.approx(sum(map(length, parts)), rel=1e-9)


@unhurried
@example(Cubic(Point(0.0, 0.5), Point(0.5, 0.5), Point(-201.0, 0.0), Point(0.0, 0.0)), 0.5)  # a hairpin near its start
@given(cubics, st.floats(0.01, 0.99))
def test_two_parts_are_together_as_long_as_the_whole_and_meet(cubic: Cubic, t: float) -> None:
    head, tail = split(cubic, t)
    assert head.end == tail.start
    assert (head.start, tail.end) == (cubic.start, cubic.end)
    assert length(head) + length(tail) == pytest.approx(length(cubic), rel=1e-9, abs=1e-9)
    assert distance(point_at(tail, 0.5), point_at(cubic, (1.0 + t) / 2.0)) < 1e-9


@unhurried
@given(cubics, st.floats(0.0, 1.0))
def test_the_place_at_a_length_lies_that_far_along(cubic: Cubic, share: float) -> None:
    wanted = share * length(cubic)
    t = t_at_length(cubic, wanted)
    assert (length(part(cubic, 0.0, t)) if t > 0.0 else 0.0) == pytest.approx(wanted, rel=1e-9, abs=1e-7)


def test_lengths_beyond_an_end_give_that_end() -> None:
    assert [t_at_length(ARCH, mm) for mm in (-1.0, 0.0, 1e6)] == [0.0, 0.0, 1.0]


@unhurried
@given(cubics, st.floats(0.0, 1.0))
def test_reversing_turns_the_direction_round(cubic: Cubic, t: float) -> None:
    assert distance(point_at(reverse(cubic), 1.0 - t), point_at(cubic, t)) < 1e-9
    if math.hypot(*derivative(cubic, t)) > 1.0:  # near a cusp rounding may tip the direction over
        there, back = tangent(cubic, t), tangent(reverse(cubic), 1.0 - t)
        assert distance(there, Point(-back.x, -back.y)) < 1e-6


@pytest.mark.parametrize(
    ("cubic", "t", "way"),
    [
        (Cubic(Point(0, 0), Point(0, 0), Point(10, 0), Point(10, 10)), 0.0, Point(1, 0)),
        (Cubic(Point(0, 0), Point(0, 0), Point(0, 0), Point(0, 10)), 0.0, Point(0, 1)),
        (Cubic(Point(0, 0), Point(10, 0), Point(10, 10), Point(10, 10)), 1.0, Point(0, 1)),
        (Cubic(Point(0, 0), Point(0, 10), Point(0, 10), Point(0, 10)), 1.0, Point(0, 1)),
        (Cubic(Point(5, 5), Point(5, 5), Point(5, 5), Point(5, 5)), 0.5, Point(0, 0)),
        (CUSP, 0.5, Point(0, -1)),
    ],
)
def test_direction_holds_where_a_handle_has_no_length(cubic: Cubic, t: float, way: Point) -> None:
    assert distance(tangent(cubic, t), way) < 1e-6


@unhurried
@given(cubics, spots, spots)
def test_every_hit_lies_on_both_the_segment_and_the_line(cubic: Cubic, a: Point, b: Point) -> None:
    if distance(a, b) < 1.0:
        return
    hits = line_hits(cubic, a, b)
    assert [t for t, _ in hits] == sorted(t for t, _ in hits)
    for t, s in hits:
        on_line = Point(a.x + (b.x - a.x) * s, a.y + (b.y - a.y) * s)
        assert distance(point_at(cubic, t), on_line) < 1e-9 * max(1.0, abs(s))


@unhurried
@given(cubics, spots, spots)
def test_hits_oracle_signs_along_a_fine_walk_change_as_often(cubic: Cubic, a: Point, b: Point) -> None:
    size = distance(a, b)
    if size < 1.0:
        return
    heights = [
        ((p.x - a.x) * (a.y - b.y) + (p.y - a.y) * (b.x - a.x)) / size
        for p in (point_at(cubic, i / 4000) for i in range(4001))
    ]
    if min(map(abs, (heights[0], heights[-1]))) < 0.1:
        return
    changes = sum((u < 0.0) != (v < 0.0) for u, v in pairwise(heights))
    inner = [h for i, h in enumerate(heights[1:-1], 1) if abs(h) <= min(abs(heights[i - 1]), abs(heights[i + 1]))]
    if all(abs(h) > 1e-3 or changes for h in inner):
        assert (len(line_hits(cubic, a, b)) - changes) % 2 == 0
        assert len(line_hits(cubic, a, b)) >= changes


def test_a_touch_counts_once_and_a_near_miss_not_at_all() -> None:
    top = 30.0  # the arch's height: 3/4 of its handles
    assert [round(t, 6) for t, _ in line_hits(ARCH, Point(0, top), Point(1, top))] == [0.5]
    assert len(line_hits(ARCH, Point(0, top - 1e-7), Point(1, top - 1e-7))) == 2
    assert line_hits(ARCH, Point(0, top + 1e-7), Point(1, top + 1e-7)) == []


def test_a_line_through_an_end_hits_it_and_one_along_a_segment_gives_both_ends() -> None:
    straight = Line(Point(0, 0), Point(10, 0))
    assert line_hits(straight, Point(10, -5), Point(10, 5)) == [(1.0, 0.5)]
    assert line_hits(straight, Point(0, 0), Point(5, 0)) == [(0.0, 0.0), (1.0, 2.0)]
    assert line_hits(ARCH, Point(60, 0), Point(60, 1))[-1][0] == 1.0


def test_a_line_needs_two_points() -> None:
    with pytest.raises(FitError, match="one and the same"):
        line_hits(ARCH, Point(1, 1), Point(1, 1))


@unhurried
@given(cubics, st.floats(0.05, 2.0))
def test_chords_stay_within_the_tolerance_of_the_curve(cubic: Cubic, tol: float) -> None:
    points = flatten(cubic, tol)
    assert (points[0], points[-1]) == (cubic.start, cubic.end)
    for i in range(len(points) - 1):
        middle = point_at(cubic, (i + 0.5) / (len(points) - 1))
        assert nearest(Line(points[i], points[i + 1]), middle)[1] <= tol + 1e-9


@unhurried
@given(st.lists(spots, min_size=3, max_size=6))
def test_area_oracle_shapely_agrees_on_a_fine_ring(points: list[Point]) -> None:
    run: list[Segment] = [
        Cubic(p, Point(p.x + 9, p.y - 4), Point(q.x - 7, q.y + 12), q)
        for p, q in zip(points, points[1:] + points[:1], strict=True)
    ]
    ring = [p for s in run for p in flatten(s, 1e-4)[:-1]]
    shoelace = sum(p.x * q.y - q.x * p.y for p, q in zip(ring, ring[1:] + ring[:1], strict=True)) / 2.0
    assert area(run) == pytest.approx(shoelace, abs=1.0)
    shape = Polygon(ring)
    if shape.is_valid:
        assert abs(area(run)) == pytest.approx(shape.area, abs=1.0)


def test_the_area_under_the_arch_is_known_exactly() -> None:
    # 3/20·(u×v + u×w + 2·v×w) of the handles from its start (geometry): clockwise, so negative.
    assert area([ARCH, Line(Point(60, 0), Point(0, 0))]) == pytest.approx(-1440.0, abs=1e-9)


@unhurried
@given(cubics, st.floats(-3.0, 3.0), spots)
def test_turning_keeps_length_and_the_places_on_it(cubic: Cubic, angle: float, about: Point) -> None:
    turned = moved(cubic, turn(about, angle))
    assert length(turned) == pytest.approx(length(cubic), rel=1e-9, abs=1e-9)
    assert distance(point_at(turned, 0.3), turn(about, angle)(point_at(cubic, 0.3))) < 1e-9


@unhurried
@given(cubics, spots)
def test_the_nearest_place_is_no_further_than_any_of_a_fine_walk(cubic: Cubic, point: Point) -> None:
    t, away = nearest(cubic, point)
    assert away == pytest.approx(distance(point_at(cubic, t), point), abs=1e-12)
    assert away <= min(distance(point_at(cubic, i / 500), point) for i in range(501)) + 1e-6


@unhurried
@given(st.lists(spots, min_size=3, max_size=8, unique=True))
def test_a_curve_through_points_passes_them_and_has_no_corner(points: list[Point]) -> None:
    if min(distance(p, q) for p, q in pairwise(points)) < 1.0:
        return
    run = smooth_through(points)
    assert [run[0].start, *(s.end for s in run)] == points
    for a, b in pairwise(run):
        out, on = tangent(a, 1.0), tangent(b, 0.0)
        if distance(a.c2, a.end) > 1e-6:
            assert distance(out, on) < 1e-6


def test_a_curve_through_points_leaves_and_arrives_as_told() -> None:
    run = smooth_through([Point(0, 0), Point(50, 20), Point(90, 0)], Point(0, 2), Point(1, 0))
    assert distance(tangent(run[0], 0.0), Point(0, 1)) < 1e-12
    assert distance(tangent(run[-1], 1.0), Point(1, 0)) < 1e-12
    with pytest.raises(FitError, match="two different points"):
        smooth_through([Point(1, 1), Point(1, 1)])


@unhurried
@given(st.floats(0.0, 1.0))
def test_a_run_cut_anywhere_keeps_its_length(share: float) -> None:
    run = (Line(Point(0, -80), Point(0, 0)), ARCH, Line(Point(60, 0), Point(60, -40)))
    whole = run_length(run)
    head, tail = run_split(run, share * whole)
    assert run_length(head) == pytest.approx(share * whole, abs=SLIVER_MM)
    assert run_length(head) + run_length(tail) == pytest.approx(whole, abs=1e-8)
    place = run_point_at(run, share * whole)
    assert run_nearest(run, place)[1] < 1e-6


def test_a_run_cut_at_a_joint_leaves_no_sliver() -> None:
    run = (Line(Point(0, -80), Point(0, 0)), ARCH)
    assert run_split(run, 80.0) == ((run[0],), (run[1],))
    assert run_split(run, 0.0) == ((), run)
    assert run_split(run, 1e9) == (run, ())
