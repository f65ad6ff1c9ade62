"""Cuts through corners, pieces of one edge, marks at the very ends: what a maker draws seldom, worked by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from msgspec.structs import replace
from paper import edge, line_of, oblong, one, pair_of

from diagnose.errors import FitError
from diagnose.pattern import operations
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.polylines import line_gap
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import bounds, edge_length, piece_area
from diagnose.pattern.moved.bones import exit_of
from diagnose.pattern.outline import Channel, Cubic, Edge, Line, Notch, Pattern, Piece, Point, Role, Slit

BARE = replace(oblong(), channels=(), landmarks={}, levels={}, notches=())
"""100 wide, 200 high, from (0, 0); hem, back, neck, front."""


def done(pattern: Pattern | Piece, *raw: dict[str, Any]) -> Altered:
    pattern = one(pattern) if isinstance(pattern, Piece) else pattern
    return operations.do(pattern, operations.parse_operations(list(raw)))


def made(piece: Piece, **raw: Any) -> Piece:
    return done(piece, {"piece": piece.name, **raw}).pattern.pieces[0]


def refusal(piece: Piece, **raw: Any) -> str:
    with pytest.raises(FitError) as caught:
        made(piece, **raw)
    return str(caught.value)


def with_edge(piece: Piece, new: Edge) -> Piece:
    return replace(piece, edges=tuple(new if old.name == new.name else old for old in piece.edges))


def with_roles(piece: Piece, **roles: Role) -> Piece:
    return replace(piece, edges=tuple(replace(e, role=roles.get(e.name, e.role)) for e in piece.edges))


@pytest.mark.parametrize(
    ("start", "end", "longer"),
    [
        ((0, 200), (50, 0), "neck"),
        ((100, 200), (50, 0), "neck"),
        ((50, 200), (0, 0), "hem"),
        ((50, 200), (100, 0), "hem"),
    ],
)
def test_what_is_spread_at_a_corner_is_added_to_the_edge_that_runs_across_the_gap(
    start: tuple[int, int], end: tuple[int, int], longer: str
) -> None:
    """20 mm open at the corner and nothing at the far edge: sides stay 200 long, the one edge is 120, the other 100."""
    at_top = longer == "neck"
    piece = made(
        BARE, op="fold", **{"from": start}, to=end, amount_from=-20 if at_top else 0, amount_to=0 if at_top else -20,
        move="left",
    )  # fmt: skip
    sizes = {one.name: edge_length(one) for one in piece.edges}
    other = "hem" if at_top else "neck"
    assert sizes == pytest.approx({"front": 200.0, "back": 200.0, longer: 120.0, other: 100.0}, abs=0.5)
    slant = math.hypot(200.0, 50.0)
    assert piece_area(piece) == pytest.approx(100.0 * 200.0 + slant * 20.0 / 2.0, rel=0.002)


@pytest.mark.parametrize(
    ("top", "bottom", "side", "role"),
    [
        (97, 60, "back", "lacing"), (99, 60, "back", "lacing"),
        (2, 40, "front", "opening"), (3, 40, "front", "opening"),
    ],
)  # fmt: skip
def test_where_a_fold_takes_away_the_corner_of_a_lacing_edge_that_edge_stays_straight(
    top: float, bottom: float, side: str, role: Role
) -> None:
    fold: dict[str, Any] = {
        "op": "fold",
        "from": [top, 200],
        "to": [bottom, 0],
        "amount_from": 10,
        "amount_to": 0,
        "move": "left",
    }
    stiff = made(with_roles(BARE, **{side: role}), **fold).edge(side)
    assert len(stiff.segments) == 1
    assert isinstance(stiff.segments[0], Line)
    assert edge_length(stiff) < 195.0


def round_piece() -> Piece:
    """A disc of 100 mm about (0, 0), its rim one edge."""
    k, spots = 55.228475, [(100.0, 0.0), (0.0, 100.0), (-100.0, 0.0), (0.0, -100.0)]
    rim = []
    for (x, y), (u, v) in zip(spots, spots[1:] + spots[:1], strict=True):
        handles = Point(x - y * k / 100.0, y + x * k / 100.0), Point(u + v * k / 100.0, v - u * k / 100.0)
        rim.append(Cubic(Point(x, y), *handles, Point(u, v)))
    return Piece("round", "single", "both", (Edge("rim", "bottom", tuple(rim)),))


def test_a_strip_folded_out_of_a_disc_leaves_one_closed_rim() -> None:
    """From x = 25 to 35 the disc is about 2·√(100² - 30²) = 190.8 mm high; truing takes 1/32 in at most."""
    disc = round_piece()
    piece = made(disc, op="fold", **{"from": [30, 200]}, to=[30, -200], amount_from=10, amount_to=10, move="left")
    (rim,) = piece.edges
    box = bounds(piece)
    assert box.right - box.left == pytest.approx(190.0, abs=0.01)
    assert rim.end == rim.start
    assert 1908.0 - 1.0 <= piece_area(disc) - piece_area(piece) <= 1908.0 + 2.0 * 200.0 * 25.4 / 32.0


def test_an_edge_all_round_a_piece_cannot_be_moved_in() -> None:
    by = [{"along": 0, "mm": 5}, {"along": 1, "mm": 5}]
    assert "goes all the way round" in refusal(round_piece(), op="move-edge", edge="rim", by=by)


def test_what_lies_at_the_ends_of_a_moved_edge_stays_at_its_ends() -> None:
    ends = {"low": Point(100.0, 0.0), "high": Point(100.0, 200.0)}
    piece = replace(BARE, notches=(Notch("back", 0.0), Notch("back", 200.0)), landmarks=ends)
    new = made(piece, op="move-edge", edge="back", by=[{"along": 0, "mm": 5}, {"along": 1, "mm": 10}])
    back = new.edge("back")
    assert (back.start, back.end) == ((95.0, 0.0), (90.0, 200.0))
    assert [notch.at for notch in new.notches] == [0.0, edge_length(back)]
    assert new.landmarks == {"low": back.start, "high": back.end}


@pytest.mark.parametrize("mm", [10, -30])
def test_a_corner_in_an_edge_that_is_used_up_is_refused_with_what_there_is_room_for(mm: int) -> None:
    notched = with_edge(BARE, edge("neck", "top", (100, 200), (52, 200), (50, 198), (48, 200), (0, 200)))
    by = [{"along": 0, "mm": mm}, {"along": 1, "mm": mm}]
    said = refusal(notched, op="move-edge", edge="neck", by=by)
    assert "The neck of the side has a corner that cannot move so far." in said
    assert "The most there is room for is about" in said


def test_one_amount_may_be_given_twice_for_a_place_but_not_two() -> None:
    by = [{"along": 0.5, "mm": 5}, {"along": 0.5, "mm": 5}]
    assert bounds(made(BARE, op="move-edge", edge="back", by=by)).right == 95.0
    assert "Two different amounts" in refusal(BARE, op="move-edge", edge="back", by=[*by, {"along": 0.5, "mm": 6}])


def test_a_channel_without_room_to_be_carried_on_is_refused() -> None:
    short = replace(BARE, channels=(Channel("f1", (Point(50.0, 196.0), Point(50.0, 199.0)), 9.0),))
    said = refusal(short, op="channels", extend=["f1"], to="top")
    assert "Channel 1 has no room there." in said


@pytest.mark.parametrize("width", [3.0, 6.35, 9.525, 12.7])
@pytest.mark.parametrize("slope", [0.0, 0.25, -1.0])
def test_a_channel_carried_to_a_slit_in_its_way_stays_clear_of_it_and_is_not_refused(
    width: float, slope: float
) -> None:
    """The slit crosses the channel's line 30 mm up; a slit to the side of it stops nothing."""
    crossing = Slit("in-way", (Point(80.0, 30.0 - 30.0 * slope), Point(20.0, 30.0 + 30.0 * slope)))
    aside = Slit("aside", (Point(95.0, 0.0), Point(95.0, 40.0)))
    bone = Channel("f1", (Point(50.0, 90.0), Point(50.0, 150.0)), width)
    piece = replace(BARE, channels=(bone,), slits=(crossing, aside))
    found, up = (
        done(piece, {"op": "channels", "piece": "side", "extend": ["f1"], "to": to}) for to in ("bottom", "top")
    )
    (down,) = found.pattern.pieces[0].channels
    assert line_gap(down.line, crossing.line) == pytest.approx(width / 2.0 + 3.175)
    assert [note for note in notes_said(found.notes, {}) if "slit" in note] == [
        "Channel f1 of the side stops short of slit in-way."
    ]
    assert up.pattern.pieces[0].channels[0].line[-1] == pytest.approx((50.0, 200.0 - 6.35))


@pytest.mark.parametrize("edge_", ["front", "back"])
def test_a_place_is_found_at_a_level_whose_end_is_drawn_twice(edge_: str) -> None:
    spots = (Point(0.0, 50.0), Point(100.0, 50.0))
    plain, twice = (replace(BARE, levels={"waist": line}) for line in (spots, (spots[0], *spots, spots[1])))
    by = [{"at": "waist", "mm": 5}, {"along": 0, "mm": 0}, {"along": 1, "mm": 0}]
    new, same = (made(piece, op="move-edge", edge=edge_, by=by).edge(edge_) for piece in (plain, twice))
    assert same == new
    assert run_nearest(new.segments, Point(5.0 if edge_ == "front" else 95.0, 50.0))[1] < 0.01


def test_a_line_without_a_direction_leaves_the_paper_nowhere() -> None:
    spot = Point(50.0, 100.0)
    assert exit_of(BARE, (spot, spot)) is None
    found = exit_of(BARE, (spot, Point(50.0, 190.0)))
    assert found is not None
    assert (found.point, found.edge.name, found.gap_mm) == ((50.0, 200.0), "neck", pytest.approx(10.0))


@pytest.mark.parametrize(("edge_", "carried"), [("front", False), ("back", True)])
def test_a_channel_beside_the_other_seam_is_not_carried_with_the_moved_one(edge_: str, carried: bool) -> None:
    piece = replace(oblong(), channels=oblong().channels[1:])
    move = {"op": "move-edge", "piece": "side", "edge": edge_, "by": [{"along": 0.5, "mm": 5}], "channels": "follow"}
    found = done(piece, move)
    xs = {point.x for point in found.pattern.pieces[0].channels[0].line}
    assert xs == {85.0 if carried else 90.0}
    assert any("moved with" in note for note in notes_said(found.notes, {})) is carried


def test_a_dart_whose_legs_end_at_a_slot_before_its_mouth_is_refused() -> None:
    """A slot runs in from the back at 150, past the line from the point to the mouth above it."""
    slot = edge("back", "seam", (100, 0), (100, 148), (30, 148), (30, 152), (100, 152), (100, 200))
    said = refusal(with_edge(BARE, slot), op="dart", mouth=[50, 200], width=6, point=[50, 60], relief=[50, 0])
    assert "something lies between" in said


def test_a_partner_without_a_waist_is_drawn_on_by_all_that_the_moved_edge_has_gained() -> None:
    """Moved by 0 at the foot and 40 at the top, 200 mm become √(200² + 40²) = 203.96."""
    pattern = pair_of(*(replace(BARE, name=name) for name in ("side", "next")))
    by = [{"along": 0, "mm": 0}, {"along": 1, "mm": 40}]
    new = done(pattern, {"op": "move-edge", "piece": "side", "edge": "back", "by": by, "true_partner": True}).pattern
    size = edge_length(new.piece("side").edge("back"))
    assert size == pytest.approx(203.96, abs=0.1)
    assert edge_length(new.piece("next").edge("front")) == pytest.approx(size, abs=0.05)


def test_where_the_level_stops_short_of_the_grain_the_cut_follows_it_drawn_on() -> None:
    """A level that rises from 80 to 100 over the front 40 mm comes to 115 at 70. What lies above rises by 10."""
    level = (Point(0.0, 80.0), Point(40.0, 100.0))
    spots = {"over": Point(70.0, 116.0), "under": Point(70.0, 114.0)}
    piece = replace(BARE, levels={"underbust": level}, landmarks=spots, grain=(Point(80.0, 20.0), Point(80.0, 180.0)))
    longer = {"op": "length", "at": {"station": "underbust", "offset": 0}, "amount": -10}
    landmarks = done(piece, longer).pattern.pieces[0].landmarks
    assert landmarks["over"].y - landmarks["under"].y == pytest.approx(12.0)


def test_a_slit_in_the_top_edge_has_no_part_in_tabs_made_longer() -> None:
    piece = replace(BARE, slits=(Slit("s1", (Point(40.0, 0.0), Point(40.0, 60.0))),))
    topped = replace(piece, slits=(*piece.slits, Slit("t1", (Point(50.0, 200.0), Point(70.0, 150.0)))))
    plain, other = (made(one_, op="tabs", lengthen=10) for one_ in (piece, topped))
    assert bounds(plain).bottom == pytest.approx(-10.0)
    assert other.edges == plain.edges
    assert other.slits[1].line == topped.slits[1].line


def test_a_level_with_a_point_twice_is_folded_as_one_without() -> None:
    fold = {"op": "fold", "from": [48, 200], "to": [52, 0], "amount_from": 12, "amount_to": 4, "move": "left"}
    spots = [Point(0.0, 100.0), Point(60.0, 100.0), Point(100.0, 104.0)]
    plain, twice = (
        made(replace(BARE, levels={"waist": tuple(line)}), **fold) for line in (spots, [*spots[:2], *spots[1:]])
    )
    assert twice.edges == plain.edges
    assert twice.levels["waist"][0] == pytest.approx(plain.levels["waist"][0])
    assert all(run_nearest(line_of(*plain.levels["waist"]), spot)[1] < 1e-6 for spot in twice.levels["waist"])
