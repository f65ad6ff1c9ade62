"""What is done once after a whole list: seams walked, match marks set again, hem and top edge squared to the seams.

On both bundled patterns, for each operation that can put them out.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest
from cut_paper import INCH, corners_deg
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper import edge as edge_of
from paper import in_two, oblong, pair_of
from random_alterations import darts, folds

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.squaring import corner_turn, keeps_square
from diagnose.pattern.finish.walking import as_before, name_before, rises, waist_mm
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.in_words import notes_said, too_much_to_sew
from diagnose.pattern.measure import edge_length, edge_point_at, seam_difference, station_width
from diagnose.pattern.operations import MoveEdge, do, parse_operations
from diagnose.pattern.operations.move_edge import Place
from diagnose.pattern.outline import Pattern, Piece
from diagnose.places import bundled_cases

Raw = dict[str, Any]
BODIES: dict[str, list[Raw]] = {
    "fold": [{"op": "fold", "piece": "bodies", "from": [375, 125], "to": [228, -150], "move": "left",
              "amount_from": 20.0, "amount_to": 6.0}],
    "fold of the front": [{"op": "fold", "piece": "bodies", "from": [60, 230], "to": [60, -150], "move": "right",
                           "amount_from": 0.0, "amount_to": 6.0}],
    "wedge in the back": [{"op": "fold", "piece": "bodies", "from": [380, -40], "to": [245, 160], "move": "left",
                           "amount_from": 8.0, "amount_to": 0.0}],
    "dart": [{"op": "dart", "piece": "bodies", "mouth": [90, 214], "width": 10.0, "point": [80, 60],
              "relief": [0, 40]}],
    "move-edge": [{"op": "move-edge", "piece": "bodies", "edge": "lacing",
                   "by": [{"along": 0, "mm": 9}, {"along": 1, "mm": -6}]}],
    "reshape-edge": [{"op": "reshape-edge", "piece": "bodies", "edge": "neck", "from": [160, 221], "peak": [0, 212],
                      "to": [0, 212], "height": 12.7, "direction": "up"}],
    "length": [{"op": "length", "at": {"station": "waist", "offset": 63.5}, "amount": 19.0}],
    "tabs": [{"op": "tabs", "piece": "bodies", "lengthen": 9.0, "deepen": 4.0}],
    "strap": [{"op": "strap", "piece": "bodies", "end": "front", "move": 9.0}],
    "split-sides": [{"op": "split-sides", "piece": "bodies"}, {"op": "move-edge", "piece": "bodies-left",
                     "edge": "lacing", "by": [{"along": 0, "mm": 9}, {"along": 1, "mm": -6}]}],
}  # fmt: skip
CORSET: dict[str, list[Raw]] = {
    "fold through a seam": [{"op": "fold", "piece": "p3", "from": [400, 60], "to": [150, 60], "move": "right",
                             "amount_from": 7.0, "amount_to": 0.0}],
    "spread through a seam": [{"op": "fold", "piece": "p4", "from": [480, -60], "to": [300, -60], "move": "left",
                               "amount_from": -6.0, "amount_to": 0.0}],
    "upright fold": [{"op": "fold", "piece": "p2", "from": [150, 260], "to": [150, -260], "move": "left",
                      "amount_from": 10.0, "amount_to": 2.0}],
    "dart": [{"op": "dart", "piece": "p2", "mouth": [150, 209], "width": 10.0, "point": [153, 0],
              "relief": [174.3, 0]}],
    "move-edge": [{"op": "move-edge", "piece": "p3", "edge": "back-seam",
                   "by": [{"at": "top", "mm": 9}, {"at": "waist", "mm": 0}, {"at": "bottom", "mm": -6}]}],
    "move-edge, partner trued": [{"op": "move-edge", "piece": "p4", "edge": "front-seam", "true_partner": True,
                                  "by": [{"at": "top", "mm": -9}, {"at": "waist", "mm": 3}]}],
    "lacing edge": [{"op": "move-edge", "piece": "p6", "edge": "centre-back",
                     "by": [{"along": 0, "mm": 8}, {"along": 1, "mm": 0}]}],
    "length": [{"op": "length", "at": {"station": "waist", "offset": 63.5}, "amount": 25.4}],
    "longer": [{"op": "length", "at": {"station": "waist", "offset": -50.8}, "amount": -12.7}],
    "reshape-edge": [{"op": "reshape-edge", "piece": "p2", "edge": "top-edge", "from": [185, 208], "peak": [150, 209],
                      "to": [115, 207], "height": 8.0}],
    "split-sides": [{"op": "split-sides", "piece": "p5"}, {"op": "fold", "piece": "p5-left", "from": [600, 60],
                     "to": [400, 60], "move": "right", "amount_from": 2.5, "amount_to": 0.0}],
}  # fmt: skip
CASES = [*(("bodies", what) for what in BODIES), *(("corset", what) for what in CORSET)]


@pytest.fixture(params=CASES, ids=lambda case: ": ".join(case))
def case(request: pytest.FixtureRequest) -> tuple[Pattern, list[Raw]]:
    """A bundled pattern and what is done to it."""
    name, what = request.param
    return request.getfixturevalue(name), (BODIES if name == "bodies" else CORSET)[what]


def done(pattern: Pattern, raw: list[Raw], *, whole: bool = True) -> Altered:
    return do(pattern, parse_operations(raw), whole=whole)


def piece_before(pattern: Pattern, piece: Piece) -> Piece | None:
    name = name_before(piece.name, pattern)
    return pattern.piece(name) if name else None


def corners_off(before: Pattern, after: Pattern) -> Iterator[float]:
    """By how many degrees each corner that was square, or ran on across its seam, has come to turn otherwise."""
    for piece in after.pieces:
        old = piece_before(before, piece)
        for number in range(len(old.edges) if old else 0):
            if old and keeps_square(before, old, number):
                yield math.degrees(abs(corner_turn(piece, number) - corner_turn(old, number)))


def test_hem_and_top_edge_meet_the_seams_and_folds_as_squarely_as_before(case: tuple[Pattern, list[Raw]]) -> None:
    before, raw = case
    off = list(corners_off(before, done(before, raw).pattern))
    assert off
    assert max(off) <= 0.5


@pytest.mark.parametrize(("name", "what"), [("corset", "lacing edge"), ("corset", "move-edge")])
def test_without_finishing_those_corners_are_off(name: str, what: str, request: pytest.FixtureRequest) -> None:
    before = request.getfixturevalue(name)
    assert max(corners_off(before, done(before, CORSET[what], whole=False).pattern)) > 1.0


def test_finishing_takes_no_more_than_a_thirty_second_of_an_inch_at_any_level(case: tuple[Pattern, list[Raw]]) -> None:
    before, raw = case
    plain, finished = done(before, raw, whole=False).pattern, done(before, raw).pattern
    for piece in finished.pieces:
        for station in piece.levels:
            stolen = station_width(plain.piece(piece.name), station) - station_width(piece, station)
            assert stolen <= INCH / 32 + 1e-6, (piece.name, station)


def test_no_corner_appears_within_an_edge(case: tuple[Pattern, list[Raw]]) -> None:
    before, raw = case
    for piece in done(before, raw).pattern.pieces:
        old = piece_before(before, piece)
        for edge in piece.edges:
            was = [turn for turn in corners_deg(old.edge(edge.name)) if turn > 2.0] if old else []
            assert len([turn for turn in corners_deg(edge) if turn > 2.0]) <= len(was), (piece.name, edge.name)


def test_every_seam_matches_to_a_sixteenth_or_is_said_not_to(case: tuple[Pattern, list[Raw]]) -> None:
    before, raw = case
    made = done(before, raw)
    for seam in made.pattern.seams:
        was = as_before(seam, before)
        change = seam_difference(made.pattern, seam) - seam_difference(before, was) if was else 0.0
        said = any(note.startswith(f"Seam “{seam.name.replace('-', ' ')}”") for note in notes_said(made.notes, {}))
        assert abs(change) <= INCH / 16 or said, (seam.name, change)


def test_match_marks_meet_their_partners_as_before(case: tuple[Pattern, list[Raw]]) -> None:
    before, raw = case
    after, met = done(before, raw).pattern, 0
    for seam in after.seams:
        was = as_before(seam, before)
        if was is None:
            continue
        now = dict(heights(after, seam.a)), dict(heights(after, seam.b))
        for a, high in heights(before, was.a):
            for b in (b for b, other in heights(before, was.b) if abs(high - other) < 0.5):
                assert abs(now[0][a] - now[1][b]) <= INCH / 32 + 0.5, seam.name
                met += 1
    assert met or not before.seams


def heights(pattern: Pattern, ref: Any) -> list[tuple[int, float]]:
    """The number of each notch of an edge, and how far above the waist it lies along the edge."""
    piece = pattern.piece(ref.piece)
    edge = piece.edge(ref.edge)
    zero = waist_mm(piece, edge)
    assert zero is not None
    sign = 1.0 if rises(edge) else -1.0
    return [(n, sign * (notch.at - zero)) for n, notch in enumerate(piece.notches) if notch.edge == ref.edge]


def test_what_comes_of_it_can_be_stored(case: tuple[Pattern, list[Raw]]) -> None:
    before, raw = case
    for piece in done(before, raw).pattern.pieces:
        assert piece_mistakes(piece, piece.name) == []
        for slit in piece.slits:
            assert min(run_nearest(e.segments, slit.line[0])[1] for e in piece.edges) < 0.01


def test_a_cut_through_a_seam_is_walked_and_the_report_says_so(corset: Pattern) -> None:
    plain, made = (done(corset, CORSET["fold through a seam"], whole=whole) for whole in (False, True))
    seam = next(s for s in corset.seams if s.name == "seam-3")
    off = seam_difference(plain.pattern, seam) - seam_difference(corset, seam)
    assert abs(off) > 3.0
    assert abs(seam_difference(made.pattern, seam) - seam_difference(corset, seam)) < 0.2
    assert {(one.piece, one.why) for one in made.trued if one.edge == "back-seam"} == {
        ("p3", "step"),
        ("p3", "partner"),
    }
    (trued,) = (one for one in made.trued if one.why == "partner" and one.edge == "back-seam")
    assert trued.by_mm == pytest.approx(-off, abs=0.2)
    assert any(note.startswith("Walked seam “seam 3”") for note in notes_said(made.notes, {}))
    assert made.pattern.piece("p4").edge("front-seam") == corset.piece("p4").edge("front-seam")


def test_the_half_below_the_waist_is_walked_at_the_hem(corset: Pattern) -> None:
    made = done(corset, CORSET["spread through a seam"])
    assert any("at its bottom end" in note for note in notes_said(made.notes, {}))
    plain = done(corset, CORSET["spread through a seam"], whole=False).pattern.piece("p4")
    assert made.pattern.piece("p4").edge("back-seam").end == plain.edge("back-seam").end


def test_a_moved_edge_whose_partner_is_to_be_left_is_not_walked(corset: Pattern) -> None:
    made = done(corset, CORSET["move-edge"])
    assert not any(one.why == "partner" for one in made.trued)
    longer = edge_length(made.pattern.piece("p3").edge("back-seam")) - edge_length(corset.piece("p3").edge("back-seam"))
    seam = next(s for s in corset.seams if s.name == "seam-3")
    assert seam_difference(made.pattern, seam) - seam_difference(corset, seam) == pytest.approx(longer)


def test_a_wedge_through_two_neighbours_is_not_walked_between_its_two_steps(corset: Pattern) -> None:
    """The fold runs on into the neighbour: what the first step puts out the second puts right."""
    seam = next(s for s in corset.seams if s.name == "seam-3")
    both = [
        {"op": "fold", "piece": "p3", "from": [400, 60], "to": [150, 60], "move": "right", "amount_from": 6.0,
         "amount_to": 0.0},
        {"op": "fold", "piece": "p4", "from": [330, 60], "to": [480, 60], "move": "left", "amount_from": 4.05,
         "amount_to": 0.0},
    ]  # fmt: skip
    made = done(corset, both)
    assert abs(seam_difference(made.pattern, seam) - seam_difference(corset, seam)) <= INCH / 16
    assert not any("seam 3" in note for note in notes_said(made.notes, {}))


def test_what_a_later_step_makes_even_again_is_neither_walked_nor_said(corset: Pattern) -> None:
    there = {"op": "fold", "piece": "p3", "from": [400, 60], "to": [150, 60], "move": "right", "amount_from": 6.0,
             "amount_to": 0.0}  # fmt: skip
    back = {**there, "amount_from": -6.0}
    made = done(corset, [there, back])
    assert not any("eam “seam " in note for note in notes_said(made.notes, {}))


def test_an_alteration_that_breaks_a_seam_is_refused_with_the_most_that_works(corset: Pattern) -> None:
    raised = {"op": "move-edge", "piece": "p3", "edge": "top-edge",
              "by": [{"along": 0, "mm": -10}, {"along": 1, "mm": 0}]}  # fmt: skip
    with pytest.raises(
        FitError, match=r"Seam “seam 3” would come apart.*about 1/8 in \(3 mm\) out at the edge's start"
    ):
        done(corset, [raised])
    less = {**raised, "by": [{"along": 0, "mm": -2.9}, {"along": 1, "mm": 0}]}
    assert any(note.startswith("Seam “seam 3”") for note in notes_said(done(corset, [less]).notes, {}))


def test_one_side_of_a_pair_beside_a_whole_pair_is_refused_with_what_to_part_first(corset: Pattern) -> None:
    parted: Raw = {"op": "split-sides", "piece": "p4"}
    raised: Raw = {"op": "move-edge", "piece": "p4-left", "edge": "top-edge", "by": [{"along": 0, "mm": -9}]}
    with pytest.raises(FitError, match=r"part the third panel into left and right first"):
        done(corset, [parted, raised])
    names = [piece.name for piece in corset.pieces]
    all_parted = [{"op": "split-sides", "piece": name} for name in names]
    made = done(corset, [*all_parted, *({**raised, "piece": f"{name}-left"} for name in names)])
    assert [made.pattern.piece(f"{name}-right").edges for name in names] == [piece.edges for piece in corset.pieces]


def test_a_step_of_a_longer_work_may_leave_a_seam_open(corset: Pattern) -> None:
    raised = {"op": "move-edge", "piece": "p3", "edge": "top-edge",
              "by": [{"along": 0, "mm": -10}, {"along": 1, "mm": 0}]}  # fmt: skip
    assert done(corset, [raised], whole=False).pattern != corset


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_cuts_of_any_panel_leave_its_seams_even_or_are_refused(corset: Pattern, data: st.DataObject) -> None:
    piece = data.draw(st.sampled_from(corset.pieces))
    raw = data.draw(st.one_of(folds(piece), darts(piece)))
    try:
        made = done(corset, [raw])
    except FitError:
        return
    for seam in corset.seams:
        change = seam_difference(made.pattern, seam) - seam_difference(corset, seam)
        assert abs(change) <= INCH / 16 + 0.05 or any(
            f"Seam “{seam.name.replace('-', ' ')}”" in note for note in notes_said(made.notes, {})
        )


def test_a_corner_that_was_neither_square_nor_ran_on_is_left_alone(bodies: Pattern) -> None:
    piece = bodies.piece("bodies")
    numbers = [n for n, edge in enumerate(piece.edges) if edge.name in ("hem", "lacing")]
    assert not any(keeps_square(bodies, piece, number) for number in numbers)
    made = done(bodies, BODIES["move-edge"]).pattern.piece("bodies")
    end = edge_point_at(piece.edge("hem"), edge_length(piece.edge("hem")) - 40.0)
    assert run_nearest(made.edge("hem").segments, end)[1] < 1e-6


def _bend_across_deg(pattern: Pattern) -> float:
    """By how much the top line bends where it crosses the seam from the one piece to the other."""
    side, behind = pattern.pieces
    return math.degrees(corner_turn(side, 1) + corner_turn(behind, 2) - math.pi)


@pytest.mark.parametrize("lean_mm", [0.0, 8.0, -8.0])
def test_a_line_that_was_drawn_to_run_on_across_a_seam_bends_there_no_more_than_it_did(lean_mm: float) -> None:
    """8 mm in 100 are 4.6 degrees, as paper measured with a ruler has it; both ends at the seam go 6 mm down."""
    side, behind = oblong("side"), oblong("back-piece", x=200.0)
    leant = (
        edge_of("back", "seam", (300.0, 0.0), (300.0, 200.0 + lean_mm)),
        edge_of("neck", "top", (300.0, 200.0 + lean_mm), (200.0, 200.0)),
    )
    pattern = pair_of(side, replace(behind, edges=(behind.edges[0], *leant, behind.edges[3]), landmarks={}))
    down = [
        MoveEdge("side", "neck", (Place(6.0, along=0.0), Place(0.0, along=1.0))),
        MoveEdge("back-piece", "neck", (Place(0.0, along=0.0), Place(6.0, along=1.0))),
    ]
    made = do(pattern, down).pattern
    assert abs(_bend_across_deg(pattern)) == pytest.approx(math.degrees(math.atan(abs(lean_mm) / 100.0)), abs=0.01)
    assert _bend_across_deg(made) == pytest.approx(_bend_across_deg(pattern), abs=0.6)


@pytest.mark.parametrize("lean_mm", [20.0, -20.0])
@pytest.mark.parametrize("down_mm", [12.0, -12.0])
def test_a_line_that_bends_across_a_seam_bends_no_more_though_one_piece_was_square_to_it(
    lean_mm: float, down_mm: float
) -> None:
    """20 mm in 100 are 11 degrees; the line over both is tilted by 12 mm in 100, so the bend stays."""
    side, behind = oblong("side"), oblong("back-piece", x=200.0)
    leant = (
        edge_of("back", "seam", (300.0, 0.0), (300.0, 200.0 + lean_mm)),
        edge_of("neck", "top", (300.0, 200.0 + lean_mm), (200.0, 200.0)),
    )
    pattern = pair_of(side, replace(behind, edges=(behind.edges[0], *leant, behind.edges[3]), landmarks={}))
    parts = [number / 16 for number in range(17)]
    down = [
        MoveEdge("side", "neck", tuple(Place(down_mm * (1.0 - part), along=part) for part in parts)),
        MoveEdge("back-piece", "neck", tuple(Place(down_mm * (2.0 - part), along=part) for part in parts)),
    ]
    made = do(pattern, down).pattern
    assert abs(_bend_across_deg(made)) <= abs(_bend_across_deg(pattern)) + 0.6


@pytest.mark.parametrize(("name", "role"), [("hem", "bottom"), ("top-edge", "top"), ("back-seam", "seam")])
def test_an_edge_stored_in_parts_that_run_on_from_each_other_goes_on_running_on(
    name: str, role: str, corset: Pattern
) -> None:
    """A joint that does not turn is none that has to be square."""
    parted = in_two(corset.piece("p2"), name, edge_length(corset.piece("p2").edge(name)) / 2.0)
    seams = tuple(seam for seam in corset.seams if "p2" not in (seam.a.piece, seam.b.piece))
    pattern = replace(corset.with_piece(parted), seams=seams)
    for raw in ({"op": "length", "at": {"station": "waist", "offset": 20.0}, "amount": 9.0}, *CORSET["upright fold"]):
        made = do(pattern, parse_operations(raw)).pattern.piece("p2")
        joint = next(number for number, edge in enumerate(made.edges) if edge.name == f"{name}-1")
        assert made.edges[joint].role == role
        assert corner_turn(made, joint) == pytest.approx(0.0, abs=math.radians(1.0))


@pytest.mark.parametrize("mm", [9.0, -9.0])
def test_a_line_that_bent_across_its_seam_before_an_alteration_bends_no_more_after_it(mm: float) -> None:
    """The top of the front-laced pair bends by some 35 degrees at the side, its hem by 15."""
    pattern = read_pattern(json.loads((bundled_cases() / "patterns" / "front-laced-stays.json").read_text("utf-8")))
    raw = {"op": "move-edge", "piece": "back", "edge": "side-seam", "true_partner": True,
           "by": [{"at": "top", "mm": mm}, {"at": "waist", "mm": 0}, {"at": "bottom", "mm": -mm}]}  # fmt: skip
    made = do(pattern, parse_operations(raw)).pattern
    for old, now in zip(_bends_across(pattern), _bends_across(made), strict=True):
        assert abs(math.degrees(old)) > 10.0
        assert abs(now) <= abs(old) + math.radians(1.0)


def _bends_across(pattern: Pattern) -> list[float]:
    """By how much hem and top line bend across the side seam."""
    front, back = (pattern.piece(name) for name in ("front", "back"))
    turns = [
        corner_turn(piece, number)
        for piece in (front, back)
        for number, edge in enumerate(piece.edges)
        if "side-seam" in (edge.name, piece.edges[(number + 1) % len(piece.edges)].name)
    ]
    ends = [(turns[0], turns[3]), (turns[1], turns[2])]
    return [one + other - math.pi for one, other in ends]


def test_what_is_a_little_too_much_to_sew_is_not_said_to_be_what_may_be_sewn() -> None:
    assert too_much_to_sew(-3.5) == "a little over 1/8 in (3.5 mm); more than 1/8 in can't be sewn flat."
    assert too_much_to_sew(12.0).startswith("1/2 in (12 mm); more")
