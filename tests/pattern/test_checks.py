from __future__ import annotations

from itertools import pairwise

from msgspec.structs import replace
from stored_forms import panel_json, pattern_json, two_panels_json

from diagnose.pattern.form.checks import crossing_place, piece_mistakes, seam_mistakes
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.outline import Cubic, Line, Notch, Pattern, Piece, Point


def words(piece: Piece) -> list[str]:
    return [mistake.what for mistake in piece_mistakes(piece, "here")]


def with_top(piece: Piece, *points: tuple[float, float]) -> Piece:
    """The piece with its top edge laid through other points."""
    top = piece.edge("top-edge")
    places = [top.start, *(Point(*p) for p in points), top.end]
    return piece.with_edge(replace(top, segments=tuple(Line(a, b) for a, b in pairwise(places))))


def test_sound_pieces_have_no_mistakes(bodies: Pattern, corset: Pattern, awkward: Pattern) -> None:
    for pattern in (bodies, corset, awkward):
        assert [m for piece in pattern.pieces for m in piece_mistakes(piece, "x")] == []
        assert seam_mistakes(pattern, "x") == []


def test_a_crossing_is_told_with_its_place_and_its_edges(rectangle: Pattern) -> None:
    bow = with_top(rectangle.pieces[0], (150, 320), (250, 200), (100, 320))
    (what,) = words(bow)
    assert "crosses or touches itself near 7 7/8 in (200 mm) out and " in what
    assert "top-edge" in what
    assert "back-edge" in what


def test_a_looping_cubic_crosses_itself(rectangle: Pattern) -> None:
    piece = rectangle.pieces[0]
    top = piece.edge("top-edge")
    looped = piece.with_edge(replace(top, segments=(Cubic(top.start, Point(-150, 380), Point(350, 380), top.end),)))
    assert crossing_place(piece) is None
    assert crossing_place(looped) is not None


def test_an_outline_that_touches_itself_in_a_point_is_refused(rectangle: Pattern) -> None:
    assert (
        "touches itself near 3 15/16 in (100 mm) out and 0 in (0 mm) up"
        in words(with_top(rectangle.pieces[0], (100, 0)))[0]
    )


def test_an_outline_pinched_to_a_hair_is_not_refused(rectangle: Pattern) -> None:
    assert crossing_place(with_top(rectangle.pieces[0], (100, 0.2))) is None


def test_a_sliver_without_paper_is_refused() -> None:
    panel = panel_json("p", 0, 20, 0, 20)
    panel["levels"] = {}
    piece = read_pattern(pattern_json(panel)).pieces[0]
    corners = [Point(0, 0), Point(20, 0), Point(20, 0.01), Point(0, 0.01)]
    edges = tuple(
        replace(edge, segments=(Line(a, b),))
        for edge, a, b in zip(piece.edges, corners, [*corners[1:], corners[0]], strict=True)
    )
    assert words(replace(piece, edges=edges)) == ["The outline encloses no paper."]


def test_a_slit_on_a_piece_without_hem_or_top_is_refused() -> None:
    front = read_pattern(two_panels_json()).piece("front")
    bare = replace(front, edges=tuple(replace(edge, role="seam") for edge in front.edges))
    assert words(bare) == ["The piece has no bottom and no top edge for the slit to start from."]


def test_a_slit_may_start_on_the_top_edge() -> None:
    front = read_pattern(two_panels_json()).piece("front")
    slit = replace(front.slits[0], line=(Point(80, 199), Point(80, 120)))
    assert words(replace(front, slits=(slit,))) == []


def test_a_level_a_rulers_mark_short_is_let_pass_and_one_shorter_not(rectangle: Pattern) -> None:
    piece = rectangle.pieces[0]
    near = replace(piece, levels={"waist": (Point(1.5, 50), Point(198.5, 50))})
    assert words(near) == []
    assert "stops 1/16 in (2 mm)" in words(replace(piece, levels={"waist": (Point(0, 50), Point(198, 50))}))[0]


def test_a_centre_seam_may_sew_an_edge_to_its_own_mirror_image() -> None:
    pattern = read_pattern(two_panels_json())
    seam = replace(pattern.seams[0], name="centre", a=pattern.seams[0].a._replace(edge="front-edge"))
    seam = replace(seam, b=seam.a)
    assert seam_mistakes(replace(pattern, seams=(*pattern.seams, seam)), "x") == []


def test_a_mistake_is_known_by_its_code(rectangle: Pattern) -> None:
    piece = rectangle.pieces[0]
    bow = with_top(piece, (150, 320), (250, 200), (100, 320))
    off = replace(piece, levels={"waist": (Point(-50, 900), Point(-20, 900))}, notches=(Notch("nowhere", 1.0),))
    assert [mistake.code for mistake in piece_mistakes(bow, "here")] == ["outline-crosses"]
    assert [mistake.code for mistake in piece_mistakes(off, "here")] == ["level-misses", "notch-without-edge"]


def test_the_place_of_a_crossing_lies_on_two_legs_that_meet(rectangle: Pattern) -> None:
    spike = with_top(rectangle.pieces[0], (100, 300), (100, 350), (100, 300))
    place = crossing_place(spike)
    assert place is not None
    assert place.x == 100.0
    assert 300.0 <= place.y <= 350.0
