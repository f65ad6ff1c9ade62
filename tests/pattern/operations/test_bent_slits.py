"""Slits and channels that bend, and what is said when a strap's tab moves over a channel. Figures by hand."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from paper import edge, oblong, one

from diagnose.errors import FitError
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.operations.openings.tabs import Tabs
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.outline import Channel, Piece, Point, Slit

BENT = Slit("s1", (Point(20.0, 0.0), Point(20.0, 30.0), Point(38.0, 54.0)))
"""30 mm straight up, then 30 mm to the right, 3 over and 4 up in 5."""


@pytest.mark.parametrize(("by", "tip"), [(5.0, (41.0, 58.0)), (-20.0, (26.0, 38.0))])
def test_a_bent_slit_is_deepened_along_its_last_leg(by: float, tip: tuple[float, float]) -> None:
    piece = replace(oblong(), slits=(BENT,), channels=())
    (slit,) = Tabs("side", deepen=by).done(one(piece)).pattern.pieces[0].slits
    assert slit.line == (*BENT.line[:-1], pytest.approx(Point(*tip)))


def test_a_bent_slit_is_not_shortened_beyond_its_last_leg() -> None:
    piece = replace(oblong(), slits=(BENT,), channels=())
    with pytest.raises(FitError, match="deepen: Slit 1 is only"):
        Tabs("side", deepen=-29.0).done(one(piece))


def with_tab(*xs: float) -> Piece:
    """A front with a tab from x = 60 to x = 40, 30 mm over its top edge at 200 mm; a channel up to it at each place."""
    piece = oblong("front")
    edges = (
        edge("armhole", "top", (100.0, 200.0), (60.0, 200.0), (60.0, 230.0)),
        edge("strap-end", "top", (60.0, 230.0), (40.0, 230.0)),
        edge("neck", "top", (40.0, 230.0), (40.0, 200.0), (0.0, 200.0)),
    )
    bones = tuple(Channel(f"c{n}", (Point(x, 6.0), Point(x, 223.0)), 6.0) for n, x in enumerate(xs))
    marks = {"strap-front": Point(50.0, 230.0)}
    return replace(piece, edges=(*piece.edges[:2], *edges, piece.edges[3]), landmarks=marks, channels=bones)


def test_a_channel_from_over_which_the_tab_has_moved_is_cut_back_and_that_is_said() -> None:
    done = Strap("front", move=10.0).done(one(with_tab(42.0, 55.0)))
    cut, kept = done.pattern.pieces[0].channels
    assert cut.line[-1].y < 200.0
    assert kept.line[-1] == Point(55.0, 223.0)
    assert "Channel c0 of the front carried to the new edge; cut the bones to the new lengths." in notes_said(
        done.notes, {}
    )
