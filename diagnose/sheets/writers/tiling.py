"""Drawings laid out on sheets of paper that are joined with an overlap, on as few of them as can be found.

Millimetres, y upwards; the sheet's origin is its lower left corner. A tile is one page's window on the joined sheet.
Tiles are called by their column's letter and their row's number: A1 is the upper left one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise, product

import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.errors import FitError
from diagnose.pattern.geometry.bezier import Box, flatten
from diagnose.pattern.geometry.plane import Affine
from diagnose.sheets.cutting.packing import Laid, Oblong, shelves
from diagnose.sheets.drawn.drawing import Drawing, Mark, Path, box_round
from diagnose.sheets.writers.paper_sizes import OVERLAP_MM, Paper

__all__ = ["Placing", "Tile", "Tiling", "tiled"]

APART_ON_PAGE_MM = 6.0
TILE_CHORD_TOL_MM = 0.5
LINE_ROOM_MM = 0.5
MOST_COLUMNS = 12
OFFSETS = (0.0, 0.25, 0.5, 0.75, 1.0)
BEST_TRIED = 8
BARE_MM2 = 0.5
UNSHADED = ("taken-away", "added", "title")


class Tile(Struct, frozen=True):
    """One page: its column from the left and row from the top, both from 0, and its window on the sheet."""

    column: int
    row: int
    window: Box

    @property
    def name(self) -> str:
        """The page's letter and number, as A1."""
        return f"{_letters(self.column)}{self.row + 1}"


class Placing(Struct, frozen=True):
    """A drawing and the move that lays it on the sheet: a shift, with a quarter turn or without."""

    drawing: Drawing
    move: Affine


class Tiling(Struct, frozen=True):
    """Pages that bear something, by rows, and what lies on the sheet that they make up."""

    paper: Paper
    tiles: tuple[Tile, ...]
    placings: tuple[Placing, ...]
    columns: int
    rows: int

    def tile_at(self, column: int, row: int) -> Tile | None:
        """The page there, if it bears anything."""
        return next((tile for tile in self.tiles if (tile.column, tile.row) == (column, row)), None)

    @property
    def frame(self) -> Box:
        """The whole sheet."""
        (step_x, step_y), over = self.paper.step, OVERLAP_MM
        return Box(0.0, 0.0, self.columns * step_x + over, self.rows * step_y + over)


def tiled(drawings: Sequence[Drawing], paper: Paper) -> Tiling:
    """The drawings on as few pages as a search of rows, quarter turns and shifts finds.

    Raises:
        FitError: when there is nothing to draw, or a piece is wider than twelve pages both ways.
    """
    if not drawings:
        raise FitError.of("pattern", "There is no piece to print.", "Name at least one.", code="no-piece")
    shapes = [_shape(drawing) for drawing in drawings]
    layouts = sorted(_layouts([d.frame for d in drawings], paper), key=lambda layout: layout.cost(shapes, paper))
    if not layouts:
        raise FitError.of(
            "paper", "A piece is too large to be put together from pages.", "Print on one sheet.", code="too-large"
        )
    tried = [moved for layout in layouts[:BEST_TRIED] for moved in layout.shifts(paper)]
    best = min(tried, key=lambda layout: layout.cost(shapes, paper))
    placings = tuple(Placing(d, m) for d, m in zip(drawings, best.moves, strict=True))
    kept = _without_spare(best.needed(shapes, paper), _union(shapes, best.moves))
    return _trimmed(Tiling(paper, kept, placings, columns=best.columns, rows=best.rows))


class _Shape(Struct, frozen=True):
    """The paper that a drawing needs, as it is and turned by a quarter about the origin."""

    upright: BaseGeometry
    turned: BaseGeometry

    def lying(self, move: Affine) -> BaseGeometry:
        """As the move turns it, but not shifted yet."""
        return self.turned if move.xy else self.upright


class _Layout(Struct, frozen=True):
    """One way to lay the drawings on columns and rows of pages; `size` is what they take."""

    moves: tuple[Affine, ...]
    columns: int
    rows: int
    size: tuple[float, float]
    turns: int

    def cost(self, shapes: Sequence[_Shape], paper: Paper) -> tuple[float, ...]:
        """Pages, then joints, then the sheet's columns and rows, then drawings turned: the fewer the better."""
        tiles = self.needed(shapes, paper)
        at = {(tile.column, tile.row) for tile in tiles}
        joints = sum(((c + 1, r) in at) + ((c, r + 1) in at) for c, r in at)
        return len(tiles), joints, self.columns * self.rows, self.turns

    def needed(self, shapes: Sequence[_Shape], paper: Paper) -> tuple[Tile, ...]:
        """The pages on whose own part of the sheet something lies."""
        pairs = zip(shapes, self.moves, strict=True)
        found = {cell for shape, move in pairs for cell in self._cells(shape, move, paper)}
        return tuple(Tile(c, r, _windows(c, r, self.columns, rows=self.rows, paper=paper)[0]) for r, c in sorted(found))

    def _cells(self, shape: _Shape, move: Affine, paper: Paper) -> Iterator[tuple[int, int]]:
        """Row and column of each page that the shape, so moved, lies on."""
        lying = shape.lying(move)
        left, bottom, right, top = lying.bounds
        step_x, step_y = paper.step
        columns = _range(left + move.dx, right + move.dx, step_x, count=self.columns)
        rows = _range(bottom + move.dy, top + move.dy, step_y, count=self.rows)
        cells = [(self.rows - 1 - up, column) for up, column in product(rows, columns)]
        cores = [
            _windows(c, r, self.columns, rows=self.rows, paper=paper)[1].shifted(-move.dx, -move.dy) for r, c in cells
        ]  # fmt: skip
        met = shapely.intersects(lying, shapely.box(*zip(*cores, strict=True)))  # all at once: far faster
        yield from (cell for cell, hit in zip(cells, met, strict=True) if hit)

    def shifts(self, paper: Paper) -> Iterator[_Layout]:
        """The layout moved about in the room it leaves."""
        (step_x, step_y), over = paper.step, OVERLAP_MM
        spare_x = self.columns * step_x + over - self.size[0]
        spare_y = self.rows * step_y + over - self.size[1]
        for part_x, part_y in product(OFFSETS, OFFSETS):
            by = Affine(dx=spare_x * part_x, dy=-spare_y * part_y)
            yield replace(self, moves=tuple(move.then(by) for move in self.moves))


def _range(low: float, high: float, step_mm: float, count: int) -> range:
    """The columns or rows between; what lies in the last one's overlap is still its own."""
    first, last = (min(max(0, math.floor(at / step_mm)), count - 1) for at in (low, high))
    return range(first, last + 1)


def _windows(column: int, row: int, columns: int, rows: int, paper: Paper) -> tuple[Box, Box]:
    """What the page shows, and the part of it that no page to the right or above shows too."""
    (wide, high), (step_x, step_y) = paper.window, paper.step
    left, bottom = column * step_x, (rows - 1 - row) * step_y
    own_x = wide if column == columns - 1 else step_x
    own_y = high if row == 0 else step_y
    return Box(left, bottom, left + wide, bottom + high), Box(left, bottom, left + own_x, bottom + own_y)


def _layouts(frames: Sequence[Box], paper: Paper) -> Iterator[_Layout]:
    boxes = [Oblong(f.right - f.left, f.top - f.bottom) for f in frames]
    step_x, step_y = paper.step
    most = _pages(sum(max(b.width, b.height) + APART_ON_PAGE_MM for b in boxes), step_x)
    for turned in _turns(boxes, paper):
        turned_boxes = [box.turned if t else box for box, t in zip(boxes, turned, strict=True)]
        for columns in range(1, min(most, MOST_COLUMNS) + 1):
            for by_height, step in product((False, True), (None, (step_x, step_y))):
                width = columns * step_x + OVERLAP_MM
                laid = shelves(turned_boxes, width, APART_ON_PAGE_MM, by_height=by_height, step_mm=step)
                if laid is not None:
                    yield _layout(laid, frames, turned, columns=columns, paper=paper)


def _layout(laid: Laid, frames: Sequence[Box], turned: Sequence[bool], columns: int, paper: Paper) -> _Layout:
    rows = _pages(laid.height, paper.step[1])
    top = rows * paper.step[1] + OVERLAP_MM
    moves = []
    for spot, frame, is_turned in zip(laid.spots, frames, turned, strict=True):
        turn = Affine(0.0, -1.0, 1.0, 0.0) if is_turned else Affine()
        left, high = (-frame.top, frame.right) if is_turned else (frame.left, frame.top)
        moves.append(turn.then(Affine(dx=spot.across - left, dy=top - spot.down - high)))
    return _Layout(tuple(moves), columns, rows, size=(laid.width, laid.height), turns=sum(turned))


def _pages(length_mm: float, step_mm: float) -> int:
    return max(1, math.ceil((length_mm - OVERLAP_MM) / step_mm - 1e-9))


def _turns(boxes: Sequence[Oblong], paper: Paper) -> Iterator[tuple[bool, ...]]:
    """Which to turn: none, all, those that take fewer pages by it, one alone, all but one."""
    count = len(boxes)
    step_x, step_y = paper.step

    def alone(box: Oblong) -> int:
        return _pages(box.width, step_x) * _pages(box.height, step_y)

    some = tuple(alone(box.turned) < alone(box) for box in boxes)
    singles = [tuple(n == k for n in range(count)) for k in range(min(count, MOST_COLUMNS))]
    halves = [tuple(n < k for n in range(count)) for k in range(1, min(count, MOST_COLUMNS))]
    ways = [(False,) * count, (True,) * count, some, *singles, *(tuple(not t for t in s) for s in singles), *halves]
    yield from dict.fromkeys(ways)


def _without_spare(tiles: tuple[Tile, ...], content: BaseGeometry) -> tuple[Tile, ...]:
    """The pages without those whose whole content shows in their neighbours' overlaps, the emptiest tried first."""
    kept = list(tiles)
    for tile in sorted(tiles, key=lambda tile: content.intersection(shapely.box(*tile.window)).area):
        others = [shapely.box(*other.window) for other in kept if other is not tile]
        bare = content.intersection(shapely.box(*tile.window)).difference(shapely.union_all(others))
        if others and bare.area < BARE_MM2:
            kept.remove(tile)
    return tuple(kept)


def _trimmed(tiling: Tiling) -> Tiling:
    """The sheet without columns and rows that bear nothing at its edges."""
    first, last = min(t.column for t in tiling.tiles), max(t.column for t in tiling.tiles)
    upper, lower = min(t.row for t in tiling.tiles), max(t.row for t in tiling.tiles)
    step_x, step_y = tiling.paper.step
    by = Affine(dx=-first * step_x, dy=-(tiling.rows - 1 - lower) * step_y)
    tiles = tuple(
        Tile(t.column - first, t.row - upper, t.window.shifted(by.dx, by.dy)) for t in tiling.tiles
    )  # fmt: skip
    placings = tuple(Placing(p.drawing, p.move.then(by)) for p in tiling.placings)
    return Tiling(tiling.paper, tiles, placings, columns=last - first + 1, rows=lower - upper + 1)


def _letters(column: int) -> str:
    head, rest = divmod(column, 26)
    return (_letters(head - 1) if head else "") + chr(ord("A") + rest)


def _union(shapes: Sequence[_Shape], moves: Sequence[Affine]) -> BaseGeometry:
    return shapely.union_all([
        translate(shape.lying(move), move.dx, move.dy) for shape, move in zip(shapes, moves, strict=True)
    ])  # fmt: skip


def _shape(drawing: Drawing) -> _Shape:
    """All the paper that a drawing needs: inside its outlines, and under its other lines and words."""
    marks = [mark for layer in drawing.layers if layer.id not in UNSHADED for mark in layer.marks]
    upright = shapely.union_all([part for mark in marks for part in _parts(mark)])
    turned = rotate(upright, 90.0, origin=(0.0, 0.0))
    shapely.prepare([upright, turned])
    return _Shape(upright, turned)


def _parts(mark: Mark) -> Iterator[BaseGeometry]:
    if not isinstance(mark, Path):
        yield shapely.box(*box_round([mark], LINE_ROOM_MM))
        return
    points = [point for segment in mark.segments for point in flatten(segment, TILE_CHORD_TOL_MM)]
    if mark.closed and len(points) > 3:
        yield Polygon(points).buffer(LINE_ROOM_MM)
        return
    for a, b in pairwise(points):
        if a != b:
            yield LineString([a, b]).buffer(LINE_ROOM_MM)
