"""The facts of a garment that say what parts it has, and the signs that are of a part."""

from typing import Any

import pytest

from diagnose.engine.findings import garment_facts
from diagnose.errors import FitError
from diagnose.gap.reading import read_gap
from diagnose.interview.body_places import places_for
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher


def line(garment: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"id": "p", "garment": garment, "gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"}, **more}


@pytest.mark.parametrize(
    ("garment", "sign", "fact", "said"),
    [
        ({"tabs": "none"}, "tabs-buckle", "garment.tabs", "none"),
        ({"straps": "none"}, "straps-slip", "garment.straps", "none"),
        ({"busk": "none"}, "busk-bows-out", "garment.busk", "none"),
        ({"boning": "none"}, "bone-end-pokes", "garment.boning", "none"),
        ({"fastening": "hooks"}, "lacing-edge-rolls", "garment.fastening", "hooks"),
    ],
)
def test_a_sign_of_a_part_that_is_not_there_is_refused_naming_both(
    base: RuleBase, garment: dict[str, Any], sign: str, fact: str, said: str
) -> None:
    with pytest.raises(FitError) as error:
        read_tryon(line(garment, seen={sign: True}), base.vocabulary)
    (mistake,) = error.value.mistakes
    assert mistake.where == f"seen.{sign}"
    assert fact in mistake.what
    assert mistake.what.endswith(f"{said}.")
    assert base.entries.symptoms[sign].title in mistake.what


def test_told_as_not_there_it_is_left_aside(base: RuleBase, matcher: Matcher) -> None:
    garment = {"style": "corset", "tabs": "none"}
    told = read_tryon(line(garment, seen={"tabs-buckle": False, "slides-down": True}), base.vocabulary)
    plain = read_tryon(line(garment, seen={"slides-down": True}), base.vocabulary)
    assert set(told.seen) == {"slides-down"}
    assert diagnose(told, base, matcher).causes == diagnose(plain, base, matcher).causes


def test_it_is_neither_asked_nor_looked_for(base: RuleBase, matcher: Matcher) -> None:
    garment = {"tabs": "none", "straps": "none", "busk": "none", "boning": "none", "fastening": "buttons"}
    looked_for = {sign for place in places_for(base, garment) for sign in place.signs}
    absent = {
        sign for sign, facts in base.parts.items() if any(garment.get(f) not in (None, *w) for f, w in facts.items())
    }
    assert len(absent) > 10
    assert not looked_for & absent
    asked = diagnose(read_tryon(line(garment, seen={"slides-down": True}), base.vocabulary), base, matcher).ask
    assert not {ask.id for ask in asked} & absent


def test_what_is_not_known_may_be_there(base: RuleBase) -> None:
    signs = set(base.parts) & set(base.entries.symptoms)
    assert signs <= {sign for place in places_for(base, {}) for sign in place.signs}


@pytest.mark.parametrize(
    ("garment", "known", "target_mm"),
    [
        ({"fastening": "hooks"}, {}, 0.0),
        ({"fastening": "buttons"}, {}, 0.0),
        ({"fastening": "laced"}, {}, 50.8),
        ({"fastening": "hooks"}, {"meant-to-meet": False}, 50.8),
        ({"fastening": "hooks", "meant_to_meet": False}, {}, 50.8),
    ],
)
def test_hooked_and_buttoned_edges_are_meant_to_meet(
    base: RuleBase, garment: dict[str, Any], known: dict[str, bool], target_mm: float
) -> None:
    tryon = read_tryon(line(garment, known=known), base.vocabulary)
    assert read_gap(tryon, base.settings).stations["waist"].target_mm == pytest.approx(target_mm)


def test_yes_and_no_are_facts_like_any_other(base: RuleBase) -> None:
    facts = garment_facts(read_tryon(line({"stomacher": True, "waist_stay": False}), base.vocabulary))
    assert (facts["stomacher"], facts["waist-stay"]) == ("yes", "no")
    assert "sleeves" not in facts
