"""Which channels are carried to an edge or cut back from it, and which way an edge lies: figures worked by hand."""

from __future__ import annotations

import pytest
from drawing_bench import IN, alteration, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.outline import Channel, Line, Pattern, Point
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.drawing.edge_lines import Stretch
from diagnose.plan.drawing.verbs.redrawn_edges import tangent_at

WHOLE = 400.0
TOP, HEM = 8 * IN, -6 * IN
# of the 400 mm the front-top place ends midway between bust (22 %) and underarm (50 %): at 144; the thigh line at 200
Ends = tuple[tuple[float, float], tuple[float, float]]


def with_bone(ends: Ends) -> Pattern:
    """One straight panel with a channel between those two places, as stored."""
    pattern = panels(WHOLE)
    bone = Channel("c", tuple(Point(*end) for end in ends), 9.5)
    return pattern.with_piece(replace(pattern.pieces[0], channels=(bone,)))


def carried(pattern: Pattern, settings: Settings, what: str, place: str) -> tuple[tuple[Point, ...], Drawn]:
    move = {"do": "channels", "what": what, "place": place}
    drawn = draw(length(alteration(move, kind="length"), IN / 4), pattern, settings)
    assert drawn.pattern is not None
    return drawn.pattern.pieces[0].channels[0].line, drawn


@pytest.mark.parametrize(
    ("what", "place", "line", "end"),
    [
        ("extend", "front-top", ((60.0, -140.0), (60.0, TOP - 26.0)), (60.0, TOP - IN / 4)),
        ("extend", "front-top", ((60.0, TOP - 60.0), (60.0, -140.0)), (60.0, TOP - IN / 4)),
        ("shorten", "front-top", ((60.0, -140.0), (60.0, TOP - 5.5)), (60.0, TOP - IN / 4)),
        ("shorten", "front-top", ((60.0, TOP - 2.0), (60.0, -140.0)), (60.0, TOP - IN / 4)),
        ("extend", "thigh-line", ((60.0, 150.0), (60.0, HEM + 40.0)), (60.0, HEM + IN / 4)),
        ("shorten", "thigh-line", ((60.0, HEM + 3.0), (60.0, 150.0)), (60.0, HEM + IN / 4)),
        ("extend", "front-top", ((143.0, -140.0), (143.0, 100.0)), (143.0, TOP - IN / 4)),
        ("extend", "side-top", ((90.0, -140.0), (90.0, 100.0)), (90.0, TOP - IN / 4)),
    ],
)
def test_a_channel_at_the_place_is_carried_to_a_quarter_inch_from_the_edge_whichever_way_it_is_stored(
    what: str, place: str, line: Ends, end: tuple[float, float], settings: Settings
) -> None:
    pattern = with_bone(line)
    made, drawn = carried(pattern, settings, what, place)
    near = min(made, key=lambda point: abs(point.y - end[1]))
    assert (near.x, near.y) == pytest.approx(end, abs=0.01)
    assert {point.y for point in made} & {y for _, y in line}, "its other end stays"
    assert [op["to"] for op in told(drawn)] == ["bottom" if place == "thigh-line" else "top"]


def test_a_maker_who_ends_her_bones_farther_off_has_them_drawn_so(settings: Settings) -> None:
    made, drawn = carried(
        with_bone(((60.0, -140.0), (60.0, 100.0))), settings.with_value("bone-clear", IN), "extend", "front-top"
    )
    assert max(point.y for point in made) == pytest.approx(TOP - IN, abs=0.01)
    assert [op["clearance"] for op in told(drawn)] == [IN]


@pytest.mark.parametrize(
    ("what", "place", "line"),
    [
        ("extend", "front-top", ((60.0, -140.0), (60.0, TOP - 25.0))),  # within 1 in: it ended there, and was meant to
        ("extend", "front-top", ((60.0, -100.0), (60.0, TOP - 2.0))),  # far from the hem, not from this edge
        ("extend", "thigh-line", ((60.0, HEM + 25.0), (60.0, 100.0))),
        ("shorten", "front-top", ((60.0, -140.0), (60.0, TOP - 6.0))),  # a pencil's breadth is no matter
        ("shorten", "front-top", ((60.0, -140.0), (60.0, TOP - 60.0))),
        ("extend", "front-top", ((146.0, -140.0), (146.0, 100.0))),  # behind the place
        ("shorten", "side-top", ((86.0, -140.0), (86.0, TOP - 2.0))),  # before the place
        ("extend", "thigh-line", ((202.0, -50.0), (202.0, 100.0))),
        ("extend", "front-top", ((30.0, -100.0), (10.0, 50.0))),  # drawn on it runs out at the front edge
    ],
)
def test_a_channel_that_ends_well_or_elsewhere_is_left_and_that_is_said(
    what: str, place: str, line: Ends, settings: Settings
) -> None:
    pattern = with_bone(line)
    made, drawn = carried(pattern, settings, what, place)
    assert made == pattern.pieces[0].channels[0].line
    assert told(drawn) == ()
    assert notes_said(drawn.notes, {}) == ("The channels there already end where they should.",)


def bent(*, forward: bool) -> Stretch:
    """An edge of 90 mm: 30 mm level toward the back, then 60 mm straight up; it begins at 100 on its line."""
    corner = Point(30.0, 0.0)
    legs = (Line(Point(0.0, 0.0), corner), Line(corner, Point(30.0, 60.0)))
    edge = replace(panels(WHOLE).pieces[0].edge("hem"), segments=legs)
    return Stretch("panel-1", edge, 100.0, 90.0, forward)


@pytest.mark.parametrize(
    ("forward", "place", "way"),
    [
        (True, 110.0, (1.0, 0.0)),
        (True, 140.0, (0.0, 1.0)),
        (False, 110.0, (0.0, 1.0)),
        (False, 180.0, (1.0, 0.0)),
    ],
)
def test_an_edge_lies_as_its_leg_lies_at_the_place_counted_along_the_line(
    forward: bool, place: float, way: tuple[float, float]
) -> None:
    assert tangent_at(bent(forward=forward), place) == pytest.approx(way)


@pytest.mark.parametrize(
    ("rise", "asked", "drawn_as"),
    [
        (0.0, "up", "up"), (0.0, "down", "down"), (0.26, "up", "up"), (0.28, "up", "out"), (0.28, "down", "in"),
        (-0.26, "down", "down"), (-0.28, "up", "out"), (-0.28, "down", "in"), (0.5, "in", "in"), (0.0, "out", "out"),
    ],
)  # fmt: skip
def test_up_is_up_on_the_paper_where_the_edge_lies_within_fifteen_degrees_of_level_and_else_square_to_it(
    rise: float, asked: str, drawn_as: str, settings: Settings
) -> None:
    # geometry: a slope of 0.26 in 1 is 14.6 degrees, 0.28 in 1 is 15.6
    pattern = panels(WHOLE)
    piece = pattern.pieces[0]
    front, back = Point(0.0, TOP + max(rise, 0.0) * WHOLE), Point(WHOLE, TOP + max(-rise, 0.0) * WHOLE)
    low_front, low_back = (Point(at.x, HEM) for at in (front, back))
    made = replace(piece, landmarks={"underarm": Point(WHOLE / 2, (front.y + back.y) / 2)})
    for name, leg in (
        ("top-edge", Line(back, front)),
        ("front", Line(front, low_front)),
        ("back", Line(low_back, back)),
    ):
        made = made.with_edge(replace(made.edge(name), segments=(leg,)))
    move = {"do": "edge", "place": "underarm", "direction": asked}
    drawn = draw(length(alteration(move, kind="length"), IN / 4), pattern.with_piece(made), settings)
    assert [op.get("direction", "up") for op in told(drawn)] == [drawn_as], drawn.notes
