"""None silently wrong, none stuck, four of five right at once: some fifty files as strangers save them."""

from __future__ import annotations

import pytest
from strangers import WAIST_MM, Stranger, corset, strangers

from diagnose.pattern.brought import Terms, Understood, bring
from diagnose.pattern.brought.believing import Believable
from diagnose.pattern.brought.understood.labels import Labels
from diagnose.pattern.measure import piece_area

BELIEVABLE = Believable(waist=(16 * 25.4, 50 * 25.4), height=(6 * 25.4, 36 * 25.4), is_whole=True)
ALL = strangers()


def understood(one: Stranger, *, with_remedy: bool = False) -> Understood:
    unit = one.remedy_unit if with_remedy and one.remedy_unit else one.unit
    data = one.remedy if with_remedy and one.remedy else one.data
    sure = one.sure if with_remedy else ()
    told = Labels(scale_mm=one.scale_mm, size=one.size) if with_remedy else Labels()
    return bring(data, one.file, Terms(unit or "in", bool(unit), BELIEVABLE, sure), told)


def wrong_with(made: Understood, one: Stranger) -> list[str]:
    """How what is understood differs from what is known."""
    if made.asks or made.pattern is None:
        return [f"asks {[ask.code for ask in made.asks]}"]
    pattern, known = made.pattern, corset()
    found = []
    if len(pattern.pieces) != one.pieces:
        return [f"{len(pattern.pieces)} pieces"]
    areas = [piece_area(a) / piece_area(b) for a, b in zip(pattern.pieces, known.pieces, strict=True)]
    if max(abs(ratio - 1.0) for ratio in areas) > 0.02:
        found.append(f"areas {[round(ratio, 2) for ratio in areas]}")
    if abs(made.girths_mm.get("waist", 0.0) - WAIST_MM) > one.tol_mm:
        found.append(f"waist {made.girths_mm.get('waist', 0.0):.1f} for {WAIST_MM:.1f}")
    names = [piece.name for piece in pattern.pieces]
    pairs = sorted((names.index(seam.a.piece), names.index(seam.b.piece)) for seam in pattern.seams)
    if pairs != [(n, n + 1) for n in range(5)]:
        found.append(f"seams {pairs}")
    laced = [piece.name for piece in pattern.pieces for edge in piece.edges if edge.role == "lacing"]
    if laced != names[-1:]:
        found.append(f"laced {laced}")
    return found


@pytest.mark.parametrize("one", ALL, ids=[one.name for one in ALL])
def test_a_stranger_s_file_is_understood_or_asked_about(one: Stranger) -> None:
    made = understood(one)
    if not one.asks:
        assert wrong_with(made, one) == []
        return
    assert made.asks, "it is not taken silently"
    assert all(ask.remedy for ask in made.asks)
    word = (
        f"--unit {one.remedy_unit}" if one.remedy_unit
        else f"--sure {one.sure[0]}" if one.sure
        else f"scale: {one.scale_mm:.6f} mm" if one.scale_mm
        else "size: 2" if one.size
        else "p3,back-seam,seam,,OUT,0,curve" if one.remedy
        else ""
    )  # fmt: skip
    if word:
        assert any(word in ask.remedy for ask in made.asks), "the remedy is told"
        assert wrong_with(understood(one, with_remedy=True), one) == []


def test_four_of_five_are_right_at_once() -> None:
    assert len(ALL) >= 40
    assert sum(not one.asks for one in ALL) >= 0.8 * len(ALL)


def test_of_several_sizes_the_one_told_is_taken_and_the_next_is_larger_all_round() -> None:
    one = next(one for one in ALL if one.size)
    areas = []
    for size in (1, 2, 3):
        made = bring(one.data, one.file, Terms("in", False, BELIEVABLE), Labels(size=size))
        assert made.pattern is not None
        areas.append(sum(map(piece_area, made.pattern.pieces)))
    assert areas == sorted(areas)
    assert areas[2] > 1.1 * areas[0]
    asked = bring(one.data, one.file, Terms("in", False, BELIEVABLE)).asks
    assert "3 outlines lie one in the other" in asked[0].what
