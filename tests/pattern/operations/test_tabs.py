"""Tabs deepened, lengthened, flared, added to and divided anew."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from paper import oblong, one

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.measure import garment_girth, slit_length, station_width
from diagnose.pattern.operations.openings.tabs import NewSlit, Tabs
from diagnose.pattern.outline import Channel, Piece, Point, Slit


def tabbed() -> Piece:
    slits = tuple(Slit(f"s{n}", (Point(x, 0.0), Point(x, 60.0))) for n, x in ((1, 25.0), (2, 40.0), (3, 75.0)))
    return replace(oblong(), slits=slits, channels=(Channel("c", (Point(60.0, 6.0), Point(60.0, 190.0)), 6.0),))


def changed(piece: Piece, **how: object) -> Piece:
    return done(piece, **how).pattern.pieces[0]


def done(piece: Piece, **how: object) -> Altered:
    return Tabs(piece.name, **how).done(one(piece))  # type: ignore[arg-type]


def test_deepened_slits_reach_further_up_their_own_lines() -> None:
    slanting = replace(tabbed(), slits=(Slit("s1", (Point(20.0, 0.0), Point(50.0, 40.0))),), channels=())
    assert changed(slanting, deepen=5.0).slits[0].line[1] == pytest.approx(Point(53.0, 44.0))
    assert [slit_length(s) for s in changed(tabbed(), deepen=-10.0).slits] == [50.0] * 3


def test_only_the_slits_named_are_deepened() -> None:
    assert [slit_length(s) for s in changed(tabbed(), slits=("s2",), deepen=4.0).slits] == [60.0, 64.0, 60.0]


def test_longer_tabs_move_the_bottom_out_and_leave_the_tips() -> None:
    piece = changed(tabbed(), lengthen=12.7)
    assert piece.edge("hem").start.y == pytest.approx(-12.7)
    assert piece.slits[0].line == (Point(25.0, -12.7), Point(25.0, 60.0))
    assert piece.channels[0].line[0] == pytest.approx(Point(60.0, 6.0 - 12.7))
    assert piece.levels == tabbed().levels
    assert not piece_mistakes(piece, "")


def test_an_added_slit_is_square_to_the_edge_and_as_deep_as_the_others() -> None:
    piece = changed(tabbed(), add=(NewSlit(90.0), NewSlit(10.0, 30.0)))
    assert [s.line for s in piece.slits[3:]] == [
        (Point(90.0, 0.0), pytest.approx(Point(90.0, 60.0))), (Point(10.0, 0.0), pytest.approx(Point(10.0, 30.0))),
    ]  # fmt: skip


def test_slits_are_divided_anew_between_the_first_and_the_last() -> None:
    piece = changed(tabbed(), redivide=True)
    assert [s.line[0].x for s in piece.slits] == pytest.approx([25.0, 50.0, 75.0])
    assert [s.line[1].x for s in piece.slits] == pytest.approx([25.0, 50.0, 75.0])


def test_flared_tabs_add_so_much_at_each_foot() -> None:
    altered = done(tabbed(), flare=9.0)
    assert [p.name for p in altered.pattern.pieces] == ["side", "gore-1", "gore-2", "gore-3"]
    before = 2.0 * station_width(tabbed(), "bottom")
    assert garment_girth(altered.pattern, "bottom") == pytest.approx(before + 6.0 * 9.0 * 40.0 / 60.0)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({}, "Nothing is asked for"),
        ({"slits": ("s9",), "deepen": 3.0}, "no slit 's9'"),
        ({"deepen": -58.0}, "only"),
        ({"deepen": 145.0}, "lie off the side"),
        ({"add": (NewSlit(300.0),)}, "is not on the bottom edge"),
        ({"add": (NewSlit(60.0),)}, "Channel c"),
        ({"slits": ("s1", "s2"), "redivide": True}, "only 2"),
        ({"lengthen": -70.0}, "tip of slit"),
    ],
)
def test_what_cannot_be_done_is_refused(how: dict[str, object], said: str) -> None:
    with pytest.raises(FitError, match=said):
        changed(tabbed(), **how)


def test_a_piece_without_slits_asks_for_a_depth() -> None:
    with pytest.raises(FitError, match="Give the depth"):
        changed(oblong(), add=(NewSlit(50.0),))
    with pytest.raises(FitError, match="no slits"):
        changed(oblong(), deepen=4.0)


def test_slanting_tabs_grow_along_their_slits_and_keep_their_shape() -> None:
    """By hand: the foot at (20, 0) of a slit up to (50, 40) moves 10 mm on, by (-6, -8)."""
    piece = replace(tabbed(), slits=(Slit("s1", (Point(20.0, 0.0), Point(50.0, 40.0))),), channels=())
    made = changed(piece, lengthen=10.0)
    assert made.slits[0].line[0] == pytest.approx(Point(14.0, -8.0))
    assert (made.edge("hem").start, made.edge("hem").end) == (Point(0.0, -10.0), Point(100.0, -10.0))
    assert not piece_mistakes(made, "")


def test_a_slit_without_a_depth_is_as_deep_as_the_others_on_average() -> None:
    uneven = replace(tabbed(), slits=(*tabbed().slits[:2], Slit("s3", (Point(75.0, 0.0), Point(75.0, 30.0)))))
    assert changed(uneven, add=(NewSlit(90.0),)).slits[-1].line[1] == pytest.approx(Point(90.0, 50.0))


def test_an_added_slit_takes_the_first_name_that_is_free() -> None:
    gap = replace(tabbed(), slits=(tabbed().slits[0], tabbed().slits[2]))
    assert [s.name for s in changed(gap, add=(NewSlit(90.0), NewSlit(10.0))).slits] == ["s1", "s3", "s2", "s4"]


def test_an_added_slit_is_deepened_and_flared_with_the_others_unless_slits_are_named() -> None:
    assert [slit_length(s) for s in changed(tabbed(), add=(NewSlit(90.0),), deepen=5.0).slits] == [65.0] * 4
    named = changed(tabbed(), add=(NewSlit(90.0),), slits=("s1",), deepen=5.0).slits
    assert [slit_length(s) for s in named] == [65.0, 60.0, 60.0, 60.0]


def test_only_the_slits_named_are_flared() -> None:
    altered = done(tabbed(), slits=("s2",), flare=9.0)
    assert [p.name for p in altered.pattern.pieces] == ["side", "gore-1"]
    assert {seam.b.edge for seam in altered.pattern.seams} == {"slit:s2"}


def test_slits_of_uneven_depth_are_divided_along_the_line_of_their_tips() -> None:
    """By hand: tips at (25, 60), (40, 90), (85, 30); half of 33.54 + 75 lies 20.73 past the second tip."""
    slits = tuple(
        Slit(f"s{n}", (Point(x, 0.0), Point(x, y))) for n, x, y in ((1, 25.0, 60.0), (2, 40.0, 90.0), (3, 85.0, 30.0))
    )
    made = changed(replace(tabbed(), slits=slits, channels=()), redivide=True).slits
    assert made[1].line == (pytest.approx(Point(55.0, 0.0)), pytest.approx(Point(52.439, 73.415), abs=0.01))
    assert (made[0], made[2]) == (slits[0], slits[2])


def test_slits_in_the_top_edge_are_no_tabs() -> None:
    top = Slit("t1", (Point(50.0, 200.0), Point(50.0, 170.0)))
    piece = replace(tabbed(), slits=(*tabbed().slits, top))
    assert changed(piece, deepen=4.0).slits[3] == top
    with pytest.raises(FitError, match="no slit 't1' in its bottom edge"):
        changed(piece, slits=("t1",), deepen=4.0)


def test_a_slit_may_be_shortened_to_an_eighth_of_an_inch_and_no_further() -> None:
    assert slit_length(changed(tabbed(), deepen=-56.9).slits[0]) == pytest.approx(3.1)
    with pytest.raises(FitError, match="only 2 3/8 in"):
        changed(tabbed(), deepen=-57.1)


def test_a_slit_is_not_added_at_the_very_end_of_the_edge() -> None:
    for along in (0.0, 100.0):
        with pytest.raises(FitError, match=r"add\[0\]"):
            changed(tabbed(), add=(NewSlit(along),))


def test_shorter_tabs_draw_the_hem_in_and_the_channels_with_it() -> None:
    piece = changed(tabbed(), lengthen=-12.7)
    assert piece.edge("hem").start.y == pytest.approx(12.7)
    assert piece.slits[0].line == (pytest.approx(Point(25.0, 12.7)), Point(25.0, 60.0))
    assert piece.channels[0].line[0] == pytest.approx(Point(60.0, 6.0 + 12.7))
