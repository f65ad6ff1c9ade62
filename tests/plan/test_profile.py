"""How a change of girth runs from station to station, worked by hand."""

from __future__ import annotations

import pytest
from drawing_bench import IN, alteration

from diagnose.model.settings import Settings
from diagnose.plan.profile import profile_of
from diagnose.rulebase.schema import AlterationChoice

EACH = AlterationChoice.model_construct(alteration="invented", stations=("each",))
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
