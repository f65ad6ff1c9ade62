"""The pattern as DXF: one block a piece, named after it, on the numbered layers of the apparel trade; mm, y upwards.

The layer numbers are those of the open apparel convention (ASTM D6673), from memory: 1 boundary, 14 sew line, 7 grain,
4 notches, 8 internal lines (levels, channels, slits), 13 drill holes (landmarks), 15 annotation. No compliance is
claimed: the standard was not at hand. Layer 1 bears the cutting line, layer 14 the stitching line, whose cubics are
splines with the very same control points. Extended data of the application STAYS-PATTERN (``key=value`` a string) say
which piece, edge, role and mark a line is, so that the pattern can be read back whole.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from msgspec import Struct

from diagnose.errors import printable
from diagnose.pattern.form.drawing_data import APPLICATION, mark_data, piece_data
from diagnose.pattern.geometry.bezier import around
from diagnose.pattern.geometry.plane import Affine, distance
from diagnose.pattern.geometry.runs import run_point_at
from diagnose.pattern.in_words import piece_title
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Cubic, Edge, Line, Pattern, Piece, Point, Segment
from diagnose.sheets.cutting.allowance import Allowances, cutting_line, sewn_edges
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.drawn.drawing import Area, Drawing, Path, Plain, Text, plain_marks
from diagnose.sheets.drawn.pattern_words import cut_words
from diagnose.sheets.drawn.placing import Placed, carried, placed_pieces

__all__ = ["pattern_dxf"]

NOWHERE_MM = 2e-6
"""A step shorter than this goes nowhere and is left out."""

WORDS_HIGH_MM = 5.0
BETWEEN_LINES = 1.6
LETTERS = 60
BEZIER_KNOTS = (0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0)
CHANGES = ("taken-away", "added", "old-line", "work", "dimensions", "numbers", "letters")
OLD_LINE = "OLD-LINE"
_NOT_IN_NAMES = re.compile(r"[<>/\\\":;?*|=`,'\x00-\x1f]")


class _Layer(Struct, frozen=True):
    """A layer: its number or name, what it is, line width in 1/100 mm, line type."""

    name: str
    says: str
    width: int
    dashes: str = "CONTINUOUS"


LAYERS = (
    _Layer("1", "boundary: the cutting line", 25),
    _Layer("4", "notches", 25),
    _Layer("7", "grain line", 30),
    _Layer("8", "internal lines: levels, channels, slits", 18),
    _Layer("13", "drill holes: landmarks", 25),
    _Layer("14", "sew line: the stitching line", 80),
    _Layer("15", "annotation", 13),
    _Layer("old-line", "the stitching line before", 35, dashes=OLD_LINE),
    _Layer("taken-away", "paper taken away", 13),
    _Layer("added", "paper added", 13),
    _Layer("work", "folds, cuts and what moves", 25),
    _Layer("dimensions", "how much", 18),
    _Layer("numbers", "numbers of bones and slits", 13),
    _Layer("letters", "lettered marks of the steps", 25),
)


def pattern_dxf(sheet: Sheet) -> str:
    """The text of the DXF file, the same for the same input.

    Where there is a version before, its line, the moved paper and the dimensions stand on layers of their own.
    """
    pattern, before = sheet.pattern, sheet.before
    with _undated():
        document = _document(with_change=before is not None)
        space, names = document.modelspace(), _block_names(pattern.pieces)
        for at in placed_pieces(pattern, before, between_mm=2.0 * max(sheet.allowances.values(), default=0.0)):
            block = document.blocks.new(names[at.piece.name])
            _piece(block, pattern, at, allowances=sheet.allowances)
            if before is not None:
                _change(block, sheet.drawing_of(at.piece))
            space.add_blockref(block.name, (at.move.dx, at.move.dy), dxfattribs={"layer": "1"})
        _annotate(space, pattern, (f"Style name: {pattern.name}", "Units: metric (mm)", sheet.version, sheet.date))
        return _text(document)


def _change(block: Any, drawing: Drawing) -> None:
    """The older line and what was done, each on its layer; a piece drawn alone lies where it is."""
    for name in CHANGES:
        layer = drawing.layer(name)
        for mark in plain_marks(layer.marks if layer else ()):
            _mark(block, mark, name)


def _document(*, with_change: bool) -> Any:
    # Imported late: it takes longer to load than the drawing takes to make.
    import ezdxf
    from ezdxf import units

    document = ezdxf.new("R2010", units=units.MM)  # type: ignore[attr-defined]
    document.header["$MEASUREMENT"] = 1
    document.header["$PDMODE"], document.header["$PDSIZE"] = 3, 4.0  # points show as crosses of 4 mm
    document.appids.add(APPLICATION)
    document.linetypes.add(OLD_LINE, pattern=[3.8, 2.2, -1.6], description="- - -")
    for layer in LAYERS:
        if with_change or layer.name not in CHANGES:
            made = document.layers.add(layer.name, lineweight=layer.width, linetype=layer.dashes)
            made.description = layer.says
    return document


@contextmanager
def _undated() -> Iterator[None]:
    """While the library leaves out the day and the random marks that it would put in a file."""
    import ezdxf

    options: Any = ezdxf.options  # type: ignore[attr-defined]
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _text(document: Any) -> str:
    # Declared in this order: the library's own is that of a set, which is another in every run.
    for kind in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(kind)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def _block_names(pieces: Sequence[Piece]) -> Mapping[str, str]:
    """For each piece a name that a block may have; no two are the same, large and small letters not told apart."""
    taken, names = set[str](), dict[str, str]()
    for number, piece in enumerate(pieces, 1):
        plain = _plain(_NOT_IN_NAMES.sub("-", piece.name)).strip() or f"piece-{number}"
        name = plain if plain.casefold() not in taken else f"{plain}-{number}"
        taken.add(name.casefold())
        names[piece.name] = name
    return names


def _plain(words: str) -> str:
    return printable(words, instead=" ")


def _piece(block: Any, pattern: Pattern, at: Placed, allowances: Allowances) -> None:
    """The piece in its block, as it lies before it is shifted to its place."""
    turn = Affine(xx=at.move.xx, yy=at.move.yy)
    cut = cutting_line(at.piece, allowances, sewn_edges(pattern, at.piece))
    piece, ring = carried(at.piece, turn), [turn(p) for p in cut]
    _run_through(block, ring, "1", data=piece_data(pattern, at.piece, at.move), closed=True)
    for edge in piece.edges:
        for segment in edge.segments:
            _segment(block, segment, {"piece": piece.name, "edge": edge.name, "role": edge.role})
    _marks(block, piece)
    _annotate_piece(block, piece)


def _marks(block: Any, piece: Piece) -> None:
    for station, line in piece.levels.items():
        _run_through(block, line, "8", data=mark_data(piece, f"level {station}"))
    for channel in piece.channels:
        told = mark_data(piece, f"channel {channel.name}", width=f"{channel.width!r} mm")
        _run_through(block, channel.line, "8", data=told)
    for slit in piece.slits:
        _run_through(block, slit.line, "8", data=mark_data(piece, f"slit {slit.name}"))
    if piece.grain is not None:
        _run_through(block, piece.grain, "7", data=mark_data(piece, "grain"))
    for name, spot in piece.landmarks.items():
        _tell(block.add_point(spot, {"layer": "13"}), mark_data(piece, f"landmark {name}"))
    for edge, spot in _notch_spots(piece):
        _tell(block.add_point(spot, {"layer": "4"}), mark_data(piece, "notch", edge=edge.name))


def _notch_spots(piece: Piece) -> Iterator[tuple[Edge, Point]]:
    edges = {edge.name: edge for edge in piece.edges}
    for notch in piece.notches:
        if notch.edge in edges:
            yield edges[notch.edge], run_point_at(edges[notch.edge].segments, notch.at)


def _segment(block: Any, segment: Segment, data: Mapping[str, str], layer: str = "14") -> None:
    points = (segment.start, segment.c1, segment.c2, segment.end) if isinstance(segment, Cubic) else ()
    if max(distance(segment.start, p) for p in (*points, segment.end)) < NOWHERE_MM:
        return
    if isinstance(segment, Line):
        made = block.add_line(segment.start, segment.end, {"layer": layer})
    else:
        made = block.add_open_spline([(p.x, p.y, 0.0) for p in points], degree=3, knots=BEZIER_KNOTS,
                                     dxfattribs={"layer": layer})  # fmt: skip
    _tell(made, data)


def _run_through(
    block: Any, line: Iterable[Point], layer: str, data: Mapping[str, str], *, closed: bool = False
) -> None:
    points = list[Point]()
    for point in line:
        if not points or distance(point, points[-1]) >= NOWHERE_MM:
            points.append(point)
    if closed and len(points) > 1 and distance(points[0], points[-1]) < NOWHERE_MM:
        points.pop()
    if len(points) > 1:
        _tell(block.add_lwpolyline(points, close=closed, dxfattribs={"layer": layer}), data)


def _tell(entity: Any, data: Mapping[str, str]) -> None:
    """The data as strings of few letters (255 bytes are allowed); a key with + goes on with what it was begun with."""
    tags = [
        (1000, f"{key}{'+' if n else ''}={_plain(value)[n : n + LETTERS]}")
        for key, value in data.items() for n in range(0, max(1, len(value)), LETTERS)
    ]  # fmt: skip
    if tags:
        entity.set_xdata(APPLICATION, tags)


def _annotate_piece(block: Any, piece: Piece) -> None:
    xs = [p.x for edge in piece.edges for p in (edge.start,)]
    ys = [p.y for edge in piece.edges for p in (edge.start,)]
    at = Point(sum(xs) / len(xs), sum(ys) / len(ys))
    for n, words in enumerate((f"Piece name: {piece_title(piece.name)}", cut_words(piece))):
        _words(
            block,
            Text(words, Point(at.x, at.y - n * WORDS_HIGH_MM * BETWEEN_LINES), WORDS_HIGH_MM, anchor="middle"),
            "15",
        )


def _annotate(space: Any, pattern: Pattern, said: Iterable[str]) -> None:
    """Words on the whole pattern, below it."""
    whole = around(bounds(piece) for piece in pattern.pieces)
    left, top = whole.left, whole.bottom - 4.0 * WORDS_HIGH_MM
    for n, words in enumerate(filter(None, said)):
        _words(space, Text(words, Point(left, top - n * WORDS_HIGH_MM * BETWEEN_LINES), WORDS_HIGH_MM), "15")


def _mark(space: Any, mark: Plain, layer: str) -> None:
    """A line or words of the change."""
    match mark:
        case Path():
            for segment in mark.segments:
                _segment(space, segment, {}, layer=layer)
        case Text():
            _words(space, mark, layer)
        case Area():  # the lines of its hatching show it
            pass


def _words(layout: Any, text: Text, layer: str) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = {"start": TextEntityAlignment.LEFT, "middle": TextEntityAlignment.CENTER, "end": TextEntityAlignment.RIGHT}
    made = layout.add_text(_plain(text.words), height=text.size_mm * 0.7, rotation=text.turn_deg,
                           dxfattribs={"layer": layer})  # fmt: skip
    made.set_placement(text.at, align=align[text.anchor])
