"""What a drawing brought by the maker holds, whatever its file form: strokes, words and dots in mm, y upwards.

A reader of a file form makes a `Sketch`; everything after it (joining, corners, naming) looks at sketches alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.geometry.bezier import Box, box_of, moved
from diagnose.pattern.geometry.plane import Affine, distance
from diagnose.pattern.outline import Along, Cubic, Line, Point, Segment
from diagnose.pattern.tolerances import LEAST_STEP_MM, MOST_SEGMENTS
from diagnose.units import LONGEST_MM, Unit

__all__ = [
    "ARC_TOL_MM", "LARGEST_FILE", "LONGEST_DATA", "MOST_DEPTH", "MOST_ELEMENTS", "MOST_IN_A_LINE", "MOST_STEPS", "Dot",
    "Kind", "Sketch", "Stroke", "Words", "arc_parts", "box_of_strokes", "carried", "line_to", "mirrored", "rescaled",
    "taken_for", "too_many", "without_idle_steps",
]  # fmt: skip

LONGEST_DATA = 65_536
LARGEST_FILE = 20_000_000
"""Bytes; a larger file is not opened."""

MOST_DEPTH = 100
"""How deep elements, groups, blocks and repeated uses may lie inside one another."""

MOST_ELEMENTS = 20_000
"""Elements, with every repeated use counted."""

MOST_STEPS = 200_000
"""Steps of all paths together, with every repeated use counted."""

MOST_IN_A_LINE = MOST_SEGMENTS
"""Steps of one unbroken line: no edge may have more."""

ARC_TOL_MM = 0.002
"""How far the cubics that stand for an arc may lie off it."""

Kind = Literal[
    "", "outline", "sewing", "level", "channel", "slit", "grain", "notch", "landmark", "inside", "aside"
]  # fmt: skip
"""What a line is by its name or layer: `sewing` is a stitching line beside a cutting line, `aside` is not pattern."""


class Stroke(Along, frozen=True):
    """One unbroken run of segments, with what its names say of it.

    `piece` and `part` (an edge, a station, a channel …) are empty where no name tells. `element` is the same for all
    runs of one element of the drawing; 0 where each was drawn by itself.
    """

    segments: tuple[Segment, ...]
    closed: bool = False
    kind: Kind = ""
    piece: str = ""
    part: str = ""
    data: Mapping[str, str] = field(default_factory=dict)
    element: int = 0


class Words(Struct, frozen=True):
    """Text that stands somewhere on the drawing."""

    text: str
    at: Point
    kind: Kind = ""


class Dot(Struct, frozen=True):
    """A single point: a drill hole, a notch."""

    at: Point
    kind: Kind = ""
    piece: str = ""
    part: str = ""


class Sketch(Struct, frozen=True):
    """One drawing: its name, what is on it, how many mm a unit of the file stands for, and what was presumed.

    `has_unit` says whether the file names that unit itself; `asks` is what is to be asked of it where it does not.
    """

    name: str
    strokes: tuple[Stroke, ...]
    words: tuple[Words, ...] = ()
    dots: tuple[Dot, ...] = ()
    unit_mm: float = 1.0
    said: tuple[str, ...] = ()
    has_unit: bool = True
    asks: tuple[Mistake, ...] = ()


def too_many(where: str, what: str, *, of_a_line: bool = False) -> FitError:
    """The refusal of a drawing, or of one line in it, of which there is too much."""
    do = "Simplify it; a pattern needs few." if of_a_line else "Keep only the pattern."
    return FitError.of(where, what, do, code="too-many")


def taken_for(unit: Unit) -> str:
    """What is said of a drawing that names no unit, where she does."""
    return f"One unit of the drawing was taken for 1 {unit}, as you say."


def box_of_strokes(strokes: Sequence[Stroke]) -> Box:
    """The box round the places at which segments end; where there are none, that of a point."""
    ends = [segment.end for stroke in strokes for segment in stroke.segments]
    return box_of([ends or [Point(0.0, 0.0)]])


def arc_parts(radius_mm: float, sweep_rad: float) -> int:
    """How many cubics draw an arc of that radius within `ARC_TOL_MM`.

    The best cubic of an angle θ strays by about R·(4/27)·sin⁶(θ/4)/cos²(θ/4).
    """
    parts = max(1, math.ceil(abs(sweep_rad) / (math.pi / 2.0)))
    while parts < MOST_DEPTH and _stray_mm(radius_mm, abs(sweep_rad) / parts) > ARC_TOL_MM:
        parts += 1
    return parts


def _stray_mm(radius_mm: float, angle_rad: float) -> float:
    return radius_mm * 4.0 / 27.0 * math.sin(angle_rad / 4.0) ** 6 / math.cos(angle_rad / 4.0) ** 2


def line_to(numbers: Iterable[float], move: Affine, where: str) -> Segment:
    """The segment whose points (two or four, as x, y, x, y …) are carried by the move.

    Raises:
        FitError: when a number of it is no coordinate of a paper pattern.
    """
    row = list(numbers)
    points = [move(Point(x, y)) for x, y in zip(row[::2], row[1::2], strict=True)]
    for point in points:
        if not (abs(point.x) <= LONGEST_MM and abs(point.y) <= LONGEST_MM):
            what = "A coordinate is not a number, or lies more than 100 m away."
            raise FitError.of(where, what, "Look at the unit, or draw the line anew.", code="out-of-range")
    return Line(*points) if len(points) == 2 else Cubic(*points)


def without_idle_steps(segments: Iterable[Segment]) -> tuple[Segment, ...]:
    """The run without the steps that go nowhere, each beginning exactly where the one before it ends."""
    kept: list[Segment] = []
    for segment in segments:
        begun = segment._replace(start=kept[-1].end) if kept else segment
        reach = [begun.end, *((begun.c1, begun.c2) if isinstance(begun, Cubic) else ())]
        if max(distance(begun.start, point) for point in reach) >= LEAST_STEP_MM:
            kept.append(begun)
    return tuple(kept)


def rescaled(sketch: Sketch, unit_mm: float) -> Sketch:
    """The sketch with a unit of the file standing for that many mm."""
    factor = unit_mm / sketch.unit_mm
    return replace(carried(sketch, Affine(xx=factor, yy=factor)), unit_mm=unit_mm)


def mirrored(sketch: Sketch) -> Sketch:
    """The sketch turned over, so that what lay on the right lies on the left."""
    return carried(sketch, Affine(xx=-1.0))


def carried(sketch: Sketch, move: Affine) -> Sketch:
    """The sketch with all that is on it carried by the move."""
    return replace(
        sketch,
        strokes=tuple(replace(s, segments=tuple(moved(one, move) for one in s.segments)) for s in sketch.strokes),
        words=tuple(replace(w, at=move(w.at)) for w in sketch.words),
        dots=tuple(replace(d, at=move(d.at)) for d in sketch.dots),
    )
