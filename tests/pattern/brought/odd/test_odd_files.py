"""None silently wrong, none stuck, four of five right at once: three halves of our own in some fifty odd ways each."""

from __future__ import annotations

import pytest
from as_dxf import cad
from as_svg import drawings
from as_tables import tables
from halves import HALVES, IN_MM, OddFile

from diagnose.pattern.brought import Terms, Understood, bring
from diagnose.pattern.brought.believing import Believable
from diagnose.pattern.brought.understood.labels import NO_LABELS, read_labels
from diagnose.pattern.measure import garment_girth

BELIEVABLE = Believable(waist=(16 * IN_MM, 50 * IN_MM), height=(6 * IN_MM, 36 * IN_MM), is_whole=True)
WAIST_TOL_MM = IN_MM / 16
ALL = [one for name in HALVES for make in (drawings, cad, tables) for one in make(name)]


def understood(
    one: OddFile, *, unit: str = "", labels: dict[str, object] | None = None, sure: tuple[str, ...] = ()
) -> Understood:
    """What is made of it, with the remedy."""
    told = unit or one.told
    terms = Terms(told or "in", bool(told), BELIEVABLE, sure)  # type: ignore[arg-type]
    return bring(one.data, one.file, terms, read_labels(labels, "labels", "in") if labels else NO_LABELS)


def wrong_with(made: Understood, one: OddFile) -> list[str]:
    """How what is understood differs from what is known."""
    pattern, half = made.pattern, HALVES[one.half]
    if made.asks or pattern is None:
        return [f"asks {[ask.code for ask in made.asks]}"]
    names = [piece.name for piece in pattern.pieces]
    if len(names) != len(half.names):
        return [f"pieces {names}"]
    found = []
    pairs = {(names.index(seam.a.piece), names.index(seam.b.piece)) for seam in pattern.seams}
    if {frozenset(pair) for pair in pairs} != {frozenset((n, n + 1)) for n in range(len(names) - 1)}:
        found.append(f"seams {sorted(pairs)}")
    if {n for n, p in enumerate(pattern.pieces) for e in p.edges if e.role == "lacing"} != {len(names) - 1}:
        found.append("laced elsewhere")
    waist = garment_girth(pattern, "waist") or 0.0
    if abs(waist - half.waist_mm) > WAIST_TOL_MM:
        found.append(f"waist {waist:.1f} for {half.waist_mm:.1f}")
    return found


@pytest.mark.parametrize("one", ALL, ids=[one.name for one in ALL])
def test_an_odd_file_is_right_at_once_or_asked_about_and_then_right(one: OddFile) -> None:
    made = understood(one)
    if not one.remedy:
        assert wrong_with(made, one) == []
        return
    assert made.asks, "it is not taken silently"
    assert any(word in ask.remedy for ask in made.asks for word in ("--unit", "labels file", "--sure")), (
        "a remedy is told"
    )
    assert wrong_with(understood(one, **one.remedy), one) == []  # type: ignore[arg-type]


def test_four_of_five_of_the_ways_are_right_at_once() -> None:
    ways = {one.way: bool(one.remedy) for one in ALL}
    assert len(ways) >= 25
    assert sum(not asks for asks in ways.values()) >= 0.8 * len(ways)
