"""Every alteration on every bundled pattern: drawn so that a cutter would accept it, or for the hand with its reason.

The table is kept beside this file and made by ``python tests/plan/alteration_table.py --write``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "pattern"))

from alteration_table import PATTERNS, TABLE, lines, rows
from awkward_patterns import AWKWARD

from diagnose.model.diagnosis import Side
from diagnose.rulebase.base import RuleBase

IN_SHORT = ("lower-underarm", "re-level-waist", "set-waist-stay")
KEPT = TABLE.read_text(encoding="utf-8").splitlines()


def test_no_line_of_the_table_is_unsound() -> None:
    assert [line for line in KEPT if " | unsound" in line] == []


def test_every_alteration_stands_in_the_table_on_every_pattern(base: RuleBase) -> None:
    found = {tuple(line.split(" | ")[:2]) for line in KEPT}
    plain = {(name.split(" (")[0].split(",")[0], pattern) for name, pattern in found}
    assert plain == {(name, pattern) for name in base.entries.alterations for pattern in PATTERNS}


def test_what_is_not_drawn_says_why() -> None:
    assert [line for line in KEPT if len(line.split(" | ")) < 4 or not line.split(" | ")[3].strip()] == []


def test_a_few_alterations_come_out_as_the_table_says(base: RuleBase) -> None:
    again = list(lines(rows(base, ("six-panel-corset.json",), alterations=IN_SHORT)))
    assert again == [line for line in KEPT if line in again or _is_of(line, "six-panel-corset.json", IN_SHORT)]


def _is_of(line: str, pattern: str, names: tuple[str, ...]) -> bool:
    return line.split(" | ")[1] == pattern and line.startswith(names)


@pytest.mark.long
@pytest.mark.parametrize(
    "pattern",
    [pytest.param(name, marks=() if name in PATTERNS[:3] else pytest.mark.proof) for name in PATTERNS],
)
def test_every_alteration_comes_out_as_the_table_says(base: RuleBase, pattern: str) -> None:
    assert list(lines(rows(base, (pattern,)))) == [line for line in KEPT if line.split(" | ")[1] == pattern]


@pytest.mark.proof
@pytest.mark.long
@pytest.mark.parametrize("pattern", [name for name in AWKWARD if not name.startswith("very")])
def test_no_alteration_of_an_awkward_pattern_is_unsound_and_each_that_is_not_drawn_says_why(
    base: RuleBase, pattern: str
) -> None:
    grid: dict[Side, tuple[str, ...]] = {"both": ("1/4 in",), "left": ("1/2 in",)}
    assert [str(one) for one in rows(base, (pattern,), grid) if one.outcome.startswith("unsound")] == []
