from __future__ import annotations

import math

import pytest
from drawings import bring, draw_dxf, dxf, dxf_bytes, edges_of, off_mm, plain_svg, said

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.dxf_drawing import read_dxf
from diagnose.pattern.brought.sketch import Stroke
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.measure import edge_length
from diagnose.pattern.outline import Cubic, Point

FRONT = [(0, 0), (120, 0), (100, 150), (125, 320), (0, 300)]
BACK = [(160, 0), (280, 0), (280, 310), (155, 320), (180, 150)]


def two_panels(unit: int = 4, per_mm: float = 1.0, layers: tuple[str, str] = ("front", "back")) -> bytes:
    document = dxf(unit)
    for points, layer in ((FRONT, layers[0]), (BACK, layers[1])):
        at = [(x * per_mm, y * per_mm) for x, y in points]
        document.modelspace().add_lwpolyline(at, close=True, dxfattribs={"layer": layer})
    return dxf_bytes(document)


def strokes(document: object) -> tuple[Stroke, ...]:
    return read_dxf(dxf_bytes(document), "x.dxf").strokes


def points_of(stroke: Stroke) -> list[Point]:
    return [p for segment in stroke.segments for p in flatten(segment, 0.001)]


def test_closed_polylines_on_layers_named_after_the_pieces_are_the_pieces() -> None:
    pattern = bring(two_panels(), "x.dxf")
    whole = bring(plain_svg())
    assert [piece.name for piece in pattern.pieces] == ["front", "back"]
    assert [edges_of(piece) for piece in pattern.pieces] == [edges_of(piece) for piece in whole.pieces]
    assert all(off_mm(a, b, Point(0, 400)) < 1e-6 for a, b in zip(pattern.pieces, whole.pieces, strict=True))


@pytest.mark.parametrize(("unit", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (14, 100.0)])
def test_the_header_names_the_unit(unit: int, mm: float) -> None:
    sketch = read_dxf(two_panels(unit, 1 / mm), "x.dxf")
    assert (sketch.unit_mm, sketch.said) == (mm, ())
    assert sketch.strokes[0].segments[0].end == pytest.approx((120.0, 0.0))


@pytest.mark.parametrize("unit", [1, 2, 6])
def test_a_unit_that_no_sheet_of_patterns_could_be_drawn_in_is_taken_for_mm_and_said(unit: int) -> None:
    sketch = read_dxf(two_panels(unit), "x.dxf")
    assert (sketch.unit_mm, sketch.has_unit) == (1.0, False)
    assert "which no pattern is: one unit was taken for 1 mm" in sketch.said[0]
    assert read_dxf(two_panels(unit), "x.dxf", "cm").unit_mm == 10.0


@pytest.mark.parametrize("state", ["off", "freeze"])
def test_what_lies_on_a_layer_that_is_switched_off_is_left_out_and_said(state: str) -> None:
    document = dxf()
    getattr(document.layers.add("Old Size"), state)()
    for layer in ("front", "OLD SIZE"):
        document.modelspace().add_line((0, 0), (9, 0), dxfattribs={"layer": layer})
    sketch = read_dxf(dxf_bytes(document), "x.dxf")
    assert len(sketch.strokes) == 1
    assert sketch.said == ("What lies on layers that are switched off was left out: “OLD SIZE”.",)


@pytest.mark.parametrize(("metric", "mm", "words"), [(1, 1.0, "presumed to be 1 mm"), (0, 25.4, "presumed to be 1 in")])
def test_without_a_unit_the_kind_of_measurement_is_presumed_and_said(metric: int, mm: float, words: str) -> None:
    document = dxf(0)
    document.header["$MEASUREMENT"] = metric
    document.modelspace().add_line((0, 0), (1, 0))
    sketch = read_dxf(dxf_bytes(document), "x.dxf")
    assert sketch.unit_mm == mm
    assert words in sketch.said[0]


def test_a_note_of_units_in_the_drawing_is_taken() -> None:
    document = dxf(0)
    document.modelspace().add_text("UNITS: ENGLISH")
    assert read_dxf(dxf_bytes(document), "x.dxf").unit_mm == 25.4


@pytest.mark.parametrize("bulge", [0.05, 0.4142135623730951, 1.0, -0.7, 3.0])
def test_a_bulge_is_the_arc_it_stands_for(bulge: float) -> None:
    document = dxf()
    document.modelspace().add_lwpolyline([(0, 0, 0, 0, bulge), (200, 0, 0, 0, 0)])
    (stroke,) = strokes(document)
    radius = 200 * (1 + bulge**2) / (4 * abs(bulge))
    centre = Point(100, (1 - bulge**2) / (4 * bulge) * 200)
    assert max(abs(math.dist(p, centre) - radius) for p in points_of(stroke)) < 0.005
    size = sum(math.dist(a, b) for a, b in zip(points_of(stroke), points_of(stroke)[1:], strict=False))
    assert size == pytest.approx(4 * math.atan(abs(bulge)) * radius, rel=1e-3)
    assert all(isinstance(segment, Cubic) for segment in stroke.segments)


def test_old_polylines_with_bulges_are_read_as_new_ones() -> None:
    old, new = dxf(version="R12"), dxf()
    points = [(0, 0, 0.3), (100, 0, 0), (100, 100, -0.2)]
    old.modelspace().add_polyline2d(points, format="xyb", close=True)
    new.modelspace().add_lwpolyline(points, format="xyb", close=True)
    ends = [[segment.end for segment in strokes(document)[0].segments] for document in (old, new)]
    assert [tuple(p) for p in ends[0]] == [pytest.approx(tuple(p)) for p in ends[1]]


def test_arcs_circles_and_ellipses_lie_on_their_curves() -> None:
    document = dxf()
    space = document.modelspace()
    space.add_arc((0, 0), 4000, 80, 100)
    space.add_circle((0, 0), 50)
    space.add_ellipse((0, 0), (300, 0), 0.5, 0, math.pi)
    arc, circle, ellipse = strokes(document)
    assert max(abs(math.hypot(*p) - 4000) for p in points_of(arc)) < 0.005
    assert max(abs(math.hypot(*p) - 50) for p in points_of(circle)) < 0.005
    assert max(abs(math.hypot(p.x, 2 * p.y) - 300) for p in points_of(ellipse)) < 0.01
    assert (arc.closed, circle.closed) == (False, True)


def test_an_arc_seen_from_below_is_turned_over() -> None:
    document = dxf()
    document.modelspace().add_arc((10, 0), 5, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})
    (arc,) = strokes(document)
    assert {tuple(round(v, 6) for v in end) for end in (arc.start, arc.end)} == {(-15.0, 0.0), (-10.0, 5.0)}


def test_cubic_splines_are_exact_and_others_near() -> None:
    document = dxf()
    space = document.modelspace()
    space.add_open_spline([(0, 0), (30, 90), (60, -30), (90, 0)], degree=3)
    space.add_open_spline([(0, 0), (45, 90), (90, 0)], degree=2)
    space.add_rational_spline([(90, 0), (90, 90), (0, 90)], [1, 0.5**0.5, 1], degree=2)
    cubic, parabola, quarter = strokes(document)
    (segment,) = cubic.segments
    assert isinstance(segment, Cubic)
    assert (segment.c1, segment.c2) == (pytest.approx((30, 90)), pytest.approx((60, -30)))
    assert max(abs(p.y - 2 * (p.x / 90) * (1 - p.x / 90) * 90) for p in points_of(parabola)) < 1e-6
    assert max(abs(math.hypot(*p) - 90) for p in points_of(quarter)) < 0.01


def test_blocks_are_set_in_moved_turned_and_scaled_and_name_their_piece() -> None:
    document = dxf()
    for name, points in (("front", FRONT), ("back", BACK)):
        block = document.blocks.new(name, base_point=(10, 0))
        block.add_lwpolyline([(x / 2, y / 2) for x, y in points], close=True, dxfattribs={"layer": "0"})
    outer = document.blocks.new("both")
    outer.add_blockref("front", (0, 0), dxfattribs={"xscale": 2, "yscale": 2})
    outer.add_blockref("back", (0, 0), dxfattribs={"xscale": 2, "yscale": 2})
    document.modelspace().add_blockref("both", (20, 5))
    pattern = bring(dxf_bytes(document), "x.dxf")
    whole = bring(two_panels(), "x.dxf")
    assert [piece.name for piece in pattern.pieces] == ["front", "back"]
    assert all(off_mm(a, b, Point(0, 5)) < 1e-6 for a, b in zip(pattern.pieces, whole.pieces, strict=True))


def test_a_block_turned_a_quarter_and_mirrored_lies_where_it_is_drawn() -> None:
    document = dxf()
    document.blocks.new("b").add_line((0, 0), (1, 2))
    document.modelspace().add_blockref("b", (10, 20), dxfattribs={"rotation": 90})
    document.modelspace().add_blockref("b", (10, 20), dxfattribs={"xscale": -3})
    turned, mirrored = strokes(document)
    assert turned.end == pytest.approx((8, 21))
    assert mirrored.end == pytest.approx((7, 22))


def test_rows_of_a_block_are_all_set_in() -> None:
    document = dxf()
    document.blocks.new("b").add_line((0, 0), (1, 0))
    attributes = {"column_count": 3, "row_count": 2, "column_spacing": 10, "row_spacing": 20}
    document.modelspace().add_blockref("b", (0, 0), dxfattribs=attributes)
    assert {tuple(stroke.start) for stroke in strokes(document)} == {(x, y) for x in (0, 10, 20) for y in (0, 20)}


def apparel(with_sewing: bool = True) -> bytes:
    """A block as apparel programs write it: boundary on 1, sew line on 14, notch, grain, drill hole, piece name."""
    document = dxf()
    block = document.blocks.new("PIECE1")
    grown = [(-10, -10), (132, -10), (112, 150), (138, 335), (-10, 312)]
    block.add_lwpolyline(grown if with_sewing else FRONT, close=True, dxfattribs={"layer": "1"})
    if with_sewing:
        block.add_lwpolyline(FRONT, close=True, dxfattribs={"layer": "14"})
    block.add_point((100, 150), dxfattribs={"layer": "4"})
    block.add_line((50, 50), (50, 250), dxfattribs={"layer": "7"})
    block.add_point((60, 240), dxfattribs={"layer": "13"})
    block.add_line((10, 10), (90, 10), dxfattribs={"layer": "8"})
    block.add_text("Piece Name: front", dxfattribs={"layer": "15", "insert": (40, 100)})
    document.modelspace().add_blockref("PIECE1", (0, 0))
    return dxf_bytes(document)


@pytest.mark.parametrize("with_sewing", [True, False])
def test_numbered_layers_are_read_by_the_apparel_convention(with_sewing: bool) -> None:
    (piece,) = bring(apparel(with_sewing), "x.dxf").pieces
    assert edge_length(piece.edge("hem")) == pytest.approx(120.0)
    assert piece.notches[0].edge == "back-seam"
    assert piece.notches[0].at == pytest.approx(math.hypot(20, 150))
    assert piece.grain == ((50, 50), (50, 250))
    assert piece.landmarks == {"landmark-1": (60, 240)}
    assert "1 line was left out" in said(apparel(with_sewing), "x.dxf")


def test_edges_may_be_named_by_layers() -> None:
    document = dxf()
    names = ("hem", "side", "side", "neck", "busk")
    for a, b, name in zip(FRONT, [*FRONT[1:], FRONT[0]], names, strict=True):
        document.modelspace().add_line(a, b, dxfattribs={"layer": f"front.{name}"})
    (piece,) = bring(dxf_bytes(document), "x.dxf").pieces
    assert (piece.name, [edge.name for edge in piece.edges]) == ("front", ["hem", "side", "neck", "busk"])


def test_extended_data_stand_for_data_attributes() -> None:
    document = dxf()
    document.appids.new("STAYS-PATTERN")
    line = document.modelspace().add_lwpolyline(FRONT, close=True, dxfattribs={"layer": "14"})
    told = ("piece=front", "cut=pair", "edges=foot:bottom:1 side:seam:2 neck:top:1 busk:opening:1")
    line.set_xdata("STAYS-PATTERN", [(1000, text) for text in told])
    (piece,) = bring(dxf_bytes(document), "x.dxf").pieces
    assert (piece.name, piece.cut) == ("front", "pair")
    assert edges_of(piece) == [("foot", "bottom"), ("side", "seam"), ("neck", "top"), ("busk", "opening")]


def test_words_on_a_piece_name_it() -> None:
    document = dxf()
    space = document.modelspace()
    space.add_lwpolyline(FRONT, close=True)
    space.add_mtext("front", dxfattribs={"insert": (50, 100)})
    assert bring(dxf_bytes(document), "x.dxf").pieces[0].name == "front"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not DXF"),
        (b"hello", "not DXF"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00", "not DXF as text"),
        (b"AC1032", "not DXF as text"),
        (b"0\nSECTION\n", "x.dxf"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nabc\n0\nENDSEC\n0\nEOF\n", "x.dxf"),
        (dxf_bytes(dxf()), "holds no lines"),
    ],
)
def test_what_is_no_dxf_is_refused_in_a_sentence(data: bytes, words: str) -> None:
    with pytest.raises(FitError) as caught:
        bring(data, "x.dxf")
    assert words in str(caught.value)


def test_filled_things_are_left_out_and_said() -> None:
    document = dxf()
    document.modelspace().add_solid([(0, 0), (1, 0), (0, 1)])
    draw_dxf(document, bring(two_panels(), "x.dxf").pieces)
    assert "1 filled or solid thing was left out" in said(dxf_bytes(document), "x.dxf")
