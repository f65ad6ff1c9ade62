"""The drawing of a pattern before and after: what is shaded, and what is dimensioned."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import Any

import pytest
import shapely

from diagnose.pattern import operations
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.in_words import piece_title
from diagnose.pattern.measure import is_inside, piece_area
from diagnose.pattern.outline import Cut, Edge, Line, Pattern, Piece, Point, Role
from diagnose.sheets.cutting.cut_drawing import Sheet, cut_drawings
from diagnose.sheets.drawn.differences import hatched, taken_paper
from diagnose.sheets.drawn.drawing import Area, Drawing, Measure, Path, Text, words_corners, words_of
from diagnose.sheets.drawn.pattern_drawing import draw_pattern, redrawn_pieces


def oblong(name: str = "back", cut: Cut = "pair") -> Piece:
    """100 mm wide, 200 high, levels square across."""
    corners = [Point(0, 0), Point(100, 0), Point(100, 200), Point(0, 200), Point(0, 0)]
    names: list[tuple[str, Role]] = [("hem", "bottom"), ("lacing", "lacing"), ("top", "top"), ("side", "seam")]
    lines = [Line(a, b) for a, b in pairwise(corners)]
    edges = tuple(Edge(edge, role, (line,)) for (edge, role), line in zip(names, lines, strict=True))
    levels = {"top": (Point(0, 180), Point(100, 180)), "waist": (Point(0, 100), Point(100, 100))}
    return Piece(name, cut, "both", edges, levels, grain=(Point(50, 20), Point(50, 180)))


def measures_of(drawing: Drawing) -> tuple[Measure, ...]:
    """All dimensions on the drawing."""
    layer = drawing.layer("dimensions")
    return tuple(mark for mark in layer.marks if isinstance(mark, Measure)) if layer else ()


def done(pattern: Pattern, *raw: dict[str, Any]) -> Pattern:
    return operations.do(pattern, operations.parse_operations(list(raw))).pattern


PATTERN = Pattern("a back", "back", (oblong(),))
EVENLY = [{"along": 0, "mm": 12.7}, {"along": 1, "mm": 12.7}]
MOVE = {"op": "move-edge", "piece": "back", "edge": "lacing", "by": EVENLY}


def test_an_edge_moved_in_by_half_an_inch_is_dimensioned_half_an_inch_at_each_level() -> None:
    found = measures_of(draw_pattern(done(PATTERN, MOVE), PATTERN))
    assert [(m.edge, m.at, m.words) for m in found] == [("lacing", "top", "1/2 in"), ("lacing", "waist", "1/2 in")]
    assert all(m.length_mm == pytest.approx(12.7, abs=0.01) for m in found)


def test_dimensions_are_in_the_makers_unit() -> None:
    after = done(PATTERN, MOVE)
    assert {m.words for m in measures_of(draw_pattern(after, PATTERN, "mm"))} == {"13 mm"}
    assert {m.words for m in measures_of(draw_pattern(after, PATTERN, "cm"))} == {"1.3 cm"}


def test_paper_taken_away_is_the_difference_of_the_areas() -> None:
    after = done(PATTERN, MOVE)
    (patch,) = taken_paper(PATTERN.pieces[0], after.pieces[0])
    xs = [p.x for p in patch.rings[0]]
    assert (min(xs), max(xs)) == pytest.approx((87.3, 100.0), abs=0.01)
    assert piece_area(PATTERN.pieces[0]) - piece_area(after.pieces[0]) == pytest.approx(12.7 * 200, rel=1e-3)


def test_paper_added_is_shaded_apart_from_paper_taken() -> None:
    out = MOVE | {"by": [{"along": 0, "mm": -12.7}, {"along": 1, "mm": -12.7}]}
    drawing = draw_pattern(done(PATTERN, out), PATTERN)
    assert drawing.layer("added") is not None
    assert drawing.layer("taken-away") is None


def test_a_scooped_edge_is_dimensioned_where_it_is_deepest() -> None:
    scoop = {
        "op": "reshape-edge", "piece": "back", "edge": "top", "from": [90, 200], "peak": [50, 200], "to": [10, 200],
        "height": 9.525, "direction": "down",
    }  # fmt: skip
    (found,) = measures_of(draw_pattern(done(PATTERN, scoop), PATTERN))
    assert (found.edge, found.words) == ("top", "3/8 in")
    assert found.end.x == pytest.approx(50, abs=3)


def test_a_shorter_piece_is_dimensioned_at_its_top() -> None:
    shorter = {"op": "length", "at": {"station": "waist", "offset": 30}, "amount": 12.7}
    found = measures_of(draw_pattern(done(PATTERN, shorter), PATTERN))
    assert [(m.edge, m.words) for m in found] == [("top", "1/2 in")]


def test_a_pattern_that_did_not_change_has_no_old_line_and_no_dimension() -> None:
    drawing = draw_pattern(PATTERN, PATTERN)
    assert all(drawing.layer(name) is None for name in ("old-line", "dimensions", "taken-away", "added"))
    assert redrawn_pieces(PATTERN, PATTERN) == ()


def test_only_redrawn_pieces_are_named_as_changed(corset: Pattern) -> None:
    after = done(corset, {"op": "move-edge", "piece": "p3", "edge": "back-seam", "by": [{"at": "top", "mm": 3}]})
    assert redrawn_pieces(corset, after) == ("p3",)


def test_a_wedge_that_crosses_itself_at_its_point_is_hatched_within_itself() -> None:
    wedge = (Point(0, 0), Point(0, -300), Point(10, -300), Point(-0.01, -0.5))
    assert not shapely.Polygon(wedge).is_valid
    ends = [p for line in hatched(Area((wedge,)), 4.0, rising=True) for s in line.segments for p in (s.start, s.end)]
    assert len(ends) > 40
    assert all(-0.1 <= p.x <= 10.1 and -300.1 <= p.y <= 0.1 for p in ends)


def test_hatching_stays_inside_its_patch_and_fills_it() -> None:
    lines = hatched(Area(((Point(0, 0), Point(60, 0), Point(60, 20), Point(0, 20)),)), 4.0, rising=True)
    spots = [p for path in lines for s in path.segments for p in (s.start, s.end)]
    assert len(lines) == pytest.approx((60 + 20) / (4 * 2**0.5), abs=2)
    assert all(-1e-6 <= p.x <= 60 + 1e-6 and -1e-6 <= p.y <= 20 + 1e-6 for p in spots)


def test_rising_and_falling_hatching_lean_opposite_ways() -> None:
    area = Area(((Point(0, 0), Point(60, 0), Point(60, 20), Point(0, 20)),))
    leans = []
    for rising in (True, False):
        segment = hatched(area, 4.0, rising=rising)[5].segments[0]
        leans.append((segment.end.x - segment.start.x) * (segment.end.y - segment.start.y))
    assert leans[0] > 0 > leans[1]


def test_pieces_that_would_lie_on_each_other_are_set_apart() -> None:
    drawing = draw_pattern(Pattern("two", "back", (oblong("a"), oblong("b"))))
    layer = drawing.layer("outline")
    assert layer is not None
    boxes = [[s.start.x for s in mark.segments] for mark in layer.marks]  # type: ignore[union-attr]
    assert max(boxes[0]) < min(boxes[1])


@pytest.mark.parametrize(("cut", "words"), [("fold", "cut 1 on the fold"), ("pair", "cut 1 pair"), ("single", "cut 1")])
def test_each_piece_says_how_it_is_cut(cut: Cut, words: str) -> None:
    layer = draw_pattern(Pattern("one", "back", (oblong(cut=cut),))).layer("names")
    assert layer is not None
    assert words in [getattr(mark, "words", "") for mark in layer.marks]


def test_title_carries_version_and_date() -> None:
    assert draw_pattern(PATTERN, version="version 3", date="2026-03-09").title == "a back · version 3 · 2026-03-09"


def test_a_whole_edge_that_moved_with_its_sides_is_dimensioned_at_its_middle() -> None:
    """Its ends have moved as far as its middle has, and a side has moved as well."""
    lower = {"op": "move-edge", "piece": "back", "edge": "top", "by": EVENLY}
    found = {m.edge: m for m in measures_of(draw_pattern(done(PATTERN, MOVE, lower), PATTERN))}
    assert (found["top"].words, found["top"].at) == ("1/2 in", "all along")
    assert found["top"].end.x == pytest.approx(50, abs=8)
    assert found["lacing"].words == "1/2 in"


def test_an_edge_that_only_ends_elsewhere_since_its_neighbour_moved_is_not_dimensioned() -> None:
    assert {m.edge for m in measures_of(draw_pattern(done(PATTERN, MOVE), PATTERN))} == {"lacing"}


def test_a_side_that_moved_between_the_levels_alone_is_dimensioned() -> None:
    by = [{"along": 0.0, "mm": 6}, {"along": 0.3, "mm": 0}]
    found = measures_of(draw_pattern(done(PATTERN, MOVE | {"by": by}), PATTERN))
    assert [(m.words, m.at) for m in found if m.edge == "lacing"] == [("1/4 in", "at its most")]


def words_on(drawing: Drawing) -> list[Text]:
    marks = [mark for layer in drawing.layers for mark in layer.marks]
    return [words_of(mark) if isinstance(mark, Measure) else mark for mark in marks if isinstance(mark, Measure | Text)]


def oblong_of(text: Text) -> shapely.Polygon:
    a, b, c, d = words_corners(text)
    return shapely.Polygon([a, b, d, c])


ALTERED: list[dict[str, Any]] = [
    {"op": "length", "at": {"station": "underbust", "offset": 10}, "amount": 12.7},
    {"op": "split-sides", "piece": "p3"},
    {
        "op": "move-edge",
        "piece": "p6",
        "edge": "centre-back",
        "by": [{"at": "waist", "mm": 6}, {"at": "hip", "mm": 10}],
    },
]


def drawn(corset: Pattern, bodies: Pattern) -> list[Drawing]:
    after = done(corset, *ALTERED)
    gore = {"op": "insert-gore", "piece": "bodies", "slit_foot": list(bodies.pieces[0].slits[1].line[0]),
            "tip": list(bodies.pieces[0].slits[1].line[-1]), "width": 30}  # fmt: skip
    with_gore = done(bodies, gore)
    said: dict[str, Any] = {"allowances": {"seam": 12.7, "lacing": 25.4}, "version": "version 3", "date": "2026-03-09"}
    whole = [draw_pattern(after, corset), draw_pattern(with_gore, bodies)]
    return [*whole, *cut_drawings(Sheet(after, corset, **said)), *cut_drawings(Sheet(with_gore, bodies, **said))]


def test_no_words_stand_on_other_words(corset: Pattern, bodies: Pattern) -> None:
    for drawing in drawn(corset, bodies):
        texts = words_on(drawing)
        for one, other in combinations(texts, 2):
            shared = oblong_of(one).intersection(oblong_of(other)).area
            assert shared < 0.2 * one.size_mm**2, (drawing.title, one.words, other.words)


def test_no_stitching_line_runs_through_words(corset: Pattern, bodies: Pattern) -> None:
    for drawing in drawn(corset, bodies):
        layer = drawing.layer("outline")
        assert layer is not None
        rings = [
            shapely.LineString([p for s in mark.segments for p in flatten(s, 0.1)])
            for mark in layer.marks if isinstance(mark, Path)
        ]  # fmt: skip
        for text in words_on(drawing):
            inner = oblong_of(text).buffer(-0.25 * text.size_mm)
            assert not any(inner.intersects(ring) for ring in rings), (drawing.title, text.words)


def test_each_pattern_piece_bears_its_name_on_its_own_paper(corset: Pattern) -> None:
    for piece, drawing in zip(corset.pieces, cut_drawings(Sheet(corset, None, {"seam": 12.7})), strict=True):
        (name,) = [text for text in words_on(drawing) if text.words == piece_title(piece.name)]
        assert is_inside(piece, name.at)


def test_levels_of_a_piece_turned_over_are_named_at_its_front_end_too(corset: Pattern) -> None:
    after = done(corset, {"op": "split-sides", "piece": "p6"})
    (drawing,) = [d for d in cut_drawings(Sheet(after)) if d.title == "p6-right"]
    layer = drawing.layer("levels")
    assert layer is not None
    names = [mark for mark in layer.marks if isinstance(mark, Text)]
    middle = -sum(p.x for p in after.piece("p6-right").level("waist")) / 2.0
    assert [name.words for name in names] == list(after.piece("p6-right").levels)
    assert all(name.at.x > middle for name in names)
