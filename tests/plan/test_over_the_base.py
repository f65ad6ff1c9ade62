"""What must hold of every plan, whatever the answers: over all vignettes, and over answers changed one at a time."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import pytest

from diagnose.engine.findings import find_sides
from diagnose.errors import FitError
from diagnose.gap.reading import read_gap
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.formula import parse_formula

sys.path.append(str(Path(__file__).parents[1] / "cases"))
from scoring import Vignette, read_vignettes

IN = 25.4
NOISE_MM = IN / 16


def line(vignette: Vignette, base: RuleBase, **more: Any) -> TryOn:
    return read_tryon({"id": vignette.name, **vignette.answers, **more}, base.vocabulary)


def pulling_both_ways(found: Diagnosis) -> Iterator[tuple[StepPlan, StepPlan, str]]:
    """Pairs of steps of one plan that change one station of one side in opposite ways."""
    steps = [step for round_ in found.rounds for step in round_.steps]
    for one, other in combinations(steps, 2):
        sides = "both" in (one.side, other.side) or one.side == other.side
        for station, much in one.amount.by_station_mm.items():
            back = other.amount.by_station_mm.get(station, 0.0)
            if sides and much * back < 0.0 and min(abs(much), abs(back)) > NOISE_MM:
                yield one, other, station


def test_no_two_steps_of_one_plan_pull_a_station_both_ways(base: RuleBase, matcher: Matcher) -> None:
    found = {v.name: diagnose(line(v, base), base, matcher) for v in read_vignettes()}
    wrong = {
        name: [(a.alteration, b.alteration, s) for a, b, s in pulling_both_ways(one)] for name, one in found.items()
    }
    assert {name: pairs for name, pairs in wrong.items() if pairs} == {}
    for one in found.values():
        names = {step.alteration for round_ in one.rounds for step in round_.steps}
        assert not names >= {"re-level-waist", "shorten-above-waist"}
        assert not names >= {"re-level-waist", "lengthen-above-waist"}


def test_every_step_of_every_plan_is_within_its_round_or_says_what_is_beyond(base: RuleBase, matcher: Matcher) -> None:
    for vignette in read_vignettes():
        for round_ in diagnose(line(vignette, base), base, matcher).rounds:
            for step in round_.steps:
                most = max(map(abs, step.amount.by_station_mm.values()), default=0.0)
                assert most <= 5 * IN + NOISE_MM, (vignette.name, step.alteration)
                assert step.beyond or not step.capped, (vignette.name, step.alteration)


@pytest.mark.parametrize("station", ["top", "waist", "bottom"])
def test_a_gap_farther_from_its_target_gives_no_smaller_change(station: str, base: RuleBase, matcher: Matcher) -> None:
    def change(off_mm: float) -> float:
        gap = dict.fromkeys(("top", "waist", "bottom"), 2 * IN) | {station: 2 * IN + off_mm}
        raw = {"id": "t", "gap": gap, "target": "2 in", "tension": "working", "garment": {"seams_per_half": 4},
               "known": {"relaced-from-waist": True}}  # fmt: skip
        steps = diagnose(read_tryon(raw, base.vocabulary), base, matcher).rounds
        return sum(step.amount.by_station_mm.get(station, 0.0) for step in (steps[0].steps if steps else ()))

    for sign in (1.0, -1.0):
        wanted = [-sign * change(sign * eighths * IN / 8) for eighths in range(15)]
        assert all(more >= less - 1e-6 for less, more in pairwise(wanted)), wanted


def test_a_sign_told_absent_never_raises_the_cause_that_most_often_shows_it(base: RuleBase, matcher: Matcher) -> None:
    def chances(tryon: TryOn) -> Mapping[str, float]:
        found = find_sides(tryon, read_gap(tryon, base.settings), base, matcher)
        highest: dict[str, float] = {}
        for side in found.values():
            for cause, chance in side.chances.probability.items():
                highest[cause] = max(chance, highest.get(cause, 0.0))
        return highest

    shows, tried = base.entries.words.shows, 0
    for vignette in read_vignettes()[::12]:
        told = vignette.answers.get("seen", {})
        before = chances(line(vignette, base))
        for name, symptom in base.entries.symptoms.items():
            links = [link for link in symptom.causes if not link.only_if]
            if name in told or name in base.derived or not links or symptom.part:
                continue
            most = max(links, key=lambda link: shows[link.shows]).cause
            after = chances(line(vignette, base, seen={**told, name: False}))
            assert after[most] <= before[most] + 1e-9, (vignette.name, name, most)
            tried += 1
    assert tried > 1000


GROWS = [IN / 4, IN / 2, 3 * IN / 4, IN, 5 * IN / 4]


def test_a_figure_that_grows_gives_no_smaller_amount_in_any_formula(base: RuleBase) -> None:
    tried = 0
    for cause in base.entries.causes.values():
        for choice in cause.alterations:
            formula = parse_formula(choice.amount) if choice.amount != "none" else None
            for name in formula.names if formula is not None else ():
                sign, _, of = name.partition(".")
                if formula is None or of != "amount":
                    continue
                clearance = "clearance" in base.entries.symptoms[sign].record.means
                found = [formula.value({name: mm}) for mm in GROWS]
                sizes = [max(0.0, much) if clearance else abs(much) for much in found if much is not None]
                tried += bool(sizes)
                for less, more in pairwise(reversed(sizes) if clearance else sizes):
                    assert more >= less - 1e-6, (cause.id, choice.alteration, choice.amount)
    assert tried > 40


def test_a_sign_measured_larger_is_answered_by_no_smaller_step(base: RuleBase, matcher: Matcher) -> None:
    garment = {"style": "corset", "closure": "back", "boning": "full", "straps": "fixed", "tabs": "boned",
               "busk": "split", "seams_per_half": 5, "meant_to_meet": False, "gussets": "both"}  # fmt: skip
    answered = 0
    for sign in base.entries.symptoms.values():
        record = sign.record
        if record.amount != "length" or "clearance" in record.means or sign.id in base.derived | base.stop_flags:
            continue
        low, high = (value if isinstance(value, float) else None for value in (record.low, record.high))
        sizes: dict[str, list[float]] = {}
        for mm in (mm for mm in GROWS if (low or 0.0) <= mm <= (high or IN)):
            gap = dict.fromkeys(("top", "waist", "bottom"), 2 * IN)
            raw = {"id": "t", "garment": garment, "target": "2 in", "gap": gap,
                   "seen": {sign.id: {"amount": mm, "grade": 3}}, "known": {"flat-bust-intended": False}}  # fmt: skip
            try:
                found = diagnose(read_tryon(raw, base.vocabulary), base, matcher)
            except FitError:
                break  # a sign of a part that this garment has not
            for step in found.first_steps:
                if step.amount.length_mm is not None:
                    sizes.setdefault(step.alteration, []).append(abs(step.amount.length_mm))
        for alteration, steps in sizes.items():
            answered += 1
            assert all(more >= less - 1e-6 for less, more in pairwise(steps)), (sign.id, alteration, steps)
    assert answered > 15
