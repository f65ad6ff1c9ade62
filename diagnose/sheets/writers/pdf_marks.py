"""The neutral drawing's marks put on a canvas of reportlab, in mm, in greys that any printer holds.

Only here is reportlab known; it is imported when a PDF is written, not before.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, BinaryIO

from diagnose.pattern.geometry.bezier import Box, box_of
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Line, Point, Segment
from diagnose.sheets.drawn.drawing import Area, Drawing, Mark, Path, Pen, Plain, Text, box_round, plain_marks
from diagnose.units import INCH_MM

__all__ = ["begin_page", "draw_marks", "new_canvas", "put_drawing"]

MM_POINTS = 72.0 / INCH_MM
GREYS = {"ink": 0.0, "soft": 0.42, "accent": 0.15}
SHADES = {"soft": 0.95, "accent": 0.9, "ink": 0.9}
HALO_RATIO = 0.28
FONTS = {False: "Helvetica", True: "Helvetica-Bold"}
HAIR_MM = 1.0
FILLED, RIM = 0, 1
"""Ways to set letters in a PDF: filled, or their outlines drawn."""


def new_canvas(stream: BinaryIO, title: str) -> Any:
    """A PDF that is the same for the same input, and asks the printing program not to scale it."""
    # Imported late: most commands write no PDF, and it takes a while to load.
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(stream, invariant=1, pageCompression=1, pdfVersion=(1, 6))
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setCreator("")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def begin_page(canvas: Any, width_mm: float, height_mm: float) -> None:
    """A page of that size whose unit is the millimetre."""
    canvas.setPageSize((width_mm * MM_POINTS, height_mm * MM_POINTS))
    canvas.scale(MM_POINTS, MM_POINTS)


def put_drawing(canvas: Any, drawing: Drawing, move: Affine, window: Box) -> None:
    """The drawing's marks that reach into the window of the sheet, on a canvas whose unit is the sheet's mm."""
    canvas.saveState()
    canvas.transform(move.xx, move.yx, move.xy, move.yy, move.dx, move.dy)
    for layer in drawing.layers:
        seen = [mark for mark in layer.marks if _box(mark, move).near(window, 0.0)]
        draw_marks(canvas, seen, layer.pen)
    canvas.restoreState()


def _box(mark: Mark, move: Affine) -> Box:
    box = box_round([mark], HAIR_MM)
    corners = [move(Point(x, y)) for x in (box.left, box.right) for y in (box.bottom, box.top)]
    return box_of([corners])


def draw_marks(canvas: Any, marks: Iterable[Mark], pen: Pen) -> None:
    """Marks with one pen; words are set in its ink with a white rim, so that lines under them don't hide them."""
    grey = GREYS[pen.ink]
    canvas.setStrokeGray(grey)
    canvas.setFillGray(grey)
    canvas.setLineWidth(pen.width_mm)
    canvas.setLineJoin(1)
    canvas.setLineCap(1)
    canvas.setDash(list(pen.dash_mm) if pen.dash_mm else [])
    for mark in plain_marks(marks):
        _draw(canvas, mark, pen)


def _draw(canvas: Any, mark: Plain, pen: Pen) -> None:
    match mark:
        case Path():
            path = _path(canvas, mark.segments, closed=mark.closed)
            canvas.drawPath(path, stroke=1, fill=int(mark.filled))
        case Area():
            _shade(canvas, mark, pen)
        case Text():
            _write(canvas, mark, GREYS[pen.ink])


def _path(canvas: Any, segments: Iterable[Segment], *, closed: bool) -> Any:
    path, last = canvas.beginPath(), None
    for segment in segments:
        if segment.start != last:
            path.moveTo(*segment.start)
        if isinstance(segment, Line):
            path.lineTo(*segment.end)
        else:
            path.curveTo(*segment.c1, *segment.c2, *segment.end)
        last = segment.end
    if closed:
        path.close()
    return path


def _shade(canvas: Any, area: Area, pen: Pen) -> None:
    path = canvas.beginPath()
    for ring in area.rings:
        path.moveTo(*ring[0])
        for point in ring[1:]:
            path.lineTo(*point)
        path.close()
    canvas.setFillGray(SHADES[pen.ink])
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)
    canvas.setFillGray(GREYS[pen.ink])


def _write(canvas: Any, text: Text, grey: float) -> None:
    canvas.saveState()
    canvas.translate(*text.at)
    canvas.rotate(text.turn_deg)
    canvas.setDash([])
    canvas.setStrokeGray(1.0)
    canvas.setFillGray(grey)
    canvas.setLineWidth(text.size_mm * HALO_RATIO)
    canvas.saveState()  # the way letters are set outlasts the words it was set for
    _letters(canvas, text, RIM)
    canvas.restoreState()
    _letters(canvas, text, FILLED)
    canvas.restoreState()


def _letters(canvas: Any, text: Text, mode: int) -> None:
    words = text.words.encode("cp1252", "replace").decode("cp1252")
    font = FONTS[text.bold]
    wide = canvas.stringWidth(words, font, text.size_mm)
    line = canvas.beginText({"start": 0.0, "middle": -wide / 2.0, "end": -wide}[text.anchor], 0.0)
    line.setFont(font, text.size_mm)
    line.setTextRenderMode(mode)
    line.textOut(words)
    canvas.drawText(line)
