"""No step of a plan undoes another: by drawing every alteration, trying all pairs, and reading whole plans.

What an alteration does is measured on paper: the girth at each station, and the heights above and below the waist at
centre front, side and back. Two that move one of these in opposite ways must never stand in one plan together.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from itertools import combinations
from pathlib import Path
from random import Random
from typing import Any

import pytest
from drawing_bench import USUAL
from test_drawing_one_side import wanted

from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.measure import edge_length, garment_girth
from diagnose.pattern.outline import Edge, Pattern, Piece
from diagnose.places import bundled_cases
from diagnose.plan.drawing import draw
from diagnose.plan.drawing.half import back_edges, front_edges, halves_of
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.plan.rounds import arrange
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

TESTS = Path(__file__).resolve().parents[1]
sys.path += [str(TESTS / "cases"), str(TESTS / "loop")]
SEEN_MM = 1.6
MOST_MM = 1.5
Effects = Mapping[str, float]


def measures(pattern: Pattern) -> dict[str, float]:
    found = {
        f"girth {s}": g for s in ("top", "underbust", "waist", "hip", "bottom") if (g := garment_girth(pattern, s))
    }
    half = halves_of(pattern, "both", USUAL)[0]
    found |= _heights(half.pieces[0], front_edges(half.pieces[0]), "front")
    found |= _heights(half.pieces[-1], back_edges(half.pieces[-1]), "back")
    if half.seams:
        side = min(range(len(half.seams)), key=lambda n: abs(half.shares()[n] - 0.5))
        found |= _heights(half.pieces[side], back_edges(half.pieces[side]), "side")
    return found


def _heights(piece: Piece, edges: list[Edge], name: str) -> dict[str, float]:
    waist = piece.levels.get("waist")
    if not edges or waist is None:
        return {}
    line = max(edges, key=edge_length)
    at = waist[0].y if name == "front" else waist[-1].y
    ys = line.start.y, line.end.y
    return {f"{name} above": max(ys) - at, f"{name} below": at - min(ys)}


def effects(base: RuleBase, pattern: Pattern) -> dict[str, Effects]:
    """By alteration that can be drawn on the pattern, what half an inch of it moves, and which way."""
    before = measures(pattern)
    found = {}
    for alteration in base.entries.alterations.values():
        drawn = draw(wanted(base, alteration, pattern, "both"), pattern, base.settings) if alteration.does else None
        if drawn is not None and drawn.operations and drawn.pattern is not None:
            after = measures(drawn.pattern)
            found[alteration.id] = {k: after[k] - before[k] for k in before if abs(after[k] - before[k]) > SEEN_MM}
    return found


@pytest.fixture(scope="module")
def moved(base: RuleBase) -> dict[str, Effects]:
    return effects(base, load_pattern(Path(bundled_cases()) / "patterns" / "six-panel-corset.json"))


def opposed(one: Effects, other: Effects) -> list[str]:
    return [name for name in one if one[name] * other.get(name, 0.0) < 0.0]


def test_no_two_alterations_that_undo_each_other_come_into_one_plan(
    base: RuleBase, matcher: Matcher, corset: Pattern, moved: dict[str, Effects]
) -> None:
    items = {name: wanted(base, base.entries.alterations[name], corset, "both") for name in moved}
    tried = 0
    for one, other in combinations(moved, 2):
        undone = opposed(moved[one], moved[other])
        if undone:
            tried += 1
            pair = sorted((items[one], items[other]), key=lambda item: base.step_rank[item.alteration.step])
            rounds, held = arrange(pair, [], base, matcher)
            assert sum(map(len, rounds)) == 1, (one, other, undone)
            assert len(held) == 1
            assert held[0].because
    assert tried > 60


def argues(found: Diagnosis, moved: Mapping[str, Effects]) -> Iterator[tuple[str, str, list[str]]]:
    """The pairs of steps of a plan that move one thing in opposite ways on sides that meet."""
    steps = [step for round_ in found.rounds for step in round_.steps if step.drawn]
    for one, other in combinations(steps, 2):
        if one.side != other.side and "both" not in (one.side, other.side):
            continue
        undone = [f"girth {s}" for s, mm in _girth(one).items() if mm * _girth(other).get(s, 0.0) < -(MOST_MM**2)]
        if one.amount.whole_mm is None or other.amount.whole_mm is None:
            undone += opposed(moved.get(one.alteration, {}), moved.get(other.alteration, {}))
        if undone:
            yield one.alteration, other.alteration, undone


def _girth(step: StepPlan) -> Mapping[str, float]:
    return {} if step.parts else dict(step.amount.by_station_mm)


def test_no_plan_of_a_vignette_argues_with_itself(base: RuleBase, matcher: Matcher, moved: dict[str, Effects]) -> None:
    from scoring import read_vignettes  # here, for its folder is put on the path above

    for vignette in read_vignettes():
        found = diagnose(read_tryon(vignette.line, base.vocabulary), base, matcher)
        assert not list(argues(found, moved)), vignette.name


def test_no_plan_of_a_simulated_wearer_argues_with_itself(
    base: RuleBase, matcher: Matcher, moved: dict[str, Effects]
) -> None:
    from loop_tryon import answers
    from loop_wearers import wearer

    for seed in range(900, 920):
        who = wearer(seed)
        told = read_tryon({"id": str(seed), **answers(who, who.pattern, Random(seed))}, base.vocabulary)
        found = diagnose(told, base, matcher, read_pattern(who.pattern))
        assert not list(argues(found, moved)), seed


GARMENT = {
    "style": "corset", "closure": "back", "boning": "full", "straps": "fixed", "tabs": "boned", "busk": "split",
    "gussets": "both", "suspenders": True, "waist_stay": True, "seams_per_half": 5, "meant_to_meet": False,
}  # fmt: skip
GAPS = {
    "on its target": ("2 in", "2 in", "2 in", "2 in", "2 in"),
    "wide above, narrow below": ("3 in", "2 1/2 in", "2 in", "1 1/2 in", "1 in"),
    "narrow above, wide below": ("1 in", "1 1/2 in", "2 in", "2 1/2 in", "3 in"),
    "narrow at the waist": ("2 1/2 in", "1 3/4 in", "3/4 in", "1 3/4 in", "2 1/2 in"),
    "wide at the waist": ("1 1/2 in", "2 1/4 in", "3 1/4 in", "2 1/4 in", "1 1/2 in"),
}


def signs_of(base: RuleBase, cause: str) -> dict[str, Any]:
    """The signs that show a cause most surely, each with the number that is recorded of it."""
    found = [
        (base.entries.words.shows[link.shows], sign)
        for sign in base.entries.symptoms.values()
        for link in sign.causes
        if link.cause == cause and not link.only_if and sign.id not in base.derived | base.stop_flags
        and base.parts.get(sign.id, {}).keys() <= {"straps", "tabs", "busk", "gussets", "suspenders", "waist-stay"}
    ]  # fmt: skip
    best = [sign for _, sign in sorted(found, key=lambda one: -one[0])[:2]]
    return {sign.id: {"amount": "1/2 in"} if sign.record.amount == "length" else True for sign in best}


def test_no_plan_for_any_two_causes_argues_with_itself(
    base: RuleBase, matcher: Matcher, moved: dict[str, Effects]
) -> None:
    shown = {cause: signs_of(base, cause) for cause in base.entries.causes}
    told, planned = 0, 0
    gaps = list(GAPS.values())
    for one, other in combinations([cause for cause, signs in shown.items() if signs], 2):
        gap = dict(zip(("top", "underbust", "waist", "hip", "bottom"), gaps[told % len(gaps)], strict=True))
        told += 1
        raw = {"id": "two", "garment": GARMENT, "target": "2 in", "gap": gap, "tension": "working",
               "seen": {**shown[one], **shown[other]}, "known": {"flat-bust-intended": False}}  # fmt: skip
        try:
            tryon = read_tryon(raw, base.vocabulary)
        except Exception as error:
            pytest.fail(f"{one}, {other}: {error}")
        found = diagnose(tryon, base, matcher)
        planned += sum(len(round_.steps) > 1 or len(found.rounds) > 1 for round_ in found.rounds[:1])
        assert not list(argues(found, moved)), (one, other, gap)
    assert told > 1000
    assert planned > 300
