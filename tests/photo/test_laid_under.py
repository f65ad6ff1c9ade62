"""The straightened picture under a pattern whose pieces were turned, turned over or scaled after they were read."""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
import pytest
from msgspec.structs import replace
from patterns_known import known_patterns

from diagnose.pattern.brought.photo.laid_under import picture_under
from diagnose.pattern.brought.photo.pixels import as_jpeg
from diagnose.pattern.brought.sketch import Sketch, Stroke
from diagnose.pattern.geometry.bezier import flatten, moved
from diagnose.pattern.geometry.plane import Affine, turn
from diagnose.pattern.measure import outline_segments, piece_area
from diagnose.pattern.outline import Edge, Line, Pattern, Piece, Point

CELL_MM = 0.5
PATTERN = known_patterns()["invented-2"]()


def _moved(piece: Piece, move: Affine) -> Piece:
    edges = tuple(replace(edge, segments=tuple(moved(s, move) for s in edge.segments)) for edge in piece.edges)
    return replace(piece, edges=edges)


PIECES = tuple(_moved(piece, Affine(dx=160.0 * n)) for n, piece in enumerate(PATTERN.pieces))
BOX = (-50.0, -60.0, 520.0, 460.0)


def _cells(piece: Piece, box: tuple[float, float, float, float], cell_mm: float) -> np.ndarray:
    xy = np.array([p for s in outline_segments(piece) for p in flatten(s, 0.05)[:-1]])
    return np.round(np.c_[(xy[:, 0] - box[0]) / cell_mm, (box[3] - xy[:, 1]) / cell_mm]).astype(np.int32)


def _photographed() -> tuple[Sketch, bytes]:
    """Each piece lies on a dark table in a shade of its own, a quarter of it darker, so that a turn shows."""
    size = (round((BOX[3] - BOX[1]) / CELL_MM), round((BOX[2] - BOX[0]) / CELL_MM))
    rows = np.full((*size, 3), 40, np.uint8)
    for n, piece in enumerate(PIECES):
        cv2.fillPoly(rows, [_cells(piece, BOX, CELL_MM)], (150 + 40 * n,) * 3)
    strokes = tuple(Stroke(outline_segments(piece), closed=True, kind="outline") for piece in PIECES)
    return Sketch("x", strokes), as_jpeg(rows, 95)


def _shows(pattern: Pattern) -> list[float]:
    """By piece, how much of what its outline covers in the picture is its own paper, and of what is round it table."""
    sketch, picture = _photographed()
    data, box = picture_under(picture, BOX, sketch, pattern)
    seen = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE)
    cell = (box[2] - box[0]) / seen.shape[1]
    assert (box[3] - box[1]) / seen.shape[0] == pytest.approx(cell, rel=1e-3)
    out = []
    for n, piece in enumerate(pattern.pieces):
        inside = np.zeros(seen.shape, np.uint8)
        cv2.fillPoly(inside, [_cells(piece, box, cell)], 1)
        wide = np.ones((2 * round(4.0 / cell) + 1,) * 2, np.uint8)
        own = cv2.erode(inside, np.ones((3, 3), np.uint8)) > 0
        rim = (cv2.dilate(inside, wide) > 0) & (cv2.dilate(inside, np.ones((5, 5), np.uint8)) == 0)
        out += [float((abs(seen[own].astype(int) - 150 - 40 * n) < 12).mean()), float((seen[rim] < 60).mean())]
    return out


@pytest.mark.parametrize("move", [Affine(), Affine(dx=7.0, dy=-31.0), Affine(xx=-1.0), Affine(xx=0.9, yy=0.9)])
def test_the_picture_goes_where_the_whole_pattern_went(move: Affine) -> None:
    assert min(_shows(replace(PATTERN, pieces=tuple(_moved(piece, move) for piece in PIECES)))) > 0.97


def test_a_single_piece_turned_to_its_grain_takes_its_part_of_the_picture_with_it() -> None:
    turned = _moved(PIECES[1], turn(Point(225.0, 180.0), 0.35))
    assert min(_shows(replace(PATTERN, pieces=(PIECES[0], turned)))) > 0.97


def test_a_pattern_of_one_piece_turned_takes_the_whole_picture_with_it() -> None:
    sketch, picture = _photographed()
    turned = _moved(PIECES[0], turn(Point(50.0, 150.0), -0.5))
    _, box = picture_under(
        picture, BOX, replace(sketch, strokes=sketch.strokes[:1]), replace(PATTERN, pieces=(turned,))
    )
    assert box[2] - box[0] > BOX[2] - BOX[0]
    assert _shows(replace(PATTERN, pieces=(turned,)))[0] > 0.97


@pytest.mark.parametrize("move", [Affine(), turn(Point(40.0, 100.0), 0.4)], ids=["as it lay", "turned"])
def test_a_piece_drawn_whole_and_kept_as_its_half_on_the_fold_is_followed(move: Affine) -> None:
    spots = [(0.0, 0.0), (70.0, -8.0), (84.0, 120.0), (60.0, 210.0), (0.0, 190.0)]
    half = [Line(Point(*a), Point(*z)) for a, z in pairwise([*spots, spots[0]])]
    over = [Line(Point(-s.end.x, s.end.y), Point(-s.start.x, s.start.y)) for s in reversed(half[:4])]
    sketch = Sketch("x", (Stroke((*half[:4], *over), closed=True, kind="outline"),))
    edges = (Edge("side", "seam", tuple(half[:4])), Edge("middle", "fold", (half[4],)))
    piece = _moved(Piece("front", "fold", "both", edges=edges, levels={}), move)
    rows = np.full((600, 600, 3), 40, np.uint8)
    box = (-120.0, -50.0, 180.0, 250.0)
    whole = np.array([s.start for s in (*half[:4], *over)])
    cells = np.c_[(whole[:, 0] - box[0]) / CELL_MM, (box[3] - whole[:, 1]) / CELL_MM]
    cv2.fillPoly(rows, [np.round(cells).astype(np.int32)], (200,) * 3)
    data, there = picture_under(as_jpeg(rows, 95), box, sketch, replace(PATTERN, pieces=(piece,), seams=()))
    seen = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE)
    cell = (there[2] - there[0]) / seen.shape[1]
    inside = np.zeros(seen.shape, np.uint8)
    cv2.fillPoly(inside, [_cells(piece, there, cell)], 1)
    assert (there == box) == (move == Affine())
    assert float((seen[cv2.erode(inside, np.ones((5, 5), np.uint8)) > 0] > 150).mean()) > 0.99
    assert float((seen > 150).sum() * cell**2) == pytest.approx(2.0 * piece_area(piece), rel=0.02)


def test_where_nothing_of_the_sketch_is_left_the_picture_stays_as_it_was() -> None:
    sketch, picture = _photographed()
    other = _moved(PIECES[0], Affine(xx=0.5, yy=1.0))
    assert picture_under(picture, BOX, sketch, replace(PATTERN, pieces=(other,))) == (picture, BOX)
