"""A strap's fixing moved with its tab, and a strap made longer or wider."""

from __future__ import annotations

from dataclasses import replace

import pytest
from paper import edge, oblong, one

from diagnose.errors import FitError
from diagnose.pattern.checks import piece_mistakes
from diagnose.pattern.measure import piece_area
from diagnose.pattern.operations.strap import Strap, strap
from diagnose.pattern.outline import Piece, Point


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
    return strap(one(piece), Strap(piece.name, **how)).pattern.pieces[0]  # type: ignore[arg-type]


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
    assert piece_area(piece) == pytest.approx(piece_area(with_tab()), abs=1.0)


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
    pattern = strap(one(with_tab()), Strap("front", lengthen=12.0)).pattern
    altered = strap(pattern, Strap("front", lengthen=-4.0, widen=6.35))
    assert altered.pattern.extra["straps"] == {"front/front": {"lengthened_mm": 8.0, "widened_mm": 6.35}}
    assert altered.notes == (
        "Cut the strap at the front fixing 3/16 in (4 mm) shorter.",
        "Cut the strap at the front fixing 1/4 in (6.5 mm) wider.",
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
