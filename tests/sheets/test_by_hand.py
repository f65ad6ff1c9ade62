"""Ruler-and-pencil steps, followed on paper by someone who knows only the figures."""

from __future__ import annotations

from typing import Any

import pytest
from paper_and_pencil import Table, laid_out

from diagnose.pattern import operations
from diagnose.pattern.outline import Pattern
from diagnose.sheets.by_hand import HandStep, steps_for
from diagnose.sheets.hand.figures import GoreFigure, Slide, Width
from diagnose.units import INCH_MM

SIXTEENTH_MM = INCH_MM / 16

FOLD = {"op": "fold", "piece": "bodies", "from": [375, 125], "to": [228, -150], "move": "left"}
ON_BODIES: dict[str, dict[str, Any]] = {
    "a tapering fold": FOLD | {"amount_from": "13/16 in", "amount_to": "1/4 in"},
    "an even fold": FOLD | {"amount_from": "1/2 in", "amount_to": "1/2 in"},
    "a fold to nothing": FOLD | {"amount_from": "3/4 in", "amount_to": 0},
    "a fold of the front": FOLD | {"amount_from": "1/2 in", "amount_to": "1/4 in", "move": "right"},
    "a spread": FOLD | {"amount_from": "-1/2 in", "amount_to": "-1/4 in"},
    "a lacing edge moved in": {
        "op": "move-edge", "piece": "bodies", "edge": "lacing",
        "by": [{"along": 0, "mm": "1/4 in"}, {"along": 1, "mm": "3/8 in"}],
    },
    "a lacing edge moved out": {
        "op": "move-edge", "piece": "bodies", "edge": "lacing",
        "by": [{"along": 0, "mm": "-1/4 in"}, {"along": 1, "mm": "-1/4 in"}],
    },
    "a scooped armhole": {
        "op": "reshape-edge", "piece": "bodies", "edge": "armhole", "from": [300.2, 150.6], "peak": [250.4, 152.2],
        "to": [211, 215], "height": "3/8 in", "direction": "in",
    },
    "a raised neck": {
        "op": "reshape-edge", "piece": "bodies", "edge": "neck", "from": [160, 221], "peak": [60, 210], "to": [0, 212],
        "height": "1/2 in", "direction": "up",
    },
}  # fmt: skip
ON_CORSET: dict[str, dict[str, Any]] = {
    "a top wedge": {
        "op": "move-edge", "piece": "p3", "edge": "back-seam", "true_partner": True,
        "by": [{"at": "top", "mm": "1/4 in"}, {"at": "waist", "mm": 0}],
    },
    "a nipped waist": {
        "op": "move-edge", "piece": "p4", "edge": "front-seam",
        "by": [{"at": "underbust", "mm": 0}, {"at": "waist", "mm": "1/4 in"}, {"at": "hip", "mm": 0}],
    },
    "a hip let out": {
        "op": "move-edge", "piece": "p5", "edge": "back-seam",
        "by": [{"at": "waist", "mm": 0}, {"at": "bottom", "mm": "-3/8 in"}],
    },
    "a dart with a relief": {
        "op": "dart", "piece": "p2", "mouth": [150, 209], "width": "1/2 in", "point": [153, 0], "relief": [174.3, 0],
    },
    "a through dart": {"op": "dart", "piece": "p2", "mouth": [150, 209], "width": "1/2 in", "point": [153, -157]},
    "shorter above the waist": {"op": "length", "at": {"station": "waist", "offset": "2 1/2 in"}, "amount": "1/2 in"},
    "longer below the waist": {"op": "length", "at": {"station": "waist", "offset": "-2 in"}, "amount": "-3/8 in"},
}  # fmt: skip


def steps_of(pattern: Pattern, *raw: dict[str, Any], unit: Any = "in") -> tuple[tuple[HandStep, ...], Pattern]:
    done = operations.parse_operations(list(raw))
    after = operations.do(pattern, done).pattern
    return steps_for(done, pattern, after, unit), after


def farthest(pattern: Pattern, after: Pattern, steps: tuple[HandStep, ...]) -> dict[str, float]:
    """For each edge, how far the new outline lies from what was drawn by following the figures."""
    found = {}
    for piece in pattern.pieces:
        table = Table(piece)
        for step in steps:
            own = [f for f in step.figures if piece.name in getattr(f, "pieces", (getattr(f, "piece", ""),))]
            table.follow([f for f in own if not isinstance(f, Slide | Width | GoreFigure)])
        for name, run in laid_out(after.piece(piece.name)).items():
            found[f"{piece.name}.{name}"] = table.off(name, run[::4])
    return found


@pytest.mark.parametrize("what", ON_BODIES)
def test_following_the_figures_draws_the_new_bodies_within_a_sixteenth(bodies: Pattern, what: str) -> None:
    steps, after = steps_of(bodies, ON_BODIES[what])
    off = farthest(bodies, after, steps)
    assert max(off.values()) <= SIXTEENTH_MM, {k: round(v, 2) for k, v in off.items() if v > SIXTEENTH_MM}


@pytest.mark.parametrize("what", ON_CORSET)
def test_following_the_figures_draws_the_new_corset_within_a_sixteenth(corset: Pattern, what: str) -> None:
    steps, after = steps_of(corset, ON_CORSET[what])
    off = farthest(corset, after, steps)
    assert max(off.values()) <= SIXTEENTH_MM, {k: round(v, 2) for k, v in off.items() if v > SIXTEENTH_MM}


def test_without_the_steps_the_old_outline_is_farther_off_than_that(bodies: Pattern, corset: Pattern) -> None:
    # The follower's yardstick must be able to fail: doing nothing leaves every one of these outlines unreached.
    for pattern, raws in ((bodies, ON_BODIES), (corset, ON_CORSET)):
        for raw in raws.values():
            _, after = steps_of(pattern, raw)
            assert max(farthest(pattern, after, ()).values()) > SIXTEENTH_MM
