"""Refusals: the reason, and the most there is room for, for every operation an amount can be too large for."""

from __future__ import annotations

import re
from typing import Any

import pytest
from cut_paper import alone, sheet
from msgspec.structs import replace
from shapely.geometry import LineString
from stored_forms import rectangle_json

from diagnose.errors import FitError
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.in_words import notes_said, slit_title
from diagnose.pattern.operations import MoveEdge, do, parse_operations
from diagnose.pattern.operations.doing import with_room
from diagnose.pattern.operations.move_edge import Place
from diagnose.pattern.outline import Channel, Pattern, Point

Raw = dict[str, Any]
ON_BODIES: dict[str, tuple[Raw, str]] = {
    "a strip wider than the paper": (
        {"op": "fold", "piece": "bodies", "from": [100, 230], "to": [100, -180], "move": "left", "amount_from": 420.0,
         "amount_to": 420.0},
        "take in|taken away|far side|stepped",
    ),
    "a lacing edge moved past the paper": (
        {"op": "move-edge", "piece": "bodies", "edge": "lacing",
         "by": [{"along": 0, "mm": 300}, {"along": 1, "mm": 0}]},
        "meet|crosses|misses",
    ),
    "an edge moved across the outline": (
        {"op": "move-edge", "piece": "bodies", "edge": "neck", "by": [{"along": 0, "mm": 380}]},
        "meet|crosses|bend|corner",
    ),
    "a neck scooped through the hem": (
        {"op": "reshape-edge", "piece": "bodies", "edge": "neck", "from": [160, 221], "peak": [80, 211],
         "to": [10, 212], "height": 450.0, "direction": "down"},
        "crosses or touches",
    ),
    "a whole garment shortened to nothing": (
        {"op": "length", "at": {"station": "waist", "offset": 40}, "amount": 400.0},
        "take in|taken away|far side|stepped",
    ),
    "tabs lengthened out of all measure": (
        {"op": "tabs", "piece": "bodies", "lengthen": -90.0},
        "slit|channel|crosses",
    ),
    "slits deepened off the piece": ({"op": "tabs", "piece": "bodies", "deepen": 600.0}, "lie off|across slit"),
    "a flare wider than its slit": ({"op": "tabs", "piece": "bodies", "flare": 400.0}, "does not fit"),
    "a gore wider than its slit": (
        {"op": "insert-gore", "piece": "bodies", "slit_foot": [0, 0], "tip": [0, 0], "width": 500.0},
        "does not fit",
    ),
    "a channel moved off the piece": (
        {"op": "channels", "piece": "bodies", "move": [{"name": "f1", "by": [-300, 0]}]},
        "lies off piece|runs out|cross",
    ),
}  # fmt: skip


BONES_MENDED: dict[str, Raw] = {
    "a channel folded into a slit": {
        "op": "fold", "piece": "bodies", "from": [60, 230], "to": [60, -150], "move": "right", "amount_from": 0.0,
        "amount_to": 30.0,
    },
    "a dart beside the slits": {
        "op": "dart", "piece": "bodies", "mouth": [90, 214], "width": 120.0, "point": [80, 60], "relief": [0, 40],
    },
}  # fmt: skip


@pytest.mark.parametrize("what", BONES_MENDED)
def test_a_bone_that_would_come_to_cross_a_slit_is_mended_and_that_is_said(bodies: Pattern, what: str) -> None:
    done = do(bodies, parse_operations(BONES_MENDED[what]))
    piece = done.pattern.piece("bodies")
    slits = [LineString(slit.line) for slit in piece.slits]
    assert not any(LineString(channel.line).crosses(slit) for channel in piece.channels for slit in slits)
    assert any(note.startswith("Channel") and "bodies" in note for note in notes_said(done.notes, {}))


def asked(bodies: Pattern, raw: Raw) -> Raw:
    """The operation, its places set on the bundled bodies where they depend on them."""
    piece = bodies.piece("bodies")
    if raw["op"] == "insert-gore":
        slit = piece.slits[0]
        return {**raw, "slit_foot": list(slit.line[0]), "tip": list(slit.line[-1])}
    if raw["op"] == "channels":
        return {**raw, "move": [{**raw["move"][0], "name": piece.channels[0].name}]}
    return raw


@pytest.mark.parametrize("what", ON_BODIES)
def test_too_much_is_refused_with_the_reason_and_the_most_that_is_said_works_and_a_little_more_does_not(
    bodies: Pattern, what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw, reason = ON_BODIES[what]
    (operation,) = parse_operations(asked(bodies, raw))
    kind, tried = type(operation), list[float]()
    in_part = kind.in_part

    def tried_in_part(whole: Any, part: float) -> Any:
        tried.append(part)
        return in_part(whole, part)

    with monkeypatch.context() as patch:
        patch.setattr(kind, "in_part", tried_in_part)
        with pytest.raises(FitError) as caught:
            do(bodies, [operation])
    words = str(caught.value)
    assert re.search(reason, words), words
    assert "The most there is room for is about" in words
    most = tried[-1]  # the one that is said
    assert 0.0 < most < 1.0
    for amount in operation.in_part(most).amounts():
        assert amount in words
    do(bodies, [operation.in_part(most)])
    with pytest.raises(FitError):
        do(bodies, [operation.in_part(most + 1 / 256)])


def test_a_mistake_of_name_keeps_its_own_remedy(bodies: Pattern) -> None:
    wrong = {"op": "move-edge", "piece": "bodies", "edge": "lacings", "by": [{"along": 0, "mm": 3}]}
    with pytest.raises(FitError, match="It has: hem, lacing"):
        do(bodies, parse_operations(wrong))


def test_a_list_names_the_step_that_fails_though_the_pieces_are_looked_at_only_once(bodies: Pattern) -> None:
    small = {"op": "move-edge", "piece": "bodies", "edge": "lacing", "by": [{"along": 0, "mm": 3}]}
    spoils = ON_BODIES["a neck scooped through the hem"][0]
    with pytest.raises(FitError, match=r"do\[1\], piece bodies: It would spoil the piece\..*crosses or touches"):
        do(bodies, parse_operations([small, spoils, small]))


def test_a_step_that_a_later_one_puts_right_is_let_through() -> None:
    """A neck dipped through the hem and raised again: only what comes of the list is cut."""
    pattern = read_pattern(rectangle_json())
    piece = pattern.pieces[0]
    top = next(edge for edge in piece.edges if edge.role == "top")
    there = {"op": "move-edge", "piece": piece.name, "edge": top.name, "by": [{"along": 0, "mm": 30}]}
    back = {**there, "by": [{"along": 0, "mm": -30}]}
    made = do(pattern, parse_operations([there, back])).pattern.pieces[0]
    assert made.edge(top.name).start == pytest.approx(top.start)


def test_a_channel_that_lay_in_a_slit_before_is_not_the_alteration_s_fault() -> None:
    piece = replace(sheet(), channels=(Channel("c1", (Point(81, 6), Point(81, 390)), 9.5),))
    wider = {"op": "fold", "piece": "sheet", "from": [200, 410], "to": [200, -10], "move": "left", "amount_from": -5,
             "amount_to": -5}  # fmt: skip
    assert do(alone(piece), parse_operations(wider)).pattern.pieces[0].channels == piece.channels


def test_a_slit_has_room_for_one_gore(bodies: Pattern) -> None:
    slit = bodies.piece("bodies").slits[0]
    gore = {"op": "insert-gore", "piece": "bodies", "slit_foot": list(slit.line[0]), "tip": list(slit.line[-1]),
            "width": 30}  # fmt: skip
    with pytest.raises(
        FitError, match=rf"do\[1\].*{slit_title(slit.name).capitalize()} of the bodies piece already has gore 1"
    ):
        do(bodies, parse_operations([gore, gore]))


def test_room_for_less_than_a_ruler_shows_is_not_said_to_be_about_that() -> None:
    def attempt(operations: list[MoveEdge]) -> None:
        if operations[0].by[0].mm > 0.7:
            raise FitError.of("edge", "Too much.", "Take less.", code="too-much")

    move = MoveEdge(piece="sheet", edge="back", by=(Place(along=0.5, mm=10.0),))
    refused = FitError.of("edge", "Too much.", "Take less.", code="too-much")
    words = str(with_room(attempt, [move], refused))  # type: ignore[arg-type]
    assert "The most there is room for is under 1/16 in" in words
