"""Where marks stand off the line, levels are missing or nothing is wanted: what is drawn then. Figures by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest
from drawing_bench import IN, USUAL, alteration, girth, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.walking import arms_change
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, garment_girth
from diagnose.pattern.operations import ReshapeEdge
from diagnose.pattern.operations.reshape_edge import Direction
from diagnose.pattern.outline import Channel, Line, Pattern, Piece, Point
from diagnose.places import bundled_cases
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.drawing.board import Board, Task
from diagnose.plan.drawing.cross_folds import fold_across
from diagnose.plan.drawing.evening import evened
from diagnose.plan.drawing.half import Half, halves_of
from diagnose.plan.drawing.named_places import place_named

TOP, HEM, WHOLE = 8 * IN, -6 * IN, 400.0


def drawn_by(pattern: Pattern, settings: Settings, mm: float, side: Any = "both", **move: str) -> Drawn:
    return draw(length(alteration(move, kind="length"), mm, side), pattern, settings)


def without(pattern: Pattern, *stations: str) -> Pattern:
    def bare(piece: Piece) -> Piece:
        return replace(piece, levels={name: at for name, at in piece.levels.items() if name not in stations})

    return replace(pattern, pieces=tuple(map(bare, pattern.pieces)))


def one_panel(front_mm: float = 0.0, back_mm: float = 0.0, *gone: str, **marks: Point) -> Half:
    """A half in one panel of 400 mm whose top is raised by so much at its front and at its back."""
    pattern = without(panels(WHOLE), *gone)
    piece = pattern.pieces[0]
    front, back = Point(0.0, TOP + front_mm), Point(WHOLE, TOP + back_mm)
    legs = {
        "top-edge": Line(back, front),
        "front": Line(front, piece.edge("front").end),
        "back": Line(piece.edge("back").start, back),
    }
    for name, leg in legs.items():
        piece = piece.with_edge(replace(piece.edge(name), segments=(leg,)))
    landmarks = {name.replace("_", "-"): at for name, at in marks.items()}
    return halves_of(pattern.with_piece(replace(piece, landmarks=landmarks)), "both", USUAL)[0]


@pytest.mark.parametrize(("front", "back", "part"), [(0.0, 120.0, 0.0), (120.0, 0.0, 1.0), (0.0, 0.0, 1 / 2)])
@pytest.mark.parametrize("gone", [(), ("waist",)])
def test_the_lowest_place_under_the_arm_is_found_within_the_armhole_and_may_stand_at_its_ends(
    front: float, back: float, part: float, gone: tuple[str, ...]
) -> None:
    place = place_named(one_panel(front, back, *gone), "underarm")
    assert place.peak == pytest.approx(part * place.line.size, abs=0.01)
    assert place.start <= place.peak <= place.end


@pytest.mark.parametrize(
    ("marks", "peak"),
    [
        ({"underarm": Point(120.0, TOP - 12.0)}, 120.0),
        ({"underarm": Point(120.0, TOP - 14.0)}, 200.0),  # over 1/2 in off the edge: no mark of this line
        # a mark outside the armhole, which runs from tab to tab (112.7 to 187.3), is not its lowest place
        ({"underarm": Point(300.0, TOP), "strap_front": Point(100.0, TOP), "strap_back": Point(200.0, TOP)}, 150.0),
    ],
)
def test_a_mark_of_the_underarm_counts_on_the_line_and_within_the_armhole(marks: dict[str, Point], peak: float) -> None:
    assert place_named(one_panel(**marks), "underarm").peak == pytest.approx(peak, abs=0.01)


def test_a_hollow_front_is_filled_by_its_hollow_and_its_ends_stay(settings: Settings) -> None:
    pattern = panels(3 * IN, 3 * IN)
    piece = pattern.pieces[0]
    front = piece.edge("front")
    waist = Point(front.start.x + IN / 2, 0.0)
    levels = {**piece.levels, "waist": (waist, piece.levels["waist"][-1])}
    bent = replace(front, segments=(Line(front.start, waist), Line(waist, front.end)))
    drawn = drawn_by(
        pattern.with_piece(replace(piece.with_edge(bent), levels=levels)), settings, IN / 2, do="front-straight"
    )
    by = told(drawn)[0]["by"]
    assert (by[0]["mm"], by[-1]["mm"]) == pytest.approx((0.0, 0.0), abs=1e-6)
    # the places stand a 24th of the edge apart, so the deepest one misses the corner by half of that at most
    assert min(place["mm"] for place in by) == pytest.approx(-IN / 2, abs=0.5)


@pytest.mark.parametrize(
    ("starts", "ends", "amounts", "xs"),
    [
        # a wedge of 10 mm over 100 mm grows by 1/2 mm on the 5 mm it is drawn on; its foot lies 1 mm beyond the edge
        (0.0, 10.0, (0.0, 10.5), (101.0, -5.0)),
        (10.0, 0.0, (10.5, 0.0), (105.0, -1.0)),
        (10.0, 10.0, (10.0, 10.0), (105.0, -5.0)),
        (6.0, 4.0, (6.1, 3.9), (105.0, -5.0)),
        (0.0, -10.0, (0.0, -10.5), (101.0, -5.0)),
    ],
)
def test_a_fold_across_is_as_wide_at_the_edges_as_asked_and_a_wedge_comes_to_nothing_just_beyond(
    starts: float, ends: float, amounts: tuple[float, float], xs: tuple[float, float]
) -> None:
    op = fold_across(panels(100.0).pieces[0], Point(100.0, 0.0), Point(0.0, 0.0), starts, ends)
    assert (op.amount_from, op.amount_to) == pytest.approx(amounts, abs=1e-9)
    assert (op.from_.x, op.to.x) == pytest.approx(xs)
    # half the widest part of the strip and 1 mm more over its line, so that the line itself stays
    assert op.from_.y == op.to.y == pytest.approx(max(starts, ends, 0.0) / 2 + 1.0)


@pytest.mark.parametrize(("role", "height"), [("top", TOP), ("bottom", HEM)])
@pytest.mark.parametrize(("raised", "word"), [(IN / 4, "shorter"), (-IN / 4, "longer")])
def test_a_seam_edge_that_came_out_too_long_is_trimmed_and_one_too_short_is_drawn_on(
    role: str, height: float, raised: float, word: str, settings: Settings
) -> None:
    pattern = panels(100, 100)
    edge = {"top": "top-edge", "bottom": "hem"}[role]
    up: Direction = "up" if role == "top" else "down"
    corner, far = Point(100.0, height), Point(30.0, height)
    op = ReshapeEdge(piece="panel-1", edges=(edge,), from_=corner, peak=corner, to=far, height=raised, direction=up)
    board = Board(Altered(pattern)).do([op], "both")
    old = edge_length(pattern.pieces[0].edge("back"))
    assert edge_length(board.pattern.pieces[0].edge("back")) == pytest.approx(old + raised, abs=0.01)
    made = evened(board, pattern, Task(length(alteration({"do": "note", "why": "It is for the hand."}), 0.0), settings))
    assert edge_length(made.pattern.pieces[0].edge("back")) == pytest.approx(old, abs=0.1)
    assert made.pattern.pieces[1] == pattern.pieces[1]
    assert f"Walked against its partner: first panel, back is drawn 1/4 in (6 mm) {word} at the {role}." in notes_said(
        made.notes, {}
    )


def test_each_arm_of_a_seam_is_walked_though_the_whole_of_it_has_kept_its_length(settings: Settings) -> None:
    pattern = panels(100, 100)
    corners = (("top-edge", TOP), ("hem", HEM))
    raised = [
        ReshapeEdge(
            piece="panel-1", edges=(edge,), from_=Point(100.0, y), peak=Point(100.0, y), to=Point(30.0, y), height=2.0
        )
        for edge, y in corners
    ]
    board = Board(Altered(pattern)).do(raised, "both")
    seam = pattern.seams[0]
    assert arms_change(pattern, board.pattern, seam) == pytest.approx((2.0, -2.0), abs=0.05)
    made = evened(board, pattern, Task(length(alteration({"do": "note", "why": "It is for the hand."}), 0.0), settings))
    assert arms_change(pattern, made.pattern, seam) == pytest.approx((0.0, 0.0), abs=0.1)


def test_a_change_at_a_level_that_the_pattern_lacks_draws_nothing_and_changes_no_girth(settings: Settings) -> None:
    pattern = without(panels(100, 100, 100), "hip")
    at_hip = alteration({"do": "seams", "which": "all", "by": {"hip": "full"}})
    drawn = draw(girth(at_hip, {"hip": -IN}), pattern, settings)
    assert drawn.pattern == pattern
    assert told(drawn) == ()


def test_without_a_lowest_level_a_gore_is_as_wide_as_the_hip_asks(settings: Settings) -> None:
    gore = {"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}}
    pattern = without(panels(100, 100, 100), "bottom")
    drawn = draw(girth(alteration(gore), {"hip": -IN}), pattern, settings)
    assert drawn.pattern is not None
    before, after = garment_girth(pattern, "hip"), garment_girth(drawn.pattern, "hip")
    assert before is not None
    assert after is not None
    assert after - before == pytest.approx(IN, abs=IN / 16)


@pytest.mark.parametrize(("channel", "slit"), [(57.0, 40.0), (58.5, 50.0), (43.0, 60.0)])
def test_a_new_gore_keeps_an_eighth_of_an_inch_off_a_channels_stitching(
    channel: float, slit: float, settings: Settings
) -> None:
    # a channel 9.5 mm wide and 3.2 mm: nearer than 7.9 mm to the middle of the panel the gore goes aside
    pattern = panels(10.0, 100.0, 10.0)
    piece = pattern.pieces[1]
    left = piece.edge("hem").start.x
    bone = Channel("c", (Point(left + channel, -140.0), Point(left + channel, 190.0)), 9.5)
    gore = alteration({"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}})
    drawn = draw(girth(gore, {"bottom": -IN}), pattern.with_piece(replace(piece, channels=(bone,))), settings)
    feet = [op["slit_foot"][0] - left for op in told(drawn) if op["op"] == "insert-gore"]
    assert feet == [pytest.approx(slit, abs=0.01)], drawn.notes


def test_with_a_seam_before_the_bust_panels_the_length_runs_out_at_that_seam(settings: Settings) -> None:
    pattern = panels(50, 50, 50, 50, 50, 50, 50)
    second = pattern.pieces[1]
    bust = replace(second, landmarks={"bust-point": Point(second.edge("back").start.x, 5 * IN)})
    drawn = drawn_by(pattern.with_piece(bust), settings, IN / 2, do="bust-over-seam", way="enlarge", length_part="0.75")
    fold, wedge = (op for op in told(drawn) if op["op"] == "fold")
    assert (fold["piece"], wedge["piece"]) == ("panel-2", "panel-3")
    assert sorted(map(abs, (fold["amount_from"], fold["amount_to"])))[0] == 0.0
    assert drawn.pattern is not None
    made, sides = drawn.pattern, [(p, e) for p in ("panel-2", "panel-3") for e in ("front", "back")]
    longer = [edge_length(made.piece(p).edge(e)) - edge_length(pattern.piece(p).edge(e)) for p, e in sides]
    # 3/8 in at their seam, and a little more since that is bowed out as well; nothing at the seams beside
    assert longer == [pytest.approx(mm, abs=by) for mm, by in ((0.0, 0.2), (9.5, 2.0), (9.5, 2.0), (0.0, 0.2))]


@pytest.mark.parametrize(("amount", "said"), [(IN / 16, False), (IN / 2, True)])
def test_what_a_slash_in_one_piece_does_to_the_waist_is_told_from_a_sixteenth_of_an_inch_on(
    amount: float, said: bool, settings: Settings
) -> None:
    # geometry: the waist lies 6 in over the hem, the top 14 in: 3/7 of the amount
    drawn = drawn_by(panels(12 * IN), settings, amount, do="bust-slash", way="spread")
    assert drawn.operations
    assert any("the waist comes out" in note for note in notes_said(drawn.notes, {})) is said
    seamed = drawn_by(panels(100, 100, 100), settings, amount, do="bust-slash", way="spread")
    assert seamed.operations
    assert not any("the waist comes out" in note for note in notes_said(seamed.notes, {}))


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_back_wedge_on_one_side_straightens_that_sides_own_lacing_edge(side: str, settings: Settings) -> None:
    # as on both sides: 1/2 in at the lacing edge, hinge 7 in away; 9 in over the fold it leans out by 5/8 in
    pattern = panels(7 * IN, 7 * IN, top_mm=9 * IN)
    drawn = drawn_by(pattern, settings, IN / 2, side, do="back-wedge", station="waist", way="out")
    assert drawn.pattern is not None
    moves = [op for op in told(drawn) if op["op"] == "move-edge"]
    assert (moves[0]["piece"], moves[0]["edge"]) == (f"panel-2-{side}", "back")
    assert moves[0]["by"][1]["mm"] == pytest.approx(5 / 8 * IN)
    other = "right" if side == "left" else "left"
    assert drawn.pattern.piece(f"panel-2-{other}").edges == pattern.piece("panel-2").edges


@pytest.mark.parametrize("inches", [1.0, 1.5])
def test_a_waist_let_out_between_two_levels_that_stay_is_no_wave(settings: Settings, inches: float) -> None:
    path = bundled_cases() / "patterns" / "sleeved-bodice.json"
    bodice = read_pattern(json.loads(path.read_text(encoding="utf-8")))
    by = {"underbust": "nothing", "waist": "full", "bottom": "nothing"}
    profile = dict.fromkeys(STATIONS, 0.0) | {"waist": -inches * IN}
    made = draw(girth(alteration({"do": "seams", "which": "all", "by": by}), profile), bodice, settings)
    assert not any(" wave" in note for note in notes_said(made.notes, {}))
    assert made.operations
