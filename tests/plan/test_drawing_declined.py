"""What a pattern gives no place for is left to the hand, with a reason; what has no amount is left as it is."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import pytest
from drawing_bench import IN, alteration, girth, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.outline import Channel, Pattern, Piece, Point, Slit
from diagnose.places import bundled_cases
from diagnose.plan.drawing import Drawn, draw

Change = Mapping[str, Any]


def drawn(
    pattern: Pattern, settings: Settings, move: Change, mm: float = IN / 2, side: Any = "both", **how: Any
) -> Drawn:
    return draw(length(alteration(move, kind="length", **how), mm, side), pattern, settings)


def change_all(pattern: Pattern, **how: Any) -> Pattern:
    return replace(pattern, pieces=tuple(replace(piece, **how) for piece in pattern.pieces))


def without_level(pattern: Pattern, *stations: str) -> Pattern:
    def bare(piece: Piece) -> Piece:
        return replace(piece, levels={name: line for name, line in piece.levels.items() if name not in stations})

    return replace(pattern, pieces=tuple(map(bare, pattern.pieces)))


def roles_changed(pattern: Pattern, old: str, new: str) -> Pattern:
    def changed(piece: Piece) -> Piece:
        edges = tuple(replace(edge, role=new) if edge.role == old else edge for edge in piece.edges)  # type: ignore[arg-type]
        return replace(piece, edges=edges)

    return replace(pattern, pieces=tuple(map(changed, pattern.pieces)))


FOUR, ONE = panels(80, 80, 80, 80), panels(320)
SLITTED = panels(100, 100)
SLITTED = SLITTED.with_piece(
    replace(SLITTED.pieces[0], slits=(Slit("s1", (Point(70.0, -6 * IN), Point(70.0, -4 * IN))),))
)
SHORTEN = {"do": "length", "station": "waist", "offset": "2 in", "way": "shorten"}
SLASH = {"do": "bust-slash", "way": "spread"}
WEDGE = {"do": "back-wedge", "station": "waist", "way": "out"}
UNDERARM = {"do": "edge", "place": "underarm", "direction": "down"}


@pytest.mark.parametrize(
    "move",
    [
        SHORTEN, SLASH, WEDGE, UNDERARM, {"do": "bust-shift", "way": "up-down"}, {"do": "waist-slide"},
        {"do": "bust-over-seam", "way": "enlarge", "length_part": "0.75"}, {"do": "strap", "what": "lengthen"},
        {"do": "tabs", "what": "flare"},
    ],
)  # fmt: skip
def test_no_amount_changes_nothing_and_says_nothing(move: Change, settings: Settings) -> None:
    done = drawn(SLITTED, settings, move, 0.0)
    assert (told(done), notes_said(done.notes, {}), done.pattern) == ((), (), SLITTED)


@pytest.mark.parametrize(
    ("pattern", "move", "side", "said"),
    [
        (without_level(ONE, "waist"), {"do": "waist-slide"}, "both", "has no waist drawn on it"),
        (ONE, {"do": "bust-shift", "way": "up-down"}, "both", "no seam carries the shape of the bust"),
        (FOUR, {"do": "bust-shift", "way": "up-down"}, "both", "straight over the breast on both panels"),
        (roles_changed(FOUR, "opening", "seam"), {"do": "front-straight"}, "both", "marked as its front edge"),
        (without_level(FOUR, "waist"), SLASH, "both", "The second panel has no waist drawn on it to end the slash at"),
        (roles_changed(FOUR, "top", "seam"), UNDERARM, "both", "No edge of this pattern is marked as its top"),
        (roles_changed(FOUR, "bottom", "seam"), {**UNDERARM, "place": "front-hem"}, "both", "marked as its bottom"),
        (FOUR, {**UNDERARM, "place": "elbow"}, "both", "No place “elbow” is known on the outline"),
        (change_all(FOUR, levels={}), WEDGE, "both", "No piece of this pattern runs from a front edge to a back edge"),
        (without_level(ONE, "waist"), WEDGE, "both", "has no side seam to turn about"),
        (FOUR, {"do": "tabs", "what": "flare"}, "both", "it has no tabs to alter"),
        (FOUR, {"do": "strap", "what": "move", "end": "front"}, "both", "No strap is marked on this pattern"),
        (FOUR, {"do": "strap", "what": "lengthen"}, "both", "No strap is marked on this pattern"),
    ],
)
def test_it_is_not_drawn_and_the_reason_is_given(
    pattern: Pattern, move: Change, side: str, said: str, settings: Settings
) -> None:
    done = drawn(pattern, settings, move, side=side)
    assert (told(done), done.pattern) == ((), pattern)
    assert done.amount.length_mm == IN / 2
    (note,) = notes_said(done.notes, {})
    assert note.startswith("Not drawn on the pattern. ")
    assert said in note
    assert note.endswith(".")


def test_a_gore_needs_width_to_let_in_and_a_place_for_it(settings: Settings) -> None:
    gores = alteration({"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}})
    taken_in = draw(girth(gores, {"bottom": IN}), FOUR, settings)
    assert "no width to let in at the lower edge" in notes_said(taken_in.notes, {})[0]
    full = tuple(
        replace(p, channels=tuple(
            Channel(f"c{n}", (Point(x, -5 * IN), Point(x, 7 * IN)), 9.5)
            for n, x in enumerate(range(round(p.edges[0].start.x) + 6, round(p.edges[0].end.x), 12))
        ))
        for p in FOUR.pieces
    )  # fmt: skip
    crowded = draw(girth(gores, {"bottom": -IN}), replace(FOUR, pieces=full), settings)
    assert told(crowded) == ()
    no_waist = draw(girth(gores, {"bottom": -IN}), without_level(FOUR, "waist"), settings)
    assert told(no_waist) == ()
    assert notes_said(no_waist.notes, {}) == notes_said(crowded.notes, {})
    assert "runs clear of the channels up to the waist" in notes_said(crowded.notes, {})[0]


def test_left_and_right_are_parted_once(settings: Settings) -> None:
    split = {"do": "split-sides"}
    once = drawn(FOUR, settings, split)
    assert once.pattern is not None
    assert len(once.pattern.pieces) == 8
    assert "drawn apart. Draw the side's own difference" in notes_said(once.notes, {})[-1]
    again = drawn(once.pattern, settings, split)
    assert (again.pattern, notes_said(again.notes, {})) == (once.pattern, ("Left and right are already drawn apart.",))


def test_one_tab_more_is_cut_in_the_middle_of_the_widest(settings: Settings) -> None:
    done = drawn(SLITTED, settings, {"do": "tabs", "what": "add"})
    (op,) = told(done)
    # the slit stands 70 mm from the front of a hem of 100 mm: the wider tab is the first, its middle at 35 mm
    assert op == {"op": "tabs", "piece": "panel-1", "add": [{"along": pytest.approx(35.0)}]}


@pytest.mark.parametrize(("direction", "sign"), [("longer", 1.0), ("shorter", -1.0)])
def test_a_strap_cut_as_a_piece_of_its_own_is_lengthened_there(direction: str, sign: float, settings: Settings) -> None:
    own = replace(FOUR.pieces[0], name="the strap", levels={})
    pattern = replace(FOUR, pieces=(*FOUR.pieces, own))
    done = drawn(pattern, settings, {"do": "strap", "what": "lengthen"}, direction=direction)
    assert told(done) == ({"op": "strap", "piece": "the strap", "lengthen": sign * IN / 2},)


def test_a_strap_that_is_only_marked_is_lengthened_at_its_front_end(bodies: Pattern, settings: Settings) -> None:
    done = drawn(bodies, settings, {"do": "strap", "what": "widen"}, IN / 4)
    (op,) = told(done)
    ends = [end for end in ("front", "back") if f"strap-{end}" in bodies.pieces[0].landmarks]
    assert op == {"op": "strap", "piece": "bodies", "end": ends[0], "widen": IN / 4}


@pytest.mark.parametrize(("end", "sign"), [("back", 1.0), ("front", -1.0)])
def test_an_end_of_the_strap_moves_toward_its_own_middle(end: str, sign: float, settings: Settings) -> None:
    top = FOUR.pieces[1].edge("top-edge")
    marked = replace(FOUR.pieces[1], landmarks={f"strap-{end}": Point((top.start.x + top.end.x) / 2, top.start.y)})
    done = drawn(FOUR.with_piece(marked), settings, {"do": "strap", "what": "move", "end": end}, IN / 4)
    assert told(done) == ({"op": "strap", "piece": "panel-2", "end": end, "move": sign * IN / 4},)


@pytest.mark.parametrize(
    ("way", "amount", "said"),
    [
        ("shorten", IN / 2, "Only the left side is altered: the whole amount at its side seam"),
        ("lengthen", IN / 2, "left"),
    ],
)
def test_a_length_on_one_side_says_so_and_changes_the_side_seam_alone(
    way: str, amount: float, said: str, settings: Settings
) -> None:
    done = drawn(FOUR, settings, {**SHORTEN, "way": way}, amount, "left")
    assert any(said in note for note in notes_said(done.notes, {}))
    folds = {op["piece"]: (op["amount_from"], op["amount_to"]) for op in told(done) if op["op"] == "fold"}
    sign = 1.0 if way == "shorten" else -1.0
    # the second seam stands in the middle of the half; the first and third half-way to it
    assert {name: [round(2 * sign * mm / IN, 1) for mm in ends] for name, ends in folds.items()} == {
        "panel-1-left": [0.5, 0.0], "panel-2-left": [1.0, 0.5], "panel-3-left": [0.5, 1.0], "panel-4-left": [0.0, 0.5],
    }  # fmt: skip


LACING = alteration({"do": "lacing-edge"})
EVERYWHERE = ("top", "underbust", "waist", "hip", "bottom")


def test_a_lacing_edge_that_is_not_marked_is_moved_by_hand(settings: Settings) -> None:
    done = draw(girth(LACING, dict.fromkeys(EVERYWHERE, IN)), roles_changed(FOUR, "lacing", "seam"), settings)  # type: ignore[arg-type]
    assert told(done) == ()
    assert "marked as the lacing edge: move it by hand" in notes_said(done.notes, {})[0]


@pytest.mark.parametrize(("change", "first"), [(IN, "channels"), (-IN, "move-edge")])
def test_the_bones_beside_the_lacing_edge_go_with_it_first_or_last_so_that_they_never_leave_the_paper(
    change: float, first: str, settings: Settings
) -> None:
    back = FOUR.pieces[-1]
    right = back.edge("back").start.x
    beside = Channel("b1", (Point(right - 12.0, -140.0), Point(right - 12.0, 190.0)), 9.5)
    inner = Channel("b2", (Point(right - 60.0, -140.0), Point(right - 60.0, 190.0)), 9.5)
    pattern = FOUR.with_piece(replace(back, channels=(beside, inner)))
    done = draw(girth(LACING, dict.fromkeys(EVERYWHERE, change)), pattern, settings)  # type: ignore[arg-type]
    assert [op["op"] for op in told(done)] == sorted({"channels", "move-edge"}, key=lambda name: name != first)
    moved = {op["op"]: op for op in told(done)}
    assert moved["channels"]["move"] == [{"name": "b1", "by": [pytest.approx(-change / 2), pytest.approx(0.0)]}]
    plain = draw(girth(LACING, dict.fromkeys(EVERYWHERE, change)), FOUR, settings)  # type: ignore[arg-type]
    assert [op["op"] for op in told(plain)] == ["move-edge"]


def test_no_change_of_girth_leaves_the_lacing_edge(settings: Settings) -> None:
    assert told(draw(girth(LACING, {}), FOUR, settings)) == ()


def test_the_fullest_point_may_be_marked_on_either_panel_of_the_bust_seam(settings: Settings) -> None:
    """The mark stands 120 mm over the waist: the widest place of both edges is as high."""
    move = {"do": "bust-over-seam", "way": "enlarge", "length_part": "0"}
    for number, x in ((0, 75.0), (1, 115.0)):
        marked = replace(FOUR.pieces[number], landmarks={"bust-point": Point(x, 120.0)})
        done = drawn(FOUR.with_piece(marked), settings, move, IN / 2)
        places = {op["piece"]: op["by"][1] for op in told(done) if op["op"] == "move-edge"}
        # the edges run from 6 in under the waist to 8 in over it; the front of the second panel runs downwards
        share = (120.0 + 6 * IN) / (14 * IN)
        assert places == {
            "panel-1": {"along": pytest.approx(share, abs=1e-3), "mm": pytest.approx(-IN / 4)},
            "panel-2": {"along": pytest.approx(1 - share, abs=1e-3), "mm": pytest.approx(-IN / 4)},
        }


def test_a_panel_with_no_lower_edge_under_its_top_cannot_be_folded_down(settings: Settings) -> None:
    fold = alteration({"do": "panel-fold", "where": "back", "by": {"top": "full", "waist": "full", "bottom": "full"}})
    done = draw(girth(fold, dict.fromkeys(EVERYWHERE, IN)), roles_changed(ONE, "bottom", "seam"), settings)  # type: ignore[arg-type]
    assert told(done) == ()
    assert (
        "No straight line runs from the top edge to the lower edge of the back panel" in notes_said(done.notes, {})[0]
    )


@pytest.mark.parametrize("what", ["shorten", "shallow", "flare"])
def test_slits_that_gores_are_let_into_part_no_tabs(what: str, settings: Settings) -> None:
    path = bundled_cases() / "patterns" / "gored-corset.json"
    gored = read_pattern(json.loads(path.read_text(encoding="utf-8")))
    made = drawn(gored, settings, {"do": "tabs", "what": what})
    assert not made.operations
    assert "no slits in its lower edge, so it has no tabs" in notes_said(made.notes, {})[0]


def test_a_tab_is_made_narrower_by_hand_and_the_sentence_says_how(bodies: Pattern, settings: Settings) -> None:
    made = drawn(bodies, settings, {"do": "tabs", "what": "flare"}, -IN / 2)
    assert not made.operations
    assert "half on each side" in notes_said(made.notes, {})[0]
