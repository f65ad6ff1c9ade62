"""What she may type, and what she is told when it is no reply."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import FitError
from diagnose.interview import Option, Question, doubt, read_reply, read_value, said
from diagnose.units import Unit, read_length

YES_NO = Question("known.x", "", "yes-no", "?", "")
GAP = Question("gap.top", "", "length", "?", "", usual=101.6, most=508, station="top")
AMOUNT = Question("amount.x", "", "length", "?", "", least=3.175, most=76.2)
MINUTES = Question("amount.m", "", "minutes", "?", "", least=1, most=240)
SIDE = Question(
    "side.x", "", "choice", "?", "", options=(Option("left", "Left"), Option("right", "Right"), Option("both", "Both"))
)
SEVERAL = Question(
    "where", "", "several", "?", "", options=(Option("bust", "Bust"), Option("back", "Back"), Option("hip", "Hip"))
)
ALL = (YES_NO, GAP, AMOUNT, MINUTES, SIDE, SEVERAL)


@pytest.mark.parametrize("question", ALL, ids=lambda q: q.kind)
@pytest.mark.parametrize("typed", ["?", "skip", "Can’t tell", "  don't know "])
def test_cannot_tell_is_always_a_reply(question: Question, typed: str) -> None:
    assert read_reply(question, typed, "in") is None


@pytest.mark.parametrize(
    ("question", "typed", "value"),
    [
        (YES_NO, "Y", True), (YES_NO, " no ", False),
        (SIDE, "2", "right"), (SIDE, "l", "left"), (SIDE, "both", "both"),
        (SEVERAL, "n", []), (SEVERAL, "none", []), (SEVERAL, "1,3", ["bust", "hip"]),
        (SEVERAL, "3 and 1", ["hip", "bust"]),
        (SEVERAL, "1 1", ["bust"]), (SEVERAL, "all", ["bust", "back", "hip"]), (SEVERAL, "hip", ["hip"]),
        (MINUTES, "25", 25.0), (MINUTES, "25 min", 25.0),
        (GAP, "closed", "0 in"), (GAP, "0", "0 in"),
    ],
)  # fmt: skip
def test_reply_as_she_types_it(question: Question, typed: str, value: object) -> None:
    assert read_reply(question, typed, "in") == value


@pytest.mark.parametrize(
    ("typed", "unit", "length_mm"),
    [("2", "in", 50.8), ("1 1/2", "in", 38.1), ("1½", "in", 38.1), ('3/8"', "in", 9.525), ("5", "cm", 50.0),
     ("5 mm", "in", 5.0), ("0.5in", "cm", 12.7), ("20", "mm", 20.0), ("2.", "in", 50.8)],
)  # fmt: skip
def test_length_keeps_its_value_when_it_is_read_again_in_any_unit(typed: str, unit: Unit, length_mm: float) -> None:
    value = read_reply(GAP, typed, unit)
    units: tuple[Unit, ...] = ("in", "mm", "cm")
    for later in units:
        assert read_length(value, "", later) == pytest.approx(length_mm)


@pytest.mark.parametrize(
    ("question", "typed", "says"),
    [
        (YES_NO, "maybe", "neither yes nor no"), (YES_NO, "", "neither"),
        (SIDE, "4", "not one of these"), (SIDE, "1 2", "not one of these"), (SEVERAL, "1 9", "“9” is not"),
        (SEVERAL, "", "Nothing was typed"),
        (GAP, "-1/2", "less than nothing"),
        (GAP, "30 in", "believable here, 0 in to 20 in (508 mm)"),
        (GAP, "nan", "not a length"),
        (AMOUNT, "3 1/8 in", "believable here, 1/8 in (3 mm) to 3 in"), (AMOUNT, "0", "believable here"),
        (MINUTES, "ten", "number of minutes"),
        (MINUTES, "900", "1 minutes to 240 minutes"),
        (MINUTES, "٣", "number of minutes"),
    ],
)  # fmt: skip
def test_what_is_no_reply_is_explained(question: Question, typed: str, says: str) -> None:
    with pytest.raises(FitError, match=re.escape(says)) as refused:
        read_reply(question, typed, "in")
    assert refused.value.mistakes[0].do


@given(st.text(max_size=60))
def test_whatever_is_typed_is_a_reply_or_is_explained(text: str) -> None:
    for question in ALL:
        try:
            value = read_reply(question, text, "in")
        except FitError as error:
            assert error.mistakes[0].do  # noqa: PT017
        else:
            assert read_value(question, value, "in") == value
            assert said(question, value, "in")


def test_number_hard_to_believe_is_taken_with_a_doubt() -> None:
    assert "is usual" in doubt(GAP, "5 in", "in")
    assert doubt(GAP, "1 in", "in") == ""
    assert doubt(GAP, None, "in") == ""


def test_replies_are_said_in_words() -> None:
    assert said(GAP, "0 in", "in") == "closed"
    assert said(GAP, "1 in", "in") == "1 in (25 mm)"
    assert said(GAP, "1 in", "cm") == "2.5 cm"
    assert said(SEVERAL, [], "in") == "none of these"
    assert said(SIDE, "left", "in") == "Left"
    assert said(MINUTES, 25.0, "in") == "25 minutes"
