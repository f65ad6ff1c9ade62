"""Every sign that is asked has its place on the body."""

from __future__ import annotations

from collections import Counter

from msgspec.structs import replace

from diagnose.interview.body_places import places_for
from diagnose.rulebase.base import RuleBase


def test_every_sign_that_is_asked_stands_in_exactly_one_place(base: RuleBase) -> None:
    asked = set(base.entries.symptoms) - base.derived - base.stop_flags
    counted = Counter(sign for place in places_for(base, {}) for sign in place.signs)
    assert set(counted) == asked
    assert set(counted.values()) == {1}


def test_bundled_signs_all_have_a_named_place(base: RuleBase) -> None:
    assert "elsewhere" not in [place.id for place in places_for(base, {})]


def test_sign_of_a_makers_own_comes_under_elsewhere(base: RuleBase) -> None:
    own = base.entries.symptoms["slides-down"].model_copy(update={"id": "my-own-sign"})
    entries = base.entries.model_copy(update={"symptoms": {**base.entries.symptoms, "my-own-sign": own}})
    assert places_for(replace(base, entries=entries), {})[-1].signs == ("my-own-sign",)


def test_place_the_garment_has_not_got_is_left_out(base: RuleBase) -> None:
    ids = {place.id for place in places_for(base, {"straps": "none"})}
    assert "straps" not in ids
    assert "straps" in {place.id for place in places_for(base, {"straps": "loose"})}
