"""A body that changes, in words: worked by hand with limits of 1 to 4 in."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.gap.reading import read_gap
from diagnose.model.tryon import TryOn
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.words.gap_text import range_lines

IN = 25.4


def lines(base: RuleBase, tryon: TryOn, after_mm: float | None = None) -> list[str]:
    predicted = {} if after_mm is None else {"waist": after_mm}
    return list(range_lines(tryon, read_gap(tryon, base.settings), predicted, base, "in"))  # type: ignore[arg-type]


def test_a_body_that_stays_as_it_is_says_nothing(base: RuleBase, make_tryon: Callable[..., TryOn]) -> None:
    assert lines(base, make_tryon(gap={"waist": "1 in"}, target="2 in")) == []


def test_the_gap_is_told_over_her_range_now_and_after(base: RuleBase, make_tryon: Callable[..., TryOn]) -> None:
    # Usual today and 1 1/2 in between her ends: 3/4 in either way of today's gap.
    tryon = make_tryon(gap={"waist": "1 in"}, target="2 in", wearer={"changes_by": "1 1/2 in", "today": "usual"})
    said = lines(base, tryon, 2 * IN)
    assert "stands midway today" in said[0]
    assert "between 1 in (25 mm) and 4 in (102 mm)" in said[0]
    assert said[1] == (
        "At the waist it runs from 1/4 in (6 mm) to 1 3/4 in (44 mm), "
        "and after this round from 1 1/4 in (32 mm) to 2 3/4 in (70 mm)."
    )


def test_what_stays_outside_the_limits_is_said(base: RuleBase, make_tryon: Callable[..., TryOn]) -> None:
    # Largest today: on her smallest day the gap is narrower by the whole 4 in, a lap of 2 in where 1 in is the least.
    tryon = make_tryon(gap={"waist": "2 in"}, target="2 in", wearer={"changes_by": "4 in", "today": "largest"})
    assert lines(base, tryon)[1] == (
        "At the waist it runs from a lap of 2 in (51 mm) to 2 in (51 mm); 3 in (76 mm) too narrow on her smallest days."
    )
