"""What her pattern tells by itself: how many seams share a change, what is measured, and halves that were parted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from drawing_bench import IN, alteration, girth, length, told

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.model.tryon import TryOn
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern
from diagnose.plan.drawing import draw
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

CLOSED: dict[str, Any] = {"gap": {"top": "1 in", "waist": "1 in", "bottom": "1 in"}, "target": "2 in"}
FOLD = alteration({"do": "panel-fold", "where": "back", "by": {"top": "full", "waist": "full", "bottom": "full"}})


def test_a_pattern_says_how_many_seams_share_a_change_so_nothing_is_presumed_of_them(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn], corset: Pattern, bodies: Pattern
) -> None:
    tryon = make_tryon(**CLOSED)
    bare, sewn, whole = (diagnose(tryon, base, matcher, pattern) for pattern in (None, corset, bodies))
    assert any("seams" in line for line in bare.presumed)
    assert not any("seams" in line for line in (*sewn.presumed, *whole.presumed))
    # the corset has five seams in a half, the bodies none; half an inch goes on two of them, 1/8 in a line
    assert len(next(iter(sewn.rounds[0].steps[0].amount.edges_mm.values()))) == 4
    assert whole.rounds[0].steps[0].alteration in ("fold-out-in-panel", "move-lacing-edges")


def test_what_two_stop_signs_have_in_common_is_said_once(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]
) -> None:
    seen = dict.fromkeys(sorted(base.stop_flags), True)
    found = diagnose(make_tryon(seen=seen), base, matcher)
    assert found.stop is not None
    assert set(found.stop.flags) == base.stop_flags
    assert "  " not in found.stop.do
    for flag in found.stop.flags:
        for text in (base.entries.symptoms[flag].now, base.entries.symptoms[flag].see_whom):
            assert not text or found.stop.do.count(text) == 1


def test_a_back_wedge_in_one_piece_is_measured_and_what_it_takes_is_in_the_profile(
    bodies: Pattern, settings: Settings
) -> None:
    wedge = alteration({"do": "back-wedge", "station": "waist", "way": "out"}, kind="length")
    drawn = draw(length(wedge, IN / 2), bodies, settings)
    assert drawn.pattern is not None
    assert told(drawn)
    for station in STATIONS:
        before, after = garment_girth(bodies, station), garment_girth(drawn.pattern, station)
        if before is not None and after is not None:
            assert drawn.profile[station] == pytest.approx(before - after, abs=1e-3), station
    assert drawn.profile["top"] != 0.0


def test_after_the_halves_were_parted_a_fold_on_both_is_drawn_in_each_by_its_own_half(
    bodies: Pattern, settings: Settings
) -> None:
    parted = do(bodies, parse_operations({"op": "split-sides", "piece": "bodies"})).pattern
    drawn = draw(girth(FOLD, dict.fromkeys(STATIONS, IN)), parted, settings)
    folds = {op["piece"]: op["amount_from"] for op in told(drawn) if op["op"] == "fold"}
    assert folds == {"bodies-left": pytest.approx(IN / 2, abs=1.0), "bodies-right": pytest.approx(IN / 2, abs=1.0)}
    assert drawn.profile == pytest.approx(dict.fromkeys(STATIONS, IN), abs=IN / 16)


@pytest.mark.parametrize(("side", "names"), [("left", {"gore-1-left"}), ("both", {"gore-1-left", "gore-1-right"})])
def test_of_parted_gussets_only_those_of_the_side_are_altered(
    side: Any, names: set[str], corset: Pattern, settings: Settings
) -> None:
    top = corset.piece("p2").edge("top-edge")
    middle = [(top.start.x + top.end.x) / 2, (top.start.y + top.end.y) / 2]
    gore = {"op": "insert-gore", "piece": "p2", "slit_foot": middle, "tip": [middle[0], middle[1] - 60], "width": 30}
    clear = {"op": "channels", "piece": "p2", "remove": [channel.name for channel in corset.piece("p2").channels]}
    steps = [
        *([clear] if clear["remove"] else []),
        gore,
        *({"op": "split-sides", "piece": n} for n in ("p2", "gore-1")),
    ]
    pattern = do(corset, parse_operations(steps), whole=False).pattern
    narrow = alteration({"do": "gores", "where": "bust", "what": "narrow"}, kind="length")
    drawn = draw(length(narrow, IN / 4, side), pattern, settings)
    assert {op["piece"] for op in told(drawn) if op["op"] == "move-edge"} == names, drawn.notes
