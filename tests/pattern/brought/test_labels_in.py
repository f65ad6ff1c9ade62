from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from drawings import bring, edges_of, off_mm, plain_svg, said, svg

from diagnose.errors import FitError
from diagnose.pattern.brought import Terms, draft_of_sketch, read_sketch
from diagnose.pattern.brought import bring as bring_file
from diagnose.pattern.brought.understood.labels import Labels, read_labels
from diagnose.pattern.measure import edge_length
from diagnose.rulebase.reading.yamlfile import parse_yaml


def labels(text: str) -> Labels:
    return read_labels(parse_yaml(text, "labels.yaml").data, "labels.yaml")


def refusal(text: str, data: bytes | None = None) -> str:
    with pytest.raises(FitError) as caught:
        bring(data or plain_svg(), "x.svg", labels(text))
    return str(caught.value)


def test_pieces_and_edges_are_named_in_order() -> None:
    pattern = bring(plain_svg(), labels=labels("""
        name: two panels
        closure: back
        pieces:
          1: {name: front, cut: pair, edges: [foot, {name: side, role: seam}, neck, {name: busk, role: opening}]}
          piece-2: {name: back}
    """))  # fmt: skip
    front, back = pattern.pieces
    assert (pattern.name, front.name, back.name, front.cut) == ("two panels", "front", "back", "pair")
    assert edges_of(front) == [("foot", "bottom"), ("side", "seam"), ("neck", "top"), ("busk", "opening")]
    assert [(seam.a, seam.b) for seam in pattern.seams] == [(("front", "side"), ("back", "front-seam"))]


def test_one_edge_alone_is_changed_by_its_name() -> None:
    pattern = bring(plain_svg(), labels=labels("pieces: {1: {edges: {centre-front: {role: opening, name: busk}}}}"))
    assert edges_of(pattern.pieces[0])[3] == ("busk", "opening")
    assert pattern.pieces[0].cut == "pair"


def test_what_labels_decide_is_no_longer_said_to_be_presumed() -> None:
    told = labels("pieces: {1: {edges: {centre-front: {role: opening}}}, 2: {name: back}}")
    text = said(plain_svg(), labels=told)
    assert "to lie on the fold" not in text
    assert "The back edge of “back” was presumed to be laced" in text


def test_edges_begin_where_the_labels_say_even_where_there_is_no_corner() -> None:
    body = '<circle id="round" cx="100" cy="100" r="90"/>'
    text = """
        unit: mm
        pieces:
          round:
            edges:
              - {name: hem, role: bottom, from: [36.4, -163.6]}
              - {name: back, role: lacing, from: [163.6, -163.6]}
              - {name: neck, role: top, from: [163.6, -36.4]}
              - {name: front, role: opening, from: [36.4, -36.4]}
        levels: {waist: 90}
    """
    (piece,) = bring(svg(body), labels=labels(text)).pieces
    assert edges_of(piece) == [("hem", "bottom"), ("back", "lacing"), ("neck", "top"), ("front", "opening")]
    assert [edge_length(edge) for edge in piece.edges] == [pytest.approx(90 * 3.14159265 / 2, abs=0.2)] * 4
    assert piece.level("waist")[0].y == pytest.approx(-100.0)


def test_levels_go_up_from_the_lowest_point_of_all_outlines() -> None:
    text = "levels: {hip: 2 in, waist: 140 mm}\npieces: {2: {levels: {underbust: 200 mm}}}"
    front, back = bring(plain_svg(), labels=labels(text)).pieces
    assert back.level("underbust")[0].y == pytest.approx(-200)
    assert front.level("hip")[0].y == pytest.approx(-400 + 50.8)
    assert front.level("waist")[0].y == pytest.approx(-260)


def test_a_level_may_be_points() -> None:
    text = "unit: mm\npieces: {1: {levels: {hip: [[0, -340], [120, -345]]}}}"
    assert bring(plain_svg(), labels=labels(text)).pieces[0].level("hip") == ((0.0, -340.0), (120.0, -345.0))


def test_seams_told_are_the_seams() -> None:
    text = "seams: [{name: side, a: piece-1/back-seam, b: piece-2/front-seam, ease: 0}]"
    assert [seam.name for seam in bring(plain_svg(), labels=labels(text)).seams] == ["side"]
    assert bring(plain_svg(), labels=labels("seams: []")).seams == ()


def test_a_pattern_drawn_from_the_back_is_turned_over() -> None:
    pattern = bring(plain_svg(), labels=labels("centre-front: right"))
    front = pattern.pieces[0]
    assert edges_of(front)[3] == ("centre-front", "fold")
    assert edge_length(front.edge("centre-front")) == pytest.approx(310.0)


def test_the_scale_told_replaces_that_of_the_drawing() -> None:
    pattern = bring(plain_svg(), labels=labels("scale: 2 mm"), length="piece-1.hem=240 mm")
    assert edge_length(pattern.pieces[0].edge("hem")) == pytest.approx(240.0)


def test_the_draft_read_back_gives_the_same_pattern() -> None:
    text = draft_of_sketch(read_sketch(plain_svg(), "x.svg"))
    again = bring(plain_svg(), labels=labels(text))
    plain = bring(plain_svg())
    assert again.seams == plain.seams
    for piece, other in zip(again.pieces, plain.pieces, strict=True):
        assert edges_of(piece) == edges_of(other)
        assert piece.cut == other.cut
        assert off_mm(piece, other) < 1e-6
        assert piece.level("waist")[0].y == pytest.approx(other.level("waist")[0].y, abs=0.1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("pieces: {3: {name: x}}", "has no outline “3”"),
        ("pieces: {1: {name: x}, piece-1: {name: y}}", "labelled twice"),
        ("pieces: {1: {edges: [a, b]}}", "2 edges are labelled, but the outline has 4"),
        ("pieces: {1: {edges: {nape: {role: top}}}}", "has no edge “nape”"),
        ("pieces: {1: {edges: [{name: a, from: [0, 0]}, b]}}", "Give it to all"),
        ("unit: mm\npieces: {1: {edges: [{name: a, from: [900, 0]}]}}", "The point 900 mm out and 0 mm up lies"),
        ("unit: mm\npieces: {1: {edges: [{name: a, from: [0, -400]}, {name: b, from: [0, -100]}, "
         "{name: c, from: [120, -400]}]}}", "do not begin one after the other"),
        ("pieces: {1: {levels: {hip: 90 in}}}", "hip misses the piece"),
        ("seams: [{name: s, a: piece-1/back-seam, b: piece-2/nape}]", "no edge “nape”"),
    ],
)  # fmt: skip
def test_labels_that_fit_nothing_in_the_drawing_are_refused(text: str, words: str) -> None:
    assert words in refusal(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("peaces: {}", "Did you mean pieces"),
        ("pieces: [1]", "not one entry for each piece"),
        ("pieces: {1: {cut: folded}}", "Did you mean fold"),
        ("pieces: {1: {edges: [{name: a, role: hemline}]}}", "no known role"),
        ("unit: feet", "no known unit"),
        ("scale: big", "not a length"),
        ("scale: -1 in", "can't stand for nothing"),
        ("levels: {wasit: 3}", "Did you mean waist"),
        ("closure: side", "no known closure"),
        ("seams: [{name: s, a: x, b: y/z}]", "joins two edges"),
        ("centre-front: top", "no known centre-front"),
        ("- a list", "stands where keys are wanted"),
    ],
)
def test_what_is_wrong_in_a_labels_file_is_said(text: str, words: str) -> None:
    with pytest.raises(FitError) as caught:
        labels(text)
    assert words in str(caught.value)


def test_all_mistakes_of_a_labels_file_are_told_at_once() -> None:
    with pytest.raises(FitError) as caught:
        labels("peaces: {}\nclosure: side\nlevels: {wasit: 3}")
    assert len(caught.value.mistakes) == 3


def test_the_bundled_labels_name_the_bundled_drawing() -> None:
    folder = Path(__file__).parents[3] / "cases" / "patterns"
    raw: Any = yaml.load((folder / "corset-drawing-labels.yaml").read_text(), Loader=yaml.BaseLoader)
    told = read_labels(raw, "labels")
    data = (folder / "corset-drawing.dxf").read_bytes()
    brought = bring_file(data, "corset-drawing.dxf", Terms("in"), told, "back.centre-back=14 in")
    assert [piece.name for piece in brought.pattern.pieces] == [
        "front", "side-front", "underarm-front", "underarm-back", "side-back", "back"]  # fmt: skip
    assert len(brought.pattern.seams) == 5
    assert any("Scale checked" in sentence for sentence in brought.said)


BENT = """<path id="front" d="M30 380 L200 380 L155 210 L215 40 L30 40 Z"/>
<path id="back" d="M300 380 L470 380 L470 40 L405.9 40 Z"/>"""
"""A side seam that turns by 34 degrees at the waist, and the straight one, as long as both its parts, it is sewn to."""


def test_two_edges_said_to_be_one_are_joined_and_sewn_by_their_whole_length() -> None:
    assert not bring(svg(BENT)).seams
    whole = bring(svg(BENT), labels=labels("pieces: {front: {as-one: [[back-seam-2, back-seam-1]]}}"))
    front = whole.piece("front")
    assert edges_of(front) == [("hem", "bottom"), ("back-seam", "seam"), ("top-edge", "top"), ("centre-front", "fold")]
    # By Pythagoras: 45 out and 170 up to the waist, 60 out and 170 up from there.
    assert edge_length(front.edge("back-seam")) == pytest.approx((45**2 + 170**2) ** 0.5 + (60**2 + 170**2) ** 0.5)
    assert [(seam.a, seam.b) for seam in whole.seams] == [(("front", "back-seam"), ("back", "front-seam"))]


def test_a_level_higher_than_every_piece_is_refused() -> None:
    text = refusal("levels: {waist: 900 mm, hip: 2 in}")
    assert "The level waist misses every piece: none is higher than" in text
    assert "hip" not in text


def test_edges_that_cannot_be_one_are_all_told() -> None:
    text = refusal("""
        pieces:
          front: {as-one: [[back-seam-1, centre-front], [side, hem]]}
          back: {as-one: [[hem]]}
    """, svg(BENT))  # fmt: skip
    assert "labels.yaml, piece back, as-one: Two edges at a time are made one." in text
    text = refusal("pieces: {front: {as-one: [[back-seam-1, centre-front], [side, hem]]}}", svg(BENT))
    assert "“back-seam-1” and “centre-front” do not lie next to each other" in text
    assert "The outline has no edge “side”. It has: hem, back-seam-1, back-seam-2" in text
    three = svg('<path id="gore" d="M30 380 L200 380 L115 40 Z"/>')
    assert "It has 3 edges" in refusal("pieces: {gore: {as-one: [[hem, centre-back]]}}", three)


def test_a_table_says_its_own_edges_and_none_of_them_are_joined() -> None:
    with pytest.raises(FitError, match="The file itself says where its edges end"):
        bring_file(b"", "x.csv", labels=labels("pieces: {front: {as-one: [[a, b]]}}"))


ROUND = """<path id="front" d="M10 20 L110 20 L110 300 L10 300 Z"/>
<path id="side"
 d="M190 25 C240 30 232 80 225 160 C235 240 240 280 190 292 C150 296 140 270 148 160 C140 60 140 22 190 25 Z"/>
<path id="back" d="M270 20 L360 20 L360 300 L270 300 Z"/>"""
"""A piece between two others whose outline has no corner anywhere."""


def test_a_round_outline_is_parted_at_the_corners_that_are_said_in_any_order() -> None:
    assert {one.code for one in bring_file(svg(ROUND), "x.svg").asks} >= {"edges-unsure"}
    said = "unit: mm\npieces: {2: {corners: [[145, -40], [230, -285], [150, -285], [230, -40]]}}"
    made = bring_file(svg(ROUND), "x.svg", labels=labels(said))
    assert not {"edges-unsure", "labels-wanted"} & {one.code for one in made.asks}
    side = made.proposal.pieces[1].piece
    assert [(edge.name, edge.role) for edge in side.edges] == [
        ("hem", "bottom"), ("back-seam", "seam"), ("top-edge", "top"), ("front-seam", "seam"),
    ]  # fmt: skip
    hem, back = side.edges[0], side.edges[1]
    assert hem.start.x < 160 < 215 < hem.end.x
    assert hem.end.y < -250 < -60 < back.end.y


def test_corners_that_are_not_four_are_refused_and_so_are_those_of_a_table() -> None:
    text = refusal("pieces: {2: {corners: [[145, -40], [230, -285]]}}", svg(ROUND))
    assert "labels.yaml, piece 2, corners: 2 corners are named; a piece has four." in text
    with pytest.raises(FitError, match="The file itself says where its edges end"):
        bring_file(b"", "x.csv", labels=labels("pieces: {front: {corners: [[0, 0], [9, 0], [9, 9], [0, 9]]}}"))
