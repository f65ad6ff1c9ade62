"""Try-ons invented by chance for the measurements: no two alike, one seed always the same."""

from __future__ import annotations

import json
from collections.abc import Mapping
from random import Random
from typing import Any

from diagnose.interview.body_places import may_have
from diagnose.rulebase.base import RuleBase

__all__ = ["invented_line", "invented_lines", "invented_tryon"]

HEIGHTS = ("top", "underbust", "waist", "hip", "bottom")
GAPS = ("0", "1/2 in", "1 in", "1 1/4 in", "1 3/4 in", "2 in", "2 1/2 in", "3 in", "3 3/4 in")
GARMENT: Mapping[str, tuple[object, ...]] = {
    "style": ("stays", "corset", "bodice"), "closure": ("back", "front"), "boning": ("none", "part", "full"),
    "straps": ("none", "fixed"), "tabs": ("none", "plain", "boned"), "seams_per_half": (1, 2, 3, 4, 5, 6),
}  # fmt: skip


def invented_lines(count: int, base: RuleBase, seed: int = 1) -> list[bytes]:
    """So many lines of a batch."""
    chance = Random(seed)
    return [invented_line(number, base, chance) for number in range(count)]


def invented_line(number: int, base: RuleBase, chance: Random) -> bytes:
    """A line with four to ten signs and two to six answers, one in ten with a sign on one side only."""
    return json.dumps(invented_tryon(number, base, chance, chance.randint(4, 10), chance.randint(2, 6))).encode()


def invented_tryon(
    number: int, base: RuleBase, chance: Random, signs: int, answers: int, shown: float = 0.5
) -> dict[str, Any]:
    """A try-on with so many signs of parts that it may have, of which that share shows, and so many answers."""
    garment = {name: chance.choice(words) for name, words in GARMENT.items()}
    asked = base.entries.symptoms.keys() - base.derived - base.stop_flags
    open_ = sorted(sign for sign in asked if may_have(garment, base.parts.get(sign, {})))
    seen: dict[str, Any] = {sign: chance.random() < shown for sign in chance.sample(open_, min(signs, len(open_)))}
    if chance.random() < 0.1:
        seen |= {sign: {"side": chance.choice(("left", "right"))} for sign in list(seen)[:1]}
    questions = sorted(base.entries.questions.keys() - {"meant-to-meet"})
    known = chance.sample(questions, min(answers, len(questions)))
    return {
        "id": str(number),
        "garment": garment,
        "target": "2 in",
        "gap": {height: chance.choice(GAPS) for height in chance.sample(HEIGHTS, chance.choice((1, 3, 3, 5)))},
        "tension": "working",
        "seen": seen,
        "known": {question: chance.random() < 0.7 for question in known},
    }
