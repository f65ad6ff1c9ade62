"""The pattern as a PDF at true scale: tiled on A4 or Letter, or on one large sheet.

The first page bears the squares to measure, the map and the key; the pages after it bear the pieces. One unit of the
file is 1/72 in as ever, and it asks the printing program not to scale. The same input gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from itertools import product
from typing import Any

from diagnose.errors import FitError
from diagnose.pattern.geometry.bezier import Box
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.outline import Point
from diagnose.sheets.cutting.cut_drawing import Sheet, cut_drawings
from diagnose.sheets.cutting.packing import Laid, Oblong, shelves
from diagnose.sheets.drawn.drawing import Drawing, Pen, Text
from diagnose.sheets.writers.kept_words import KeptWords, kept_words, without_words
from diagnose.sheets.writers.match_marks import joint_layers
from diagnose.sheets.writers.paper_sizes import LABEL_MM, MARGIN_MM, MOST_SIDE_MM, ONE_SHEET, Paper, named_paper
from diagnose.sheets.writers.pdf_front import front_drawing
from diagnose.sheets.writers.pdf_marks import begin_page, draw_marks, new_canvas, put_drawing
from diagnose.sheets.writers.tiling import Tile, Tiling, tiled

__all__ = ["pattern_pdf"]

SHEET_MARGIN_MM = 15.0
SHEET_BETWEEN_MM = 12.0
SHEET_WIDTHS_MM = (594.0, 841.0, 914.4, 1189.0, 1600.0, 2500.0, MOST_SIDE_MM - 2.0 * SHEET_MARGIN_MM)
LABEL_SIZE_MM = 3.4
Told = Callable[[int, int], None]


def pattern_pdf(
    sheet: Sheet, paper: str = "a4", told: Told | None = None, ahead: Sequence[tuple[str, Drawing]] = ()
) -> bytes:
    """The pattern to print, over the version before it where there is one.

    Args:
        sheet: what is printed; its version stands on every page and piece.
        paper: ``a4``, ``letter`` or ``one-sheet``.
        told: called with the pages drawn and the pages in all.
        ahead: whole pages that come before the pattern (the wall sheet, the steps), each with its name.

    Raises:
        FitError: when the paper is unknown or too small, or there is no piece.
    """
    drawings = cut_drawings(sheet)
    if paper == ONE_SHEET:
        return _one_sheet(sheet, drawings, ahead)
    return _tiles(sheet, tiled(drawings, named_paper(paper)), told or (lambda done, of: None), ahead=ahead)


def _canvas(stream: io.BytesIO, sheet: Sheet) -> Any:
    canvas = new_canvas(stream, sheet.pattern.name)
    canvas.setSubject(" ".join(part for part in ("Pattern at true scale.", sheet.version, sheet.date) if part))
    return canvas


def _tiles(sheet: Sheet, tiling: Tiling, told: Told, ahead: Sequence[tuple[str, Drawing]]) -> bytes:
    stream, pages = io.BytesIO(), len(ahead) + 1 + len(tiling.tiles)
    canvas = _canvas(stream, sheet)
    for number, (name, drawing) in enumerate(ahead, 1):
        _whole_page(canvas, sheet, tiling.paper, name=name, drawing=drawing)
        told(number, pages)
    _front(canvas, sheet, tiling)
    told(len(ahead) + 1, pages)
    words = kept_words(tiling)
    for number, tile in enumerate(tiling.tiles, len(ahead) + 2):
        _tile(canvas, sheet, tiling, tile=tile, words=words)
        told(number, pages)
    canvas.save()
    return stream.getvalue()


def _begin(canvas: Any, width_mm: float, height_mm: float, title: str) -> None:
    """A page of that size, found again by its title."""
    begin_page(canvas, width_mm, height_mm)
    canvas.bookmarkPage(title)
    canvas.addOutlineEntry(title, title, 0)


def _whole_page(canvas: Any, sheet: Sheet, paper: Paper, name: str, drawing: Drawing) -> None:
    """A page that is a drawing already, its upper left corner at the margins."""
    _begin(canvas, paper.width_mm, paper.height_mm, title=name)
    left = (paper.width_mm - (drawing.frame.right - drawing.frame.left)) / 2.0
    move = Affine(dx=left, dy=paper.height_mm - MARGIN_MM)
    put_drawing(canvas, drawing, move, window=Box(0.0, 0.0, paper.width_mm, paper.height_mm))
    _label(canvas, paper, name, sheet=sheet)
    canvas.showPage()


def _front(canvas: Any, sheet: Sheet, tiling: Tiling) -> None:
    paper = tiling.paper
    _begin(canvas, paper.width_mm, paper.height_mm, title="Page map and test squares")
    front = front_drawing(sheet, tiling)
    move = Affine(dx=MARGIN_MM + 2.0, dy=paper.height_mm - MARGIN_MM)
    put_drawing(canvas, front, move, window=Box(0.0, 0.0, paper.width_mm, paper.height_mm))
    _label(canvas, paper, "page map", sheet=sheet)
    canvas.showPage()


def _tile(canvas: Any, sheet: Sheet, tiling: Tiling, tile: Tile, words: Sequence[KeptWords]) -> None:
    paper, window = tiling.paper, tile.window
    _begin(canvas, paper.width_mm, paper.height_mm, title=tile.name)
    canvas.saveState()
    canvas.translate(MARGIN_MM - window.left, MARGIN_MM + LABEL_MM - window.bottom)
    _clip(canvas, window)
    for placing in tiling.placings:
        put_drawing(canvas, without_words(placing.drawing), placing.move, window=window)
    shown = [one for one in words if one.on(tile)]
    for one in shown:
        put_drawing(canvas, one.drawing, one.move, window=window)
    for layer in joint_layers(tiling, tile, [one.box for one in shown]):
        draw_marks(canvas, layer.marks, layer.pen)
    canvas.restoreState()
    _label(canvas, paper, tile.name, sheet=sheet)
    canvas.showPage()


def _clip(canvas: Any, window: Box) -> None:
    path = canvas.beginPath()
    path.rect(window.left, window.bottom, window.right - window.left, window.top - window.bottom)
    canvas.clipPath(path, stroke=0, fill=0)


def _label(canvas: Any, paper: Paper, name: str, sheet: Sheet) -> None:
    low = MARGIN_MM + 1.5
    draw_marks(canvas, [Text(name, Point(MARGIN_MM, low), 5.0, bold=True)], Pen(0.01))
    words = Text(sheet.titled, Point(paper.width_mm - MARGIN_MM, low), LABEL_SIZE_MM, anchor="end")
    draw_marks(canvas, [words], Pen(0.01, "soft"))


def _one_sheet(sheet: Sheet, drawings: Sequence[Drawing], ahead: Sequence[tuple[str, Drawing]]) -> bytes:
    if not drawings:
        raise FitError.of("pattern", "There is no piece to print.", "Name at least one.", code="no-piece")
    everything = (*(drawing for _, drawing in ahead), front_drawing(sheet, None), *drawings)
    laid = _laid([d.frame for d in everything])
    width, height = laid.width + 2.0 * SHEET_MARGIN_MM, laid.height + 2.0 * SHEET_MARGIN_MM
    stream = io.BytesIO()
    canvas = _canvas(stream, sheet)
    _begin(canvas, width, height, title="Pattern")
    whole = Box(0.0, 0.0, width, height)
    for drawing, spot in zip(everything, laid.spots, strict=True):
        left, top = SHEET_MARGIN_MM + spot.across, height - SHEET_MARGIN_MM - spot.down
        put_drawing(canvas, drawing, Affine(dx=left - drawing.frame.left, dy=top - drawing.frame.top), window=whole)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _laid(frames: Sequence[Box]) -> Laid:
    """All frames in rows: on a roll as narrow as it may be, else on a sheet within the largest there is."""
    boxes = [Oblong(f.right - f.left, f.top - f.bottom) for f in frames]
    most = MOST_SIDE_MM - 2.0 * SHEET_MARGIN_MM
    ways = product(SHEET_WIDTHS_MM, (False, True))
    found = [laid for wide, tall in ways if (laid := shelves(boxes, wide, SHEET_BETWEEN_MM, by_height=tall))]
    fitting = [laid for laid in found if laid.height <= most]
    if not fitting:
        raise FitError.of(
            "paper", "The pieces are too large for one sheet.", "Print them on A4 or Letter.", code="too-large"
        )
    return min(fitting, key=lambda laid: laid.width * laid.height)
