"""The two sides of the body: what both share is matched once, and comes to the same as matching each by itself."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.engine.findings import body_sides, find_sides, garment_facts
from diagnose.errors import FitError
from diagnose.gap.reading import read_gap
from diagnose.model.tryon import TryOn
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Facts, Firing, Matcher

MakeTryOn = Callable[..., TryOn]


class Counting:
    """A matcher that keeps how many facts it was given, by stage."""

    def __init__(self, matcher: Matcher) -> None:
        self._matcher = matcher
        self.given: list[tuple[str, int]] = []

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        self.given.append((stage, len(facts)))
        return self._matcher.match(stage, facts)


def drawn(random: Random, base: RuleBase) -> dict[str, Any]:
    """A try-on with signs on one side, on both or absent, with grades and amounts; no answer against the readings."""
    seen: dict[str, Any] = {}
    for name in random.sample(sorted(base.entries.symptoms.keys() - base.derived), random.randint(1, 14)):
        sign: dict[str, Any] = {"side": random.choice(["left", "right", "both"])}
        if random.random() < 0.5:
            sign["grade"] = random.randint(1, 3)
        if base.entries.symptoms[name].record.amount == "length" and random.random() < 0.7:
            sign["amount"] = random.choice(["1/4 in", "3/8 in", "1/2 in"])
        seen[name] = random.choice([sign, sign, True, False])
    known = {name: random.random() < 0.5 for name in random.sample(sorted(base.entries.questions), 5)}
    known.pop("meant-to-meet", None)
    gap = {station: random.choice(["0", "1 in", "2 in", "3 1/2 in"]) for station in ("top", "waist", "bottom")}
    garment = {"straps": random.choice(["loose", "fixed"]), "closure": random.choice(["back", "front"])}
    return {"seen": seen, "known": known, "gap": gap, "garment": garment}


def on_one(sign: Any, side: str) -> Any:
    """A sign as it would be told of a body that is on both sides as it is on this one."""
    if not isinstance(sign, dict):
        return sign
    return {**sign, "side": "both"} if sign["side"] in ("both", side) else False


def test_each_side_comes_to_the_same_as_when_it_is_matched_by_itself(
    base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn
) -> None:
    random, two_sided = Random(3), 0
    for _ in range(60):
        raw = drawn(random, base)
        tryon = make_tryon(**raw)
        reading = read_gap(tryon, base.settings)
        found = find_sides(tryon, reading, base, matcher, {"seams-per-half": 4.0})
        assert tuple(found) == body_sides(tryon)
        for side, findings in found.items():
            alone = make_tryon(**{**raw, "seen": {name: on_one(sign, side) for name, sign in raw["seen"].items()}})
            by_itself = find_sides(alone, reading, base, matcher, {"seams-per-half": 4.0})["left"]
            assert replace(findings, like=None) == by_itself
        two_sided += len(found) == 2
    assert two_sided > 30


def test_of_the_second_side_only_rules_that_test_what_differs_are_matched(
    base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn
) -> None:
    tryon = make_tryon(
        gap={"top": "1 in", "waist": "2 in", "bottom": "3 in"},
        seen={"digs-under-arm": {"side": "right"}, "rides-up": True},
    )
    counting = Counting(matcher)
    find_sides(tryon, read_gap(tryon, base.settings), base, counting)
    stages = [stage for stage, _ in counting.given]
    assert stages[:3] == ["signs", "stop", "links"]
    assert "signs" not in stages[3:]
    assert all(number < 8 for _, number in counting.given[3:])


def test_what_was_seen_on_one_side_is_absent_on_the_other(
    base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn
) -> None:
    tryon = make_tryon(seen={"digs-under-arm": {"side": "right", "amount": "1/2 in"}})
    found = find_sides(tryon, read_gap(tryon, base.settings), base, matcher)
    assert "digs-under-arm" in found["right"].present
    assert "digs-under-arm" in found["left"].absent
    assert found["right"].facts["digs-under-arm.amount"] == pytest.approx(12.7)
    assert "digs-under-arm.amount" not in found["left"].facts
    right, left = (found[side].chances.probability["underarm-edge-too-high"] for side in ("right", "left"))
    assert right > base.priors["underarm-edge-too-high"] > left


def test_the_links_of_a_side_are_those_of_its_findings(base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn) -> None:
    tryon = make_tryon(seen={"rides-up": True, "slides-down": False}, known={"test-square-true": False})
    (found,) = find_sides(tryon, read_gap(tryon, base.settings), base, matcher).values()
    assert {link.finding for link in found.links} == {*found.present, *found.absent}
    assert {"rides-up", "test-square-true=no"} <= set(found.present)
    assert "slides-down" in found.absent


def test_a_sign_answered_against_the_readings_is_refused(
    base: RuleBase, matcher: Matcher, make_tryon: MakeTryOn
) -> None:
    tryon = make_tryon(gap={"top": "0", "waist": "0", "bottom": "0"}, seen={"gap-closed": False})
    with pytest.raises(FitError, match=r"seen.gap-closed: The gap readings say it shows"):
        find_sides(tryon, read_gap(tryon, base.settings), base, matcher)


def test_what_the_garment_is_meant_for_is_an_answer_like_any_other(make_tryon: MakeTryOn) -> None:
    facts = garment_facts(
        make_tryon(garment={"meant_to_meet": True, "seams_per_half": 5}, known={"narrow-back": False})
    )
    words = {"meant-to-meet": "yes", "narrow-back": "no", "target-told": "no"}
    assert facts == {**words, "seams-per-half": 5.0, "panel-seam-edges": 20.0}
