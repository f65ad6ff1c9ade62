"""Whole patterns out of the common, in the stored form: what a maker may bring and no bundled pattern shows."""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

__all__ = ["AWKWARD", "awkward_pattern"]

CASES = Path(__file__).parents[2] / "cases" / "patterns"
Raw = dict[str, Any]
Spot = tuple[float, float]
HEIGHTS = {"top": 150.0, "underbust": 70.0, "waist": 0.0, "hip": -90.0, "bottom": -140.0}
SHAPE = {"top": 1.0, "underbust": 0.92, "waist": 0.78, "hip": 1.05, "bottom": 1.12}
"""The widths of a panel at the stations, as parts of its width at the top."""


def _smooth(points: Sequence[Spot]) -> list[list[Any]]:
    """Cubics through the points after the first, each place's direction that of the parabola through its neighbours."""
    slopes = []
    for n, point in enumerate(points):
        before, after = points[max(n - 1, 0)], points[min(n + 1, len(points) - 1)]
        g0, g1 = math.dist(before, point), math.dist(point, after)
        k = 0.0 if g0 == 0.0 else 1.0 if g1 == 0.0 else g1 / (g0 + g1)
        one = [(point[i] - before[i]) / g0 if g0 else 0.0 for i in (0, 1)]
        two = [(after[i] - point[i]) / g1 if g1 else 0.0 for i in (0, 1)]
        slopes.append([k * one[i] + (1.0 - k) * two[i] for i in (0, 1)])
    made = []
    for (a, b), (m, n) in zip(pairwise(points), pairwise(slopes), strict=True):
        third = math.dist(a, b) / 3.0
        made.append(["C", a[0] + m[0] * third, a[1] + m[1] * third, b[0] - n[0] * third, b[1] - n[1] * third, *b])
    return made


def _panel(name: str, left: float, width: float, roles: tuple[str, str], lean: float = 0.0, **more: Any) -> Raw:
    """A shaped panel whose sides are `SHAPE` about its middle line, which leans by so much from hem to top."""
    low, high = min(HEIGHTS.values()) - 10.0, max(HEIGHTS.values()) + 12.0
    whole = high - low

    def side(sign: float) -> list[Spot]:
        stations = [(low, SHAPE["bottom"]), *sorted((HEIGHTS[s], SHAPE[s]) for s in HEIGHTS), (high, SHAPE["top"])]
        return [(left + width / 2.0 + lean * (y - low) / whole + sign * k * width / 2.0, y) for y, k in stations]

    front, back = side(-1.0), side(1.0)
    levels = {
        s: [[*min(front, key=lambda p, y=y: abs(p[1] - y))], [*min(back, key=lambda p, y=y: abs(p[1] - y))]]
        for s, y in HEIGHTS.items()
    }
    piece: Raw = {
        "name": name, "cut": "pair", "side": "both", "start": [*front[0]],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", *back[0]]]},
            {"name": "back", "role": roles[1], "path": _smooth(back)},
            {"name": "top-edge", "role": "top", "path": [["L", *front[-1]]]},
            {"name": "front", "role": roles[0], "path": _smooth(front[::-1])},
        ],
        "levels": levels,
        "channels": [{"name": "b1", "line": [[left + width / 2, low + 6.4], [left + width / 2 + lean, high - 6.4]],
                      "width": 9.5}],
        "notches": [{"edge": "back", "at": 100.0}, {"edge": "front", "at": 100.0}],
        "grain": [[left + width / 2, low + 30], [left + width / 2, high - 30]],
    }  # fmt: skip
    for station in more.pop("without", ()):
        del piece["levels"][station]
    piece.update(more)
    return piece


def _straight(piece: Raw, edge: str) -> None:
    """That edge of the piece as one straight line: steel runs along it."""
    for one in piece["edges"]:
        if one["name"] == edge:
            one["path"] = [["L", *one["path"][-1][-2:]]]
    ends = {"back": -1, "front": 0}
    at = _corners(piece)
    number = [one["name"] for one in piece["edges"]].index(edge)
    a, b = at[number], at[number + 1]
    for line in piece["levels"].values():
        y = line[ends[edge]][1]
        line[ends[edge]][0] = a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])


def _corners(piece: Raw) -> list[Spot]:
    return [tuple(piece["start"]), *(tuple(edge["path"][-1][-2:]) for edge in piece["edges"])]


def _panels(*widths: float, closure: str = "back", lean: Callable[[int], float] = lambda n: 0.0) -> Raw:
    pieces, left = [], 0.0
    for n, width in enumerate(widths):
        roles = (
            ("opening" if closure == "back" else "lacing") if n == 0 else "seam",
            ("lacing" if closure == "back" else "fold") if n == len(widths) - 1 else "seam",
        )
        pieces.append(_panel(f"n{n + 1}", left, width, roles, lean(n)))
        left += width * 1.2 + 30.0
    _straight(pieces[0], "front")
    _straight(pieces[-1], "back")
    pieces[-1]["cut"] = "fold" if closure == "front" else "pair"
    seams = [
        {"name": f"s{n}", "a": [a["name"], "back"], "b": [b["name"], "front"], "ease": 0}
        for n, (a, b) in enumerate(pairwise(pieces), 1)
    ]
    return {"format": "stays-pattern", "version": 1, "name": "awkward", "closure": closure, "pieces": pieces,
            "seams": seams}  # fmt: skip


def _two_piece() -> Raw:
    return _panels(150.0, 160.0)


def _seven() -> Raw:
    return _panels(70.0, 45.0, 42.0, 40.0, 44.0, 48.0, 60.0, lean=lambda n: 4.0 * (n - 3))


def _front_laced() -> Raw:
    return _panels(110.0, 90.0, 100.0, closure="front")


def _slanting_back() -> Raw:
    """Two pieces whose lacing edge slants by 1 in 3, as that of a bodies does."""
    made = _panels(150.0, 160.0)
    back = made["pieces"][-1]
    (x1, low), (_, high) = _corners(back)[1:3]
    foot, head = (x1 - 20.0, low - 5.0), (x1 + 80.0, high + 10.0)
    for edge in back["edges"]:
        edge["path"] = {"hem": [["L", *foot]], "back": [["L", *head]]}.get(edge["name"], edge["path"])
    for line in back["levels"].values():
        line[-1][0] = foot[0] + (head[0] - foot[0]) * (line[-1][1] - foot[1]) / (head[1] - foot[1])
    back["notches"] = [notch for notch in back["notches"] if notch["edge"] != "back"]
    return made


def _curved_waist() -> Raw:
    """All levels bent downwards in the middle, as those of a cone laid flat."""
    made = _panels(150.0, 160.0)
    for piece in made["pieces"]:
        for station, (a, b) in piece["levels"].items():
            n = 8
            drop = 9.0 if station == "waist" else 6.0
            piece["levels"][station] = [
                [a[0] + (b[0] - a[0]) * k / n, a[1] - drop * math.sin(math.pi * k / n)] for k in range(n + 1)
            ]
    return made


def _on_the_closing_line() -> Raw:
    """The underbust 2 1/2 in above the waist, where a garment is cut shorter or longer."""
    made = _panels(90.0, 80.0, 90.0)
    return _moved_level(made, "underbust", 63.5)


def _moved_level(made: Raw, station: str, height: float) -> Raw:
    for piece in made["pieces"]:
        for n, edge in ((0, "front"), (-1, "back")):
            piece["levels"][station][n] = [_across(piece, edge, height), height]
    return made


def _across(piece: Raw, name: str, y: float) -> float:
    """Where an upright edge stands at that height, by halving."""
    at = tuple(piece["start"])
    for edge in piece["edges"]:
        for step in edge["path"]:
            end = tuple(step[-2:])
            if edge["name"] == name and min(at[1], end[1]) <= y <= max(at[1], end[1]) and at[1] != end[1]:
                return _on_step(at, step, y)
            at = end
    raise AssertionError(name)


def _on_step(at: Spot, step: Sequence[Any], y: float) -> float:
    c = [at, *(zip(step[1::2], step[2::2], strict=True))]
    if len(c) == 2:
        return float(c[0][0] + (c[1][0] - c[0][0]) * (y - c[0][1]) / (c[1][1] - c[0][1]))

    def place(t: float) -> Spot:
        u = 1.0 - t
        k = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
        return sum(a * p[0] for a, p in zip(k, c, strict=True)), sum(a * p[1] for a, p in zip(k, c, strict=True))

    low, high = 0.0, 1.0
    for _ in range(60):
        mid = (low + high) / 2.0
        low, high = (mid, high) if (place(mid)[1] < y) == (at[1] < step[-1]) else (low, mid)
    return place(low)[0]


def _level_at_a_corner() -> Raw:
    """The top level from the one corner of the top edge to the other, and the bottom level along the hem."""
    made = _panels(90.0, 80.0, 90.0)
    for piece in made["pieces"]:
        corners = _corners(piece)
        piece["levels"]["bottom"] = [[*corners[0]], [*corners[1]]]
        piece["levels"]["top"] = [[*corners[3]], [*corners[2]]]
    return made


def _underarm_at_the_seam() -> Raw:
    """A front and a back whose armholes come down to the side seam, with shoulders that are not sewn here."""
    made = _panels(170.0, 180.0)
    front, back = made["pieces"]
    for piece, number, at_back in ((front, 2, False), (back, 2, True)):
        (right, y), (left, _) = _corners(piece)[2:4]
        shoulder = (left + 0.55 * (right - left), y + 110.0)
        neck = (left + 0.3 * (right - left), y + 118.0)
        if at_back:
            shoulder, neck = (left + 0.45 * (right - left), y + 105.0), (left + 0.7 * (right - left), y + 112.0)
        arm = (right, y) if not at_back else (left, y)
        mid = (left + 0.62 * (right - left), y + 20.0) if not at_back else (left + 0.38 * (right - left), y + 20.0)
        armhole = [arm, (mid[0], mid[1]), (mid[0] + (shoulder[0] - mid[0]) * 0.4, y + 60.0), shoulder]
        neckline = [neck, (neck[0] + (left - neck[0]) * 0.5, y + 55.0), (left, y)]
        if at_back:
            neckline = [(right, y), (right + (neck[0] - right) * 0.5, y + 65.0), neck]
            runs = [
                {"name": "neck", "role": "top", "path": _smooth(neckline)},
                {"name": "shoulder", "role": "top", "path": [["L", *shoulder]]},
                {"name": "armhole", "role": "top", "path": _smooth(armhole[::-1])},
            ]
        else:
            runs = [
                {"name": "armhole", "role": "top", "path": _smooth(armhole)},
                {"name": "shoulder", "role": "top", "path": [["L", *neck]]},
                {"name": "neck", "role": "top", "path": _smooth(neckline)},
            ]
        piece["edges"][number : number + 1] = runs
        piece["landmarks"] = {"underarm": [*arm], "strap-front" if not at_back else "strap-back": [*shoulder]}
    front["landmarks"]["bust-point"] = [front["channels"][0]["line"][0][0], 120.0]
    return made


def _narrow_gore() -> Raw:
    """A gore of 9/16 in let into a slit of the hem."""
    made = _panels(150.0, 160.0)
    piece = made["pieces"][0]
    (x0, low), (x1, _) = _corners(piece)[:2]
    foot, tip = (x0 + 0.6 * (x1 - x0), low), (x0 + 0.58 * (x1 - x0), -45.0)
    piece["slits"] = [{"name": "g", "line": [[*foot], [*tip]]}]
    size, half = math.dist(foot, tip), 7.0
    high = math.sqrt(size * size - half * half)
    gore: Raw = {
        "name": "gore", "cut": "pair", "side": "both", "start": [600.0, low],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", 600.0 + 2 * half, low]]},
            {"name": "leg-back", "role": "seam", "path": [["L", 600.0 + half, low + high]]},
            {"name": "leg-front", "role": "seam", "path": [["L", 600.0, low]]},
        ],
        "levels": {"hip": [[600.0 + half - half * (1 - (HEIGHTS["hip"] - low) / high), HEIGHTS["hip"]],
                           [600.0 + half + half * (1 - (HEIGHTS["hip"] - low) / high), HEIGHTS["hip"]]]},
    }  # fmt: skip
    made["pieces"].append(gore)
    made["seams"] += [
        {"name": f"g-{leg}", "a": ["gore", f"leg-{leg}"], "b": ["n1", "slit:g"], "ease": 0} for leg in ("front", "back")
    ]
    return made


def _off_the_edge() -> Raw:
    """Landmarks 0.66 mm off the edges they stand for, some within the paper and some beside it."""
    made = _panels(90.0, 80.0, 90.0)
    for sign, piece in zip((1.0, -1.0, 1.0), made["pieces"], strict=True):
        (x1, y1), (x0, y0) = _corners(piece)[2:4]
        piece["landmarks"] = {
            "underarm": [(x0 + x1) / 2, (y0 + y1) / 2 + 0.66 * sign],
            "side": [_across(piece, "back", 30.0) - 0.66 * sign, 30.0],
        }
    made["pieces"][0]["landmarks"]["bust-point"] = [made["pieces"][0]["channels"][0]["line"][0][0] + 20, 115.0]
    return made


def _tabs() -> Raw:
    made = _panels(150.0, 160.0)
    for piece in made["pieces"]:
        (x0, low), (x1, _) = _corners(piece)[:2]
        feet = [x0 + k * (x1 - x0) for k in (0.24, 0.38, 0.62, 0.8)]
        piece["slits"] = [
            {"name": f"t{n}", "line": [[x, low], [x + (0.5 - k) * 12.0, -60.0]]}
            for n, (x, k) in enumerate(zip(feet, (0.24, 0.38, 0.62, 0.8), strict=True), 1)
        ]
    return made


def _scaled(raw: Any, k: float) -> Any:
    """A stored pattern with all its lengths times k."""
    if isinstance(raw, dict):
        return {key: value if key == "version" else _scaled(value, k) for key, value in raw.items()}
    if isinstance(raw, list):
        return [_scaled(one, k) for one in raw]
    return raw * k if isinstance(raw, int | float) and not isinstance(raw, bool) else raw


def _bundled(name: str) -> Raw:
    raw: Raw = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    return raw


AWKWARD: Mapping[str, Callable[[], Raw]] = {
    "two pieces": _two_piece,
    "seven panels": _seven,
    "front-laced": _front_laced,
    "slanting back": _slanting_back,
    "curved waist": _curved_waist,
    "level on the closing line": _on_the_closing_line,
    "level at a corner": _level_at_a_corner,
    "underarm at the side seam": _underarm_at_the_seam,
    "narrow gore": _narrow_gore,
    "landmarks off their edges": _off_the_edge,
    "tabs": _tabs,
    "very small": lambda: _scaled(_bundled("six-panel-corset"), 0.3),
    "very big": lambda: _scaled(_bundled("six-panel-corset"), 2.2),
    "small bodies": lambda: _scaled(_bundled("boned-bodies"), 0.5),
    "big bodies": lambda: _scaled(_bundled("boned-bodies"), 1.5),
}
"""Every awkward pattern by its name."""


@cache
def _made(name: str) -> str:
    return json.dumps(AWKWARD[name]())


def awkward_pattern(name: str) -> Raw:
    """The stored form of an awkward pattern, the caller's own."""
    return copy.deepcopy(json.loads(_made(name)))
