"""Patterns for the simulated wearers: some of the bundled ones, and drafts of our own, all in the stored form.

Everything is plain JSON data in mm, x from centre front to centre back, y upwards from the waist. Nothing here calls
the program, except to read what it bundles as a table or a drawing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from copy import deepcopy
from itertools import pairwise
from typing import Any

from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.writer import dump_text
from diagnose.places import bundled_cases

__all__ = ["GARMENTS", "HEIGHTS", "STATIONS", "garment_facts", "pattern_named"]

Data = dict[str, Any]

STATIONS = ("top", "underbust", "waist", "hip", "bottom")
HEIGHTS: Mapping[str, float] = {"top": 140.0, "underbust": 80.0, "waist": 0.0, "hip": -65.0, "bottom": -90.0}
HALF: Mapping[str, float] = {"top": 400.0, "underbust": 350.0, "waist": 305.0, "hip": 385.0, "bottom": 410.0}
UPPER, DIP, LOWER = 195.0, 40.0, -125.0
CHANNEL, CLEAR = 9.5, 6.4

GARMENTS: Mapping[str, Data] = {
    "boned bodies, one piece": {"style": "bodice", "straps": "fixed", "tabs": "boned"},
    "six panels": {"style": "corset", "straps": "none", "tabs": "none"},
    "two panels": {"style": "corset", "straps": "none", "tabs": "none"},
    "three panels": {"style": "corset", "straps": "none", "tabs": "none"},
    "four panels": {"style": "corset", "straps": "none", "tabs": "none"},
    "seven panels": {"style": "corset", "straps": "none", "tabs": "none"},
    "four panels, front on the fold": {"style": "stays", "straps": "none", "tabs": "none"},
    "three panels, laced in front": {"style": "stays", "straps": "none", "tabs": "none", "closure": "front"},
    "four panels, gored": {"style": "corset", "straps": "none", "tabs": "none"},
    "one piece, tabbed": {"style": "stays", "straps": "none", "tabs": "plain"},
}
"""The garments by name, with what is told of them; `closure` is `back` unless it says otherwise."""

_BUNDLED = {
    "boned bodies, one piece": "boned-bodies.json",
    "six panels": "six-panel-corset.json",
}
_PANELS = {"two": 2, "three": 3, "four": 4, "seven": 7}


def garment_facts(name: str) -> Data:
    """What is told of the garment in a try-on."""
    return {"closure": "back", "boning": "full", "meant_to_meet": False, "allowance": "1 in", **GARMENTS[name]}


def pattern_named(name: str) -> Data:
    """The pattern of a garment, in the stored form; its own to change."""
    import json

    if name in _BUNDLED:
        read = load_pattern(bundled_cases() / "patterns" / _BUNDLED[name])
        return dict(json.loads(dump_text(read)))
    if name == "one piece, tabbed":
        return _one_piece(name)
    count = _PANELS[name.split(" ")[0]]
    data = _panelled(
        name, count, front="fold" if "fold" in name or "laced in front" in name else "opening", back="lacing"
    )
    if "laced in front" in name:
        data["closure"] = "front"
        data["pieces"][0]["edges"][-1]["role"] = "lacing"
        data["pieces"][0]["cut"] = "pair"
        data["pieces"][-1]["cut"] = "fold"
        for edge in data["pieces"][-1]["edges"]:
            edge["role"] = "fold" if edge["role"] == "lacing" else edge["role"]
    if "gored" in name:
        _gore(data)
    return data


def _top_at(part: float) -> float:
    """How high the top edge stands at a part of the half, from centre front: it dips under the arm."""
    return UPPER - DIP * math.exp(-(((part - 0.52) / 0.14) ** 2))


def _slope_at(part: float, width: float) -> float:
    step = 1e-4
    return (_top_at(part + step) - _top_at(part - step)) / (2 * step * width)


def _panelled(name: str, count: int, front: str, back: str) -> Data:
    """So many panels a half: steel edges straight, the shape shared alike by both lines of every seam."""
    share = {station: (HALF[station] - HALF["waist"]) / (2 * (count - 1)) for station in STATIONS}
    bare = HALF["waist"] / count
    pieces: list[Data] = []
    seams: list[Data] = []
    x = 0.0
    for index in range(count):
        first, last = index == 0, index == count - 1
        whole = HALF["top"]
        start, end = index / count, (index + 1) / count
        low_shape, top_shape = _beyond(share, LOWER), _beyond(share, _top_at(start))
        left = [] if first else _seam(share, x, -1.0, _top_at(start))
        right = [] if last else _seam(share, x + bare, 1.0, _top_at(end))
        bottom_left = [x - (0.0 if first else low_shape), LOWER]
        bottom_right = [x + bare + (0.0 if last else low_shape), LOWER]
        top_left = [x - (0.0 if first else top_shape), _top_at(start)]
        top_right = [x + bare + (0.0 if last else _beyond(share, _top_at(end))), _top_at(end)]
        width = top_right[0] - top_left[0]
        rise = [_slope_at(start, whole), _slope_at(end, whole)]
        edges: list[Data] = [
            {"name": "hem", "role": "bottom", "path": [["L", *bottom_right]]},
            {"name": "back-edge", "role": back, "path": [["L", *top_right]]}
            if last
            else {"name": "back-seam", "role": "seam", "path": right},
            {
                "name": "top-edge",
                "role": "top",
                "path": [
                    [
                        "C",
                        top_right[0] - width / 3,
                        top_right[1] - rise[1] * width / 3,
                        top_left[0] + width / 3,
                        top_left[1] + rise[0] * width / 3,
                        *top_left,
                    ]
                ],
            },
            {"name": "front-edge", "role": front, "path": [["L", *bottom_left]]}
            if first
            else {"name": "front-seam", "role": "seam", "path": _turned(left, bottom_left, top_left)},
        ]
        levels = {
            station: [
                [x - (0.0 if first else share[station]), HEIGHTS[station]],
                [x + bare + (0.0 if last else share[station]), HEIGHTS[station]],
            ]
            for station in STATIONS
        }
        middle = [x + bare / 2] if not last else [x + bare - 8.0, x + bare - 26.0]
        piece: Data = {
            "name": f"panel-{index + 1}",
            "cut": "fold" if first and front == "fold" else "pair",
            "side": "both",
            "start": bottom_left,
            "edges": edges,
            "levels": levels,
            "landmarks": {},
            "channels": [
                {
                    "name": f"b{index + 1}-{number}",
                    "width": CHANNEL,
                    "line": [
                        [place, LOWER + CLEAR],
                        [place, _top_at((place - x) / bare / count + start) - CLEAR - 3.0],
                    ],
                }
                for number, place in enumerate(middle, 1)
            ],
            "slits": [],
            "notches": [],
            "grain": [[x + bare * 0.4, -60.0], [x + bare * 0.4, 60.0]],
        }
        if start <= 0.52 < end:
            part = 0.52
            piece["landmarks"]["underarm"] = [x + bare * (part - start) * count, _top_at(part)]
        pieces.append(piece)
        if not last:
            seams.append(
                {
                    "name": f"seam-{index + 1}",
                    "a": [f"panel-{index + 1}", "back-seam"],
                    "b": [f"panel-{index + 2}", "front-seam"],
                    "ease": 0.0,
                }
            )
        x += bare + 80.0
    return {
        "format": "stays-pattern", "version": 1, "name": name, "closure": "back", "pieces": pieces, "seams": seams,
    }  # fmt: skip


def _beyond(share: Mapping[str, float], y: float) -> float:
    """The shape of a seam line at a height, straight on beyond the outermost stations."""
    places = sorted((HEIGHTS[station], share[station]) for station in STATIONS)
    tangents = _tangents(places)
    if y >= places[-1][0]:
        return places[-1][1] + tangents[-1] * (y - places[-1][0])
    if y <= places[0][0]:
        return places[0][1] + tangents[0] * (y - places[0][0])
    raise AssertionError("only the ends of a seam are asked for")


def _tangents(places: Sequence[tuple[float, float]]) -> list[float]:
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(places)]
    inner = [(one + other) / 2 if one * other > 0 else 0.0 for one, other in pairwise(slopes)]
    return [slopes[0], *inner, slopes[-1]]


def _seam(share: Mapping[str, float], x: float, out: float, top: float) -> list[list[Any]]:
    """The steps of a seam line from bottom to top, smooth through the stations; `out` 1.0 bulges towards the back."""
    places = sorted((HEIGHTS[station], share[station]) for station in STATIONS)
    tangents = _tangents(places)
    steps: list[list[Any]] = [["L", x + out * places[0][1], places[0][0]]]
    for (y0, s0), (y1, s1), t0, t1 in zip(places, places[1:], tangents, tangents[1:], strict=False):
        third = (y1 - y0) / 3
        steps.append(
            ["C", x + out * (s0 + t0 * third), y0 + third, x + out * (s1 - t1 * third), y1 - third, x + out * s1, y1]
        )
    steps.append(["L", x + out * (places[-1][1] + tangents[-1] * (top - places[-1][0])), top])
    return steps


def _turned(steps: Sequence[Sequence[Any]], start: Sequence[float], end: Sequence[float]) -> list[list[Any]]:
    """The steps the other way round: from `end` back to `start`."""
    points = [list(start), *[list(step[-2:]) for step in steps]]
    turned: list[list[Any]] = []
    for index in range(len(steps) - 1, -1, -1):
        step = steps[index]
        to = points[index]
        turned.append(["L", *to] if step[0] == "L" else ["C", step[3], step[4], step[1], step[2], *to])
    assert math.dist(points[-1], end) < 1e-6
    return turned


def _gore(data: Data) -> None:
    """A hip gore, set in a slit of the second panel; what it gives is taken from the hem beside it."""
    piece = data["pieces"][1]
    hem = piece["edges"][0]["path"][0]
    foot_x = (piece["start"][0] + hem[1]) / 2
    tip = [foot_x, -35.0]
    width = 24.0
    length = 90.0
    reach = math.sqrt(length**2 - (width / 2) ** 2)
    piece["slits"] = [{"name": "s1", "line": [[foot_x, LOWER], tip]}]
    piece["channels"] = [
        {"name": "b2-1", "width": CHANNEL, "line": [[foot_x - 24.0, LOWER + CLEAR], [foot_x - 24.0, 140.0]]}
    ]
    left, right = [tip[0] - width / 2, tip[1] - reach], [tip[0] + width / 2, tip[1] - reach]
    data["pieces"].append(
        {
            "name": "gore-1", "cut": "pair", "side": "both", "start": left,
            "edges": [
                {"name": "hem", "role": "bottom", "path": [["L", *right]]},
                {"name": "leg-back", "role": "seam", "path": [["L", *tip]]},
                {"name": "leg-front", "role": "seam", "path": [["L", *left]]},
            ],
            "levels": {
                station: [[tip[0] - width / 2 * part, y], [tip[0] + width / 2 * part, y]]
                for station, y in HEIGHTS.items() if y < tip[1]
                for part in [(tip[1] - y) / reach]
            },
            "landmarks": {}, "channels": [], "slits": [], "notches": [],
            "grain": [[tip[0], -115.0], [tip[0], -60.0]],
        }
    )  # fmt: skip
    data["seams"] += [
        {"name": "gore-front", "a": ["gore-1", "leg-front"], "b": ["panel-2", "slit:s1"], "ease": 0.0},
        {"name": "gore-back", "a": ["gore-1", "leg-back"], "b": ["panel-2", "slit:s1"], "ease": 0.0},
    ]


def _one_piece(name: str) -> Data:
    """One piece a half with four tabs: the front on the fold, the lacing edge straight and slanting."""
    wide = {y: 400.0 - (140.0 - y) * 0.42 for y in (*HEIGHTS.values(), _top_at(1.0), LOWER)}
    back_top, back_low = [wide[_top_at(1.0)], _top_at(1.0)], [wide[LOWER], LOWER]
    steps: list[list[Any]] = []
    count = 4
    for index in range(count, 0, -1):
        end, start = index / count, (index - 1) / count
        x1, x0 = back_top[0] * end, back_top[0] * start
        third = (x1 - x0) / 3
        steps.append(
            ["C", x1 - third, _top_at(end) - _slope_at(end, back_top[0]) * third,
             x0 + third, _top_at(start) + _slope_at(start, back_top[0]) * third, x0, _top_at(start)]
        )  # fmt: skip
    feet = [back_low[0] * part for part in (0.28, 0.46, 0.64, 0.82)]
    bones = [20.0, 60.0, 105.0, 155.0, 205.0, 255.0]
    piece: Data = {
        "name": "body", "cut": "fold", "side": "both", "start": [0.0, LOWER],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", *back_low]]},
            {"name": "back-edge", "role": "lacing", "path": [["L", *back_top]]},
            {"name": "top-edge", "role": "top", "path": steps},
            {"name": "front-edge", "role": "fold", "path": [["L", 0.0, LOWER]]},
        ],
        "levels": {station: [[0.0, y], [wide[y], y]] for station, y in HEIGHTS.items()},
        "landmarks": {"underarm": [back_top[0] * 0.52, _top_at(0.52)]},
        "channels": [
            {"name": f"b{number}", "width": CHANNEL,
             "line": [[x, (-20.0 if x > 60.0 else LOWER + CLEAR)], [x, _top_at(x / back_top[0]) - CLEAR - 4.0]]}
            for number, x in enumerate(bones, 1)
        ],
        "slits": [
            {"name": f"s{number}", "line": [[foot, LOWER], [foot, -50.0]]} for number, foot in enumerate(feet, 1)
        ],
        "notches": [], "grain": [[40.0, -60.0], [40.0, 60.0]],
    }  # fmt: skip
    return deepcopy(
        {"format": "stays-pattern", "version": 1, "name": name, "closure": "back", "pieces": [piece], "seams": []}
    )
