"""A gore let into a slit: its legs, its hem, its width at each level, its seams."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper import oblong, one

from diagnose.errors import FitError
from diagnose.pattern.form.checks import piece_mistakes, seam_mistakes
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, garment_girth, is_inside, piece_area, station_width
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.outline import Channel, EdgeRef, Pattern, Piece, Point, Slit

FOOT, TIP = Point(50.0, 0.0), Point(50.0, 90.0)


def gored(piece: Piece, foot: Point = FOOT, tip: Point = TIP, width: float = 30.0) -> Pattern:
    return InsertGore(piece.name, foot, tip, width).done(one(piece)).pattern


def test_the_legs_are_as_long_as_the_slit_and_the_feet_as_far_apart_as_asked() -> None:
    side, gore = gored(oblong()).pieces
    assert side.slits == (Slit("s1", (FOOT, TIP)),)
    front, back = gore.edge("leg-front"), gore.edge("leg-back")
    assert edge_length(front) == pytest.approx(90.0) == edge_length(back)
    assert math.dist(front.end, back.start) == pytest.approx(30.0)
    assert front.end.x < back.start.x
    assert (gore.name, gore.cut, gore.side) == ("gore-1", "pair", "both")


def test_the_hem_is_an_arc_about_the_tip() -> None:
    gore = gored(oblong()).pieces[1]
    points = [p for s in gore.edge("hem").segments for p in flatten(s, 0.001)]
    assert [math.dist(p, TIP) for p in points] == pytest.approx([90.0] * len(points), abs=1e-4)
    angle = 2.0 * math.asin(15.0 / 90.0)
    assert edge_length(gore.edge("hem")) == pytest.approx(90.0 * angle, abs=1e-4)
    assert piece_area(gore) == pytest.approx(90.0**2 * angle / 2.0, rel=1e-6)


def test_a_level_gains_the_gores_width_at_its_distance_from_the_tip() -> None:
    """The level at 20 mm up crosses the slit 70 mm from its tip: 30 x 70 / 90."""
    pattern = gored(oblong())
    assert station_width(pattern.pieces[1], "bottom") == pytest.approx(30.0 * 70.0 / 90.0)
    assert garment_girth(pattern, "bottom") == pytest.approx(2.0 * (100.0 + 30.0 * 70.0 / 90.0))
    assert "waist" not in pattern.pieces[1].levels


def test_a_gore_from_the_top_points_down() -> None:
    pattern = gored(oblong(), Point(40.0, 200.0), Point(40.0, 120.0))
    gore = pattern.pieces[1]
    assert gore.edge("hem").role == "top"
    assert station_width(gore, "top") == pytest.approx(30.0 * 60.0 / 80.0)
    assert gore.edge("leg-front").start.x < gore.edge("leg-back").end.x
    assert not piece_mistakes(gore, "")


def test_both_seams_name_the_slit_and_pass_the_readers_check() -> None:
    pattern = gored(oblong())
    assert [(s.a, s.b) for s in pattern.seams] == [
        (EdgeRef("gore-1", "leg-front"), EdgeRef("side", "slit:s1")),
        (EdgeRef("gore-1", "leg-back"), EdgeRef("side", "slit:s1")),
    ]
    assert not seam_mistakes(pattern, "")


def test_a_slit_that_is_there_is_used_and_keeps_its_name() -> None:
    slit = Slit("tab-2", (FOOT, Point(52.0, 40.0), TIP))
    side, gore = gored(replace(oblong(), slits=(slit,))).pieces
    assert side.slits == (slit,)
    assert edge_length(gore.edge("leg-back")) == pytest.approx(math.dist((50, 0), (52, 40)) + math.dist((52, 40), TIP))


def test_a_slit_that_is_there_is_cut_deeper_when_the_tip_is_further_up() -> None:
    piece = replace(oblong(), slits=(Slit("tab-2", (FOOT, Point(50.0, 60.0))),))
    done = InsertGore("side", FOOT, TIP, 30.0).done(one(piece))
    assert done.pattern.pieces[0].slits == (Slit("tab-2", (FOOT, TIP)),)
    assert any("is cut anew" in note for note in notes_said(done.notes, {}))


def test_a_second_gore_takes_the_next_names() -> None:
    pattern = gored(oblong())
    pattern = InsertGore("side", Point(70.0, 0.0), Point(70.0, 80.0), 20.0).done(pattern).pattern
    assert [p.name for p in pattern.pieces] == ["side", "gore-1", "gore-2"]
    assert [s.name for s in pattern.pieces[0].slits] == ["s1", "s2"]


def test_a_channel_across_the_slit_is_refused_by_name() -> None:
    piece = replace(oblong(), channels=(Channel("c7", (Point(30.0, 6.0), Point(70.0, 150.0)), 9.5),))
    with pytest.raises(FitError, match="Channel c7"):
        gored(piece)


def test_a_channel_close_beside_the_slit_is_reported() -> None:
    piece = replace(oblong(), channels=(Channel("c7", (Point(56.0, 6.0), Point(56.0, 190.0)), 9.5),))
    assert any("c7" in note for note in notes_said(InsertGore("side", FOOT, TIP, 30.0).done(one(piece)).notes, {}))


@pytest.mark.parametrize(
    ("foot", "tip", "width", "said"),
    [
        (Point(50.0, 100.0), TIP, 30.0, "off the bottom and top edges"),
        (FOOT, Point(150.0, 90.0), 30.0, "does not lie inside"),
        (FOOT, FOOT, 30.0, "does not lie inside"),
        (FOOT, TIP, 180.0, "does not fit"),
        (FOOT, TIP, 0.0, "does not fit"),
    ],
)
def test_what_cannot_be_cut_is_refused(foot: Point, tip: Point, width: float, said: str) -> None:
    with pytest.raises(FitError, match=said):
        gored(oblong(), foot, tip, width)


@settings(deadline=None, max_examples=40)
@given(st.floats(5.0, 95.0), st.floats(15.0, 190.0), st.floats(0.05, 1.9))
def test_any_gore_is_a_sound_piece_that_sews_to_its_slit(x: float, height: float, part: float) -> None:
    plain = replace(oblong(), channels=())
    pattern = gored(plain, Point(x, 0.0), Point(50.0, height), part * math.dist((x, 0.0), (50.0, height)))
    assert not piece_mistakes(pattern.pieces[1], "")
    assert not seam_mistakes(pattern, "")


@pytest.mark.parametrize(("foot", "tip"), [(FOOT, TIP), (Point(50.0, 200.0), Point(50.0, 110.0))])
def test_the_gores_grain_runs_up_its_middle_and_stays_on_it(foot: Point, tip: Point) -> None:
    gore = gored(oblong(), foot, tip).pieces[1]
    assert gore.grain is not None
    low, high = gore.grain
    assert (low.x, high.x) == pytest.approx((50.0, 50.0))
    # a tenth of the slit short of the hem, three tenths short of the tip: 54 mm of 90
    assert high.y - low.y == pytest.approx(54.0)
    assert is_inside(gore, low)
    assert is_inside(gore, high)
