"""Match marks after an alteration: which are set again, to which height, and which are left. Figures by hand."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from paper import edge, oblong, pair_of

from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.finished import Cuts, finished
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.outline import Notch, Pattern, Piece, Point
from diagnose.units import INCH_MM

OUT = 4.0
BOWED_MM = (100.0**2 + OUT**2) ** 0.5  # one leg of a side edge bowed out by 4 mm at its middle: 100.08
PAIR, OFF = INCH_MM / 16, INCH_MM / 32


def marked(piece: Piece, side: str, *heights: float) -> Piece:
    """The oblong (200 mm high) with marks on one side edge, so far above its waist."""
    at = [100.0 + height if side == "back" else 100.0 - height for height in heights]
    return replace(piece, notches=tuple(Notch(side, mm) for mm in at), channels=())


def bowed(piece: Piece, side: str, *heights: float) -> Piece:
    """The same with that edge bowed out in two legs, and its marks so far above the waist along it."""
    left = piece.levels["waist"][0].x
    x, out = (left + 100.0, OUT) if side == "back" else (left, -OUT)
    places = (x, 0.0), (x + out, 100.0), (x, 200.0)
    made = piece.with_edge(edge(side, "seam", *(places if side == "back" else places[::-1])))
    ends = (
        (Point(left, 100.0), Point(x + out, 100.0))
        if side == "back"
        else (Point(x + out, 100.0), Point(left + 100.0, 100.0))
    )
    at = [BOWED_MM + height if side == "back" else BOWED_MM - height for height in heights]
    return replace(
        made, levels={**made.levels, "waist": ends}, notches=tuple(Notch(side, mm) for mm in at), channels=()
    )


def heights(pattern: Pattern, piece: str, side: str) -> list[float]:
    waist = BOWED_MM if len(pattern.piece(piece).edge(side).segments) == 2 else 100.0
    return [(notch.at - waist) * (1.0 if side == "back" else -1.0) for notch in pattern.piece(piece).notches]


FRONT, BACK = oblong("a"), oblong("b", x=300.0)
SET_AGAIN = "Match marks of seam “s” are set again on the {piece} piece, to meet their partners."


def finish(before: tuple[Piece, Piece], after: tuple[Piece, Piece]) -> tuple[Pattern, bool, bool]:
    """The finished pair, and whether it is said of the first and of the second piece that marks were set again."""
    made = finished(pair_of(*before), Altered(pair_of(*after)), Cuts())
    return made.pattern, *(SET_AGAIN.format(piece=name) in notes_said(made.notes, {}) for name in ("a", "b"))


@pytest.mark.parametrize(
    ("met", "partner", "now", "then"),
    [
        (50.0, 50.0, 47.0, 50.0),  # drifted down by 3 mm
        (50.0, 50.0, 53.0, 50.0),
        (-50.0, -50.0, -46.0, -50.0),
        (50.0, 50.0, 50.0 - OFF + 0.02, 50.0 - OFF + 0.02),  # within 1/32 in it meets still
        (50.0, 50.0, 50.0 - OFF - 0.02, 50.0),
        (50.0, 50.0 + PAIR - 0.02, 47.0, 50.0 + PAIR - 0.02),  # within 1/16 in they were a pair
        (50.0, 50.0 + PAIR + 0.02, 47.0, 47.0),
        (50.0, 50.0 - PAIR - 0.02, 47.0, 47.0),
    ],
)
@pytest.mark.parametrize("changed", ["a", "b"])
def test_a_mark_of_the_altered_side_is_set_to_the_height_of_the_one_it_met_on_the_side_that_was_left(
    changed: str, met: float, partner: float, now: float, then: float
) -> None:
    if changed == "a":
        kept, side = marked(BACK, "front", partner), "back"
        before, after = (marked(FRONT, "back", met), kept), (bowed(FRONT, "back", now), kept)
    else:
        kept, side = marked(FRONT, "back", partner), "front"
        before, after = (kept, marked(BACK, "front", met)), (kept, bowed(BACK, "front", now))
    pattern, *said = finish(before, after)
    assert heights(pattern, changed, side) == pytest.approx([then], abs=0.005)
    other, other_side = ("b", "front") if changed == "a" else ("a", "back")
    assert heights(pattern, other, other_side) == pytest.approx([partner])
    moved = then != now
    assert said == [moved and changed == "a", moved and changed == "b"]


def test_each_mark_is_set_by_its_own_partner_and_one_without_any_stays() -> None:
    kept = marked(BACK, "front", 60.0, -40.0)
    before, after = (marked(FRONT, "back", -40.0, 10.0, 60.0), kept), (bowed(FRONT, "back", -37.0, 13.0, 63.0), kept)
    pattern, *_ = finish(before, after)
    assert heights(pattern, "a", "back") == pytest.approx([-40.0, 13.0, 60.0], abs=0.005)


def test_where_both_sides_were_altered_the_second_is_set_by_the_first() -> None:
    before = marked(FRONT, "back", 50.0), marked(BACK, "front", 50.0)
    pattern, *said = finish(before, (bowed(FRONT, "back", 46.0), bowed(BACK, "front", 53.0)))
    assert heights(pattern, "a", "back") == pytest.approx([46.0], abs=0.005)
    assert heights(pattern, "b", "front") == pytest.approx([46.0], abs=0.005)
    assert said == [False, True]


def test_marks_moved_on_purpose_on_edges_that_stay_are_left() -> None:
    before = marked(FRONT, "back", 50.0), marked(BACK, "front", 50.0)
    pattern, *said = finish(before, (marked(FRONT, "back", 44.0), before[1]))
    assert heights(pattern, "a", "back") == pytest.approx([44.0])
    assert said == [False, False]


@pytest.mark.parametrize(("height", "end"), [(100.0, 190.0), (-100.0, 0.0)])
def test_a_mark_whose_partner_lies_beyond_its_own_edge_is_set_at_the_edges_end(height: float, end: float) -> None:
    """The altered panel is 10 mm shorter: 95 mm over its waist and 95 mm under it."""
    kept, short = marked(BACK, "front", height), oblong("a", height=190.0)
    short = replace(short, notches=(Notch("back", 95.0 + 0.9 * height),), channels=())
    pattern, said, _ = finish((marked(FRONT, "back", height), kept), (short, kept))
    assert pattern.piece("a").notches[0].at == pytest.approx(end)
    assert said
