"""What is asked of the garment when a case is begun."""

from typing import Any

from diagnose.interview import AboutGarment, Known, garment_questions
from diagnose.model.tryon import GARMENT_FACTS
from diagnose.model.tryon_reading import read_tryon
from diagnose.rulebase.base import RuleBase

BODICE: dict[str, Any] = {
    "style": "bodice", "closure": "front", "fastening": "hooks", "boning": "part", "busk": "none", "gussets": "none",
    "stomacher": False, "straps": "none", "tabs": "none", "sleeves": True, "waist_stay": True,
}  # fmt: skip


def talk(base: RuleBase, garment: dict[str, Any] | None = None) -> AboutGarment:
    return AboutGarment(base, Known(garment=garment or {}), lambda _: ())


def replies(of: dict[str, Any]) -> dict[str, Any]:
    return {f"garment.{fact}": value for fact, value in of.items()}


def test_every_fact_of_the_garment_can_be_asked_for() -> None:
    asked = {question.about for closure in ("back", "both") for style in ("corset", "bodice")
             for question in garment_questions({}, replies({"closure": closure, "style": style}))}  # fmt: skip
    assert asked == set(GARMENT_FACTS)


def test_every_option_is_a_word_that_the_garment_takes(base: RuleBase) -> None:
    for question in garment_questions({}, {}):
        for option in question.options:
            read_tryon({"id": "g", "garment": {question.about: option.id}}, base.vocabulary)


def test_what_is_answered_becomes_the_garment(base: RuleBase) -> None:
    walk = talk(base).walk(replies(BODICE))
    assert walk.next is None
    assert walk.answers["garment"] == BODICE
    read_tryon({"id": "g", **walk.answers}, base.vocabulary)


def test_one_answer_opens_and_closes_the_next(base: RuleBase) -> None:
    corset = replies({**BODICE, "style": "corset", "closure": "back"})
    asked = [question.about for question, _ in talk(base).walk(corset).answered]
    assert not {"stomacher", "sleeves"} & set(asked)
    walk = talk(base).walk(corset)
    assert walk.next is not None
    assert walk.next.about == "suspenders"


def test_what_is_known_is_not_asked_and_what_she_cannot_tell_is_left_out(base: RuleBase) -> None:
    walk = talk(base, {"style": "stays"}).walk({"garment.closure": None})
    assert [question.about for question, _ in walk.answered] == ["closure"]
    assert "garment" not in walk.answers
