"""Sheets built by hand from the bundled patterns and invented answers; ids are those of the rule base."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from diagnose.gap.reading import read_gap
from diagnose.model.diagnosis import Amount, Ask, CauseFound, Evidence, HeldBack, Stop
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern import operations
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases
from diagnose.plan.drawing.paper import OnPaper
from diagnose.plan.planned import Diagnosis, Round, StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.view import build_view
from diagnose.sheets.view_model import SheetView, Tried

FOLD = {
    "op": "fold", "piece": "bodies", "from": [375, 125], "to": [228, -150], "amount_from": "13/16 in",
    "amount_to": "1/4 in", "move": "left",
}  # fmt: skip
BODIES = "patterns/boned-bodies.json"
HOSTILE = "<script>alert('x')</script> & \"Tom\" [red]\x1b[31m"


def answers(base: RuleBase, **more: Any) -> TryOn:
    raw: dict[str, Any] = {
        "id": "t1", "garment": {"style": "stays", "closure": "back", "boning": "full", "straps": "fixed"},
        "target": "3 in", "gap": {"top": "1 1/4 in", "waist": "1 1/2 in", "bottom": "2 3/4 in"}, "tension": "working",
        "seen": {"slides-down": True, "digs-under-arm": {"side": "right", "amount": "5/8 in"}, "hem-flares": False},
        "known": {"relaced-from-waist": True},
    }  # fmt: skip
    return read_tryon(raw | more, base.vocabulary)


def drawn(before: Pattern) -> OnPaper:
    """The fold drawn into the bodies."""
    done = operations.parse_operations([FOLD])
    return OnPaper(before=before, altered=operations.do(before, done), operations=done)


def diagnosis(base: RuleBase, tryon: TryOn) -> Diagnosis:
    by = {"top": 44.45, "waist": 38.1, "bottom": 6.35}
    step = StepPlan(
        "1.1", "fold-out-in-panel", "too-big-at-waist", "both", Amount(44.45, 22.225, by_station_mm=by),  # type: ignore[arg-type]
        "Inside the back, halfway to the side.", False, False, "Too big at the waist.", "",
        {"top": 76.2, "waist": 76.2, "bottom": 76.2}, on_paper=drawn(load_pattern(bundled_cases() / BODIES)),
    )  # fmt: skip
    found = {"slides-down": "yes", "gap-widens-downward": "yes", "gap-narrowest-at-waist": "no", "hem-flares": "no"}
    speaks = Evidence("slides-down", "r", 6.0), Evidence("relaced-from-waist=yes", "r", 2.5)
    cause = CauseFound(
        "too-big-at-waist", 0.93, "both", speaks, (Evidence("gap-narrowest-at-waist", "r", 1.4, absent=True),)
    )
    ask = Ask("hand-slides-under-waist", "Can a hand pass under the waist?", "It tells two faults apart.", "Sit.", ())
    return Diagnosis(
        "t1", None, read_gap(tryon, base.settings), (cause,),
        (Round(1, (step,), "try on again", ("The gap stands even.",)),),
        (HeldBack("lower-underarm", "underarm-edge-too-high", "right", "the girth is settled", "It drops now."),),
        (ask,), ("The body is right.",), ("The lace was at its working tension.",), {"left": found, "right": found},
    )  # fmt: skip


def stopped(base: RuleBase, tryon: TryOn) -> Diagnosis:
    stop = Stop(("breath-short",), "Unlace and rest.")
    return replace(diagnosis(base, tryon), stop=stop, causes=(), rounds=(), held_back=(), ask=())


def sheet(base: RuleBase, before: Pattern, name: str = "A singer's bodies") -> SheetView:
    tryon = answers(base)
    fold, found = drawn(before), diagnosis(base, tryon)
    return build_view(Tried(name, tryon, found, base, "in", "2026-03-09", "version 2", before, fold))
