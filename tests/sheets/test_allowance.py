"""The cutting line: worked by hand, against shapely's own buffer, and never over a fold."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_pieces import four_sided, oblong
from plain_pieces import settings as bundled

from diagnose.errors import FitError
from diagnose.pattern.brought.bringing import load_pattern
from diagnose.pattern.geometry.bezier import outline_points, tangent
from diagnose.pattern.geometry.runs import run_place, run_point_at
from diagnose.pattern.measure import edge_length
from diagnose.pattern.outline import Pattern, Piece, Point, Role
from diagnose.places import bundled_cases
from diagnose.sheets.cutting.allowance import allowances_of, cutting_line, sewn_edges

SEAM: dict[Role, float] = {"seam": 12.7, "lacing": 12.7, "top": 12.7, "bottom": 12.7}


def polygon(points: tuple[Point, ...]) -> shapely.Polygon:
    return shapely.Polygon(points)


def test_an_oblong_grows_by_each_edges_own_allowance_and_not_over_the_fold() -> None:
    ring = cutting_line(oblong(), {"lacing": 25.4, "bottom": 10.0})
    assert polygon(ring).bounds == pytest.approx((0.0, -10.0, 125.4, 200.0))
    assert polygon(ring).area == pytest.approx(125.4 * 210.0)


def test_no_allowance_anywhere_leaves_the_stitching_line() -> None:
    corners = {Point(0.0, 0.0), Point(100.0, 0.0), Point(100.0, 200.0), Point(0.0, 200.0)}
    assert set(cutting_line(oblong(), {})) == corners


def test_a_hem_that_meets_the_fold_at_a_slant_is_cut_off_at_the_fold() -> None:
    """60 degrees inside: the hem's allowance of 10 would reach 10·sin 30° = 5 mm beyond the fold."""
    piece = four_sided((0.0, 0.0), (100.0, 57.735), (100.0, 200.0), (0.0, 200.0))
    ring = polygon(cutting_line(piece, {"bottom": 10.0}))
    left, bottom, *_ = ring.bounds
    assert left == pytest.approx(0.0, abs=1e-9)
    assert bottom == pytest.approx(-10.0 / 0.8660254, abs=1e-3)  # straight down the fold's line: a / sin 60°


def test_a_hem_that_leaves_the_fold_at_a_wide_angle_is_carried_on_to_its_line() -> None:
    piece = four_sided((0.0, 50.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0))
    ring = polygon(cutting_line(piece, {"bottom": 10.0}))
    assert ring.bounds[0] == pytest.approx(0.0, abs=1e-9)
    slant = (1.0 + 0.5**2) ** 0.5
    assert ring.distance(shapely.Point(0.0, 50.0 - 10.0 * slant)) < 1e-6


def test_a_sharp_tip_is_capped_square_and_keeps_its_allowance() -> None:
    """A gore 30 wide and 200 high: a mitre would be 13 allowances long."""
    gore = four_sided((-15.0, 0.0), (15.0, 0.0), (0.0, 200.0), roles=("bottom", "seam", "seam"))
    ring = polygon(cutting_line(gore, {"seam": 12.7}))
    assert 200.0 + 12.0 < ring.bounds[3] < 200.0 + 3.0 * 12.7
    assert ring.exterior.distance(shapely.Point(0.0, 200.0)) > 12.0


def test_a_narrow_piece_has_allowances_that_suit_it() -> None:
    """A gore 18 wide is not given 25.4 a side: half its width, and never under a quarter of an inch."""
    gore = four_sided((-9.0, 0.0), (9.0, 0.0), (0.0, 81.0), roles=("bottom", "seam", "seam"))
    ring = polygon(cutting_line(gore, {"seam": 25.4, "bottom": 12.7}))
    assert ring.bounds[1] == pytest.approx(-9.0, abs=0.2)
    tiny = four_sided((-3.0, 0.0), (3.0, 0.0), (0.0, 40.0), roles=("bottom", "seam", "seam"))
    assert polygon(cutting_line(tiny, {"bottom": 25.4})).bounds[1] == pytest.approx(-6.35, abs=0.01)


def test_edges_that_run_on_smoothly_with_other_allowances_step_square() -> None:
    piece = four_sided((0, 0), (50, 0), (100, 0), (100, 80), (0, 80), roles=("bottom", "seam", "seam", "top", "fold"))
    ring = polygon(cutting_line(piece, {"seam": 10.0}))
    assert ring.area == pytest.approx(100 * 80 + 50 * 10 + 80 * 10 + 10 * 10)


@pytest.mark.parametrize("name", ["p1", "p2", "p3", "p4", "p5", "p6"])
def test_all_alike_agrees_with_shapelys_buffer_as_oracle(corset: Pattern, name: str) -> None:
    piece = corset.piece(name)
    alike: dict[Role, float] = {**SEAM, "opening": 12.7}
    ours = polygon(cutting_line(piece, alike))
    theirs = shapely.Polygon(outline_points(piece, 0.002)).buffer(12.7, join_style="mitre", mitre_limit=3.0)
    length = ours.length
    assert ours.symmetric_difference(theirs).area / length < 0.02


def edges_keep_their_distance(piece: Piece, allowances: dict[Role, float]) -> None:
    """Square outwards from three places of each edge, the cutting line lies the allowance away."""
    ring = polygon(cutting_line(piece, allowances)).exterior
    for edge in piece.edges:
        wanted, size = allowances.get(edge.role, 0.0), edge_length(edge)
        for part in (0.35, 0.5, 0.65):
            index, t = run_place(edge.segments, size * part)
            spot, way = run_point_at(edge.segments, size * part), tangent(edge.segments[index], t)
            ray = shapely.LineString([(spot.x - way.y * k, spot.y + way.x * k) for k in (1.0, -40.0)])
            met = shapely.intersection(ray, ring)
            assert met.distance(shapely.Point(spot)) == pytest.approx(wanted, abs=0.02)


def test_every_edge_of_the_corset_has_its_allowance(corset: Pattern) -> None:
    for piece in corset.pieces:
        edges_keep_their_distance(piece, {"seam": 12.7, "lacing": 25.4, "opening": 15.0})


@settings(max_examples=60, deadline=None)
@given(
    low=st.floats(-30.0, 30.0), high=st.floats(170.0, 230.0), wide=st.floats(60.0, 150.0),
    seam=st.floats(0.0, 25.0), hem=st.floats(0.0, 25.0),
)  # fmt: skip
def test_the_cutting_line_holds_the_piece_and_stays_off_the_fold(
    low: float, high: float, wide: float, seam: float, hem: float
) -> None:
    piece = four_sided((0.0, 0.0), (wide, low), (wide * 0.9, high), (0.0, 200.0))
    ring = polygon(cutting_line(piece, {"lacing": seam, "bottom": hem}))
    assert ring.is_valid
    assert ring.bounds[0] >= -1e-6
    assert ring.buffer(1e-6).contains(shapely.Polygon(outline_points(piece, 0.01)))
    edges_keep_their_distance(piece, {"lacing": seam, "bottom": hem})


def test_an_armhole_that_a_sleeve_is_sewn_into_has_the_seams_allowance() -> None:
    bodice = load_pattern(Path(bundled_cases()) / "patterns" / "sleeved-bodice.json")
    for name, edge in (("front", "armhole"), ("sleeve", "cap-back")):
        piece = bodice.piece(name)
        assert edge in sewn_edges(bodice, piece)
        line = piece.edge(edge)
        middle = run_point_at(line.segments, edge_length(line) / 2.0)
        ring = shapely.LinearRing(cutting_line(piece, allowances_of(bundled()), sewn_edges(bodice, piece)))
        assert ring.distance(shapely.Point(middle)) == pytest.approx(12.7, abs=0.05)
    neck = bodice.piece("front").edge("neck")
    middle = run_point_at(neck.segments, edge_length(neck) / 2.0)
    ring = shapely.LinearRing(
        cutting_line(bodice.piece("front"), allowances_of(bundled()), sewn_edges(bodice, bodice.piece("front")))
    )
    assert ring.distance(shapely.Point(middle)) == pytest.approx(0.0, abs=0.05)


def test_the_settings_bind_top_and_bottom_and_leave_the_fold_out() -> None:
    found = allowances_of(bundled())
    assert found["top"] == found["bottom"] == 0.0
    assert found["seam"] == pytest.approx(12.7)  # half an inch: common practice, no source
    assert "fold" not in found


def test_chosen_allowances_take_the_place_of_the_settings() -> None:
    assert allowances_of(bundled(), {"top": 15.0})["top"] == 15.0


def test_all_wrong_allowances_are_said_at_once() -> None:
    with pytest.raises(FitError) as caught:
        allowances_of(bundled(), {"seem": 5.0, "fold": 5.0, "top": -1.0, "seam": float("nan")})
    assert [m.where for m in caught.value.mistakes] == [
        "allowance seem", "allowance fold", "allowance top", "allowance seam",
    ]  # fmt: skip
