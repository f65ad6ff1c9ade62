"""A strap's fixing moved with its tab, and a strap made longer or wider."""

from __future__ import annotations

import pytest
from cut_paper import polygon
from msgspec.structs import replace
from paper import edge, oblong, one

from diagnose.errors import FitError
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import bounds, piece_area
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.outline import Pattern, Piece, Point


def with_tab() -> Piece:
    """A front with a flat-topped tab 20 mm wide, from x = 60 to x = 40, in a top edge at 200 mm."""
    piece = oblong("front")
    edges = (
        edge("armhole", "top", (100.0, 200.0), (60.0, 200.0), (60.0, 230.0)),
        edge("strap-end", "top", (60.0, 230.0), (40.0, 230.0)),
        edge("neck", "top", (40.0, 230.0), (40.0, 200.0), (0.0, 200.0)),
    )
    return replace(
        piece,
        edges=(*piece.edges[:2], *edges, piece.edges[3]),
        landmarks={"strap-front": Point(50.0, 230.0)},
        channels=(),
    )


def changed(piece: Piece, **how: object) -> Piece:
    return Strap(piece.name, **how).done(one(piece)).pattern.pieces[0]  # type: ignore[arg-type]


def test_the_tab_moves_whole_towards_the_back() -> None:
    piece = changed(with_tab(), move=6.35)
    assert piece.landmarks["strap-front"] == pytest.approx(Point(56.35, 230.0))
    end = piece.edge("strap-end")
    assert (end.start, end.end) == (pytest.approx(Point(66.35, 230.0)), pytest.approx(Point(46.35, 230.0)))
    assert piece.edge("hem") == with_tab().edge("hem")
    assert not piece_mistakes(piece, "")


def test_the_edge_beside_a_moved_tab_keeps_its_height() -> None:
    piece = changed(with_tab(), move=-6.35)
    assert all(s.start.y in (200.0, 230.0) or 200.0 < s.start.y < 230.0 for s in piece.edge("neck").segments)
    # What the one side gains the other loses, but for the sixteenth of an inch by which one of them reaches farther.
    assert piece_area(piece) == pytest.approx(piece_area(with_tab()), abs=5.0)


@pytest.mark.parametrize("end", ["front", "back"])
@pytest.mark.parametrize("mm", [6.35, -6.35, 12.7, -12.7])
def test_a_strap_moved_and_moved_back_lies_as_it_lay(bodies: Pattern, end: str, mm: float) -> None:
    there = Strap("bodies", end=end, move=mm).done(bodies).pattern
    back = Strap("bodies", end=end, move=-mm).done(there).pattern
    was, now = (polygon(pattern.pieces[0]).exterior for pattern in (bodies, back))
    assert was.hausdorff_distance(now) < 0.5
    assert was.hausdorff_distance(polygon(there.pieces[0]).exterior) > 5.0


@pytest.mark.parametrize("mark", [80.0, 64.0, 40.0])
def test_a_tab_wider_than_two_inches_moves_whole_wherever_on_it_the_mark_stands(mark: float) -> None:
    """Before, the corner farther than an inch from the mark stayed behind."""
    edges = (
        edge("armhole", "top", (100.0, 200.0), (80.0, 200.0), (80.0, 230.0)),
        edge("strap-end", "top", (80.0, 230.0), (20.0, 230.0)),
        edge("neck", "top", (20.0, 230.0), (20.0, 200.0), (0.0, 200.0)),
    )
    piece = oblong("front")
    piece = replace(piece, edges=(*piece.edges[:2], *edges, piece.edges[3]), channels=())
    made = changed(replace(piece, landmarks={"strap-front": Point(mark, 230.0)}), move=6.35)
    end = made.edge("strap-end")
    assert (end.start, end.end) == (pytest.approx(Point(86.35, 230.0)), pytest.approx(Point(26.35, 230.0)))
    assert made.landmarks["strap-front"] == pytest.approx(Point(mark + 6.35, 230.0))


def test_on_a_smooth_edge_the_mark_alone_moves() -> None:
    piece = replace(oblong("back"), landmarks={"strap-back": Point(30.0, 200.0)})
    made = changed(piece, move=10.0)
    assert made.landmarks["strap-back"] == pytest.approx(Point(40.0, 200.0))
    assert made.edges == piece.edges


def test_a_straps_own_piece_is_spread_across_and_along() -> None:
    piece = replace(oblong("strap", 30.0, 300.0), levels={}, landmarks={}, channels=(), notches=())
    made = changed(piece, lengthen=12.0, widen=4.0)
    assert piece_area(made) == pytest.approx(312.0 * 34.0, rel=1e-6)
    assert not piece_mistakes(made, "")


def test_a_body_piece_keeps_the_change_with_the_pattern_and_adds_it_up() -> None:
    pattern = Strap("front", lengthen=12.0).done(one(with_tab())).pattern
    altered = Strap("front", lengthen=-4.0, widen=6.35).done(pattern)
    assert altered.pattern.extra["straps"] == {"front/front": {"lengthened_mm": 8.0, "widened_mm": 6.35}}
    assert notes_said(altered.notes, {}) == (
        "Cut the strap at the front fixing 3/16 in (4 mm) shorter.",
        "Cut the strap at the front fixing 1/4 in (6 mm) wider.",
    )


@pytest.mark.parametrize(
    ("landmarks", "how", "said"),
    [
        ({"strap-front": Point(50.0, 230.0)}, {}, "Nothing is asked for"),
        ({"strap-front": Point(50.0, 230.0)}, {"end": "back", "move": 3.0}, "no landmark 'strap-back'"),
        ({"strap-front": Point(50.0, 100.0)}, {"move": 3.0}, "does not lie on a top edge"),
        ({}, {"move": 3.0}, "no landmark"),
        ({"strap-front": Point(50.0, 230.0), "strap-back": Point(90.0, 200.0)}, {"move": 3.0}, "both ends"),
    ],
)
def test_what_cannot_be_done_is_refused(landmarks: dict[str, Point], how: dict[str, object], said: str) -> None:
    with pytest.raises(FitError, match=said):
        changed(replace(with_tab(), landmarks=landmarks), **how)


def test_a_mark_on_a_smooth_edge_goes_to_its_ends_and_no_further() -> None:
    piece = replace(oblong("back"), landmarks={"strap-back": Point(30.0, 200.0)})
    assert changed(piece, move=70.0).landmarks["strap-back"] == pytest.approx(Point(100.0, 200.0))
    assert changed(piece, move=-30.0).landmarks["strap-back"] == pytest.approx(Point(0.0, 200.0))
    for by, room in ((71.0, "70 mm"), (-31.0, "30 mm")):
        with pytest.raises(FitError, match=rf"goes on for only .*\({room}\) beyond the strap's mark"):
            changed(piece, move=by)


def test_a_moved_tab_leaves_the_edge_beyond_two_inches_as_it_was() -> None:
    """The blend reaches 2 in (or 4 times the step) to each side of the tab, along the edge."""
    piece = changed(with_tab(), move=6.35)
    assert piece.edge("armhole").start == Point(100.0, 200.0)
    assert piece.edge("neck").end == Point(0.0, 200.0)
    # the tab's foot, 30 mm below its top, moves with it: all of its 20 mm width stays between the same uprights
    feet = [s.start for s in piece.edge("neck").segments if s.start.y == pytest.approx(200.0)]
    assert min(foot.x for foot in feet) <= 46.35 + 1e-6


def test_a_strap_that_lies_on_its_side_is_lengthened_along_itself() -> None:
    piece = replace(oblong("strap", 300.0, 30.0), levels={}, landmarks={}, channels=(), notches=())
    longer = changed(piece, lengthen=12.0)
    assert (bounds(longer).right - bounds(longer).left, bounds(longer).top - bounds(longer).bottom) == pytest.approx(
        (312.0, 30.0)
    )
    wider = changed(piece, widen=4.0)
    assert (bounds(wider).right - bounds(wider).left, bounds(wider).top - bounds(wider).bottom) == pytest.approx(
        (300.0, 34.0)
    )


def test_an_upright_strap_says_what_was_done_for_each_change() -> None:
    piece = replace(oblong("strap", 30.0, 300.0), levels={}, landmarks={}, channels=(), notches=())
    notes = notes_said(Strap("strap", lengthen=12.7, widen=-6.35).done(one(piece)).notes, {})
    assert [*notes] == [
        "Cut and spread in the strap: 1/2 in (13 mm).", "Folded out of the strap: 1/4 in (6 mm).",
    ]  # fmt: skip


def test_the_end_meant_is_the_one_there_is_or_the_one_named() -> None:
    both = {"strap-front": Point(50.0, 230.0), "strap-back": Point(90.0, 200.0)}
    piece = replace(with_tab(), landmarks=both)
    moved = changed(piece, end="front", move=6.35).landmarks
    assert moved["strap-front"].x == pytest.approx(56.35)
    kept = Strap("front", "back", lengthen=3.0).done(one(piece)).pattern.extra["straps"]
    assert kept == {"front/back": {"lengthened_mm": 3.0, "widened_mm": 0.0}}


def test_each_end_and_piece_is_kept_apart_and_what_is_not_a_number_counts_as_nothing() -> None:
    odd = one(replace(with_tab(), landmarks={"strap-front": Point(50.0, 230.0), "strap-back": Point(90.0, 200.0)}))
    odd = replace(
        odd, extra={"straps": {"front/front": {"lengthened_mm": "long", "by": "hand"}, "other": 1}, "kept": 1}
    )
    altered = Strap("front", "front", lengthen=2.0).done(odd).pattern.extra
    assert altered["kept"] == 1
    assert altered["straps"] == {
        "front/front": {"lengthened_mm": 2.0, "widened_mm": 0.0, "by": "hand"}, "other": 1,
    }  # fmt: skip
    plain = replace(odd, extra={})
    assert Strap("front", "front", move=3.0).done(plain).pattern.extra == {}


def test_a_mark_a_quarter_inch_off_the_edge_is_taken_as_on_it_and_one_further_off_is_not() -> None:
    near = replace(oblong("back"), landmarks={"strap-back": Point(30.0, 206.3)})
    assert changed(near, move=10.0).landmarks["strap-back"] == pytest.approx(Point(40.0, 200.0))
    with pytest.raises(FitError, match="does not lie on a top edge"):
        changed(replace(near, landmarks={"strap-back": Point(30.0, 206.4)}), move=10.0)
