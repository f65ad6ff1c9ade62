"""Pages: everything shows, on few of them, with nothing over another; rows of oblongs."""

from __future__ import annotations

from itertools import combinations, pairwise, product

import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plain_pieces import oblong, one
from plain_pieces import settings as bundled

from diagnose.errors import FitError
from diagnose.pattern.geometry.bezier import Box, box_of, outline_points
from diagnose.pattern.outline import Pattern, Point
from diagnose.sheets.cutting.allowance import allowances_of, cutting_line
from diagnose.sheets.cutting.cut_drawing import Sheet, cut_drawings
from diagnose.sheets.cutting.packing import Oblong, shelves
from diagnose.sheets.drawn.drawing import Path, Text, words_corners
from diagnose.sheets.writers.match_marks import joint_layers
from diagnose.sheets.writers.paper_sizes import LABEL_MM, MARGIN_MM, OVERLAP_MM, PAPERS, named_paper
from diagnose.sheets.writers.tiling import Tile, Tiling, tiled

A4 = PAPERS["a4"]
ALLOWED = allowances_of(bundled())
QUICK = (Phase.explicit, Phase.reuse, Phase.generate)  # shrinking would lay thousands of sheets


def printed(pattern: Pattern, paper: str = "a4") -> Tiling:
    return tiled(cut_drawings(Sheet(pattern, None, ALLOWED)), PAPERS[paper])


def laid(pattern: Pattern, tiling: Tiling) -> list[shapely.Polygon]:
    """The pieces with their allowances where they lie on the sheet."""
    moves = {placing.drawing.title: placing.move for placing in tiling.placings}
    return [shapely.Polygon([moves[piece.name](p) for p in cutting_line(piece, ALLOWED)]) for piece in pattern.pieces]


def shown(tiling: Tiling) -> shapely.Geometry:
    return shapely.union_all([shapely.box(*tile.window) for tile in tiling.tiles])


def marks_on(tiling: Tiling, tile: Tile) -> set[tuple[float, float]]:
    (layer,) = (layer for layer in joint_layers(tiling, tile) if layer.id == "page-marks")
    starts = [mark.segments[0].start for mark in layer.marks if isinstance(mark, Path)]
    return {(round(p.x, 6), round(p.y, 6)) for p in starts}


def said_on(tiling: Tiling, tile: Tile) -> list[str]:
    (layer,) = (layer for layer in joint_layers(tiling, tile) if layer.id == "page-words")
    return sorted(mark.words for mark in layer.marks if isinstance(mark, Text))


def test_the_words_of_a_joint_keep_clear_of_those_of_the_pieces(corset: Pattern) -> None:
    tiling = printed(corset)

    def reach(tile: Tile, taken: list[Box]) -> list[Box]:
        (layer,) = (layer for layer in joint_layers(tiling, tile, taken) if layer.id == "page-words")
        return [box_of([words_corners(mark)]) for mark in layer.marks if isinstance(mark, Text)]

    for tile in tiling.tiles:
        taken = reach(tile, [])
        assert not any(box.near(other, 0.0) for box in reach(tile, taken) for other in taken)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", ["bodies", "corset"])
def test_all_of_every_piece_shows_on_some_page_and_no_piece_lies_on_another(
    name: str, paper: str, request: pytest.FixtureRequest
) -> None:
    pattern = request.getfixturevalue(name)
    tiling = printed(pattern, paper)
    pieces = laid(pattern, tiling)
    assert all(piece.difference(shown(tiling)).area < 0.5 for piece in pieces)
    assert not any(a.intersects(b) for a, b in combinations(pieces, 2))


def test_every_page_bears_something_that_no_other_does_and_they_stand_row_by_row(corset: Pattern) -> None:
    tiling = printed(corset)
    tiles, pieces = tiling.tiles, shapely.union_all(laid(corset, tiling))
    for tile in tiles:
        others = shapely.union_all([shapely.box(*t.window) for t in tiles if t is not tile])
        assert shapely.box(*tile.window).intersection(pieces).difference(others).area > 0.0
    assert all((a.row, a.column) < (b.row, b.column) for a, b in pairwise(tiles))
    assert Point(min(t.window.left for t in tiles), min(t.window.bottom for t in tiles)) == Point(0.0, 0.0)


def test_the_corset_takes_fewer_pages_than_laying_each_piece_by_itself(corset: Pattern) -> None:
    drawings = cut_drawings(Sheet(corset, None, ALLOWED))
    assert len(tiled(drawings, A4).tiles) < sum(len(tiled([d], A4).tiles) for d in drawings)


def fewest_for_one(shape: shapely.Geometry) -> int:
    """How few pages of A4 any shift of one shape takes, tried on a grid, by cells alone."""
    across, up = A4.step
    left, low, right, high = shape.bounds
    fewest = 99
    for dx, dy in product(range(0, int(across), 12), range(0, int(up), 12)):
        columns, rows = (max(1, -int((OVERLAP_MM - span) // step)) for span, step in
                         ((right - left + dx, across), (high - low + dy, up)))  # fmt: skip
        cells = [
            shapely.box(c * across, r * up, (c + 1) * across + OVERLAP_MM * (c == columns - 1),
                        (r + 1) * up + OVERLAP_MM * (r == rows - 1))
            for c, r in product(range(columns), range(rows))
        ]  # fmt: skip
        lying = shapely.transform(shape, lambda spots, by=(dx - left, dy - low): spots + by)
        fewest = min(fewest, int(shapely.intersects(lying, cells).sum()))
    return fewest


def test_one_piece_takes_no_more_pages_than_any_shift_of_it_upright_or_turned(bodies: Pattern) -> None:
    (piece,) = (shapely.Polygon(cutting_line(one, ALLOWED)) for one in bodies.pieces)
    turned = shapely.transform(piece, lambda spots: spots[:, ::-1])
    assert len(printed(bodies).tiles) <= min(map(fewest_for_one, (piece, turned)))


def test_a_small_piece_takes_one_page() -> None:
    assert [tile.name for tile in printed(one(oblong(80.0, 150.0))).tiles] == ["A1"]


def test_a_long_low_piece_is_turned_to_lie_along_the_page() -> None:
    """With its allowance and margin over 200 wide and 60 high: across, it would take two pages of A4; along, one."""
    assert len(printed(one(oblong(215.0, 60.0))).tiles) == 1


def test_pages_are_named_by_column_and_row_from_the_upper_left() -> None:
    tiling = printed(one(oblong(300.0, 480.0)))
    at = {tile.name: tile.window for tile in tiling.tiles}
    assert list(at) == ["A1", "B1", "A2", "B2"]
    assert at["A1"].bottom > at["A2"].bottom
    assert at["B1"].left - at["A1"].left == pytest.approx(A4.window[0] - OVERLAP_MM)


def test_columns_after_the_twenty_sixth_have_two_letters() -> None:
    window = printed(one(oblong())).tiles[0].window
    assert [Tile(column, 0, window).name for column in (25, 26, 27)] == ["Z1", "AA1", "AB1"]


def test_a_window_leaves_the_margin_on_every_side() -> None:
    assert A4.window == (210.0 - 2 * MARGIN_MM, 297.0 - 2 * MARGIN_MM - LABEL_MM)
    assert MARGIN_MM >= 10.0


def test_match_marks_lie_at_the_same_places_of_the_sheet_on_both_pages() -> None:
    tiling = printed(one(oblong(300.0, 480.0)))
    marks = {tile.name: marks_on(tiling, tile) for tile in tiling.tiles}
    assert len(marks["A1"] & marks["B1"]) == 6  # two marks, of a ring and two laces each
    assert len(marks["A1"] & marks["A2"]) == 6
    assert not marks["A1"] & marks["B2"]


def test_each_joint_is_named_from_both_pages() -> None:
    tiling = printed(one(oblong(300.0, 480.0)))
    said = {tile.name: said_on(tiling, tile) for tile in tiling.tiles}
    assert said["A1"] == ["B1 is laid on here", "cut here, lay on A2"]
    assert said["B2"] == ["B1 is laid on here", "cut here, lay on A2"]


def test_no_drawings_and_an_unknown_paper_are_refused() -> None:
    with pytest.raises(FitError, match="no piece"):
        tiled([], A4)
    with pytest.raises(FitError, match="letter"):
        named_paper("leter")


def test_a_piece_of_five_metres_both_ways_is_sent_to_one_sheet() -> None:
    with pytest.raises(FitError, match="one sheet"):
        printed(one(oblong(4900.0, 4900.0)))


@settings(max_examples=12, deadline=None, phases=QUICK)
@given(sizes=st.lists(st.tuples(st.floats(20, 500), st.floats(20, 500)), min_size=1, max_size=4))
def test_oblongs_of_any_size_all_show(sizes: list[tuple[float, float]]) -> None:
    pieces = tuple(replace(oblong(w, h), name=f"p{n}") for n, (w, h) in enumerate(sizes))
    pattern = Pattern("any", "back", pieces)
    tiling = printed(pattern)
    shapes = laid(pattern, tiling)
    assert all(shape.difference(shown(tiling)).area < 0.5 for shape in shapes)
    assert not any(a.intersects(b) for a, b in combinations(shapes, 2))
    assert len({tile.name for tile in tiling.tiles}) == len(tiling.tiles)


@given(
    sizes=st.lists(st.tuples(st.floats(1, 90), st.floats(1, 200)), max_size=8), by_height=st.booleans(),
    stepped=st.booleans(),
)  # fmt: skip
def test_rows_hold_all_oblongs_apart_and_within_the_width(
    sizes: list[tuple[float, float]], by_height: bool, stepped: bool
) -> None:
    boxes = [Oblong(w, h) for w, h in sizes]
    found = shelves(boxes, 100.0, 5.0, by_height=by_height, step_mm=(40.0, 60.0) if stepped else None)
    assert found is not None
    placed = [
        shapely.box(s.across, -s.down - b.height, s.across + b.width, -s.down)
        for s, b in zip(found.spots, boxes, strict=True)
    ]
    assert all(box.bounds[2] <= 100.0 + 1e-6 for box in placed)
    assert all(a.distance(b) > 4.99 for a, b in combinations(placed, 2))


def test_an_oblong_wider_than_the_sheet_is_not_laid() -> None:
    assert shelves([Oblong(101.0, 5.0)], 100.0, 5.0) is None


def test_words_on_edges_stand_inside_the_piece(bodies: Pattern, corset: Pattern) -> None:
    for pattern in (bodies, corset):
        for piece, drawing in zip(pattern.pieces, cut_drawings(Sheet(pattern)), strict=True):
            layer = drawing.layer("edges")
            marks = layer.marks if layer else ()
            shape = shapely.Polygon(outline_points(piece, 0.1))
            words = [m for m in marks if isinstance(m, Text) and ("edge" in m.words or "fold" in m.words)]
            assert all(shape.contains(shapely.Point(m.at)) for m in words)
            assert len(words) == sum(edge.role in ("fold", "lacing", "opening") for edge in piece.edges)
