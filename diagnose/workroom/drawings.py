"""Drawings for the pages: the pattern with its layers and its edges to be tapped, and the small picture of a card."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise

from markupsafe import Markup, escape
from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook import Photograph
from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.bezier import moved
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.in_words import piece_title
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Edge, EdgeRef, Line, Pattern, Point
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.pattern_drawing import redrawn_pieces
from diagnose.sheets.drawn.pieces_drawn import figures_of
from diagnose.sheets.drawn.placing import Placed, placed_pieces
from diagnose.sheets.drawn.screens import Screen, screen_picture
from diagnose.sheets.writers.svg import path_data, picture_svg
from diagnose.units import Unit

__all__ = ["Sheet", "Under", "as_sheet", "drawn", "small_picture", "strip_picture", "told_of", "under_of"]

SWITCHED = (
    "levels",
    "channels",
    "slits",
    "grain",
    "notches",
    "landmarks",
    "taken-away",
    "added",
    "dimensions",
    "names",
)
"""The layers that she can take off."""
NOT_ON_CARDS = ("landmarks", "numbers")
"""What is too small there to be read, and changed by no way."""
INK, PALE = "#1d1b18", "#ece6da"
CARD_MARGIN_MM = 8.0
LEVEL_TOL_MM = 1.0


class Under(Struct, frozen=True):
    """A picture beneath a drawing: where it is served, and the oblong of the pattern's frame that it shows, mm."""

    href: str
    left: float
    bottom: float
    right: float
    top: float


def under_of(photograph: Photograph, href: str) -> Under:
    """A case's photograph, served there."""
    return Under(href, photograph.left_mm, photograph.bottom_mm, right=photograph.right_mm, top=photograph.top_mm)


class Sheet(Struct, frozen=True):
    """A drawing on a page.

    Attributes:
        svg: the picture itself.
        layers: those that can be taken off, by id and label.
        overlaid: whether an older outline lies beneath.
        unit: of what is measured on it.
        screen: what it is laid out for.
        left_out: what there was no room for on it, in words.
    """

    svg: Markup
    layers: tuple[tuple[str, str], ...]
    overlaid: bool
    unit: Unit
    screen: Screen = "wide"
    left_out: tuple[str, ...] = ()


def drawn(
    pattern: Pattern, before: Pattern | None, unit: Unit, *, only_changed: bool = False, tapped: bool = False,
    label: str = "", levels_from: float | None = None, under: Under | None = None, screen: Screen = "wide",
    unsure: Collection[EdgeRef] = (),
) -> Sheet:  # fmt: skip
    """The pattern as a drawing for a page.

    Args:
        pattern: as it is; before: as it was, laid beneath.
        unit: the maker's.
        only_changed: on a card, without the pieces that are as they were.
        tapped: with its edges laid on top, to be tapped.
        label: what a reader who does not see it is told.
        levels_from: the height that levels are told from; with it they can be dragged.
        under: the straightened photograph beneath it.
        unsure: edges to be pointed right, which are shown.
        screen: where it is looked at; on a telephone the pieces lie in rows, over a photograph where they do.
    """
    only = redrawn_pieces(before, pattern) if only_changed and before is not None else ()
    figures = figures_of(pattern, before, unit, only=only or None)
    drawing, laid = screen_picture(figures, _where(screen, tapped=tapped, on_card=only_changed),
                                   NOT_ON_CARDS if only_changed else (), as_stored=under is not None)  # fmt: skip
    said = label or told_of(pattern, before)
    sheet = as_sheet(drawing, unit, said, screen=screen)
    if under is not None:
        sheet = _over(sheet, under)
    if not tapped:
        return sheet
    # As far apart as the drawing beneath has them.
    placed = figures.places(laid.text_mm, laid.room_letters, laid.rows)
    edges = _edges(placed, unsure)
    if levels_from is not None:
        edges += _handles(placed, levels_from)
    return replace(sheet, svg=Markup(str(sheet.svg).replace("</svg>", f"{edges}</svg>")))


def told_of(pattern: Pattern, before: Pattern | None) -> str:
    """What is drawn, for whoever does not see it: the pieces, and which of them have another line than before."""
    named = f"The pattern {pattern.name}: {', '.join(piece_title(piece.name) for piece in pattern.pieces)}"
    if before is None:
        return named
    anew = [piece_title(name) for name in redrawn_pieces(before, pattern)]
    return f"{named}. The new line is bold over the old on: {', '.join(anew)}" if anew else f"{named}, all as before"


def _where(screen: Screen, *, tapped: bool, on_card: bool) -> Screen:
    """Where on that screen a drawing stands."""
    if on_card:
        return "card" if screen == "wide" else "narrow card"
    if tapped:
        return "low" if screen == "wide" else "narrow low"
    return screen


def as_sheet(drawing: Drawing, unit: Unit, label: str, screen: Screen = "wide") -> Sheet:
    """A drawing without a title as it stands on a page, which has one."""
    layers = tuple((one.id, one.label) for one in drawing.layers if one.id in SWITCHED)
    svg = picture_svg(drawing, label, "pattern")
    overlaid = drawing.layer("old-line") is not None
    return Sheet(svg, layers, overlaid, unit=unit, screen=screen, left_out=drawing.left_out)


def _over(sheet: Sheet, under: Under) -> Sheet:
    """The drawing over a photograph."""
    head, tag, rest = str(sheet.svg).partition(">")
    image = (
        f'<image class="l-photograph" href="{escape(under.href)}" x="{under.left:.3f}" y="{-under.top:.3f}" '
        f'width="{under.right - under.left:.3f}" height="{under.top - under.bottom:.3f}" preserveAspectRatio="none"/>'
    )
    return replace(sheet, svg=Markup(f"{head}{tag}{image}{rest}"), layers=(("photograph", "Photograph"), *sheet.layers))


def _edges(placed: Iterable[Placed], unsure: Collection[EdgeRef]) -> str:
    """Every edge as a line of its own, with its names and the move that its piece was drawn with."""
    rows = []
    for at in placed:
        move = at.move
        rows.append(
            f'<g data-piece="{escape((at.old or at.piece).name)}" data-dx="{move.dx:.4f}" data-dy="{move.dy:.4f}" '
            f'data-over="{int(move.xx < 0)}">'
        )
        for edge in (at.old or at.piece).edges:
            run = tuple(moved(segment, move) for segment in edge.segments)
            named = f'data-edge="{escape(edge.name)}" data-role="{edge.role}"'
            if EdgeRef((at.old or at.piece).name, edge.name) in unsure:
                rows.append(f'<path class="unsure" d="{path_data(run)}"/>')
            rows.append(f'<path class="tap" {named} d="{path_data(run)}"/>')
        rows.append("</g>")
    return f'<g class="taps">{"".join(rows)}</g>'


def _handles(placed: Sequence[Placed], low_mm: float) -> str:
    """A line across each row of pieces for each level that lies at one height, to be dragged up and down."""
    rows = []
    for name in STATIONS:
        ys = [p.y for at in placed for p in at.piece.levels.get(name, ())]
        if not ys or max(ys) - min(ys) >= LEVEL_TOL_MM:
            continue
        for dy in dict.fromkeys(at.move.dy for at in placed):
            boxes = [(bounds(at.piece), at.move.dx) for at in placed if at.move.dy == dy]
            left, right = min(box.left + dx for box, dx in boxes), max(box.right + dx for box, dx in boxes)
            rows.append(
                f'<line class="handle" data-station="{name}" data-up="{ys[0] - low_mm:.3f}" x1="{left:.2f}" '
                f'x2="{right:.2f}" y1="{-ys[0] - dy:.2f}" y2="{-ys[0] - dy:.2f}"/>'
            )
    return f'<g class="handles">{"".join(rows)}</g>'


def small_picture(pattern: Pattern) -> str:
    """The outlines alone, as a picture of its own; it is light on dark paper."""
    rows, boxes = [], []
    for at in placed_pieces(pattern):
        box = bounds(at.piece)
        boxes += [at.move(Point(box.left, box.bottom)), at.move(Point(box.right, box.top))]
        rows.append(f'<path d="{_outline(at.piece.edges, at.move)}"/>')
        waist = at.piece.levels.get("waist")
        if waist:
            line = tuple(moved(Line(a, b), at.move) for a, b in pairwise(waist))
            rows.append(f'<path class="w" d="{path_data(line)}"/>')
    left, right = min(p.x for p in boxes) - CARD_MARGIN_MM, max(p.x for p in boxes) + CARD_MARGIN_MM
    low, high = min(p.y for p in boxes) - CARD_MARGIN_MM, max(p.y for p in boxes) + CARD_MARGIN_MM
    pen = max((right - left) / 170.0, (high - low) / 110.0)
    style = (
        f"path{{fill:none;stroke:{INK};stroke-width:{pen:.2f};stroke-linejoin:round}}"
        f".w{{stroke-dasharray:{pen * 3:.1f};stroke-width:{pen / 2:.2f}}}"
        f"@media(prefers-color-scheme:dark){{path{{stroke:{PALE}}}}}"
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:.1f} {-high:.1f} {right - left:.1f} {high - low:.1f}" '
        f'width="340" height="{340 * (high - low) / (right - left):.0f}"><style>{style}</style>{"".join(rows)}</svg>'
    )


def strip_picture(pattern: Pattern) -> Markup:
    """The outlines alone, within a page, in the page's ink."""
    text = small_picture(pattern)
    body = text[text.index("</style>") + len("</style>") :]
    box = text[text.index("viewBox") : text.index('" width') + 1]
    return Markup(f'<svg class="mini" aria-hidden="true" {box}>{body}')


def _outline(edges: Iterable[Edge], move: Affine) -> str:
    return path_data([moved(segment, move) for edge in edges for segment in edge.segments], closed=True)
