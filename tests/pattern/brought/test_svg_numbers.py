"""Numbers, arcs and transforms of SVG beyond reason are refused or drawn, never an exception."""

from __future__ import annotations

from contextlib import suppress

import pytest
import svgpathtools
from drawings import svg

from diagnose.errors import FitError
from diagnose.pattern.brought import read_sketch
from diagnose.pattern.brought.sketch import Stroke
from diagnose.pattern.geometry.runs import run_length

BEYOND = [
    '<path d="M5e 3L2 3L5 6Z"/>',
    '<path d="M0 0A1e308 1e308 0 0 1 50 50L9 0Z"/>',
    '<path d="M0 0A1e-320 5 0 0 1 50 50L9 0Z"/>',
    '<path d="M0 0A1e29 1e29 1e30 1 1 50 50L9 0Z"/>',
    '<rect transform="rotate(1e308)" width="50" height="9"/>',
    '<rect transform="skewX(90) scale(1e29)" width="50" height="9"/>',
    '<rect transform="rotate(5e)" width="50" height="9"/>',
    '<rect width="5e" height="9"/>',
]


@pytest.mark.parametrize("body", BEYOND)
def test_numbers_beyond_reason_bring_a_sketch_or_an_error(body: str) -> None:
    strokes: tuple[Stroke, ...] = ()
    with suppress(FitError):
        strokes = read_sketch(svg(body), "x.svg").strokes
    assert all(abs(p.x) < 1e6 and abs(p.y) < 1e6 for stroke in strokes for p in (stroke.start, stroke.end))


@pytest.mark.parametrize(
    "path",
    [
        "M10 80A45 45 0 0 0 55 125", "M10 80A45 45 0 1 1 55 125", "M10 80a45 20 30 1 0 55 25", "M0 0A1 1 0 0 1 90 0",
        "M0 0c10 0 20 10 20 20s10 20 20 20 10-5 20-5", "M0 0q10 0 20 20t20 20 9-9", "M3 3h40v20h-5.5v1e1z",
    ],
)  # fmt: skip
def test_oracle_lengths_of_paths_are_those_of_svgpathtools(path: str) -> None:
    mm = svgpathtools.parse_path(path).length(error=1e-9)
    (stroke,) = read_sketch(svg(f'<path d="{path}"/>'), "x.svg").strokes
    assert run_length(stroke.segments) == pytest.approx(mm, abs=2e-3)
