"""The table alteration × pattern × amount × side: what is drawn, what is for the hand and why, what is unsound.

``python tests/plan/alteration_table.py [PATTERN ...] [--every]`` prints it, with every amount on every side or with
those that are kept; ``--write`` makes the kept table ``alteration_table.txt`` anew, the whole of it.
"""

# ruff: noqa: E402 - the folders of the tests are put on the path before what lies in them is imported
from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "pattern"), str(Path(__file__).parents[2])]

import yaml
from awkward_patterns import AWKWARD, awkward_pattern
from drawing_bench import FULL, IN, girth, length
from msgspec.structs import replace
from soundness import faults

from diagnose.model.diagnosis import Side
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.bringing import bring
from diagnose.pattern.brought.understood.labels import NO_LABELS, read_labels
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.outline import Pattern
from diagnose.pattern.report import change_report
from diagnose.places import bundled_cases
from diagnose.plan.drawing import draw
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.reading import moves
from diagnose.rulebase.reading.entries import Alteration
from diagnose.rulebase.reading.fields import Condition

__all__ = ["AMOUNTS", "PATTERNS", "TABLE", "Row", "asked", "bundled", "lines", "row", "rows"]

PATTERNS = (
    "six-panel-corset.json",
    "boned-bodies.json",
    "gored-corset.json",
    "front-laced-stays.json",
    "sleeved-bodice.json",
    "corset-drawing.svg",
    "corset-drawing.dxf",
    "underarm-panels.csv",
)
AMOUNTS = {"1/8 in": IN / 8, "1/4 in": IN / 4, "1/2 in": IN / 2, "1 in": IN, "1 1/2 in": 1.5 * IN}
"""In the whole girth, or of a length."""
KEPT: Mapping[Side, tuple[str, ...]] = {"both": ("1/4 in", "1 in"), "left": ("1/2 in",)}
"""What the kept table holds: a change on one side is the same work but for the parting of the pairs."""
EVERY: Mapping[Side, tuple[str, ...]] = dict.fromkeys(("both", "left", "right"), tuple(AMOUNTS))
TABLE = Path(__file__).with_suffix(".txt")
FIGURE = re.compile(r"\d[\d /.]*(?: in)?(?: \(\d[\d.]* mm\))?")


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
    """A bundled pattern by its file, or an awkward one by its name."""
    if name in AWKWARD:
        return read_pattern(awkward_pattern(name))
    path = bundled_cases() / "patterns" / name
    labels = NO_LABELS
    if path.suffix == ".dxf":
        named = path.with_name("corset-drawing-labels.yaml")
        labels = read_labels(yaml.safe_load(named.read_text(encoding="utf-8")), named.name)
    pattern = bring(path.read_bytes(), name, labels=labels).pattern
    assert pattern is not None, name
    return pattern


@cache
def stored(name: str) -> Any:
    return json.loads(json.dumps(to_json(bundled(name))))


def asked(altered: Alteration, amount: str, side: Side) -> Iterator[tuple[str, Wanted]]:
    """The alteration by that amount, once for each sign it is for, and both ways where it has two."""
    for way, sign in (("", 1.0), (", the other way", -1.0)) if altered.direction == "either" else (("", 1.0),):
        item = _wanted(altered, sign * AMOUNTS[amount], side)
        signs = [move.for_ for move in altered.does if move.for_ and move.for_ != moves.OTHERWISE]
        for shown in signs or [""]:
            lines = (Condition(fact=shown, comparison="is", value="yes"),) if shown else ()
            name = f"{altered.id} ({shown})" if shown else altered.id
            yield name + way, replace(item, choice=item.choice.model_copy(update={"only_if": lines}))


def _wanted(altered: Alteration, mm: float, side: Side) -> Wanted:
    if altered.kind != "girth":
        return length(altered, mm, side)
    named = next((dict(by) for move in altered.does if isinstance(by := move.of_its_verb.get("by"), dict)), dict(FULL))
    much = (-mm if altered.direction == "out" else mm) / (1 if side == "both" else 2)
    profile = {s: much for s in STATIONS if named.get(s) == "full"}
    return replace(girth(altered, profile, side), read=frozenset(profile))


def rows(
    base: RuleBase,
    patterns: Sequence[str] = PATTERNS,
    grid: Mapping[Side, tuple[str, ...]] = KEPT,
    alterations: Sequence[str] = (),
) -> Iterator[Row]:
    """The rows of the table, in order; of the alterations named, or of all."""
    for altered in base.entries.alterations.values():
        for pattern in patterns if not alterations or altered.id in alterations else ():
            for side, amounts in grid.items():
                for amount in amounts:
                    for name, item in asked(altered, amount, side):
                        yield row(base, name, item, pattern, amount)


def lines(of: Iterable[Row]) -> Iterator[str]:
    """The rows as the table keeps them: what comes to the same on one pattern in one line, figures left out."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for one in of:
        outcome = FIGURE.sub("…", one.outcome)
        found.setdefault((one.alteration, one.pattern, outcome), []).append(f"{one.amount} {one.side}")
    for (alteration, pattern, outcome), where in sorted(found.items()):
        yield f"{alteration} | {pattern} | {', '.join(where)} | {outcome}"


def row(base: RuleBase, name: str, item: Wanted, pattern: str, amount: str) -> Row:
    before, plain = bundled(pattern), stored(pattern)
    drawn = draw(item, before, base.settings)
    assert drawn.pattern is not None
    if drawn.operations:
        after: Any = json.loads(json.dumps(to_json(drawn.pattern)))
        bad = faults(plain, after, change_report(before, drawn.pattern).to_json())
        # A steel edge that an operation names is curved on purpose.
        named = {name for one in drawn.operations for name in getattr(one, "edges", (getattr(one, "edge", ""),))}
        bad = [what for what in bad if not any(f"steel edge {name} bows" in what for name in named)]
        read_pattern(after)
        outcome = f"unsound: {'; '.join(bad)}" if bad else "drawn"
    else:
        assert notes_said(drawn.notes, {}), f"{name} on {pattern}: nothing is drawn, and nothing is said of it"
        outcome = " ".join(notes_said(drawn.notes, {}))
    return Row(name, pattern, amount, item.side, outcome)


if __name__ == "__main__":
    chosen = tuple(name for name in sys.argv[1:] if not name.startswith("--")) or PATTERNS
    made: list[Row] = []
    for one in rows(load_rulebase(), chosen, EVERY if "--every" in sys.argv else KEPT):
        print(one, flush=True)
        made.append(one)
    if "--write" in sys.argv:
        TABLE.write_text("\n".join(lines(made)) + "\n", encoding="utf-8")
