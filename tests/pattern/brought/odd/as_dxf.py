"""The halves as strangers save them in DXF: old and new forms, units, blocks, layers, splines."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import Any

import ezdxf
from halves import HALVES, IN_MM, OddFile, Run, box, laid, points
from shapely import Polygon

from diagnose.pattern.geometry.bezier import point_at
from diagnose.pattern.outline import Cubic, Line, Segment

__all__ = ["cad"]


Draw = Callable[[Any, int, Run], object]


def _dxf(runs: Sequence[Run], draw: Draw, version: str = "R2000", unit: int = 4) -> bytes:
    """The file, each piece drawn by `draw`; the old form names no unit."""
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = 0 if version == "R12" else unit
    for n, run in enumerate(runs):
        draw(document, n, run)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def _spots(run: Sequence[Segment], per_mm: float) -> list[tuple[float, float]]:
    return [(p.x * per_mm, p.y * per_mm) for p in points(run)]


def cad(name: str) -> Iterable[OddFile]:
    runs, half = laid(name), HALVES[name]

    def saved(way: str, data: bytes, told: str = "", **remedy: object) -> OddFile:
        return OddFile(name, way, "drawing.dxf", data, told, remedy)

    def old(per_mm: float) -> Draw:
        return lambda document, n, run: document.modelspace().add_polyline2d(_spots(run, per_mm), close=True)

    def light(per_mm: float) -> Draw:
        return lambda document, n, run: document.modelspace().add_lwpolyline(_spots(run, per_mm), close=True)

    yield saved("R12 polylines in inches, no unit", _dxf(runs, old(1 / IN_MM), "R12"), unit="in")
    yield saved("R12 polylines in mm, told", _dxf(runs, old(1.0), "R12"), "mm")
    yield saved("metres", _dxf(runs, light(1e-3), unit=6))

    def block(document: Any, n: int, run: Run) -> None:
        """Each piece a block, drawn mirrored or turned and set in so that it lies right."""
        made = document.blocks.new(half.names[n].upper().replace(" ", "_"))
        left = box(run)[0]
        way = -1.0 if n % 2 else 1.0
        made.add_lwpolyline([(way * (x - left), y) for x, y in _spots(run, 1.0)], close=True)
        document.modelspace().add_blockref(made.name, (left, 0.0), dxfattribs={"xscale": way, "layer": "PATTERN"})

    yield saved("pieces as blocks, some mirrored", _dxf(runs, block))

    def numbered(document: Any, n: int, run: Run) -> None:
        space = document.modelspace()
        grown = Polygon(points(run, 0.3)).buffer(10.0, join_style="mitre").exterior.coords[:-1]
        space.add_lwpolyline(grown, close=True, dxfattribs={"layer": "1"})
        space.add_lwpolyline(_spots(run, 1.0), close=True, dxfattribs={"layer": "14"})
        left, low, right, high = box(run)
        space.add_line(((left + right) / 2, low + 50), ((left + right) / 2, high - 50), dxfattribs={"layer": "7"})
        space.add_text(f"Piece Name: {half.names[n]}", dxfattribs={"layer": "1", "insert": ((left + right) / 2, 20.0)})

    yield saved("layers by number", _dxf(runs, numbered))

    def splined(document: Any, n: int, run: Run) -> None:
        space = document.modelspace()
        for one in run:
            if isinstance(one, Line):
                space.add_line(one.start, one.end)
        for part in _curves(run):
            fits = [p for s in part for p in (s.start, point_at(s, 1 / 3), point_at(s, 2 / 3))]
            space.add_spline([(*p, 0.0) for p in (*fits, part[-1].end)])

    yield saved("splines laid through points", _dxf(runs, splined, unit=4))

    def doubled(document: Any, n: int, run: Run) -> None:
        space = document.modelspace()
        spots = _spots(run, 0.1)
        for a, b in [*pairwise([*spots, spots[0]])][::-1]:
            space.add_line(a, b)
        space.add_line(spots[0], spots[1])

    yield saved("lines in centimetres, one of them twice", _dxf(runs, doubled, unit=5))
    yield saved("inches, by a maker who says cm", _dxf(runs, light(1 / IN_MM), unit=1), "cm")


def _curves(run: Sequence[Segment]) -> list[list[Segment]]:
    """The stretches of curves that run on."""
    made: list[list[Segment]] = [[]]
    for one in run:
        if isinstance(one, Cubic):
            made[-1].append(one)
        elif made[-1]:
            made.append([])
    return [part for part in made if part]
