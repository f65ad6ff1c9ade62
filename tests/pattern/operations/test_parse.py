"""Operations read from JSON, every mistake at once, written back the same, and done in order, all or none."""

from __future__ import annotations

import json
import math
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper import oblong, one

from diagnose.errors import FitError
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.operations.channels import Channels, Shifted
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.move_edge import MoveEdge, Place
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.operations.openings.tabs import NewSlit, Tabs
from diagnose.pattern.operations.redrawn_marks import LevelShift, Marks
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.outline import Channel, Point

SPELT = [
    (
        {"op": "fold", "piece": "a", "from": [0, 1], "to": [2, 3], "amount_from": "1/4", "amount_to": 0,
         "move": "left"},
        Fold("a", Point(0, 1), Point(2, 3), 6.35, 0.0, "left"),
    ),
    (
        {"op": "dart", "piece": "a", "mouth": [0, 1], "width": "1 in", "point": ["2 cm", 3], "relief": None},
        Dart("a", Point(0, 1), 25.4, Point(20, 3)),
    ),
    (
        {"op": "move-edge", "piece": "back", "edge": "side", "by": [{"at": "top", "mm": 6.35}, {"along": 0, "mm": 0}]},
        MoveEdge("back", "side", (Place(6.35, at="top"), Place(0.0, along=0.0))),
    ),
    (
        {"op": "reshape-edge", "piece": "front", "edge": ["neck", "armhole"], "from": [1, 2], "peak": 30, "to": "3 in",
         "height": 12.7, "direction": "up"},
        ReshapeEdge("front", ("neck", "armhole"), Point(1, 2), 30.0, 76.2, 12.7, "up"),
    ),
    (
        {"op": "reshape-edge", "piece": "front", "edge": "top", "from": 0, "peak": 1, "to": 2, "height": 3},
        ReshapeEdge("front", ("top",), 0.0, 1.0, 2.0, 3.0, "up"),
    ),
    ({"op": "length", "at": {"station": "waist", "offset": 63.5}, "amount": 25.4}, Length("waist", 63.5, 25.4)),
    (
        {"op": "insert-gore", "piece": "side", "slit_foot": [1, 2], "tip": [3, 4], "width": 50},
        InsertGore("side", Point(1, 2), Point(3, 4), 50.0),
    ),
    ({"op": "split-sides", "piece": "back"}, SplitSides("back")),
    (
        {"op": "channels", "piece": "front", "extend": ["f1"], "to": "top", "clearance": "1/4", "remove": ["f2"],
         "add": [{"name": "n", "line": [[0, 0], [0, 9]], "width": 9.5}], "move": [{"name": "f3", "by": [3, 0]}]},
        Channels("front", ("f1",), "top", 6.35, (Channel("n", (Point(0, 0), Point(0, 9)), 9.5),), ("f2",),
                 (Shifted("f3", Point(3, 0)),)),
    ),
    ({"op": "strap", "piece": "front", "end": "front", "move": "1/2"}, Strap("front", "front", 12.7)),
    (
        {"op": "tabs", "piece": "a", "add": [{"along": 9, "depth": 40}], "redivide": True, "deepen": -3},
        Tabs("a", add=(NewSlit(9.0, 40.0),), redivide=True, deepen=-3.0),
    ),
    (
        {"op": "marks", "piece": "a", "grain_deg": -8, "levels": [{"station": "waist", "front": 0, "back": "1/2"}],
         "landmarks": [{"name": "underarm", "by": [0, 5]}]},
        Marks("a", -8.0, (LevelShift("waist", 0.0, 12.7),), (Shifted("underarm", Point(0, 5)),)),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("spelt", "meant"), SPELT, ids=[str(spelt["op"]) for spelt, _ in SPELT])
def test_each_operation_is_read_and_written_back_the_same(spelt: dict[str, object], meant: object) -> None:
    (read,) = parse_operations(spelt)
    assert read == meant
    text = json.dumps(read.to_json(), allow_nan=False)
    assert parse_operations(json.loads(text), unit="cm") == (read,)


def test_text_without_a_unit_takes_the_one_given() -> None:
    (read,) = parse_operations({"op": "strap", "piece": "a", "move": "2"}, unit="cm")
    assert read == Strap("a", move=20.0)


def test_a_list_is_read_in_order() -> None:
    assert parse_operations([{"op": "split-sides", "piece": p} for p in "ab"]) == (SplitSides("a"), SplitSides("b"))


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ({"op": "move-egde"}, "Did you mean move-edge?"),
        ({"piece": "a"}, "do.op: The operation is missing."),
        ({"op": "split-sides", "peice": "a"}, "Did you mean piece?"),
        ({"op": "split-sides"}, "“piece” is missing."),
        ({"op": "insert-gore", "piece": "a", "slit_foot": [1], "tip": [2, 3], "width": 1}, "do.slit_foot: a list of 1"),
        ({"op": "insert-gore", "piece": "a", "slit_foot": [1, math.nan], "tip": [2, 3], "width": 1}, "“nan”"),
        ({"op": "insert-gore", "piece": "a", "slit_foot": [1, 2], "tip": [2, 3], "width": 0}, "more than nothing"),
        ({"op": "strap", "piece": "a", "move": True}, "“true” is not a length"),
        ({"op": "strap", "piece": "a", "move": 10**400}, "do.move"),
        ({"op": "strap", "piece": "a", "move": "2 furlongs"}, "“2 furlongs”"),
        ({"op": "tabs", "piece": "a", "redivide": 1}, "neither true nor false"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": []}, "“by” holds 0 entries"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3}]}, "one place"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3, "at": "top", "along": 0.5}]}, "one place"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3, "along": 1.5}]}, "part of the edge"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3, "at": "wiast"}]}, "Did you mean waist?"),
        ({"op": "length", "at": {"station": "waist"}, "amount": None}, "do.amount"),
        ({"op": "dart", "piece": "a", "mouth": [0, 0], "width": 1, "point": [1, 1], "turn": "up"}, "no known side"),
        ([], "Give at least 1"),
        ("fold", "not a list"),
        ([3], "do[0]"),
        (None, "do"),
    ],
)  # fmt: skip
def test_each_mistake_is_named_with_its_place(raw: object, said: str) -> None:
    with pytest.raises(FitError) as caught:
        parse_operations(raw)
    assert said in str(caught.value)


CHANNELS = {"op": "channels", "piece": "a"}
MARKS = {"op": "marks", "piece": "a"}


@pytest.mark.parametrize(
    ("raw", "where", "what"),
    [
        ({**CHANNELS, "add": [{"name": "n", "line": [[0, 0]], "width": 9}]}, "do.add[0].line", "not a line"),
        ({**CHANNELS, "add": [{"name": "n", "line": [[0, 0], [0, "x"]], "width": 9}]}, "do.add[0].line, point 2", "x"),
        ({**CHANNELS, "add": [{"name": "n", "line": [[0, 0], [0, 9]], "width": 0}]}, "do.add[0].width", "more than"),
        ({**CHANNELS, "move": [{"name": "n", "by": 3}]}, "do.move[0].by", "3"),
        ({**CHANNELS, "clearance": -1}, "do.clearance", "less than nothing, and -1/16 in (-1 mm)"),
        ({**CHANNELS, "extend": ["a", 7]}, "do.extend[1]", "7"),
        ({**CHANNELS, "to": "side"}, "do.to", "side"),
        ({**MARKS, "grain_deg": 90.5}, "do.grain_deg", "“90.5” is not an angle"),
        ({**MARKS, "grain_deg": True}, "do.grain_deg", "not an angle"),
        ({**MARKS, "levels": [{"station": "knee", "front": 0, "back": 0}]}, "do.levels[0].station", "knee"),
        ({**MARKS, "levels": [{"station": "hip", "back": 0}]}, "do.levels[0]", "“front” is missing"),
        ({**MARKS, "levels": {}}, "do.levels", "not a list"),
        ({"op": "tabs", "piece": "a", "add": [{"along": 0}]}, "do.add[0].along", "more than nothing"),
        ({"op": "tabs", "piece": "a", "flare": -3}, "do.flare", "less than nothing"),
        ({"op": "tabs", "piece": "a", "redivide": "yes"}, "do.redivide", "neither true nor false"),
        ({"op": "strap", "piece": "a", "end": "side"}, "do.end", "side"),
        ({"op": "length", "at": {"station": "hip", "offset": "x"}, "amount": 3}, "do.at.offset", "“x”"),
        ({"op": "length", "at": [], "amount": 3}, "do.at", "object"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3, "along": True}]}, "do.by[0].along", "part"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3, "along": -0.1}]}, "do.by[0].along", "part"),
        ({"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3}]}, "do.by[0]", "one place"),
        ({"op": "reshape-edge", "piece": "a", "edge": ["b", ""], "from": 0, "peak": 1, "to": 2, "height": 1},
         "do.edge[1]", ""),
        ({"op": "reshape-edge", "piece": "a", "edge": "b", "from": 0, "peak": [1], "to": 2, "height": 1},
         "do.peak", "list of 1"),
    ],
)  # fmt: skip
def test_a_mistake_deep_inside_is_named_by_the_way_to_it(raw: dict[str, object], where: str, what: str) -> None:
    with pytest.raises(FitError) as caught:
        parse_operations(raw)
    assert [m.where for m in caught.value.mistakes] == [where]
    assert what in caught.value.mistakes[0].what
    assert caught.value.mistakes[0].remedy


@pytest.mark.parametrize(
    "raw",
    [
        {**CHANNELS, "clearance": 0, "remove": ["f1"]}, {**MARKS, "grain_deg": 90}, {**MARKS, "grain_deg": -90},
        {"op": "tabs", "piece": "a", "flare": 0, "deepen": 1},
        {"op": "tabs", "piece": "a", "add": [{"along": 1, "depth": None}]},
        {"op": "move-edge", "piece": "a", "edge": "b", "by": [{"mm": 3, "along": 1}, {"mm": 0, "along": 0}]},
        {**CHANNELS, "extend": ["f1"], "to": None},
        {"op": "strap", "piece": "a", "end": None, "move": 1},
    ],
)  # fmt: skip
def test_what_lies_just_inside_the_limits_is_read(raw: dict[str, object]) -> None:
    (read,) = parse_operations(raw)
    again = json.loads(json.dumps(read.to_json()))
    assert parse_operations(again) == (read,)
    assert None not in again.values()


def test_a_thousand_operations_are_read_and_one_more_is_refused() -> None:
    split = {"op": "split-sides", "piece": "a"}
    assert len(parse_operations([split] * 1000)) == 1000
    with pytest.raises(FitError, match="Give at most 1000"):
        parse_operations([split] * 1001, "steps")


def test_what_is_left_out_of_the_json_is_what_is_usual() -> None:
    usual = ReshapeEdge("front", ("top",), 0.0, 1.0, 2.0, 3.0, "up")
    assert "direction" not in usual.to_json()
    assert replace(usual, direction="down").to_json()["direction"] == "down"
    assert Length("waist", 0.0, 5.0).to_json() == {
        "op": "length", "at": {"station": "waist", "offset": 0.0}, "amount": 5.0,
    }  # fmt: skip
    assert Tabs("a", add=(NewSlit(9.0),)).to_json()["add"] == [{"along": 9.0}]


def test_all_mistakes_of_all_operations_come_at_once() -> None:
    with pytest.raises(FitError) as caught:
        parse_operations(
            [{"op": "fold", "from": 3, "colour": "red"}, {"op": "nip"}, {"op": "split-sides", "piece": ""}]
        )
    where = [m.where for m in caught.value.mistakes]
    assert where.count("do[0]") == 6
    assert {"do[0].from", "do[1].op", "do[2].piece"} <= set(where)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(
        st.sampled_from(["op", "piece", "edge", "by", "at", "mm", "add", "line", "name", "width", "tip", "x"]), inner),
    max_leaves=12,
)  # fmt: skip


@settings(deadline=None, max_examples=150)
@given(JSON, st.sampled_from([str(spelt["op"]) for spelt, _ in SPELT]))
def test_nothing_but_a_plain_refusal_comes_of_any_json(raw: object, op: str) -> None:
    with suppress(FitError):
        parse_operations({**raw, "op": op} if isinstance(raw, dict) else raw)


def test_operations_are_done_in_order_and_what_they_say_is_gathered() -> None:
    operations = parse_operations([
        {"op": "split-sides", "piece": "side"},
        {"op": "move-edge", "piece": "side-left", "edge": "back", "by": [{"at": "waist", "mm": 12}]},
    ])  # fmt: skip
    done = do(one(oblong()), operations)
    assert [p.edge("back").start.x for p in done.pattern.pieces] == pytest.approx([88.0, 100.0])
    assert len(notes_said(done.notes, {})) == 2
    assert (
        notes_said(done.notes, {})[1]
        == "Channel b1 of the left side would run off the paper: it is re-laid straight inside."
    )
    laid = next(channel for channel in done.pattern.piece("side-left").channels if channel.name == "b1")
    assert all(point.x <= 88.0 - laid.width / 2.0 for point in laid.line)


def test_a_step_that_fails_is_named_and_nothing_is_done() -> None:
    pattern = one(oblong())
    with pytest.raises(FitError, match=r"do\[1\], piece: The pattern has no piece 'side'"):
        do(pattern, (SplitSides("side"), SplitSides("side")))
    assert pattern == one(oblong())


def test_a_step_that_would_leave_a_crossed_outline_is_refused() -> None:
    (deep,) = parse_operations(
        {"op": "reshape-edge", "piece": "side", "edge": "neck", "from": 20, "peak": 50, "to": 80, "height": -230}
    )
    with pytest.raises(FitError, match=r"It would spoil the piece\. The outline crosses or touches itself"):
        do(one(oblong()), (deep,))


def test_no_operations_give_the_pattern_back() -> None:
    assert do(one(oblong()), ()).pattern == one(oblong())


def test_the_six_panel_corset_bears_a_round_of_each_operation() -> None:
    path = Path(__file__).parents[3] / "cases" / "patterns" / "six-panel-corset.json"
    pattern = load_pattern(path)
    operations = parse_operations([
        {"op": "move-edge", "piece": "p3", "edge": "back-seam",
         "by": [{"at": "top", "mm": "1/4"}, {"at": "waist", "mm": 0}], "true_partner": True, "channels": "follow"},
        {"op": "reshape-edge", "piece": "p3", "edge": "top-edge", "from": 10, "peak": 40, "to": 70, "height": "1/2"},
        {"op": "insert-gore", "piece": "p4", "slit_foot": [380, -147], "tip": [380, -13], "width": 40},
        {"op": "split-sides", "piece": "p6"},
        {"op": "channels", "piece": "p6-left", "remove": ["p6-1"]},
    ])  # fmt: skip
    made = do(pattern, operations).pattern
    assert [p.name for p in made.pieces][-3:] == ["p6-left", "p6-right", "gore-1"]
