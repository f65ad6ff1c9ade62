"""Darts in paper with a bite out of its side: where the legs end, and what stands in their way. Figures by hand."""

from __future__ import annotations

from itertools import pairwise

import pytest
from cut_paper import alone, only, sheet
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.measure import edge_length
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.outline import Line, Pattern, Piece, Point


def bitten(tip_x: float = 100.0) -> Piece:
    """The sheet, 300 mm by 400, with a bite out of its back between the heights 320 and 340 as far as `tip_x`."""
    corners = [(300, 0), (300, 320), (tip_x, 320), (tip_x, 340), (300, 340), (300, 400)]
    legs = tuple(Line(Point(*a), Point(*b)) for a, b in pairwise(corners))
    piece = sheet()
    back = replace(piece.edge("back"), segments=legs)
    return replace(piece.with_edge(back), channels=(), levels={}, landmarks={}, notches=(), slits=(), grain=None)


def closed(
    piece: Piece,
    mouth: tuple[float, float],
    point: tuple[float, float],
    relief: tuple[float, float] | None,
    **how: float,
) -> Pattern:
    there = Point(*relief) if relief else None
    return Dart("sheet", Point(*mouth), how.get("width", 12.0), Point(*point), there).done(alone(piece)).pattern


def change(piece: Piece, made: Piece, edge: str) -> float:
    return edge_length(made.edge(edge)) - edge_length(piece.edge(edge))


def test_the_legs_end_where_they_first_meet_the_outline_though_there_is_paper_beyond() -> None:
    # 12 mm over 80 mm close at the under side of the bite; the slash of 150 mm opens 12 * 150 / 80 at the front
    piece = bitten()
    made = only(closed(piece, (150, 320), (150, 240), (0, 240)))
    assert change(piece, made, "back") == pytest.approx(-12.0, abs=0.3)
    assert change(piece, made, "front") == pytest.approx(22.5, abs=0.5)
    assert change(piece, made, "neck") == pytest.approx(0.0, abs=1e-6)
    assert change(piece, made, "hem") == pytest.approx(0.0, abs=0.3)


def test_a_bite_between_the_point_and_the_mouth_is_refused() -> None:
    with pytest.raises(FitError, match=r"amount: .*something lies between.*narrower dart"):
        closed(bitten(), (150, 400), (150, 240), (0, 240))


def test_a_bite_that_stays_clear_of_the_legs_is_none_of_the_darts_business() -> None:
    # the legs stand 6 mm to either side of x = 150 at the top, 3 1/2 mm at the bite
    piece = bitten(tip_x=160.0)
    made = only(closed(piece, (150, 400), (150, 240), (0, 240)))
    assert change(piece, made, "neck") == pytest.approx(-12.0, abs=0.3)
    assert change(piece, made, "back") == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize("relief_x", [300.0, 303.0])
def test_a_slash_may_run_to_a_relief_drawn_up_to_an_eighth_of_an_inch_beyond_the_edge(relief_x: float) -> None:
    piece = bitten(tip_x=250.0)
    made = only(closed(piece, (150, 400), (150, 240), (relief_x, 240)))
    # 150 mm of slash against 160 mm of dart
    assert change(piece, made, "back") == pytest.approx(12.0 * 150 / 160, abs=0.3)


def test_a_slash_through_the_bite_is_refused_and_one_past_its_tip_is_not() -> None:
    with pytest.raises(FitError, match=r"relief: .*leaves the paper.*stays inside"):
        closed(bitten(), (0, 200), (150, 200), (150, 400))
    piece = bitten(tip_x=160.0)
    made = only(closed(piece, (0, 200), (150, 200), (150, 400)))
    assert change(piece, made, "neck") == pytest.approx(12.0 * 200 / 150, abs=0.5)


def test_without_a_relief_the_wedge_runs_through_to_the_point_on_the_other_edge() -> None:
    piece = bitten(tip_x=250.0)
    made = only(closed(piece, (0, 200), (300, 200), None))
    assert change(piece, made, "front") == pytest.approx(-12.0, abs=0.3)
    assert change(piece, made, "back") == pytest.approx(0.0, abs=0.3)


def test_a_leg_that_would_run_beside_the_paper_is_refused() -> None:
    # from the back edge, 1 1/2 degrees off that edge: a leg 2.9 degrees to its right leaves the paper at once
    with pytest.raises(FitError, match=r"amount: A leg of the dart does not meet the outline\. Take a narrower dart"):
        closed(sheet(), (295, 400), (300, 200), None, width=20.0)
