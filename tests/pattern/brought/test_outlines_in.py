from __future__ import annotations

import math
import re

import pytest
from drawings import BACK, FRONT, bring, down, edges_of, off_mm, plain_svg, said, svg

from diagnose.errors import FitError
from diagnose.pattern.brought import Terms
from diagnose.pattern.brought import bring as bring_file
from diagnose.pattern.brought.drawings.corners import corners_of, cut_at, four_corners
from diagnose.pattern.brought.drawings.joining import joined_rings
from diagnose.pattern.brought.sketch import Stroke
from diagnose.pattern.geometry.bezier import reverse
from diagnose.pattern.measure import edge_length
from diagnose.pattern.outline import Line, Pattern, Point


def path(points: list[tuple[float, float]]) -> str:
    return "M" + " ".join(f"{x:.4f} {y:.4f}" for x, y in points)


def ring_of(*points: tuple[float, float]) -> tuple[Line, ...]:
    """A closed run of lines."""
    ends = [Point(*p) for p in points]
    return tuple(Line(a, b) for a, b in zip(ends, [*ends[1:], ends[0]], strict=True))


def test_loose_lines_in_any_order_and_direction_close_to_the_same_outlines() -> None:
    whole = bring(plain_svg())
    loose = (
        "M0 100V400 M125 80L0 100 M0 400H120 M100 250L125 80 M100 250L120 400 "
        "M155 80L280 90 M280 400V90 M180 250L155 80 M160 400L180 250 M280 400H160"
    )
    pattern = bring(svg("".join(f'<path d="M{d}"/>' for d in loose.split("M")[1:])))
    assert [edges_of(piece) for piece in pattern.pieces] == [edges_of(piece) for piece in whole.pieces]
    assert all(off_mm(a, b) < 1e-9 for a, b in zip(pattern.pieces, whole.pieces, strict=True))


def test_ends_within_half_a_mark_of_the_ruler_are_joined_and_wider_gaps_are_not() -> None:
    gap = '<path d="M0 0V300H100L80 150 100 {0}"/><path d="M100 0H0"/>'
    assert len(bring(svg(gap.format("0.7"))).pieces) == 1
    with pytest.raises(FitError):
        bring(svg(gap.format("3")))


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("first", range(6))
def test_a_line_shorter_than_loose_ends_may_lie_apart_stays_in_the_outline(first: int, turned: bool) -> None:
    lines = ring_of((0, 0), (100, 0), (100, 299.6), (99.9, 300), (0.4, 300), (0, 300))
    strokes = [Stroke((reverse(line) if turned else line,)) for line in (*lines[first:], *lines[:first])]
    rings, loose = joined_rings(strokes)
    assert [len(ring.segments) for ring in rings] == [6]
    assert not loose


def test_a_line_drawn_twice_over_counts_once() -> None:
    body = '<path d="M0 0V300"/><path d="M0 300V0"/><path d="M0 300H100L80 150 100 0H0"/>'
    assert len(bring(svg(body)).pieces) == 1


def test_pieces_are_numbered_from_the_left_whatever_the_order_of_drawing() -> None:
    pattern = bring(svg(f'<path id="back" d="{down(BACK)}"/><path id="front" d="{down(FRONT)}"/>'))
    assert [piece.name for piece in pattern.pieces] == ["front", "back"]


def test_a_frame_round_the_pieces_is_left_out() -> None:
    frame = '<rect x="-5" y="50" width="310" height="380"/>'
    assert len(bring(svg(frame + plain_svg().decode().partition(">")[2].removesuffix("</svg>"))).pieces) == 2


def test_the_inner_of_two_outlines_is_the_stitching_line() -> None:
    cutting = '<path d="M-12 -12 L132 -12 L112 150 L140 334 L-12 312 Z"/>'
    body = f'<g transform="translate(0 400) scale(1 -1)">{cutting}<path d="{FRONT}"/></g>'
    (front,) = bring(svg(body)).pieces
    assert edge_length(front.edge("hem")) == pytest.approx(120.0)
    assert "inner was taken for the stitching line" in said(svg(body))


def test_small_closed_lines_on_a_piece_are_left_out() -> None:
    hole = '<circle cx="50" cy="250" r="9"/>'
    body = f'{hole}<path d="{down(FRONT)}"/>'
    assert len(bring(svg(body)).pieces) == 1
    assert "1 line was left out" in said(svg(body))


def test_two_pieces_of_one_name_are_told_apart() -> None:
    pattern = bring(svg(f'<path id="panel" d="{down(FRONT)}"/><g id="panel"><path d="{down(BACK)}"/></g>'))
    assert [piece.name for piece in pattern.pieces] == ["panel-1", "panel-2"]


def test_words_on_a_piece_tell_its_cut() -> None:
    body = f'<path d="{down(FRONT)}"/><text x="50" y="300">cut 1 pair</text>'
    (front,) = bring(svg(body)).pieces
    assert (front.cut, front.edge("centre-front").role) == ("pair", "opening")


def curve_samples(step_mm: float) -> list[tuple[float, float]]:
    """A panel whose seam is a cosine between y = 0 and 300, 30 mm in at the waist, as short straight lines."""
    count = max(2, round(300 / step_mm))
    ys = [300 * k / count for k in range(count + 1)]
    seam = [(115 + 15 * math.cos(2 * math.pi * y / 300), y) for y in ys]
    return [(0, 0), *seam, (0, 300), (0, 0)]


@pytest.mark.parametrize("step", [1.0, 5.0, 20.0, 50.0])
def test_a_curve_drawn_as_short_lines_is_one_edge(step: float) -> None:
    flipped = [(x, 400 - y) for x, y in curve_samples(step)]
    (piece,) = bring(svg(f'<path d="{path(flipped)}"/>')).pieces
    assert [role for _, role in edges_of(piece)] == ["bottom", "seam", "top", "fold"]


@pytest.mark.parametrize("count", [12, 16, 40])
def test_a_scoop_of_short_lines_between_two_straight_ends_is_one_edge(count: int) -> None:
    """A half circle scooped out: turns of 9 to 30 degrees, the greater ones in a row of like turns."""
    half = [(60 + 50 * math.cos(math.radians(a)), 300 - 50 * math.sin(math.radians(a)))
            for a in (360 / count * k for k in range(count // 2 + 1))]  # fmt: skip
    points = [(0, 0), (120, 0), (100, 150), *half, (0, 300), (0, 0)]
    (piece,) = bring(svg(f'<path d="{path([(x, 400 - y) for x, y in points])}"/>')).pieces
    assert [role for _, role in edges_of(piece)].count("top") == 2


def test_a_turn_of_twenty_five_degrees_between_long_lines_is_a_corner_and_one_of_fifteen_is_none() -> None:
    for turn, count in ((25.0, 5), (15.0, 4)):
        off = 150 * math.tan(math.radians(turn))
        ring = joined_rings([Stroke(ring_of((0, 0), (100, 0), (100, 150), (100 - off, 300), (0, 300)), True)])[0][0]
        assert len(corners_of(ring)) == count


def test_the_four_corners_are_those_farthest_out() -> None:
    corners = [Point(120, 0), Point(118, 250), Point(100, 290), Point(40, 240), Point(0, 280), Point(0, 0)]
    four = four_corners(corners)
    assert four is not None
    assert [corners[n] for n in four] == [(0, 0), (120, 0), (100, 290), (0, 280)]
    assert four_corners(corners[:2]) is None


def test_a_ring_is_cut_where_a_label_says() -> None:
    ring = joined_rings([Stroke(ring_of((0, 0), (100, 0), (100, 100), (0, 100)), True)])[0][0]
    cut, at = cut_at(ring, Point(40, 2))
    assert (len(cut.segments), cut.segments[at].start) == (5, pytest.approx((40, 0)))
    same, at = cut_at(ring, Point(100.02, -0.01))
    assert (len(same.segments), same.segments[at].start) == (4, (100, 0))


def test_a_gore_has_two_legs_and_no_top() -> None:
    body = f'<path id="front" d="{down(FRONT)}"/><path id="gore" d="M200 400 L230 250 L260 400 Z"/>'
    gore = bring(svg(body)).pieces[1]
    assert edges_of(gore) == [("hem", "bottom"), ("back-seam", "seam"), ("front-seam", "seam")]


def test_seams_of_unlike_length_are_not_presumed_and_it_is_said() -> None:
    longer = BACK.replace("L155 320 L180 150 Z", "L155 332 L180 150 Z")
    body = f'<path id="front" d="{down(FRONT)}"/><path id="back" d="{down(longer)}"/>'
    assert bring(svg(body)).seams == ()
    assert "No seam was presumed between “front”" in said(svg(body))
    in_cm = " ".join(bring_file(svg(body), "x.svg", Terms("cm")).said)
    assert re.search(r"“front” \(\d+\.\d cm\).*differ by more than 0\.3 cm", in_cm)
    assert " in (" not in in_cm


def armhole_panels() -> bytes:
    front = "M0 400 120 400 100 250 118 150 95 60 0 100Z"
    back = "M160 400 280 400 280 90 185 60 162 150 180 250Z"
    return svg(f'<path id="front" d="{front}"/><path id="back" d="{back}"/>')


def test_above_the_seam_that_finds_its_partner_lies_the_armhole() -> None:
    pattern = bring(armhole_panels())
    front, back = pattern.pieces
    assert [role for _, role in edges_of(front)].count("seam") == 1
    assert [role for _, role in edges_of(back)].count("seam") == 1
    (seam,) = pattern.seams
    lengths = [edge_length(pattern.piece(ref.piece).edge(ref.edge)) for ref in (seam.a, seam.b)]
    assert lengths[0] == pytest.approx(lengths[1], abs=3.2)


def test_pieces_at_different_heights_get_levels_of_their_own() -> None:
    shifted = down(BACK, 900.0)
    body = f'<path d="{down(FRONT)}"/><path d="{shifted}"/>'
    pattern = bring(svg(body, 'width="400mm" height="900mm" viewBox="0 0 400 900"'))
    ys = [piece.level("waist")[0].y for piece in pattern.pieces]
    assert ys == [pytest.approx(-250, abs=0.1), pytest.approx(-750, abs=0.1)]
    assert "lie at different heights" in said(svg(body, 'width="400mm" height="900mm" viewBox="0 0 400 900"'))


def refusal(body: str) -> str:
    with pytest.raises(FitError) as caught:
        bring(svg(body))
    return str(caught.value)


def test_without_a_narrowest_place_the_waist_is_asked_for_and_a_draft_shown() -> None:
    text = refusal('<path id="front" d="M0 0H100L130 300H0Z"/>')
    assert "waist can't be presumed for “front”" in text
    assert "levels: {waist: 5 1/4 in}" in text
    assert "pieces:\n  1:\n    name: front" in text


def test_of_many_pieces_without_a_waist_the_first_are_named_and_the_rest_counted() -> None:
    text = refusal("".join(f'<path d="M{x} 0H{x + 100}L{x + 130} 300H{x}Z"/>' for x in range(0, 3200, 200)))
    assert "for “piece 1”, “piece 2”, “piece 3”, “piece 4”, “piece 5” and 3 more: nowhere" in text


def test_without_corners_the_edges_are_asked_for_and_a_draft_shown() -> None:
    text = refusal('<circle id="round" cx="100" cy="100" r="90"/>')
    assert "outline 1 “round”" in text
    assert "can't be told which edges are its bottom" in text
    assert "--labels" in text


def test_an_outline_that_crosses_itself_is_refused_by_the_pattern_check() -> None:
    assert "crosses or touches itself" in refusal('<path d="M0 0H100L20 150 100 300H0L80 150Z"/>')


def test_the_bundled_corset_keeps_its_seams_and_girths_as_bare_outlines(corset: Pattern) -> None:
    """Only its outlines are drawn, without a name: all else is presumed and compared with what is stored."""
    from diagnose.sheets.writers.svg import path_data

    runs = [[s for edge in piece.edges for s in edge.segments] for piece in corset.pieces]
    pattern = bring(svg("".join(f'<path d="{path_data(run, closed=True)}"/>' for run in runs),
                        'width="700mm" height="500mm" viewBox="0 -250 700 500"'))  # fmt: skip
    assert [edges_of(p) for p in pattern.pieces[1:]] == [edges_of(p) for p in corset.pieces[1:]]
    assert [seam.b.edge for seam in pattern.seams] == [seam.b.edge for seam in corset.seams]
    for piece, stored in zip(pattern.pieces, corset.pieces, strict=True):
        assert off_mm(piece, stored) < 0.01
        assert piece.level("waist")[0].y == pytest.approx(stored.level("waist")[0].y, abs=1.0)


def test_a_gore_beside_the_panels_is_no_panel_and_takes_no_lacing() -> None:
    gore = "M330 60 L370 60 L350 200 Z"
    made = bring_file(svg("".join(f'<path d="{down(path)}"/>' for path in (FRONT, BACK, gore))), "x.svg", Terms("in"))
    assert [seam.seam.a.piece for seam in made.seams] == ["piece-1"]
    pieces = made.settled().pieces
    assert [edge.role for edge in pieces[1].edges].count("lacing") == 1
    assert not any(edge.role == "lacing" for edge in pieces[2].edges)
    assert pieces[2].levels == {}
    assert any("piece 3" in sentence and "no girth has" in sentence for sentence in made.said)


def test_a_front_laced_garment_is_laced_in_front_and_folded_behind() -> None:
    made = bring_file(plain_svg(), "x.svg", Terms("in", closure="front"))
    front, back = made.settled().pieces
    assert [edge.role for edge in front.edges].count("lacing") == 1
    assert (back.cut, [edge.role for edge in back.edges].count("fold")) == ("fold", 1)


def test_words_in_several_lines_are_apart_and_letters_set_apart_are_one_word() -> None:
    parts = '<tspan x="40" y="300">fr</tspan><tspan x="44" y="300">ont</tspan><tspan x="40" dy="12">cut 2</tspan>'
    (front,) = bring(svg(f'<path d="{down(FRONT)}"/><text x="40" y="300">{parts}</text>')).pieces
    assert front.name == "front"
