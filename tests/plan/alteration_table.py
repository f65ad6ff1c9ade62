"""The table alteration × pattern × amount × side: what is drawn, what is for the hand and why, what is unsound.

``python tests/plan/alteration_table.py [PATTERN ...]`` prints it.
"""

# ruff: noqa: E402 - the folders of the tests are put on the path before what lies in them is imported
from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "pattern"), str(Path(__file__).parents[2])]

import yaml
from drawing_bench import FULL, IN, girth, length
from msgspec.structs import replace
from soundness import faults

from diagnose.model.diagnosis import Side
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.bringing import bring
from diagnose.pattern.brought.understood.labels import NO_LABELS, read_labels
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.outline import Pattern
from diagnose.pattern.report import change_report
from diagnose.places import bundled_cases
from diagnose.plan.choosing import Wanted
from diagnose.plan.drawing import draw
from diagnose.rulebase.base import RuleBase, load_rulebase
from diagnose.rulebase.reading import moves
from diagnose.rulebase.reading.schema import Alteration, Condition

__all__ = ["AMOUNTS", "PATTERNS", "Row", "asked", "bundled", "row", "rows"]

PATTERNS = (
    "six-panel-corset.json",
    "boned-bodies.json",
    "corset-drawing.svg",
    "corset-drawing.dxf",
    "underarm-panels.csv",
)
AMOUNTS = {"small": (IN / 4, IN / 8), "usual": (IN, 3 / 8 * IN), "big": (3 * IN, IN)}
"""In the whole girth, and of a length."""
SIDES: tuple[Side, ...] = ("both", "left")


class Row(NamedTuple):
    """One line of the table."""

    alteration: str
    pattern: str
    amount: str
    side: str
    outcome: str

    def __str__(self) -> str:
        return " | ".join(self)


@cache
def bundled(name: str) -> Pattern:
    path = bundled_cases() / "patterns" / name
    labels = NO_LABELS
    if path.suffix == ".dxf":
        named = path.with_name("corset-drawing-labels.yaml")
        labels = read_labels(yaml.safe_load(named.read_text(encoding="utf-8")), named.name)
    pattern = bring(path.read_bytes(), name, labels=labels).pattern
    assert pattern is not None, name
    return pattern


def asked(altered: Alteration, amount: str, side: Side) -> Iterator[tuple[str, Wanted]]:
    """The alteration by that amount, once for each sign it is for."""
    whole, long = AMOUNTS[amount]
    if altered.kind == "girth":
        named = next((dict(by) for move in altered.does if isinstance(by := move.get("by"), dict)), dict(FULL))
        much = (-whole if altered.direction == "out" else whole) / (1 if side == "both" else 2)
        item = girth(altered, {s: much for s in STATIONS if named.get(s) == "full"}, side)
    else:
        item = length(altered, long, side)
    signs = [str(move["for"]) for move in altered.does if move.get("for", moves.OTHERWISE) != moves.OTHERWISE]
    for sign in signs or [""]:
        lines = (Condition(fact=sign, comparison="is", value="yes"),) if sign else ()
        name = f"{altered.id} ({sign})" if sign else altered.id
        yield name, replace(item, choice=item.choice.model_copy(update={"only_if": lines}))


def rows(
    base: RuleBase, patterns: tuple[str, ...] = PATTERNS, amounts: tuple[str, ...] = tuple(AMOUNTS)
) -> Iterator[Row]:
    for altered in base.entries.alterations.values():
        for pattern in patterns:
            for amount in amounts:
                for side in SIDES:
                    for name, item in asked(altered, amount, side):
                        yield row(base, name, item, pattern, amount)


def row(base: RuleBase, name: str, item: Wanted, pattern: str, amount: str) -> Row:
    before = bundled(pattern)
    drawn = draw(item, before, base.settings)
    assert drawn.pattern is not None
    if drawn.operations:
        stored: Any = json.loads(json.dumps(to_json(drawn.pattern)))
        report = change_report(before, drawn.pattern).to_json()
        bad = faults(json.loads(json.dumps(to_json(before))), stored, report)
        outcome = f"unsound: {'; '.join(bad)}" if bad else "drawn"
    else:
        outcome = f"for the hand: {' '.join(drawn.notes)}" if drawn.notes else "for the hand"
    return Row(name, pattern, amount, item.side, outcome)


if __name__ == "__main__":
    chosen = tuple(sys.argv[1:]) or PATTERNS
    table = [str(one) for one in rows(load_rulebase(), chosen)]
    print("\n".join(table))
