"""What a simulated wearer sees, measures and answers at a try-on, with the slips of a real fitting.

Gaps are read to the nearest 1/8 in with up to 1/8 in of lacing noise, lengths to the nearest 1/8 in with 1/16 in.
One sign in ten that is there is missed; one in fifty that is not there is told. The chances are judgement.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from random import Random
from typing import Any

from loop_garments import STATIONS, garment_facts
from loop_measure import SIDES, Measures, Side, measured
from loop_wearers import INCH, Body, Wearer

__all__ = ["Error", "Hand", "answers", "errors", "true_causes"]

EIGHTH = INCH / 8
SEEN_FROM = INCH / 4
MISSED, FALSE = 0.1, 0.02
CLEAR = INCH
"""The daylight between edge and pit on a body whose armhole is right."""
LAP = INCH / 2
"""The daylight over the lap that a right length leaves when she sits."""


@dataclass(frozen=True)
class Error:
    """How far a pattern is from a body. Too big, too high, too long above 0, in mm.

    `girth` is of the whole; `halves` of each body side; lengths are of each side's own place.
    """

    girth: Mapping[str, float]
    halves: Mapping[Side, Mapping[str, float]]
    underarm: Mapping[Side, float]
    front_top: float
    front_depth: float
    side_depth: float

    @property
    def above(self) -> float:
        """What the whole upper part is too long by (above 0) or too short by."""
        found = [*self.underarm.values(), self.front_top]
        return min(found) if min(found) > 0 else max(found) if max(found) < 0 else 0.0

    @property
    def parts(self) -> dict[str, float]:
        """Every error by name, for comparing rounds: sides apart where they differ."""
        return {
            **{f"girth {s}": e for s, e in self.girth.items()},
            **{f"{side} half {s}": e for side, half in self.halves.items() for s, e in half.items()},
            **{f"underarm {side}": e for side, e in self.underarm.items()},
            "front top": self.front_top, "front depth": self.front_depth, "side depth": self.side_depth,
        }  # fmt: skip


@dataclass
class Hand:
    """What she has done by hand on the toile beyond what the pattern shows: wider, higher, longer above 0, in mm."""

    halves: dict[Side, dict[str, float]] = field(default_factory=lambda: {side: {} for side in SIDES})
    underarm: dict[Side, float] = field(default_factory=lambda: dict.fromkeys(SIDES, 0.0))
    front_top: float = 0.0
    front_depth: float = 0.0
    side_depth: float = 0.0

    def wider(self, station: str, side: str, by: float) -> None:
        """A half, or both alike, made wider at a station: `by` in the whole girth."""
        for each in SIDES if side == "both" else [s for s in SIDES if s == side]:
            share = by / 2 if side == "both" else by
            self.halves[each][station] = self.halves[each].get(station, 0.0) + share

    def on(self, fit: Measures) -> Measures:
        """What the body asks of the paper, less what the hand has given."""
        return replace(
            fit,
            halves={
                side: {s: mm - self.halves[side].get(s, 0.0) for s, mm in half.items()}
                for side, half in fit.halves.items()
            },
            underarm={side: mm - self.underarm[side] for side, mm in fit.underarm.items()},
            front_top={side: mm - self.front_top for side, mm in fit.front_top.items()},
            front_depth={side: mm - self.front_depth for side, mm in fit.front_depth.items()},
            side_depth={side: mm - self.side_depth for side, mm in fit.side_depth.items()},
        )


def errors(body: Body, pattern: Mapping[str, Any], hand: Hand | None = None) -> Error:
    """The errors of a pattern on a body, with what was done by hand on the toile."""
    now, fit = measured(pattern), body.fit if hand is None else hand.on(body.fit)
    stations = [s for s in STATIONS if s in now.halves["left"]]
    halves = {side: {s: now.halves[side][s] - fit.halves[side][s] for s in stations} for side in SIDES}
    return Error(
        {s: halves["left"][s] + halves["right"][s] for s in stations},
        halves,
        {side: now.underarm[side] - fit.underarm[side] for side in SIDES},
        _both(now.front_top, fit.front_top),
        _both(now.front_depth, fit.front_depth),
        _both(now.side_depth, fit.side_depth),
    )


def _both(now: Mapping[Side, float], fit: Mapping[Side, float]) -> float:
    return sum(now[side] - fit[side] for side in SIDES) / 2


def answers(wearer: Wearer, pattern: Mapping[str, Any], chance: Random, hand: Hand | None = None) -> dict[str, Any]:
    """The answers of one try-on, as a file of answers holds them (JSON numbers are mm)."""
    found = errors(wearer.body, pattern, hand)
    gaps, overlap = _gaps(wearer.body, found, chance)
    signs = _signs(found)
    seen: dict[str, Any] = {}
    for name in _LOOKED_FOR:
        there = signs.get(name)
        if there is not None and chance.random() >= MISSED:
            seen[name] = {k: _read(v, chance) if k == "amount" else v for k, v in there.items()} or True
        elif there is None and chance.random() < FALSE and name in _MAY_BE_FALSE:
            seen[name] = True
        elif there is None:
            seen[name] = False
    facts = garment_facts(wearer.garment)
    return {
        "garment": facts,
        "gap": gaps,
        **({"overlap": overlap} if overlap else {}),
        "target": {s: wearer.body.target[s] for s in gaps},
        "tension": "working",
        "seen": seen,
        "known": {**_SOUND, **_hands(found), **_told_apart(found)},
    }


def _gaps(body: Body, found: Error, chance: Random) -> tuple[dict[str, float], dict[str, float]]:
    gaps: dict[str, float] = {}
    overlap: dict[str, float] = {}
    for station, error in found.girth.items():
        true = body.target[station] - body.give[station] * error + chance.uniform(-EIGHTH, EIGHTH)
        read = round(true / EIGHTH) * EIGHTH
        gaps[station] = max(0.0, read)
        if read < 0 and chance.random() < 0.7:
            overlap[station] = -read
    return gaps, overlap


def _read(value: float, chance: Random) -> float:
    return max(EIGHTH, round((value + chance.uniform(-EIGHTH / 2, EIGHTH / 2)) / EIGHTH) * EIGHTH)


def _signs(found: Error) -> dict[str, dict[str, Any]]:
    """The signs that this pattern shows on this body, each with what is recorded of it."""
    signs: dict[str, dict[str, Any]] = {}
    above = found.above
    if above >= SEEN_FROM:
        signs["waist-sits-low"] = {"amount": above}
        signs["folds-round-waist"] = {"amount": above / 2}
    if above <= -SEEN_FROM:
        signs["waist-sits-high"] = {"amount": -above}
    dug = {side: e for side, e in found.underarm.items() if e >= SEEN_FROM}
    if dug:
        side = "both" if len(dug) == 2 else next(iter(dug))
        signs["digs-under-arm"] = {"side": side, "amount": max(0.0, CLEAR - max(dug.values()))}
    if found.front_top <= -SEEN_FROM:
        signs["spill-at-front"] = {"amount": -found.front_top}
    if found.front_depth >= SEEN_FROM:
        signs["too-long-seated"] = {"amount": max(EIGHTH, found.front_depth - LAP)}
    if found.front_depth <= -SEEN_FROM and found.side_depth <= -SEEN_FROM:
        signs["bulge-below-hem"] = {"amount": -found.front_depth}
    bottom = found.halves["right"].get("bottom", 0.0) - found.halves["left"].get("bottom", 0.0)
    if abs(bottom) >= 1.5 * SEEN_FROM:
        tight: Side = "right" if bottom < 0 else "left"
        signs["lacing-edge-leans"] = {"side": tight, "amount": abs(bottom)}
        if found.halves[tight]["bottom"] < -SEEN_FROM:
            signs["hem-too-tight"] = {"side": tight}
            signs["pinches-hip-bone"] = {"side": tight}
    elif found.girth.get("bottom", 0.0) <= -1.5 * INCH:
        signs["hem-too-tight"] = {}
    return signs


_LOOKED_FOR = (
    "waist-sits-low", "folds-round-waist", "waist-sits-high", "digs-under-arm", "spill-at-front", "too-long-seated",
    "bulge-below-hem", "lacing-edge-leans", "hem-too-tight", "pinches-hip-bone", "slides-down", "rides-up",
    "spill-at-side-bust", "fold-under-bust", "crumples-between-bones", "rib-soreness",
)  # fmt: skip
_MAY_BE_FALSE = frozenset({"slides-down", "crumples-between-bones", "rib-soreness", "hem-too-tight"})
_SOUND = {
    "toile-boned-at-back": True, "toile-cloth-firm": True, "test-square-true": True, "relaced-from-waist": True,
    "gap-changed-on-relacing": False, "bones-stay-bent": False, "over-usual-shift": True, "largest-today": False,
    "goes-on-reseating": False, "changes-side-inside-out": False, "meant-to-meet": False,
}  # fmt: skip


def _hands(found: Error) -> dict[str, bool]:
    places = {"underbust": "underbust", "waist": "waist", "hem": "bottom"}
    return {
        f"hand-slides-under-{name}": found.girth[station] >= 0.75 * INCH
        for name, station in places.items()
        if station in found.girth
    }


def _told_apart(found: Error) -> dict[str, bool]:
    ends = max(found.girth.get("top", 0.0), found.girth.get("bottom", 0.0))
    return {
        "ends-slack-waist-tight": found.girth["waist"] <= -INCH / 2 and ends >= -INCH / 8,
        "fold-reaches-front": found.above >= SEEN_FROM,
        "fold-stops-before-side": False,
        "edge-ends-before-flesh": found.front_top <= -SEEN_FROM < found.above,
        "seated-only": found.front_depth >= SEEN_FROM,
        "arm-forward-only": False,
        "back-pulls-down-smooth": True,
    }


def true_causes(found: Error) -> frozenset[str]:
    """The causes, by the identifiers of the rule base, that are truly there on this body in this pattern."""
    true: set[str] = set()
    girth = found.girth
    for sign, word in ((1, "big"), (-1, "small")):
        if all(sign * e >= SEEN_FROM for e in girth.values()):
            true.add(f"too-{word}-all-over")
        for station, place in (
            ("top", "top"),
            ("underbust", "underbust"),
            ("waist", "waist"),
            ("hip", "hip"),
            ("bottom", "hip"),
        ):
            if sign * girth.get(station, 0.0) >= SEEN_FROM:
                true.add(f"too-{word}-at-{place}")
    if girth["waist"] <= -SEEN_FROM:
        true.add("waist-curve-too-abrupt")
    if found.above >= SEEN_FROM:
        true.add("too-long-above-waist")
    if found.above <= -SEEN_FROM:
        true.add("too-short-above-waist")
    if max(found.underarm.values()) >= SEEN_FROM:
        true.add("underarm-edge-too-high")
    if found.front_top <= -SEEN_FROM:
        true.add("top-edge-too-low")
    if found.front_depth >= SEEN_FROM:
        true.add("too-long-below-waist")
    if found.front_depth <= -SEEN_FROM:
        true.add("too-short-below-waist")
    sides = [abs(found.halves["left"][s] - found.halves["right"][s]) for s in found.halves["left"]]
    if max(sides) >= SEEN_FROM or abs(found.underarm["left"] - found.underarm["right"]) >= SEEN_FROM:
        true.add("sides-of-body-differ")
    return frozenset(true)
