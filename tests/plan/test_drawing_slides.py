"""A shape slid along its edge: what each place moves by, where the slide comes to nothing. Figures worked by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from drawing_bench import IN, USUAL, alteration, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, edge_point_at
from diagnose.pattern.outline import Line, Pattern, Piece, Point
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.drawing.half import halves_of
from diagnose.plan.drawing.slides import Upright
from diagnose.plan.drawing.verbs.slid_shapes import side_parts

LEVELS = {"underbust": 4 * IN, "top": 8 * IN - 5.0, "hip": -3 * IN, "bottom": -6 * IN + 5.0}


def nipped(edge: str) -> Upright:
    """An edge of two legs of 100 mm, hollowed by 20 mm where they meet, on a panel to the one side of it."""
    rise = (100.0**2 - 20.0**2) ** 0.5
    piece = panels(300.0).pieces[0]
    x, inward = (300.0, -20.0) if edge == "back" else (0.0, 20.0)
    low, middle, high = Point(x, -rise), Point(x + inward, 0.0), Point(x, rise)
    legs = (Line(low, middle), Line(middle, high)) if edge == "back" else (Line(high, middle), Line(middle, low))
    return Upright(piece, replace(piece.edge(edge), segments=legs))


@pytest.mark.parametrize("edge", ["back", "front"])
@pytest.mark.parametrize("up", [25.0, -25.0])
def test_a_hollow_slides_by_all_of_it_in_the_middle_by_half_midway_and_by_nothing_at_the_ends(
    edge: str, up: float
) -> None:
    (op,) = nipped(edge).slid(0.0, 100.0, 200.0, up)
    # geometry: a leg comes in by 2 in 10; a place that takes over what lay 25 mm (midway 12.5 mm) beside it changes
    # by 5 mm (2.5 mm): less hollow where the hollow leaves, more where it goes to
    wanted = {0.0: 0.0, 0.25: -2.5, 0.5: -5.0, 0.75: 2.5, 1.0: 0.0}
    if up < 0.0:
        wanted = {1.0 - part: mm for part, mm in wanted.items()}
    if edge == "front":
        wanted = {1.0 - part: mm for part, mm in wanted.items()}
    got = {round(place.along, 6): place.mm for place in op.by if place.along is not None}
    assert {part: got[part] for part in wanted} == pytest.approx(wanted, abs=1e-6)


def test_an_end_too_near_to_be_pushed_towards_goes_along_and_one_that_is_drawn_away_from_stays() -> None:
    # a hem 6 mm under the waist: the leg slants by 2 in 10, and the slide fades over 25.4 mm at least
    fade = (1.0 + math.cos(math.pi * 6.0 / 25.4)) / 2.0
    (lowered,) = nipped("back").slid(0.0, 6.0, 200.0, -6.35, least_mm=25.4)
    (raised,) = nipped("back").slid(0.0, 6.0, 200.0, 6.35, least_mm=25.4)
    assert lowered.by[0].mm == pytest.approx(0.2 * 6.35 * fade)
    assert lowered.by[1].mm - lowered.by[0].mm < 0.2
    assert raised.by[0].mm == 0.0
    assert raised.by[1].mm == pytest.approx(-0.2 * 6.35, abs=0.01)


def test_a_straight_edge_has_no_shape_to_slide_and_one_that_moves_by_a_hair_is_left() -> None:
    straight = Upright(panels(300.0).pieces[0], panels(300.0).pieces[0].edge("back"))
    assert straight.slid(0.0, 100.0, 200.0, 25.0) == []
    assert nipped("back").moved([(0.0, 0.0), (100.0, 0.05)]) == []
    assert nipped("back").moved([(0.0, 0.0), (100.0, -0.06)]) != []


@pytest.mark.parametrize("edge", ["back", "front"])
def test_places_are_counted_from_the_lower_end_whichever_way_the_edge_runs(edge: str) -> None:
    one = nipped(edge)
    assert one.size == pytest.approx(200.0)
    low = one.point(0.0)
    assert low.y == pytest.approx(min(one.edge.start.y, one.edge.end.y))
    assert one.place(one.point(70.0)) == pytest.approx(70.0)
    assert [one.inwards(u, 0.0, 200.0) for u in (0.0, 50.0, 100.0, 150.0)] == pytest.approx([0.0, 10.0, 20.0, 10.0])
    assert one.fullest(0.0, 200.0) == pytest.approx(100.0)


def four_nipped(*missing: str) -> Pattern:
    """Four panels of 100 mm, nipped by 10 mm at the waist on both edges of every seam, without the levels named."""
    pattern = panels(100.0, 100.0, 100.0, 100.0)
    for piece in pattern.pieces:
        pattern = pattern.with_piece(
            _nip(piece, {name: at for name, at in piece.levels.items() if name not in missing})
        )
    return pattern


def _nip(piece: Piece, levels: Any) -> Piece:
    made = replace(piece, levels=levels)
    for name, inward in (("back", -10.0), ("front", 10.0)):
        edge = piece.edge(name)
        if edge.role == "seam":
            waist = Point(edge.start.x + inward, 0.0)
            made = made.with_edge(replace(edge, segments=(Line(edge.start, waist), Line(waist, edge.end))))
    return made


def slid(pattern: Pattern, settings: Settings, up_mm: float) -> Drawn:
    return draw(length(alteration({"do": "waist-slide"}, kind="length"), up_mm), pattern, settings)


@pytest.mark.parametrize(
    ("missing", "low", "high"),
    [
        ((), LEVELS["hip"], LEVELS["underbust"]),
        (("hip",), LEVELS["bottom"], LEVELS["underbust"]),
        (("underbust",), LEVELS["hip"], LEVELS["top"]),
        (("hip", "bottom"), -6 * IN, LEVELS["underbust"]),
        (("underbust", "top"), LEVELS["hip"], 8 * IN),
    ],
)
def test_the_waist_slides_between_the_hip_and_the_underbust_or_the_next_level_or_the_ends_of_the_edge(
    missing: tuple[str, ...], low: float, high: float, settings: Settings
) -> None:
    pattern = four_nipped(*missing)
    moves = [op for op in told(slid(pattern, settings, IN / 2)) if op["op"] == "move-edge"]
    assert len(moves) == 6
    for op in moves:
        edge = pattern.piece(op["piece"]).edge(op["edge"])
        heights = [edge_point_at(edge, place["along"] * edge_length(edge)).y for place in op["by"]]
        assert (min(heights), max(heights)) == pytest.approx((low, high), abs=0.01)
        assert (op["by"][0]["mm"], op["by"][-1]["mm"]) == pytest.approx((0.0, 0.0), abs=1e-6)


def test_the_waist_moves_by_half_of_it_midway_between_the_side_and_the_middles(settings: Settings) -> None:
    drawn = slid(four_nipped(), settings, IN / 2)
    assert drawn.pattern is not None
    heights = [tuple(at.y for at in (p.levels["waist"][0], p.levels["waist"][-1])) for p in drawn.pattern.pieces]
    # a seam at a quarter, the side seam at the half, a seam at three quarters
    quarter, half = IN / 4, IN / 2
    wanted = [(0.0, quarter), (quarter, half), (half, quarter), (quarter, 0.0)]
    assert heights == [pytest.approx(pair, abs=0.5) for pair in wanted]
    most = {}
    for op in told(drawn):
        if op["op"] == "move-edge":
            most[op["piece"], op["edge"]] = max(abs(place["mm"]) for place in op["by"])
    # both sides of a seam alike, and the side seam the most
    assert most["panel-1", "back"] == pytest.approx(most["panel-2", "front"])
    assert most["panel-2", "back"] == pytest.approx(most["panel-3", "front"])
    assert most["panel-2", "back"] > 1.5 * most["panel-1", "back"]


@pytest.mark.parametrize(("up", "said"), [(IN / 2, "1/2 in (13 mm) higher"), (-IN / 4, "1/4 in (6 mm) lower")])
def test_which_way_the_waist_went_is_said_and_the_heads_only_where_there_are_tabs(
    up: float, said: str, settings: Settings
) -> None:
    notes = notes_said(slid(four_nipped(), settings, up).notes, {})
    assert [note for note in notes if note.startswith(f"The waist is drawn {said} at the side")], notes
    assert not any("heads" in note for note in notes)


@pytest.mark.parametrize(
    ("widths", "parts"),
    [
        ((100, 100, 100, 100), (0.0, 0.5, 1.0, 0.5, 0.0)),
        ((90, 150, 60), (0.0, 1.0, 0.2 / 0.7, 0.0)),
        ((200, 200), (0.0, 1.0, 0.0)),
        ((60, 80, 160), (0.0, 0.2 / (7 / 15), 1.0, 0.0)),
    ],
)
def test_the_side_takes_all_and_what_lies_before_and_behind_it_evenly_less(
    widths: tuple[float, ...], parts: tuple[float, ...]
) -> None:
    assert side_parts(halves_of(panels(*widths), "both", USUAL)[0]) == pytest.approx(list(parts))
