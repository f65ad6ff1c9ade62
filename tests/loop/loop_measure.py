"""A stored pattern measured apart from the program: girths, heights, one body side at a time. Millimetres.

Only the JSON of the stored form and shapely are used; a cubic is cut into 96 chords, which is true to about 0.01 mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

from loop_garments import STATIONS
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

__all__ = ["SIDES", "Measures", "measured"]

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")
CHORDS = 96
BEYOND_MM = 4.0
LARGE_MM = 5000.0
_CUT_AWAY = {"top": (15.0, 30.0), "hip": (-15.0, -30.0), "bottom": (-15.0, -30.0, -45.0)}
"""Where the top edge or the hem was cut away at a level, the girth is that of the paper just inside it."""


@dataclass(frozen=True)
class Measures:
    """A pattern as a body meets it, one side at a time.

    Attributes:
        halves: half the girth at each station.
        underarm: height of the lowest place of the top edge over the waist.
        front_top: height of the front edge's upper end over the waist.
        front_depth: depth of the front edge's lower end under the waist.
        side_depth: mean depth of the hem under the waist on the pieces that are not at the front; the front's own where
            one piece is all.
    """

    halves: Mapping[Side, Mapping[str, float]]
    underarm: Mapping[Side, float]
    front_top: Mapping[Side, float]
    front_depth: Mapping[Side, float]
    side_depth: Mapping[Side, float]

    def girth(self, station: str) -> float:
        return sum(half[station] for half in self.halves.values())


def measured(data: Mapping[str, Any]) -> Measures:
    """The measures of a pattern in the stored form."""
    pieces = [_Piece(raw) for raw in data["pieces"]]
    of_side = {side: [piece for piece in pieces if piece.side in ("both", side)] for side in SIDES}
    stations = [name for name in STATIONS if any(name in piece.levels for piece in pieces)]
    return Measures(
        {side: {s: sum(piece.width(s) for piece in found) for s in stations} for side, found in of_side.items()},
        {side: _underarm([p for p in found if p.has_top]) for side, found in of_side.items()},
        {side: max(piece.front_top for piece in found) for side, found in of_side.items()},
        {side: max(piece.front_depth for piece in found) for side, found in of_side.items()},
        {side: _side_depth(found) for side, found in of_side.items()},
    )  # fmt: skip


def _underarm(panels: Sequence[_Piece]) -> float:
    """The height of the top edge under the arm; a gore, which has no top edge, is no panel."""
    return min(panel.lowest_top(len(panels) == 1, len(panels) == 2) for panel in panels)


def _side_depth(pieces: Sequence[_Piece]) -> float:
    """The mean depth of the pieces behind the front, or the depth of the front where there are none."""
    depths = [piece.side_depth for piece in pieces if piece.side_depth is not None]
    return sum(depths) / len(depths) if depths else max(piece.front_depth for piece in pieces)


class _Piece:
    def __init__(self, raw: Mapping[str, Any]) -> None:
        self.side = raw.get("side", "both")
        self.levels: Mapping[str, Sequence[Sequence[float]]] = raw.get("levels", {})
        self.edges: list[tuple[str, list[tuple[float, float]]]] = []
        at = tuple(raw["start"])
        for edge in raw["edges"]:
            points = [at]
            for step in edge["path"]:
                points += _flat(points[-1], step)
            self.edges.append((edge["role"], points))
            at = points[-1]
        ring = [point for _, points in self.edges for point in points[:-1]]
        self.outline = Polygon(ring)
        if not self.outline.is_valid:
            raise AssertionError(f"The outline of {raw['name']} is not simple.")

    def width(self, station: str) -> float:
        level = self.levels.get(station)
        if level is None:
            return 0.0
        low, high = min(x for x, _ in level), max(x for x, _ in level)
        own = box(low, -LARGE_MM, high, LARGE_MM)
        cut_away = [translate(self.outline, 0.0, up).intersection(own) for up in _CUT_AWAY.get(station, ())]
        return float(unary_union([self.outline, *cut_away]).intersection(LineString(_drawn_on(level))).length)

    def _waist(self, x: float) -> float:
        points = self.levels["waist"]
        for (x0, y0), (x1, y1) in pairwise(points):
            if x0 <= x <= x1 and x1 > x0:
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
        return points[0][1] if x < points[0][0] else points[-1][1]

    def _over_waist(self, role: str) -> list[float]:
        if "waist" not in self.levels:
            return []
        return [y - self._waist(x) for own, points in self.edges if own == role for x, y in points]

    @property
    def _front(self) -> list[tuple[float, float]]:
        """The steel edge at the front of the piece, if it has one."""
        steel = [points for role, points in self.edges if role in ("fold", "opening", "lacing")]
        middle = self.outline.centroid.x
        return [point for points in steel if max(x for x, _ in points) < middle for point in points]

    @property
    def has_top(self) -> bool:
        """Whether it is a panel: a gore has no top edge."""
        return any(role == "top" for role, _ in self.edges)

    def lowest_top(self, alone: bool, few: bool) -> float:
        """The lowest place of the top edge where the arm may be: not on a piece at the front or back, of many."""
        steel = any(role in ("fold", "opening", "lacing") for role, _ in self.edges)
        low, high = self.outline.bounds[0], self.outline.bounds[2]
        part = (0.3, 0.75) if alone else (0.0, 1.0)
        if steel and not (alone or few):
            return math.inf
        inside = [
            y - self._waist(x) for role, points in self.edges if role == "top" for x, y in points
            if low + part[0] * (high - low) <= x <= low + part[1] * (high - low)
        ]  # fmt: skip
        return min(inside, default=math.inf)

    @property
    def front_top(self) -> float:
        return max((y - self._waist(x) for x, y in self._front), default=-math.inf)

    @property
    def front_depth(self) -> float:
        return max((self._waist(x) - y for x, y in self._front), default=-math.inf)

    @property
    def side_depth(self) -> float | None:
        depths = self._over_waist("bottom")
        if not depths or self._front or not self.has_top:
            return None
        return -sum(depths) / len(depths)


def _flat(start: tuple[float, float], step: Sequence[Any]) -> list[tuple[float, float]]:
    if step[0] == "L":
        return [(step[1], step[2])]
    (x0, y0), (x1, y1, x2, y2, x3, y3) = start, step[1:]
    made = []
    for index in range(1, CHORDS + 1):
        t = index / CHORDS
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        made.append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    return made


def _drawn_on(level: Sequence[Sequence[float]]) -> list[tuple[float, float]]:
    """The level, a little longer at both ends, so that what stops on the outline is measured to it."""
    first, second, last, before = level[0], level[1], level[-1], level[-2]
    return [_away(second, first), *[(x, y) for x, y in level], _away(before, last)]


def _away(inner: Sequence[float], end: Sequence[float]) -> tuple[float, float]:
    length = math.dist(inner, end) or 1.0
    part = BEYOND_MM / length
    return end[0] + (end[0] - inner[0]) * part, end[1] + (end[1] - inner[1]) * part
