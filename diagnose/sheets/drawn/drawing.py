"""One neutral drawing that every output draws its own way: layers of marks in mm, y upwards.

Nothing here knows of SVG, paper sizes or screens. A writer goes through the layers in order and draws each mark with
the layer's pen. Its contract is the three kinds of `Plain`, to which `plain_marks` brings all others: it tells them
apart by `match`, and mypy refuses one that passes a kind over.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import Literal

import shapely
from msgspec import Struct, field
from msgspec.structs import replace
from shapely.geometry import LineString, Polygon

from diagnose.pattern.geometry.bezier import Box, box_of, flatten, moved
from diagnose.pattern.geometry.plane import Affine, add, distance, scaled, shift, spot, sub, turn, turned, unit
from diagnose.pattern.outline import Cubic, Line, Point, Segment
from diagnose.sheets.drawn.letters import words_wide

__all__ = [
    "ASCENT", "DESCENT", "UNSHIFTED", "Anchor", "Area", "Drawing", "Ink", "Layer", "Mark", "Measure", "Path", "Pen",
    "Plain", "Text", "arrow_head", "box_round", "carried_mark", "circle", "clipped", "frame_of", "oblong",
    "plain_marks", "polyline", "shifted", "with_layers", "words_corners", "words_of",
]  # fmt: skip

Ink = Literal["ink", "soft", "accent"]
Anchor = Literal["start", "middle", "end"]
CLIP_CHORD_TOL_MM = 0.1
UNSHIFTED = Point(0.0, 0.0)
KAPPA = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)
"""How far the handles of a quarter circle reach, in its radius."""

ASCENT, DESCENT = 0.91, 0.22
"""How far letters reach above and below their base line, in their heights, as a page reckons with them."""


class Pen(Struct, frozen=True):
    """How a layer is drawn: line width and dashes in mm, and which of the three inks."""

    width_mm: float
    ink: Ink = "ink"
    dash_mm: tuple[float, ...] = ()


class Path(Struct, frozen=True):
    """A run of lines and cubics; `filled` ones (arrow heads) are filled with the pen's ink.

    `told` are words by key that say what it is, for programs that read a drawing back.
    """

    segments: tuple[Segment, ...]
    closed: bool = False
    name: str = ""
    filled: bool = False
    told: Mapping[str, str] = field(default_factory=dict)


class Area(Struct, frozen=True):
    """A tinted patch: rings of points, holes by the even-odd rule."""

    rings: tuple[tuple[Point, ...], ...]


class Text(Struct, frozen=True):
    """Words on the base line that begins (or is centred, or ends) at a point; turned counter-clockwise.

    `told` is what is said beside a drawing that has no room for them; words without it always stand.
    """

    words: str
    at: Point
    size_mm: float
    anchor: Anchor = "start"
    turn_deg: float = 0.0
    bold: bool = False
    told: str = ""


class Measure(Struct, frozen=True):
    """A dimension between two places, its words beyond the end `start`; of which edge, and at which place of it.

    `aside` is how far the words are shifted from where they would stand, to keep clear of others; without words its
    line stands alone. `told` is what is said beside a drawing that has no room for them.
    """

    start: Point
    end: Point
    words: str
    size_mm: float
    edge: str = ""
    at: str = ""
    aside: Point = UNSHIFTED
    told: str = ""

    @property
    def length_mm(self) -> float:
        """What is measured."""
        return distance(self.start, self.end)


Plain = Path | Area | Text
Mark = Plain | Measure


class Layer(Struct, frozen=True):
    """Marks drawn with one pen, under an id and a label that a person reads."""

    id: str
    label: str
    pen: Pen
    marks: tuple[Mark, ...]


class Drawing(Struct, frozen=True):
    """A drawing: its title, its layers from the lowest up, the rectangle that holds it, and what it had no room for."""

    title: str
    layers: tuple[Layer, ...]
    frame: Box
    left_out: tuple[str, ...] = ()

    def layer(self, id_: str) -> Layer | None:
        """The layer of that id."""
        return next((layer for layer in self.layers if layer.id == id_), None)


def polyline(
    points: Iterable[Point], name: str = "", *, closed: bool = False, told: Mapping[str, str] | None = None
) -> Path:
    """A path of straight lines through the points."""
    line = tuple(points)
    return Path(tuple(Line(a, b) for a, b in pairwise(line)), closed, name, told=told or {})


def oblong(box: Box, name: str = "") -> Path:
    """An upright rectangle."""
    corners = (Point(box.left, box.bottom), Point(box.right, box.bottom), Point(box.right, box.top),
               Point(box.left, box.top), Point(box.left, box.bottom))  # fmt: skip
    return polyline(corners, name, closed=True)


def circle(middle: Point, radius_mm: float) -> Path:
    """A circle, as near as four cubics come to one."""
    (x, y), r, k = middle, radius_mm, radius_mm * KAPPA
    return Path((
        Cubic(Point(x + r, y), Point(x + r, y + k), Point(x + k, y + r), Point(x, y + r)),
        Cubic(Point(x, y + r), Point(x - k, y + r), Point(x - r, y + k), Point(x - r, y)),
        Cubic(Point(x - r, y), Point(x - r, y - k), Point(x - k, y - r), Point(x, y - r)),
        Cubic(Point(x, y - r), Point(x + k, y - r), Point(x + r, y - k), Point(x + r, y)),
    ), closed=True)  # fmt: skip


def arrow_head(tip: Point, back: Point, size_mm: float) -> Path:
    """A filled head at `tip` of a line that comes from `back`."""
    away = scaled(unit(sub(back, tip)), size_mm)
    corners = (tip, *(add(tip, turned(away, angle)) for angle in (0.35, -0.35)), tip)
    return replace(polyline(corners, closed=True), filled=True)


def plain_marks(marks: Iterable[Mark]) -> Iterator[Plain]:
    """The marks with each dimension as its line, the slanting tick at each of its ends, and its words."""
    for mark in marks:
        if isinstance(mark, Measure):
            yield from _ticks(mark)
            if mark.words:
                yield words_of(mark)
        else:
            yield mark


def _ticks(measure: Measure) -> tuple[Path, ...]:
    along = unit(sub(measure.end, measure.start))
    slant = scaled(turned(along, 0.9), measure.size_mm * 0.35)
    ticks = tuple(polyline((sub(at, slant), add(at, slant))) for at in (measure.start, measure.end))
    return (polyline((measure.start, measure.end)), *ticks)


def shifted(layer: Layer, by: Point) -> Layer:
    """The layer with all its marks moved so far."""
    return replace(layer, marks=tuple(carried_mark(mark, shift(by)) for mark in layer.marks))


def carried_mark(mark: Mark, move: Affine, scale: float = 1.0) -> Mark:
    """The mark where the move puts it, its words at that scale: they go with the place where they begin, unturned."""
    match mark:
        case Path():
            return replace(mark, segments=tuple(moved(segment, move) for segment in mark.segments))
        case Area():
            return Area(tuple(tuple(move(point) for point in ring) for ring in mark.rings))
        case Text():
            return replace(mark, at=move(mark.at), size_mm=mark.size_mm * scale)
        case Measure():
            size_mm, aside = mark.size_mm * scale, scaled(mark.aside, scale)
            return replace(mark, start=move(mark.start), end=move(mark.end), size_mm=size_mm, aside=aside)


def clipped(drawing: Drawing) -> Drawing:
    """The drawing with nothing beyond its frame: lines and patches cut there, words that begin outside left out."""
    layers = (replace(layer, marks=tuple(_cut(layer.marks, drawing.frame))) for layer in drawing.layers)
    return Drawing(drawing.title, tuple(layer for layer in layers if layer.marks), drawing.frame)


def _cut(marks: Iterable[Mark], frame: Box) -> Iterator[Mark]:
    for mark in marks:
        match mark:
            case Path() if not mark.filled:
                yield from _cut_path(mark, frame)
            case Area():
                shape = Polygon(mark.rings[0], list(mark.rings[1:])).buffer(0.0).intersection(shapely.box(*frame))
                for part in getattr(shape, "geoms", [shape]):
                    if isinstance(part, Polygon) and not part.is_empty:
                        yield Area(tuple(_ring(ring) for ring in (part.exterior, *part.interiors)))
            case Text():
                if _within(words_corners(mark), frame):
                    yield mark
            case Path():
                if _within([mark.segments[0].start], frame):
                    yield mark
            case Measure():
                if _within((mark.start, mark.end), frame):
                    yield mark


def _within(points: Iterable[Point], frame: Box) -> bool:
    return all(frame.off(point) == 0.0 for point in points)


def _cut_path(path: Path, frame: Box) -> Iterator[Path]:
    """The path as it is where it lies inside; else its parts inside, as straight lines."""
    points = [point for segment in path.segments for point in flatten(segment, CLIP_CHORD_TOL_MM)]
    if len(points) < 2:
        return
    if _within(points, frame):
        yield path
        return
    inside = LineString(points).intersection(shapely.box(*frame))
    for part in getattr(inside, "geoms", [inside]):
        if isinstance(part, LineString) and not part.is_empty:
            yield polyline(_ring(part))


def _ring(line: LineString) -> tuple[Point, ...]:
    return tuple(Point(x, y) for x, y, *_ in line.coords)


def with_layers(drawing: Drawing, *more: Layer) -> Drawing:
    """The drawing with layers on top, its frame grown to hold them."""
    layers = (*drawing.layers, *more)
    return Drawing(drawing.title, layers, frame_of(layers, 0.0, drawing.frame))


def frame_of(layers: Iterable[Layer], margin_mm: float, also: Box | None = None) -> Box:
    """The rectangle round all marks of the layers, and a margin."""
    return box_round((mark for layer in layers for mark in layer.marks), margin_mm, also)


def box_round(marks: Iterable[Mark], margin_mm: float = 0.0, also: Box | None = None) -> Box:
    """The rectangle round the marks (words counted by their number of letters), and a margin."""
    points = [point for mark in plain_marks(marks) for point in _reach(mark)]
    if also is not None:
        points += [Point(also.left, also.bottom), Point(also.right, also.top)]
    return box_of([points or [Point(0.0, 0.0)]]).grown(margin_mm)


def _reach(mark: Plain) -> Iterator[Point]:
    match mark:
        case Path():
            for segment in mark.segments:
                yield from flatten(segment, CLIP_CHORD_TOL_MM)
        case Area():
            for ring in mark.rings:
                yield from ring
        case Text():
            yield from words_corners(mark)


def words_corners(text: Text) -> tuple[Point, Point, Point, Point]:
    """The corners of the oblong that words take up: lower and upper where they begin, the same where they end."""
    wide, (x, y), size = words_wide(text.words, text.size_mm, bold=text.bold), text.at, text.size_mm
    left = x if text.anchor == "start" else x - wide if text.anchor == "end" else x - wide / 2.0
    low, high, right = y - DESCENT * size, y + ASCENT * size, left + wide
    corners = spot((left, low)), spot((left, high)), spot((right, low)), spot((right, high))
    if not text.turn_deg:
        return corners
    about = turn(text.at, math.radians(text.turn_deg))
    a, b, c, d = (about(corner) for corner in corners)
    return a, b, c, d


def words_of(measure: Measure) -> Text:
    """The words of a dimension, beyond its start and away from its line."""
    out = unit(sub(measure.start, measure.end))
    at = add(add(measure.start, scaled(out, measure.size_mm * 0.6)), measure.aside)
    anchor: Anchor = "start" if out.x > 0.35 else "end" if out.x < -0.35 else "middle"
    drop = -0.35 if abs(out.y) < 0.6 else 0.1 if out.y > 0 else -0.8
    at = Point(at.x, at.y + drop * measure.size_mm)
    return Text(measure.words, at, measure.size_mm, anchor=anchor, bold=True, told=measure.told)
