"""Invented try-ons on the bundled patterns, worked out and shown: one for each number, the same every time."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct

from diagnose.engine.matching import matcher_for
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.drawn.drawing import Drawing, Text, plain_marks
from diagnose.sheets.handbook.examples import bundled_patterns
from diagnose.sheets.view import build_view
from diagnose.sheets.view_model import SheetView, Tried
from diagnose.units import Unit

SIGNS = ("slides-down", "rides-up", "hem-flares", "digs-under-arm", "folds-round-waist", "spill-at-front",
         "gape-at-front-top", "fold-under-bust", "waist-not-gripped", "hem-too-tight")  # fmt: skip
ASKED = ("toile-boned-at-back", "toile-cloth-firm", "test-square-true", "relaced-from-waist", "over-usual-shift")
MAYBE = ("hand-slides-under-waist", "hand-slides-under-hem", "hand-slides-under-underbust")


class Case(Struct, frozen=True):
    """An invented try-on, worked out and shown."""

    raw: Mapping[str, Any]
    unit: Unit
    before: Pattern
    found: Diagnosis
    view: SheetView


def _raw(number: int) -> dict[str, Any]:
    rng = random.Random(number)
    gaps = {name: rng.choice((0.5, 1, 1.25, 1.5, 2, 2.5, 3, 3.5)) for name in ("top", "waist", "bottom")}
    known = dict.fromkeys(ASKED, True) | {name: rng.random() < 0.5 for name in MAYBE if rng.random() < 0.6}
    return {
        "id": f"case {number}", "tension": "working", "target": "2 in",
        "garment": {"style": rng.choice(("stays", "corset", "bodice")), "closure": "back", "boning": "full",
                    "straps": "none", "tabs": "none", "meant_to_meet": False},
        "gap": {name: f"{gap} in" for name, gap in gaps.items()},
        "seen": {sign: rng.random() < 0.5 for sign in rng.sample(SIGNS, 4)},
        "known": known | {"gap-changed-on-relacing": False},
    }  # fmt: skip


_WORKED: dict[int, Case] = {}


def invented(base: RuleBase, number: int) -> Case:
    """The try-on of that number on a bundled pattern, by the bundled rules; every third is in centimetres."""
    if number not in _WORKED:
        _WORKED[number] = _worked(base, number)
    return _WORKED[number]


def _worked(base: RuleBase, number: int) -> Case:
    raw, patterns = _raw(number), bundled_patterns()
    before = patterns[number % len(patterns)]
    unit: Unit = "cm" if number % 3 == 0 else "in"
    own = base.with_settings(base.settings.in_unit(unit))
    tryon = read_tryon(raw, own.vocabulary)
    found = diagnose(tryon, own, matcher_for(own), before)
    drawn = found.rounds[0].on_paper if found.rounds else None
    tried = Tried(raw["id"], tryon, found, own, unit, "2026-03-02", "version 1", before, drawn)
    view = build_view(tried, screen="page")
    return Case(raw, unit, before, found, view)


def words_on(drawing: Drawing) -> Iterator[Text]:
    """Every word on the drawing, those of its dimensions too."""
    for layer in drawing.layers:
        yield from (mark for mark in plain_marks(layer.marks) if isinstance(mark, Text))
