"""Other patterns as strangers save them: none silently wrong, none stuck, four of five right at once."""

from __future__ import annotations

import pytest
from more_strangers import Saved, _line, _path, _svg, pattern_of, saved_files
from strangers import mirrored

from diagnose.pattern.brought import Terms, Understood, bring
from diagnose.pattern.brought.believing import Believable
from diagnose.pattern.brought.understood.labels import Labels, read_labels
from diagnose.pattern.brought.understood.proposal import is_made_apart
from diagnose.pattern.measure import bounds, garment_girth, piece_area
from diagnose.pattern.outline import Pattern, Point

IN_MM = 25.4
BELIEVABLE = Believable(waist=(16 * IN_MM, 50 * IN_MM), height=(6 * IN_MM, 36 * IN_MM), is_whole=True)
WAIST_TOL_MM = IN_MM / 8
ALL = saved_files()
BARE = ("closed paths in a row", "every piece twice over", "DXF in inches", "DXF without a unit, told")
NAMED: dict[str, dict[str, object]] = {
    "front-laced-stays": {
        "order": [1, 2, 3], "pieces": {1: {"name": "front"}, 2: {"name": "back"}, 3: {"name": "stomacher"}}},
    "sleeved-bodice": {"pieces": {3: {"name": "sleeve"}}},
    "one-panel-stays": {"order": [1, 2], "pieces": {1: {"name": "front"}, 2: {"name": "back"}}},
}  # fmt: skip
"""What settles the bare ones, in which nothing says what the pieces are."""


def settling(one: Saved) -> dict[str, object]:
    """The one remedy told for a file that is asked about: a unit, labels or a word."""
    if one.way == "a page without a size":
        return {"unit": "mm"}
    if one.way == "a table in cm without its unit":
        return {"unit": "cm"}
    if one.way == "its slits forgotten":
        return {"sure": ("seams",)} if one.pattern == "gored-corset" else {"labels": {"levels": {"waist": "6 in"}}}
    if one.name == "one-panel-stays, every piece twice over":
        return {}  # front and back, each twice: there can be no halves
    return {"labels": NAMED[one.pattern]} if one.way in BARE and one.pattern in NAMED else {}


def understood(
    one: Saved, *, unit: str = "", labels: dict[str, object] | None = None, sure: tuple[str, ...] = ()
) -> Understood:
    told = one.unit or unit
    terms = Terms(told or "in", bool(told), BELIEVABLE, sure, one.closure)  # type: ignore[arg-type]
    return bring(one.data, one.file, terms, Labels() if labels is None else read_labels(labels, "labels", "in"))


def sewn(pattern: Pattern) -> set[frozenset[int]]:
    """Which pieces are sewn to which, by their numbers, but for what is made apart."""
    names = [piece.name for piece in pattern.pieces]
    pairs = {frozenset((names.index(seam.a.piece), names.index(seam.b.piece))) for seam in pattern.seams}
    apart = {n for n, name in enumerate(names) if is_made_apart(name)}
    return {pair for pair in pairs if len(pair) > 1 and not pair & apart}


def laced(pattern: Pattern) -> set[int]:
    return {n for n, piece in enumerate(pattern.pieces) for edge in piece.edges if edge.role == "lacing"}


def wrong_with(made: Understood, one: Saved) -> list[str]:
    """How what is understood differs from what is known."""
    pattern, known = made.pattern, pattern_of(one.pattern)
    if made.asks or pattern is None:
        return [f"asks {[ask.code for ask in made.asks]}"]
    if len(pattern.pieces) != len(known.pieces):
        return [f"{len(pattern.pieces)} pieces"]
    found = []
    areas = [piece_area(a) / piece_area(b) for a, b in zip(pattern.pieces, known.pieces, strict=True)]
    if max(abs(ratio - 1.0) for ratio in areas) > 0.02:
        found.append(f"areas {[round(ratio, 2) for ratio in areas]}")
    if sewn(pattern) != sewn(known) and one.way != "its slits forgotten":
        found.append(f"seams {sewn(pattern)}")
    if not laced(known) <= laced(pattern):
        found.append(f"laced {laced(pattern)}")
    waist = garment_girth(pattern, "waist") or 0.0
    if abs(waist - one.waist_mm) > WAIST_TOL_MM and (one.pattern, one.way) != ("boned-bodies", "its slits forgotten"):
        found.append(f"waist {waist:.1f} for {one.waist_mm:.1f}")
    return found


@pytest.mark.parametrize("one", ALL, ids=[one.name for one in ALL])
def test_a_stranger_s_file_is_right_at_once_or_asked_about_and_then_right(one: Saved) -> None:
    made, remedy = understood(one), settling(one)
    if not remedy:
        assert wrong_with(made, one) == []
        return
    assert made.asks, "it is not taken silently"
    assert all(ask.remedy for ask in made.asks)
    assert wrong_with(understood(one, **remedy), one) == []  # type: ignore[arg-type]


def test_four_of_five_of_the_others_are_right_at_once() -> None:
    assert len(ALL) >= 100
    assert sum(not settling(one) for one in ALL) >= 0.8 * len(ALL)


def test_gores_and_gussets_are_sewn_into_slits_as_long_as_their_legs() -> None:
    known = pattern_of("gored-corset")
    front = known.piece("front")
    hip = front.levels["hip"][0].y - min(bounds(piece).bottom for piece in known.pieces)
    one = next(one for one in ALL if one.name == "gored-corset, closed paths in a row")
    pattern = understood(one, labels={"levels": {"hip": f"{hip:.1f} mm"}}).pattern
    assert pattern is not None
    assert sum(ref.edge.startswith("slit:") for seam in pattern.seams for ref in (seam.a, seam.b)) == 6
    assert garment_girth(pattern, "hip") == pytest.approx(garment_girth(known, "hip"), abs=2.0)


def test_a_left_half_drawn_alone_is_asked_about_and_turned_over_when_she_says_so() -> None:
    run = [segment for edge in pattern_of("boned-bodies").pieces[0].edges for segment in edge.segments]
    slits = [_line([Point(-p.x, p.y) for p in slit.line]) for slit in pattern_of("boned-bodies").pieces[0].slits]
    drawn = Saved("boned-bodies", "left half", "a.svg", _svg(_path(mirrored(run, 0.0)), *slits), "back")
    assert [ask.code for ask in understood(drawn).asks] == ["sure-front"]
    pattern = understood(drawn, labels={"centre-front": "right"}).pattern
    assert pattern is not None
    assert garment_girth(pattern, "waist") == pytest.approx(24.0 * IN_MM, abs=WAIST_TOL_MM)


def test_the_centre_that_is_laced_in_front_is_called_the_front() -> None:
    pattern = understood(next(one for one in ALL if one.name == "one-panel-stays, layers with its names")).pattern
    assert pattern is not None
    roles = {(edge.name, edge.role) for piece in pattern.pieces for edge in piece.edges}
    assert {("centre-front", "lacing"), ("centre-back", "fold")} <= roles
