"""An SVG drawing as a sketch: paths and shapes, groups, transforms, uses, view boxes, true units.

Only here is y turned upwards: x of the sketch is x of the drawing, y is less y, both in mm; the corner of the view box
moves nothing. Arcs become cubics within `ARC_TOL_MM`, other curves stay what they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from xml.etree.ElementTree import Element

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake, quoted
from diagnose.pattern.brought.drawings.markup import local, parse_markup
from diagnose.pattern.brought.drawings.svg_shapes import SHAPES, runs_of, steps_of
from diagnose.pattern.brought.drawings.svg_text import (
    INCH_PX,
    ViewBox,
    pixels,
    read_transform,
    read_view_box,
)
from diagnose.pattern.brought.naming import said_by
from diagnose.pattern.brought.sketch import (
    LONGEST_DATA,
    MOST_DEPTH,
    MOST_ELEMENTS,
    MOST_IN_A_LINE,
    MOST_STEPS,
    Sketch,
    Stroke,
    Words,
    box_of_strokes,
    rescaled,
    taken_for,
    too_many,
    without_idle_steps,
)
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Point
from diagnose.units import INCH_MM, UNIT_MM, Unit

__all__ = ["read_svg"]

PX_MM = INCH_MM / INCH_PX
MOST_PAGE_MM = 6000.0
"""No drawing of a pattern is wider or higher."""

LONGEST_TEXT = 200
_GROUPS = ("svg", "g", "a", "switch", "symbol")
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href", "http://www.w3.org/1999/xlink}href")
_LABELS = ("http://www.inkscape.org/namespaces/inkscape}label", "label")
_NO_SIZE = (
    "The drawing gives its page no size in mm or inches: its units were presumed to be pixels, 96 to the inch. "
    "Check it with a known length."
)
_IN_PIXELS = (
    "The drawing tells the size of its page in pixels, which were presumed to be 96 to the inch. "
    "Check it with a known length."
)
_PIXELS = Mistake(
    "scale",
    "The drawing tells no size in mm or inches: it was read with 96 units to the inch, and some programs draw 72.",
    "",
    code="sure-pixels",
    typed="Give a length you know, as --length NAME=LENGTH (an edge or a piece); or say --unit, where one unit is 1 "
    "mm, cm or in; or write in a labels file scale: 0.352778 mm, where 72 are an inch; or say --sure pixels, where 96 "
    "are.",
)
_REMARK = re.compile(r"/\*.*?\*/", re.DOTALL)
_RULE = re.compile(r"([^{}]{1,2000})\{([^{}]{0,2000})\}")
_HIDES = re.compile(r"(?:^|;)\s*(?:display\s*:\s*none|visibility\s*:\s*hidden)\b", re.IGNORECASE)
_TOO_MUCH = f"The drawing comes to more than {MOST_ELEMENTS} elements or {MOST_STEPS} steps with all its uses."
Names = tuple[str, ...]


class _Reading(Struct):
    """One document being read; `unseen` are the classes and ids that its style sheet does not show.

    Steps are counted as they are taken, with every repeated use.
    """

    where: str
    by_id: Mapping[str, Element]
    unseen: frozenset[str] = frozenset()
    elements: dict[Element, int] = field(default_factory=dict)
    steps: int = 0
    strokes: list[Stroke] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)


def read_svg(data: bytes, where: str, unit: Unit | None = None) -> Sketch:
    """The sketch of an SVG file.

    Args:
        data: the file as it stands.
        where: its name, for messages and for the sketch.
        unit: what a unit of the drawing is, where its page has no size; a pixel unless told.

    Raises:
        FitError: when it is not SVG, or anything in it is unsound, endless or too much.
    """
    root = parse_markup(data, where)
    if local(root.tag) != "svg":
        raise FitError.of(where, f"This is “{local(root.tag)[:40]}”, not SVG.", "Give an SVG drawing.", code="not-svg")
    by_id = {name: element for element in root.iter() if (name := element.get("id"))}
    reading = _Reading(where, by_id, unseen=_unseen(root))
    _weigh(root, reading, 0)
    move, unit_mm, said = _page(root, where)
    for child in root:
        _walk(child, move, (), reading=reading)
    sketch = Sketch(
        where, tuple(reading.strokes), tuple(reading.words), unit_mm=unit_mm, said=said, has_unit=not said,
        asks=(_PIXELS,) if said else (),
    )  # fmt: skip
    return _in_unit(sketch, unit) if said and unit else sketch


def _in_unit(sketch: Sketch, unit: Unit) -> Sketch:
    """The sketch of a page without a size, in the unit that is told; as it is where that can't be meant."""
    box = box_of_strokes(sketch.strokes)
    if max(box.wide, box.high) / sketch.unit_mm * UNIT_MM[unit] > MOST_PAGE_MM:
        return sketch
    return replace(rescaled(sketch, UNIT_MM[unit]), said=(taken_for(unit),), asks=())


def _page(root: Element, where: str) -> tuple[Affine, float, tuple[str, ...]]:
    """The move from units of the drawing to mm, the size of a unit, and what had to be presumed of it."""
    box = read_view_box(root.get("viewBox"), f"{where}, viewBox")
    wide = pixels(root.get("width"), f"{where}, width", None)
    high = pixels(root.get("height"), f"{where}, height", None)
    if box is None or (not wide and not high):
        has_size = box is None and (wide or high) and _is_physical(root)
        return Affine(xx=PX_MM, yy=-PX_MM), PX_MM, () if has_size else (_NO_SIZE,)
    across, down = _fitted(box, wide, high, aspect=root.get("preserveAspectRatio", ""))
    said = () if _is_physical(root) else (_IN_PIXELS,)
    return Affine(xx=PX_MM * across, yy=-PX_MM * down), PX_MM * across, said


def _is_physical(root: Element) -> bool:
    """Whether the page's size is told in a unit that can be measured, and not in pixels."""
    sizes = [root.get(key, "").strip().lower() for key in ("width", "height")]
    return any(size and not size.endswith("%") and size[-1].isalpha() and not size.endswith("px") for size in sizes)


def _fitted(box: ViewBox, wide: float | None, high: float | None, aspect: str) -> tuple[float, float]:
    """How many pixels a unit of the view box is across and down."""
    across = wide / box.wide if wide else high / box.high if high else 1.0
    down = high / box.high if high else across
    if aspect.split()[:1] == ["none"]:
        return across, down
    even = max(across, down) if "slice" in aspect else min(across, down)
    return even, even


def _target(element: Element, by_id: Mapping[str, Element]) -> Element | None:
    href = next((found for key in _HREFS if (found := element.get(key))), "")
    return by_id.get(href[1:]) if href.startswith("#") else None


def _weigh(element: Element, reading: _Reading, depth: int) -> int:
    """How many elements an element shows, its repeated uses counted: told before any is taken, for a few can stand for
    millions.

    Raises:
        FitError: when that is too much, or uses lie too deep or run in a ring.
    """
    if depth > MOST_DEPTH:
        what = f"Elements use one another more than {MOST_DEPTH} deep, or in a ring."
        raise FitError.of(reading.where, what, "Undo the clones in the drawing program.", code="too-deep")
    if _is_hidden(element, reading.unseen):
        return 0
    if element not in reading.elements:
        tag = local(element.tag)
        target = _target(element, reading.by_id) if tag == "use" else None
        below = element if tag in _GROUPS else () if target is None else (target,)
        reading.elements[element] = 1 + sum(_weigh(child, reading, depth + 1) for child in below)
    if reading.elements[element] > MOST_ELEMENTS:
        raise too_many(reading.where, _TOO_MUCH)
    return reading.elements[element]


def _place(element: Element, where: str) -> str:
    name = next((found for key in (*_LABELS, "id") if (found := element.get(key))), "")
    return f"{where}, {local(element.tag)[:40]}" + (f" {quoted(name)}" if name else "")


def _walk(element: Element, outer: Affine, groups: tuple[Names, ...], reading: _Reading) -> None:
    """Take an element and all below it into the reading."""
    tag, at = local(element.tag), _place(element, reading.where)
    if _is_hidden(element, reading.unseen) or tag == "symbol":
        return
    style = _style(element)
    own = read_transform(style.get("transform"), at).then(read_transform(element.get("transform"), at))
    move = own.then(outer)
    if tag in SHAPES:
        _take_shape(element, move, groups, reading=reading)
    elif tag == "text":
        _take_text(element, move, groups, reading=reading)
    elif tag == "use":
        _take_use(element, move, groups, reading=reading)
    elif tag in _GROUPS:
        inner = _nested(element, None, at).then(move) if tag == "svg" else move
        for child in element:
            _walk(child, inner, (_names(element), *groups), reading=reading)


def _take_use(element: Element, move: Affine, groups: tuple[Names, ...], reading: _Reading) -> None:
    target, at = _target(element, reading.by_id), _place(element, reading.where)
    if target is None:
        return
    shifted = Affine(dx=pixels(element.get("x"), at) or 0.0, dy=pixels(element.get("y"), at) or 0.0).then(move)
    names = (_names(element), *groups)
    if local(target.tag) != "symbol":
        _walk(target, shifted, names, reading=reading)
        return
    inner = _nested(target, element, at).then(shifted)
    for child in target:
        _walk(child, inner, (_names(target), *names), reading=reading)


def _nested(element: Element, use: Element | None, at: str) -> Affine:
    """The move of a view box inside the drawing, its corner laid on its place."""
    sized = element if use is None else use
    box = read_view_box(element.get("viewBox"), at)
    left, top = (0.0, 0.0) if use is not None else (pixels(element.get("x"), at), pixels(element.get("y"), at))
    place = Affine(dx=left or 0.0, dy=top or 0.0)
    wide, high = pixels(sized.get("width"), at, None), pixels(sized.get("height"), at, None)
    if box is None or not (wide or high):
        return place
    aspect = element.get("preserveAspectRatio", "")
    across, down = _fitted(box, wide, high, aspect=aspect)
    spare_x = (wide or across * box.wide) - across * box.wide
    spare_y = (high or down * box.high) - down * box.high
    share = 0.0 if "xMinYMin" in aspect else 0.5
    scaled = Affine(across, 0.0, 0.0, down, spare_x * share - box.left * across, spare_y * share - box.top * down)
    return scaled.then(place)


def _style(element: Element) -> dict[str, str]:
    parts = [part.partition(":") for part in element.get("style", "").split(";")]
    return {key.strip(): value.strip() for key, _, value in parts}


def _unseen(root: Element) -> frozenset[str]:
    """The classes (`.name`) and ids (`#name`) that a style sheet in the drawing hides, as programs hide a layer."""
    sheets = ("".join(one.itertext()) for one in root.iter() if local(one.tag) == "style")
    rules = [rule for sheet in sheets for rule in _RULE.findall(_REMARK.sub("", sheet))]
    return frozenset(
        name.strip() for names, body in rules if _HIDES.search(body) for name in names.split(",") if name.strip()
    )


def _is_hidden(element: Element, unseen: frozenset[str]) -> bool:
    style = _style(element)
    shown = element.get("display", ""), style.get("display", "")
    seen = element.get("visibility", ""), style.get("visibility", "")
    called = {f".{name}" for name in element.get("class", "").split()} | {f"#{element.get('id', '')}"}
    return "none" in shown or "hidden" in seen or ("" in shown and not unseen.isdisjoint(called))


def _names(element: Element) -> Names:
    title = next(("".join(child.itertext()).strip() for child in element if local(child.tag) == "title"), "")
    labels = [found for key in _LABELS if (found := element.get(key))]
    return tuple(name for name in (*labels, title, element.get("id", "")) if name)


def _data(element: Element) -> dict[str, str]:
    return {
        key.removeprefix("data-"): value[:LONGEST_DATA] for key, value in element.items() if key.startswith("data-")
    }


def _take_shape(element: Element, move: Affine, groups: tuple[Names, ...], reading: _Reading) -> None:
    data, at = _data(element), _place(element, reading.where)
    steps, number = steps_of(element, at), len(reading.strokes) + 1
    if local(element.tag) != "path" and len(steps) > MOST_IN_A_LINE:
        raise too_many(at, f"It has more than {MOST_IN_A_LINE} points.", of_a_line=True)
    reading.steps += len(steps)
    if reading.steps > MOST_STEPS:
        raise too_many(reading.where, _TOO_MUCH)
    for run, closed in runs_of(steps, move, at):
        segments = without_idle_steps(run)
        if segments:
            said = said_by(_names(element), groups, data, closed=closed or segments[0].start == segments[-1].end)
            reading.strokes.append(
                Stroke(segments, closed, said.kind, piece=said.piece, part=said.part, data=data, element=number)
            )


def _pieces(element: Element) -> Iterator[str]:
    """The pieces of a text, a blank before each that begins a line; letters that are only set apart stay one word."""
    high = element.get("y", "")
    yield element.text or ""
    for one in element:
        begun = one.get("y", high)
        if begun != high or one.get("dy", "0").rstrip("emptx%") not in ("", "0"):
            yield " "
        high = begun
        yield from _pieces(one)
        yield one.tail or ""


def _take_text(element: Element, move: Affine, groups: tuple[Names, ...], reading: _Reading) -> None:
    text = " ".join("".join(_pieces(element)).split())[:LONGEST_TEXT]
    holder = next((one for one in element.iter() if one.get("x")), element)
    at = _place(element, reading.where)
    x, y = (pixels(" ".join(holder.get(key, "").replace(",", " ").split()[:1]), at) or 0.0 for key in ("x", "y"))
    if text:
        reading.words.append(Words(text, move(Point(x, y)), said_by((), groups, {}, closed=False).kind))
