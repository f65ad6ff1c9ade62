"""Reshaping an edge: at which places a peak may stand, which way it goes at a corner, what a refusal says. By hand."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from paper import edge, oblong, one

from diagnose.errors import FitError
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.moved.bones import past_edge
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.outline import Channel, Piece, Point
from diagnose.units import both


def neck(piece: Piece, **how: object) -> Piece:
    """The neck reshaped: 100 mm long on the oblong, from the back at x = 100 to the front at x = 0."""
    bare = replace(piece, channels=(), landmarks={}, notches=())
    made = ReshapeEdge(piece.name, ("neck",), **how).done(one(bare))  # type: ignore[arg-type]
    return made.pattern.pieces[0]


def rises(piece: Piece, x: float) -> float:
    """How far a vertex of the new neck at that place stands over the old line."""
    points = [piece.edge("neck").segments[0].start, *(segment.end for segment in piece.edge("neck").segments)]
    return next((point.y - 200.0 for point in points if abs(point.x - x) < 1e-6), math.nan)


@pytest.mark.parametrize(
    ("from_", "peak", "to", "at_back", "at_front"),
    [
        (0.0, 0.0, 60.0, 8.0, 0.0), (60.0, 0.0, 0.0, 8.0, 0.0), (0.005, 0.0, 60.0, 8.0, 0.0),
        (0.0, 0.005, 60.0, 8.0, 0.0), (40.0, 100.0, 100.0, 0.0, 8.0), (100.0, 100.0, 40.0, 0.0, 8.0),
        (40.0, 99.995, 100.0, 0.0, 8.0), (40.0, 100.0, 100.005, 0.0, 8.0), (0.0, 50.0, 100.0, 0.0, 0.0),
    ],
)  # fmt: skip
def test_a_peak_at_the_very_end_of_the_run_is_given_as_that_end_too_and_the_corner_rises_by_all_of_it(
    from_: float, peak: float, to: float, at_back: float, at_front: float
) -> None:
    made = neck(oblong(), from_=from_, peak=peak, to=to, height=8.0)
    assert (rises(made, 100.0), rises(made, 0.0)) == pytest.approx((at_back, at_front), abs=1e-9)
    assert made.edge("back").end.y == pytest.approx(200.0 + at_back)
    assert made.edge("front").start.y == pytest.approx(200.0 + at_front)


@pytest.mark.parametrize(
    ("from_", "peak", "to"),
    [
        (20.0, 20.0, 80.0), (20.0, 80.0, 80.0), (80.0, 20.0, 20.0), (50.0, 50.0, 50.0), (0.0, 0.0, 0.0),
        (20.0, 10.0, 80.0), (20.0, 90.0, 80.0), (20.0, 0.0, 80.0), (20.0, 100.0, 80.0), (80.0, 90.0, 20.0),
    ],
)  # fmt: skip
def test_a_peak_that_is_not_between_the_two_ends_is_refused_with_all_three_places(
    from_: float, peak: float, to: float
) -> None:
    with pytest.raises(FitError) as refused:
        neck(oblong(), from_=from_, peak=peak, to=to, height=8.0)
    (mistake,) = refused.value.mistakes
    assert mistake.where == "peak"
    assert mistake.what.startswith(f"The peak, {both(peak)} along the edge,")
    assert f"“from” ({both(from_)}) and “to” ({both(to)})" in mistake.what


def test_every_place_that_is_off_the_edge_is_told_at_once_with_how_far_off_or_how_long_the_edge_is() -> None:
    with pytest.raises(FitError) as refused:
        neck(oblong(), from_=-1.0, peak=Point(50.0, 240.0), to=100.5, height=8.0)
    told = {mistake.where: mistake for mistake in refused.value.mistakes}
    assert list(told) == ["from", "peak", "to"]
    assert f"{both(40.0)} off the edge" in told["peak"].what
    assert "1 15/16 in (50 mm) out and 9 7/16 in (240 mm) up" in told["peak"].what
    for where, mm in (("from", -1.0), ("to", 100.5)):
        assert told[where].what == f"{both(mm)} is not on the edge, which is {both(100.0)} long."
    assert all(mistake.do for mistake in told.values())


def test_a_point_up_to_half_an_inch_off_the_edge_is_taken_as_the_place_beside_it() -> None:
    near = neck(oblong(), from_=Point(80.0, 212.6), peak=Point(50.0, 187.4), to=Point(20.0, 200.0), height=8.0)
    assert near == neck(oblong(), from_=20.0, peak=50.0, to=80.0, height=8.0)
    with pytest.raises(FitError, match="off the edge"):
        neck(oblong(), from_=Point(80.0, 212.8), peak=50.0, to=80.0, height=8.0)


@pytest.mark.parametrize("height", [1.0, -1.0, 0.25])
def test_an_edge_rises_by_as_little_as_is_asked(height: float) -> None:
    assert rises(neck(oblong(), from_=20.0, peak=50.0, to=80.0, height=height), 50.0) == pytest.approx(height)


def bent() -> Piece:
    """The oblong with a neck of two legs: 50 mm level from the back, then 50 mm rising 4 in 5 toward the front."""
    piece = oblong()
    made = piece.with_edge(edge("neck", "top", (100.0, 200.0), (50.0, 200.0), (20.0, 240.0)))
    return made.with_edge(edge("front", "seam", (20.0, 240.0), (0.0, 0.0)))


OUT_LEVEL, OUT_RISING = (0.0, 1.0), (0.8, 0.6)
OUT_CORNER = (1 / 5**0.5, 2 / 5**0.5)


@pytest.mark.parametrize(
    ("places", "direction", "old", "way"),
    [
        ((10.0, 25.0, 40.0), "out", (75.0, 200.0), OUT_LEVEL),
        ((60.0, 75.0, 90.0), "out", (35.0, 220.0), OUT_RISING),
        ((60.0, 75.0, 90.0), "in", (35.0, 220.0), (-0.8, -0.6)),
        # geometry: midway between the directions (-1, 0) and (-3/5, 4/5) lies (-2, 1)
        ((20.0, 50.0, 80.0), "out", (50.0, 200.0), OUT_CORNER),
        ((20.0, 50.0, 80.0), "in", (50.0, 200.0), (-OUT_CORNER[0], -OUT_CORNER[1])),
        ((20.0, 50.0, 80.0), "up", (50.0, 200.0), (0.0, 1.0)),
        ((20.0, 50.0, 80.0), "down", (50.0, 200.0), (0.0, -1.0)),
    ],
)
def test_out_and_in_are_square_to_the_leg_at_the_peak_and_halve_a_corner(
    places: tuple[float, float, float], direction: str, old: tuple[float, float], way: tuple[float, float]
) -> None:
    made = neck(bent(), from_=places[0], peak=places[1], to=places[2], height=5.0, direction=direction)
    wanted = (old[0] + 5.0 * way[0], old[1] + 5.0 * way[1])
    assert min(math.dist(segment.end, wanted) for segment in made.edge("neck").segments) < 1e-6


@pytest.mark.parametrize(("places", "corner"), [((0.0, 0.0, 30.0), "back"), ((70.0, 100.0, 100.0), "front")])
def test_out_at_an_end_of_the_run_is_square_to_its_own_leg_alone(
    places: tuple[float, float, float], corner: str
) -> None:
    """The corner slides along the edge beside it, which the hump's end then meets: it lies `height` off the old leg."""
    made = neck(bent(), from_=places[0], peak=places[1], to=places[2], height=5.0, direction="out")
    segments = made.edge("neck").segments
    at = segments[0].start if corner == "back" else segments[-1].end
    off = at.y - 200.0 if corner == "back" else (at.x - 20.0) * 0.8 + (at.y - 240.0) * 0.6
    assert off == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize(
    ("line", "lost"),
    [
        (((96.0, 20.0), (96.0, 180.0)), True),  # 4 mm off the seam, half its width is 4 3/4
        (((95.0, 20.0), (95.0, 180.0)), False),
        (((104.0, 20.0), (104.0, 180.0)), False),  # beyond it: it is laid anew, which is said there
        (((50.0, 20.0), (104.0, 180.0)), False),
        (((50.0, 20.0), (97.0, 180.0)), True),  # one end of it
    ],
)
def test_a_channel_that_a_moved_side_edge_has_come_over_is_named(
    line: tuple[tuple[float, float], tuple[float, float]], lost: bool
) -> None:
    good = Channel("good", (Point(30.0, 20.0), Point(30.0, 180.0)), 9.5)
    piece = replace(oblong(), channels=(good, Channel("b", tuple(Point(*end) for end in line), 9.5)))
    said = notes_said(past_edge(piece, "back"), {})
    assert said == (("Channel b of the side now lies on the line of the back: move it inwards.",) if lost else ())
    assert past_edge(piece, "neck") == ()
