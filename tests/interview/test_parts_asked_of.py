"""What each fact of the garment closes: named here by hand, over all signs and questions of the rule base."""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.errors import FitError
from diagnose.interview.body_places import may_have, places_for
from diagnose.interview.known import Known
from diagnose.interview.opening import preconditions
from diagnose.interview.signs import _ids
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

WITH_ALL: dict[str, dict[str, Any]] = {
    "corset": {
        "style": "corset", "closure": "both", "fastening": "laced", "boning": "full", "busk": "split",
        "gussets": "both", "stomacher": True, "straps": "fixed", "tabs": "boned", "waist_stay": True,
        "suspenders": True,
    },
    "bodice": {
        "style": "bodice", "closure": "front", "fastening": "laced", "boning": "part", "busk": "none",
        "gussets": "both", "stomacher": True, "straps": "none", "tabs": "none", "sleeves": True, "waist_stay": True,
    },
}  # fmt: skip
"""Garments that have all the parts that such garments can have."""

HOOKED = {
    "toile-boned-at-back", "relaced-from-waist", "gap-changed-on-relacing", "gap-recovers-overnight", "bones-stay-bent",
    "eases-an-inch-looser", "gap-off-spine", "gap-shrinks-in-wear", "ridge-in-gap", "lace-runs-short",
    "lacing-edge-leans", "lacing-edge-rolls", "waist-puckers-between-eyelets",
}  # fmt: skip
UNBONED = {
    "bone-fills-its-channel", "bones-stay-bent", "strip-across-cures-it", "bone-end-pokes", "bone-kinks-at-waist",
    "bone-turns-in-channel", "breast-bulges-between-front-bones",
}  # fmt: skip
BUSKLESS = {"belly-bulges-beside-busk", "busk-bends-in", "busk-bottom-digs", "busk-bows-out", "busk-top-pokes"}
GORELESS = {"gore-tip-strains", "gore-flutes", "gore-pulls-aside"}
STRAPLESS = {
    "goes-when-strap-released", "two-fingers-under-strap", "stays-when-drawn-to-neck", "strap-angle-wrong",
    "straps-dig", "straps-haul-edge", "straps-slip",
}  # fmt: skip
STOMACHERLESS = {"stomacher-shifts", "stomacher-edge-shows", "stomacher-laps-unevenly"}
CLOSES: list[tuple[str, str, Any, set[str]]] = [
    ("corset", "fastening", "hooks", HOOKED | {"closing-edge-gapes"}),
    ("corset", "fastening", "buttons", HOOKED | {"closing-edge-gapes"}),
    ("corset", "boning", "none", UNBONED),
    ("corset", "busk", "none", BUSKLESS | {"fronts-spring-apart"}),
    ("corset", "gussets", "none", GORELESS | {"gusset-point-puckers"}),
    ("corset", "gussets", "bust", GORELESS),
    ("corset", "gussets", "hip", {"gusset-point-puckers"}),
    ("corset", "stomacher", False, STOMACHERLESS),
    ("corset", "closure", "back", STOMACHERLESS),
    ("corset", "straps", "none", STRAPLESS),
    ("corset", "tabs", "none", {"tab-roots-cut-in", "tab-slits-gape", "tabs-buckle"}),
    ("corset", "suspenders", False, {"suspenders-drag-hem", "hem-true-without-suspenders"}),
    ("bodice", "sleeves", False, {"sleeve-drags", "waist-stays-with-arms-up"}),
    ("bodice", "waist_stay", False, {"waist-stay-bites-or-hangs"}),
    ("bodice", "style", "stays", {"sleeve-drags", "shoulder-folds"}),
]
"""A garment, a fact of it, another word for that fact, and all that is not asked any more."""
NAMES = [f"{garment}-{fact}-{word}" for garment, fact, word, _ in CLOSES]
OPENS = {"hooks": {"closing-edge-gapes"}, "buttons": {"closing-edge-gapes"}}
OF_A_STYLE = {"sleeve-drags", "shoulder-folds", "suspenders-drag-hem", "fronts-spring-apart", *STOMACHERLESS}
"""Not looked for at the mirror on another style, closure or busk, and yet taken where they are told."""

each_fact = pytest.mark.parametrize(("garment", "fact", "word", "closed"), CLOSES, ids=NAMES)


def asked_of(base: RuleBase, garment: dict[str, Any]) -> set[str]:
    known = Known(garment=garment)
    signs = {sign for place in places_for(base, garment) for sign in place.signs}
    return signs | set(_ids(base, known, {})) | {gate.id for gate in preconditions(base, garment)}


@each_fact
def test_a_fact_of_the_garment_closes_what_is_named_and_nothing_else(
    garment: str, fact: str, word: Any, closed: set[str], base: RuleBase
) -> None:
    whole = WITH_ALL[garment]
    before, after = asked_of(base, whole), asked_of(base, {**whole, fact: word})
    opens = OPENS.get(str(word), set())
    assert before - after == closed - opens
    assert after - before == opens


def test_every_part_of_a_sign_or_question_is_tried_here(base: RuleBase) -> None:
    tried = {name for _, _, _, closed in CLOSES for name in closed}
    assert set(base.parts) <= tried


@each_fact
def test_what_is_closed_is_refused_when_seen_left_aside_when_not_and_never_asked(
    garment: str, fact: str, word: Any, closed: set[str], base: RuleBase, matcher: Matcher
) -> None:
    told = {**WITH_ALL[garment], fact: word}
    line: dict[str, Any] = {"id": "g", "garment": told, "tension": "working"}
    of_part = {n for n in closed if n in base.parts and not may_have(told, base.parts[n])}
    assert closed - of_part <= OF_A_STYLE | {"closing-edge-gapes"}
    for name in sorted(of_part & set(base.entries.symptoms)):
        with pytest.raises(FitError, match=f"garment.{fact} is"):
            read_tryon({**line, "seen": {name: True}}, base.vocabulary)
        assert read_tryon({**line, "seen": {name: False}}, base.vocabulary).seen == {}
    questions = sorted(of_part & set(base.entries.questions))
    answered = read_tryon({**line, "known": dict.fromkeys(questions, True)}, base.vocabulary)
    assert answered.known == {}
    about = {sign for name in questions for sign in base.entries.questions[name].about}
    seen = {sign for sign in about if may_have(told, base.parts.get(sign, {}))}
    out = diagnose(read_tryon({**line, "seen": dict.fromkeys(seen, True)}, base.vocabulary), base, matcher)
    assert not {ask.id for ask in out.ask} & of_part
    assert not [said for said in out.presumed for name in questions if base.entries.questions[name].ask in said]
