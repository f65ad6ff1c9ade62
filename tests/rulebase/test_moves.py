"""What an alteration may do to an outline: words that are known, and the act that a sign asks for."""

from __future__ import annotations

import pytest

from diagnose.rulebase.reading.entries import MoveLine
from diagnose.rulebase.reading.moves import Move, moves_for, read_move, wrong_with

FLARE = {"do": "tabs", "what": "flare", "for": "slits-gape"}
SHORTEN = {"do": "tabs", "what": "shorten", "for": "tabs-turn-up"}
REST = {"do": "tabs", "what": "add", "for": "otherwise"}
ALWAYS = {"do": "channels", "what": "shorten", "place": "front-hem"}


def read(*lines: dict[str, str]) -> tuple[Move, ...]:
    given = [MoveLine.model_validate(line) for line in lines]
    return tuple(read_move(line.do, line.of_its_verb, sign=line.for_) for line in given)


@pytest.mark.parametrize(
    ("move", "says"),
    [
        ({"do": "sems"}, "There is no move “sems”."),
        ({"do": "tabs", "what": "fold"}, "“what” is never “fold”."),
        ({"do": "tabs"}, "“tabs” needs “what”."),
        ({"do": "grain", "least_deg": "3", "most_deg": "900"}, "“900” does not do as a degrees."),
        ({"do": "lacing-edge", "by": {"top": "full"}}, "“lacing-edge” takes no “by”."),
        ({"do": "seams", "which": "all", "by": {"top": "half"}}, "A station is never “half”."),
        ({"do": "seams", "which": "all", "by": {"knee": "full"}}, "There is no station “knee”."),
        ({"do": "seams", "which": "all", "by": "top"}, "“by” names no stations."),
        ({"do": "length", "station": "waist", "way": "shorten", "offset": "far"}, "“far” is not a length."),
    ],
)
def test_each_mistake_of_a_move_is_said(move: dict[str, object], says: str) -> None:
    verb = str(move["do"])
    assert [what for what, _ in wrong_with(verb, {key: move[key] for key in move.keys() - {"do"}})] == [says]


@pytest.mark.parametrize("move", [FLARE, REST, ALWAYS, {"do": "length", "station": "waist", "way": "shorten"}])
def test_a_right_move_is_passed(move: dict[str, object]) -> None:
    line = MoveLine.model_validate(move)
    assert list(wrong_with(line.do, line.of_its_verb)) == []


def test_the_move_is_done_that_is_for_the_sign_shown_and_those_for_none_always() -> None:
    assert moves_for(read(FLARE, SHORTEN, ALWAYS), ["slits-gape"]) == read(FLARE, ALWAYS)
    assert moves_for(read(FLARE, SHORTEN, REST), ["tabs-turn-up"], ["slits-gape"]) == read(SHORTEN)


def test_with_none_of_the_signs_shown_it_is_the_one_for_otherwise() -> None:
    assert moves_for(read(FLARE, SHORTEN, REST), ["no-such-sign"], ["slits-gape"]) == read(REST)


def test_without_one_for_otherwise_the_signs_seen_decide_and_else_nothing_is_done() -> None:
    assert moves_for(read(FLARE, SHORTEN), [], ["slits-gape"]) == read(FLARE)
    assert moves_for(read(FLARE, SHORTEN), []) == ()
