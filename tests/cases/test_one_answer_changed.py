"""One answer changed, the others as they were: the causes that it speaks for rise, and no others of its links fall.

Over every sign and every question of the base, on a garment that has every part and a gap that is on its target.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from diagnose.engine.findings import find_sides
from diagnose.gap.reading import read_gap
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

GARMENT = {
    "style": "corset", "closure": "back", "boning": "full", "straps": "fixed", "tabs": "boned", "busk": "split",
    "gussets": "both", "suspenders": True, "waist_stay": True, "seams_per_half": 5,
}  # fmt: skip
FRONT = {**GARMENT, "style": "stays", "closure": "front", "stomacher": True}
HOOKED = {**GARMENT, "style": "bodice", "fastening": "hooks", "sleeves": True}


def chances(base: RuleBase, matcher: Matcher, garment: Mapping[str, Any], **more: Any) -> Mapping[str, float]:
    gap = "0" if garment is HOOKED else "2 in"
    raw = {"id": "one", "garment": dict(garment), "gap": dict.fromkeys(("top", "waist", "bottom"), gap), **more}
    tryon = read_tryon(raw, base.vocabulary)
    return find_sides(tryon, read_gap(tryon, base.settings), base, matcher)["left"].chances.probability


def garment_for(base: RuleBase, sign: str) -> Mapping[str, Any]:
    if sign in ("stomacher-shifts", "stomacher-edge-shows"):
        return FRONT
    return HOOKED if sign in ("sleeve-drags", "closing-edge-gapes") else GARMENT


def test_a_sign_raises_each_cause_that_shows_it_and_its_absence_lowers_it(base: RuleBase, matcher: Matcher) -> None:
    without = {id(g): chances(base, matcher, g) for g in (GARMENT, FRONT, HOOKED)}
    for sign in base.entries.symptoms.values():
        if sign.id in base.derived | base.stop_flags:
            continue
        garment = garment_for(base, sign.id)
        before = without[id(garment)]
        there = chances(base, matcher, garment, seen={sign.id: True})
        gone = chances(base, matcher, garment, seen={sign.id: False})
        for link in sign.causes:
            if not link.only_if:
                assert there[link.cause] > before[link.cause], (sign.id, link.cause)
                assert gone[link.cause] < before[link.cause], (sign.id, link.cause)
        linked = {link.cause for link in sign.causes}
        moved = {cause for cause in before if abs(there[cause] - before[cause]) > 1e-6} - linked
        assert not {cause for cause in moved if there[cause] > before[cause] + 1e-6}, sign.id


def test_an_answer_raises_each_cause_that_it_points_to(base: RuleBase, matcher: Matcher) -> None:
    before = chances(base, matcher, GARMENT)
    for question in base.entries.questions.values():
        for answer in ("yes", "no"):
            after = chances(base, matcher, GARMENT, known={question.id: answer == "yes"})
            for link in question.points_to:
                if link.answer == answer and not any(
                    other.cause == link.cause and other.answer != answer for other in question.points_to
                ):
                    assert after[link.cause] > before[link.cause], (question.id, answer, link.cause)


@pytest.mark.parametrize(
    ("garment", "seen", "question", "yes", "no"),
    [
        (GARMENT, "bone-end-pokes", "bone-fills-its-channel", "bones-too-long", "bones-wrong"),
        (GARMENT, "busk-top-pokes", "bone-fills-its-channel", "bones-too-long", "too-long-below-waist"),
        (GARMENT, "stomach-pressure", "eases-an-inch-looser", "reduction-too-great", "bones-wrong"),
        (GARMENT, "suspenders-drag-hem", "hem-true-without-suspenders", "suspenders-pull", "too-big-at-hip"),
        (GARMENT, "front-stands-off-below-bust", "straight-front-intended", "as-the-style-intends", "front-line-wrong"),
        (HOOKED, "sleeve-drags", "waist-stays-with-arms-up", "armhole-wrong-for-sleeve", "waist-stay-wrong"),
    ],
)
def test_one_answer_parts_two_rivals(
    garment: Mapping[str, Any], seen: str, question: str, yes: str, no: str, base: RuleBase, matcher: Matcher
) -> None:
    is_so = chances(base, matcher, garment, seen={seen: True}, known={question: True})
    is_not = chances(base, matcher, garment, seen={seen: True}, known={question: False})
    assert is_so[yes] > is_so[no]
    assert is_not[no] / is_not[yes] > is_so[no] / is_so[yes]
    assert is_not[yes] < is_so[yes]


@pytest.mark.parametrize(
    ("gap_bottom", "seen", "cause"),
    [
        ("2 in", {"gore-tip-strains": {"amount": "-3/4 in"}}, "gore-wrong"),
        ("4 in", {"gore-tip-strains": {"amount": "0 in"}, "pinches-hip-bone": True}, "too-small-at-hip"),
        ("2 in", {"seam-opens-under-load": {"amount": "1/16 in"}}, "cloth-too-weak"),
        ("2 in", {"gore-flutes": {"amount": "1/2 in"}, "hem-flares": False}, "gore-wrong"),
    ],
)
def test_the_gap_parts_a_gore_and_weak_cloth_from_want_of_girth(
    gap_bottom: str, seen: Mapping[str, Any], cause: str, base: RuleBase, matcher: Matcher
) -> None:
    gap = {"top": "2 in", "waist": "2 in", "bottom": gap_bottom}
    raw = {"id": "one", "garment": GARMENT, "target": "2 in", "tension": "working", "gap": gap, "seen": dict(seen)}
    assert diagnose(read_tryon(raw, base.vocabulary), base, matcher).causes[0].id == cause


def test_a_stop_sign_ends_it_whatever_new_sign_is_there(base: RuleBase, matcher: Matcher) -> None:
    raw = {"id": "one", "garment": HOOKED, "gap": {"waist": "0"}, "seen": {"sharp-pain": True, "sleeve-drags": True}}
    found = diagnose(read_tryon(raw, base.vocabulary), base, matcher)
    assert found.stop is not None
    assert not found.causes
