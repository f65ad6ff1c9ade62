"""Every believable range contains what was measured on real bodies, from the 0.5th to the 99.5th percentile."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from outside_bodies import STEPS_CM, believable
from real_bodies import percentile, survey_waists, women
from registry import checks, settings, tryon

from diagnose.errors import FitError
from diagnose.model.stations import STATIONS
from diagnose.rulebase.reading.outside_checks import quantity

LOW, HIGH = 0.005, 0.995
MEASURED: dict[str, Callable[[], Sequence[float]]] = {
    # Heinz et al., 2003. The chest above the breasts is less than the bust, so it is held against the bust's least;
    # the hip crest lies between waist and hip, and a girth there is read as either when a maker measures by eye.
    "bust": lambda: [woman.chest for woman in women()],
    "waist": lambda: [woman.waist for woman in women()],
    "waist at the hip crest": lambda: [woman.hip_crest for woman in women()],
    "hip": lambda: [woman.hip for woman in women()],
    "hip at the hip crest": lambda: [woman.hip_crest for woman in women()],
    # The underbust was not measured; taken midway between chest and waist, it is a guess from geometry.
    "underbust": lambda: [woman.at["underbust"] for woman in women()],
    # National Health and Nutrition Examination Survey 2017-2018.
    "waist in the survey": survey_waists,
    # EN 13402-3, second-hand.
    "bust in the standard": lambda: [10.0 * cm for cm in STEPS_CM],
}


@pytest.mark.parametrize("named", MEASURED)
def test_a_believable_range_contains_the_bodies_measured(named: str) -> None:
    low, high = believable(named.split()[0])
    values = MEASURED[named]()
    assert low <= percentile(values, LOW)
    assert high >= percentile(values, HIGH)


@pytest.mark.parametrize("named", MEASURED)
def test_a_common_girth_given_in_a_wrong_unit_is_not_believable(named: str) -> None:
    # Inches taken for cm, cm for mm and mm for cm fall outside; cm taken for inches may not, for there are such women.
    low, high = believable(named.split()[0])
    common = percentile(MEASURED[named](), 0.5)
    assert [factor for factor in (1 / 2.54, 0.1, 10.0) if low <= common * factor <= high] == []


@pytest.mark.parametrize("named", MEASURED)
def test_no_real_body_is_refused_at_the_door(named: str) -> None:
    fact = named.split()[0]
    for mm in (min(MEASURED[named]()), max(MEASURED[named]())):
        wearer = tryon(wearer={fact: mm}).wearer
        assert getattr(wearer, f"{fact}_mm") == mm


def test_a_girth_given_in_a_wrong_unit_is_refused() -> None:
    waist = percentile([woman.waist for woman in women()], 0.5)
    for wrong in (waist / 25.4, waist / 10.0, waist * 10.0):
        with pytest.raises(FitError, match="no body girth"):
            tryon(wearer={"waist": wrong})


def test_the_bounds_in_the_table_are_the_percentiles_of_the_data() -> None:
    chest, waist, hip = ([getattr(woman, name) for woman in women()] for name in ("chest", "waist", "hip"))
    wanted = [(chest, LOW), (waist, LOW), (waist, HIGH), (hip, LOW), (hip, HIGH)]
    for figure, (values, part) in zip(checks().checks["girths-of-260-women"].figures[1:], wanted, strict=True):
        assert stated(figure.theirs) == pytest.approx(percentile(values, part), abs=0.051), figure.what


def test_the_survey_s_bounds_in_the_table_are_its_percentiles() -> None:
    values = survey_waists()
    assert len(values) == 2648
    for figure, part in zip(checks().checks["waists-of-a-survey"].figures, (LOW, HIGH), strict=True):
        assert stated(figure.theirs) == pytest.approx(percentile(values, part), abs=0.051), figure.what


def stated(bound: str) -> float:
    found = quantity(bound)
    return found.high if bound.startswith("at most") else found.low


def test_the_count_of_slender_waists_in_the_table_is_that_of_the_data() -> None:
    assert checks().checks["tenth-of-260-waists"].figures[0].theirs == str(sum(w.waist < 762.0 for w in women()))


def test_girths_grow_from_the_waist_up_and_down_on_real_women() -> None:
    # The waist is not always the least girth near it, but the hip is the largest below it on every one of them.
    for woman in women():
        assert list(woman.at) == list(STATIONS)
        assert woman.hip > woman.waist
        assert woman.hip * settings().mm("reduction-most") < woman.waist
