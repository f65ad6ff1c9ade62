"""Patterns as strangers save them: some fifty files, one corset of known truth, each saved in a way of its own.

Every file is the bundled six-panel corset (or its outline re-drawn); what it should come to is therefore known: six
pieces in order, five seams, the lacing on the last, a waist of 23 in. Where a file can't be understood by itself, the
one remedy that its question should name stands beside it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path

import ezdxf
from msgspec import Struct, field
from shapely import Polygon

from diagnose.pattern.brought import load_pattern
from diagnose.pattern.geometry.bezier import flatten, moved, reverse, split
from diagnose.pattern.geometry.plane import Affine, turn
from diagnose.pattern.measure import bounds, outline_segments
from diagnose.pattern.outline import Cubic, Line, Pattern, Piece, Point, Segment

PATTERNS = Path(__file__).parents[3] / "cases" / "patterns"
WAIST_MM = 23.0 * 25.4
Run = Sequence[Segment]


class Stranger(Struct, frozen=True):
    """One file, the unit told with it, and the remedy that its question should name: a unit, a word,
    a scale, or the file put right."""

    name: str
    file: str
    data: bytes
    unit: str = ""
    remedy_unit: str = ""
    remedy: bytes = b""
    sure: tuple[str, ...] = ()
    scale_mm: float | None = None
    size: int = 0
    pieces: int = 6
    seams: int = 5
    tol_mm: float = 25.4 / 16
    asks: bool = field(default=False)


@cache
def corset() -> Pattern:
    return load_pattern(PATTERNS / "six-panel-corset.json")


def _runs(apart: float = 0.0, lift: Callable[[int], float] = lambda n: 0.0) -> list[Run]:
    """The outlines, laid farther apart and lifted."""
    return [
        [moved(one, Affine(dx=n * apart, dy=lift(n))) for one in outline_segments(piece)]
        for n, piece in enumerate(corset().pieces)
    ]


def path_data(run: Run, per_mm: float = 1.0, *, shut: bool = True) -> str:
    def at(*points: Point) -> str:
        return " ".join(f"{p.x * per_mm:.4f} {-p.y * per_mm:.4f}" for p in points)

    steps = [f"L {at(s.end)}" if isinstance(s, Line) else f"C {at(s.c1, s.c2, s.end)}" for s in run]
    return f"M {at(run[0].start)} {' '.join(steps)}{' Z' if shut else ''}"


PAGE = 'width="900mm" height="900mm" viewBox="-50 -300 900 900"'


def svg(*body: str, page: str = PAGE) -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{"".join(body)}</svg>'.encode()


def _paths(runs: Iterable[Run], per_mm: float = 1.0, more: str = "") -> list[str]:
    return [f'<path {more} fill="none" d="{path_data(run, per_mm)}"/>' for run in runs]


def _text(text: str, x: float, y: float) -> str:
    return f'<text x="{x:.1f}" y="{-y:.1f}">{text}</text>'


def _line(*at: tuple[float, float], per_mm: float = 1.0) -> str:
    points = " L ".join(f"{x * per_mm:.3f} {-y * per_mm:.3f}" for x, y in at)
    return f'<path d="M {points}"/>'


def mirrored(run: Run, axis: float) -> list[Segment]:
    return [reverse(one) for one in [moved(s, Affine(xx=-1.0, dx=2.0 * axis)) for s in run][::-1]]


def _middles() -> list[tuple[float, float, Piece]]:
    rows = []
    for piece in corset().pieces:
        box = bounds(piece)
        rows.append(((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0, piece))
    return rows


def _levels(*stations: str) -> list[str]:
    return [
        _line(*((p.x, p.y) for p in piece.levels[station])) for station in stations for piece in corset().pieces
    ]  # fmt: skip


def allowance(run: Run, mm: float) -> str:
    ring = [p for s in run for p in flatten(s, 0.3)[:-1]]
    grown = Polygon(ring).buffer(mm, join_style="mitre").exterior.coords
    return '<path d="M ' + " L ".join(f"{x:.3f} {-y:.3f}" for x, y in grown) + ' Z"/>'


def _chopped(run: Run, gap: float = 0.0) -> list[str]:
    """The outline as a stroke a step, ends a little apart, some of them the other way round."""
    parts = []
    for n, one in enumerate(run):
        stroke = moved(one, Affine(dx=gap * (-1) ** n))
        parts.append(f'<path d="{path_data([reverse(stroke) if n % 3 else stroke], shut=False)}"/>')
    return parts[::2] + parts[1::2]


def dxf(
    runs: Iterable[Run],
    per_mm: float,
    unit: int | None,
    *,
    layers: Sequence[str] = (),
    poly: bool = False,
    lines: Sequence[Sequence[Point]] = (),
) -> bytes:
    """Outlines as polylines or in lines and splines, each on its layer, and straight lines besides."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = unit or 0
    space = document.modelspace()
    for n, run in enumerate(runs):
        style = {"layer": layers[n] if layers else "0"}
        if poly:
            at = [(p.x * per_mm, p.y * per_mm) for s in run for p in flatten(s, 0.1)[:-1]]
            space.add_lwpolyline(at, close=True, dxfattribs=style)
            continue
        for one in run:
            points = [one.start, one.end] if isinstance(one, Line) else [one.start, one.c1, one.c2, one.end]
            at = [(p.x * per_mm, p.y * per_mm) for p in points]
            if len(at) == 2:
                space.add_line(*at, dxfattribs=style)
            else:
                space.add_open_spline(at, degree=3, dxfattribs=style)
    for line in lines:
        space.add_line(*((p.x * per_mm, p.y * per_mm) for p in (line[0], line[-1])))
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def _rows(mark: str = ",", unit: float = 25.4, comma: str = ".", *, clockwise: bool = False, **more: bool) -> bytes:
    """The corset as a point table. Without a word: in inches, no unit line, no seam line."""
    lines = [] if more.get("bare") else [f"# unit: {'in' if unit == 25.4 else 'cm' if unit == 10.0 else 'mm'}"]
    lines.append(mark.join(("piece", "edge", "role", "point", "out", "up", "kind")))
    low = min(bounds(piece).bottom for piece in corset().pieces)
    for piece in corset().pieces:
        rows = []
        for edge in piece.edges:
            role = "seam" if edge.role == "lacing" and more.get("unlaced") else edge.role
            for n, one in enumerate(edge.segments, 1):
                if more.get("lost") and piece.name == "p3" and edge.name == "back-seam" and abs(one.end.y) < 5.0:
                    continue
                kind = "curve" if isinstance(one, Cubic) and n < len(edge.segments) else "corner"
                x = one.end.x - (bounds(piece).left if more.get("own") else 0.0)
                y = one.end.y - (low if more.get("hem") else 0.0)
                rows.append([piece.name, edge.name, role, f"{x / unit:.3f}", f"{y / unit:.3f}", kind])
        if clockwise:
            corners = [row[3:] for row in rows]
            rows = [[*row[:3], *corners[n - 1]] for n, row in reversed(list(enumerate(rows)))]
        for count, row in enumerate(rows, 1):
            cells = [*row[:3], str(count), *(cell.replace(".", comma) for cell in row[3:5]), row[5]]
            lines.append(mark.join(cells))
    return "\n".join(lines).encode()


_NAMES = ("front", "side front", "side", "side back one", "side back", "back")


def _notched(run: Run) -> list[Segment]:
    """The outline with a notch cut 4 mm into its second curve."""
    made = list(run)
    before, rest = split(made[2], 0.4)
    gone, after = split(rest, 0.08)
    tip = Point((gone.start.x + gone.end.x) / 2.0 - 4.0, (gone.start.y + gone.end.y) / 2.0)
    made[2:3] = [before, Line(gone.start, tip), Line(tip, gone.end), after]
    return made


def _slanting() -> list[str]:
    """The pieces far apart, each turned, with a grain line turned alike."""
    body = []
    for n, (run, degrees) in enumerate(zip(_runs(200.0), (5.0, 30.0, -80.0, 12.0, 0.0, 45.0), strict=True)):
        x, y, _ = _middles()[n]
        move = turn(Point(x + 200.0 * n, y), math.radians(degrees))
        ends = [move(Point(x + 200.0 * n, y + up)) for up in (-60.0, 60.0)]
        body += [f'<path d="{path_data([moved(one, move) for one in run])}"/>', _line(*((p.x, p.y) for p in ends))]
    return body


def _left_and_right() -> bytes:
    """A table of both halves, the left one mirrored."""
    lines = _rows().decode().splitlines()
    cells = [line.split(",") for line in lines[2:]]
    out = [*lines[:2], *(",".join([f"{row[0]}-right", *row[1:]]) for row in cells)]
    for name in dict.fromkeys(row[0] for row in cells):
        rows = [row for row in cells if row[0] == name]
        for n, row in reversed(list(enumerate(rows))):
            x, y, kind = rows[n - 1][4:]
            out.append(",".join([f"{name}-left", row[1], row[2], str(len(rows) - n), f"{-float(x):.3f}", y, kind]))
    return "\n".join(out).encode()


@cache
def strangers() -> list[Stranger]:
    plain = _runs(8.0)
    named = [f'<g id="panel-{n}">{path}</g>' for n, path in enumerate(_paths(plain), 1)]
    last = bounds(corset().pieces[-1])
    both = [*(mirrored(run, -20.0) for run in plain), *plain]
    upset = [plain[n] for n in (3, 0, 5, 1, 4, 2)]
    words = [_text(f"Panel {n}", x + 8.0 * (n - 1), -215.0) for n, (x, _, _) in enumerate(_middles(), 1)]
    rows = [[moved(s, Affine(dx=-300.0 * (n > 2), dy=-450.0 * (n > 2))) for s in run] for n, run in enumerate(plain)]
    uneven = _runs(8.0, lambda n: 37.0 * (n % 3))
    whole = [*mirrored(plain[0], 0.0)[:-1], *plain[0][:-1]] if isinstance(plain[0][-1], Line) else plain[0]
    across = _line((-20.0, 0.0), (last.right + 80.0, 0.0))
    grain = [_line((x + 8.0 * n, y - 60.0), (x + 8.0 * n, y + 60.0)) for n, (x, y, _) in enumerate(_middles())]
    ticks = [_line((p.edges[0].end.x + 8 * n - 4, 40), (p.edges[0].end.x + 8 * n + 4, 40)) for n, p in
             enumerate(corset().pieces)]  # fmt: skip
    flat = [[Line(a, b) for s in run for a, b in pairwise(flatten(s, 0.05))] for run in plain]
    square = '<rect x="0" y="250" width="50.8" height="50.8"/>'
    turned = [mirrored(run, 300.0) for run in plain]
    back_first = [f'<g id="{name}">{path}</g>' for name, path in zip(
        _NAMES, _paths(turned), strict=True)]  # fmt: skip
    nested = [allowance(run, mm) for run in plain for mm in (8.0, 16.0)] + _paths(plain)
    cm = 'width="100%" height="100%" viewBox="-5 -30 90 90"'
    mm = 'viewBox="-50 -300 900 900"'
    return [
        Stranger("closed paths in a row", "a.svg", svg(*_paths(plain))),
        Stranger("layers named by number", "a.svg", svg(*named)),
        Stranger("labels beside the pieces", "a.svg", svg(*_paths(plain), *words)),
        Stranger("one waist line across all", "a.svg", svg(*_paths(plain), across)),
        Stranger("a waist line on each piece", "a.svg", svg(*_paths(_runs()), *_levels("waist"))),
        Stranger("three level lines", "a.svg", svg(*_paths(_runs()), *_levels("underbust", "waist", "hip"))),
        Stranger("grain lines", "a.svg", svg(*_paths(plain), *grain)),
        Stranger("ticks across the edges", "a.svg", svg(*_paths(plain), *ticks)),
        Stranger("cutting lines outside", "a.svg", svg(*(allowance(run, 12.7) for run in plain), *_paths(plain))),
        Stranger("cutting lines named apart", "a.svg", svg(
            *(f'<g id="cut {n}">{allowance(run, 15.0)}</g>' for n, run in enumerate(plain)), *named)),
        Stranger("outlines in strokes", "a.svg", svg(*(p for run in plain for p in _chopped(run)))),
        Stranger("strokes that nearly meet", "a.svg", svg(*(p for run in plain for p in _chopped(run, 0.15))),
                 tol_mm=4.0),
        Stranger("curves as short lines", "a.svg", svg(*_paths(flat))),
        Stranger("both halves", "a.svg", svg(*_paths(both)), sure=("middle",), asks=True),
        Stranger("both halves, and a whole front", "a.svg", svg(*_paths(
            [*(mirrored(run, 0.0) for run in plain[1:]), whole, *plain[1:]]))),
        Stranger("both halves, the back in the middle", "a.svg", svg(*(
            f'<g id="{name}{side}">{path}</g>'
            for side, runs in (("", plain), (" left", [mirrored(run, last.right + 70.0) for run in plain]))
            for name, path in zip(_NAMES, _paths(runs), strict=True)))),
        Stranger("both halves, words at their edges", "a.svg", svg(
            *_paths(both), _text("CF", -20.0, 50.0), _text("CB", last.right + 42.0, 50.0))),
        Stranger("from the back, words at its edges", "a.svg", svg(
            *_paths([mirrored(run, 300.0) for run in plain]), _text("CF", 595.0, 0.0), _text("CB", -85.0, 0.0))),
        Stranger("a waist line forgotten on one piece", "a.svg", svg(
            *_paths(_runs()), *_levels("waist")[:3], *_levels("waist")[4:])),
        Stranger("level lines on layers of their own", "a.svg", svg(
            *_paths(_runs()), f'<g id="Waist line">{"".join(_levels("waist"))}</g>',
            f'<g id="Hip">{"".join(_levels("hip"))}</g>')),
        Stranger("notches cut into the outline", "a.svg", svg(*_paths([_notched(run) for run in plain]))),
        Stranger("pieces that lie slanting, with their grain", "a.svg", svg(*_slanting())),
        Stranger("in pixels, 72 to the inch", "a.svg", svg(
            *_paths(plain, 72.0 / 25.4), page='width="2600" height="2600" viewBox="-150 -900 2600 2600"'),
            scale_mm=25.4 / 72.0, asks=True),
        Stranger("in pixels, by a maker who says that she works in inches", "a.svg", svg(
            *_paths(plain, 72.0 / 25.4), page='width="2600" height="2600" viewBox="-150 -900 2600 2600"'),
            unit="in", scale_mm=25.4 / 72.0, asks=True),
        Stranger("a whole front", "a.svg", svg(*_paths([whole, *plain[1:]]))),
        Stranger("every line twice", "a.svg", svg(*_paths(plain), *_paths(plain))),
        Stranger("every piece twice over", "a.svg", svg(*_paths(plain), *_paths(
            [[moved(s, Affine(dy=-450.0)) for s in run] for run in plain]))),
        Stranger("two rows", "a.svg", svg(*_paths(rows))),
        Stranger("at different heights", "a.svg", svg(*_paths(uneven))),
        Stranger("drawn in another order", "a.svg", svg(*_paths(upset))),
        Stranger("from the back", "a.svg", svg(*back_first)),
        Stranger("a frame and a test square", "a.svg", svg(
            '<rect x="-40" y="-260" width="850" height="700"/>', *_paths(plain), square, _text("2 in", 10.0, -275.0))),
        Stranger("a page without a size, in mm", "a.svg", svg(*_paths(plain), page=mm), remedy_unit="mm", asks=True),
        Stranger("a page without a size, in cm", "a.svg", svg(*_paths(plain, 0.1), page=cm),
                 remedy_unit="cm", asks=True),
        Stranger("no size, and the unit told", "a.svg", svg(*_paths(plain), page=mm), unit="mm"),
        Stranger("several sizes in one another", "a.svg", svg(*nested), size=1, asks=True),
        Stranger("DXF of lines and splines", "a.dxf", dxf(plain, 1.0, 4)),
        Stranger("DXF in inches", "a.dxf", dxf(plain, 1 / 25.4, 1, poly=True)),
        Stranger("DXF without a unit, in mm", "a.dxf", dxf(plain, 1.0, None, poly=True)),
        Stranger("DXF without a unit, in inches", "a.dxf", dxf(plain, 1 / 25.4, None, poly=True),
                 remedy_unit="in", asks=True),
        Stranger("DXF without a unit, told", "a.dxf", dxf(plain, 0.1, None, poly=True), unit="cm"),
        Stranger("a table in inches", "a.csv", _rows(), tol_mm=2.0),
        Stranger("a clockwise table", "a.csv", _rows(clockwise=True), tol_mm=2.0),
        Stranger("a table in cm without its unit", "a.csv", _rows(unit=10.0, bare=True),
                 remedy_unit="cm", tol_mm=2.0, asks=True),
        Stranger("semicolons and decimal commas", "a.csv", _rows(";", 10.0, ","), tol_mm=2.0),
        Stranger("tabs", "a.tsv", _rows("\t"), tol_mm=2.0),
        Stranger("a table from the hem", "a.csv", _rows(hem=True), tol_mm=2.0),
        Stranger("each piece from its own edge", "a.csv", _rows(own=True), tol_mm=2.0),
        Stranger("a table without a lacing edge", "a.csv", _rows(unlaced=True), tol_mm=2.0),
        Stranger("a table of left and right", "a.csv", _left_and_right(), tol_mm=2.0),
        Stranger("a forgotten waist row", "a.csv", _rows(lost=True), remedy=_rows(), tol_mm=2.0, asks=True),
        Stranger("a table in mm, told", "a.csv", _rows(unit=1.0, bare=True), unit="mm", tol_mm=2.0),
    ]  # fmt: skip
