"""Refusals of the operations themselves: which parameter is wrong, what is wrong with it, and what to do instead."""

from __future__ import annotations

import math
from typing import Any

import pytest
from cut_paper import alone, sheet
from msgspec.structs import replace
from paper import edge, oblong, one

from diagnose.errors import FitError
from diagnose.pattern.operations import parse_operations
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.outline import Channel, Pattern, Point, Slit

SHEET = alone(sheet())
BARE = alone(replace(sheet(), channels=(), slits=(), landmarks={}, grain=None))
ACROSS = Channel("level", (Point(60.0, 100.0), Point(240.0, 101.0)), 9.5)
WITH_ACROSS = alone(replace(sheet(), channels=(ACROSS,)))
STRAPPED = one(replace(oblong("sheet"), landmarks={"strap-front": Point(20, 200), "strap-back": Point(80, 200)}))
NO_HEM = one(replace(oblong("sheet"), edges=(edge("hem", "seam", (0, 0), (100, 0)), *oblong().edges[1:])))
NO_TOP = STRAPPED.with_piece(STRAPPED.pieces[0].with_edge(edge("neck", "seam", (100, 200), (0, 200))))
Case = tuple[dict[str, Any], Pattern, str, str, str]


def fold_of(**how: Any) -> dict[str, Any]:
    usual = {"op": "fold", "from": [150, 0], "to": [150, 400], "amount_from": 5, "amount_to": 5, "move": "left"}
    return {**usual, **how}


def dart_of(**how: Any) -> dict[str, Any]:
    return {"op": "dart", "mouth": [300, 200], "width": 20, "point": [200, 200], "relief": [0, 200], **how}


def gore_of(**how: Any) -> dict[str, Any]:
    return {"op": "insert-gore", "slit_foot": [80, 0], "tip": [80, 60], "width": 30, **how}


def shape_of(**how: Any) -> dict[str, Any]:
    return {"op": "reshape-edge", "edge": "neck", "from": 50, "peak": 150, "to": 250, "height": 10, **how}


CASES: list[Case] = [
    (fold_of(to=[150, 1]), SHEET, "from", "one and the same", "where the line leaves the piece"),
    (fold_of(**{"from": [400, 0], "to": [400, 90]}), SHEET,
     "from", "15 3/4 in (400 mm) out and "
     "0 in (0 mm) up to 15 3/4 in (400 mm) out and 3 9/16 in (90 mm) up does not cross",
     "Give two"),
    (fold_of(**{"from": [150, 50]}), SHEET,
     "from", "5 7/8 in (150 mm) out and 1 15/16 in (50 mm) up, lies inside the sheet piece, 1 15/16 in (50 mm)",
     "a dart"),
    (fold_of(to=[150, 390]), SHEET,
     "to", "5 7/8 in (150 mm) out and 15 3/8 in (390 mm) up, lies inside the sheet piece, 3/8 in (10 mm)",
     "Carry the line on"),
    (dart_of(width=-5), SHEET, "width", "cannot be closed", "spread with a fold"),
    (dart_of(width=100), SHEET, "width", "3 15/16 in (100 mm) wide but only 3 15/16 in (100 mm) long", "longer dart"),
    (dart_of(point=[299, 200]), SHEET, "point", "lies on its mouth or its relief", "different places"),
    (dart_of(point=[2, 200]), SHEET, "point", "lies on its mouth or its relief", "different places"),
    (dart_of(mouth=[290, 200]), SHEET,
     "mouth", "11 7/16 in (290 mm) out and 7 7/8 in (200 mm) up, lies 3/8 in (10 mm) from the outline",
     "Give a place on an edge."),
    (dart_of(relief=[10, 200]), SHEET,
     "relief", "3/8 in (10 mm) out and 7 7/8 in (200 mm) up, lies 3/8 in (10 mm) from the outline",
     "Give a place on an edge."),
    (dart_of(relief=None), SHEET, "point", "7 7/8 in (200 mm) out and 7 7/8 in (200 mm) up, lies 3 15/16 in (100 mm)",
     "needs a relief"),
    (dart_of(point=[350, 200]), SHEET, "point", "13 3/4 in (350 mm) out and "
     "7 7/8 in (200 mm) up, lies outside the sheet piece",
     "Give a place inside it."),
    (gore_of(tip=[80, -20]), SHEET, "tip", "3 1/8 in (80 mm) out and "
     "13/16 in (20 mm) down, does not lie inside the sheet piece",
     "above the foot"),
    (gore_of(tip=[80.5, 0.5]), SHEET, "tip", "does not lie inside", "Give a point inside"),
    (gore_of(width=120), SHEET,
     "width", "4 3/4 in (120 mm) wide does not fit into a slit 2 3/8 in (60 mm)", "less than 4 3/4 in"),
    (gore_of(slit_foot=[80, 7]), SHEET, "slit_foot", "3 1/8 in (80 mm) out and "
     "1/4 in (7 mm) up, lies 1/4 in (7 mm) off",
     "on the bottom or top edge"),
    (gore_of(slit_foot=[20, 0], tip=[60, 90]), SHEET,
     "slit_foot", "Channel c1 of the sheet piece would lie across slit 2", "Move the channel"),
    (gore_of(tip=[10, 60]), SHEET,
     "slit_foot", "Channel c1 of the sheet piece would lie across slit 1", "Move the channel"),
    ({"op": "length", "at": {"station": "bottom"}, "amount": 5}, SHEET,
     "at", "has a level 'bottom'", "has: top, waist, hip."),
    ({"op": "length", "at": {"station": "waist", "offset": 900}, "amount": 5}, SHEET,
     "at", "35 7/16 in (900 mm) above", "an offset"),
    ({"op": "length", "at": {"station": "waist", "offset": -900}, "amount": 5}, SHEET,
     "at", "(900 mm) below the waist", "an offset"),
    ({"op": "marks", "grain_deg": 5}, BARE, "grain_deg", "sheet piece has no grain line", "Draw one first"),
    ({"op": "marks", "landmarks": [{"name": "x", "by": [1, 1]}]}, BARE,
     "landmarks", "no 'x' among its landmarks", "It has none."),
    ({"op": "marks", "landmarks": [{"name": "bust", "by": [1, 1]}]}, SHEET, "landmarks", "no 'bust'", "bust-point"),
    ({"op": "marks"}, SHEET, "marks", "Nothing is asked for", "Give grain_deg, levels or landmarks"),
    ({"op": "marks", "levels": [{"station": "waist", "front": 900, "back": 900}]}, SHEET,
     "levels", "The waist level would leave", "by less"),
    (shape_of(edge=["neck", "back"]), SHEET, "edge", "different roles", "Name edges of one role"),
    (shape_of(peak=20), SHEET, "peak", "", "in their order along the edge"),
    (shape_of(to=400), SHEET,
     "to", "15 3/4 in (400 mm) is not on the edge, which is 11 13/16 in (300 mm)", "to its end"),
    (shape_of(peak=[150, 350]), SHEET, "peak", "", "Give a point on the edge, or mm along it."),
    ({"op": "strap", "move": 5}, STRAPPED, "end", "bears both ends of the strap", "Say front or back."),
    ({"op": "strap", "end": "front", "move": 5}, SHEET,
     "end", "no landmark 'strap-front'", "Its landmarks: bust-point."),
    ({"op": "strap", "end": "front", "move": 5}, BARE, "end", "no landmark 'strap-front'", "Its landmarks: none."),
    ({"op": "strap", "move": 5}, SHEET, "move", "'strap-front' or 'strap-back' to move", "Name the body piece"),
    ({"op": "strap", "end": "front", "move": 5}, NO_TOP, "move", "does not lie on a top edge", "Set the"),
    ({"op": "strap"}, STRAPPED, "strap", "Nothing is asked for", "Give move, lengthen or widen."),
    ({"op": "tabs"}, SHEET, "tabs", "Nothing is asked for", "Give add, redivide, deepen, lengthen or flare."),
    ({"op": "tabs", "deepen": 5}, NO_HEM, "piece", "sheet piece has no bottom edge", "Name a piece with tabs."),
    ({"op": "tabs", "deepen": 5}, BARE, "slits", "has no slits in its bottom edge", "Add some first."),
    ({"op": "tabs", "slits": ["s2"], "deepen": 5}, SHEET, "slits", "no slit 's2' in its bottom edge", "s1"),
    ({"op": "tabs", "slits": ["s2"], "deepen": 5}, BARE, "slits", "no slit 's2'", "It has none."),
    ({"op": "tabs", "deepen": -58}, SHEET, "deepen", "Slit 1 is only 2 3/8 in (60 mm) deep", "Shorten it by less."),
    ({"op": "tabs", "deepen": 400}, SHEET, "slits", "The tip of slit 1 would lie off", "smaller depth"),
    ({"op": "tabs", "redivide": True}, SHEET, "redivide", "has only 1 such slit; there", "Add slits, or name more"),
    ({"op": "tabs", "add": [{"along": 400}]}, SHEET, "add[0]", "11 13/16 in (300 mm) long", "between its ends"),
    ({"op": "tabs", "add": [{"along": 40}]}, BARE, "add[0]", "no slits to take a depth from", "Give the depth."),
    ({"op": "tabs", "add": [{"along": 40}]}, SHEET,
     "slits", "Channel c1 of the sheet piece would lie across slit 2", "Move the channel"),
    ({"op": "channels"}, SHEET, "channels", "Nothing is asked for", "Give extend, add, remove or move."),
    ({"op": "channels", "remove": ["c3"]}, SHEET, "remove", "sheet piece has no channel 'c3'", "c1"),
    ({"op": "channels", "remove": ["c3"]}, BARE, "remove", "has no channel 'c3'", "It has none."),
    ({"op": "channels", "extend": ["c1"]}, SHEET, "to", "does not say where", "Give top or bottom."),
    ({"op": "channels", "extend": ["level"], "to": "top"}, WITH_ACROSS,
     "extend level", "meets the back of the sheet piece", "other edge"),
    ({"op": "channels", "move": [{"name": "c1", "by": [-60, 0]}]}, SHEET,
     "move c1", "Channel c1 lies off the sheet piece", "inside the outline"),
    ({"op": "channels", "add": [{"name": "c1", "line": [[9, 9], [9, 90]], "width": 5}]}, SHEET,
     "add", "already has", "Name it anew."),
    ({"op": "channels", "add": [{"name": "n", "line": [[70, 30], [90, 30]], "width": 5}]}, SHEET,
     "add n", "cross slit 1", "to one side"),
    ({"op": "channels", "add": [{"name": "n", "line": [[200, 9], [340, 9]], "width": 5}]}, SHEET,
     "add n", "over the back", "inside"),
]  # fmt: skip


@pytest.mark.parametrize(("raw", "pattern", "where", "what", "do"), CASES, ids=[f"{c[0]['op']}-{c[2]}" for c in CASES])
def test_a_refusal_names_the_parameter_the_fault_and_the_remedy(
    raw: dict[str, Any], pattern: Pattern, where: str, what: str, do: str
) -> None:
    named = raw if raw["op"] == "length" else {"piece": "sheet", **raw}
    (operation,) = parse_operations(named)
    with pytest.raises(FitError) as caught:
        operation.done(pattern)
    (mistake,) = caught.value.mistakes
    assert mistake.where == where
    assert what in mistake.what
    assert do in mistake.do


@pytest.mark.parametrize(
    ("operation", "where"),
    [
        (Fold("sheet", Point(150, 0), Point(150, math.inf), 5, 5, "left"), "fold"),
        (Dart("sheet", Point(300, 200), math.nan, Point(200, 200)), "dart"),
        (Length("waist", math.nan, 5), "length"), (Length("waist", 0, math.inf), "length"),
    ],
)  # fmt: skip
def test_what_is_not_a_number_is_refused_as_such(operation: Any, where: str) -> None:
    with pytest.raises(FitError) as caught:
        operation.done(SHEET)
    (mistake,) = caught.value.mistakes
    assert (mistake.where, mistake.do) == (where, "Give lengths that can be measured.")
    assert "is not a number" in mistake.what


def test_a_word_that_is_no_side_is_refused_beside_the_other_mistakes() -> None:
    with pytest.raises(FitError) as caught:
        Fold("sheet", Point(150, 0), Point(150, 0), 5, 5, "up").done(SHEET)  # type: ignore[arg-type]
    assert [m.where for m in caught.value.mistakes] == ["from", "move"]
    with pytest.raises(FitError) as caught:
        Dart("sheet", Point(300, 200), -5.0, Point(200, 200), None, "up").done(SHEET)  # type: ignore[arg-type]
    assert [m.where for m in caught.value.mistakes] == ["width", "turn"]


def test_a_foot_within_a_millimetre_of_a_slit_s_is_that_slit_s() -> None:
    piece = replace(sheet(), slits=(Slit("s1", (Point(80, 0), Point(80, 60))),))
    done = InsertGore("sheet", Point(80.9, 0), Point(80, 60), 30).done(alone(piece))
    assert [slit.name for slit in done.pattern.piece("sheet").slits] == ["s1"]
    beside = InsertGore("sheet", Point(81.1, 0), Point(90, 60), 30).done(alone(piece))
    assert [slit.name for slit in beside.pattern.piece("sheet").slits] == ["s1", "s2"]
