"""The short form of the simulated wearers: a few of them followed, and the tools that follow them held to account."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from loop_follow import follow
from loop_garments import GARMENTS, STATIONS, pattern_named
from loop_measure import measured
from loop_tryon import Hand, errors
from loop_wearers import FAULTS, INCH, wearer

from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.measure import garment_girth

SHORT_FORM = range(3, 9)
FITTED = len(SHORT_FORM)
"""How many of the short form are wholly fitted within three rounds."""


@pytest.mark.parametrize("name", GARMENTS)
def test_girths_measured_apart_from_the_program_are_the_programs_own(name: str) -> None:
    pattern, own = read_pattern(pattern_named(name)), measured(pattern_named(name))
    for station in STATIONS:
        assert own.girth(station) == pytest.approx(garment_girth(pattern, station), abs=0.3)  # chords, cut edges


@pytest.mark.parametrize("seed", range(20))
def test_a_wearer_is_the_same_every_time_and_her_pattern_can_be_read(seed: int) -> None:
    one, again = wearer(seed), wearer(seed)
    assert one == again
    read_pattern(one.pattern)


def test_what_was_planted_is_what_is_wrong() -> None:
    wearers = [wearer(seed) for seed in range(60)]
    for who in wearers:
        found = errors(who.body, who.pattern)
        for fault in who.faults:
            if fault.kind == "all too big":
                assert all(e == pytest.approx(fault.size, rel=0.2) for e in found.girth.values())
            if fault.kind == "one hip fuller":
                other = "left" if fault.side == "right" else "right"
                assert found.halves[other]["bottom"] - found.halves[fault.side]["bottom"] == pytest.approx(fault.size)
    assert {fault.kind.split(" the ")[0] for who in wearers for fault in who.faults} == set(FAULTS)


def test_the_advice_followed_by_the_commands_alone_fits_the_wearers(tmp_path: Path) -> None:
    found = [follow(wearer(seed), tmp_path, most_rounds=3) for seed in SHORT_FORM]
    assert not [one.failed for one in found if one.failed]
    assert sum(one.wholly_in is not None for one in found) >= FITTED
    for one in found:
        for seen in one.rounds:
            assert (seen.refused, seen.worse) == (None, ())
            assert all(math.isfinite(e) and abs(e) < 12 * INCH for e in seen.after.parts.values())


def test_what_is_done_by_hand_counts_as_done_on_the_body_and_not_on_the_paper() -> None:
    who = wearer(4)
    hand = Hand()
    hand.wider("waist", "both", INCH)
    hand.wider("hip", "left", -INCH / 2)
    before, after = errors(who.body, who.pattern), errors(who.body, who.pattern, hand)
    assert after.girth["waist"] - before.girth["waist"] == pytest.approx(INCH)
    assert after.halves["left"]["hip"] - before.halves["left"]["hip"] == pytest.approx(-INCH / 2)
    assert after.halves["right"]["hip"] == before.halves["right"]["hip"]
    assert after.girth["top"] == before.girth["top"]


def test_a_step_for_the_hand_is_done_by_hand_and_told(tmp_path: Path) -> None:
    followed = follow(wearer(3), tmp_path, by_hand=True)
    assert followed.failed is None
    assert followed.wholly_in is not None
    assert all(not one.astray for one in followed.rounds)
