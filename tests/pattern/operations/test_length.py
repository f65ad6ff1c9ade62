"""Shortening and lengthening every piece at one level: by hand, on the bundled patterns, properties, shapely."""

from __future__ import annotations

import json
import math
from itertools import pairwise
from typing import Any

import pytest
from awkward_patterns import awkward_pattern
from cut_paper import INCH, alone, only, polygon, sheet
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper import curved, one

from diagnose.errors import FitError
from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.faults import unfair_edges
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import (
    channel_length,
    edge_length,
    garment_girth,
    piece_area,
    seam_difference,
    station_width,
)
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.outline import Channel, Pattern, Point
from diagnose.pattern.report import change_report
from diagnose.places import bundled_cases
from diagnose.units import both


def test_every_channel_along_the_grain_that_crosses_the_line_loses_the_amount_and_no_other_changes() -> None:
    low = Channel("low", (Point(100, 20), Point(100, 150)), 9.5)
    slant = Channel("slant", (Point(150, 100), Point(200, 350)), 9.5)
    piece = replace(sheet(), channels=(*sheet().channels, low, slant))
    made = only(Length("waist", 2.5 * INCH, INCH).done(alone(piece)).pattern)
    lost = {c.name: channel_length(c) - channel_length(n) for c, n in zip(piece.channels, made.channels, strict=True)}
    assert lost == {
        "c1": pytest.approx(INCH),
        "c2": pytest.approx(INCH),
        "low": 0.0,
        "slant": pytest.approx(math.hypot(50, 250) - math.hypot(50, 250 - INCH)),
    }


def test_the_waist_stays_and_the_half_away_from_it_moves() -> None:
    above = only(Length("waist", 50.0, INCH).done(alone(sheet())).pattern)
    assert above.levels["waist"] == sheet().levels["waist"]
    assert above.levels["top"][0] == Point(0, 300 - INCH)
    assert above.levels["hip"] == sheet().levels["hip"]
    below = only(Length("waist", -50.0, INCH).done(alone(sheet())).pattern)
    assert below.levels["waist"] == sheet().levels["waist"]
    assert below.levels["hip"][0] == Point(0, 100 + INCH)
    assert below.levels["top"] == sheet().levels["top"]


def _bundled(name: str) -> Pattern:
    return read_pattern(json.loads((bundled_cases() / "patterns" / f"{name}.json").read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", ["sleeved-bodice", "gored-corset"])
def test_shortening_at_a_hollow_waist_leaves_the_girth_there_and_the_bend_on_the_edge(name: str) -> None:
    pattern = _bundled(name)
    made = do(pattern, [Length("waist", 0.0, 12.0)])
    assert garment_girth(made.pattern, "waist") == pytest.approx(garment_girth(pattern, "waist"), abs=0.05)
    assert not any("will not draw that bend" in note for note in notes_said(made.notes, {}))
    back = do(made.pattern, [Length("waist", 0.0, -12.0)]).pattern
    for piece, again in zip(pattern.pieces, back.pieces, strict=True):
        assert polygon(piece).exterior.hausdorff_distance(polygon(again).exterior) < 0.35


@pytest.mark.parametrize("mm", [25.0, 44.0, 50.0])
def test_the_waist_is_held_where_a_hollow_seam_has_no_room_to_be_carried_as_one_line(mm: float) -> None:
    """At 2 in the strip takes nearly all there is up to the next level; the waist is drawn on past the seam."""
    pattern = one(curved())
    made = do(pattern, [Length("waist", 0.0, mm)]).pattern
    assert garment_girth(made, "waist") == pytest.approx(garment_girth(pattern, "waist"), abs=0.05)
    assert unfair_edges(pattern, made) == ([], [])


@pytest.mark.parametrize("name", ["six-panel-corset", "gored-corset", "front-laced-stays", "sleeved-bodice"])
@pytest.mark.parametrize("offset", [0.0, 25.4, 63.5, -63.5])
@pytest.mark.parametrize("amount", [25.4, 12.7, -12.7, -25.4])
def test_where_no_steel_edge_slants_every_level_keeps_the_girth_it_has(name: str, offset: float, amount: float) -> None:
    pattern = _bundled(name)
    if (name, offset) in (("sleeved-bodice", -63.5), ("front-laced-stays", -63.5)) and amount > 0.0:
        pytest.skip("the paper, or the level at its hem, ends in the strip")
    assert _changes(pattern, Length("waist", offset, amount)) == pytest.approx([0.0] * 5, abs=0.25)


@pytest.mark.parametrize("name", ["gored-corset", "front-laced-stays", "boned-bodies"])
def test_what_is_folded_out_up_to_a_level_or_at_a_slanting_steel_edge_comes_back_when_it_is_let_in(name: str) -> None:
    """The underbust of two of them lies on the far side of the strip, 3 1/2 in above the waist."""
    pattern = _bundled(name)
    made = do(pattern, [Length("waist", 63.5, 25.4)]).pattern
    again = do(made, [Length("waist", 63.5, -25.4)]).pattern
    for piece, now in zip(pattern.pieces, again.pieces, strict=True):
        assert polygon(piece).exterior.hausdorff_distance(polygon(now).exterior) < 0.5
        assert [line[0] for line in now.levels.values()] == [
            pytest.approx(line[0], abs=0.05) for line in piece.levels.values()
        ]


def test_a_cut_along_the_level_it_is_measured_from_leaves_that_level_and_the_waist_where_they_are() -> None:
    pattern = _bundled("gored-corset")
    for station, offset in (("underbust", 0.0), ("underbust", -88.9)):
        made = do(pattern, [Length(station, offset, -12.7)]).pattern.piece("front")
        level = "waist" if offset else station
        assert made.levels[level][0] == pytest.approx(pattern.piece("front").levels[level][0], abs=1e-6)


def test_shortening_where_no_edge_bends_says_nothing_of_it() -> None:
    made = Length("waist", 50.0, INCH).done(alone(sheet()))
    assert not any("bend" in note for note in notes_said(made.notes, {}))


def test_a_line_above_the_hip_but_below_the_waist_moves_the_lower_half() -> None:
    made = only(Length("hip", 20.0, 10.0).done(alone(sheet())).pattern)
    assert made.levels["waist"] == sheet().levels["waist"]
    assert made.levels["hip"][0] == Point(0, 110)


def test_width_times_amount_comes_off_the_area_and_the_sides_stay_straight() -> None:
    made = only(Length("top", 10.0, INCH).done(alone(sheet())).pattern)
    assert piece_area(made) == pytest.approx(300 * (400 - INCH))
    assert [len(e.segments) for e in made.edges] == [1, 1, 1, 1]


def test_the_cut_is_square_to_the_grain() -> None:
    lean = Point(60, 20), Point(160, 370)
    piece = replace(sheet(), grain=lean, channels=(), slits=())
    made = only(Length("waist", 30.0, 20.0).done(alone(piece)).pattern)
    size = math.hypot(100, 350)
    moved = Point(60 - 20 * 100 / size, 320 - 20 * 350 / size)
    assert made.landmarks["bust-point"] == pytest.approx(moved, abs=1e-9)
    assert made.grain is not None
    assert math.dist(*made.grain) == pytest.approx(size - 20.0)


def test_lengthening_opens_the_paper_by_the_amount() -> None:
    made = Length("waist", 50.0, -INCH).done(alone(sheet()))
    assert piece_area(only(made.pattern)) == pytest.approx(300 * (400 + INCH))
    assert "longer" in notes_said(made.notes, {})[0]


@settings(max_examples=40, deadline=None)
@given(st.floats(25, 75), st.floats(1, 40))
def test_lengthening_on_the_closing_line_undoes_shortening(offset: float, amount: float) -> None:
    once = Length("waist", offset, amount).done(alone(sheet())).pattern
    again = Length("waist", offset - amount / 2, -amount).done(once).pattern
    assert polygon(only(again)).symmetric_difference(polygon(sheet())).area < 0.01


@pytest.mark.parametrize("amount", [INCH, 6.0, -INCH / 2, -INCH])
@pytest.mark.parametrize(("station", "offset"), [("waist", 2.5 * INCH), ("waist", -50.0), ("hip", -20.0)])
def test_partners_keep_equal_lengths_in_the_corset(corset: Pattern, station: str, offset: float, amount: float) -> None:
    made = do(corset, [Length(station, offset, amount)]).pattern
    for seam in corset.seams:
        assert abs(seam_difference(made, seam) - seam_difference(corset, seam)) < INCH / 16
    for piece in made.pieces:
        assert piece_mistakes(piece, piece.name) == []


def test_no_station_s_girth_is_lost_by_truing_more_than_a_thirty_second_an_edge(corset: Pattern) -> None:
    made = Length("waist", 2.5 * INCH, INCH).done(corset).pattern
    for station in ("top", "underbust", "waist", "hip", "bottom"):
        was, now = garment_girth(corset, station), garment_girth(made, station)
        assert was is not None
        assert now is not None
        assert now > was - 20 * INCH / 32


def test_the_one_piece_bodies_keep_their_straight_lacing_edge(bodies: Pattern) -> None:
    made = Length("waist", 2.5 * INCH, INCH).done(bodies)
    piece = made.pattern.pieces[0]
    assert len(piece.edge("lacing").segments) == 1
    assert piece_mistakes(piece, "bodies") == []
    assert [s.line for s in piece.slits] == [s.line for s in bodies.pieces[0].slits]


@pytest.fixture
def gored() -> Pattern:
    return read_pattern(json.loads((bundled_cases() / "patterns" / "gored-corset.json").read_text(encoding="utf-8")))


def _changes(pattern: Pattern, do_: Length) -> list[float]:
    made = do(pattern, [do_]).pattern
    pairs = ((garment_girth(pattern, name), garment_girth(made, name)) for name in STATIONS)
    return [now - was if was is not None and now is not None else 0.0 for was, now in pairs]


@pytest.mark.parametrize(
    ("offset", "amount"),
    [(25.0, -25.4), (63.5, -25.4), (63.5, 12.7), (25.0, 19.0), (40.0, -6.35), (-63.5, -25.4), (-63.5, 12.7)],
)
def test_a_lacing_edge_stepped_by_a_new_length_keeps_the_waist_and_shares_the_step_out_over_the_rest(
    bodies: Pattern, offset: float, amount: float
) -> None:
    """Laid on either half alone, the slanting edge gives or takes the whole step at the other (geometry)."""
    lacing = bodies.pieces[0].edge("lacing")
    step = 2.0 * abs(amount * (lacing.end.x - lacing.start.x) / math.dist(lacing.start, lacing.end))
    made = do(bodies, [Length("waist", offset, amount)]).pattern
    assert change_report(bodies, made).girths["waist"].by == pytest.approx(0.0, abs=0.2)
    assert max(map(abs, _changes(bodies, Length("waist", offset, amount)))) < 0.75 * step


def test_what_the_ruled_lacing_edge_gives_and_takes_stands_in_the_report_and_is_said(bodies: Pattern) -> None:
    made = do(bodies, [Length("waist", 63.5, -25.4)])
    report = change_report(bodies, made.pattern)
    assert report.girths["underbust"].by > 5.0
    notes = notes_said(made.notes, {})
    why = next(note for note in notes if "no seam" in note)
    assert "its width grows evenly with the height" in why
    assert f"underbust {both(report.girths['underbust'].by / 2.0)} wider" in why
    assert any("steel edge" in note and "shared out" in note and "the back top" in note for note in notes)


@pytest.mark.parametrize("offset", [0.0, 25.4, 63.5, -63.5])
@pytest.mark.parametrize("amount", [25.4, 12.7, -12.7, -25.4])
def test_what_a_slanting_lacing_edge_gives_or_takes_is_taken_or_given_at_the_seam_across(
    offset: float, amount: float
) -> None:
    """The edge slants by 1 in 3: laid on either half alone it would give or take 17 mm round for 1 in (geometry)."""
    pattern = read_pattern(awkward_pattern("slanting back"))
    made = do(pattern, [Length("waist", offset, amount)])
    assert len(made.pattern.piece("n2").edge("back").segments) == 1
    was, now = pattern.piece("n2"), made.pattern.piece("n2")
    assert max(abs(station_width(now, name) - station_width(was, name)) for name in was.levels) < 0.25
    assert max(map(abs, _changes(pattern, Length("waist", offset, amount)))) < 3.0
    assert any("every level keeps its width" in note for note in notes_said(made.notes, {}))
    for seam in pattern.seams:
        assert abs(seam_difference(made.pattern, seam) - seam_difference(pattern, seam)) < INCH / 16


def test_a_level_that_leaves_the_strip_lies_on_the_closing_line_from_edge_to_edge(bodies: Pattern) -> None:
    made = do(bodies, [Length("waist", -63.5, 12.7)]).pattern.pieces[0]
    assert made.levels["bottom"][0] == pytest.approx((0.0, -63.5), abs=1e-6)
    # It lay along the strip, so it is as long as the paper there, not as a chord across the piece.
    assert station_width(made, "bottom") == pytest.approx(station_width(made, "hip") - 5.0, abs=5.0)


@pytest.mark.parametrize("amount", [12.7, -12.7, 25.4])
def test_a_gore_is_cut_where_its_slit_is_and_keeps_its_width_at_the_hip_and_at_the_hem(
    gored: Pattern, amount: float
) -> None:
    made = do(gored, [Length("waist", -63.5, amount)])
    for panel, name in (("side-front", "hip-gore-front"), ("side-back", "hip-gore-back")):
        gore, was = made.pattern.piece(name), gored.piece(name)
        slit = made.pattern.piece(panel).slits[0].line
        legs = [edge for edge in gore.edges if edge.role == "seam"]
        assert [edge_length(leg) for leg in legs] == pytest.approx([math.dist(*slit)] * 2, abs=0.1)
        assert station_width(gore, "hip") == pytest.approx(station_width(was, "hip"), abs=0.05)
        hem, old = (one.edge("hem") for one in (gore, was))
        assert math.dist(hem.start, hem.end) == pytest.approx(math.dist(old.start, old.end), abs=1e-6)
        tip = legs[0].end if legs[0].end not in (hem.start, hem.end) else legs[0].start
        # Both are cut at one height: the gore's level is as far from its tip as the panel's.
        down = slit[-1].y - made.pattern.piece(panel).levels["hip"][0].y
        assert tip.y - gore.levels["hip"][0].y == pytest.approx(down, abs=1.5)
    assert not any("Left as they are" in note for note in notes_said(made.notes, {}))


@pytest.mark.parametrize("amount", [3.175, 12.7, -12.7])
def test_a_pair_of_gores_is_cut_where_the_slits_of_a_left_and_a_right_piece_are(gored: Pattern, amount: float) -> None:
    """Before, a gore sewn by four seams was left as it was, and its seam came apart."""
    parted = do(gored, [SplitSides("side-front")]).pattern
    made = do(parted, [Length("waist", -63.5, amount)]).pattern
    whole = do(gored, [Length("waist", -63.5, amount)]).pattern
    assert made.piece("hip-gore-front").edges == whole.piece("hip-gore-front").edges


def test_an_amount_of_nothing_gives_an_equal_pattern(corset: Pattern) -> None:
    assert Length("waist", 60.0, 0.0).done(corset) == Altered(corset)


def test_pieces_the_line_does_not_reach_are_left_and_named() -> None:
    short = replace(sheet(), name="gore", levels={"waist": (Point(0, 390), Point(300, 390))})
    pattern = Pattern("a test", "back", (sheet(), short))
    made = Length("waist", 30.0, 10.0).done(pattern)
    assert made.pattern.piece("gore") == short
    assert any("gore" in note for note in notes_said(made.notes, {}))


def test_a_station_nobody_has_is_refused_with_those_there_are() -> None:
    with pytest.raises(FitError, match="The levels it has: top, waist, hip"):
        Length("underbust", 0.0, 10.0).done(alone(sheet()))


def test_a_line_off_the_paper_is_refused() -> None:
    with pytest.raises(FitError, match="No piece reaches the line"):
        Length("waist", 900.0, 10.0).done(alone(sheet()))


def test_every_piece_without_room_is_named_at_once() -> None:
    pattern = Pattern("a test", "back", (sheet(), replace(sheet(), name="other")))
    with pytest.raises(FitError) as caught:
        do(pattern, [Length("waist", 150.0, 300.0)])
    assert [m.where for m in caught.value.mistakes] == ["do, piece sheet", "do, piece other"]
    assert all("room for" in m.do for m in caught.value.mistakes)


def test_a_piece_without_a_waist_or_a_grain_is_cut_level_by_its_station() -> None:
    piece = replace(sheet(), levels={"hip": (Point(0, 100), Point(300, 100))}, grain=None)
    made = only(Length("hip", 0.0, 10.0).done(alone(piece)).pattern)
    assert made.landmarks["bust-point"] == Point(60, 320)
    assert made.edge("hem").start == pytest.approx((0, 10))
    top = replace(sheet(), levels={"top": (Point(0, 300), Point(300, 300))}, grain=None)
    assert only(Length("top", 0.0, 10.0).done(alone(top)).pattern).edge("hem").start == Point(0, 0)


def test_numbers_that_are_none_are_refused() -> None:
    with pytest.raises(FitError, match="not a number"):
        Length("waist", math.nan, 10.0).done(alone(sheet()))


def _gore_between() -> Pattern:
    """Two oblongs of 100 by 400 mm and, between their seams from 20 mm below the waist down, a hip gore 60 mm wide."""

    def piece(name: str, edges: list[tuple[str, str, float, float]], **levels: float) -> dict[str, Any]:
        *_, (_, _, *start) = edges
        return {
            "name": name,
            "cut": "pair",
            "side": "both",
            "start": start,
            "edges": [{"name": edge, "role": role, "path": [["L", x, y]]} for edge, role, x, y in edges],
            "levels": {station: [[start[0] - 5, y], [start[0] + 105, y]] for station, y in levels.items()},
        }

    front = [("hem", "bottom", 100, -200), ("low", "seam", 100, -20), ("up", "seam", 100, 200)]
    front += [("top", "top", 0, 200), ("busk", "opening", 0, -200)]
    back = [("hem", "bottom", 400, -200), ("lace", "lacing", 400, 200), ("top", "top", 300, 200)]
    back += [("up", "seam", 300, -20), ("low", "seam", 300, -200)]
    tip = -200 + math.sqrt(180**2 - 30**2)
    gore = [("hem", "bottom", 230, -200), ("leg-back", "seam", 200, tip), ("leg-front", "seam", 170, -200)]
    both_levels = {"waist": 0.0, "hip": -100.0}
    pieces = [piece("front", front, **both_levels), piece("back", back, **both_levels), piece("gore", gore, hip=-100.0)]
    sewn = [("front", "up", "back", "up"), ("front", "low", "gore", "leg-front"), ("gore", "leg-back", "back", "low")]
    seams = [{"name": a + b, "a": [a, own], "b": [b, other], "ease": 0} for a, own, b, other in sewn]
    form = {"format": "stays-pattern", "version": 1, "name": "hip gores", "closure": "back"}
    return read_pattern({**form, "pieces": pieces, "seams": seams})


@pytest.mark.parametrize("amount", [INCH / 2, INCH, -INCH])
def test_a_gore_without_the_station_is_cut_where_the_pieces_it_is_sewn_to_are(amount: float) -> None:
    made = do(_gore_between(), [Length("waist", -2.5 * INCH, amount)]).pattern
    assert edge_length(made.piece("front").edge("low")) == pytest.approx(180.0 - amount, abs=0.1)
    for seam in made.seams:
        assert abs(seam_difference(made, seam)) < INCH / 16
    assert made.piece("gore").edge("leg-back").end.y == pytest.approx(
        _gore_between().piece("gore").edge("leg-back").end.y
    )
    assert made.piece("gore").edge("hem").start.y == pytest.approx(-200.0 + amount, abs=0.5)


def test_levels_keep_their_order_and_room_however_often_it_is_shortened_above_the_waist(corset: Pattern) -> None:
    pattern, again = corset, Length("waist", 2.5 * INCH, INCH)
    for _ in range(3):
        pattern = do(pattern, [again]).pattern
    with pytest.raises(FitError, match=r"top level would lie only .* above the underbust level") as caught:
        do(pattern, [again])
    assert "The most there is room for is about" in caught.value.mistakes[0].do
    do(pattern, [Length("waist", 2.5 * INCH, INCH / 4)])
    for piece in pattern.pieces:
        heights = [piece.levels[station][0].y for station in STATIONS]
        assert all(upper - lower >= 0.75 * INCH for upper, lower in pairwise(heights))


def test_as_much_is_left_between_two_levels_as_is_asked_for(corset: Pattern) -> None:
    usual = Length("waist", 2.5 * INCH, INCH)
    wide = replace(usual, between=4 * INCH)
    assert parse_operations([usual.to_json(), wide.to_json()]) == (usual, wide)
    assert "between" not in usual.to_json()
    assert do(corset, [usual]).pattern != corset
    with pytest.raises(FitError, match="top level would lie only"):
        do(corset, [wide])


def test_two_levels_are_not_folded_on_to_one_line() -> None:
    levels = {**sheet().levels, "underbust": (Point(0, 280), Point(300, 280))}
    with pytest.raises(FitError, match="The top level would lie on or under the underbust level"):
        do(alone(replace(sheet(), levels=levels)), [Length("waist", 40.0, 80.0)])
