"""What the tests of drawing share: straight panels whose measures are known by hand, and alterations wanted of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from diagnose.model.diagnosis import Amount, CauseFound, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.outline import Edge, Pattern, Point
from diagnose.places import bundled_rules
from diagnose.plan.drawing import Drawn
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice, MoveLine
from diagnose.rulebase.reading.settings_file import read_settings

IN = 25.4
FULL = dict.fromkeys(STATIONS, "full")
USUAL = read_settings(bundled_rules())


def alteration(*does: Mapping[str, Any], kind: str = "girth", direction: str = "either") -> Alteration:
    """An invented alteration that does these things."""
    return Alteration.model_construct(
        id="invented", group="girth", title="Invented", kind=kind, direction=direction, family="girth", step="waist",
        smallest=None, does=tuple(MoveLine.model_validate(move) for move in does), by_hand=(), improves=(), worsens=(),
        expect="", because="", source="judgement", examples=(),
    )  # fmt: skip


def girth(altered: Alteration, profile: Mapping[Station, float], side: Side = "both") -> Wanted:
    """A change of the whole girth, mm by station (nothing at those not named); take in positive."""
    whole = {station: profile.get(station, 0.0) for station in STATIONS}
    most = max(whole.values(), key=abs)
    amount = Amount(most, most if side != "both" else most / 2, by_station_mm=whole)
    return _wanted(altered, amount, whole, side)


def length(altered: Alteration, length_mm: float, side: Side = "both") -> Wanted:
    """A change of length, mm."""
    return _wanted(altered, Amount(length_mm=length_mm), dict.fromkeys(STATIONS, 0.0), side)


def _wanted(altered: Alteration, amount: Amount, profile: dict[Station, float], side: Side) -> Wanted:
    choice = AlterationChoice.model_construct(
        alteration=altered.id, only_if=(), stations=("each",), at="", because="", beyond=""
    )
    return Wanted(altered, choice, CauseFound("invented", 0.9, side, (), ()), side, amount, profile, False)


def over_all_seams(settings: Settings) -> Settings:
    """The settings of a maker who shares every change over all seams."""
    return settings.with_value("least-on-a-line", 0.0)


def told(drawn: Drawn) -> tuple[dict[str, Any], ...]:
    """What was done, as it is stored."""
    return tuple(operation.to_json() for operation in drawn.operations)


def edge_points(edge: Edge) -> list[Point]:
    """The edge as chords that stray 0.01 mm from it at most."""
    return [point for segment in edge.segments for point in flatten(segment, 0.01)]


def panels(*widths_mm: float, top_mm: float = 8 * IN, bottom_mm: float = -6 * IN, apart_mm: float = 30.0) -> Pattern:
    """Upright oblongs sewn one to the next, from a front opening to a lacing edge, each with all five levels."""
    pieces, x = [], 0.0
    for index, width in enumerate(widths_mm):
        front = "opening" if index == 0 else "seam"
        back = "lacing" if index == len(widths_mm) - 1 else "seam"
        pieces.append(_oblong(f"panel-{index + 1}", x, x + width, (bottom_mm, top_mm), (front, back)))
        x += width + apart_mm
    names = [piece["name"] for piece in pieces]
    seams = [
        {"name": f"seam-{number}", "a": [a, "back"], "b": [b, "front"], "ease": 0}
        for number, (a, b) in enumerate(pairwise(names), 1)
    ]
    form = {"format": "stays-pattern", "version": 1, "name": "straight panels", "closure": "back"}
    return read_pattern({**form, "pieces": pieces, "seams": seams})


def _oblong(name: str, left: float, right: float, heights: Sequence[float], roles: Sequence[str]) -> dict[str, Any]:
    low, high = heights
    at = {"top": high - 5.0, "underbust": high / 2, "waist": 0.0, "hip": low / 2, "bottom": low + 5.0}
    return {
        "name": name, "cut": "pair", "side": "both", "start": [left, low],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", right, low]]},
            {"name": "back", "role": roles[1], "path": [["L", right, high]]},
            {"name": "top-edge", "role": "top", "path": [["L", left, high]]},
            {"name": "front", "role": roles[0], "path": [["L", left, low]]},
        ],
        "levels": {station: [[left, y], [right, y]] for station, y in at.items()},
    }  # fmt: skip
