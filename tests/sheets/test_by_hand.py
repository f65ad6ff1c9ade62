"""Ruler-and-pencil steps, followed on paper by someone who knows only the figures."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from msgspec.structs import replace
from paper_and_pencil import Table, laid_out, lines_of, most_off

from diagnose.pattern import operations
from diagnose.pattern.measure import bounds, edge_length, edge_point_at, slit_length, station_width
from diagnose.pattern.outline import Pattern, Piece
from diagnose.sheets.drawn.placing import older_piece
from diagnose.sheets.hand.by_hand import steps_for
from diagnose.sheets.hand.figures import (
    Chord,
    Closing,
    CutAcross,
    Figure,
    Folding,
    GoreFigure,
    Halfway,
    HandStep,
    Inset,
    NewLine,
    OnEdge,
    Slide,
    Spreading,
    Square,
    Width,
)
from diagnose.units import INCH_MM, both

SIXTEENTH_MM = INCH_MM / 16

FOLD = {"op": "fold", "piece": "bodies", "from": [375, 125], "to": [228, -150], "move": "left"}
ON_BODIES: dict[str, dict[str, Any]] = {
    "a tapering fold": FOLD | {"amount_from": "13/16 in", "amount_to": "1/4 in"},
    "an even fold": FOLD | {"amount_from": "1/2 in", "amount_to": "1/2 in"},
    "a fold to nothing": FOLD | {"amount_from": "3/4 in", "amount_to": 0},
    "a fold of the front": FOLD | {"amount_from": "1/2 in", "amount_to": "1/4 in", "move": "right"},
    "a spread": FOLD | {"amount_from": "-1/2 in", "amount_to": "-1/4 in"},
    "a lacing edge moved in": {
        "op": "move-edge", "piece": "bodies", "edge": "lacing",
        "by": [{"along": 0, "mm": "1/4 in"}, {"along": 1, "mm": "3/8 in"}],
    },
    "a lacing edge moved out": {
        "op": "move-edge", "piece": "bodies", "edge": "lacing",
        "by": [{"along": 0, "mm": "-1/4 in"}, {"along": 1, "mm": "-1/4 in"}],
    },
    "a scooped armhole": {
        "op": "reshape-edge", "piece": "bodies", "edge": "armhole", "from": [300.2, 150.6], "peak": [250.4, 152.2],
        "to": [211, 215], "height": "3/8 in", "direction": "in",
    },
    "a raised neck": {
        "op": "reshape-edge", "piece": "bodies", "edge": "neck", "from": [160, 221], "peak": [60, 210], "to": [0, 212],
        "height": "1/2 in", "direction": "up",
    },
    "shorter above a waist that curves": {
        "op": "length", "at": {"station": "waist", "offset": "2 1/2 in"}, "amount": "1 in",
    },
    "longer above a waist that curves": {
        "op": "length", "at": {"station": "waist", "offset": "2 in"}, "amount": "-1/2 in",
    },
}  # fmt: skip
ON_CORSET: dict[str, dict[str, Any]] = {
    "a top wedge": {
        "op": "move-edge", "piece": "p3", "edge": "back-seam", "true_partner": True,
        "by": [{"at": "top", "mm": "1/4 in"}, {"at": "waist", "mm": 0}],
    },
    "a nipped waist": {
        "op": "move-edge", "piece": "p4", "edge": "front-seam",
        "by": [{"at": "underbust", "mm": 0}, {"at": "waist", "mm": "1/4 in"}, {"at": "hip", "mm": 0}],
    },
    "a hip let out": {
        "op": "move-edge", "piece": "p5", "edge": "back-seam",
        "by": [{"at": "waist", "mm": 0}, {"at": "bottom", "mm": "-3/8 in"}],
    },
    "a dart with a relief": {
        "op": "dart", "piece": "p2", "mouth": [150, 209], "width": "1/2 in", "point": [153, 0], "relief": [174.3, 0],
    },
    "a through dart": {"op": "dart", "piece": "p2", "mouth": [150, 209], "width": "1/2 in", "point": [153, -157]},
    "shorter above the waist": {"op": "length", "at": {"station": "waist", "offset": "2 1/2 in"}, "amount": "1/2 in"},
    "shorter at the waist": {"op": "length", "at": {"station": "waist", "offset": 0}, "amount": "1/2 in"},
    "shorter below the waist, from the underbust": {
        "op": "length", "at": {"station": "underbust", "offset": "-5 1/2 in"}, "amount": "1/4 in",
    },
    "longer below the waist": {"op": "length", "at": {"station": "waist", "offset": "-2 in"}, "amount": "-3/8 in"},
}  # fmt: skip

OTHERS: dict[str, tuple[str, list[dict[str, Any]]]] = {
    "a gore in a new slit": ("corset", [
        {"op": "insert-gore", "piece": "p4", "slit_foot": [380, -148.4], "tip": [380, -20], "width": "2 in"}]),
    "a gore in a slit that is there": ("bodies", [
        {"op": "insert-gore", "piece": "bodies", "slit_foot": [117.94, -89.98], "tip": [139.17, -19.43],
         "width": "1 in"}]),
    "a channel added": ("corset", [
        {"op": "channels", "piece": "p2", "add": [{"name": "p2-2", "line": [[140, -150], [138, 200]], "width": 9.5}]}]),
    "a channel moved and one taken out": ("bodies", [
        {"op": "channels", "piece": "bodies", "remove": ["b14"], "move": [{"name": "b2", "by": [6.35, 0]}]}]),
    "tabs deepened": ("bodies", [{"op": "tabs", "piece": "bodies", "deepen": "1/4 in"}]),
    "tabs lengthened": ("bodies", [{"op": "tabs", "piece": "bodies", "lengthen": "1/2 in"}]),
    "tabs shortened": ("bodies", [{"op": "tabs", "piece": "bodies", "lengthen": "-3/8 in"}]),
    "tabs flared": ("bodies", [{"op": "tabs", "piece": "bodies", "flare": "3/8 in"}]),
    "tabs divided anew": ("bodies", [
        {"op": "channels", "piece": "bodies", "remove": ["b4", "b5", "b6", "b7", "b8", "b9", "b10"]},
        {"op": "tabs", "piece": "bodies", "add": [{"along": 200, "depth": 60}], "redivide": True}]),
    "a strap on a smooth edge moved": ("corset_with_a_strap", [
        {"op": "strap", "piece": "p2", "end": "front", "move": "1/2 in"}]),
    "the waist and the grain drawn anew": ("corset", [
        {"op": "marks", "piece": "p4", "levels": [{"station": "waist", "front": 6.35, "back": 3.2}],
         "grain_deg": 3.0}]),
    "a slit added": ("corset", [{"op": "tabs", "piece": "p4", "add": [{"along": 12.0, "depth": 40.0}]}]),
    "a strap moved back": ("bodies", [{"op": "strap", "piece": "bodies", "end": "back", "move": "1/2 in"}]),
    "a strap moved to the front": ("bodies", [{"op": "strap", "piece": "bodies", "end": "front", "move": "-3/8 in"}]),
    "sides parted and one scooped": ("bodies", [
        {"op": "split-sides", "piece": "bodies"}, ON_BODIES["a scooped armhole"] | {"piece": "bodies-right"}]),
}  # fmt: skip


@pytest.fixture
def corset_with_a_strap(corset: Pattern) -> Pattern:
    p2 = corset.piece("p2")
    on_top = edge_point_at(p2.edge("top-edge"), edge_length(p2.edge("top-edge")) / 2)
    return corset.with_piece(replace(p2, landmarks={**p2.landmarks, "strap-front": on_top}))


def steps_of(pattern: Pattern, *raw: dict[str, Any], unit: Any = "in") -> tuple[tuple[HandStep, ...], Pattern]:
    done = operations.parse_operations(list(raw))
    after = operations.do(pattern, done).pattern
    return steps_for(done, pattern, after, unit), after


def farthest(pattern: Pattern, after: Pattern, steps: tuple[HandStep, ...]) -> dict[str, float]:
    """For each edge, line, mark and gore, how far the new one lies from what was drawn by following the figures."""
    found = {}
    gores: list[list[tuple[float, float]]] = []
    for piece in after.pieces:
        old = older_piece(piece.name, pattern)
        if old is None:
            continue
        table = Table(old)
        table.follow([f for step in steps for f in step.figures if _is_for(f, piece, old)])
        for name, run in laid_out(piece).items():
            found[f"{piece.name}.{name}"] = table.off(name, run[::4])
        if not any(isinstance(f, Closing | CutAcross | Folding | Spreading) for step in steps for f in step.figures):
            found |= _inside(piece, table)
        gores += table.gores
    for piece in after.pieces:
        if older_piece(piece.name, pattern) is None:
            points = [p for run in laid_out(piece).values() for p in run]
            found[piece.name] = most_off(gores, points) if gores else math.inf
    return found


def _is_for(figure: Figure, piece: Piece, old: Piece) -> bool:
    """Whether a figure is drawn on that piece: what is done before a pair is parted is done on both."""
    on = getattr(figure, "pieces", None) or (getattr(figure, "piece", piece.name),)
    return bool({piece.name, old.name} & {*on})


def _inside(piece: Piece, table: Table) -> dict[str, float]:
    """How far the channels, slits and strap marks lie from those drawn by following: ends and all."""
    # A level is trimmed where an edge moves across it; nobody is told to, since she measures between the lines.
    named = {"channel", "slit", *(("level", "grain") if piece.edges == table.piece.edges else ())}
    wanted, drawn = (
        {what: line for what, line in lines.items() if what.split(":")[0] in named}
        for lines in (lines_of(piece), table.lines)
    )
    off = {
        f"{piece.name}.{what}": max(math.dist(wanted[what][n], drawn[what][n]) for n in (0, -1))
        if what in wanted and what in drawn
        else math.inf
        for what in wanted.keys() | drawn.keys()
    }
    straps = {name: spot for name, spot in piece.landmarks.items() if name.startswith("strap")}
    return off | {f"{piece.name}.{name}": math.dist(spot, table.spots[name]) for name, spot in straps.items()}


@pytest.mark.parametrize("what", ON_BODIES)
def test_following_the_figures_draws_the_new_bodies_within_a_sixteenth(bodies: Pattern, what: str) -> None:
    steps, after = steps_of(bodies, ON_BODIES[what])
    off = farthest(bodies, after, steps)
    assert max(off.values()) <= SIXTEENTH_MM, {k: round(v, 2) for k, v in off.items() if v > SIXTEENTH_MM}


@pytest.mark.parametrize("what", ON_CORSET)
def test_following_the_figures_draws_the_new_corset_within_a_sixteenth(corset: Pattern, what: str) -> None:
    steps, after = steps_of(corset, ON_CORSET[what])
    off = farthest(corset, after, steps)
    assert max(off.values()) <= SIXTEENTH_MM, {k: round(v, 2) for k, v in off.items() if v > SIXTEENTH_MM}


@pytest.mark.parametrize("what", OTHERS)
def test_following_the_figures_draws_all_else_within_a_sixteenth(what: str, request: pytest.FixtureRequest) -> None:
    name, raws = OTHERS[what]
    pattern = request.getfixturevalue(name)
    steps, after = steps_of(pattern, *raws)
    off = farthest(pattern, after, steps)
    assert max(off.values()) <= SIXTEENTH_MM, {k: round(v, 2) for k, v in off.items() if v > SIXTEENTH_MM}
    assert after == pattern or max(farthest(pattern, after, ()).values()) > SIXTEENTH_MM


@pytest.mark.parametrize("edge", ["strap-back-end", "armhole", "strap-front-end", "neck", "p2, back", "p2, front"])
@pytest.mark.parametrize("aside", [0.0, 2.0])
def test_a_dart_over_a_corner_is_drawn_to_the_new_corner(
    corset: Pattern, bodies: Pattern, edge: str, aside: float
) -> None:
    bare = bodies.with_piece(replace(bodies.piece("bodies"), slits=(), channels=()))
    top = corset.piece("p2").edge("top-edge")
    (x, y), point, relief, pattern = {
        "p2, back": (top.start, [150, 60], [130, 0], corset),
        "p2, front": (top.end, [150, 60], [174.3, 0], corset),
    }.get(edge) or ((spot := bare.piece("bodies").edge(edge).start), [int(spot.x * 0.9), 60], [0, 20], bare)
    mouth = [x + aside if edge == "p2, front" else x - aside, y]
    raw = {"op": "dart", "piece": pattern.pieces[pattern is corset].name, "mouth": mouth, "width": 12.7}
    (dart,) = operations.parse_operations({**raw, "point": point, "relief": relief})
    drawn = operations.do(pattern, [dart], whole=False).pattern
    off = farthest(pattern, drawn, steps_for([dart], pattern, drawn))
    assert max(off.values()) <= 1.5 * SIXTEENTH_MM, {k: round(v, 2) for k, v in off.items() if v > SIXTEENTH_MM}


FINISHED: dict[str, list[dict[str, Any]]] = {
    "a fold through a seam": [{"op": "fold", "piece": "p3", "from": [400, 60], "to": [150, 60], "move": "right",
                               "amount_from": 7.0, "amount_to": 0.0}],
    "a spread through a seam": [{"op": "fold", "piece": "p4", "from": [480, -60], "to": [300, -60], "move": "left",
                                 "amount_from": -6.0, "amount_to": 0.0}],
    "two folds, one in each of two pieces": [
        {"op": "fold", "piece": "p3", "from": [400, 60], "to": [150, 60], "move": "right", "amount_from": 6.0,
         "amount_to": 0.0},
        {"op": "fold", "piece": "p5", "from": [640, 60], "to": [400, 60], "move": "right", "amount_from": 5.0,
         "amount_to": 0.0}],
}  # fmt: skip


@pytest.mark.parametrize("what", FINISHED)
def test_what_is_walked_and_squared_at_the_end_of_a_list_is_drawn_too(corset: Pattern, what: str) -> None:
    done = operations.parse_operations(FINISHED[what])
    drawn, after = (operations.do(corset, done, whole=whole).pattern for whole in (False, True))
    said = {step.text for step in steps_for(done, corset, drawn)}
    last = [step for step in steps_for(done, corset, after) if step.text not in said]
    lines = [f for step in last for f in step.figures if isinstance(f, NewLine)]
    assert lines
    for figures, most in ((lines, SIXTEENTH_MM), ([], math.inf)):
        off = 0.0
        for piece in drawn.pieces:
            table = Table(piece)
            table.follow([f for f in figures if f.piece == piece.name])
            off = max(off, *(table.off(name, run[::4]) for name, run in laid_out(after.piece(piece.name)).items()))
        assert off <= most
    assert off > SIXTEENTH_MM


def test_without_the_steps_the_old_outline_is_farther_off_than_that(bodies: Pattern, corset: Pattern) -> None:
    # The follower's yardstick must be able to fail: doing nothing leaves every one of these outlines unreached.
    for pattern, raws in ((bodies, ON_BODIES), (corset, ON_CORSET)):
        for raw in raws.values():
            _, after = steps_of(pattern, raw)
            assert max(farthest(pattern, after, ()).values()) > SIXTEENTH_MM


EVERY = [
    *((("bodies", what), raw) for what, raw in ON_BODIES.items()),
    *((("corset", what), raw) for what, raw in ON_CORSET.items()),
]


def lengths_of(step: HandStep) -> list[float]:
    """The lengths she has to read off her ruler in a step."""
    found: list[float] = []
    for f in step.figures:
        match f:
            case OnEdge():
                found.append(f.mm)
            case Inset():
                found += [f.mm, f.in_mm]
            case Square():
                found.append(abs(f.mm))
            case NewLine():
                found += [abs(off) for _, off in f.marks]
            case Chord():
                found += [abs(place[2]) for place in (f.first, f.last) if not isinstance(place, Halfway)]
                found += [abs(off) for _, off in f.marks]
            case Width():
                found.append(f.mm)
    return [mm for mm in found if mm]


@pytest.mark.parametrize(("which", "raw"), EVERY, ids=[f"{w[0]}: {w[1]}" for w, _ in EVERY])
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_every_figure_is_on_the_ruler_and_said_in_words(
    which: tuple[str, str], raw: dict[str, Any], unit: Any, request: pytest.FixtureRequest
) -> None:
    division = SIXTEENTH_MM if unit == "in" else 1.0
    for step in steps_of(request.getfixturevalue(which[0]), raw, unit=unit)[0]:
        said = step.text + " ".join(part for row in step.table for part in row)
        for mm in lengths_of(step):
            assert mm / division == pytest.approx(round(mm / division), abs=1e-6)
            assert both(mm, unit) in said, (both(mm, unit), said)


def test_a_fold_too_odd_to_halve_on_the_ruler_is_set_unevenly_but_keeps_its_width(bodies: Pattern) -> None:
    steps, _ = steps_of(bodies, FOLD | {"amount_from": "13/16 in", "amount_to": "13/16 in"})
    squares = [f for step in steps for f in step.figures if isinstance(f, Square)]
    at_a = [abs(f.mm) for f in squares if f.at == "A"]
    assert sorted(at_a) == pytest.approx([6 * SIXTEENTH_MM, 7 * SIXTEENTH_MM])


def test_marks_are_measured_from_named_corners(bodies: Pattern) -> None:
    steps, _ = steps_of(bodies, ON_BODIES["a tapering fold"])
    assert "from the bottom of the lacing edge measure" in steps[0].text
    assert steps[0].text.startswith("On the bodies piece, from where the back top meets the strap back end measure")
    assert "the part with the lacing edge moves" in steps[1].text


def test_the_last_step_checks_widths_that_are_the_new_patterns_own(bodies: Pattern) -> None:
    steps, after = steps_of(bodies, ON_BODIES["an even fold"])
    widths = {f.station: f.mm for f in steps[-1].figures if isinstance(f, Width)}
    assert set(widths) == {"top", "underbust", "waist", "hip", "bottom"}
    assert widths["waist"] == pytest.approx(station_width(after.piece("bodies"), "waist"), abs=SIXTEENTH_MM / 2)


def test_an_edge_moved_evenly_is_one_parallel_line_without_a_table(bodies: Pattern) -> None:
    steps, _ = steps_of(bodies, ON_BODIES["a lacing edge moved out"])
    assert steps[0].text.startswith("On the bodies piece, draw a line 1/4 in (6 mm) outside the lacing edge")
    assert steps[0].table == ()


def test_a_gore_is_drawn_with_legs_as_long_as_its_slit(corset: Pattern) -> None:
    raw = {"op": "insert-gore", "piece": "p4", "slit_foot": [380, -148.4], "tip": [380, -20], "width": "2 in"}
    steps, after = steps_of(corset, raw)
    (gore,) = [f for step in steps for f in step.figures if isinstance(f, GoreFigure)]
    (slit,) = after.piece("p4").slits
    assert gore.width_mm == pytest.approx(50.8)
    assert gore.leg_mm == pytest.approx(slit_length(slit), abs=SIXTEENTH_MM / 2)
    table = Table(corset.piece("p4"))
    table.follow(list(steps[0].figures))
    assert math.dist(table.marks[gore.slit_foot], slit.line[0]) <= SIXTEENTH_MM
    assert math.dist(table.marks[gore.slit_tip], slit.line[-1]) <= SIXTEENTH_MM


def test_a_new_channel_is_ruled_between_two_marks_and_stops_short_of_both(corset: Pattern) -> None:
    channel = {"name": "p2-2", "line": [[140, -150], [138, 200]], "width": 9.5}
    steps, after = steps_of(corset, {"op": "channels", "piece": "p2", "add": [channel]})
    made = next(c for c in after.piece("p2").channels if c.name == "p2-2")
    table = Table(corset.piece("p2"))
    table.follow(list(steps[0].figures))
    a, b = table.marks.values()
    assert most_off([[a, b]], list(made.line)) <= SIXTEENTH_MM
    assert "stop" in steps[0].text


def test_deeper_slits_are_one_step_that_names_them_all(bodies: Pattern) -> None:
    steps, _ = steps_of(bodies, {"op": "tabs", "piece": "bodies", "deepen": "1/4 in"})
    assert [f.what for f in steps[0].figures if isinstance(f, Slide)] == [f"slit:slit-{n}" for n in (1, 2, 3, 4)]
    assert "1/4 in (6 mm) longer" in steps[0].text


def test_longer_tabs_are_carried_on_along_edges_and_slits(bodies: Pattern) -> None:
    steps, _ = steps_of(bodies, {"op": "tabs", "piece": "bodies", "lengthen": "1/2 in"})
    assert "both side edges and every slit 1/2 in (13 mm) on beyond the hem" in steps[0].text


def test_a_new_slit_is_found_by_its_foot_and_tip(corset: Pattern) -> None:
    raw = {"op": "tabs", "piece": "p4", "add": [{"along": 12.0, "depth": 40.0}]}
    steps, after = steps_of(corset, raw)
    (slit,) = after.piece("p4").slits
    table = Table(corset.piece("p4"))
    table.follow(list(steps[0].figures))
    foot, tip = table.marks.values()
    assert math.dist(foot, slit.line[0]) <= SIXTEENTH_MM
    assert math.dist(tip, slit.line[-1]) <= SIXTEENTH_MM


def test_a_strap_end_is_slid_and_the_strap_cut_longer(bodies: Pattern) -> None:
    raw = {"op": "strap", "piece": "bodies", "end": "back", "move": "1/2 in", "lengthen": "3/4 in"}
    texts = [step.text for step in steps_of(bodies, raw)[0]]
    assert any("slide the tracing 1/2 in (13 mm) straight across towards centre back" in text for text in texts)
    assert "Cut the back of the strap 3/4 in (19 mm) longer." in texts


def test_a_split_piece_is_traced_for_each_side_before_one_is_altered(bodies: Pattern) -> None:
    scoop = ON_BODIES["a scooped armhole"] | {"piece": "bodies-right"}
    steps, _ = steps_of(bodies, {"op": "split-sides", "piece": "bodies"}, scoop)
    assert "Write “left” on the one, turn the other over and write “right” on it" in steps[0].text
    (line,) = [f for f in steps[1].figures if isinstance(f, NewLine)]
    assert line.piece == "bodies-right"
    assert max(off for _, off in line.marks) == pytest.approx(9.525)


def test_nothing_to_do_is_no_steps(bodies: Pattern) -> None:
    assert steps_for((), bodies, bodies) == ()


def test_each_drawing_step_has_a_picture_with_its_marks(bodies: Pattern) -> None:
    steps, _ = steps_of(bodies, ON_BODIES["a tapering fold"])
    picture = steps[0].picture
    assert picture is not None
    layer = picture.layer("marks")
    assert layer is not None
    assert {"A", "B"} <= {getattr(mark, "words", "") for mark in layer.marks}


@pytest.mark.parametrize("what", [*ON_BODIES, *ON_CORSET, *OTHERS])
def test_every_step_has_a_small_picture(what: str, request: pytest.FixtureRequest) -> None:
    name, raws = OTHERS.get(what) or (
        ("bodies", [ON_BODIES[what]]) if what in ON_BODIES else ("corset", [ON_CORSET[what]])
    )
    steps, _ = steps_of(request.getfixturevalue(name), *raws)
    assert steps
    assert all(step.picture is not None and step.picture.layers for step in steps)


def test_alike_moves_are_one_step_with_a_table_and_a_round_on_six_panels_is_short(corset: Pattern) -> None:
    seams = [(f"p{n}", edge) for n in range(1, 7) for edge in ("front-seam", "back-seam")][1:-1]
    raws = [{"op": "move-edge", "piece": piece, "edge": edge, "channels": "follow",
             "by": [{"at": "top", "mm": "1/8 in"}, {"at": "waist", "mm": 0}]} for piece, edge in seams]  # fmt: skip
    steps, _ = steps_of(corset, *raws)
    assert len(steps) <= 12
    lines = next(step for step in steps if step.kind == "line")
    assert {f.piece for f in lines.figures if isinstance(f, NewLine)} == {f"p{n}" for n in range(1, 7)}
    assert "third panel, front seam" in " ".join(label for label, _ in lines.table)
    said = " ".join(words for step in steps for words in (step.text, *(cell for row in step.table for cell in row)))
    assert "p3" not in said
    assert not re.search(r"(?<![\d/ ])0 in|(?<!\d)0 mm", said)


def test_one_side_of_six_panels_lengthened_is_told_kind_by_kind(corset: Pattern) -> None:
    """Six panels parted and cut across are traced, ruled and cut in a step each, not in six."""
    raw: list[dict[str, Any]] = []
    for piece in corset.pieces:
        box = bounds(piece)
        line = {"from": [box.left - 5.0, -60.0], "to": [box.right + 5.0, -60.0], "amount_from": -6.35}
        fold = {"op": "fold", "piece": f"{piece.name}-right", "amount_to": -6.35, "move": "right"} | line
        raw += [{"op": "split-sides", "piece": piece.name}, fold]
    done = operations.parse_operations(raw)
    steps = steps_for(done, corset, operations.do(corset, done).pattern)
    assert len(steps) <= 12
    assert [step.kind for step in steps[:3]] == ["split", "mark", "cut"]
    assert [label for label, _ in steps[2].table] == [
        f"right {name} panel" for name in ("first", "second", "third", "fourth", "fifth", "sixth")
    ]


def test_an_edge_that_two_alterations_move_is_drawn_once_by_what_they_come_to(bodies: Pattern) -> None:
    """1/4 in at the top and 1/8 in below, then 1/8 in more at the top: 3/8 in at the top, and nothing is lost."""
    move = {"op": "move-edge", "piece": "bodies", "edge": "lacing"}
    done = operations.parse_operations([
        move | {"by": [{"along": 0, "mm": "1/8 in"}, {"along": 1, "mm": "1/4 in"}]},
        move | {"by": [{"along": 0, "mm": 0}, {"along": 1, "mm": "1/8 in"}]},
    ])  # fmt: skip
    steps = steps_for(done, bodies, operations.do(bodies, done).pattern)
    lines = [figure for step in steps for figure in step.figures if isinstance(figure, NewLine)]
    (line,) = (one for one in lines if "lacing" in one.edges)
    assert max(abs(off) for _, off in line.marks) == pytest.approx(6 * SIXTEENTH_MM)
    assert any("3/8 in" in f"{step.text} {step.table}" for step in steps)


def test_what_is_only_rubbed_out_is_told_with_the_step_after_it(bodies: Pattern) -> None:
    done = operations.parse_operations([
        {"op": "channels", "piece": "bodies", "remove": ["b12"]}, FOLD | {"amount_from": "1/2 in", "amount_to": 0},
    ])  # fmt: skip
    first, *_ = steps_for(done, bodies, operations.do(bodies, done).pattern)
    assert first.text.startswith("On the bodies piece, rub out channel 12. ")
    assert first.text.count("On the bodies piece") == 1
    assert any(isinstance(figure, OnEdge) for figure in first.figures)


def test_a_length_is_cut_as_the_level_runs_where_that_is_not_square_to_the_grain(
    bodies: Pattern, corset: Pattern
) -> None:
    raw = {"op": "length", "at": {"station": "waist", "offset": "2 1/2 in"}, "amount": "1 in"}
    curved, straight = (steps_of(pattern, raw)[0][0] for pattern in (bodies, corset))
    assert "as the waist level runs" in curved.text
    assert "square" not in curved.text + curved.brief
    assert "square to the grain" in straight.text
    for step in (curved, straight):
        assert "2 1/2 in (63.5 mm) and 3 1/2 in (89 mm) above the waist level" in step.text


def test_a_channel_between_two_moved_seams_follows_the_nearer_and_is_named_once(corset: Pattern) -> None:
    both_seams = [
        {
            "op": "move-edge",
            "piece": "p3",
            "edge": edge,
            "channels": "follow",
            "by": [{"at": "top", "mm": "-3/16 in"}, {"at": "waist", "mm": 0}],
        }
        for edge in ("front-seam", "back-seam")
    ]
    steps, _ = steps_of(corset, *both_seams)
    rows = [row for step in steps if step.kind == "follow" for row in step.rows]
    assert [said for _, said in rows] == ["channel 3", "channel 4"]


def test_a_channel_that_ends_at_a_moved_top_edge_is_made_longer_and_is_not_moved_along(corset: Pattern) -> None:
    piece = next(one for one in corset.pieces if one.channels and not one.slits)
    top = next(edge.name for edge in piece.edges if edge.role == "top")
    by = [{"along": 0.0, "mm": 0}, {"along": 0.5, "mm": "-1/4 in"}, {"along": 1.0, "mm": 0}]
    moved = {"op": "move-edge", "piece": piece.name, "edge": top, "by": by, "channels": "follow"}
    done = operations.parse_operations([moved])
    after = operations.do(corset, done).pattern
    assert after.piece(piece.name).channels != piece.channels
    said = [text for step in steps_for(done, corset, after) for text in (step.text, *(row for _, row in step.table))]
    assert not any("so that the distance between them stays" in text for text in said)
    assert any("its top end" in text and "higher" in text for text in said)
