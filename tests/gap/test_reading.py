"""The gap: stations, shape, change wanted, censoring. Figures worked by hand."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.gap.reading import GapReading, gap_facts, read_gap, shape_of
from diagnose.model.settings import Settings
from diagnose.model.tryon import STATIONS, Vocabulary, read_tryon

IN = 25.4


def reading_of(settings: Settings, **raw: Any) -> GapReading:
    return read_gap(read_tryon({"id": "t", **raw}, Vocabulary({}, frozenset())), settings)


def test_the_change_wanted_is_target_less_gap(settings: Settings) -> None:
    reading = reading_of(settings, gap={"top": "1 in", "waist": "2 in", "bottom": "3 in"}, target="2 in")
    assert [s.change_mm for s in reading.stations.values()] == pytest.approx([IN, 0, -IN])
    assert reading.shape == "widens-downward"


def test_a_closed_gap_says_at_least(settings: Settings) -> None:
    top = reading_of(settings, gap={"top": 0}, target="2 in").stations["top"]
    assert (top.closed, top.at_least, top.change_mm) == (True, True, pytest.approx(2 * IN))


def test_a_known_lap_makes_a_closed_gap_exact(settings: Settings) -> None:
    raw = {"gap": {"top": "0"}, "overlap": {"top": "1/2 in"}, "target": "2 in"}
    top = reading_of(settings, **raw).stations["top"]
    assert (top.closed, top.at_least, top.change_mm) == (True, False, pytest.approx(2.5 * IN))


def test_edges_meant_to_meet_have_target_nothing_and_a_closed_gap_is_right(settings: Settings) -> None:
    reading = reading_of(settings, gap={"top": 0, "waist": 0}, garment={"meant_to_meet": True})
    assert reading.changes == [0, 0]
    assert not reading.at_least
    assert reading.settled(6.35)


def test_without_a_target_the_usual_one_is_taken_and_said_to_be(settings: Settings) -> None:
    reading = reading_of(settings, gap={"waist": "2 in"})
    assert reading.presumed_target
    assert reading.changes == [0]


def test_a_target_for_some_stations_serves_the_others_by_its_mean(settings: Settings) -> None:
    reading = reading_of(settings, gap={"top": 0, "underbust": 0, "waist": 0}, target={"top": "3 in", "waist": "2 in"})
    assert reading.stations["underbust"].target_mm == pytest.approx(2.5 * IN)


def test_the_published_3_2_3_spacing_read_against_itself_is_parallel(settings: Settings) -> None:
    # Instructions in Spirella Corsetry, training manual, 1910s, ch. 13: back-lace spacing bust 3, waist 2, hip 3 in.
    # A reader who expects a parallel gap would call it narrowest at the waist.
    raw: dict[str, Any] = {"gap": {"top": "3 in", "waist": "2 in", "bottom": "3 in"}}
    assert reading_of(settings, target={"top": "3 in", "waist": "2 in", "bottom": "3 in"}, **raw).shape == "parallel"
    assert reading_of(settings, target="2 in", **raw).shape == "narrowest-at-waist"


@pytest.mark.parametrize(
    ("excess", "shape"),
    [
        ((0, 0, 0), "parallel"), ((0, 6, 12), "parallel"), ((0, 6, 12.7), "widens-downward"),
        ((30, 10, 0), "widens-upward"), ((0, 20, 5), "widest-at-waist"), ((20, 0, 20), "narrowest-at-waist"),
        ((0, 30, 20), "widens-downward"),
    ],
)  # fmt: skip
def test_the_shape_is_named_by_what_stands_out_most(excess: tuple[float, ...], shape: str) -> None:
    assert shape_of(dict(zip(("top", "waist", "bottom"), excess, strict=True)), 12.7) == shape


def test_one_reading_has_no_shape() -> None:
    assert shape_of({"waist": 3.0}, 12.7) is None


@given(st.dictionaries(st.sampled_from(STATIONS), st.floats(0, 300), min_size=1), st.floats(0, 100))
def test_the_facts_agree_with_the_readings(gaps: dict[str, float], target: float) -> None:
    from diagnose.places import bundled_rules
    from diagnose.rulebase.settings import read_settings

    reading = reading_of(read_settings(bundled_rules()), gap=gaps, target=target)
    facts = gap_facts(reading)
    for name, gap in gaps.items():
        assert facts[f"change-{name}"] == pytest.approx(target - gap, abs=0.002)
    assert facts["gap-average"] == pytest.approx(-facts["change-mean"])
    assert abs(facts["change-most"]) == pytest.approx(max(abs(target - gap) for gap in gaps.values()), abs=0.002)
    if len(gaps) > 1:
        assert facts["gap-spread"] == pytest.approx(max(gaps.values()) - min(gaps.values()), abs=0.002)
