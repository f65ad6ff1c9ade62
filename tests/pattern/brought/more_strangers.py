"""Five more patterns as strangers save them, each in some twenty ways: bodies with straps and tabs, stays laced in
front over a stomacher, a gored corset, a bodice with its sleeve, stays of one panel to the half.

What each comes to is known from the stored pattern it was saved from.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache, partial
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace
from strangers import PATTERNS, Run, allowance, dxf, mirrored, path_data, svg

from diagnose.pattern.brought import load_pattern
from diagnose.pattern.brought.understood.levels import drawn_level
from diagnose.pattern.geometry.bezier import flatten, moved, reverse
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.measure import bounds, cut_level, garment_girth, outline_segments
from diagnose.pattern.outline import Line, Pattern, Point, Segment

__all__ = ["KNOWN", "Saved", "saved_files"]

ROOM_MM = 25.0
UNSIZED = 'viewBox="-400 -500 1800 1200"'
_svg = partial(svg, page=f'width="1800mm" height="1200mm" {UNSIZED}')


class Saved(Struct, frozen=True):
    """A pattern saved in one way, and what is told beside it."""

    pattern: str
    way: str
    file: str
    data: bytes
    closure: str
    unit: str = ""
    waist_mm: float = 0.0

    @property
    def name(self) -> str:
        return f"{self.pattern}, {self.way}"


KNOWN = ("boned-bodies", "front-laced-stays", "gored-corset", "sleeved-bodice", "one-panel-stays")


@cache
def pattern_of(name: str) -> Pattern:
    """The stored pattern; stays of one panel are those laced in front without their stomacher."""
    if name != "one-panel-stays":
        return load_pattern(PATTERNS / f"{name}.json")
    bodies = pattern_of("front-laced-stays")
    front, back = bodies.pieces[:2]
    return replace(bodies, name=name, pieces=(front, back), seams=bodies.seams[:1])


def _laid(pattern: Pattern, room: float = ROOM_MM, lift: float = 0.0) -> list[Affine]:
    """Where each piece is laid: one beside the other, in their order."""
    moves, x = [], 0.0
    for n, piece in enumerate(pattern.pieces):
        box = bounds(piece)
        moves.append(Affine(dx=x - box.left, dy=lift * (n % 2)))
        x += box.right - box.left + room
    return moves


def _runs(pattern: Pattern, room: float = ROOM_MM, lift: float = 0.0) -> list[Run]:
    moves = _laid(pattern, room, lift)
    return [
        [moved(one, move) for one in outline_segments(piece)]
        for piece, move in zip(pattern.pieces, moves, strict=True)
    ]  # fmt: skip


def _path(run: Run, per_mm: float = 1.0, *, shut: bool = True) -> str:
    return f'<path fill="none" d="{path_data(run, per_mm, shut=shut)}"/>'


def _line(points: Iterable[Point]) -> str:
    return f'<path d="M {" L ".join(f"{p.x:.3f} {-p.y:.3f}" for p in points)}"/>'


def _levels(pattern: Pattern, *stations: str) -> list[str]:
    rows = zip(pattern.pieces, _laid(pattern), strict=True)
    return [
        _line(move(point) for point in piece.levels[station])
        for piece, move in rows for station in stations if station in piece.levels
    ]  # fmt: skip


def _slits(pattern: Pattern, lift: float = 0.0) -> list[list[Point]]:
    rows = zip(pattern.pieces, _laid(pattern, lift=lift), strict=True)
    return [[move(point) for point in slit.line] for piece, move in rows for slit in piece.slits]


def _words(pattern: Pattern) -> list[str]:
    found = []
    for piece, move in zip(pattern.pieces, _laid(pattern), strict=True):
        box = bounds(piece)
        spot = move(Point((box.left + box.right) / 2.0, (box.bottom + 2.0 * box.top) / 3.0))
        found.append(f'<text x="{spot.x:.1f}" y="{-spot.y:.1f}">{piece.name}</text>')
    return found


def _table(pattern: Pattern, mark: str = ",", unit: float = 25.4, comma: str = ".", *, way: str = "") -> bytes:
    """The pattern as a table of its corners and of points on its curves. `way` is how it is spoilt."""
    named = {25.4: "in", 10.0: "cm", 1.0: "mm"}[unit]
    lines = [f"# unit: {named}"] if way != "bare" else []
    if pattern.closure != "back":
        lines.append(f"# closure: {pattern.closure}")
    heads = ["piece", "edge", "role", "out", "up", "kind"]
    low = min(bounds(piece).bottom for piece in pattern.pieces)
    lows = low if way == "hem" else 0.0
    for piece in pattern.pieces:
        for slit in piece.slits:
            spots = (";".join(f"{v / unit:.3f}".replace(".", comma) for v in (p.x, p.y - lows)) for p in slit.line)
            lines.append(f"# slit: {piece.name} {slit.name} {' '.join(spots)}")
    lines.append(mark.join(head for head in heads if way != "roleless" or head != "role"))
    for piece in pattern.pieces:
        rows = []
        for edge in piece.edges:
            points = [(p, True) for s in edge.segments for p in _on(s)]
            own = [*points[:-1], (points[-1][0], False)]
            if way == "begun":
                own = [(edge.start, False), *points[:-1]]
            for point, curve in own:
                up = point.y - (low if way == "hem" else 0.0)
                cells = [f"{point.x / unit:.3f}", f"{up / unit:.3f}"]
                rows.append([piece.name, edge.name, edge.role, *(cell.replace(".", comma) for cell in cells),
                             "curve" if curve else "corner"])  # fmt: skip
        if way == "clockwise":
            spots = [row[3:] for row in rows]
            rows = [[*row[:3], *spots[n - 1]] for n, row in reversed(list(enumerate(rows)))]
        lines += [mark.join(row[:2] + row[3:] if way == "roleless" else row) for row in rows]
    return "\n".join(lines).encode()


def _on(segment: Segment) -> list[Point]:
    """Points on a segment, its end last."""
    if isinstance(segment, Line):
        return [segment.end]
    points = flatten(segment, 0.4)
    return list(points[1:])


def _whole(pattern: Pattern) -> list[Run] | None:
    """Both halves of it, what lies on the fold drawn whole; None where a fold is no single upright line."""
    runs = _runs(pattern)
    made: list[Run] = []
    for piece, run in zip(pattern.pieces, runs, strict=True):
        folds = [edge for edge in piece.edges if edge.role == "fold"]
        if not folds:
            left = min(s.start.x for s in run)
            made += [mirrored(run, left - 400.0), run]
            continue
        return None
    return made


def _straight_mm(pattern: Pattern) -> float:
    """The girth of the whole straight across at 0, without what is made apart."""
    pieces = [one for one in pattern.pieces if "waist" in one.levels]
    laid = [(one, drawn_level(one, 0.0)) for one in pieces]
    return 2.0 * sum(cut_level(one, level).width for one, level in laid if level)


def _ways(name: str) -> Iterator[Saved]:
    pattern = pattern_of(name)
    runs = _runs(pattern)
    plain = [_path(run) for run in runs]
    names = [piece.name for piece in pattern.pieces]
    layers = [f'<g id="{one}">{path}</g>' for one, path in zip(names, plain, strict=True)]
    cuts = _slits(pattern)
    slits = [_line(cut) for cut in cuts]

    def saved(way: str, file: str, data: bytes, unit: str = "") -> Saved:
        # A table's waist is straight, at 0; what a drawing shows may be bent.
        is_straight = file.endswith(("csv", "tsv")) and "hem" not in way
        waist = _straight_mm(pattern) if is_straight else garment_girth(pattern, "waist")
        return Saved(name, way, file, data, pattern.closure, unit, waist or 0.0)

    yield saved("closed paths in a row", "a.svg", _svg(*plain, *slits))
    yield saved("layers with its names", "a.svg", _svg(*layers, *slits))
    yield saved("its names beside the pieces", "a.svg", _svg(*plain, *slits, *_words(pattern)))
    yield saved("level lines", "a.svg", _svg(*layers, *slits, *_levels(pattern, "underbust", "waist")))
    yield saved("a waist line on each piece", "a.svg", _svg(*layers, *slits, *_levels(pattern, "waist")))
    yield saved("cutting lines outside", "a.svg", _svg(*(allowance(run, 9.5) for run in runs), *layers, *slits))
    chopped = [_path([reverse(s) if n % 3 else s], shut=False) for run in runs for n, s in enumerate(run)]
    yield saved("outlines in strokes", "a.svg", _svg(*chopped[::2], *chopped[1::2], *slits, *_words(pattern)))
    flat = [[Line(a, b) for s in run for a, b in pairwise(flatten(s, 0.05))] for run in runs]
    yield saved("curves as short lines", "a.svg", _svg(
        *(f'<g id="{one}">{_path(run)}</g>' for one, run in zip(names, flat, strict=True)), *slits))  # fmt: skip
    lifted = zip(names, _runs(pattern, lift=60.0), strict=True)
    yield saved("pieces at two heights", "a.svg", _svg(
        *(f'<g id="{one}">{_path(run)}</g>' for one, run in lifted), *map(_line, _slits(pattern, 60.0))))  # fmt: skip
    yield saved("every piece twice over", "a.svg", _svg(*plain, *(
        _path([moved(s, Affine(dy=-600.0)) for s in run]) for run in runs), *slits))  # fmt: skip
    yield saved("a page without a size, told", "a.svg", _svg(*layers, *slits, page=UNSIZED), "mm")
    yield saved("a page without a size", "a.svg", _svg(*layers, *slits, page=UNSIZED))
    if slits:
        yield saved("its slits forgotten", "a.svg", _svg(*layers))
    yield saved("DXF in mm, by layers", "a.dxf", dxf(runs, 1.0, 4, layers=names, lines=cuts))
    yield saved("DXF in inches", "a.dxf", dxf(runs, 1 / 25.4, 1, poly=True, lines=cuts))
    yield saved("DXF without a unit, told", "a.dxf", dxf(runs, 0.1, None, poly=True, lines=cuts), "cm")
    yield saved("a table in inches", "a.csv", _table(pattern))
    yield saved("a table of centimetres, semicolons and commas", "a.csv", _table(pattern, ";", 10.0, ","))
    yield saved("a table of tabs", "a.tsv", _table(pattern, "\t"))
    yield saved("a clockwise table", "a.csv", _table(pattern, way="clockwise"))
    yield saved("a table begun at first corners", "a.csv", _table(pattern, way="begun"))
    yield saved("a table from the hem", "a.csv", _table(pattern, way="hem"))
    yield saved("a table without roles", "a.csv", _table(pattern, way="roleless"))
    yield saved("a table in cm without its unit", "a.csv", _table(pattern, unit=10.0, way="bare"))


def saved_files() -> list[Saved]:
    return [one for name in KNOWN for one in _ways(name)]
