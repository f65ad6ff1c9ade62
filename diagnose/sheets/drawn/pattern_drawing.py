"""The pattern as a drawing: the new line bold over the old one, what was taken and added shaded, every mark named.

Millimetres, y upwards. Letters are `text_mm` high: 5 mm for a sheet at true scale, more for a picture on a page.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.altered import Zone
from diagnose.pattern.form.telling import edge_words, mark_words, piece_words
from diagnose.pattern.geometry.curves import run_place, run_point_at, tangent
from diagnose.pattern.geometry.plane import across, add, scaled, sub, unit
from diagnose.pattern.measure import bounds, cut_level, edge_length
from diagnose.pattern.outline import Line, Notch, Pattern, Piece, Point
from diagnose.sheets.drawn.differences import added_paper, hatched, line_moves, taken_paper
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
from diagnose.sheets.drawn.pattern_words import with_words
from diagnose.sheets.drawn.placing import Placed, carried, placed_pieces
from diagnose.sheets.drawn.work_layers import Work, letter_marks, number_marks, work_on
from diagnose.sheets.hand.figures import Lettered
from diagnose.sheets.words.names import Bones, bone_numbers
from diagnose.units import Unit

__all__ = [
    "FEW_PIECES",
    "NARROW_ROOM_LETTERS",
    "PENS",
    "Screen",
    "draw_pattern",
    "fitted_rows",
    "page_picture",
    "readable_mm",
    "redrawn_pieces",
]

TRUE_TEXT_MM = 5.0
LEAST_TEXT_MM = 4.0
FEW_PIECES = 3
"""More pieces than so many beside one another are crowded: they stand closer."""

CROWDED_ROOM_LETTERS = 4.0
WIDER = 1.15
MOST_TRIES = 4
"""A drawing so much wider than was reckoned with is drawn again, with letters to suit, at most so often."""

BARE_MARGIN = 0.25
"""Letters of room round a drawing without its title."""

LETTERS_PER_WIDTH = 58.0
Screen = Literal["wide", "narrow", "card", "page", "crowded page"]
"""Where a drawing is looked at: beside its words, on a telephone held upright, on a card among others, on a page that
is read on any of them.
"""
SCREENS: Mapping[Screen, tuple[float, float, int]] = {
    "wide": (64.0, 1.36, 3), "narrow": (38.0, 0.77, 4), "card": (38.0, 0.9, 1), "page": (30.0, 0.77, 4),
    "crowded page": (38.0, 0.77, 4),
}  # fmt: skip
"""By screen: how many letters high its width is, how much wider than high it is, and how many rows it takes."""
ROOM_MM = 25.0
CHANGED_MM = 0.4
NOTCH_LONG_MM = 5.0
ROOM_LETTERS = 9.0
NARROW_ROOM_LETTERS = 6.0
NUMBER_SIZE = 0.67
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
    text_mm: float = TRUE_TEXT_MM,
    only: Iterable[str] | None = None,
    said: Sequence[str] = (),
    clear_of: Sequence[Path] = (),
    zones: Sequence[Zone] = (),
    letters: Sequence[Lettered] = (),
    room_letters: float = ROOM_LETTERS,
    without: Collection[str] = (),
    rows: int = 1,
) -> Drawing:
    """The drawing of a pattern, laid over the version before it where one is given.

    A piece that was folded, cut or spread shows where that was done: the strip or the opening where it lies, its lines,
    and the way the part moved. Bones and slits bear their numbers.

    Args:
        pattern: the pattern as it is now.
        before: as it was; what differs is shaded and dimensioned.
        unit_: the unit of the dimensions.
        version: the version's name, for the title.
        date: the day, for the title.
        text_mm: the height of the letters.
        only: names of the pieces to draw; all of them when left out.
        said: small lines under each piece's name.
        clear_of: lines drawn elsewhere that words must keep clear of.
        zones: what was done, as the operations tell it.
        letters: the marks of the steps by hand.
        room_letters: how many letters of room stand between pieces that have an older one beneath.
        without: ids of layers to leave out; nothing is drawn of them, and no words keep clear of them.
        rows: in how many rows the pieces lie.
    """
    names = None if only is None else set(only)
    placed = placed_pieces(pattern, before, names, text_mm * room_letters if before else 0.0, rows)
    bones = bone_numbers(before, pattern)
    shown = [_Shown.of(at, zones, letters, bones, text_mm, unit_) for at in placed]
    layers = [_layer(id_, shown, text_mm, unit_) for id_ in PENS if id_ not in without]
    layers = [_with_data(layer, pattern, placed) if layer.id == "outline" else layer for layer in layers]
    layers = with_words(layers, [one.new for one in shown], text_mm, said, clear_of)
    titled = "title" not in without
    frame = frame_of(layers, text_mm * (1.0 if titled else BARE_MARGIN))
    title = " · ".join(part for part in (pattern.name, version, date) if part)
    spot = Point(frame.left + text_mm, frame.top + text_mm * 0.4)
    head = Layer("title", "Title", Pen(0.01), marks=(Text(title, spot, text_mm * 1.3, bold=True),))
    if titled:
        layers, frame = [*layers, head], frame_of([head], text_mm, frame)
    return Drawing(title, tuple(layer for layer in layers if layer.marks), frame)


def redrawn_pieces(before: Pattern, after: Pattern) -> tuple[str, ...]:
    """The names of the pieces whose outline is no longer what it was, new ones among them."""
    return tuple(at.piece.name for at in placed_pieces(after, before) if at.old is None or _changed(at.piece, at.old))


def readable_mm(pattern: Pattern, names: Iterable[str]) -> float:
    """How high letters have to be, mm, so that they can be read when these pieces fill the width of a page."""
    boxes = [bounds(pattern.piece(name)) for name in names]
    wide = sum(box.right - box.left + ROOM_MM for box in boxes)
    return max(LEAST_TEXT_MM, wide / LETTERS_PER_WIDTH)


def fitted_rows(pattern: Pattern, names: Iterable[str], screen: Screen) -> tuple[int, float]:
    """In how many rows these pieces show largest there, and how high letters then have to be to be read."""
    boxes = [bounds(pattern.piece(name)) for name in names]
    letters, wider, most = SCREENS[screen]
    ways = []
    for rows in range(1, min(most, len(boxes)) + 1):
        size = -(-len(boxes) // rows)
        lines = [boxes[first : first + size] for first in range(0, len(boxes), size)]
        wide = max(sum(box.right - box.left + ROOM_MM for box in line) for line in lines)
        high = sum(max(box.top for box in line) - min(box.bottom for box in line) + ROOM_MM for line in lines)
        ways.append((max(wide, high * wider), len(lines)))
    across, rows = min(ways)
    return rows, max(LEAST_TEXT_MM, across / letters)


def page_picture(
    pattern: Pattern, before: Pattern | None, unit_: Unit, names: Sequence[str], *, zones: Sequence[Zone] = (),
    letters: Sequence[Lettered] = (),
) -> Drawing:  # fmt: skip
    """The pieces in rows, without a title, with letters that can be read wherever the page is."""
    screen: Screen = "crowded page" if len(names) > FEW_PIECES else "page"
    rows, text_mm = fitted_rows(pattern, names, screen)
    room = CROWDED_ROOM_LETTERS if len(names) > FEW_PIECES else NARROW_ROOM_LETTERS
    for _ in range(MOST_TRIES):
        drawing = draw_pattern(pattern, before, unit_, text_mm=text_mm, only=names, zones=zones, letters=letters,
                               room_letters=room, without=("title",), rows=rows)  # fmt: skip
        wanted_mm = _fitted_mm(drawing, screen)
        if wanted_mm <= WIDER * text_mm:
            break
        # Words beside the pieces took more room than was reckoned with: letters follow.
        text_mm = wanted_mm
    return drawing


def _fitted_mm(drawing: Drawing, screen: Screen) -> float:
    """How high letters have to be, mm, to be read there, when the drawing as it came out fills the screen."""
    box, (letters, wider, _) = drawing.frame, SCREENS[screen]
    return max(box.right - box.left, (box.top - box.bottom) * wider) / letters


def _changed(new: Piece, old: Piece) -> bool:
    return [edge.segments for edge in new.edges] != [edge.segments for edge in old.edges]


class _Shown(Struct, frozen=True):
    """A piece where it is drawn, the older one beneath it, and the work, letters and numbers on it."""

    new: Piece
    old: Piece | None
    work: Work | None
    letters: tuple[Mark, ...]
    numbers: tuple[Mark, ...]

    @staticmethod
    def of(
        at: Placed, zones: Sequence[Zone], letters: Sequence[Lettered], bones: Bones, text_mm: float, unit_: Unit
    ) -> _Shown:
        """The piece with what was done to it, all carried to its place."""
        names = {at.piece.name, *([at.old.name] if at.old and at.piece.side != "left" else [])}
        new = carried(at.piece, at.move)
        work = work_on(at.piece, zones, tuple(names), text_mm, unit_)
        spots = [(one.mark, at.move(one.spot)) for one in letters if one.piece in names]
        numbers = tuple(number_marks(new, bones, text_mm * NUMBER_SIZE))
        return _Shown(
            new=new, old=carried(at.old, at.move) if at.old else None, work=work.carried(at.move) if work else None,
            letters=tuple(letter_marks(new, spots, text_mm, numbers)), numbers=numbers,
        )  # fmt: skip


def _layer(id_: str, shown: Sequence[_Shown], text_mm: float, unit_: Unit) -> Layer:
    label, pen = PENS[id_]
    scale = text_mm / TRUE_TEXT_MM
    pen = Pen(pen.width_mm * scale, pen.ink, tuple(dash * scale for dash in pen.dash_mm))
    marks: list[Mark] = []
    for one in shown:
        if one.work is not None and id_ in WORKED:
            marks += WORKED[id_](one.work, text_mm)
        elif id_ == "letters":
            marks += one.letters
        elif id_ == "numbers":
            marks += one.numbers
        elif one.old is not None and id_ in BOTH:
            marks += BOTH[id_](one.new, one.old, text_mm, unit_)
        elif id_ in ALONE:
            marks += ALONE[id_](one.new, text_mm)
    return Layer(id_, label, pen, marks=tuple(marks))


def _with_data(outlines: Layer, pattern: Pattern, placed: Iterable[Placed]) -> Layer:
    """The layer of outlines, each with what a program must know to read the stored pattern back."""
    told = {
        f"outline-{at.piece.name}": {**piece_words(pattern, at.piece, at.move), "edges": edge_words(at.piece)}
        for at in placed
    }  # fmt: skip
    marks = tuple(replace(mark, told=told[mark.name]) if isinstance(mark, Path) else mark for mark in outlines.marks)
    return replace(outlines, marks=marks)


def _outline(piece: Piece, text_mm: float) -> Iterator[Mark]:
    yield Path(tuple(s for e in piece.edges for s in e.segments), closed=True, name=f"outline-{piece.name}")


def _old_line(new: Piece, old: Piece, text_mm: float, unit_: Unit) -> Iterator[Mark]:
    if _changed(new, old):
        yield Path(tuple(s for e in old.edges for s in e.segments), closed=True, name=f"old-{new.name}")


def _shaded(areas: Iterable[Mark], text_mm: float, *, rising: bool) -> Iterator[Mark]:
    for area in (one for one in areas if isinstance(one, Area)):
        yield area
        yield from hatched(area, text_mm * 0.55, rising=rising)


def _taken(new: Piece, old: Piece, text_mm: float, unit_: Unit) -> Iterator[Mark]:
    if _changed(new, old):
        yield from _shaded(taken_paper(old, new), text_mm, rising=True)


def _added(new: Piece, old: Piece, text_mm: float, unit_: Unit) -> Iterator[Mark]:
    if _changed(new, old):
        yield from _shaded(added_paper(old, new), text_mm, rising=False)


def _dimensions(new: Piece, old: Piece, text_mm: float, unit_: Unit) -> Iterator[Mark]:
    if _changed(new, old):
        yield from line_moves(old, new, text_mm, unit_)


def _levels(piece: Piece, text_mm: float) -> Iterator[Mark]:
    """The levels inside the outline."""
    for station, line in piece.levels.items():
        parts = cut_level(piece, line).parts
        yield Path(tuple(Line(a, b) for a, b in parts), told=mark_words(piece, f"level {station}"))


def _channels(piece: Piece, text_mm: float) -> Iterator[Mark]:
    for channel in piece.channels:
        for a, b in pairwise(channel.line):
            if a == b:
                continue
            off = scaled(across(unit(sub(b, a))), channel.width / 2.0)
            corners = (add(a, off), sub(a, off), sub(b, off), add(b, off), add(a, off))
            told = mark_words(piece, f"channel {channel.name}", width=f"{channel.width!r} mm")
            yield polyline(corners, closed=True, told=told)


def _slits(piece: Piece, text_mm: float) -> Iterator[Mark]:
    for slit in piece.slits:
        yield polyline(slit.line, told=mark_words(piece, f"slit {slit.name}"))


def _grain(piece: Piece, text_mm: float) -> Iterator[Mark]:
    if piece.grain is not None:
        a, b = piece.grain
        told = mark_words(piece, "grain")
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
    return polyline((sub(spot, off), add(spot, off)), told=mark_words(piece, "notch", edge=edge.name))


def _landmarks(piece: Piece, text_mm: float) -> Iterator[Mark]:
    arm = text_mm * 0.4
    for name, p in piece.landmarks.items():
        told = mark_words(piece, f"landmark {name}")
        yield polyline((Point(p.x - arm, p.y), Point(p.x + arm, p.y)), told=told)
        yield polyline((Point(p.x, p.y - arm), Point(p.x, p.y + arm)), told=told)


ALONE: Mapping[str, Callable[[Piece, float], Iterator[Mark]]] = {
    "channels": _channels, "slits": _slits, "grain": _grain, "notches": _notches, "landmarks": _landmarks,
    "outline": _outline, "levels": _levels,
}  # fmt: skip
WORKED: Mapping[str, Callable[[Work, float], Iterable[Mark]]] = {
    "taken-away": lambda work, text_mm: _shaded(work.taken, text_mm, rising=True),
    "added": lambda work, text_mm: _shaded(work.added, text_mm, rising=False),
    "work": lambda work, text_mm: work.lines,
    "dimensions": lambda work, text_mm: work.measures,
}
BOTH: Mapping[str, Callable[[Piece, Piece, float, Unit], Iterator[Mark]]] = {
    "taken-away": _taken, "added": _added, "old-line": _old_line, "dimensions": _dimensions,
}  # fmt: skip
