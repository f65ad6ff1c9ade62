"""An invented wearer's case over a small oblong of paper, whose measures are known by hand. Millimetres."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from diagnose.casebook import Case, create
from diagnose.errors import FitError
from diagnose.pattern import operations
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern

__all__ = [
    "ANSWERS",
    "altered",
    "error_of",
    "narrower",
    "narrower_as_stored",
    "oblong",
    "plan",
    "started",
    "state_of",
    "unseal",
]

ANSWERS = {"id": "t", "gap": {"top": "1 in", "waist": "0"}, "seen": {"slides-down": True, "fold-under-bust": False}}


def oblong() -> Pattern:
    """A back piece 100 wide and 200 high, sewn to nothing."""
    piece = {
        "name": "back", "cut": "pair", "side": "both", "start": [0, 0],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", 100, 0]]},
            {"name": "lacing", "role": "lacing", "path": [["L", 100, 200]]},
            {"name": "neck", "role": "top", "path": [["L", 0, 200]]},
            {"name": "side", "role": "seam", "path": [["L", 0, 0]]},
        ],
        "levels": {"top": [[0, 180], [100, 180]], "waist": [[0, 100], [100, 100]]},
    }  # fmt: skip
    raw = {"format": "stays-pattern", "version": 1, "name": "oblong", "closure": "back", "pieces": [piece]}
    return read_pattern(raw)


def narrower_as_stored(by_mm: float) -> dict[str, Any]:
    """The operation that takes `by_mm` off the side edge all the way, as it is written."""
    return {"op": "move-edge", "piece": "back", "edge": "side", "by": [{"at": "waist", "mm": by_mm}]}


def narrower(by_mm: float) -> tuple[Operation, ...]:
    """The operation that takes `by_mm` off the side edge all the way."""
    return operations.parse_operations(narrower_as_stored(by_mm))


def altered(pattern: Pattern, by_mm: float) -> Pattern:
    return operations.do(pattern, narrower(by_mm)).pattern


def plan(top_mm: float, waist_mm: float, **more: Any) -> dict[str, Any]:
    """A plan as a batch gives it out: the gap as read, target 50 everywhere, two steps of 20 and 10 all round."""
    gaps = {"top": top_mm, "waist": waist_mm}
    stations = {
        name: {"gap_mm": gap, "target_mm": 50.0, "change_mm": 50.0 - gap, "closed": gap == 0, "at_least": gap == 0}
        for name, gap in gaps.items()
    }
    steps = [_step("1.1", "take-in-sides", 20.0, gaps, 20.0), _step("1.2", "take-in-back", 10.0, gaps, 30.0)]
    round_ = {"round": 1, "steps": steps, "then": "try on again", "expect": []}
    return {
        "version": 1,
        "id": "t",
        "stop": None,
        "gap": {"shape": None, "stations": stations},
        "plan": [round_],
        **more,
    }


def _step(id_: str, alteration: str, by_mm: float, gaps: dict[str, float], sum_mm: float) -> dict[str, Any]:
    amount = {"whole": by_mm, "by_station": dict.fromkeys(gaps, by_mm)}
    predicted = {name: gap + sum_mm for name, gap in gaps.items()}
    return {"id": id_, "alteration": alteration, "amount_mm": amount, "predicted_gap_mm": predicted}


def started(folder: Path) -> Case:
    return create(
        folder, oblong(), garment={"style": "stays"}, target="2 in", wearer={"waist": "28 in"}, date="2026-01-05"
    )


def unseal(folder: Path) -> None:
    """Make it a case of before there were seals, whose files may be changed by hand."""
    for path in folder.rglob("*.json"):
        raw = json.loads(path.read_text(encoding="utf-8"))
        if raw.pop("seal", None) is not None:
            raw.pop("stored", None)
            path.write_text(json.dumps(raw, indent=2) + "\n", encoding="utf-8")


def error_of(doing: Callable[[], object]) -> FitError | None:
    """What a deed is refused with; None when it is done."""
    try:
        doing()
    except FitError as error:
        return error
    return None


def state_of(folder: Path) -> dict[str, str]:
    """Every file of the folder but the lock, and a digest of what it holds."""
    files = [path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != ".lock"]
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}
