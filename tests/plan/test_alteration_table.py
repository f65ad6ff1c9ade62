"""Alterations drawn on a bundled pattern hold to what a cutter would accept, by geometry of the tests' own."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "pattern"))

from alteration_table import asked, row

from diagnose.rulebase.base import RuleBase

PANELLED = "six-panel-corset.json"
EVERY = 5


def test_one_alteration_in_five_is_drawn_soundly_or_is_for_the_hand(base: RuleBase) -> None:
    for altered in list(base.entries.alterations.values())[::EVERY]:
        for name, item in asked(altered, "1/2 in", "both"):
            outcome = row(base, name, item, PANELLED, "1/2 in").outcome
            assert not outcome.startswith("unsound"), f"{name}: {outcome}"


@pytest.mark.long
@pytest.mark.parametrize("side", ["both", "left"])
@pytest.mark.parametrize("amount", ["1/8 in", "1/2 in", "1 1/2 in"])
def test_every_alteration_is_drawn_soundly_or_is_for_the_hand(base: RuleBase, amount: str, side: str) -> None:
    for altered in base.entries.alterations.values():
        for name, item in asked(altered, amount, side):
            outcome = row(base, name, item, PANELLED, amount).outcome
            assert not outcome.startswith("unsound"), f"{name}: {outcome}"
