"""The halves as strangers draw them in SVG: transforms, nested pages, shapes of every kind, marks and clutter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from halves import HALVES, IN_MM, OddFile, box, laid, points
from shapely import LineString, Polygon

from diagnose.pattern.geometry.bezier import flatten, moved, reverse
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Line, Point, Segment

__all__ = ["drawings"]


def _at(point: Point, per_mm: float) -> str:
    return f"{point.x * per_mm:.4f},{-point.y * per_mm:.4f}"


def _d(run: Sequence[Segment], per_mm: float = 1.0, *, shut: bool = True) -> str:
    steps = [
        f"L{_at(s.end, per_mm)}" if isinstance(s, Line)
        else f"C{_at(s.c1, per_mm)} {_at(s.c2, per_mm)} {_at(s.end, per_mm)}" for s in run
    ]  # fmt: skip
    return f"M{_at(run[0].start, per_mm)} {' '.join(steps)}{'Z' if shut else ''}"


def _relative(run: Sequence[Segment]) -> str:
    """The outline in relative steps, numbers run together as some programs write them."""

    def by(a: Point, *others: Point) -> str:
        numbers = [value for p in others for value in (p.x - a.x, a.y - p.y)]
        return "".join(f"{v:.4f}" if v < 0 or n == 0 else f",{v:.4f}" for n, v in enumerate(numbers))

    steps = [f"l{by(s.start, s.end)}" if isinstance(s, Line) else f"c{by(s.start, s.c1, s.c2, s.end)}" for s in run]
    return f"M{run[0].start.x:.4f},{-run[0].start.y:.4f}{''.join(steps)}z"


def _svg(*body: str, page: str = 'width="1000mm" height="700mm" viewBox="-100 -350 1000 700"', head: str = "") -> bytes:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" '
        f'xmlns:xlink="http://www.w3.org/1999/xlink" {page}>{head}{"".join(body)}</svg>'
    ).encode()


def _paths(runs: Iterable[Sequence[Segment]], per_mm: float = 1.0, more: str = "") -> list[str]:
    return [f'<path {more} d="{_d(run, per_mm)}"/>' for run in runs]


def _grown(run: Sequence[Segment], mm: float, more: str = "") -> str:
    ring = Polygon(points(run, 0.3)).buffer(mm, join_style="mitre").exterior.coords
    return f'<path {more} d="M' + " L".join(f"{x:.3f} {-y:.3f}" for x, y in ring) + ' Z"/>'


def _stroked(run: Sequence[Segment], mm: float) -> str:
    """The outline's line made a filled shape of that width: a ring with a hole."""
    spots = points(run, 0.05)
    band = LineString([*spots, spots[0], spots[1]]).buffer(mm / 2.0, join_style="mitre", cap_style="flat")
    rings = [band.exterior, *band.interiors]
    assert len(rings) == 2
    parts = ("M" + " L".join(f"{x:.3f} {-y:.3f}" for x, y in ring.coords[:-1]) + " Z" for ring in rings)
    return f'<path fill="black" fill-rule="evenodd" d="{" ".join(parts)}"/>'


def _arrow(run: Sequence[Segment]) -> str:
    """A grain line with heads at both ends, one path of three strokes."""
    left, low, right, high = box(run)
    x, a, b = (left + right) / 2.0, low + 60.0, high - 60.0
    return (
        f'<path d="M{x:.1f} {-a:.1f} L{x:.1f} {-b:.1f} M{x - 4:.1f} {-a - 6:.1f} L{x:.1f} {-a:.1f} '
        f'L{x + 4:.1f} {-a - 6:.1f} M{x - 4:.1f} {-b + 6:.1f} L{x:.1f} {-b:.1f} L{x + 4:.1f} {-b + 6:.1f}"/>'
    )


def _word(text: str, x: float, y: float, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{-y:.1f}" {more}>{text}</text>'


def _band(ends: Sequence[tuple[float, float]], mm: float) -> str:
    """A straight line made a filled shape of that width."""
    ring = LineString([(x, -y) for x, y in ends]).buffer(mm / 2.0, cap_style="flat").exterior.coords
    return '<polygon points="' + " ".join(f"{x:.3f},{y:.3f}" for x, y in ring[:-1]) + '"/>'


def _letters(text: str, x: float, y: float, tall: float) -> str:
    """Words made shapes: each letter a closed path, every other one with a hole."""
    parts = []
    for n, _ in enumerate(text.replace(" ", "")):
        at, w, h = x + n * tall * 0.8, tall * 0.6, tall
        parts.append(f"M{at:.2f} {-y:.2f}h{w:.2f}v{-h:.2f}h{-w:.2f}z")
        if n % 2:
            parts.append(f"M{at + w / 4:.2f} {-y - h / 4:.2f}v{-h / 2:.2f}h{w / 2:.2f}v{h / 2:.2f}z")
    return f'<path d="{" ".join(parts)}"/>'


def _rounded(run: Sequence[Segment], mm: float) -> str:
    """The outline with its corners rounded a little, as tracing and pens do."""
    ring = Polygon(points(run, 0.05)).buffer(-mm).buffer(mm).exterior.coords
    return '<path d="M' + " L".join(f"{x:.3f} {-y:.3f}" for x, y in ring) + ' Z"/>'


def _plain(name: str) -> Iterable[tuple[str, bytes]]:
    """Ways of saving the outlines alone."""
    runs = laid(name)
    mirrored = [[moved(s, Affine(xx=-1.0)) for s in run] for run in runs]
    short = [[*run[:-1], run[-1]._replace(end=Point(run[-1].end.x + 0.4, run[-1].end.y + 0.4))] for run in runs]
    loose = [s if n % 2 else reverse(s) for run in runs for n, s in enumerate(run)]
    front = [reverse(moved(s, Affine(xx=-1.0, dx=2 * box(runs[0])[0]))) for s in runs[0][::-1]]
    yield "relative steps run together", _svg(*(f'<path d="{_relative(run)}"/>' for run in runs))
    yield (
        "polygons of many points, corners twice",
        _svg(
            *(
                '<polygon points="' + " ".join(f"{p.x:.3f},{-p.y:.3f}" for s in run for p in flatten(s, 0.05)) + '"/>'
                for run in runs
            )
        ),
    )
    yield (
        "groups turned and turned back",
        _svg(
            *(
                '<g transform="translate(40 10) rotate(90)"><g transform="rotate(-90) scale(2)">'
                f'<path transform="scale(.5)" d="{_d(run)}"/></g></g>'
                for run in runs
            )
        ),
    )
    yield "drawn mirrored, and mirrored by its group", _svg('<g transform="scale(-1,1)">', *_paths(mirrored), "</g>")
    yield (
        "a nested page in centimetres",
        _svg(
            '<svg x="1in" y="1in" width="30in" height="25in" viewBox="-10 -30 76.2 63.5">',
            *_paths(runs, 0.1),
            "</svg>",
            page='width="36in" height="30in" viewBox="0 0 3456 2880"',
        ),
    )
    yield (
        "a page in points",
        _svg(*_paths(runs, 72 / IN_MM), page='width="2880pt" height="2160pt" viewBox="-200 -1000 2880 2160"'),
    )
    yield "outlines that nearly close", _svg(*(f'<path d="{_d(run, shut=False)}"/>' for run in short))
    yield (
        "each line by itself, any way round, some twice",
        _svg(*(f'<path d="{_d([s], shut=False)}"/>' for s in loose[::3] + loose[1::3] + loose[2::3] + loose[:4])),
    )
    yield "outlines made filled shapes, half a millimetre wide", _svg(*(_stroked(run, 0.5) for run in runs))
    yield "outlines made filled shapes, two millimetres wide", _svg(*(_stroked(run, 2.0) for run in runs))
    yield "corners rounded by a pen", _svg(*(_rounded(run, 0.6) for run in runs))
    yield "all outlines in one path", _svg(f'<path d="{" ".join(_d(run) for run in runs)}"/>')
    yield "a whole front", _svg(*_paths([[*runs[0][:-1], *front[1:]], *runs[1:]]))


def _marked(name: str) -> Iterable[tuple[str, bytes]]:
    """Ways of drawing what lies beside and on the outlines."""
    runs, half = laid(name), HALVES[name]
    boxes = [box(run) for run in runs]
    end = boxes[-1][2]
    mirrored = [[moved(s, Affine(xx=-1.0)) for s in run] for run in runs]
    yield (
        "names turned along the panels",
        _svg(
            *_paths(runs),
            *(
                f'<text transform="translate({(b[0] + b[2]) / 2:.1f} {-b[1] - 100:.1f}) rotate(-90)">'
                f'<tspan x="0" y="0">{text}</tspan><tspan x="0" dy="12">cut 2</tspan></text>'
                for text, b in zip(half.names, boxes, strict=True)
            ),
        ),
    )
    yield (
        "dashed cutting lines outside",
        _svg(*(_grown(run, 15.0, 'stroke-dasharray="6 3"') for run in runs), *_paths(runs)),
    )
    yield (
        "dashed stitching lines inside",
        _svg(*(_grown(run, 10.0) for run in runs), *_paths(runs, more='stroke-dasharray="4,2" class="stitch"')),
    )
    yield "arrows for the grain", _svg(*_paths(runs), *(_arrow(run) for run in runs))
    lines = [("UNDERBUST", half.heights[3]), ("WAIST", 0.0), ("HIP", half.heights[1])]
    yield (
        "three level lines across all, words at the left margin",
        _svg(
            *_paths(runs),
            *(f'<line x1="-60" y1="{-up}" x2="{end + 30:.1f}" y2="{-up}"/>' for _, up in lines),
            *(_word(text, -95.0, up + 2.0) for text, up in lines),
        ),
    )
    stops = [-40.0, *(b[0] + 20.0 for b in boxes), end + 20.0]
    broken = [f'<polyline points="{a:.1f},0 {b:.1f},0"/>' for a, b in pairwise(stops)]
    yield "one level line in pieces", _svg(*_paths(runs), *broken, _word("waist", end + 24.0, 0.0))
    yield (
        "all made filled shapes, the waist line too",
        _svg(*(_stroked(run, 1.0) for run in runs), *(_band([(b[0], 0.0), (b[2], 0.0)], 1.0) for b in boxes)),
    )
    yield (
        "a frame, a title, a ruled scale and a square",
        _svg(
            f'<rect x="-90" y="-340" width="{end + 180:.0f}" height="600"/>',
            *_paths(runs),
            '<rect x="0" y="180" width="50" height="50"/>',
            _word("50 mm", 10.0, -200.0),
            *(f'<path d="M{100 + 10 * n} 200 v{-8 if n % 5 else -14}"/>' for n in range(11)),
            '<path d="M100 200h100"/>',
            _word("Corset for Wren, drafted in March, seam allowance not included", 220.0, -210.0),
        ),
    )
    yield (
        "hidden layers and things only kept",
        _svg(
            "<defs>",
            *_paths(mirrored),
            "</defs>",
            '<g style="display:none">',
            *_paths(runs, 1.3),
            "</g>",
            *_paths(runs),
        ),
    )
    yield (
        "words made shapes, on the panels and under them",
        _svg(
            *_paths(runs),
            *(_letters("side", b[0] + 15.0, 20.0, 12.0) for b in boxes),
            _letters("Corset for Wren drafted in March", 0.0, -230.0, 18.0),
        ),
    )
    yield (
        "eyelets drawn as circles",
        _svg(*_paths(runs), *(f'<circle cx="{end - 9:.1f}" cy="{-y}" r="2.5"/>' for y in range(-110, 140, 20))),
    )
    yield (
        "letters for names",
        _svg(
            *(f'<g id="g{n}" data-name="{"ABCDE"[n]}">{path}</g>' for n, path in list(enumerate(_paths(runs)))[::-1]),
            *(_word("ABCDE"[n], (b[0] + b[2]) / 2, 40.0) for n, b in enumerate(boxes)),
        ),
    )


def drawings(name: str) -> Iterable[OddFile]:
    """The half as it is drawn in SVG."""
    runs = laid(name)

    def saved(way: str, data: bytes, told: str = "", **remedy: object) -> OddFile:
        return OddFile(name, way, "drawing.svg", data, told, remedy)

    for way, data in (*_plain(name), *_marked(name)):
        yield saved(way, data)
    page = 'viewBox="-100 -350 1000 700"'
    yield saved("no size, the unit told", _svg(*_paths(runs), page=page), "mm")
    yield saved(
        "90 units to the inch, no size",
        _svg(*_paths(runs, 90 / IN_MM), page='viewBox="-200 -1200 3600 2400"'),
        labels={"scale": f"{IN_MM / 90:.6f} mm"},
    )
    left = [reverse(moved(s, Affine(xx=-1.0, dx=-60.0))) for s in runs[0][::-1]]
    yield saved("both fronts, and half of the rest", _svg(*_paths([left, *runs])), sure=("twins",))
    called = ("left front", "right front", *HALVES[name].names[1:])
    yield saved(
        "both fronts with their names, and half of the rest",
        _svg(*(f'<g id="{word}">{path}</g>' for word, path in zip(called, _paths([left, *runs]), strict=True))),
    )
    twin = '<use xlink:href="#half" transform="matrix(-1 0 0 1 -40 0)"/>'
    yield saved(
        "one half, the other its mirrored clone", _svg('<g id="half">', *_paths(runs), "</g>", twin), sure=("middle",)
    )
