"""What she answered is argued as she answered it, wherever an argument is shown: no No as a Yes, no Yes as a No.

Every sign and every question of the base is told both ways, beside signs that bring up the causes it weighs on, so that
it comes into an argument; every place where that argument is shown is read.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from test_one_answer_changed import GARMENT, garment_for

from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.sentences import lower_first
from diagnose.sheets.json_out import diagnosis_to_json
from diagnose.sheets.view_model import Tried
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.text import plan_lines
from diagnose.sheets.words.view_words import view_in_words
from diagnose.sheets.words.why_text import why_lines
from diagnose.sheets.writers.html import write_html

SIDES = (None, "left", "right")


def beside(base: RuleBase, name: str, chance: Random) -> dict[str, Any]:
    """Signs that bring up the causes that a sign or question weighs on."""
    entry = base.entries.symptoms.get(name)
    causes = {link.cause for link in entry.causes} if entry else {
        link.cause for link in base.entries.questions[name].points_to
    }  # fmt: skip
    same = garment_for(base, name)
    others = [
        sign.id
        for sign in base.entries.symptoms.values()
        if sign.id not in base.derived | base.stop_flags | {name}
        and garment_for(base, sign.id) is same
        and any(link.cause in causes and not link.only_if for link in sign.causes)
    ]
    return dict.fromkeys(chance.sample(others, min(len(others), 4)), True)


def told(base: RuleBase, matcher: Matcher) -> Iterator[tuple[str, TryOn, Diagnosis]]:
    chance = Random(13)
    names = [name for name in base.entries.symptoms if name not in base.derived | base.stop_flags]
    for name in [*names, *base.entries.questions]:
        for answer in (True, False):
            raw = {
                "id": "one", "garment": {**garment_for(base, name), "meant_to_meet": None},
                "gap": {"top": "1 1/2 in", "waist": "2 1/2 in", "bottom": "3 in"},
                "seen": beside(base, name, chance), "known": {},
            }  # fmt: skip
            raw["garment"].pop("fastening", None)
            if name not in base.entries.symptoms:
                raw["known"][name] = answer
            else:
                side = chance.choice(SIDES)
                raw["seen"][name] = {"side": side} if answer and side else answer
                if raw["garment"].get("sleeves"):
                    raw["garment"]["fastening"] = "hooks"
                    raw["gap"] = {"waist": "0"}
            tryon = read_tryon(raw, base.vocabulary)
            yield name, tryon, diagnose(tryon, base, matcher)


@pytest.fixture(scope="module")
def cases(base: RuleBase, matcher: Matcher) -> list[tuple[str, TryOn, Diagnosis]]:
    return list(told(base, matcher))


def sentences(found: Diagnosis, tryon: TryOn, base: RuleBase) -> Iterator[str]:
    """Each place where an argument is shown, as one run of words."""
    view = view_in_words(Tried("one", tryon, found, base, "in", "2026-03-09", "version 1"))
    yield " ".join(" ".join(plain_lines(plan_lines(view))).split())
    yield " ".join(html.unescape(re.sub(r"<[^>]*>", " ", write_html(view))).split())
    for cause in found.causes:
        ends, argued = base.entries.causes[cause.id].because[:20], ""
        for line in plain_lines(why_lines(found, base, cause.id)):
            argued += f" {line}"
            if ends in argued:
                break
        yield " ".join(argued.split(ends)[0].split())


def shown_on(tryon: TryOn, name: str, side: str) -> set[bool]:
    """What may be argued of a sign: as she told it, on the side that the cause is of."""
    seen = tryon.seen[name]
    if not seen.shown:
        return {False}
    return {True} if seen.side in (None, "both", side) else {False} if side != "both" else {True, False}


def test_the_data_says_of_each_sign_and_question_what_was_answered(
    base: RuleBase, cases: list[tuple[str, TryOn, Diagnosis]]
) -> None:
    argued: set[tuple[str, bool]] = set()
    for name, tryon, found in cases:
        for cause in diagnosis_to_json(found)["causes"]:
            for item in (*cause["for"], *cause["against"]):
                if "question" in item:
                    assert item["answer"] == ("yes" if tryon.known[item["question"]] else "no"), (name, item)
                    argued.add((item["question"], item["answer"] == "yes"))
                elif item["symptom"] in tryon.seen:
                    assert item["seen"] in shown_on(tryon, item["symptom"], cause["side"]), (name, item)
                    argued.add((item["symptom"], item["seen"]))
                else:
                    assert item["symptom"] in base.derived
    wanted = {(name, answer) for name, tryon, _ in cases for answer in (True, False)}
    assert len(argued & wanted) > 0.85 * len(wanted), sorted(wanted - argued)


def test_the_words_say_it_too_on_every_sheet(base: RuleBase, cases: list[tuple[str, TryOn, Diagnosis]]) -> None:
    for name, tryon, found in cases[::3]:
        for text in sentences(found, tryon, base):
            for question, answer in tryon.known.items():
                asked = re.escape(base.entries.questions[question].ask)
                for said in re.findall(rf"{asked}”? (Yes|No|yes|no)\b", text):
                    assert said.lower() == ("yes" if answer else "no"), (name, question, text)
            for sign, seen in tryon.seen.items():
                title = base.entries.symptoms[sign].title
                if not seen.shown:
                    assert not re.search(rf"(for: |[+] ){re.escape(title)}[:,]", text), (name, sign, text)
                elif seen.side in (None, "both"):
                    assert f"Not there: {lower_first(title)}" not in text, (name, sign, text)


def test_a_question_answered_no_is_argued_as_no(base: RuleBase, matcher: Matcher) -> None:
    raw = {
        "id": "one", "garment": GARMENT, "gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"},
        "seen": {"crumples-between-bones": True}, "known": {"toile-boned-at-back": True},
    }  # fmt: skip
    tryon = read_tryon(raw, base.vocabulary)
    found = diagnose(tryon, base, matcher)
    asked = base.entries.questions["toile-boned-at-back"].ask
    assert any(f"{asked} Yes." in text or f"{asked}” yes" in text for text in sentences(found, tryon, base))
    assert not any(f"{asked} No." in text or f"{asked}” no" in text for text in sentences(found, tryon, base))
