"""Options that several commands share: what they come to, and what is said of those that come to nothing."""

from __future__ import annotations

import json
from typing import Any

import pytest

from diagnose.cli.options import json_argument, named, raw_readings, settings_with, targets_of, unit_of
from diagnose.cli.running import run
from diagnose.errors import FitError
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS

Said = pytest.CaptureFixture[str]


def gap_of(capsys: Said, *options: str) -> dict[str, Any]:
    """The stations of `diagnose gap` with these options."""
    assert run(["gap", *options, "--json"]) == 0
    return dict(json.loads(capsys.readouterr().out)["gap"])


@pytest.mark.parametrize(("unit", "mm"), [([], 50.8), (["--unit", "cm"], 20.0), (["--unit", "mm"], 2.0)])
def test_a_bare_number_is_of_the_unit_told_and_of_inches_otherwise(unit: list[str], mm: float, capsys: Said) -> None:
    assert gap_of(capsys, "--waist", "2", *unit)["stations"]["waist"]["gap_mm"] == pytest.approx(mm)


@pytest.mark.parametrize(
    ("options", "targets"),
    [
        (["--target", "2 in"], {"top": 50.8, "waist": 50.8}),
        (["--target", "1 in", "--target", "2 in"], {"top": 50.8, "waist": 50.8}),
        (["--target", "waist=1 in", "--target", "2 in"], {"top": 50.8, "waist": 25.4}),
        (["--target", " waist = 1 in", "--target", "top=3 in"], {"top": 76.2, "waist": 25.4}),
        (["--meets"], {"top": 0.0, "waist": 0.0}),
    ],
)
def test_a_target_is_for_all_stations_unless_it_names_one(
    options: list[str], targets: dict[str, float], capsys: Said
) -> None:
    stations = gap_of(capsys, "--top", "1 in", "--waist", "1 in", *options)["stations"]
    assert {name: row["target_mm"] for name, row in stations.items()} == pytest.approx(targets)


def test_of_targets_named_alone_no_other_station_gets_one() -> None:
    assert targets_of(["waist=1 in"]) == {"waist": "1 in"}
    assert targets_of(["2 in"]) == dict.fromkeys(STATIONS, "2 in")


def test_a_lap_makes_a_closed_gap_a_figure(capsys: Said) -> None:
    """2 in are aimed at and the edges would lap by 1/2 in: 2 1/2 in are to be taken in."""
    closed = gap_of(capsys, "--waist", "0", "--target", "2 in")["stations"]["waist"]
    lapped = gap_of(capsys, "--waist", "0", "--target", "2 in", "--lap", "waist=1/2 in")["stations"]["waist"]
    assert (closed["at_least"], closed["change_mm"]) == (True, pytest.approx(50.8))
    assert (lapped["at_least"], lapped["change_mm"]) == (False, pytest.approx(63.5))


def test_seams_share_the_change_and_none_told_is_not_no_seam(capsys: Said) -> None:
    """1 in to take in: 12.7 mm a half, on 4 seams 3.175 mm each, 1.5875 mm a line."""
    share = gap_of(capsys, "--waist", "1 in", "--target", "2 in", "--seams", "4")["stations"]["waist"]["change"]
    assert (share["per_half"], share["per_seam"], share["per_edge"]) == pytest.approx((12.7, 3.175, 1.5875), abs=0.01)
    bare: dict[str, Any] = {"gaps": {}, "targets": None, "laps": None, "meets": False}
    assert raw_readings(**bare, seams=0)["garment"] == {"seams_per_half": 0}
    assert raw_readings(**bare, seams=None) == {"id": "readings", "gap": {}, "garment": {}}


def test_a_setting_is_changed_for_this_once_be_it_a_length_or_a_count(settings: Settings) -> None:
    changed = settings_with(settings, ["dead-band=1/8 in", "dead-band=1/2 in", "seams-usual=5"])
    assert (changed.mm("dead-band"), changed.mm("seams-usual")) == pytest.approx((12.7, 5.0))
    assert settings_with(settings, None) is settings
    assert settings_with(settings.in_unit("cm"), ["dead-band=1"]).mm("dead-band") == pytest.approx(10.0)


def test_every_setting_that_cannot_be_changed_is_told_at_once(settings: Settings) -> None:
    wrong = ["dead-band", "dead-bend=1 in", "seams-usual=five", "dead-band=wide", "seams-usual=nan", "target-gap=1 in"]
    with pytest.raises(FitError) as refused:
        settings_with(settings, wrong)
    assert [(mistake.where, mistake.what) for mistake in refused.value.mistakes] == [
        ("--set", "“dead-band” gives no value."),
        ("settings", "There is no setting 'dead-bend'."),
        ("--set seams-usual", "“five” is not a number."),
        ("--set dead-band", "“wide” is not a length."),
        ("--set seams-usual", "“nan” is not a number."),
    ]
    assert refused.value.mistakes[1].do.startswith("Did you mean dead-band")


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (["gap", "--waist", "1", "--unit", "ft"], "--unit: “ft” is not a unit. Give in, mm or cm."),
        (["gap", "--waist", "0", "--lap", "1 in"], "--lap: “1 in” names nothing. Write it like --lap 'NAME=VALUE'."),
        (["gap", "--waist", "1", "--set", "dead-band"], "--set: “dead-band” gives no value."),
        (["gap", "--waist", "1", "--set", "no-such=1in"], "settings: There is no setting 'no-such'."),
        (["gap", "--waist", "wide"], "gap.waist: “wide” is not a length."),
    ],
)
def test_an_option_that_comes_to_nothing_is_refused_with_how_to_write_it(
    line: list[str], told: str, capsys: Said
) -> None:
    assert run(line) == 2
    said = capsys.readouterr()
    assert said.err.startswith(told)
    assert said.out == ""


def test_a_name_and_its_value_may_stand_apart_and_the_value_may_hold_an_equals_sign() -> None:
    assert named(" 1.1 = no time = no money ", "--skipped") == ("1.1", "no time = no money")


@pytest.mark.parametrize(("told", "unit"), [(None, "cm"), ("", "cm"), ("mm", "mm")])
def test_a_unit_not_told_is_the_usual_one(told: str | None, unit: str) -> None:
    assert unit_of(told, "cm") == unit


def test_json_text_is_taken_as_it_stands_even_with_blanks_before_it() -> None:
    assert json_argument(' \n[{"op": "fold"}]', "--do") == [{"op": "fold"}]
