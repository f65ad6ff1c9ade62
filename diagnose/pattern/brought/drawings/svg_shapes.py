"""The shapes of SVG as runs of lines and cubics: arcs within `ARC_TOL_MM`, other curves exactly."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise
from xml.etree.ElementTree import Element

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.markup import local
from diagnose.pattern.brought.drawings.svg_text import Step, numbers_of, pixels, read_path
from diagnose.pattern.brought.sketch import arc_parts, line_to
from diagnose.pattern.geometry.plane import Affine, add, scaled, sub
from diagnose.pattern.outline import Point, Segment

__all__ = ["SHAPES", "runs_of", "steps_of"]

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
ORIGIN = Point(0.0, 0.0)
_SIZES: Mapping[str, Sequence[str]] = {
    "rect": ("x", "y", "width", "height", "rx", "ry"), "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"), "line": ("x1", "y1", "x2", "y2"),
}  # fmt: skip
_NO_LESS_THAN_0 = ("width", "height", "r", "rx", "ry")
Controls = tuple[Point, ...]


def steps_of(element: Element, at: str) -> list[Step]:
    """The shape as the steps of a path.

    Raises:
        FitError: when it is not sound, or too long; `at` is its place in messages.
    """
    tag = local(element.tag)
    if tag == "path":
        return read_path(element.get("d", ""), at)
    if tag in ("polyline", "polygon"):
        points = numbers_of(element.get("points", ""), at)
        pairs = list(zip(points[::2], points[1::2], strict=False))
        lines = [Step("M" if n == 0 else "L", pair) for n, pair in enumerate(pairs)]
        return [*lines, *([Step("Z", ())] if tag == "polygon" and lines else [])] if len(pairs) > 1 else []
    sizes = {key: found for key in _SIZES[tag] if (found := pixels(element.get(key), f"{at}, {key}", None)) is not None}
    if any(sizes.get(key, 0.0) < 0.0 for key in _NO_LESS_THAN_0):
        raise FitError.of(at, "It has a size below 0.", "Draw it anew.", code="below-nothing")
    return _SHAPES[tag](sizes)


def _line(sizes: Mapping[str, float]) -> list[Step]:
    x1, y1, x2, y2 = (sizes.get(key, 0.0) for key in ("x1", "y1", "x2", "y2"))
    return [Step("M", (x1, y1)), Step("L", (x2, y2))]


def _rect(sizes: Mapping[str, float]) -> list[Step]:
    x, y, wide, high = (sizes.get(key, 0.0) for key in ("x", "y", "width", "height"))
    if not wide or not high:
        return []
    rx, ry = sizes.get("rx", sizes.get("ry", 0.0)), sizes.get("ry", sizes.get("rx", 0.0))
    rx, ry = min(rx, wide / 2.0), min(ry, high / 2.0)
    if not rx or not ry:
        return [Step("M", (x, y)), Step("h", (wide,)), Step("v", (high,)), Step("h", (-wide,)), Step("Z", ())]
    arcs = [Step("a", (rx, ry, 0.0, 0.0, 1.0, dx, dy)) for dx, dy in ((rx, ry), (-rx, ry), (-rx, -ry), (rx, -ry))]
    across, down = wide - 2.0 * rx, high - 2.0 * ry
    return [
        Step("M", (x + rx, y)), Step("h", (across,)), arcs[0], Step("v", (down,)), arcs[1], Step("h", (-across,)),
        arcs[2], Step("v", (-down,)), arcs[3], Step("Z", ()),
    ]  # fmt: skip


def _ellipse(sizes: Mapping[str, float]) -> list[Step]:
    x, y = sizes.get("cx", 0.0), sizes.get("cy", 0.0)
    rx, ry = sizes.get("rx", sizes.get("r", 0.0)), sizes.get("ry", sizes.get("r", 0.0))
    if not rx or not ry:
        return []
    halves = [Step("a", (rx, ry, 0.0, 0.0, 1.0, dx, 0.0)) for dx in (-2.0 * rx, 2.0 * rx)]
    return [Step("M", (x + rx, y)), *halves, Step("Z", ())]


_SHAPES: Mapping[str, Callable[[Mapping[str, float]], list[Step]]] = {
    "line": _line, "rect": _rect, "circle": _ellipse, "ellipse": _ellipse,
}  # fmt: skip


def runs_of(steps: Sequence[Step], move: Affine, at: str) -> Iterator[tuple[list[Segment], bool]]:
    """The unbroken runs of a path, carried by the move, each with whether it is closed."""
    stretch = max(abs(part) for part in move[:4]) * 1.5
    run: list[Segment] = []
    begin = here = ORIGIN
    handle: tuple[str, Point] = ("", ORIGIN)
    for step in steps:
        letter = step.letter.lower()
        if letter == "m":
            if run:
                yield run, False
            run, begin = [], _there(step, here)[0]
            here = begin
        elif letter == "z":
            run.append(line_to((*here, *begin), move, at))
            yield run, True
            run, here = [], begin
        else:
            curves, handle_at = _drawn(step, here, handle, stretch=stretch)
            run += [line_to([number for point in curve for number in point], move, at) for curve in curves]
            here, handle = curves[-1][-1], (letter, handle_at)
            continue
        handle = ("", here)
    if run:
        yield run, False


def _there(step: Step, here: Point) -> list[Point]:
    """The points that the numbers of a step name, in pairs."""
    pairs = [Point(x, y) for x, y in zip(step.numbers[::2], step.numbers[1::2], strict=True)]
    return [add(here, pair) for pair in pairs] if step.letter.islower() else pairs


def _drawn(step: Step, here: Point, handle: tuple[str, Point], stretch: float) -> tuple[list[Controls], Point]:
    """One step as lines (two points) and cubics (four), and the handle from which a smooth step goes on."""
    letter, mirrored = step.letter.lower(), sub(scaled(here, 2.0), handle[1])
    if letter in "hv":
        value = step.numbers[0] + (here[letter == "v"] if step.letter.islower() else 0.0)
        end = Point(value, here.y) if letter == "h" else Point(here.x, value)
        return [(here, end)], end
    if letter == "a":
        by = _there(Step(step.letter, step.numbers[5:]), here)[0]
        return _arc(here, by, step.numbers, stretch=stretch), by
    points = _there(step, here)
    if letter == "s":
        points = [mirrored if handle[0] in ("c", "s") else here, *points]
    elif letter == "t":
        points = [mirrored if handle[0] in ("q", "t") else here, *points]
    if letter in "qt":
        c, end = points
        return [(here, _third(here, c), _third(end, c), end)], c
    return [(here, *points)], points[-2] if len(points) > 1 else points[-1]


def _third(a: Point, b: Point) -> Point:
    """Two thirds of the way: the cubic's handle of a quadratic curve."""
    return Point((a.x + 2.0 * b.x) / 3.0, (a.y + 2.0 * b.y) / 3.0)


def _arc(start: Point, end: Point, numbers: Sequence[float], stretch: float) -> list[Controls]:
    """An elliptical arc as cubics, its centre found from its ends; small radii are grown (SVG 1.1, appendix F.6)."""
    rx, ry, turned = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2])
    if start == end or rx < 1e-9 or ry < 1e-9:
        return [(start, end)]
    cos, sin = math.cos(turned), math.sin(turned)
    dx, dy = (start.x - end.x) / 2.0, (start.y - end.y) / 2.0
    x, y = (cos * dx + sin * dy) / rx, (cos * dy - sin * dx) / ry  # half the chord, where the ellipse is a unit circle
    half = math.hypot(x, y)
    if half > 1.0:
        rx, ry, x, y, half = rx * half, ry * half, x / half, y / half, 1.0
    if half < 1e-9:
        return [(start, end)]
    off = math.sqrt(max(0.0, 1.0 - half * half)) / half * (-1.0 if numbers[3] == numbers[4] else 1.0)
    cx, cy = off * y, -off * x
    first = math.atan2(y - cy, x - cx)
    sweep = (math.atan2(-y - cy, -x - cx) - first) % math.tau - (0.0 if numbers[4] else math.tau)
    count = arc_parts(max(rx, ry) * stretch, sweep)
    middle = Point((start.x + end.x) / 2.0 + cos * cx * rx - sin * cy * ry,
                   (start.y + end.y) / 2.0 + sin * cx * rx + cos * cy * ry)  # fmt: skip
    to_page = Affine(cos * rx, -sin * ry, sin * rx, cos * ry, *middle)
    angles = [first + sweep * n / count for n in range(count + 1)]
    curves: list[Controls] = [tuple(to_page(point) for point in _unit_arc(a, b)) for a, b in pairwise(angles)]
    curves[0] = (start, *curves[0][1:])
    curves[-1] = (*curves[-1][:-1], end)
    return curves


def _unit_arc(a: float, b: float) -> Controls:
    """The cubic nearest to the arc of the unit circle from one angle to the other."""
    arm = 4.0 / 3.0 * math.tan((b - a) / 4.0)
    (ca, sa), (cb, sb) = (math.cos(a), math.sin(a)), (math.cos(b), math.sin(b))
    return Point(ca, sa), Point(ca - arm * sa, sa + arm * ca), Point(cb + arm * sb, sb - arm * cb), Point(cb, sb)
