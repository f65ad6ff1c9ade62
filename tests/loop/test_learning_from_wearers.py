"""What a maker's own cases say of her: two makers whose wearers follow the advice, of one the cloth gives, of the other
nothing but noise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import loop_follow
import pytest
from loop_follow import follow
from loop_garments import STATIONS
from loop_tryon import Hand, answers, errors
from loop_wearers import INCH, Wearer, wearer

from diagnose.casework.own.experience import Experience, read_experience
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase

SEEDS = (23, 34, 64, 86, 105, 134, 143, 201, 213, 314, 364)
"""Wearers of stays all too big, of several seams a half."""
ROUNDS = 2
GIVEN = 0.6
"""What shows in the gap of a change drawn for the maker whose cloth gives."""


def as_often_as_the_base_says(base: RuleBase) -> Any:
    """Answers in which what is too big all over shows each of its signs as often as its word is worth."""
    shows = base.entries.words.shows
    chances = {
        sign.id: shows[link.shows]
        for sign in base.entries.symptoms.values()
        for link in sign.causes
        if link.cause == "too-big-all-over" and not (link.only_if or sign.when or sign.part)
    }

    def told(who: Wearer, pattern: Mapping[str, Any], chance: Random, hand: Hand | None) -> dict[str, Any]:
        line = answers(who, pattern, chance, hand)
        too_big = min(errors(who.body, pattern).girth.values()) > INCH / 2
        line["seen"] |= {sign: too_big and chance.random() < often for sign, often in chances.items()}
        return line

    return told


def maker(share: float, folder: Path, base: RuleBase, patch: pytest.MonkeyPatch) -> Experience:
    """Her cases after two rounds with each of her wearers, of whose changes that share shows."""
    patch.setattr(loop_follow, "answers", as_often_as_the_base_says(base))
    for seed in SEEDS:
        whose = wearer(seed)
        body = replace(whose.body, give=dict.fromkeys(STATIONS, share))
        assert follow(replace(whose, body=body), folder, most_rounds=ROUNDS).failed is None
    return read_experience(folder, base)


@pytest.fixture(scope="module")
def base() -> RuleBase:
    return load_rulebase()


def test_a_maker_whose_cloth_gives_is_told_by_how_much(
    tmp_path: Path, base: RuleBase, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = maker(GIVEN, tmp_path, base, monkeypatch)
    assert found.cases == len(SEEDS)
    assert [one for one in found.links if one.suggests] == []
    told = [one for one in found.amounts if one.times is not None]
    assert {one.alteration for one in told} >= {"take-in-evenly"}
    for one in told:
        assert one.low < GIVEN < one.high
        assert one.times == pytest.approx(1 / GIVEN, rel=0.15)
        assert one.cases >= 5


@pytest.mark.long
def test_noise_alone_tells_a_maker_nothing(tmp_path: Path, base: RuleBase, monkeypatch: pytest.MonkeyPatch) -> None:
    found = maker(1.0, tmp_path, base, monkeypatch)
    assert found.cases == len(SEEDS)
    assert [one for one in found.amounts if one.cases >= 5]
    assert [one for one in found.links if one.cases >= 5]
    assert not found.says_something
