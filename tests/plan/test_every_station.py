"""Whatever the gap reads, each station that is off its target is brought nearer, or the plan says why not yet."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from diagnose.model.tryon import TryOn
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

IN = 25.4
TARGET = 2.0
DEAD_BAND_MM = IN / 4
READ = {"narrow": 0.75, "right": 2.0, "wide": 3.25}
HEIGHTS = ("top", "waist", "bottom")
SHAPES = list(product(READ, repeat=3))
GRID = [(seams, between, shape) for seams in (0, 5) for between in (False, True) for shape in SHAPES]


def tryon_of(make_tryon: Any, seams: int, between: bool, shape: tuple[str, ...]) -> TryOn:
    top, waist, bottom = (READ[level] for level in shape)
    gap = {"top": top, "waist": waist, "bottom": bottom}
    if between:
        gap |= {"underbust": (top + waist) / 2, "hip": (waist + bottom) / 2}
    lengths = {station: f"{inches} in" for station, inches in gap.items()}
    made: TryOn = make_tryon(gap=lengths, target="2 in", tension="working", garment={"seams_per_half": seams})
    return made


def off_mm(diagnosis: Diagnosis) -> dict[str, tuple[float, float]]:
    """By station read, how far the gap is off its target now and after round 1."""
    now = {name: station.gap_mm for name, station in diagnosis.gap.stations.items()}
    steps = diagnosis.rounds[0].steps if diagnosis.rounds else ()
    then = {**now, **(steps[-1].predicted_gap_mm if steps else {})}
    return {name: (abs(now[name] - TARGET * IN), abs(then[name] - TARGET * IN)) for name in now}


@pytest.mark.parametrize(("seams", "between", "shape"), GRID)
def test_a_station_off_its_target_is_brought_to_it(
    make_tryon: Any, base: RuleBase, matcher: Matcher, seams: int, between: bool, shape: tuple[str, ...]
) -> None:
    found = diagnose(tryon_of(make_tryon, seams, between, shape), base, matcher)
    for station, (now, then) in off_mm(found).items():
        assert then <= DEAD_BAND_MM + 0.01, (station, now / IN, then / IN)


def test_a_waist_that_stands_open_between_narrow_ends_is_let_out_by_no_more_than_it_is_over(
    make_tryon: Any, base: RuleBase, matcher: Matcher
) -> None:
    found = diagnose(tryon_of(make_tryon, 5, False, ("narrow", "wide", "narrow")), base, matcher)
    amounts = {step.alteration: step.amount.whole_mm for step in found.rounds[0].steps}
    assert amounts["release-waist"] == pytest.approx(-1.25 * IN)
    assert set(amounts) == {"release-waist", "take-in-hip", "take-in-top-wedge"}


def test_a_cause_acted_on_for_one_reading_is_shown_with_what_speaks_for_it(
    make_tryon: Any, base: RuleBase, matcher: Matcher
) -> None:
    found = diagnose(tryon_of(make_tryon, 5, False, ("wide", "narrow", "wide")), base, matcher)
    planned = {step.cause for step in found.rounds[0].steps}
    shown = {cause.id: cause for cause in found.causes}
    assert planned <= set(shown)
    assert all(shown[cause].for_ for cause in planned)
