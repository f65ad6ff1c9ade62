"""A drawing as SVG: at true scale in mm as a file of its own, or scaled to its place on a page.

Only here is y turned downwards: x of the SVG is x of the drawing, y is less y. Cubics stay cubics.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape

from markupsafe import Markup

from diagnose.errors import printable
from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.outline import Line, Point, Segment
from diagnose.rulebase.reading.entries import Symptom
from diagnose.sheets.drawn.drawing import (
    Area,
    Drawing,
    Layer,
    Mark,
    Path,
    Pen,
    Plain,
    Text,
    oblong,
    plain_marks,
    with_layers,
)
from diagnose.sheets.signs import sign_picture
from diagnose.sheets.writers.paper_sizes import SQUARES_MM

__all__ = ["path_data", "picture_svg", "sign_svg", "write_svg"]

PAPER_INKS = {"ink": "#1d1b18", "soft": "#6b655c", "accent": "#8f3b1b", "paper": "#fff"}
PAGE_INKS = {"ink": "var(--ink)", "soft": "var(--soft)", "accent": "var(--accent)", "paper": "var(--paper)"}

SQUARE_PEN = Pen(0.25)
SQUARES_APART_MM = 12.0
PAGE_DECIMALS = 4
FILE_DECIMALS = 6
"""As many as a stored pattern has, so that one read back from a drawing is the same."""

SANS = "Helvetica, Arial, sans-serif"
Inks = dict[str, str]


def write_svg(drawing: Drawing) -> str:
    """The drawing as an SVG file at true scale, with squares to measure a print by.

    Width, height and viewBox are in mm; each layer is a group whose id is the layer's and whose label is its title.
    Data attributes say what each line is (see `pattern.brought.told`), so that the stored pattern can be read back.
    """
    whole = _with_test_square(drawing)
    box = whole.frame
    wide, high = _number(box.right - box.left), _number(box.top - box.bottom)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{wide}mm" height="{high}mm" '
        f'viewBox="{_box(box)}" font-family="{SANS}">'
    )
    title = f"<title>{_escaped(whole.title)}</title>"
    layers = (_layer(layer, PAPER_INKS, layer.id) for layer in whole.layers)
    return "\n".join(('<?xml version="1.0" encoding="UTF-8"?>', head, title, *layers, "</svg>", ""))


def picture_svg(drawing: Drawing, label: str, kind: str = "") -> Markup:
    """The drawing for a place on a page: it fills the width it is given, takes the page's inks, and is read as `label`.

    It is markup, for every word in it is escaped.

    Args:
        drawing: what to draw.
        label: what a reader who does not see it is told.
        kind: a class of its own, for the page's style.
    """
    box = drawing.frame
    layers = "".join(_layer(layer, PAGE_INKS, "") for layer in drawing.layers)
    named = f' class="{escape(kind)}"' if kind else ""
    return Markup(
        f'<svg{named} role="img" aria-label="{_escaped(label)}" viewBox="{_box(box)}" '
        f'preserveAspectRatio="xMidYMid meet">{layers}</svg>'
    )


def sign_svg(symptom: Symptom, style: str | None = None) -> Markup:
    """The picture of a sign as SVG for a page, its title as what is read aloud; nothing where the rule draws none."""
    if symptom.picture is None:
        return Markup("")
    return picture_svg(sign_picture(symptom.picture, style, symptom.title), symptom.title, "sign")


def _with_test_square(drawing: Drawing) -> Drawing:
    """The drawing with a square of 2 in and one of 5 cm below it on the left."""
    box, marks = drawing.frame, list[Mark]()
    left, top = box.left + SQUARES_APART_MM, box.bottom - SQUARES_APART_MM / 2.0
    for name, size in SQUARES_MM:
        marks.append(oblong(Box(left, top - size, left + size, top), name))
        marks.append(Text(name, Point(left + size / 2.0, top - size / 2.0), 5.0, anchor="middle"))
        left += size + SQUARES_APART_MM
    marks.append(Text("Measure both before cutting.", Point(left, top - 5.0), 5.0))
    layer = Layer("test-square", "Test squares: 2 in and 5 cm", SQUARE_PEN, marks=tuple(marks))
    grown = with_layers(drawing, layer)
    edge = grown.frame
    return Drawing(
        grown.title,
        grown.layers,
        Box(edge.left, edge.bottom - SQUARES_APART_MM, edge.right + SQUARES_APART_MM / 2.0, edge.top),
    )


def _box(box: Box) -> str:
    return " ".join(map(_number, (box.left, -box.top, box.right - box.left, box.top - box.bottom)))


def _layer(layer: Layer, inks: Inks, id_: str) -> str:
    pen, ink = layer.pen, inks[layer.pen.ink]
    dash = f' stroke-dasharray="{" ".join(map(_number, pen.dash_mm))}"' if pen.dash_mm else ""
    head = f'<g id="{_escaped(id_)}"' if id_ else f'<g class="l-{_escaped(layer.id)}"'
    style = (
        f' fill="none" stroke="{ink}" stroke-width="{_number(pen.width_mm)}"{dash}'
        ' stroke-linejoin="round" stroke-linecap="round">'
    )
    label = f"<title>{_escaped(layer.label)}</title>" if id_ else ""
    marks = "".join(_mark(mark, ink, inks["paper"], named=bool(id_)) for mark in plain_marks(layer.marks))
    return f"{head}{style}{label}{marks}</g>"


def _mark(mark: Plain, ink: str, paper: str, *, named: bool) -> str:
    match mark:
        case Path():
            name = f' id="{_escaped(mark.name)}"' if named and mark.name else ""
            fill = f' fill="{ink}"' if mark.filled else ""
            data = path_data(mark.segments, closed=mark.closed, decimals=FILE_DECIMALS if named else PAGE_DECIMALS)
            return f'<path{name}{_told(mark.told) if named else ""}{fill} d="{data}"/>'
        case Area():
            rings = " ".join(_ring(ring) for ring in mark.rings)
            return f'<path d="{rings}" fill="{ink}" fill-opacity="0.13" fill-rule="evenodd" stroke="none"/>'
        case Text():
            return _text(mark, ink, paper)


def _told(words: Mapping[str, str]) -> str:
    return "".join(f' data-{key}="{_escaped(value)}"' for key, value in words.items())


def _text(text: Text, ink: str, paper: str) -> str:
    place = f'x="{_number(text.at.x)}" y="{_number(-text.at.y)}"'
    turned = f' transform="rotate({_number(-text.turn_deg)} {_number(text.at.x)} {_number(-text.at.y)})"'
    weight = ' font-weight="700"' if text.bold else ""
    halo = f'stroke="{paper}" stroke-width="{_number(text.size_mm * 0.28)}" paint-order="stroke"'
    return (
        f'<text {place}{turned if text.turn_deg else ""} font-size="{_number(text.size_mm)}"{weight} '
        f'text-anchor="{text.anchor}" fill="{ink}" {halo}>{_escaped(text.words)}</text>'
    )


def _ring(ring: Iterable[Point]) -> str:
    points = [f"{_number(p.x)} {_number(-p.y)}" for p in ring]
    return f"M{points[0]} L{' '.join(points[1:])} Z"


def path_data(segments: Iterable[Segment], *, closed: bool = False, decimals: int = PAGE_DECIMALS) -> str:
    """The `d` of a path, rounded to so many decimals of a mm; a break between segments begins a new part."""

    def spots(*points: Point) -> str:
        return " ".join(f"{_number(p.x, decimals)} {_number(-p.y, decimals)}" for p in points)

    parts, last = list[str](), None
    for segment in segments:
        if segment.start != last:
            parts.append(f"M{spots(segment.start)}")
        if isinstance(segment, Line):
            parts.append(f"L{spots(segment.end)}")
        else:
            parts.append(f"C{spots(segment.c1, segment.c2, segment.end)}")
        last = segment.end
    return " ".join(parts) + (" Z" if closed else "")


def _number(value: float, decimals: int = PAGE_DECIMALS) -> str:
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _escaped(text: str) -> str:
    """Text that cannot end an attribute or open a tag, without characters XML forbids."""
    return escape(printable(text, but="\n"))
