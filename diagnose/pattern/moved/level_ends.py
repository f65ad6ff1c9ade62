"""Levels drawn just as far as the paper goes: what overhangs is trimmed, what stops short is drawn on straight."""

from __future__ import annotations

from itertools import pairwise

from diagnose.pattern.geometry.plane import add, distance, scaled, sub, unit
from diagnose.pattern.measure import LevelCut, cut_level
from diagnose.pattern.outline import Piece, Point

__all__ = ["reaching", "trimmed"]

ON_LINE_MM = 1e-6
Polyline = tuple[Point, ...]


def trimmed(piece: Piece, line: Polyline) -> Polyline:
    """The level from where it first meets the inside of the piece to where it last leaves it; as it is if it misses."""
    return _trimmed(cut_level(piece, line), line)


def _trimmed(cut: LevelCut, line: Polyline) -> Polyline:
    if not cut.parts:
        return line
    start, end = _same(cut.parts[0][0], line[0]), _same(cut.parts[-1][1], line[-1])
    on_start = [i for i, (a, b) in enumerate(pairwise(line)) if _between(a, b, start)]
    on_end = [i for i, (a, b) in enumerate(pairwise(line)) if _between(a, b, end)]
    return start, *line[on_start[0] + 1 : on_end[-1] + 1], end


def reaching(piece: Piece, line: Polyline) -> Polyline:
    """The level trimmed, and drawn on at an end that stops short of the outline."""
    cut = cut_level(piece, line)
    if cut.short_start > 0.0:
        line = (_on(line[1], line[0], cut.short_start), *line[1:])
    if cut.short_end > 0.0:
        line = (*line[:-1], _on(line[-2], line[-1], cut.short_end))
    return trimmed(piece, line) if cut.short_start or cut.short_end else _trimmed(cut, line)


def _on(inner: Point, end: Point, by_mm: float) -> Point:
    return add(end, scaled(unit(sub(end, inner)), by_mm))


def _same(point: Point, old: Point) -> Point:
    """The old point where the new one is a rounding away from it."""
    return old if distance(point, old) <= ON_LINE_MM else point


def _between(a: Point, b: Point, point: Point) -> bool:
    return distance(a, point) + distance(point, b) - distance(a, b) <= ON_LINE_MM
