"""A DXF drawing as a sketch: lines, polylines with bulges, arcs, ellipses, splines, blocks set in; y is up already.

Layers named by number follow the apparel convention (ASTM D6673 / AAMA layer numbers, from memory): 1 boundary,
14 sew line, 8 internal lines, 4 notches, 7 grain line, 13 drill holes, 15 annotation. Where a layer 14 closes, it is
the stitching line and layer 1 the cutting line beside it. Other layers are read by their names (see `naming`), a
block's name is that of the piece in it, and extended data of the application STAYS-PATTERN, one ``key=value`` a
string, are what data attributes are in an SVG.

The file is looked over as text first, so that one that is too much is refused before the library takes it apart.
"""

from __future__ import annotations

import io
import logging
import math
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from msgspec import Struct, field

from diagnose.errors import FitError, quoted
from diagnose.pattern.brought.drawings.dxf_lines import LINES, segments_of
from diagnose.pattern.brought.naming import said_by
from diagnose.pattern.brought.sketch import (
    LONGEST_DATA,
    MOST_DEPTH,
    MOST_ELEMENTS,
    MOST_STEPS,
    Dot,
    Kind,
    Sketch,
    Stroke,
    Words,
    box_of_strokes,
    taken_for,
    too_many,
)
from diagnose.pattern.form.drawing_data import APPLICATION
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Point
from diagnose.sentences import counted, listed
from diagnose.units import INCH_MM, UNIT_MM, Unit

__all__ = ["read_dxf"]

LAYERS: Mapping[str, Kind] = {
    "1": "outline", "14": "sewing", "8": "inside", "4": "notch", "7": "grain", "13": "landmark", "15": "aside",
}  # fmt: skip
UNITS_MM: Mapping[int, float] = {
    1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 0.001, 14: 100.0, 21: 304.8006,
}  # fmt: skip
"""What a unit of $INSUNITS is in mm (DXF reference, header variables; from memory)."""

MOST_ENTITIES = 50_000
"""Entities in the file; in older files every point of a polyline is one."""

MOST_SHEET_MM = 5000.0
"""No sheet of patterns is larger than this both ways; a file that says so names a wrong unit."""

MOST_LAYERS_NAMED = 4

_ENTITY = re.compile(rb"(?:^|\n)[ \t]*0[ \t]*\r?\n")
_VERTEX = re.compile(rb"\n[ \t]*1[01][ \t]*\r?\n")
_AGAIN = "Save it from the drawing program as plain DXF (R2000 or later, as text)."

_Id = tuple[str, ...]


class _Reading(Struct):
    """One drawing being read; `hidden` are the layers that do not show, `off` those of them that held something."""

    where: str
    document: Any
    strokes: list[Stroke] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    dots: list[Dot] = field(default_factory=list)
    hidden: frozenset[str] = frozenset()
    off: set[str] = field(default_factory=set)
    count: int = 0


def read_dxf(data: bytes, where: str, unit: Unit | None = None) -> Sketch:
    """The sketch of a DXF file.

    Args:
        data: the file as it stands.
        where: its name, for messages and for the sketch.
        unit: what a unit of the drawing is, where it does not say.

    Raises:
        FitError: when it is no DXF of text, or anything in it is unsound, endless or too much.
    """
    _look_over(data, where)
    with _quiet_library():
        document = _document(data, where)
        try:
            return _sketch(document, where, unit)
        except _MALFORMED as error:
            what = f"Something in the drawing is malformed ({type(error).__name__})."
            raise FitError.of(where, what, _AGAIN, code="malformed") from None


_MALFORMED = (ValueError, LookupError, AttributeError, TypeError, ArithmeticError, AssertionError)
"""What the library raises over malformed entities: a spline without knots, a text without a place."""


@contextmanager
def _quiet_library() -> Iterator[None]:
    """Keep the library's remarks from the maker's terminal."""
    log = logging.getLogger("ezdxf")
    before, log.disabled = log.disabled, True
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)
            yield
    finally:
        log.disabled = before


def _look_over(data: bytes, where: str) -> None:
    """Refuse what is too much, or no DXF, before it is taken apart."""
    if data.startswith((b"AutoCAD Binary DXF", b"AC10")):
        raise FitError.of(where, "This is not DXF as text.", _AGAIN, code="not-dxf")
    if not re.match(rb"\s*(?:999\s*\n|0\s*\n\s*SECTION)", data[:2000]):
        raise FitError.of(where, "This is not DXF.", _AGAIN, code="not-dxf")
    for pattern, most, what in ((_ENTITY, MOST_ENTITIES, "entities"), (_VERTEX, MOST_STEPS, "points")):
        if sum(1 for _ in zip(pattern.finditer(data), range(most + 1), strict=False)) > most:
            raise too_many(where, f"The drawing has more than {most} {what}.")


def _document(data: bytes, where: str) -> Any:
    from ezdxf import recover  # late: it takes longer to import than a pattern takes to read
    from ezdxf.audit import AuditError
    from ezdxf.lldxf.const import DXFError

    try:
        document, audited = recover.read(io.BytesIO(data))
    except (DXFError, OSError, RecursionError, *_MALFORMED) as error:
        what = f"The drawing can't be taken apart ({type(error).__name__})."
        raise FitError.of(where, what, _AGAIN, code="malformed") from None
    guessed = (AuditError.INVALID_INTEGER_VALUE, AuditError.INVALID_FLOATING_POINT_VALUE)
    spoilt = [one.message for one in audited.errors if one.code in guessed]  # a guess is no coordinate
    if spoilt:
        what = f"{counted(len(spoilt), 'number[|s] in the file [is|are] spoilt')}, the first so: {spoilt[0]}."
        raise FitError.of(where, what, _AGAIN, code="spoilt-numbers")
    return document


def _sketch(document: Any, where: str, unit: Unit | None) -> Sketch:
    unit_mm, said = _unit(document)
    if not said and unit_mm > 1.0:
        box = box_of_strokes(_read(document, where, unit_mm=1.0).strokes)
        if min(box.wide, box.high) * unit_mm > MOST_SHEET_MM:
            size = f"{max(box.wide, box.high) * unit_mm / 1000.0:.0f} m long, which no pattern is"
            taken = f"By the unit that the file names the drawing is {size}: one unit was taken for 1 mm."
            unit_mm, said = 1.0, (f"{taken} Check it with a known length.",)
    has_unit = not said
    if said and unit:
        unit_mm, said = UNIT_MM[unit], (taken_for(unit),)
    reading = _read(document, where, unit_mm)
    if reading.off:
        names = listed([f"“{name}”" for name in sorted(reading.off)[:MOST_LAYERS_NAMED]])
        more = " and others" * (len(reading.off) > MOST_LAYERS_NAMED)
        said = (*said, f"What lies on layers that are switched off was left out: {names}{more}.")
    unread = sum(entity.dxftype() in ("SOLID", "HATCH", "REGION", "3DSOLID") for entity in document.modelspace())
    if unread:
        said = (*said, counted(unread, "filled or solid thing[ was|s were] left out: only lines are read."))
    return Sketch(
        where, tuple(reading.strokes), tuple(reading.words), dots=tuple(reading.dots), unit_mm=unit_mm, said=said,
        has_unit=has_unit,
    )  # fmt: skip


def _read(document: Any, where: str, unit_mm: float) -> _Reading:
    """All that is drawn, where one unit is so many mm."""
    layers = {layer.dxf.name.casefold() for layer in document.layers if layer.is_off() or layer.is_frozen()}
    reading = _Reading(where, document, hidden=frozenset(layers))
    _take_all(document.modelspace(), Affine(xx=unit_mm, yy=unit_mm), (), reading=reading)
    return reading


def _unit(document: Any) -> tuple[float, tuple[str, ...]]:
    """What a unit of the drawing is in mm, and what had to be presumed of it."""
    code = document.header.get("$INSUNITS", 0)
    if code in UNITS_MM:
        return UNITS_MM[code], ()
    texts = [entity.dxf.text.upper() for entity in document.modelspace().query("TEXT")]
    for text in texts:
        if "UNITS" in text and ("METRIC" in text or "ENGLISH" in text):
            return (1.0 if "METRIC" in text else INCH_MM), ()
    metric = document.header.get("$MEASUREMENT", 1) != 0
    name = "1 mm" if metric else "1 in"
    said = f"The drawing does not name its unit: one unit was presumed to be {name}. Check it with a known length."
    return (1.0 if metric else INCH_MM), (said,)


def _take_all(layout: Any, move: Affine, groups: tuple[_Id, ...], reading: _Reading) -> None:
    """Take in all that lies on a layout.

    Raises:
        FitError: when blocks set one another in without end, or it is too much with all of them.
    """
    if len(groups) > MOST_DEPTH:
        what = f"Blocks lie more than {MOST_DEPTH} deep in one another, or in a ring."
        raise FitError.of(reading.where, what, "Explode the blocks in the drawing program.", code="too-deep")
    reading.count += 1 + len(layout)
    if reading.count > MOST_ELEMENTS:
        what = f"The drawing comes to more than {MOST_ELEMENTS} entities with all its blocks."
        raise too_many(reading.where, what)
    for entity in layout:
        kind = entity.dxftype()
        layer = str(entity.dxf.get("layer", "0"))
        if entity.dxf.get("invisible", 0):
            continue
        if layer.casefold() in reading.hidden:
            reading.off.add(layer)
            continue
        if kind in LINES:
            _take_line(entity, move, groups, reading=reading)
        elif kind == "POINT":
            _take_dot(entity, move, groups, reading=reading)
        elif kind in ("TEXT", "MTEXT", "ATTRIB"):
            _take_words(entity, move, reading)
        elif kind == "INSERT":
            _take_block(entity, move, groups, reading=reading)


def _take_block(insert: Any, move: Affine, groups: tuple[_Id, ...], reading: _Reading) -> None:
    block = reading.document.blocks.get(insert.dxf.name)
    if block is None:
        return
    name = insert.dxf.name
    inner = (() if name.startswith("*") else (name,), *groups)
    for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
        _take_all(block, _flat(one.matrix44()).then(move), inner, reading=reading)
        _take_all(one.attribs, move, inner, reading=reading)


def _flat(matrix: Any) -> Affine:
    """The part of a move in space that is seen from above."""
    x, y, _, o = (matrix.get_row(n) for n in range(4))
    return Affine(x[0], y[0], x[1], y[1], o[0], o[1])


def _told(entity: Any, groups: tuple[_Id, ...], *, closed: bool) -> tuple[Kind, str, str, dict[str, str]]:
    """What the entity's layer, blocks and own data say."""
    layer = str(entity.dxf.get("layer", "0"))
    data = _own_data(entity)
    number = LAYERS.get(layer.lstrip("0")) if layer.isdecimal() else None
    own = (layer,) if "." in layer else ()
    said = said_by(own, (*groups, (layer,)), data, closed=closed)
    kind = number if number is not None and "mark" not in data else said.kind
    return kind, said.piece, said.part, data


def _own_data(entity: Any) -> dict[str, str]:
    """The entity's own data; a key that ends in + goes on with what was begun under it."""
    data: dict[str, str] = {}
    for tag in entity.get_xdata(APPLICATION) if entity.has_xdata(APPLICATION) else ():
        key, equals, value = str(tag.value).partition("=") if tag.code == 1000 else ("", "", "")
        begun = key.removesuffix("+")
        if equals and len(data.get(begun, "")) < LONGEST_DATA:
            data[begun] = data.get(begun, "") + value if key.endswith("+") else value
    return data


def _take_line(entity: Any, move: Affine, groups: tuple[_Id, ...], reading: _Reading) -> None:
    at = f"{reading.where}, {entity.dxftype()} on layer {quoted(str(entity.dxf.get('layer', '0')))}"
    segments, closed = segments_of(entity, move, at)
    if segments:
        said, piece, part, data = _told(entity, groups, closed=closed)
        reading.strokes.append(Stroke(segments, closed, said, piece=piece, part=part, data=data))


def _take_dot(entity: Any, move: Affine, groups: tuple[_Id, ...], reading: _Reading) -> None:
    at = entity.dxf.location
    kind, piece, part, _ = _told(entity, groups, closed=False)
    if kind in ("notch", "landmark") and math.isfinite(at.x) and math.isfinite(at.y):
        reading.dots.append(Dot(move(Point(at.x, at.y)), kind, piece, part=part))


def _take_words(entity: Any, move: Affine, reading: _Reading) -> None:
    at = entity.dxf.insert
    text = entity.plain_text()
    if isinstance(text, str) and text.strip() and math.isfinite(at.x) and math.isfinite(at.y):
        reading.words.append(Words(" ".join(text.split())[:200], move(Point(at.x, at.y))))
