from __future__ import annotations

import json
import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from stored_forms import panel_json, pattern_json, rectangle_json, zoo

from diagnose.errors import FitError
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.geometry.bezier import outline_points
from diagnose.pattern.measure import (
    bounds,
    channel_length,
    cut_level,
    edge_length,
    edge_point_at,
    edge_x_at,
    garment_girth,
    is_inside,
    mm_of_point,
    piece_area,
    ref_length,
    seam_difference,
    seams_per_half,
    station_width,
)
from diagnose.pattern.outline import EdgeRef, Pattern, Piece, Point, Seam
from diagnose.places import bundled_cases


def zoo_piece(name: str) -> Piece:
    return read_pattern(zoo()[name]).pieces[0]


def with_level(piece: Piece, *points: tuple[float, float]) -> Piece:
    return replace(piece, levels={"waist": tuple(Point(*p) for p in points)})


def test_a_level_square_across_a_rectangle_is_its_width(rectangle: Pattern) -> None:
    assert station_width(rectangle.piece("panel"), "waist") == 200.0


def test_what_overshoots_the_outline_is_not_measured(rectangle: Pattern) -> None:
    piece = with_level(rectangle.pieces[0], (-50, 100), (300, 100))
    assert station_width(piece, "waist") == pytest.approx(200, abs=1e-9)


def test_a_level_along_a_straight_edge_lies_inside(rectangle: Pattern) -> None:
    piece = rectangle.pieces[0]
    assert station_width(piece, "bottom") == 200.0
    assert station_width(with_level(piece, (-50, 300), (250, 300)), "waist") == pytest.approx(200, abs=1e-9)
    assert station_width(with_level(piece, (-50, 3e-6), (250, 3e-6)), "waist") == pytest.approx(200, abs=1e-5)


def test_a_level_off_the_piece_has_no_width(rectangle: Pattern) -> None:
    assert station_width(with_level(rectangle.pieces[0], (-50, 301), (250, 301)), "waist") == 0.0


def test_a_bent_level_is_measured_along_its_bend(rectangle: Pattern) -> None:
    piece = with_level(rectangle.pieces[0], (-30, 100), (100, 100), (100, 140), (230, 140))
    assert station_width(piece, "waist") == pytest.approx(240, abs=1e-9)


def test_a_level_through_a_corner_is_whole() -> None:
    panel = panel_json("p", 0, 100, 0, 100)
    panel["edges"][1]["path"] = [["L", 130, 50], ["L", 100, 100]]
    panel["levels"] = {"waist": [[0, 50], [130, 50]]}
    assert station_width(read_pattern(pattern_json(panel)).pieces[0], "waist") == pytest.approx(130, abs=1e-9)


def test_a_level_through_tabs_is_measured_tab_by_tab() -> None:
    comb = zoo_piece("comb")
    assert station_width(comb, "waist") == pytest.approx(100, abs=1e-9)
    assert station_width(comb, "top") == pytest.approx(60, abs=1e-9)


def test_a_level_that_grazes_the_bottoms_of_gaps_is_whole() -> None:
    assert station_width(zoo_piece("comb"), "underbust") == pytest.approx(100, abs=1e-9)


def test_a_level_through_the_points_of_a_lens_is_its_length_and_a_tangent_one_is_nothing() -> None:
    lens = zoo_piece("lens")
    assert station_width(lens, "waist") == pytest.approx(100, abs=1e-9)
    assert station_width(with_level(lens, (-5, 45), (105, 45)), "waist") == pytest.approx(0, abs=1e-3)
    assert station_width(with_level(lens, (-5, 45.1), (105, 45.1)), "waist") == 0.0


def test_the_level_that_cuts_a_cubic_is_cut_where_the_curve_is() -> None:
    # Lens, upper edge: y(t) = 180 t (1-t), so y = 30 at t(1-t) = 1/6; x(t) = 100 - x(1-t), by hand.
    t = (1 - math.sqrt(1 - 4 / 6)) / 2
    x = 3 * 40 * t * (1 - t) ** 2 + 3 * 60 * t * t * (1 - t) + 100 * t**3
    assert station_width(zoo_piece("lens"), "top") == pytest.approx(100 - 2 * x, abs=1e-9)


def test_a_level_that_stops_short_says_by_how_much(rectangle: Pattern) -> None:
    cut = cut_level(rectangle.pieces[0], (Point(10, 50), Point(185, 50)))
    assert (cut.width, cut.short_start, cut.short_end) == pytest.approx((175, 10, 15))
    over = cut_level(rectangle.pieces[0], (Point(-10, 50), Point(210, 50)))
    assert (over.short_start, over.short_end) == (0, 0)


def test_a_level_of_one_place_has_no_width(rectangle: Pattern) -> None:
    assert cut_level(rectangle.pieces[0], (Point(10, 50), Point(10, 50))).width == 0.0


def test_an_unknown_level_lists_those_there_are(rectangle: Pattern) -> None:
    with pytest.raises(FitError, match=r"has no level 'hip'\. It has: top, waist, bottom"):
        station_width(rectangle.pieces[0], "hip")


def test_girth_counts_pairs_and_folds_twice_and_single_pieces_once() -> None:
    for cut, girth in (("pair", 400.0), ("fold", 400.0), ("single", 200.0)):
        raw = rectangle_json()
        raw["pieces"][0]["cut"] = cut
        assert garment_girth(read_pattern(raw), "waist") == girth


def test_girth_where_no_piece_has_the_level_is_not_known(rectangle: Pattern) -> None:
    assert garment_girth(rectangle, "hip") is None


def test_the_bundled_patterns_have_the_girths_they_were_drawn_for(bodies: Pattern, corset: Pattern) -> None:
    drawn = {
        "top": (33.0, 34.5),
        "underbust": (28.5, 29.0),
        "waist": (24.0, 23.0),
        "hip": (21.6, 33.0),
        "bottom": (20.7, 35.0),
    }
    for station, inches in drawn.items():
        for pattern, wanted in zip((bodies, corset), inches, strict=True):
            assert garment_girth(pattern, station) == pytest.approx(wanted * 25.4, abs=0.5)


def test_the_corsets_levels_meet_at_its_seams(corset: Pattern) -> None:
    for seam in corset.seams:
        a, b = corset.piece(seam.a.piece), corset.piece(seam.b.piece)
        up, down = a.edge(seam.a.edge), b.edge(seam.b.edge)
        for station in a.levels:
            along_a, off_a = mm_of_point(up, a.levels[station][-1])
            along_b, off_b = mm_of_point(down, b.levels[station][0])
            assert along_a == pytest.approx(edge_length(down) - along_b, abs=0.01)
            assert max(off_a, off_b) < 1e-5


def test_the_corsets_partner_edges_match_and_are_notched_at_the_waist(corset: Pattern) -> None:
    for seam in corset.seams:
        assert abs(seam_difference(corset, seam)) < 0.5
        for ref in (seam.a, seam.b):
            piece = corset.piece(ref.piece)
            waist = [mm_of_point(piece.edge(ref.edge), p) for p in piece.levels["waist"]]
            at = next(mm for mm, off in waist if off < 1e-3)
            assert any(notch.edge == ref.edge and abs(notch.at - at) < 0.01 for notch in piece.notches)


def test_a_channel_and_a_slit_are_measured_from_end_to_end(bodies: Pattern, rectangle: Pattern) -> None:
    body = bodies.pieces[0]
    assert all(250 < channel_length(channel) < 340 for channel in body.channels)
    assert ref_length(bodies, EdgeRef("bodies", "slit:slit-1")) == pytest.approx(2.85 * 25.4, abs=0.2)


def test_an_edge_gives_the_point_at_a_length_and_the_length_of_a_point(corset: Pattern) -> None:
    edge = corset.piece("p3").edge("back-seam")
    for mm in (0.0, 50.0, 123.4, edge_length(edge)):
        found, off = mm_of_point(edge, edge_point_at(edge, mm))
        assert (found, off) == pytest.approx((mm, 0.0), abs=1e-6)
    assert edge_point_at(edge, -5) == edge.start
    assert edge_point_at(edge, 1e6) == edge.end


def test_a_point_beside_an_edge_says_how_far_off_it_is(rectangle: Pattern) -> None:
    assert mm_of_point(rectangle.pieces[0].edge("back-edge"), Point(230, 120)) == pytest.approx((120.0, 30.0))


def test_heights_are_crossed_from_front_to_back() -> None:
    assert edge_x_at(zoo_piece("comb"), 50) == pytest.approx((0, 20, 40, 60, 80, 100))
    assert edge_x_at(zoo_piece("comb"), 500) == ()


def test_bounds_hold_the_belly_of_a_curve() -> None:
    box = bounds(zoo_piece("lens"))
    assert (box.left, box.right) == (0, 100)
    assert (box.bottom, box.top) == pytest.approx((-45, 45), abs=1e-12)


def test_seam_difference_is_a_less_b_less_the_ease() -> None:
    front, back = panel_json("front", 0, 50, 0, 100), panel_json("back", 60, 90, 0, 98)
    for panel in (front, back):
        panel["levels"] = {}
    raw = {**pattern_json(front, back), "seams": [
        {"name": "side", "a": ["front", "back-edge"], "b": ["back", "front-edge"], "ease": 0.5}
    ]}  # fmt: skip
    pattern = read_pattern(raw)
    assert seam_difference(pattern, pattern.seams[0]) == pytest.approx(1.5)


def test_seams_of_a_half_leave_out_slits_centre_seams_and_the_right_side(corset: Pattern, bodies: Pattern) -> None:
    assert seams_per_half(corset) == 5
    assert seams_per_half(bodies) == 0
    sleeved = read_pattern(json.loads((bundled_cases() / "patterns" / "sleeved-bodice.json").read_text("utf-8")))
    assert seams_per_half(sleeved) == 1  # its shoulder and its sleeve's seams go round nothing that is laced
    front = EdgeRef("p1", "centre-front")
    slit = Seam("gore", EdgeRef("p2", "hem"), EdgeRef("p3", "slit:s1"))
    more = replace(corset, seams=(*corset.seams, Seam("front", front, front), slit))
    assert seams_per_half(more) == 5
    right = replace(corset.piece("p6"), name="p6-right", side="right", cut="single")
    last = corset.seams[-1]
    split = replace(
        corset,
        pieces=(*corset.pieces, right),
        seams=(*corset.seams, replace(last, name="r", b=EdgeRef("p6-right", last.b.edge))),
    )
    assert seams_per_half(split) == 5


def test_inside_is_told_from_outside_at_corners_and_on_edges() -> None:
    comb = zoo_piece("comb")
    inside = [(10, 90), (50, 50), (50, 10), (0, 0), (100, 100), (20, 60), (90, 20), (50, 0)]
    outside = [(30, 50), (70, 99), (-1, 0), (101, 20), (50, -1e-3), (30, 100)]
    assert all(is_inside(comb, Point(*p)) for p in inside)
    assert not any(is_inside(comb, Point(*p)) for p in outside)


def test_awkward_outlines_measure_as_shapely_does_oracle(awkward: Pattern) -> None:
    piece = awkward.pieces[0]
    ring = shapely.Polygon(outline_points(piece, 1e-4))
    assert piece_area(piece) == pytest.approx(ring.area, rel=1e-5)
    for station, level in piece.levels.items():
        width = ring.intersection(shapely.LineString(level)).length
        assert station_width(piece, station) == pytest.approx(width, abs=2e-3)


@settings(max_examples=80, deadline=None)
@given(
    ends=st.tuples(*[st.integers(-1500, 2500).map(lambda n: n / 10)] * 6),
    bulge=st.tuples(*[st.integers(-40, 40)] * 4),
)
def test_any_level_across_a_curved_piece_measures_as_shapely_does_oracle(
    ends: tuple[float, ...], bulge: tuple[int, ...]
) -> None:
    raw = panel_json("p", 0, 100, 0, 100)
    raw["edges"][1]["path"] = [["C", 100 + bulge[0], 30, 100 + bulge[1], 70, 100, 100]]
    raw["edges"][3]["path"] = [["C", bulge[2], 70, bulge[3], 30, 0, 0]]
    raw["levels"] = {}
    piece = read_pattern(pattern_json(raw)).pieces[0]
    level = [Point(ends[0], ends[1]), Point(ends[2], ends[3]), Point(ends[4], ends[5])]
    ring = shapely.Polygon(outline_points(piece, 1e-4))
    width = sum(ring.intersection(shapely.LineString(pair)).length for pair in pairwise(level))
    assert cut_level(piece, level).width == pytest.approx(width, abs=0.05)
