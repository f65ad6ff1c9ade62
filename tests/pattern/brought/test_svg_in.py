from __future__ import annotations

import math
from itertools import pairwise

import pytest
from drawings import BACK, FRONT, bring, down, edges_of, off_mm, plain_svg, said, svg

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.svg_drawing import read_svg
from diagnose.pattern.brought.sketch import ARC_TOL_MM
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.measure import bounds, garment_girth, piece_area
from diagnose.pattern.outline import Cubic, Line, Point


def only(body: str, size: str = 'width="400mm" height="400mm" viewBox="0 0 400 400"') -> tuple[Point, Point]:
    """Both ends of the one line of a drawing."""
    (stroke,) = read_svg(svg(body, size), "x").strokes
    return stroke.start, stroke.end


def test_bare_outlines_become_named_pieces_with_roles_levels_and_a_seam() -> None:
    pattern = bring(plain_svg())
    front, back = pattern.pieces
    assert (front.name, back.name, pattern.name) == ("piece-1", "piece-2", "x")
    assert edges_of(front) == [
        ("hem", "bottom"), ("back-seam", "seam"), ("top-edge", "top"), ("centre-front", "fold")]  # fmt: skip
    assert edges_of(back) == [
        ("hem", "bottom"), ("centre-back", "lacing"), ("top-edge", "top"), ("front-seam", "seam")]  # fmt: skip
    assert (front.cut, back.cut) == ("fold", "pair")
    assert [(seam.a, seam.b) for seam in pattern.seams] == [(("piece-1", "back-seam"), ("piece-2", "front-seam"))]
    assert garment_girth(pattern, "waist") == pytest.approx(400.0, abs=0.1)
    assert front.level("waist")[0].y == pytest.approx(-250.0, abs=0.1)
    assert {"top", "waist", "bottom"} <= set(front.levels)


def test_what_is_presumed_is_said() -> None:
    text = said(plain_svg())
    assert "front edge of “piece 1” was presumed to lie on the fold" in text
    assert "back edge of “piece 2” was presumed to be laced" in text
    assert "waist was presumed at the narrowest place, 5 7/8 in (150 mm) up" in text
    assert "Presumed to be sewn" in text


@pytest.mark.parametrize(
    ("size", "mm"),
    [
        ('width="400mm" height="400mm" viewBox="0 0 400 400"', 1.0),
        ('width="40cm" height="40cm" viewBox="0 0 400 400"', 1.0),
        ('width="10in" height="10in" viewBox="0 0 10 10"', 25.4),
        ('width="10in" height="10in" viewBox="0 0 960 960"', 25.4 / 96),
        ('width="720pt" height="720pt" viewBox="0 0 720 720"', 25.4 / 72),
        ('width="960px" height="960px"', 25.4 / 96),
        ('width="960" height="960"', 25.4 / 96),
        ('width="10in" height="10in"', 25.4 / 96),
        ('width="100%" height="50mm" viewBox="0 0 100 100"', 0.5),
        ('width="100mm" viewBox="0 0 50 80"', 2.0),
        ('width="100mm" height="100mm" viewBox="0 0 50 100"', 1.0),
        ('width="100mm" height="100mm" viewBox="0 0 50 100" preserveAspectRatio="xMidYMid slice"', 2.0),
    ],
)
def test_the_page_gives_a_unit_of_the_drawing_its_size(size: str, mm: float) -> None:
    start, end = only('<line x1="0" y1="0" x2="3" y2="4"/>', size)
    assert end == pytest.approx((3 * mm, -4 * mm))
    assert start == (0.0, 0.0)


def test_a_drawing_without_a_size_is_read_in_pixels_and_says_so() -> None:
    data = svg(f'<path d="{down(FRONT)}"/>', 'viewBox="0 0 400 400"')
    sketch = read_svg(data, "x")
    assert sketch.unit_mm == pytest.approx(25.4 / 96)
    assert "96 to the inch" in sketch.said[0]


def test_a_stretched_page_stretches_its_lines() -> None:
    size = 'width="100mm" height="200mm" viewBox="0 0 50 50" preserveAspectRatio="none"'
    assert only('<line x2="3" y2="4"/>', size)[1] == pytest.approx((6.0, -16.0))


@pytest.mark.parametrize(
    ("transform", "expected"),
    [
        ("translate(10, 20)", (11, 22)),
        ("translate(10)", (11, 2)),
        ("scale(2)", (2, 4)),
        ("scale(2 3)", (2, 6)),
        ("rotate(90)", (-2, 1)),
        ("rotate(90 1 2)", (1, 2)),
        ("matrix(1 2 3 4 5 6)", (1 + 6 + 5, 2 + 8 + 6)),
        ("skewX(45)", (3, 2)),
        ("skewY(45)", (1, 3)),
        ("translate(10 20) scale(2)", (12, 24)),
        ("scale(2), translate(10 20)", (22, 44)),
    ],
)
def test_transforms_move_points_as_svg_says(transform: str, expected: tuple[float, float]) -> None:
    body = f'<g transform="{transform}"><line x2="1" y2="2"/></g>'
    assert only(body)[1] == pytest.approx((expected[0], -expected[1]))
    assert only(f'<line x2="1" y2="2" transform="{transform}"/>')[1] == pytest.approx((expected[0], -expected[1]))


def test_transforms_of_groups_apply_from_the_inside_out() -> None:
    body = '<g transform="scale(2)"><g transform="translate(10 0)"><line x2="1" y2="2"/></g></g>'
    assert only(body)[1] == pytest.approx((22, -4))


def test_a_use_stands_where_it_is_put_with_its_own_transform() -> None:
    body = '<defs><path id="a" d="M0 0L1 2"/></defs><use href="#a" x="10" y="20" transform="scale(2)"/>'
    assert only(body) == (pytest.approx((20, -40)), pytest.approx((22, -44)))


def test_a_symbol_is_drawn_only_where_it_is_used_and_in_its_own_view_box() -> None:
    symbol = '<symbol id="s" viewBox="0 0 10 10"><path d="M0 0L10 10"/></symbol>'
    assert only(f'{symbol}<use href="#s" x="5" y="5" width="20" height="20"/>') == (
        pytest.approx((5, -5)), pytest.approx((25, -25)))  # fmt: skip


def test_a_drawing_inside_the_drawing_is_fitted_to_its_place() -> None:
    body = '<svg x="10" y="20" width="100" height="50" viewBox="0 0 10 10"><line x2="10" y2="10"/></svg>'
    assert only(body) == (pytest.approx((35, -20)), pytest.approx((85, -70)))


@pytest.mark.parametrize(
    "sheet",
    [
        ".shown,.off{stroke:#000}.off { fill:none; display : none }",
        "/* .kept{display:none} */ #away,.x{display:none}",
        ".off{visibility:hidden;}",
    ],
)  # fmt: skip
def test_a_layer_that_the_style_sheet_hides_is_not_drawn(sheet: str) -> None:
    style = f"<style>{sheet}</style>"
    assert only(f'{style}<g class="kept off" id="away"><path d="M0 0h9"/></g><path class="kept" d="M1 0h9"/>')


def test_hidden_things_and_definitions_are_not_drawn() -> None:
    body = (
        '<g style="display:none"><path d="M0 0L9 9"/></g><path display="none" d="M0 0L9 9"/>'
        '<defs><path d="M0 0L9 9"/></defs><clipPath><path d="M0 0L9 9"/></clipPath><path d="M0 0L1 1"/>'
    )
    assert len(read_svg(svg(body), "x").strokes) == 1


def test_shapes_are_closed_lines() -> None:
    body = (
        '<rect x="1" y="2" width="3" height="4"/><circle r="5"/><ellipse rx="3" ry="2"/>'
        '<polygon points="0,0 1,0 1,1"/><polyline points="0 0 1 0 1 1"/>'
    )
    strokes = read_svg(svg(body), "x").strokes
    assert [stroke.closed for stroke in strokes] == [True, True, True, True, False]


@pytest.mark.parametrize("radius", [5.0, 300.0, 4000.0])
def test_arcs_lie_within_a_hundredth_of_a_mm_of_the_circle(radius: float) -> None:
    body = f'<path d="M {radius} 0 A {radius} {radius} 0 1 1 0 {-radius}"/>'
    (stroke,) = read_svg(svg(body), "x").strokes
    points = [p for segment in stroke.segments for p in flatten(segment, 0.001)]
    assert all(isinstance(segment, Cubic) for segment in stroke.segments)
    assert max(abs(math.hypot(*p) - radius) for p in points) < 2 * ARC_TOL_MM
    assert sum(math.dist(a, b) for a, b in pairwise(points)) == pytest.approx(
        radius * 1.5 * math.pi, rel=5e-4)  # fmt: skip


def test_a_stretched_turned_circle_is_the_right_ellipse() -> None:
    body = '<circle r="100" transform="rotate(30) scale(2 1)"/>'
    (stroke,) = read_svg(svg(body), "x").strokes
    turn = math.radians(30)
    for p in (p for segment in stroke.segments for p in flatten(segment, 0.01)):
        x, y = p.x, -p.y
        u, v = x * math.cos(turn) + y * math.sin(turn), -x * math.sin(turn) + y * math.cos(turn)
        assert math.hypot(u / 2.0, v) == pytest.approx(100.0, abs=0.005)


def test_quadratic_curves_become_the_same_cubics() -> None:
    (stroke,) = read_svg(svg('<path d="M0 0 Q 3 6 9 0"/>'), "x").strokes
    (curve,) = stroke.segments
    assert isinstance(curve, Cubic)
    assert [*curve.c1, *curve.c2, *curve.end] == pytest.approx([2, -4, 5, -4, 9, 0])


def test_a_number_that_ends_in_its_point_is_read() -> None:
    assert only('<path d="M1.-2.L3.5-4."/>') == (pytest.approx((1, 2)), pytest.approx((3.5, 4)))


def test_relative_and_packed_path_data_is_read() -> None:
    (stroke,) = read_svg(svg('<path d="m1 1h2v2h-2zm.5.5"/>'), "x").strokes
    assert [segment.end for segment in stroke.segments] == [
        pytest.approx(p) for p in ((3, -1), (3, -3), (1, -3), (1, -1))]  # fmt: skip
    (arc,) = read_svg(svg('<path d="M0 0a5 5 0 015 5"/>'), "x").strokes
    assert arc.end == pytest.approx((5, -5))


@pytest.mark.parametrize(
    "body",
    [
        '<path id="front" d="{0}"/><path id="back" d="{1}"/>',
        '<path inkscape:label="front" id="path1" d="{0}"/><path inkscape:label="back" id="path2" d="{1}"/>',
        '<path id="path1" d="{0}"><title>front</title></path><path id="path2" d="{1}"><title>back</title></path>',
        '<g inkscape:label="front" id="layer1"><path id="path9" d="{0}"/></g><g id="back"><path d="{1}"/></g>',
        '<g id="outline"><path id="outline-front" d="{0}"/><path id="outline-back" d="{1}"/></g>',
        '<path d="{0}"/><path d="{1}"/><text x="60" y="300">front</text><text x="230" y="300">back</text>',
        '<path data-piece="front" d="{0}"/><path data-piece="back" d="{1}"/>',
    ],
)
def test_pieces_are_called_what_the_drawing_calls_them(body: str) -> None:
    pattern = bring(svg(body.format(down(FRONT), down(BACK))))
    assert [piece.name for piece in pattern.pieces] == ["front", "back"]


def test_names_that_a_program_gave_by_itself_are_no_names() -> None:
    body = f'<g id="layer1" inkscape:label="Layer 1"><path id="path1234" d="{down(FRONT)}"/></g>'
    assert bring(svg(body)).pieces[0].name == "piece-1"


def test_edges_drawn_one_by_one_keep_their_names_and_roles() -> None:
    edges = {
        "hem": "M0 400H120", "side": "M120 400 100 250 125 80", "neck": "M0 100 125 80", "opening": "M0 100V400",
    }  # fmt: skip
    body = "".join(f'<path id="front.{name}" d="{d}"/>' for name, d in edges.items())
    body = body.replace('id="front.opening"', 'id="front.opening" data-role="opening"')
    (front,) = bring(svg(body)).pieces
    assert front.name == "front"
    assert edges_of(front) == [("hem", "bottom"), ("side", "seam"), ("neck", "top"), ("opening", "opening")]


def test_edges_in_a_group_of_the_piece_are_named_within_it() -> None:
    body = (
        '<g id="front"><path id="hem" d="M0 400H120"/><path id="side" d="M120 400 100 250 125 80"/>'
        '<path id="neck" d="M0 100 125 80"/><path id="edge-of-front" d="M0 100V400"/></g>'
    )
    (front,) = bring(svg(body)).pieces
    assert [edge.name for edge in front.edges] == ["hem", "side", "neck", "edge-of-front"]


def test_an_outline_may_tell_its_edges_by_their_steps() -> None:
    body = (
        f'<path id="front" data-cut="pair" data-edges="foot:bottom:1 side:seam:2 neck:top:1 busk:opening:1" '
        f'd="{down(FRONT)}"/><path id="back" d="{down(BACK)}"/>'
    )
    front = bring(svg(body)).pieces[0]
    assert edges_of(front) == [("foot", "bottom"), ("side", "seam"), ("neck", "top"), ("busk", "opening")]
    assert front.cut == "pair"


def test_marks_are_told_by_their_names() -> None:
    body = (
        f'<path id="front" d="{down(FRONT)}"/><path id="back" d="{down(BACK)}"/>'
        '<path id="front.level.hip" d="M0 340H120"/><path id="front.slit.s1" d="M60 400V380"/>'
        '<path id="front.channel.f1" data-width="9.5" d="M30 390V120"/><path id="front.grain" d="M50 300V200"/>'
        '<path id="front.landmark.bust-point" d="M58 150h4"/><path id="front.notch" d="M95 250h10"/>'
    )
    front = bring(svg(body)).pieces[0]
    assert front.level("hip") == (pytest.approx((0, -340)), pytest.approx((120, -340)))
    assert front.slits[0].line == (pytest.approx((60, -400)), pytest.approx((60, -380)))
    assert (front.channels[0].name, front.channels[0].width) == ("f1", 9.5)
    assert front.grain == (pytest.approx((50, -300)), pytest.approx((50, -200)))
    assert front.landmarks["bust-point"] == pytest.approx((60, -150))
    assert front.notches[0].edge == "back-seam"
    assert front.notches[0].at == pytest.approx(math.hypot(20, 150))


def test_a_clockwise_outline_is_turned_round() -> None:
    pattern = bring(svg('<path d="M0 0 0 300 100 300 80 150 100 0Z"/>'))
    assert piece_area(pattern.pieces[0]) > 0.0
    again = bring(svg('<path d="M0 0 100 0 80 150 100 300 0 300Z"/>'))
    assert off_mm(pattern.pieces[0], again.pieces[0]) < 1e-6


def test_text_with_markup_and_a_remark_is_no_trouble() -> None:
    body = f'<!-- x --><?pi y?><text x="60" y="300"><tspan x="60" y="300">front</tspan></text><path d="{down(FRONT)}"/>'
    assert bring(svg(body)).pieces[0].name == "front"


def test_an_outside_doctype_without_declarations_is_let_pass() -> None:
    head = b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert len(bring(head + plain_svg()).pieces) == 2


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<html/>", "not SVG"),
        (b"", "not sound XML"),
        (b"<svg>", "not sound XML"),
        (svg(""), "holds no lines"),
        (svg("<text>front</text>"), "holds no lines"),
        (svg('<path d="M0 0 L10 0"/>'), "No outline closes"),
        (svg('<path d="M0 0 L10"/>'), "has 1 numbers"),
        (svg('<path d="L0 0"/>'), "does not begin with a move"),
        (svg('<path d="M0 0 L1,e5"/>'), "not a number"),
        (svg('<path d="M0 0A1 1 0 2 0 5 5"/>'), "seven numbers"),
        (svg('<path transform="spin(4)" d="M0 0L1 1"/>'), "transform can't be read"),
        (svg('<rect width="-3" height="4"/>'), "below 0"),
        (svg('<rect width="3em" height="4"/>'), "not a length"),
        (svg("", 'viewBox="0 0 0 4"'), "view box"),
        (svg("", 'width="wide"'), "not a length"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(data: bytes, words: str) -> None:
    with pytest.raises(FitError) as caught:
        bring(data)
    assert words in str(caught.value)


def test_an_open_outline_says_where_and_how_wide_it_gapes() -> None:
    with pytest.raises(FitError) as caught:
        bring(svg('<path d="M0 0 L100 0 L100 100 L0 100 L0 5"/>'))
    assert "1 line stays open" in str(caught.value)
    assert "5.0 mm from the next" in str(caught.value)


def test_lines_stay_lines() -> None:
    pattern = bring(plain_svg())
    assert all(isinstance(s, Line) for piece in pattern.pieces for edge in piece.edges for s in edge.segments)
    assert bounds(pattern.pieces[0]).right == pytest.approx(125.0)


def test_pieces_that_lie_on_their_side_are_said_to() -> None:
    lying = plain_svg().replace(b"<path", b'<path transform="rotate(90)"')
    with pytest.raises(FitError, match=r"They lie on their side.*Turn the drawing"):
        bring(lying)
