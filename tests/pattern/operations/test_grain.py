"""The grain line over a cut: it keeps the direction of the paper its longer part lies on."""

from __future__ import annotations

import math

import pytest
from cut_paper import INCH, alone, only, sheet

from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.measure import bounds
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.outline import Pattern, Point


@pytest.mark.parametrize("amount", [0.5 * INCH, 0.75 * INCH, INCH, 1.25 * INCH])
def test_shortening_through_the_middle_of_the_grain_leaves_a_grain_that_can_be_read(
    bodies: Pattern, amount: float
) -> None:
    (low, high) = bodies.piece("bodies").grain or (Point(0, 0), Point(0, 0))
    raw = {"op": "length", "at": {"station": "waist", "offset": (low.y + high.y) / 2}, "amount": amount}
    made = do(bodies, parse_operations(raw)).pattern
    assert read_pattern(to_json(made))
    grain = made.piece("bodies").grain
    assert grain is not None
    assert math.dist(*grain) == pytest.approx(math.dist(low, high) - amount)


def test_a_wedge_whose_strip_holds_the_middle_of_the_grain_leaves_it_long(corset: Pattern) -> None:
    piece = corset.piece("p4")
    assert piece.grain is not None
    y, box = (piece.grain[0].y + piece.grain[1].y) / 2, bounds(piece)
    wedge = {"op": "fold", "piece": "p4", "from": [box.right + 5, y], "to": [box.left - 5, y], "move": "right",
             "amount_from": INCH, "amount_to": 0.0}  # fmt: skip
    grain = do(corset, parse_operations(wedge), whole=False).pattern.piece("p4").grain
    assert grain is not None
    assert math.dist(*grain) > math.dist(*piece.grain) - INCH


def test_the_grain_keeps_the_direction_of_its_longer_part() -> None:
    """By hand: the sheet's grain runs from y = 50 to 350; cut at 100, its upper 250 stay and so does its direction."""
    wedge = Fold("sheet", Point(-10, 100), Point(310, 100), 0.0, 30.0, "right")
    grain = only(wedge.done(alone(sheet())).pattern).grain
    assert grain is not None
    assert grain[1] == Point(20, 350)
    assert grain[0].x == pytest.approx(20.0)
    other = only(Fold("sheet", Point(-10, 100), Point(310, 100), 0.0, 30.0, "left").done(alone(sheet())).pattern).grain
    assert other is not None
    turned = math.degrees(math.atan2(other[1].x - other[0].x, other[1].y - other[0].y))
    assert abs(turned) == pytest.approx(math.degrees(2 * math.atan(30.0 / 640.0)), abs=1e-6)


def test_a_grain_that_lies_wholly_in_the_strip_keeps_its_direction_and_length() -> None:
    strip = Fold("sheet", Point(20, -10), Point(20, 410), 30.0, 30.0, "right")
    grain = only(strip.done(alone(sheet())).pattern).grain
    assert grain is not None
    assert math.dist(*grain) == pytest.approx(300.0)
    assert grain[0].x == pytest.approx(grain[1].x)
