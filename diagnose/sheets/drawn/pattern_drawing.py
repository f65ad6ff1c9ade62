"""The pattern as a drawing: the new line bold over the old one, what was taken and added shaded, every mark named.

Millimetres, y upwards. Letters are `text_mm` high: 5 mm for a sheet at true scale, more for a picture on a page.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import Zone
from diagnose.pattern.form.drawing_data import edge_data, mark_data, piece_data
from diagnose.pattern.geometry.bezier import Box, around, moved, tangent
from diagnose.pattern.geometry.plane import Affine, across, add, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_place, run_point_at
from diagnose.pattern.in_words import Bones
from diagnose.pattern.measure import cut_level, edge_length
from diagnose.pattern.outline import Line, Notch, Pattern, Piece, Point
from diagnose.sheets.drawn.differences import hatched
from diagnose.sheets.drawn.drawing import (
    Area,
    Drawing,
    Layer,
    Mark,
    Path,
    Pen,
    Text,
    arrow_head,
    frame_of,
    polyline,
)
from diagnose.sheets.drawn.ground import thinned
from diagnose.sheets.drawn.pattern_words import Lettering, cut_told, with_words
from diagnose.sheets.drawn.pieces_drawn import Figure, Figures, figures_of, is_redrawn
from diagnose.sheets.drawn.placing import Placed, carried, older_piece
from diagnose.sheets.drawn.work_layers import Lettered, letter_marks, number_marks, work_marks
from diagnose.units import Unit

__all__ = ["BARE_MARGIN", "PENS", "ROOM_LETTERS", "draw_figures", "draw_pattern", "redrawn_pieces"]

TRUE_TEXT_MM = 5.0
BARE_MARGIN = 0.25
"""Letters of room round a drawing without its title."""

NOTCH_LONG_MM = 5.0
ROOM_LETTERS = 9.0
NUMBER_SIZE = 0.75
PENS: Mapping[str, tuple[str, Pen]] = {  # by layer: its label and its pen
    "taken-away": ("Paper taken away", Pen(0.2, "accent")),
    "added": ("Paper added", Pen(0.2, "soft")),
    "levels": ("Levels: top, underbust, waist, hip, bottom", Pen(0.2, "soft")),
    "channels": ("Boning channels", Pen(0.18, "soft")),
    "old-line": ("Old line", Pen(0.35, "ink", (2.2, 1.6))),
    "slits": ("Slits", Pen(0.5)),
    "grain": ("Grain", Pen(0.3)),
    "notches": ("Notches", Pen(0.5)),
    "landmarks": ("Landmarks", Pen(0.35)),
    "outline": ("New line", Pen(0.8)),
    "work": ("Folds, cuts and what moves", Pen(0.45, "accent", (4.0, 1.4, 0.8, 1.4))),
    "dimensions": ("How much", Pen(0.35, "accent")),
    "numbers": ("Numbers of bones and slits", Pen(0.01, "soft")),
    "letters": ("Lettered marks of the steps", Pen(0.5)),
    "names": ("Names and cutting", Pen(0.01)),
}


def draw_pattern(
    pattern: Pattern,
    before: Pattern | None = None,
    unit_: Unit = "in",
    *,
    version: str = "",
    date: str = "",
    only: Iterable[str] | None = None,
    said: Sequence[str] = (),
    clear_of: Sequence[Path] = (),
    zones: Sequence[Zone] = (),
    letters: Sequence[Lettered] = (),
) -> Drawing:
    """The drawing of a pattern at true scale, laid over the version before it where one is given.

    A piece that was folded, cut or spread shows where that was done: the strip or the opening where it lies, its lines,
    and the way the part moved. Bones and slits bear their numbers.

    Args:
        pattern: the pattern as it is now.
        before: as it was; what differs is shaded and dimensioned.
        unit_: the unit of the dimensions.
        version: the version's name, for the title.
        date: the day, for the title.
        only: names of the pieces to draw; all of them when left out.
        said: small lines under each piece's name.
        clear_of: lines drawn elsewhere that words must keep clear of.
        zones: what was done, as the operations tell it.
        letters: the marks of the steps by hand.
    """
    names = None if only is None else set(only)
    figures = figures_of(pattern, before, unit_, only=names, zones=zones, letters=letters)
    return draw_figures(figures, version=version, date=date, text_mm=TRUE_TEXT_MM, said=said, clear_of=clear_of)


def draw_figures(
    figures: Figures,
    *,
    version: str = "",
    date: str = "",
    text_mm: float = TRUE_TEXT_MM,
    said: Sequence[str] = (),
    clear_of: Sequence[Path] = (),
    room_letters: float = ROOM_LETTERS,
    without: Collection[str] = (),
    rows: int = 1,
    least: float = 0.0,
    most: tuple[float, float] | None = None,
    crowded: bool = False,
) -> Drawing:
    """The drawing of pieces whose changes have been worked out; the other arguments are those of `draw_pattern`.

    Args:
        figures: the pieces.
        least: for a screen: no letters are lower than so much of `text_mm`, and words that would lie on others are left
            out and told.
        most: for a screen: how wide and high the pieces with their words may be, mm; words that would make it larger
            are left out and told.
        crowded: how each piece is cut is told, and not written on it.
    """
    places = figures.places(text_mm, room_letters, rows)
    shown = list[_Shown]()
    for at in places:
        beside = [mark for one in shown for mark in one.letters]
        shown.append(_shown(figures.at(at), at, figures.bones, text_mm=text_mm, beside=beside, least=least))
    layers = [_layer(id_, shown, text_mm) for id_ in PENS if id_ not in without]
    layers = [_with_data(layer, figures.pattern, places) if layer.id == "outline" else layer for layer in layers]
    lettering = Lettering(
        text_mm, least, crowded=crowded, said=said, clear_of=clear_of,
        within=_room_round(places, most) if most else None,
    )  # fmt: skip
    layers = with_words(layers, [one.new for one in shown], lettering)
    layers, left_out = thinned(layers, [at.box for at in places], most) if least else (layers, ())
    if crowded and "names" not in without:
        left_out = tuple(dict.fromkeys((*left_out, *(cut_told(one.new) for one in shown))))
    titled = "title" not in without
    frame = frame_of(layers, text_mm * (1.0 if titled else BARE_MARGIN))
    title = " · ".join(part for part in (figures.pattern.name, version, date) if part)
    spot = Point(frame.left + text_mm, frame.top + text_mm * 0.4)
    head = Layer("title", "Title", Pen(0.01), marks=(Text(title, spot, text_mm * 1.3, bold=True),))
    if titled:
        layers, frame = [*layers, head], frame_of([head], text_mm, frame)
    return Drawing(title, tuple(layer for layer in layers if layer.marks), frame, left_out=left_out)


def _room_round(places: Iterable[Placed], most: tuple[float, float]) -> Box:
    """The room that a drawing which may be so wide and high has, its pieces in the middle."""
    whole = around(at.box for at in places)
    dx, dy = most[0] - whole.wide, most[1] - whole.high
    beside, above = (max(0.0, free) / 2.0 for free in (dx, dy))
    return Box(whole.left - beside, whole.bottom - above, right=whole.right + beside, top=whole.top + above)


def redrawn_pieces(before: Pattern, after: Pattern) -> tuple[str, ...]:
    """The names of the pieces whose outline is no longer what it was, new ones among them."""
    pairs = ((piece, older_piece(piece.name, before)) for piece in after.pieces)
    return tuple(piece.name for piece, old in pairs if old is None or is_redrawn(piece, old))


class _Shown(Struct, frozen=True):
    """A piece where it is drawn, the older one beneath it, and the letters and numbers on it."""

    figure: Figure
    move: Affine
    new: Piece
    letters: tuple[Mark, ...]
    numbers: tuple[Mark, ...]


def _shown(figure: Figure, at: Placed, bones: Bones, text_mm: float, beside: Sequence[Mark], least: float) -> _Shown:
    """The piece in its place, its letters clear of those on the pieces beside it."""
    new = carried(at.piece, at.move)
    numbers = tuple(number_marks(new, bones, text_mm * max(NUMBER_SIZE, least)))
    spots = [(mark, at.move(spot)) for mark, spot in figure.spots]
    return _Shown(
        figure,
        at.move,
        new,
        letters=tuple(letter_marks(new, spots, text_mm, beside=(*numbers, *beside))),
        numbers=numbers,
    )


def _layer(id_: str, shown: Iterable[_Shown], text_mm: float) -> Layer:
    label, pen = PENS[id_]
    scale = text_mm / TRUE_TEXT_MM
    pen = Pen(pen.width_mm * scale, pen.ink, tuple(dash * scale for dash in pen.dash_mm))
    return Layer(id_, label, pen, marks=tuple(mark for one in shown for mark in MARKS[id_](one, text_mm)))


def _with_data(outlines: Layer, pattern: Pattern, placed: Iterable[Placed]) -> Layer:
    """The layer of outlines, each with what a program must know to read the stored pattern back."""
    told = {
        f"outline-{at.piece.name}": {**piece_data(pattern, at.piece, at.move), "edges": edge_data(at.piece)}
        for at in placed
    }  # fmt: skip
    marks = tuple(replace(mark, told=told[mark.name]) if isinstance(mark, Path) else mark for mark in outlines.marks)
    return replace(outlines, marks=marks)


def _outline(piece: Piece, text_mm: float) -> Iterator[Mark]:
    yield Path(tuple(s for e in piece.edges for s in e.segments), closed=True, name=f"outline-{piece.name}")


def _old_line(one: _Shown) -> Iterator[Mark]:
    old = one.figure.stands.old
    if one.figure.changed and old is not None:
        segments = (moved(segment, one.move) for edge in old.edges for segment in edge.segments)
        yield Path(tuple(segments), closed=True, name=f"old-{one.new.name}")


def _shaded(areas: Iterable[Area], move: Affine, text_mm: float, *, rising: bool) -> Iterator[Mark]:
    for stored in areas:
        area = Area(tuple(tuple(move(point) for point in ring) for ring in stored.rings))
        yield area
        yield from hatched(area, text_mm * 0.55, rising=rising)


def _levels(piece: Piece, text_mm: float) -> Iterator[Mark]:
    """The levels inside the outline."""
    for station, line in piece.levels.items():
        parts = cut_level(piece, line).parts
        yield Path(tuple(Line(a, b) for a, b in parts), told=mark_data(piece, f"level {station}"))


def _channels(piece: Piece, text_mm: float) -> Iterator[Mark]:
    for channel in piece.channels:
        for a, b in pairwise(channel.line):
            if a == b:
                continue
            off = scaled(across(unit(sub(b, a))), channel.width / 2.0)
            corners = (add(a, off), sub(a, off), sub(b, off), add(b, off), add(a, off))
            told = mark_data(piece, f"channel {channel.name}", width=f"{channel.width!r} mm")
            yield polyline(corners, closed=True, told=told)


def _slits(piece: Piece, text_mm: float) -> Iterator[Mark]:
    for slit in piece.slits:
        yield polyline(slit.line, told=mark_data(piece, f"slit {slit.name}"))


def _grain(piece: Piece, text_mm: float) -> Iterator[Mark]:
    if piece.grain is not None:
        a, b = piece.grain
        told = mark_data(piece, "grain")
        yield polyline((a, b), told=told)
        yield from (replace(arrow_head(*ends, text_mm * 0.8), told=told) for ends in ((b, a), (a, b)))


def _notches(piece: Piece, text_mm: float) -> Iterator[Mark]:
    edges = {edge.name: edge for edge in piece.edges}
    for notch in piece.notches:
        if notch.edge in edges:
            yield _notch(piece, notch)


def _notch(piece: Piece, notch: Notch) -> Path:
    """A short tick square across the edge."""
    edge = piece.edge(notch.edge)
    at = min(notch.at, edge_length(edge))
    index, t = run_place(edge.segments, at)
    spot, off = run_point_at(edge.segments, at), scaled(across(tangent(edge.segments[index], t)), NOTCH_LONG_MM / 2.0)
    return polyline((sub(spot, off), add(spot, off)), told=mark_data(piece, "notch", edge=edge.name))


def _landmarks(piece: Piece, text_mm: float) -> Iterator[Mark]:
    arm = text_mm * 0.4
    for name, p in piece.landmarks.items():
        told = mark_data(piece, f"landmark {name}")
        yield polyline((Point(p.x - arm, p.y), Point(p.x + arm, p.y)), told=told)
        yield polyline((Point(p.x, p.y - arm), Point(p.x, p.y + arm)), told=told)


def _of_piece(marks: Callable[[Piece, float], Iterable[Mark]]) -> Callable[[_Shown, float], Iterable[Mark]]:
    """Marks of a layer that are read off the piece as it lies on the drawing."""
    return lambda one, text_mm: marks(one.new, text_mm)


MARKS: Mapping[str, Callable[[_Shown, float], Iterable[Mark]]] = {
    "taken-away": lambda one, text_mm: _shaded(one.figure.taken, one.move, text_mm, rising=True),
    "added": lambda one, text_mm: _shaded(one.figure.added, one.move, text_mm, rising=False),
    "levels": _of_piece(_levels), "channels": _of_piece(_channels), "old-line": lambda one, _: _old_line(one),
    "slits": _of_piece(_slits), "grain": _of_piece(_grain), "notches": _of_piece(_notches),
    "landmarks": _of_piece(_landmarks), "outline": _of_piece(_outline),
    "work": lambda one, text_mm: work_marks(one.figure.lines, one.move, text_mm),
    "dimensions": lambda one, text_mm: one.figure.measured(one.move, text_mm),
    "numbers": lambda one, _: one.numbers, "letters": lambda one, _: one.letters,
    "names": lambda one, _: (),
}  # fmt: skip
