"""Alterations drawn into patterns: figures worked by hand, and every alteration of the rule base on both patterns."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest
from drawing_bench import FULL, IN, USUAL, alteration, edge_points, girth, length, over_all_seams, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.kept import forget
from diagnose.pattern.measure import bounds, edge_length, garment_girth
from diagnose.pattern.moved.shift import is_straight
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.drawing.half import halves_of

LAND_MM = IN / 32 + 1e-3
TAKE_IN = alteration({"do": "seams", "which": "all", "by": FULL})


def moved(drawn: Drawn) -> dict[tuple[str, str], dict[str, float]]:
    """What each edge was moved by, by station."""
    return {
        (op["piece"], op["edge"]): {place["at"]: place["mm"] for place in op["by"] if "at" in place}
        for op in told(drawn)
        if op["op"] == "move-edge"
    }


def test_without_a_pattern_the_amount_stays_the_items_own(settings: Settings) -> None:
    item = girth(TAKE_IN, dict.fromkeys(STATIONS, 2 * IN))
    drawn = draw(item, None, settings)
    assert (drawn.amount, drawn.profile, told(drawn), drawn.pattern) == (item.amount, item.profile, (), None)


def test_two_inches_over_four_seams_are_an_eighth_on_every_stitching_line(settings: Settings) -> None:
    # geometry: d/(4n) on each line; 16 lines of 1/8 in are 2 in
    drawn = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, 2 * IN)), panels(60, 60, 60, 60, 60), settings)
    lines = moved(drawn)
    assert len(lines) == 8
    assert all(mm == pytest.approx(IN / 8) for by in lines.values() for mm in by.values())
    assert drawn.profile == pytest.approx(dict.fromkeys(STATIONS, 2 * IN))
    assert drawn.amount.per_edge_mm == pytest.approx(IN / 8)
    assert drawn.amount.per_half_mm == pytest.approx(IN)
    assert drawn.amount.whole_mm == pytest.approx(2 * IN)


def test_a_let_out_that_does_not_share_out_is_drawn_on_the_ruler_and_adds_up(settings: Settings) -> None:
    # geometry: 1 in a half over ten lines is 0.1 in each: four of 1/8 in, six of 1/16 in, hand-counted in sixteenths
    drawn = draw(
        girth(TAKE_IN, dict.fromkeys(STATIONS, -2 * IN)), panels(50, 50, 50, 50, 50, 50), over_all_seams(settings)
    )
    at_waist = sorted(by["waist"] / IN * 16 for by in moved(drawn).values())
    assert at_waist == pytest.approx([-2] * 6 + [-1] * 4)
    assert drawn.profile["waist"] == pytest.approx(-2 * IN)
    assert any("1/16 in" in note and "1/8 in" in note for note in notes_said(drawn.notes, {}))


def test_a_slanted_gap_comes_parallel_by_a_sixteenth_on_every_line(settings: Settings) -> None:
    # geometry: d is 1 in at the top and -1 in at the bottom, four seams: 1/16 in in above, 1/16 in out below
    by = {"top": "full", "bottom": "full"}
    item = girth(alteration({"do": "seams", "which": "all", "by": by}), {"top": IN, "bottom": -IN})
    drawn = draw(item, panels(60, 60, 60, 60, 60), over_all_seams(settings))
    for line in moved(drawn).values():
        assert line == pytest.approx({"top": IN / 16, "bottom": -IN / 16})
    assert drawn.profile["top"] == pytest.approx(IN, abs=LAND_MM)
    assert drawn.profile["bottom"] == pytest.approx(-IN, abs=LAND_MM)
    assert all(is_straight(piece.edge("front")) for piece in (drawn.pattern or panels(60)).pieces[:1])


def test_the_side_seam_moves_forward_and_the_girth_stays(settings: Settings) -> None:
    # geometry: 3/8 in behind the body's line: the front loses 3/8 in, the back gains it
    pattern = panels(80, 80, 80, 80)
    drawn = draw(length(alteration({"do": "split-share"}, kind="length"), 3 / 8 * IN), pattern, settings)
    lines = moved(drawn)
    assert set(lines) == {("panel-2", "back"), ("panel-3", "front")}
    assert lines["panel-2", "back"]["waist"] == pytest.approx(3 / 8 * IN)
    assert lines["panel-3", "front"]["waist"] == pytest.approx(-3 / 8 * IN)
    assert drawn.profile == pytest.approx(dict.fromkeys(STATIONS, 0.0), abs=1e-6)


def test_a_release_at_the_bottom_is_an_eighth_there_and_nothing_from_the_waist_up(settings: Settings) -> None:
    # geometry: d is -2 in at the bottom, four seams: 1/8 in out on each line
    release = alteration({"do": "seams", "which": "all", "by": {"waist": "nothing", "bottom": "full"}})
    drawn = draw(girth(release, {"bottom": -2 * IN}), panels(60, 60, 60, 60, 60), settings)
    assert all(by == pytest.approx({"waist": 0.0, "bottom": -IN / 8}) for by in moved(drawn).values())
    assert drawn.profile["bottom"] == pytest.approx(-2 * IN, abs=LAND_MM)
    assert [drawn.profile[s] for s in ("top", "underbust", "waist")] == pytest.approx([0.0] * 3, abs=1e-6)


def test_a_hollow_back_wedge_keeps_the_lacing_edge_straight_and_the_girth(settings: Settings) -> None:
    # geometry: 1/2 in at the lacing edge, hinge 7 in away: 9 in above the fold the edge leans out 0.64 in, that is
    # 5/8 in on the ruler, which goes off the lacing edge and on again at the seam before it
    pattern = panels(7 * IN, 7 * IN, top_mm=9 * IN)
    wedge = alteration({"do": "back-wedge", "station": "waist", "way": "out"}, kind="length")
    drawn = draw(length(wedge, IN / 2), pattern, settings)
    assert drawn.pattern is not None
    fold, straight = told(drawn)[:2]
    assert (fold["op"], fold["piece"]) == ("fold", "panel-2")
    assert straight["by"][1]["mm"] == pytest.approx(5 / 8 * IN)
    back = drawn.pattern.piece("panel-2").edge("back")
    assert is_straight(back)
    assert edge_length(back) == pytest.approx(15 * IN - IN / 2, abs=1.0)
    restored = moved(drawn)["panel-2", "front"]["top"] + moved(drawn)["panel-1", "back"]["top"]
    assert restored == pytest.approx(-5 / 8 * IN, abs=IN / 16)
    assert all(abs(change) / 2 <= IN / 16 for change in drawn.profile.values())


def test_the_lacing_edge_moves_parallel_with_its_bones(corset: Pattern, settings: Settings) -> None:
    item = girth(alteration({"do": "lacing-edge"}), dict.fromkeys(STATIONS, IN))
    drawn = draw(item, corset, settings)
    assert drawn.pattern is not None
    assert is_straight(drawn.pattern.piece("p6").edge("centre-back"))
    assert drawn.profile == pytest.approx(dict.fromkeys(STATIONS, IN), abs=LAND_MM)
    old, new = (one.piece("p6").channels[-1].line[0].x for one in (corset, drawn.pattern))
    assert old - new == pytest.approx(IN / 2)


def test_girth_lands_on_what_was_wanted_where_the_seams_slant(corset: Pattern, settings: Settings) -> None:
    for change in (IN, 2 * IN, -IN):
        drawn = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, change)), corset, settings)
        for station in STATIONS:
            assert drawn.profile[station] / 2 == pytest.approx(change / 2, abs=LAND_MM), station


def test_every_stitching_line_is_drawn_in_whole_divisions_of_the_ruler(corset: Pattern, settings: Settings) -> None:
    for unit, division in (("in", IN / 16), ("mm", 1.0)):
        drawn = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, 33.0)), corset, settings.in_unit(unit))  # type: ignore[arg-type]
        parts = [mm / division for by in moved(drawn).values() for mm in by.values()]
        assert parts == pytest.approx([round(part) for part in parts], abs=1e-4)
        assert {s: sum(each) for s, each in drawn.amount.edges_mm.items()}["waist"] == pytest.approx(16.5, abs=division)


def test_the_measured_change_is_what_the_pattern_says(corset: Pattern, settings: Settings) -> None:
    drawn = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, IN)), corset, settings)
    assert drawn.pattern is not None
    for station in STATIONS:
        before, after = garment_girth(corset, station), garment_girth(drawn.pattern, station)
        assert before is not None
        assert after is not None
        assert drawn.profile[station] == pytest.approx(before - after, abs=1e-3)


def test_one_side_alone_changes_one_half_by_its_own_figure(corset: Pattern, settings: Settings) -> None:
    drawn = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, IN), side="left"), corset, settings)
    assert drawn.pattern is not None
    assert drawn.profile["waist"] == pytest.approx(IN, abs=LAND_MM)
    assert drawn.amount.whole_mm == pytest.approx(IN, abs=LAND_MM)
    right = drawn.pattern.piece("p3-right")
    assert right.edges == corset.piece("p3").edges
    assert drawn.pattern.piece("p3-left").edges != right.edges
    assert told(drawn)[0] == {"op": "split-sides", "piece": "p1"}


def test_after_one_side_was_altered_a_change_on_both_reaches_both_halves(corset: Pattern, settings: Settings) -> None:
    left = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, IN / 2), side="left"), corset, settings)
    both = draw(girth(TAKE_IN, dict.fromkeys(STATIONS, IN)), left.pattern, settings)
    assert both.pattern is not None
    assert [half.side for half in halves_of(both.pattern, "both", USUAL)] == ["left", "right"]
    assert both.profile["waist"] == pytest.approx(IN, abs=LAND_MM * 2)
    names = {op["piece"] for op in told(both)}
    assert {"p3-left", "p3-right"} <= names


def test_the_underarm_of_the_right_side_alone_is_scooped(bodies: Pattern, settings: Settings) -> None:
    scoop = alteration(
        {"do": "edge", "place": "underarm", "direction": "down"},
        {"do": "channels", "what": "shorten", "place": "underarm"},
        kind="length",
    )
    drawn = draw(length(scoop, 3 / 8 * IN, side="right"), bodies, settings)
    assert drawn.pattern is not None
    assert [op["op"] for op in told(drawn)] == ["split-sides", "reshape-edge"]
    left, right = (drawn.pattern.piece(f"bodies-{side}") for side in ("left", "right"))
    assert left.edges == bodies.pieces[0].edges
    old, new = left.edge("armhole"), right.edge("armhole")
    assert (new.start, new.end) == (old.start, old.end)
    under = bodies.pieces[0].landmarks["underarm"]
    assert min(distance(under, point) for point in edge_points(new)) == pytest.approx(3 / 8 * IN, abs=0.3)
    shorter = {c.name for c, d in zip(left.channels, right.channels, strict=True) if c != d}
    assert {"b9", "b10"} <= shorter
    assert drawn.profile == dict.fromkeys(STATIONS, 0.0)


def test_seams_that_no_longer_match_are_trued_at_their_ends(corset: Pattern, settings: Settings) -> None:
    belly = alteration({"do": "seams", "which": "belly", "by": {"waist": "nothing", "bottom": "full"}})
    drawn = draw(girth(belly, {"bottom": -2 * IN}), corset, settings)
    assert drawn.pattern is not None
    assert any("walked" in note.lower() for note in notes_said(drawn.notes, {}))
    read_pattern(to_json(drawn.pattern))
    assert not any(note.startswith("Seam '") for note in notes_said(drawn.notes, {}))


def test_a_change_over_seams_is_not_drawn_where_there_are_none(bodies: Pattern, settings: Settings) -> None:
    item = girth(TAKE_IN, dict.fromkeys(STATIONS, IN))
    drawn = draw(item, bodies, settings)
    assert (told(drawn), drawn.profile, drawn.amount) == ((), item.profile, item.amount)
    assert drawn.pattern == bodies
    assert "it has no seam to take in or let out" in notes_said(drawn.notes, {})[0]


def test_a_hip_gore_gives_what_was_wanted_at_the_bottom(corset: Pattern, bodies: Pattern, settings: Settings) -> None:
    gores = alteration({"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}})
    for pattern in (corset, bodies):
        for change in (IN, 3 * IN):
            drawn = draw(girth(gores, {"bottom": -change}), pattern, settings)
            let_in = [op for op in told(drawn) if op["op"] == "insert-gore"]
            assert len(let_in) == (1 if change == IN else 2)
            assert drawn.profile["bottom"] / 2 == pytest.approx(-change / 2, abs=LAND_MM)
            assert drawn.profile["waist"] == pytest.approx(0.0, abs=1e-6)


def test_the_whole_garment_is_shortened_above_the_waist(corset: Pattern, settings: Settings) -> None:
    shorten = alteration({"do": "length", "station": "waist", "offset": "2 1/2 in", "way": "shorten"}, kind="length")
    drawn = draw(length(shorten, IN / 2), corset, settings)
    assert drawn.pattern is not None
    assert bounds(corset.piece("p6")).top - bounds(drawn.pattern.piece("p6")).top == pytest.approx(IN / 2, abs=0.1)
    assert drawn.profile["waist"] == pytest.approx(0.0, abs=1e-6)


def test_the_bust_slash_opens_by_the_amount_at_the_top_and_nothing_at_the_waist(
    corset: Pattern, settings: Settings
) -> None:
    spread = alteration({"do": "bust-slash", "way": "spread"}, kind="length")
    drawn = draw(length(spread, IN / 2), corset, settings)
    # geometry: 1/2 in at the top edge, hinged at the waist; the top level crosses 171/207 of the way up
    assert drawn.profile["top"] / 2 == pytest.approx(-IN / 2 * 171.4 / 207, abs=LAND_MM)
    assert abs(drawn.profile["waist"]) < IN / 8
    folded = draw(length(alteration({"do": "bust-slash", "way": "fold"}, kind="length"), IN / 2), corset, settings)
    assert folded.profile["top"] == pytest.approx(-drawn.profile["top"], abs=LAND_MM)


def test_straps_and_tabs_are_altered_where_they_are_marked(
    bodies: Pattern, corset: Pattern, settings: Settings
) -> None:
    move = alteration({"do": "strap", "what": "move"}, kind="length", direction="in")
    flare = alteration({"do": "tabs", "what": "flare"}, kind="length")
    drawn = draw(length(move, IN / 2), bodies, settings)
    assert told(drawn) == ({"op": "strap", "piece": "bodies", "end": "back", "move": IN / 2},)
    assert len(draw(length(flare, IN / 4), bodies, settings).pattern.pieces) == 5  # type: ignore[union-attr]
    for item in (move, flare):
        nothing = draw(length(item, IN / 2), corset, settings)
        assert told(nothing) == ()
        assert notes_said(nothing.notes, {})[0].startswith("Not drawn on the pattern.")


def test_a_pattern_with_a_name_for_nothing_is_drawn_on_all_the_same(corset: Pattern, settings: Settings) -> None:
    names = {piece.name: f"x{number}" for number, piece in enumerate(corset.pieces)}
    raw = to_json(corset)
    text = json.dumps(raw)
    for old, new in names.items():
        text = text.replace(f'"{old}"', f'"{new}"')
    renamed = read_pattern(json.loads(text))
    shuffled = replace(renamed, pieces=tuple(reversed(renamed.pieces)))
    plain, strange = (draw(girth(TAKE_IN, dict.fromkeys(STATIONS, IN)), p, settings) for p in (corset, shuffled))
    assert strange.profile == pytest.approx(plain.profile)


def test_an_expansion_takes_no_longer_than_a_few_runs_of_its_operations(corset: Pattern, settings: Settings) -> None:
    item = girth(TAKE_IN, dict.fromkeys(STATIONS, 2 * IN))
    operations = parse_operations(list(told(draw(item, corset, settings))))
    alone = min(_seconds(lambda: do(corset, operations)) for _ in range(3))
    assert min(_seconds(lambda: draw(item, corset, settings)) for _ in range(3)) < 4 * alone


def _seconds(run: Any) -> float:
    forget()
    begun = time.process_time()
    run()
    return time.process_time() - begun
