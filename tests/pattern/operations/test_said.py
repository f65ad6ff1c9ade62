"""What an operation says it did, or the most it could do: the figure, the place and the way, as a maker reads them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import pytest
from cut_paper import alone, sheet
from msgspec.structs import replace
from paper import oblong, one

from diagnose.errors import FitError
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.operations import Operation, do, parse_operations
from diagnose.pattern.operations.doing import with_room
from diagnose.pattern.outline import Pattern

DOWN = {"op": "fold", "piece": "sheet", "from": [150, 0], "to": [150, 400], "move": "left"}
DART = {"op": "dart", "piece": "sheet", "mouth": [300, 200], "width": 25.4, "point": [225, 200]}
GORE = {"op": "insert-gore", "piece": "sheet", "slit_foot": [80, 0], "tip": [80, 60], "width": 30}
BACK = {"op": "move-edge", "piece": "sheet", "edge": "back"}
TABS = {"op": "tabs", "piece": "sheet"}


def operation(raw: dict[str, Any]) -> tuple[Operation, ...]:
    return parse_operations(raw)


def first_note(raw: dict[str, Any], pattern: Pattern | None = None) -> str:
    return notes_said(do(pattern or alone(sheet()), operation(raw), whole=False).notes, {})[0]


def refusal(raw: dict[str, Any], pattern: Pattern | None = None) -> str:
    with pytest.raises(FitError) as caught:
        do(pattern or alone(sheet()), operation(raw))
    return str(caught.value)


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((6.35, 6.35), "Folded out of the sheet piece: 1/4 in (6 mm)."),
        ((-6.35, -6.35), "Cut and spread in the sheet piece: 1/4 in (6 mm)."),
        ((0.0, 6.35), "Folded out of the sheet piece: nothing to 1/4 in (6 mm)."),
        ((-6.35, 0.0), "Cut and spread in the sheet piece: 1/4 in (6 mm) to nothing."),
        (
            (12.7, -6.35),
            "Folded out and, beyond the turning point, spread in the sheet piece: 1/2 in (13 mm) to 1/4 in",
        ),
    ],
)
def test_a_fold_says_which_way_how_much_at_either_end(ends: tuple[float, float], said: str) -> None:
    assert first_note({**DOWN, "amount_from": ends[0], "amount_to": ends[1]}).startswith(said)


def test_a_dart_says_its_length_and_how_far_its_slash_opens() -> None:
    # 1 in over 75 mm, the slash 225 mm long: it opens three times as far.
    said = first_note({**DART, "relief": [0, 200], "width": 12.7})
    assert said == (
        "In the sheet piece closed a dart 1/2 in (13 mm) wide and 2 15/16 in (75 mm) long; the slash to the other edge "
        "opens 1 1/2 in (38 mm)."
    )
    assert "right through to the other edge" in first_note({**DART, "point": [0, 200]})


@pytest.mark.parametrize(
    ("offset", "amount", "said"),
    [
        (0.0, 12.7, "Every piece is 1/2 in (13 mm) shorter, cut at the waist level"),
        (50.8, 12.7, "Every piece is 1/2 in (13 mm) shorter, cut 2 in (51 mm) above the waist level"),
        (-50.8, -6.35, "Every piece is 1/4 in (6 mm) longer, cut 2 in (51 mm) below the waist level"),
    ],
)
def test_a_change_of_length_says_where_the_line_lies(offset: float, amount: float, said: str) -> None:
    raw = {"op": "length", "at": {"station": "waist", "offset": offset}, "amount": amount}
    assert first_note(raw).startswith(said)


def test_pieces_that_the_line_does_not_reach_are_named_and_only_those() -> None:
    raw = {"op": "length", "at": {"station": "waist", "offset": 10}, "amount": 5}
    two = Pattern("t", "back", (sheet(), replace(sheet(), name="facing", levels={})))
    notes = notes_said(do(two, operation(raw)).notes, {})
    assert "Left as they are, since the line does not reach them: facing." in notes
    assert not any("Left as they are" in note for note in notes_said(do(alone(sheet()), operation(raw)).notes, {}))


@pytest.mark.parametrize(
    ("degrees", "said"), [(8.0, "turned 8 degrees toward the front"), (-8.0, "turned 8 degrees toward the back")]
)
def test_a_turned_grain_says_which_way_its_top_goes(degrees: float, said: str) -> None:
    assert said in first_note({"op": "marks", "piece": "sheet", "grain_deg": degrees})


def test_a_level_drawn_anew_says_higher_or_lower_at_each_end() -> None:
    levels = [{"station": "waist", "front": 6.35, "back": -12.7}]
    said = first_note({"op": "marks", "piece": "sheet", "levels": levels})
    assert "1/4 in (6 mm) higher at its front end and 1/2 in (13 mm) lower at its back end" in said
    still = first_note({"op": "marks", "piece": "sheet", "levels": [{"station": "waist", "front": 0, "back": 6.35}]})
    assert "drawn anew, where it was at its front end and 1/4 in (6 mm) higher at its back end" in still


def test_a_gore_says_its_slit_and_what_is_cut_anew() -> None:
    assert notes_said(do(alone(sheet()), operation(GORE), whole=False).notes, {}) == (
        "Gore 1 is let into slit 1 of the sheet piece: stay the tip with a bar.",
    )
    deeper = notes_said(do(alone(sheet()), operation({**GORE, "tip": [80, 76.2]}), whole=False).notes, {})
    assert deeper[0] == "Slit 1 of the sheet piece is cut anew, 3 in (76 mm) long."
    assert "Gore 1 is let into slit 2" in first_note({**GORE, "slit_foot": [150, 400], "tip": [150, 300]})


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"lengthen": 12.7}, "Cut the strap at the front fixing 1/2 in (13 mm) longer."),
        ({"lengthen": -12.7}, "Cut the strap at the front fixing 1/2 in (13 mm) shorter."),
        ({"widen": 6.35}, "Cut the strap at the front fixing 1/4 in (6 mm) wider."),
        ({"widen": -6.35}, "Cut the strap at the front fixing 1/4 in (6 mm) narrower."),
    ],
)
def test_a_strap_says_longer_or_shorter_wider_or_narrower(asked: dict[str, float], said: str) -> None:
    body = replace(oblong("body"), landmarks={"strap-front": oblong().landmarks["apex"]})
    assert notes_said(do(one(body), operation({"op": "strap", "piece": "body", **asked})).notes, {}) == (said,)


SHIFT = {"op": "channels", "piece": "sheet", "move": [{"name": "c1", "by": [300, 0]}]}
LENGTH = r"[\d /]+ in \(\d+ mm\)"


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ({**DOWN, "amount_from": 500, "amount_to": 500}, f"about {LENGTH}."),
        ({**DOWN, "amount_from": 500, "amount_to": 250}, f"about {LENGTH} at from and {LENGTH} at to."),
        ({"op": "length", "at": {"station": "waist", "offset": 50}, "amount": 700}, f"about {LENGTH} to shorten."),
        ({**BACK, "by": [{"at": "top", "mm": 500}, {"at": "waist", "mm": 0}]}, f"about {LENGTH} in at the top level."),
        ({**BACK, "by": [{"along": 0.5, "mm": 500}]}, f"about {LENGTH} in at the middle of the edge."),
        ({**TABS, "deepen": 1000}, f"about {LENGTH} to deepen."),
        ({**TABS, "add": [{"along": 120, "depth": 900}]}, rf"about {LENGTH} deep at 4 3/4 in \(120 mm\)."),
        (SHIFT, rf"about {LENGTH} across."),
        # The slit is 60 mm long: the hem stops at its tip, and the legs of a gore span no more than twice that.
        ({**TABS, "lengthen": -100}, r"about 2 3/8 in \(60 mm\) to shorten."),
        ({**TABS, "flare": 300}, r"about 4 3/4 in \(120 mm\) to flare."),
        ({**GORE, "width": 300}, r"about 4 3/4 in \(120 mm\)."),
    ],
)
def test_a_refusal_says_each_amount_there_is_room_for_and_where(raw: dict[str, Any], said: str) -> None:
    assert re.search(f"The most there is room for is {said[:-1]}[.]$", refusal(raw)), refusal(raw)


def test_of_several_operations_that_only_fail_together_the_share_that_works_is_said() -> None:
    both = (*operation({**DOWN, "amount_from": 40, "amount_to": 40}), *operation({**TABS, "lengthen": 40}))

    def attempt(operations: Sequence[Operation]) -> None:
        amounts = [one.to_json().get("lengthen", 0.0) for one in operations]
        if sum(map(float, amounts)) > 10.0:  # type: ignore[arg-type]
            raise FitError.of("piece", "Too much.", "Take less.", code="made-up")

    found = with_room(attempt, both, FitError.of("piece", "Too much.", "Take less.", code="made-up"))
    assert [m.do for m in found.mistakes] == ["About 25 hundredths of every amount would do."]


def test_where_not_even_the_least_works_the_remedy_stays() -> None:
    def attempt(operations: Sequence[Operation]) -> None:
        raise FitError.of("piece", "Never.", "Name another piece.", code="made-up")

    error = FitError.of("piece", "Never.", "Name another piece.", code="made-up")
    assert with_room(attempt, operation({**TABS, "lengthen": 40}), error) is error


def test_what_has_no_amount_keeps_its_remedy() -> None:
    splits = operation({"op": "split-sides", "piece": "sheet"})
    error = FitError.of("piece", "It is split.", "Name one half.", code="made-up")
    assert with_room(lambda operations: None, splits, error) is error


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ({"op": "length", "at": {"station": "waist", "offset": 0}, "amount": -12.7}, "1/2 in (13 mm) to lengthen"),
        ({**DOWN, "amount_from": -12.7, "amount_to": -12.7}, "1/2 in (13 mm) spread"),
        ({**TABS, "deepen": -12.7}, "1/2 in (13 mm) to make shallower"),
    ],
)
def test_an_amount_less_than_nothing_is_said_by_its_own_word(raw: dict[str, Any], said: str) -> None:
    (one_of_them,) = operation(raw)
    assert list(one_of_them.amounts()) == [said]
