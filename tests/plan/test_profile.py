"""How a change of girth runs from station to station, worked by hand."""

from __future__ import annotations

import pytest
from drawing_bench import IN, alteration

from diagnose.model.settings import Settings
from diagnose.plan.profiles import profile_of, run_between, station_heights
from diagnose.rulebase.reading.entries import AlterationChoice

EACH = AlterationChoice.model_construct(alteration="invented", stations=("each",))
NO_STATIONS = alteration({"do": "lacing-edge"})
NIP = {"underbust": "nothing", "waist": "full", "hip": "nothing"}


def test_each_station_keeps_its_own_change_where_the_move_is_full_and_has_none_where_it_is_nothing(
    settings: Settings,
) -> None:
    changes = {"top": IN, "waist": 2 * IN, "bottom": -IN}
    made = profile_of(IN, changes, alteration({"do": "seams", "which": "all", "by": NIP}), EACH, settings)  # type: ignore[arg-type]
    assert made == pytest.approx({"top": 0.0, "underbust": 0.0, "waist": 2 * IN, "hip": 0.0, "bottom": 0.0})


def test_a_station_that_was_not_read_has_what_lies_between_its_neighbours(settings: Settings) -> None:
    by = {"top": "full", "waist": "full", "bottom": "full"}
    moved = alteration({"do": "seams", "which": "all", "by": by})
    made = profile_of(IN, {"top": IN, "bottom": IN}, moved, EACH, settings)
    assert made == pytest.approx(dict.fromkeys(("top", "underbust", "waist", "hip", "bottom"), IN))


def test_where_the_alteration_names_no_stations_each_keeps_its_own(settings: Settings) -> None:
    made = profile_of(IN, {"top": IN, "waist": 0.0}, alteration({"do": "lacing-edge"}), EACH, settings)
    assert (made["top"], made["waist"], made["bottom"]) == pytest.approx((IN, 0.0, 0.0))


def test_between_two_heights_it_runs_evenly_and_beyond_the_last_it_stays() -> None:
    heights = {"top": 8 * IN, "underbust": 4 * IN, "waist": 0.0, "hip": -3 * IN, "bottom": -5 * IN}
    made = run_between({"top": 2 * IN, "waist": IN}, heights)
    # By hand: the underbust lies midway, so midway between 2 in and 1 in; below the waist it stays 1 in.
    assert made == pytest.approx({"top": 2 * IN, "underbust": 1.5 * IN, "waist": IN, "hip": IN, "bottom": IN})
    made = run_between({"waist": 0.0, "bottom": -IN}, heights)
    assert (made["top"], made["hip"]) == pytest.approx((0.0, -0.6 * IN))
    assert run_between({"hip": IN}, heights) == pytest.approx(dict.fromkeys(heights, IN))
    assert run_between({}, heights) == dict.fromkeys(heights, 0.0)


def test_heights_are_over_the_waist_and_below_it_less_than_nothing(settings: Settings) -> None:
    heights = station_heights(settings)
    assert list(heights) == ["top", "underbust", "waist", "hip", "bottom"]
    assert list(heights.values()) == sorted(heights.values(), reverse=True)
    assert heights["waist"] == 0.0
    assert (heights["top"], heights["hip"]) == (settings.mm("height-top"), -settings.mm("height-hip"))
    assert (heights["underbust"], heights["bottom"]) == (settings.mm("height-underbust"), -settings.mm("height-bottom"))


def test_a_change_within_the_dead_band_counts_as_none_and_one_at_it_counts(settings: Settings) -> None:
    dead = settings.mm("dead-band")
    made = profile_of(IN, {"top": dead - 0.1, "waist": dead, "bottom": -dead}, NO_STATIONS, EACH, settings)
    assert (made["top"], made["waist"], made["bottom"]) == pytest.approx((0.0, dead, -dead))


def test_all_stations_take_the_same_whatever_each_of_them_wants(settings: Settings) -> None:
    everywhere = AlterationChoice.model_construct(alteration="invented", stations=("all",))
    made = profile_of(IN, {"top": 3 * IN}, alteration({"do": "seams", "which": "all", "by": NIP}), everywhere, settings)
    assert made == dict.fromkeys(("top", "underbust", "waist", "hip", "bottom"), IN)
    named = AlterationChoice.model_construct(alteration="invented", stations=("waist",))
    assert profile_of(IN, {}, NO_STATIONS, named, settings) == made


def test_the_stations_of_the_choice_are_full_and_the_others_that_the_alteration_names_have_nothing(
    settings: Settings,
) -> None:
    by = {"top": "full", "waist": "full", "bottom": "full"}
    hip_alone = AlterationChoice.model_construct(alteration="invented", stations=("bottom",))
    made = profile_of(IN, {}, alteration({"do": "seams", "which": "all", "by": by}), hip_alone, settings)
    # The high hip lies 3 of 5 in down from the waist.
    assert made == pytest.approx({"top": 0.0, "underbust": 0.0, "waist": 0.0, "hip": 0.6 * IN, "bottom": IN})
    unnamed = AlterationChoice.model_construct(alteration="invented", stations=())
    full = profile_of(IN, {}, alteration({"do": "edge"}, {"do": "seams", "which": "all", "by": NIP}), unnamed, settings)
    assert full == pytest.approx({"top": 0.0, "underbust": 0.0, "waist": IN, "hip": 0.0, "bottom": 0.0})
