"""Simulated wearers: a pattern recut to fit a real woman as nearly as its cut allows, then spoilt by known faults.

Girths are those of the 260 women of Heinz, Peterson, Johnson, Kerr, "Exploring Relationships in Body Dimensions",
J. Statistics Education 11(2), 2003, taken from the package that carries them. Faults, gives and slips are invented,
drawn from a seed. Millimetres.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

from loop_garments import GARMENTS, HEIGHTS, STATIONS, pattern_named
from loop_measure import SIDES, Measures, Side, measured

sys.path.append(str(Path(__file__).parents[1] / "outside"))
from real_bodies import women

__all__ = ["FAULTS", "INCH", "Body", "Fault", "Wearer", "wearer"]

INCH = 25.4
TARGET_MM = 2 * INCH
Data = dict[str, Any]


@dataclass(frozen=True)
class Fault:
    """A fault planted: its kind, its size in mm, and where it lies."""

    kind: str
    size: float
    side: Side | None = None


@dataclass(frozen=True)
class Body:
    """What this body asks of a pattern, one side at a time, and how much of a change of girth shows in her gap."""

    fit: Measures
    give: Mapping[str, float]
    target: Mapping[str, float]


@dataclass(frozen=True)
class Wearer:
    """One simulated wearer: her body, the pattern she is tried on in, and what was planted."""

    seed: int
    garment: str
    body: Body
    pattern: Data
    faults: tuple[Fault, ...]
    chance: Random = field(repr=False, hash=False, compare=False, default_factory=Random)


def wearer(seed: int, garments: Sequence[str] = tuple(GARMENTS), most_faults: int = 2) -> Wearer:
    """The wearer of a seed: the same every time."""
    chance = Random(seed)
    garment = garments[seed % len(garments)]
    fitted = _recut(pattern_named(garment), chance)
    target = dict.fromkeys(STATIONS, TARGET_MM)
    give = dict.fromkeys(STATIONS, chance.uniform(0.85, 1.0))
    kinds = [kind for kind in FAULTS if kind not in _NOT_ON.get(garment, ())]
    chosen = chance.sample(kinds, chance.randint(1, most_faults))
    spoilt, fit, faults = fitted, measured(fitted), []
    for kind in _compatible(chosen):
        spoilt, fit, fault = FAULTS[kind](spoilt, fit, chance)
        faults.append(fault)
    return Wearer(seed, garment, Body(fit, give, target), spoilt, tuple(faults), chance)


def _compatible(kinds: Sequence[str]) -> list[str]:
    """The kinds without those that are the same place spoilt twice."""
    kept: list[str] = []
    for kind in kinds:
        place = _PLACE[kind]
        if all(_PLACE[other] != place for other in kept):
            kept.append(kind)
    return kept


def _recut(data: Data, chance: Random) -> Data:
    """The pattern scaled across, level by level, towards a woman's girths less the target gap."""
    woman = chance.choice(women())
    before = measured(data)
    wanted = {"top": woman.chest, "waist": woman.waist * 0.94, "bottom": woman.hip * 0.97}
    parts = {s: min(1.25, max(0.85, (girth - TARGET_MM) / before.girth(s))) for s, girth in wanted.items()}
    middle = sorted(parts.values())[1]
    parts = {s: min(middle * 1.08, max(middle * 0.92, part)) for s, part in parts.items()}
    parts["underbust"] = (parts["top"] + parts["waist"]) / 2
    parts["hip"] = parts["waist"] + (parts["bottom"] - parts["waist"]) * 0.8
    return _widened(data, {s: (parts[s] - 1) * before.girth(s) / 2 for s in STATIONS})


def _widened(data: Data, by: Mapping[str, float]) -> Data:
    """The half widened at each station by so much, the same on every stitching line of its seams; steel stays."""
    made = deepcopy(data)
    places = sorted((HEIGHTS[station], by[station]) for station in STATIONS)
    panels = [piece for piece in made["pieces"] if "waist" in piece["levels"]]  # a gore keeps its own form
    for piece in panels:
        if len(panels) == 1:
            _lacing_moved(piece, by)
            continue
        low, high = piece["levels"]["waist"][0][0], piece["levels"]["waist"][-1][0]
        before, behind = piece is not panels[0], piece is not panels[-1]

        def move(x: float, y: float, ends: Any = (low, high, before, behind)) -> tuple[float, float]:
            low, high, before, behind = ends
            part = min(1.0, max(0.0, (x - low) / (high - low)))
            line = _between(places, y) / (2 * (len(panels) - 1))
            return x + line * ((before + behind) * part - before), y

        _moved(piece, move)
    return made


def _lacing_moved(piece: Data, by: Mapping[str, float]) -> None:
    """One piece a half: all is moved with its lacing edge, which stays straight between what top and bottom take."""
    start, end = _lacing(piece)
    slope = (by["top"] - by["bottom"]) / (HEIGHTS["top"] - HEIGHTS["bottom"])

    def move(x: float, y: float) -> tuple[float, float]:
        edge = start[0] + (end[0] - start[0]) * (y - start[1]) / (end[1] - start[1])
        return x + x / edge * (by["bottom"] + slope * (y - HEIGHTS["bottom"])), y

    _moved(piece, move)


def _lacing(piece: Data) -> tuple[Sequence[float], Sequence[float]]:
    at = piece["start"]
    for edge in piece["edges"]:
        end = edge["path"][-1][-2:]
        if edge["role"] == "lacing":
            return at, end
        at = end
    raise AssertionError("one piece a half has a lacing edge")


def _levels_to_edge(piece: Data) -> None:
    """The levels of a one-piece half drawn on to its straight lacing edge, or back to it."""
    (x0, y0), (x1, y1) = _lacing(piece)
    for line in piece["levels"].values():
        (ax, ay), (bx, by) = line[-2], line[-1]
        across = (x1 - x0) * (by - ay) - (y1 - y0) * (bx - ax)
        part = ((x1 - x0) * (y0 - ay) - (y1 - y0) * (x0 - ax)) / across
        line[-1] = [ax + part * (bx - ax), ay + part * (by - ay)]


def _between(places: Sequence[tuple[float, float]], y: float) -> float:
    """A monotone smooth course through places sorted by height, level beyond the ends."""
    if y <= places[0][0]:
        return places[0][1]
    for (y0, v0), (y1, v1) in pairwise(places):
        if y <= y1:
            t = (y - y0) / (y1 - y0)
            return v0 + (v1 - v0) * t * t * (3 - 2 * t)
    return places[-1][1]


def _moved(piece: Data, move: Callable[[float, float], tuple[float, float]]) -> None:
    """All points of a piece moved, control points with them."""
    piece["start"] = list(move(*piece["start"]))
    for edge in piece["edges"]:
        edge["path"] = [[step[0], *_pairs(step[1:], move)] for step in edge["path"]]
    piece["levels"] = {name: [list(move(*point)) for point in line] for name, line in piece["levels"].items()}
    piece["landmarks"] = {name: list(move(*point)) for name, point in piece.get("landmarks", {}).items()}
    for mark in (*piece.get("channels", ()), *piece.get("slits", ())):
        mark["line"] = [list(move(*point)) for point in mark["line"]]
    if piece.get("grain"):
        piece["grain"] = [list(move(*point)) for point in piece["grain"]]


def _pairs(numbers: Sequence[float], move: Callable[[float, float], tuple[float, float]]) -> list[float]:
    return [value for x, y in zip(numbers[::2], numbers[1::2], strict=True) for value in move(x, y)]


def _girth(shape: Mapping[str, float]) -> Callable[[Data, Measures, Random], tuple[Data, Measures, Fault]]:
    """Girth too big (above 0) or too small by a share of the size at each station."""

    def plant(data: Data, fit: Measures, chance: Random) -> tuple[Data, Measures, Fault]:
        size = round(chance.uniform(0.75, 2.0) * 8) / 8 * INCH
        made = _widened(data, {s: size * shape.get(s, 0.0) / 2 for s in STATIONS})
        return made, fit, Fault(_name(shape), size)

    return plant


def _name(shape: Mapping[str, float]) -> str:
    return next(kind for kind, own in _SHAPES.items() if own is shape)


def _stretched(data: Data, above: float, below: float) -> Data:
    """The pattern longer (or shorter) above and below its waist, every piece from its own waist."""
    made = deepcopy(data)
    now = measured(data)
    whole_above, whole_below = now.underarm["left"], now.front_depth["left"]
    for piece in made["pieces"]:
        if "waist" not in piece["levels"]:
            continue
        line = piece["levels"]["waist"]

        def move(x: float, y: float, line: Any = line) -> tuple[float, float]:
            waist = _on(line, x)
            over = y - waist
            return x, y + (above * over / whole_above if over > 0 else below * over / whole_below)

        _moved(piece, move)
        if len(data["pieces"]) == 1:
            _levels_to_edge(piece)
    return made


def _on(line: Sequence[Sequence[float]], x: float) -> float:
    return _between([(px, py) for px, py in line], x) if len(line) > 2 else _straight(line, x)


def _straight(line: Sequence[Sequence[float]], x: float) -> float:
    (x0, y0), (x1, y1) = line[0], line[-1]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def _length(where: str, sign: float) -> Callable[[Data, Measures, Random], tuple[Data, Measures, Fault]]:
    def plant(data: Data, fit: Measures, chance: Random) -> tuple[Data, Measures, Fault]:
        size = round(chance.uniform(0.5, 1.0) * 16) / 16 * INCH
        if where == "below":
            size += INCH / 2 if sign > 0 else 0.0
        made = _stretched(data, sign * size if where == "above" else 0.0, sign * size if where == "below" else 0.0)
        name = f"too {'long' if sign > 0 else 'short'} {where} the waist"
        return made, fit, Fault(name, size)

    return plant


def _underarm(data: Data, fit: Measures, chance: Random) -> tuple[Data, Measures, Fault]:
    """The arm sits lower on one side than the edge allows."""
    size = round(chance.uniform(0.375, 0.5) * 16) / 16 * INCH
    side = chance.choice(SIDES)
    low = {**fit.underarm, side: fit.underarm[side] - size}
    return data, _replaced(fit, underarm=low), Fault("underarm too high", size, side)


def _front_low(data: Data, fit: Measures, chance: Random) -> tuple[Data, Measures, Fault]:
    """The bust comes higher than the front edge covers."""
    size = round(chance.uniform(0.375, 0.75) * 16) / 16 * INCH
    return (
        data,
        _replaced(fit, front_top={s: h + size for s, h in fit.front_top.items()}),
        Fault("front edge low", size),
    )


def _one_hip(data: Data, fit: Measures, chance: Random) -> tuple[Data, Measures, Fault]:
    """One hip is fuller than the other."""
    size = round(chance.uniform(0.5, 1.0) * 16) / 16 * INCH
    side = chance.choice(SIDES)
    own = {s: h + size * {"hip": 0.8, "bottom": 1.0}.get(s, 0.0) for s, h in fit.halves[side].items()}
    return data, _replaced(fit, halves={**fit.halves, side: own}), Fault("one hip fuller", size, side)


def _replaced(fit: Measures, **changes: Any) -> Measures:
    from dataclasses import replace

    return replace(fit, **changes)


_SHAPES: Mapping[str, Mapping[str, float]] = {
    "all too big": dict.fromkeys(STATIONS, 1.0),
    "all too small": dict.fromkeys(STATIONS, -1.0),
    "top too big": {"top": 1.0, "underbust": 0.5},
    "top too small": {"top": -1.0, "underbust": -0.5},
    "waist too big": {"waist": 1.0, "underbust": 0.3, "hip": 0.2},
    "waist too small": {"waist": -1.0, "underbust": -0.3, "hip": -0.2},
    "hip too big": {"hip": 0.75, "bottom": 1.0},
    "hip too small": {"hip": -0.75, "bottom": -1.0},
    "top too big, hip too small": {"top": 0.75, "underbust": 0.4, "hip": -0.5, "bottom": -0.75},
    "top too small, hip too big": {"top": -0.75, "underbust": -0.4, "hip": 0.5, "bottom": 0.75},
}
FAULTS: Mapping[str, Callable[[Data, Measures, Random], tuple[Data, Measures, Fault]]] = {
    **{kind: _girth(shape) for kind, shape in _SHAPES.items()},
    "too long above": _length("above", 1.0),
    "too short above": _length("above", -1.0),
    "too long below": _length("below", 1.0),
    "too short below": _length("below", -1.0),
    "underarm too high": _underarm,
    "front edge low": _front_low,
    "one hip fuller": _one_hip,
}
_PLACE: Mapping[str, str] = {
    **dict.fromkeys(_SHAPES, "girth"), "too long above": "above", "too short above": "above",
    "too long below": "below", "too short below": "below", "underarm too high": "arm", "front edge low": "front",
    "one hip fuller": "girth",
}  # fmt: skip
_NOT_ON: Mapping[str, Sequence[str]] = {
    "boned bodies, one piece": ("waist too big", "waist too small"),
    "one piece, tabbed": ("waist too big", "waist too small"),
    "four panels, gored": ("too long below", "too short below"),
}
"""What a garment of that cut cannot be spoilt by: two straight steels leave a one-piece half no waist of its own."""
