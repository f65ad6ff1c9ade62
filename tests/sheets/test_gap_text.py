"""The gap and the take-in in words; targets of 2 in, figures worked by hand."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from diagnose.gap.reading import GapReading, Readings, gap_of
from diagnose.gap.takein import suggest_take_in
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.sheets.words.gap_text import SHAPES, gap_lines
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.takein_words import take_in_lines, take_in_words
from diagnose.units import INCH_MM

IN = INCH_MM
TWO: Mapping[Station, float] = dict.fromkeys(STATIONS, 2 * IN)


def inches(**gap: float) -> dict[Station, float]:
    return {station: gap[station] * IN for station in STATIONS if station in gap}


def reading(settings: Settings, gap: dict[Station, float], **more: Any) -> GapReading:
    return gap_of(Readings(gap, **{"target": TWO, **more}), settings)


def take_in(found: GapReading, seams: int, settings: Settings) -> Iterator[str]:
    return plain_lines(take_in_lines(take_in_words(suggest_take_in(found, seams, settings), settings), settings))


def words(lines: Iterator[str]) -> str:
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize(
    ("top", "waist", "bottom", "shape"),
    [
        (1, 1, 1, "parallel"), (1, 2, 3, "widens-downward"), (3, 2, 1, "widens-upward"), (1, 2, 1, "widest-at-waist"),
        (2, 1, 2, "narrowest-at-waist"),
    ],
)  # fmt: skip
def test_the_shape_of_the_gap_is_said_in_a_sentence(
    top: float, waist: float, bottom: float, shape: str, settings: Settings
) -> None:
    told = words(plain_lines(gap_lines(reading(settings, inches(top=top, waist=waist, bottom=bottom)), None, settings)))
    assert [name for name, sentence in SHAPES.items() if sentence in told] == [shape]


def test_one_station_alone_has_no_shape(settings: Settings) -> None:
    told = words(plain_lines(gap_lines(reading(settings, inches(waist=1)), None, settings)))
    assert not any(sentence in told for sentence in SHAPES.values())


def test_the_change_of_the_station_that_wants_most_is_halved_and_shared_over_the_seams(settings: Settings) -> None:
    """The top wants 2 in: 1 in a half, 1/4 in on each of 4 seams, 1/8 in on each of their 8 lines."""
    found = reading(settings, inches(top=0.001, waist=2, bottom=1))
    known = words(plain_lines(gap_lines(found, 4, settings)))
    assert "At the top that is 1 in (25 mm) on each half, 1/4 in (6 mm) a seam over 4 seams," in known
    assert "1/8 in (3 mm) on each stitching line." in known
    for seams in (None, 0):
        assert "At the top that is 1 in (25 mm) on each half." in words(plain_lines(gap_lines(found, seams, settings)))


def test_within_the_dead_band_nothing_is_to_be_altered(settings: Settings) -> None:
    """A quarter of an inch is just outside."""
    within = words(plain_lines(gap_lines(reading(settings, inches(waist=2.2)), 4, settings)))
    assert "2 in (51 mm) right Nothing to alter: 1/4 in (6 mm) is lacing noise." in within
    assert "on each half" not in within
    outside = words(plain_lines(gap_lines(reading(settings, inches(waist=2.25)), 4, settings)))
    assert "let out 1/4 in (6 mm)" in outside
    assert "Nothing to alter" not in outside


def test_a_target_that_was_taken_is_told_for_each_part_only_where_the_parts_differ(settings: Settings) -> None:
    none_given: dict[str, Any] = {"target": {}}
    alike = words(plain_lines(gap_lines(reading(settings, inches(waist=1), **none_given), None, settings)))
    assert "No target was given; 2 in (51 mm) was taken. Give yours with --target." in alike
    wider = settings.with_value("target-wider-top", IN).with_value("target-wider-bottom", -0.5 * IN)
    apart = words(plain_lines(gap_lines(reading(wider, inches(waist=1), **none_given), None, wider)))
    assert "3 in (76 mm) at the top, 2 in (51 mm) at the waist, 1 1/2 in (38 mm) below was taken." in apart
    assert "No target" not in words(plain_lines(gap_lines(reading(settings, inches(waist=1)), None, settings)))


def test_a_closed_gap_asks_for_its_lap_and_says_at_least_until_it_is_known(settings: Settings) -> None:
    closed = words(plain_lines(gap_lines(reading(settings, inches(waist=0)), None, settings)))
    assert "waist closed 2 in (51 mm) take in at least 2 in (51 mm)" in closed
    assert "give it with --lap" in closed
    lapped = words(
        plain_lines(gap_lines(reading(settings, inches(waist=0), overlap=inches(waist=0.5)), None, settings))
    )
    assert "take in 2 1/2 in (63.5 mm)" in lapped
    assert "--lap" not in lapped


def test_a_closed_gap_near_a_small_target_is_right_or_more(settings: Settings) -> None:
    """1/8 in is aimed at, which is inside the dead-band, but the edges may as well be lapping."""
    told = words(plain_lines(gap_lines(reading(settings, inches(waist=0), target=inches(waist=0.125)), None, settings)))
    assert "right, or more" in told
    meets = words(
        plain_lines(gap_lines(reading(settings, inches(waist=0, top=0), target={}, meets=True), None, settings))
    )
    assert "The edges meet all the way." in meets
    assert "or more" not in meets


@pytest.mark.parametrize(("widest", "said"), [(4.0, False), (4.1, True)])
def test_a_gap_over_the_widest_is_told_to_let_a_ridge_stand_up(widest: float, said: bool, settings: Settings) -> None:
    told = words(plain_lines(gap_lines(reading(settings, inches(top=2, waist=widest)), None, settings)))
    assert ("A gap over 4 in (102 mm) lets the flesh stand up in a ridge." in told) is said


@pytest.mark.parametrize(
    ("gap", "seams", "title"),
    [
        (inches(top=1, waist=1), 4, "Take in at the lacing edges, straight"),
        (inches(top=3, waist=3), 4, "Let out at the lacing edges, straight"),
        (inches(top=1, waist=2, bottom=3), 4, "Take in above and let out below at the seams, tapered"),
        (inches(top=2, waist=2, bottom=3), 4, "Let out at the seams, tapered"),
        (inches(top=1, waist=2, bottom=2), 0, "Take in at a fold inside the back panel, tapered"),
        (inches(top=2, waist=2), 4, "Leave the back as it is"),
        (inches(top=5, waist=5), 4, "Start from another base size"),
    ],
)
def test_the_take_in_is_headed_by_what_is_done_and_where(
    gap: dict[Station, float], seams: int, title: str, settings: Settings
) -> None:
    found = reading(settings, gap)
    lines = list(take_in(found, seams, settings))
    assert lines[:2] == [title, ""]
    assert lines[lines.index("With ruler and pencil") + 1].startswith("  1. ")


def test_each_station_says_in_out_or_nothing_with_its_half_and_the_whole(settings: Settings) -> None:
    found = reading(settings, inches(top=1, waist=2, bottom=4))
    lines = [" ".join(line.split()) for line in take_in(found, 4, settings)]
    assert "top take in 1/2 in (13 mm) 1 in (25 mm)" in lines
    assert "waist nothing" in lines
    assert "bottom let out 1 in (25 mm) 2 in (51 mm)" in lines


def test_where_no_amount_is_given_the_reason_follows_the_title(settings: Settings) -> None:
    found = reading(settings, inches(waist=2))
    lines = list(take_in(found, 4, settings))
    assert lines[2].startswith("Every reading is within 1/4 in")


@pytest.mark.parametrize(("bottom", "said"), [(4.0, False), (4.5, True), (9.0, False)])
def test_more_than_one_round_takes_is_told_but_not_of_another_base_size(
    bottom: float, said: bool, settings: Settings
) -> None:
    found = reading(settings, inches(top=2, waist=2, bottom=bottom))
    told = words(take_in(found, 4, settings))
    assert ("More is wanted than one round should take (2 in (51 mm)). Do this, try on, then the rest." in told) is said


@pytest.mark.parametrize("seams", [0, 5])
@pytest.mark.parametrize("gap", [(0.5, 1, 2), (3, 3, 3), (1, 2, 3), (1.5, 1.5, 1.5), (6, 6, 6)])
def test_one_who_works_in_centimetres_reads_no_inches(
    gap: tuple[float, float, float], seams: int, settings: Settings
) -> None:
    own = settings.in_unit("cm")
    found = reading(own, inches(**dict(zip(("top", "waist", "bottom"), gap, strict=True))))
    told = words(plain_lines(gap_lines(found, seams, own)))
    told += words(take_in(found, seams, own))
    assert " cm" in told
    assert not re.search(r"\d in\b|\bmm\b", told)
