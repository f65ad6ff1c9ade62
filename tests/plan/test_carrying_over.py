"""From toile to garment: said once everything is settled, and not before."""

from __future__ import annotations

from typing import Any

import pytest
from invented_base import IN, base_of

from diagnose.gap.reading import GapReading, StationGap
from diagnose.model.diagnosis import HeldBack
from diagnose.plan.planned import Round
from diagnose.plan.whole import finish_lines
from diagnose.rulebase.base import RuleBase


def reading(off_mm: float) -> GapReading:
    station = StationGap(2 * IN - off_mm, 2 * IN, off_mm, closed=False, at_least=False)
    return GapReading("parallel", {"waist": station}, False, {})


def test_a_settled_toile_carries_over_what_the_base_says_and_what_still_waits(base: RuleBase) -> None:
    held = HeldBack("alter-strap-length", "strap-length-wrong", "both", "the girth is settled", "Straps come last.")
    *carried, waiting = finish_lines(reading(0.0), (), (held,), base)
    assert carried == [line.say for line in base.entries.order.carry_over]
    assert carried
    title = base.entries.alterations["alter-strap-length"].title.lower()
    assert waiting == f"Still waiting: {title}, until the girth is settled."


@pytest.mark.parametrize(
    ("off", "rounds"), [(IN / 4, ()), (-IN, ()), (0.0, (Round(1, (), "try on again", ()),))]
)  # fmt: skip
def test_while_a_step_is_to_come_or_the_gap_is_off_nothing_is_said(base: RuleBase, off: float, rounds: Any) -> None:
    assert finish_lines(reading(off), rounds, (), base) == ()


def test_without_a_reading_nothing_is_settled(base: RuleBase) -> None:
    nothing = GapReading(None, {}, True, {})
    assert finish_lines(nothing, (), (), base_of(base, {}, ())) == ()
