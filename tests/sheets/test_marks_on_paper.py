"""Marks inside a piece are told so that a ruler, a square and a pair of compasses find them again."""

from __future__ import annotations

import math

import pytest
from paper_and_pencil import Table
from plain_pieces import four_sided, oblong

from diagnose.pattern.outline import Cubic, Edge, Line, Piece, Point
from diagnose.sheets.hand.figures import Arcs, AtPlace, Corner, Inset, OnEdge
from diagnose.sheets.hand.paper_places import Desk, arcs_cross, corner_words, edge_words, side_words, within

LARGE = oblong(600.0, 800.0)
NOTCHED = four_sided(
    (0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (160.0, 300.0), (150.0, 200.0), (140.0, 300.0), (0.0, 300.0),
    roles=("bottom", "seam", "top", "top", "top", "top", "seam"),
)  # fmt: skip


def test_a_mark_far_from_every_edge_is_struck_by_arcs_from_two_corners() -> None:
    """The middle of 600 by 800 lies 500 from each corner (3, 4, 5), and 300 from the nearest edge."""
    found = within(Desk("mm"), LARGE, Point(300.0, 400.0))
    (arcs,) = found.figures
    assert isinstance(arcs, Arcs)
    assert (arcs.first_mm, arcs.second_mm) == (500.0, 500.0)
    assert found.words.startswith("mark A inside the piece, 500 mm")
    assert found.words.endswith("(strike an arc from each)")
    assert math.dist(found.spot, (300.0, 400.0)) < 1e-9


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("spot", [(300.0, 400.0), (200.0, 250.0), (410.0, 590.0), (195.0, 610.0), (333.0, 200.0)])
def test_arcs_struck_on_paper_meet_within_a_ruler_s_division_of_the_mark(unit: str, spot: tuple[float, float]) -> None:
    desk = Desk(unit)  # type: ignore[arg-type]
    found = within(desk, LARGE, Point(*spot))
    assert isinstance(found.figures[0], Arcs)
    table = Table(LARGE)
    table.follow(list(found.figures))
    assert math.dist(table.marks[found.mark], spot) <= desk.step_mm
    assert math.dist(table.marks[found.mark], found.spot) < 1e-6
    assert desk.spots == {found.mark: found.spot}


def test_arcs_are_struck_from_the_corners_whose_arcs_cross_squarest() -> None:
    """From (200, 250) the arcs about the two near bottom corners cross at 83 degrees; about opposite corners hardly."""
    (arcs,) = within(Desk("mm"), LARGE, Point(200.0, 250.0)).figures
    assert isinstance(arcs, Arcs)
    ends = [Table(LARGE)._place(corner) for corner in (arcs.first, arcs.second)]
    ways = [math.atan2(250.0 - y, 200.0 - x) for x, y in ends]
    assert abs(math.sin(ways[0] - ways[1])) > 0.95


@pytest.mark.parametrize(
    ("radii", "left", "spot"),
    [
        ((60.0, 80.0), True, (36.0, 48.0)),  # 6, 8, 10: a right angle
        ((60.0, 80.0), False, (36.0, -48.0)),
        ((30.0, 40.0), True, (46.5, 0.0)),  # 30 mm short of meeting: a place in the gap from 30 to 60
    ],
)
def test_where_arcs_cross(radii: tuple[float, float], left: bool, spot: tuple[float, float]) -> None:
    found = arcs_cross(Point(0.0, 0.0), radii[0], Point(100.0, 0.0), radii[1], left=left)
    assert found == pytest.approx(spot)


@pytest.mark.parametrize(("off", "kind"), [(0.0, OnEdge), (0.4, OnEdge), (40.0, Inset)])
def test_a_mark_as_good_as_on_an_edge_is_measured_along_it(off: float, kind: type) -> None:
    found = within(Desk("mm"), oblong(), Point(100.0 - off, 60.0))
    assert [type(figure) for figure in found.figures] == [kind]
    assert found.words.startswith("from the bottom of the back measure 60 mm")


def test_a_mark_at_a_landmark_is_told_by_its_name() -> None:
    found = within(Desk("in"), oblong(landmarks={"bust-point": Point(40.0, 90.0)}), Point(40.3, 90.0))
    assert found.words == "mark A at the bust point"
    assert found.figures == (AtPlace("A", "front", "bust-point"),)
    assert found.spot == (40.0, 90.0)


def test_a_mark_nearest_to_a_corner_that_juts_in_is_measured_from_the_next_edge() -> None:
    """Under the tip of a notch no edge lies square to the mark; the seams do, 150 to the side, the hem 170 below."""
    found = within(Desk("mm"), NOTCHED, Point(150.0, 170.0))
    (inset,) = found.figures
    assert isinstance(inset, Inset)
    assert (inset.edge, inset.in_mm) in (("e1", 150.0), ("e6", 150.0))
    assert found.spot == pytest.approx((150.0, 170.0))


@pytest.mark.parametrize(
    ("corner", "words"),
    [
        (Corner("e1", "start"), "the front end of the e1 seam"),
        (Corner("e1", "end"), "the back end of the e1 seam"),
        (Corner("e3", "start"), "where the e3 edge meets the e2 edge"),
    ],
)
def test_the_corners_of_a_seam_that_lies_flat_are_its_front_and_back_ends(corner: Corner, words: str) -> None:
    piece = four_sided(
        (0.0, 0.0), (50.0, -20.0), (250.0, 10.0), (250.0, 100.0), (0.0, 100.0),
        roles=("bottom", "seam", "bottom", "top", "top"),
    )  # fmt: skip
    assert corner_words(piece, corner) == words
    assert edge_words(piece.edge(corner.edge)) in words


def lens() -> Piece:
    """Two arched edges that every upright line crosses."""
    ends = Point(0.0, 0.0), Point(100.0, 0.0)
    low = Cubic(ends[0], Point(30.0, -40.0), Point(70.0, -40.0), ends[1])
    high = Cubic(ends[1], Point(70.0, 40.0), Point(30.0, 40.0), ends[0])
    return Piece("lens", "single", "both", (Edge("hem", "bottom", (low,)), Edge("top", "top", (high,))))


@pytest.mark.parametrize(
    ("line", "left", "words"),
    [
        (((50.0, -60.0), (50.0, 60.0)), 1.0, "the part towards the front"),
        (((50.0, -60.0), (50.0, 60.0)), -1.0, "the part towards the back"),
        (((50.0, 60.0), (50.0, -60.0)), 1.0, "the part towards the back"),
        (((0.0, 0.0), (100.0, 0.0)), 1.0, "the part with the top"),
        (((0.0, 0.0), (100.0, 0.0)), -1.0, "the part with the hem"),
    ],
)
def test_a_side_of_a_line_is_named_by_an_edge_in_it_else_by_its_way(
    line: tuple[tuple[float, float], tuple[float, float]], left: float, words: str
) -> None:
    a, b = (Point(*spot) for spot in line)
    assert side_words(lens(), a, b, left) == words


def test_a_part_with_a_seam_is_named_by_the_seam_before_the_hem() -> None:
    assert side_words(oblong(), Point(50.0, -10.0), Point(50.0, 210.0), -1.0) == "the part with the back"


def test_marks_go_on_after_z_without_i_and_o() -> None:
    desk = Desk("in")
    letters = [desk.letter() for _ in range(26)]
    assert len(set(letters)) == 26
    assert {"I", "O"}.isdisjoint(letters)
    assert letters[-3:] == ["Z", "A'", "B'"]


def test_a_straight_edge_of_no_named_kind_is_called_by_what_it_is() -> None:
    spots = (Point(0.0, 0.0), Point(10.0, 0.0))
    names = {role: edge_words(Edge("a-b", role, (Line(*spots),))) for role in ("seam", "lacing", "top", "fold")}  # type: ignore[arg-type]
    assert names == {"seam": "the a b seam", "lacing": "the a b edge", "top": "the a b edge", "fold": "the a b line"}
