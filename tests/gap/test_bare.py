"""Bare numbers, read without the model of the whole try-on, come to the same as with it."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import FitError
from diagnose.gap.bare import read_readings
from diagnose.gap.reading import Readings, readings_of
from diagnose.model.stations import STATIONS
from diagnose.model.tryon import Vocabulary, read_tryon
from diagnose.units import Unit

LENGTHS = ["0", "1 in", "2", "1 1/2 in", "-1 in", "38 mm", "2.5 cm", "", "wide", "1/0 in", "9" * 50]
stations = st.dictionaries(st.sampled_from([*STATIONS, "neck"]), st.sampled_from(LENGTHS), max_size=5)
garments = st.fixed_dictionaries(
    {}, optional={"seams_per_half": st.integers(0, 20), "meant_to_meet": st.just(True), "closure": st.just("back")}
)
tryons = st.fixed_dictionaries(
    {"id": st.just("readings"), "gap": stations, "garment": garments},
    optional={"target": stations, "overlap": stations},
)


def by_the_model(raw: Mapping[str, Any], unit: Unit) -> tuple[Readings, int | None]:
    tryon = read_tryon(raw, Vocabulary({}, frozenset()), unit)
    return readings_of(tryon), tryon.garment.seams_per_half


def outcome(read: Callable[[Mapping[str, Any], Unit], object], raw: dict[str, Any], unit: Unit) -> object:
    """What is read, or every sentence of what is refused."""
    try:
        return read(raw, unit)
    except FitError as refused:
        return refused.mistakes


@given(tryons, st.sampled_from(["in", "mm", "cm"]))
def test_readings_are_what_the_model_of_a_try_on_makes_of_them(raw: dict[str, Any], unit: Unit) -> None:
    assert outcome(read_readings, raw, unit) == outcome(by_the_model, raw, unit)


@pytest.mark.parametrize("more", [{"wearer": {"changes_by": "2 in"}}, {"tension": "hard"}, {"gap_front": {"top": "0"}}])
def test_what_is_more_than_bare_readings_is_read_in_full(more: dict[str, Any]) -> None:
    raw = {"id": "t", "gap": {"top": "1 in"}, "garment": {}, **more}
    assert read_readings(raw, "in") == by_the_model(raw, "in")


@pytest.mark.parametrize("meets", [True, False])
def test_whether_the_edges_are_meant_to_meet_is_read_from_the_garment(meets: bool) -> None:
    raw = {"id": "t", "gap": {"waist": "0"}, "garment": {"meant_to_meet": meets, "seams_per_half": 4}}
    readings, seams = read_readings(raw, "in")
    assert (readings.meets, seams) == (meets, 4)


def test_edges_that_lap_and_stand_apart_at_once_are_refused_as_by_the_model() -> None:
    raw = {
        "id": "t",
        "garment": {},
        "gap": {"waist": "1 in", "top": "0"},
        "overlap": {"waist": "1/2 in", "top": "1 in"},
    }
    refused = outcome(read_readings, raw, "in")
    assert refused == outcome(by_the_model, raw, "in")
    assert [mistake.where for mistake in refused] == ["overlap.waist"]  # type: ignore[attr-defined]
