"""The back take-in on bare numbers."""

from typing import Any

import pytest

from diagnose.gap.reading import read_gap
from diagnose.gap.takein import suggest_take_in
from diagnose.model.settings import Settings
from diagnose.model.tryon_reading import Vocabulary, read_tryon
from diagnose.sheets.words.takein_words import TakeInInWords, take_in_words

IN = 25.4


def take_in(settings: Settings, seams: int | None, **raw: Any) -> TakeInInWords:
    tryon = read_tryon({"id": "t", **raw}, Vocabulary({}, frozenset()))
    return take_in_words(suggest_take_in(read_gap(tryon, settings), seams, settings), settings)


def test_a_gap_inside_the_dead_band_is_left_alone(settings: Settings) -> None:
    found = take_in(settings, 4, gap={"top": "1 7/8 in", "waist": "2 1/8 in"}, target="2 in")
    assert (found.place, found.shares) == ("nowhere", {})


def test_a_small_parallel_surplus_comes_off_the_lacing_edges(settings: Settings) -> None:
    found = take_in(settings, 4, gap={"top": "1 in", "waist": "1 in", "bottom": "1 in"}, target="2 in")
    assert (found.place, found.form) == ("lacing edges", "straight")
    assert found.shares["waist"].per_half_mm == pytest.approx(IN / 2)


def test_a_larger_one_goes_to_the_seams(settings: Settings) -> None:
    found = take_in(settings, 4, gap={"top": 0, "waist": 0, "bottom": 0}, target="2 in")
    assert (found.place, found.at_least) == ("seams", True)
    assert found.shares["top"].per_edge_mm == pytest.approx(IN / 8)


def test_where_no_seam_runs_it_is_a_fold_and_a_shaped_one_tapers(settings: Settings) -> None:
    gap = {"top": "1 1/4 in", "waist": "1 1/2 in", "bottom": "2 3/4 in"}
    found = take_in(settings, 0, gap=gap, target="3 in")
    assert (found.place, found.form) == ("a fold inside the back panel", "tapered")
    assert [round(s.per_half_mm / IN * 8) for s in found.shares.values()] == [7, 6, 1]


def test_past_three_inches_another_base_size_is_the_better_start(settings: Settings) -> None:
    found = take_in(
        settings, 4, gap={"top": 0, "waist": 0}, overlap={"top": "1 1/2 in", "waist": "1 in"}, target="2 in"
    )
    assert found.place == "another base size"


def test_more_than_a_round_may_take_is_capped(settings: Settings) -> None:
    found = take_in(
        settings, 4, gap={"top": "0", "waist": "0"}, overlap={"top": "3/4 in", "waist": "3/4 in"}, target="2 in"
    )
    assert found.capped
    assert found.shares["top"].whole_mm == pytest.approx(2 * IN)


def test_every_step_is_something_to_do(settings: Settings) -> None:
    for seams in (None, 0, 3):
        for gap in ({"top": 0, "waist": 0}, {"top": "1 in", "waist": "2 in", "bottom": "3 in"}):
            steps = take_in(settings, seams, gap=gap, target="2 in").steps
            assert len(steps) >= 3
            assert all(step.endswith(".") and len(step) < 200 for step in steps)
