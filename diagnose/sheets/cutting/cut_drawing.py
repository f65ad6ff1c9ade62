"""A pattern's pieces as drawings to cut from, one each: the cutting line, what lies on a fold, version and date.

Millimetres at true scale, y upwards. What the pattern itself shows comes from `pattern_drawing`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct, field

from diagnose.pattern.altered import Zone
from diagnose.pattern.geometry.bezier import moved, tangent
from diagnose.pattern.geometry.plane import Affine, across, add, scaled
from diagnose.pattern.geometry.runs import run_length, run_place, run_point_at
from diagnose.pattern.outline import Edge, Line, Pattern, Piece, Point
from diagnose.sheets.cutting.allowance import Allowances, cutting_line, sewn_edges
from diagnose.sheets.drawn.drawing import Drawing, Layer, Path, Pen, Text, frame_of, polyline
from diagnose.sheets.drawn.ground import Ground, ground_of
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.drawn.placing import Placed, placed_pieces
from diagnose.sheets.drawn.work_layers import Lettered
from diagnose.units import Unit

__all__ = ["ALLOWANCE_LAYER", "Sheet", "cut_drawings"]

ALLOWANCE_LAYER = "allowances"
CUT_PEN = Pen(0.25)
SEAM_WORDS_MM = 3.2
INSIDE_MM = 2.6
ABOVE_RATIOS = (0.6, 0.7, 0.5, 0.8, 0.4, 0.3, 0.2)
EDGE_WORDS = {"fold": "lay on the fold", "lacing": "lacing edge", "opening": "opening edge"}
PIECE_MARGIN_MM = 2.0


class Sheet(Struct, frozen=True):
    """A pattern as every writer is handed it.

    Attributes:
        pattern: as it is now.
        before: as it was, to be drawn thin under it.
        allowances: outside the stitching line, by the role of the edge; without any, no cutting line is drawn.
        unit: of the dimensions; coordinates are mm whatever it is.
        version: the version's name.
        date: the day; left out, nothing is dated.
        zones: what was done to the pieces, as the operations tell it.
        letters: the marks of the steps by hand.
    """

    pattern: Pattern
    before: Pattern | None = None
    allowances: Allowances = field(default_factory=dict)
    unit: Unit = "in"
    version: str = ""
    date: str = ""
    zones: Sequence[Zone] = ()
    letters: Sequence[Lettered] = ()

    @property
    def dated(self) -> str:
        """The version and the day, as far as they are told."""
        return " · ".join(part for part in (self.version, self.date) if part)

    @property
    def titled(self) -> str:
        """The pattern's name, the version and the day."""
        return " · ".join(part for part in (self.pattern.name, self.dated) if part)

    def drawing_of(self, piece: Piece, said: tuple[str, ...] = (), clear_of: Sequence[Path] = ()) -> Drawing:
        """A piece alone, over what it was before."""
        return draw_pattern(
            self.pattern, self.before, self.unit, only=[piece.name], said=said, clear_of=clear_of, zones=self.zones,
            letters=self.letters,
        )  # fmt: skip


def cut_drawings(sheet: Sheet) -> tuple[Drawing, ...]:
    """Each piece as a drawing of its own, over the piece it was in the version before."""
    places = [placed_pieces(sheet.pattern, sheet.before, [piece.name])[0] for piece in sheet.pattern.pieces]
    return tuple(_drawing(sheet, at) for at in places)


def _drawing(sheet: Sheet, at: Placed) -> Drawing:
    cutting = tuple(_cutting(sheet.pattern, at, sheet.allowances))
    plain = sheet.drawing_of(at.piece, (sheet.pattern.name, sheet.dated), cutting)
    layers = [layer for layer in plain.layers if layer.id != "title"]
    names = next(n for n, layer in enumerate(layers) if layer.id == "names")
    cut = Layer(ALLOWANCE_LAYER, "Cutting line", CUT_PEN, marks=cutting)
    layers = [*layers[:names], *([cut] if cut.marks else []), *layers[names:]]
    words = Layer("edges", "Edges", Pen(0.01), marks=tuple(_edges(at, ground_of(layers))))
    layers = [*layers, *([words] if words.marks else [])]
    return Drawing(at.piece.name, tuple(layers), frame_of(layers, PIECE_MARGIN_MM))


def _cutting(pattern: Pattern, at: Placed, allowances: Allowances) -> Iterator[Path]:
    if any(allowances.get(edge.role, 0.0) > 0.0 for edge in at.piece.edges):
        ring = cutting_line(at.piece, allowances, sewn_edges(pattern, at.piece))
        yield polyline((at.move(p) for p in ring), f"cutting-{at.piece.name}", closed=True)


def _edges(at: Placed, ground: Ground) -> Iterator[Text]:
    for edge in at.piece.edges:
        if edge.role in EDGE_WORDS:
            ways = [(_along(edge, at.move, EDGE_WORDS[edge.role], ratio=ratio),) for ratio in ABOVE_RATIOS]
            yield from ground.best(ways)[1]


def _along(edge: Edge, move: Affine, words: str, ratio: float) -> Text:
    """Words along the edge, inside it and so far up it, read from below or from the right."""
    segments = tuple(moved(segment, move) for segment in edge.segments)
    at = run_length(segments) * (ratio if edge.end.y > edge.start.y else 1.0 - ratio)
    index, t = run_place(segments, at)
    way = tangent(segments[index], 0.5 if isinstance(segments[index], Line) else t)
    inward = scaled(across(way), -1.0 if move.xx * move.yy < 0.0 else 1.0)
    angle = math.degrees(math.atan2(way.y, way.x))
    upright = (angle + 90.0) % 180.0 - 90.0
    # Upright edges are read downwards: so they stand right way up on a page that their piece lies along.
    upright = -90.0 if math.isclose(upright, 90.0, abs_tol=1e-6) else upright
    up = Point(-math.sin(math.radians(upright)), math.cos(math.radians(upright)))
    inside = up.x * inward.x + up.y * inward.y > 0.0
    off = INSIDE_MM if inside else INSIDE_MM + 0.7 * SEAM_WORDS_MM
    return Text(
        words, add(run_point_at(segments, at), scaled(inward, off)), SEAM_WORDS_MM, anchor="middle", turn_deg=upright
    )
