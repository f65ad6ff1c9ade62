"""Shapes moved, room over the bust seam, the grain, channels and bust gussets: figures worked by hand."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import pytest
from drawing_bench import IN, alteration, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, edge_point_at, garment_girth, seam_difference, station_width
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Channel, Line, Pattern, Point
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.drawing.slides import Upright


def drawn_by(pattern: Pattern, settings: Settings, move: Mapping[str, Any], mm: float, side: Any = "both") -> Drawn:
    return draw(length(alteration(move, kind="length"), mm, side), pattern, settings)


def upright(pattern: Pattern, piece: str, edge: str) -> Upright:
    return Upright(pattern.piece(piece), pattern.piece(piece).edge(edge))


def test_the_waist_goes_up_by_all_of_it_at_the_side_and_by_nothing_at_front_and_back(
    corset: Pattern, settings: Settings
) -> None:
    drawn = drawn_by(corset, settings, {"do": "waist-slide"}, IN / 2)
    assert drawn.pattern is not None
    # the third seam stands nearest to the middle of the half
    for piece, edge in (("p3", "back-seam"), ("p4", "front-seam")):
        was, now = upright(corset, piece, edge), upright(drawn.pattern, piece, edge)
        low, waist, high = (was.station(station) for station in ("hip", "waist", "underbust"))
        assert low is not None
        assert waist is not None
        assert high is not None
        nip = was.inwards(waist, low, high)
        assert now.inwards(waist + IN / 2, low, high) == pytest.approx(nip, abs=0.5), piece
        below = waist - IN / 2
        assert now.inwards(below, low, high) < was.inwards(below, low, high) - 0.5
    at_front, at_back = (drawn.pattern.piece(name).levels["waist"] for name in ("p1", "p6"))
    assert (at_front[0].y, at_back[-1].y) == pytest.approx((0.0, 0.0), abs=1e-6)
    assert drawn.pattern.piece("p3").levels["waist"][-1].y == pytest.approx(IN / 2, abs=0.1)
    assert drawn.profile["underbust"] == pytest.approx(0.0, abs=0.05)
    assert drawn.profile["hip"] == pytest.approx(0.0, abs=0.05)
    assert drawn.profile["waist"] / 2 == pytest.approx(0.0, abs=IN / 16)


def test_the_bust_goes_up_along_both_edges_of_its_seam_and_its_mark_with_it(
    corset: Pattern, settings: Settings
) -> None:
    drawn = drawn_by(corset, settings, {"do": "bust-shift", "way": "up-down"}, IN / 2)
    assert drawn.pattern is not None
    assert {(op["piece"], op.get("edge", "")) for op in told(drawn)} == {
        ("p1", "back-seam"), ("p2", "front-seam"), ("p2", ""),
    }  # fmt: skip
    old, new = (one.piece("p2").landmarks["bust-point"] for one in (corset, drawn.pattern))
    assert (new.x - old.x, new.y - old.y) == pytest.approx((0.0, IN / 2))
    # what lay at the fullest point lies 1/2 in higher: as far from the line between the ends of the slide
    for piece, name in (("p1", "back-seam"), ("p2", "front-seam")):
        was, now = upright(corset, piece, name), upright(drawn.pattern, piece, name)
        low, apex = was.station("underbust"), was.place(old)
        assert low is not None
        assert now.inwards(apex + IN / 2, low, now.size) == pytest.approx(was.inwards(apex, low, was.size), abs=1.0)


def test_the_bust_goes_out_by_what_one_panel_gains_and_the_other_loses(corset: Pattern, settings: Settings) -> None:
    drawn = drawn_by(corset, settings, {"do": "bust-shift", "way": "in-out"}, IN / 4)
    moved = {op["piece"]: op["by"][1]["mm"] for op in told(drawn) if op["op"] == "move-edge"}
    assert moved == {"p1": pytest.approx(-IN / 4), "p2": pytest.approx(IN / 4)}
    assert all(abs(change) / 2 < IN / 32 for change in drawn.profile.values())


@pytest.mark.parametrize(("way", "sign"), [("enlarge", 1), ("reduce", -1)])
def test_room_over_the_bust_seam_is_as_long_in_the_one_panel_as_in_the_other(
    corset: Pattern, settings: Settings, way: str, sign: int
) -> None:
    # geometry: 1/2 in wide, three quarters of that long: 3/8 in
    move = {"do": "bust-over-seam", "way": way, "length_part": "0.75"}
    drawn = drawn_by(corset, settings, move, IN / 2)
    assert drawn.pattern is not None
    for piece, name in (("p1", "back-seam"), ("p2", "front-seam")):
        change = edge_length(drawn.pattern.piece(piece).edge(name)) - edge_length(corset.piece(piece).edge(name))
        assert change == pytest.approx(sign * 3 / 8 * IN, abs=IN / 8), piece
    fronts = [edge_length(one.piece("p1").edge("centre-front")) for one in (corset, drawn.pattern)]
    assert fronts[1] - fronts[0] == pytest.approx(sign * 3 / 8 * IN, abs=0.05)
    assert edge_length(drawn.pattern.piece("p2").edge("back-seam")) == pytest.approx(
        edge_length(corset.piece("p2").edge("back-seam")), abs=IN / 32
    )
    assert abs(seam_difference(drawn.pattern, drawn.pattern.seams[0])) <= IN / 16
    assert drawn.profile["waist"] == pytest.approx(0.0, abs=1e-6)
    assert sign * drawn.profile["top"] < -IN / 2


@pytest.mark.parametrize(("room", "top"), [(8 * IN, 0.0), (3 * IN, 0.0), (1.5 * IN, 0.5), (0.75 * IN, 0.75)])
def test_a_width_over_the_bust_runs_out_at_the_top_over_twelve_times_as_much_of_the_seam_or_not_at_all(
    room: float, top: float, settings: Settings
) -> None:
    """Of 1/4 in on either line nothing is left 3 in above the fullest point; half of it is 1 1/2 in above it."""
    pattern = panels(4 * IN, 4 * IN, 4 * IN, 4 * IN, top_mm=12 * IN)
    first = pattern.pieces[0]
    bust = replace(first, landmarks={"bust-point": Point(first.edge("back").start.x, 12 * IN - room)})
    move = {"do": "bust-over-seam", "way": "reduce", "length_part": "0"}
    drawn = drawn_by(pattern.with_piece(bust), settings, move, IN / 2)
    assert max(op["mm"] for move in told(drawn) for op in move["by"]) == pytest.approx(IN / 4)
    assert [move["by"][-1]["mm"] for move in told(drawn)] == [pytest.approx(top * IN / 4)] * 2
    assert any("would hook" in note for note in notes_said(drawn.notes, {})) == (top > 0.0)


def test_a_length_on_one_side_is_all_of_it_at_the_side_seam(corset: Pattern, settings: Settings) -> None:
    move = {"do": "length", "station": "waist", "offset": "2 1/2 in", "way": "shorten"}
    drawn = drawn_by(corset, settings, move, IN / 2, "left")
    assert drawn.pattern is not None

    def shorter(piece: str, edge: str) -> float:
        assert drawn.pattern is not None
        now = drawn.pattern.piece(f"{piece}-left")
        return edge_length(corset.piece(piece).edge(edge)) - edge_length(now.edge(edge))

    for piece, edge in (("p3", "back-seam"), ("p4", "front-seam")):
        assert shorter(piece, edge) == pytest.approx(IN / 2, abs=1.0)
    assert shorter("p1", "centre-front") == pytest.approx(0.0, abs=IN / 32)
    assert shorter("p6", "centre-back") == pytest.approx(0.0, abs=IN / 32)
    assert drawn.pattern.piece("p3-right").edges == corset.piece("p3").edges


def hollow_front() -> Pattern:
    """Straight panels, the front edge of the first hollowed by 1/2 in at the waist, in two straight legs."""
    pattern = panels(3 * IN, 3 * IN, 3 * IN)
    piece = pattern.pieces[0]
    front = piece.edge("front")
    waist = Point(front.start.x + IN / 2, 0.0)
    bent = replace(front, segments=(Line(front.start, waist), Line(waist, front.end)))
    levels = {**piece.levels, "waist": (waist, piece.levels["waist"][-1])}
    return pattern.with_piece(replace(piece.with_edge(bent), levels=levels))


def test_a_hollow_front_edge_is_laid_straight_and_the_next_seam_takes_the_hollow_over(settings: Settings) -> None:
    pattern = hollow_front()
    drawn = drawn_by(pattern, settings, {"do": "front-straight"}, IN / 2)
    assert drawn.pattern is not None
    piece = drawn.pattern.pieces[0]
    front = piece.edge("front")
    off = [abs(edge_point_at(front, edge_length(front) * i / 40).x - front.start.x) for i in range(41)]
    assert max(off) < IN / 16
    assert drawn.profile["waist"] == pytest.approx(0.0, abs=IN / 16)
    assert station_width(piece, "top") == pytest.approx(station_width(pattern.pieces[0], "top"), abs=IN / 16)


def test_a_straight_front_edge_is_left_as_it_is_with_a_reason(corset: Pattern, settings: Settings) -> None:
    drawn = drawn_by(corset, settings, {"do": "front-straight"}, IN / 2)
    assert told(drawn) == ()
    assert "straight on the paper already" in notes_said(drawn.notes, {})[0]


def test_a_leaning_grain_line_is_set_square_to_the_waist(corset: Pattern, settings: Settings) -> None:
    piece = corset.piece("p3")
    assert piece.grain is not None
    low, high = piece.grain
    leaning = corset.with_piece(replace(piece, grain=(low, Point(high.x + distance(low, high) * 0.15, high.y))))
    drawn = drawn_by(leaning, settings, {"do": "grain", "least_deg": "3", "most_deg": "15"}, 0.0)
    (op,) = told(drawn)
    # geometry: an eighth and a bit in one leans by atan 0.15, which is 8.53 degrees
    assert (op["piece"], op["grain_deg"]) == ("p3", pytest.approx(8.53, abs=0.01))
    assert drawn.pattern is not None
    made = drawn.pattern.piece("p3").grain
    assert made is not None
    assert made[0].x == pytest.approx(made[1].x, abs=0.01)
    assert drawn.pattern.piece("p3").edges == piece.edges


def boned(*xs_mm: float) -> Pattern:
    """One straight panel with upright channels at those places."""
    pattern = panels(12 * IN)
    bones = tuple(Channel(f"f{n}", (Point(x, -140.0), Point(x, 190.0)), 9.525) for n, x in enumerate(xs_mm))
    return pattern.with_piece(replace(pattern.pieces[0], channels=bones))


def test_a_channel_is_added_midway_in_the_widest_space(settings: Settings) -> None:
    drawn = drawn_by(boned(20.0, 60.0, 160.0), settings, {"do": "channels", "what": "add", "place": "front-top"}, 0.0)
    ((new,),) = [op["add"] for op in told(drawn)]
    assert new["line"] == [[110.0, -140.0], [110.0, 190.0]]


def test_channels_between_the_first_and_the_last_are_spaced_evenly(settings: Settings) -> None:
    move = {"do": "channels", "what": "re-space", "place": "front-top"}
    drawn = drawn_by(boned(20.0, 30.0, 110.0, 200.0), settings, move, 0.0)
    assert drawn.pattern is not None
    places = [channel.line[0].x for channel in drawn.pattern.pieces[0].channels]
    assert places == pytest.approx([20.0, 80.0, 140.0, 200.0], abs=0.01)
    again = draw(length(alteration(move, kind="length"), 0.0), drawn.pattern, settings)
    assert told(again) == ()
    assert "evenly already" in notes_said(again.notes, {})[0]


def with_gusset() -> Pattern:
    """A straight panel with a bust gusset 1 1/2 in wide and 4 in deep."""
    places = {"slit_foot": [3 * IN, 8 * IN], "tip": [3 * IN, 4 * IN]}
    gore = {"op": "insert-gore", "piece": "panel-1", "width": 1.5 * IN, **places}
    return do(panels(12 * IN), parse_operations([gore])).pattern


@pytest.mark.parametrize(("what", "wide"), [("narrow", 9 / 8), ("widen", 15 / 8)])
def test_a_bust_gusset_changes_at_its_top_and_keeps_its_tip(settings: Settings, what: str, wide: float) -> None:
    pattern = with_gusset()
    drawn = drawn_by(pattern, settings, {"do": "gores", "where": "bust", "what": what}, 3 / 8 * IN)
    assert drawn.pattern is not None
    old, new = (one.piece("gore-1") for one in (pattern, drawn.pattern))
    hem = new.edge("hem")
    assert distance(hem.start, hem.end) == pytest.approx(wide * IN, abs=0.5)
    tips = [{edge.start for edge in piece.edges} & {edge.end for edge in piece.edges} for piece in (old, new)]
    assert min(p.y for p in tips[1]) == pytest.approx(min(p.y for p in tips[0]), abs=0.01)
    read_pattern(json.loads(json.dumps(to_json(drawn.pattern))))


def test_without_a_gusset_the_maker_is_told_so_and_for_its_length_slit_and_gusset_are_cut_longer(
    settings: Settings,
) -> None:
    none = drawn_by(panels(12 * IN), settings, {"do": "gores", "where": "bust", "what": "narrow"}, IN / 4)
    longer = drawn_by(with_gusset(), settings, {"do": "gores", "where": "bust", "what": "lengthen"}, IN / 4)
    assert "No bust gusset is drawn" in notes_said(none.notes, {})[0]
    assert "cut 1/4 in (6 mm) longer" in notes_said(longer.notes, {})[0]
    assert told(none) == ()
    assert told(longer)


def test_a_slide_of_a_half_in_one_piece_is_declined_with_the_reason(settings: Settings) -> None:
    for move in ({"do": "bust-shift", "way": "up-down"},
                 {"do": "bust-over-seam", "way": "enlarge", "length_part": "0.75"}):  # fmt: skip
        drawn = drawn_by(panels(12 * IN), settings, move, IN / 2)
        assert told(drawn) == ()
        assert "one piece" in notes_said(drawn.notes, {})[0]


@pytest.mark.parametrize("way", ["lengthen", "shorten"])
def test_a_new_length_of_a_half_without_seams_keeps_the_waist_and_counts_what_its_lacing_edge_gives(
    way: str, bodies: Pattern, settings: Settings
) -> None:
    """What the slanting lacing edge cannot keep is counted in the profile, from which the new gaps are foreseen."""
    drawn = drawn_by(bodies, settings, {"do": "length", "way": way, "station": "waist", "offset": "2 1/2 in"}, IN)
    assert drawn.pattern is not None
    measured = {s: garment_girth(drawn.pattern, s) - garment_girth(bodies, s) for s in drawn.profile}  # type: ignore[operator]
    assert {s: -mm for s, mm in drawn.profile.items()} == pytest.approx(measured, abs=0.01)
    assert measured["waist"] == pytest.approx(0.0, abs=0.2)
    assert 0.2 * IN < max(map(abs, measured.values())) < 0.6 * IN


@pytest.mark.parametrize(("way", "sign"), [("spread", 1.0), ("fold", -1.0)])
def test_where_no_seam_runs_over_the_bust_the_front_is_slashed_from_beside_it_to_the_side_seam(
    way: str, sign: float, settings: Settings
) -> None:
    """The back is left, and so is the waist; the top gains what was asked, and at the underbust half as much."""
    pattern = panels(8 * IN, 8 * IN)
    drawn = drawn_by(pattern, settings, {"do": "bust-slash", "way": way}, IN / 2)
    assert drawn.pattern is not None
    assert {op["piece"] for op in told(drawn)} == {"panel-1"}
    assert drawn.pattern.piece("panel-2").levels == pattern.piece("panel-2").levels
    gained = {s: -mm / 2 for s, mm in drawn.profile.items()}
    assert abs(gained["waist"]) < IN / 16
    assert sign * gained["top"] == pytest.approx(IN / 2, rel=0.15)
    assert sign * gained["underbust"] == pytest.approx(IN / 4, rel=0.2)


@pytest.mark.parametrize("way", ["lengthen", "shorten"])
def test_below_the_waist_a_half_in_one_piece_is_lengthened_at_its_hem_and_keeps_every_level_the_hem_leaves(
    way: str, bodies: Pattern, settings: Settings
) -> None:
    """A cut across would change every girth by up to an inch: between straight edges the width grows with height."""
    drawn = drawn_by(bodies, settings, {"do": "length", "way": way, "station": "waist", "offset": "-1 1/4 in"}, IN)
    assert drawn.pattern is not None
    for station in ("top", "underbust", "waist"):
        assert garment_girth(drawn.pattern, station) == pytest.approx(garment_girth(bodies, station), abs=1e-6)
    was, now = bodies.pieces[0], drawn.pattern.pieces[0]
    longer = [edge_length(now.edge(name)) - edge_length(was.edge(name)) for name in ("centre-front", "lacing")]
    assert longer == [pytest.approx(IN if way == "lengthen" else -IN, abs=0.05)] * 2
    slits = [distance(*a.line) - distance(*b.line) for a, b in zip(now.slits, was.slits, strict=True)]
    assert slits == [pytest.approx(IN if way == "lengthen" else -IN, abs=0.1)] * 4
    assert any("one piece" in note and "lower edge" in note for note in notes_said(drawn.notes, {}))
