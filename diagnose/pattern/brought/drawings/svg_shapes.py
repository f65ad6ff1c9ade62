"""The shapes of SVG as runs of lines and cubics: arcs within `ARC_TOL_MM`, other curves exactly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from xml.etree.ElementTree import Element

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.markup import local
from diagnose.pattern.brought.drawings.sketch import arc_parts, line_to
from diagnose.pattern.brought.drawings.svg_text import numbers_of, pixels, with_whole_numbers
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Segment

__all__ = ["SHAPES", "path_of", "runs_of"]

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")


def path_of(element: Element, at: str) -> Any:
    """The library's path of a shape that has been found sound."""
    import svgelements  # type: ignore[import-untyped]  # late: it takes longer to import than a pattern takes to read

    tag, sizes = local(element.tag), {}
    if tag == "path":
        return svgelements.Path(with_whole_numbers(element.get("d", "")))
    if tag in ("polyline", "polygon"):
        points = numbers_of(element.get("points", ""), at)
        pairs = list(zip(points[::2], points[1::2], strict=False))
        shape = svgelements.Polygon if tag == "polygon" else svgelements.Polyline
        return svgelements.Path(shape(pairs)) if len(pairs) > 1 else svgelements.Path()
    for key in ("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "x1", "y1", "x2", "y2"):
        if (found := pixels(element.get(key), f"{at}, {key}", None)) is not None:
            sizes[key] = found
    if any(sizes.get(key, 0.0) < 0.0 for key in ("width", "height", "r", "rx", "ry")):
        raise FitError.of(at, "It has a size below 0.", "Draw it anew.")
    made = {
        "rect": svgelements.Rect, "circle": svgelements.Circle, "ellipse": svgelements.Ellipse,
        "line": svgelements.SimpleLine,
    }  # fmt: skip
    return svgelements.Path(made[tag](**sizes))


def runs_of(path: Any, move: Affine, at: str) -> Iterator[tuple[list[Segment], bool]]:
    """The unbroken runs of a path, each with whether it is closed."""
    run: list[Segment] = []
    for step in path:
        kind = type(step).__name__
        if kind == "Move":
            if run:
                yield run, False
            run = []
            continue
        run += _segments(step, kind, move, at)
        if kind == "Close":
            yield run, True
            run = []
    if run:
        yield run, False


def _segments(step: Any, kind: str, move: Affine, at: str) -> list[Segment]:
    """One step of the library's path as lines and cubics."""
    a, b = step.start, step.end
    if kind == "CubicBezier":
        return [line_to((*a, *step.control1, *step.control2, *b), move, at)]
    if kind == "QuadraticBezier":
        c = step.control
        thirds = [(p + 2.0 * q) / 3.0 for p, q in ((a.x, c.x), (a.y, c.y), (b.x, c.x), (b.y, c.y))]
        return [line_to((*a, *thirds, *b), move, at)]
    if kind == "Arc":
        stretch = max(abs(part) for part in move[:4]) * 1.5
        count = arc_parts(max(step.rx, step.ry) * stretch, step.sweep)
        return [one for cubic in step.as_cubic_curves(count) for one in _segments(cubic, "CubicBezier", move, at)]
    return [line_to((*a, *b), move, at)]
