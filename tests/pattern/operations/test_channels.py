"""Channels extended, added, removed and moved, clear of edges and slits."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from paper import oblong, one

from diagnose.errors import FitError
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.operations.channels import Channels, Shifted
from diagnose.pattern.operations.move_edge import MoveEdge, Place
from diagnose.pattern.outline import Channel, Piece, Point, Slit

SHORT = Channel("f1", (Point(20.0, 60.0), Point(20.0, 120.0)), 9.5)


def changed(piece: Piece, **how: object) -> Piece:
    return Channels(piece.name, **how).done(one(piece)).pattern.pieces[0]  # type: ignore[arg-type]


def notes(piece: Piece, **how: object) -> tuple[str, ...]:
    return notes_said(Channels(piece.name, **how).done(one(piece)).notes, {})  # type: ignore[arg-type]


def with_short() -> Piece:
    return replace(oblong(), channels=(SHORT,))


def test_a_channel_is_carried_to_the_top_less_a_quarter_inch() -> None:
    (channel,) = changed(with_short(), extend=("f1",), to="top").channels
    assert channel.line == (Point(20.0, 60.0), pytest.approx(Point(20.0, 193.65)))


def test_a_channel_is_carried_to_the_bottom_less_the_clearance_asked_for() -> None:
    (channel,) = changed(with_short(), extend=("f1",), to="bottom", clearance=10.0).channels
    assert channel.line == (pytest.approx(Point(20.0, 10.0)), Point(20.0, 120.0))


def test_a_slanting_channel_is_carried_along_its_own_line() -> None:
    slanting = replace(SHORT, line=(Point(20.0, 60.0), Point(40.0, 120.0)))
    (channel,) = changed(replace(oblong(), channels=(slanting,)), extend=("f1",), to="top").channels
    end = channel.line[1]
    assert (end.x - 20.0) / (end.y - 60.0) == pytest.approx(20.0 / 60.0)
    assert end.y == pytest.approx(200.0 - 6.35 * 60.0 / (60.0**2 + 20.0**2) ** 0.5)


def test_a_channel_that_meets_a_slit_stops_with_its_stitching_an_eighth_clear_of_it() -> None:
    """Half of 9.5 mm and 1/8 in, square to a slit that slants by 45 degrees: √2 times as far along the channel."""
    slit = Slit("s1", (Point(50.0, 0.0), Point(10.0, 40.0)))
    piece = replace(with_short(), slits=(slit,))
    (channel,) = changed(piece, extend=("f1",), to="bottom").channels
    assert channel.line[0] == pytest.approx(Point(20.0, 30.0 + (4.75 + 3.175) * 2.0**0.5))
    assert any("stops short of slit 1" in note for note in notes(piece, extend=("f1",), to="bottom"))


def test_a_channel_that_would_meet_a_seam_first_is_refused() -> None:
    flat = replace(SHORT, line=(Point(20.0, 100.0), Point(60.0, 101.0)))
    with pytest.raises(FitError, match="meets the back of the side"):
        changed(replace(oblong(), channels=(flat,)), extend=("f1",), to="top")


def test_an_added_channel_is_cut_back_to_its_clearance() -> None:
    new = Channel("n", (Point(50.0, 0.0), Point(50.0, 198.0)), 9.5)
    made = changed(oblong(), add=(new,))
    assert made.channels[-1].line == (pytest.approx(Point(50.0, 6.35)), pytest.approx(Point(50.0, 193.65)))
    assert any("cut back" in note for note in notes(oblong(), add=(new,)))


def test_a_removed_channel_is_gone_and_the_others_are_as_they_were() -> None:
    assert [c.name for c in changed(oblong(), remove=("f1",)).channels] == ["b1"]


def test_a_removed_channel_may_be_added_anew() -> None:
    assert changed(oblong(), remove=("f1",), add=(SHORT,)).channels[-1] == SHORT


def test_a_moved_channel_keeps_its_distance_to_the_edges() -> None:
    made = changed(oblong(), move=(Shifted("f1", Point(15.0, -3.0)),))
    assert made.channels[0].line == (pytest.approx(Point(35.0, 6.0)), pytest.approx(Point(35.0, 194.0)))


def test_channels_that_come_to_overlap_are_reported() -> None:
    said = notes(oblong(), move=(Shifted("f1", Point(66.0, 0.0)),))
    assert said == ("Channels f1 and b1 of the side now overlap: move one of them.",)


def test_a_channel_off_the_piece_or_across_a_slit_is_refused_all_at_once() -> None:
    piece = replace(oblong(), slits=(Slit("s1", (Point(40.0, 0.0), Point(40.0, 60.0))),))
    across = Channel("n", (Point(30.0, 30.0), Point(50.0, 30.0)), 6.0)
    with pytest.raises(FitError) as caught:
        changed(piece, add=(across,), move=(Shifted("f1", Point(200.0, 0.0)),))
    assert [m.where for m in caught.value.mistakes] == ["move f1", "add n"]


def test_every_unknown_name_is_refused_at_once_with_those_there_are() -> None:
    with pytest.raises(FitError) as caught:
        changed(oblong(), remove=("f2",), extend=("z9",), add=(replace(SHORT, name="b1"),))
    said = str(caught.value)
    assert len(caught.value.mistakes) == 4
    assert "f1" in said
    assert "already has channel b1" in said
    assert "top or bottom" in said


def test_asking_for_nothing_is_refused() -> None:
    with pytest.raises(FitError, match="Nothing is asked for"):
        changed(oblong())


def test_a_channel_stitched_within_an_eighth_of_a_slit_is_said_with_the_slit() -> None:
    slit = Slit("s1", (Point(50.0, 0.0), Point(50.0, 60.0)))
    piece = replace(oblong(), channels=(), slits=(slit,))
    near = Channel("n", (Point(57.0, 20.0), Point(57.0, 120.0)), 9.5)
    assert notes(piece, add=(near,)) == ("Channel n of the side is stitched less than 1/8 in (3 mm) from slit 1.",)
    clear = replace(near, line=(Point(58.0, 20.0), Point(58.0, 120.0)))
    assert notes(piece, add=(clear,)) == ()


def test_where_no_other_side_edge_stands_every_channel_goes_with_the_one_that_moves() -> None:
    front, *others = reversed(oblong().edges)
    piece = replace(oblong(), edges=(*reversed(others), replace(front, role="top")))
    follow = MoveEdge("side", "back", (Place(5.0, at="waist"),), channels="follow")
    made = follow.done(one(piece)).pattern.pieces[0]
    assert [channel.line[0].x for channel in made.channels] == pytest.approx([15.0, 85.0])
