"""Every alteration of the rule base on both bundled patterns, on both sides together and on each side alone."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from drawing_bench import FULL, IN, girth, length, told
from msgspec.structs import replace

from diagnose.model.diagnosis import Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases
from diagnose.plan.drawing import Drawn, draw, is_drawable
from diagnose.plan.drawing.verbs import VERBS
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading import moves
from diagnose.rulebase.reading.entries import Alteration
from diagnose.rulebase.reading.fields import Condition

LAND_MM = IN / 32 + 1e-3
SIDES: tuple[Side, ...] = ("both", "left", "right")
ON_PAPER = {
    "repair-the-toile", "change-bones-or-lacing", "start-from-another-size", "plan-less-reduction", "shorten-bones",
    "set-waist-stay", "strengthen-cloth", "re-set-suspenders", "face-closing-edge",
}  # fmt: skip
"""Nothing on the outline: the toile, the bones, cloth and making, or another size."""
FEWEST = {("boned-bodies", "both"): 23, ("boned-bodies", "one"): 18, ("six-panel-corset", "both"): 35,
          ("six-panel-corset", "one"): 34}  # fmt: skip
CASES = [
    pytest.param(name, side, marks=() if side == "both" else pytest.mark.long)
    for name in ("boned-bodies", "six-panel-corset")
    for side in SIDES
]


@cache
def bundled(name: str) -> Pattern:
    return load_pattern(Path(bundled_cases()) / "patterns" / f"{name}.json")


def asked(altered: Alteration, side: Side) -> Iterator[Wanted]:
    """The alteration by 3/8 in (girth: 1 in in the whole, or in the one half 1/2 in), once for each sign it is for."""
    if altered.kind == "girth":
        named = next(
            (dict(by) for move in altered.does if isinstance(by := move.of_its_verb.get("by"), dict)), dict(FULL)
        )
        much = (-IN if altered.direction == "out" else IN) / (1 if side == "both" else 2)
        item = girth(altered, {s: much for s in STATIONS if named.get(s) == "full"}, side)
    else:
        item = length(altered, 3 / 8 * IN, side)
    signs = [move.for_ for move in altered.does if move.for_ and move.for_ != moves.OTHERWISE]
    others = [""] if not signs or any(move.for_ == moves.OTHERWISE for move in altered.does) else []
    for sign in signs + others:
        lines = (Condition(fact=sign, comparison="is", value="yes"),) if sign else ()
        yield replace(item, choice=item.choice.model_copy(update={"only_if": lines}))


def all_drawn(base: RuleBase, settings: Settings, name: str, side: Side) -> list[tuple[Wanted, Drawn]]:
    items = [item for altered in base.entries.alterations.values() for item in asked(altered, side)]
    return [(item, draw(item, bundled(name), settings)) for item in items]


@pytest.mark.parametrize(("name", "side"), CASES)
def test_every_alteration_is_drawn_soundly_or_honestly_declined(
    name: str, side: Side, base: RuleBase, settings: Settings
) -> None:
    pattern, drawn_ones = bundled(name), set[str]()
    for item, drawn in all_drawn(base, settings, name, side):
        which = item.alteration.id
        assert drawn.pattern is not None
        if told(drawn):
            drawn_ones.add(which)
            again = do(pattern, parse_operations(json.loads(json.dumps(list(told(drawn))))))
            assert again.pattern == drawn.pattern, which
            read_pattern(to_json(drawn.pattern))
            _lands(item, drawn, pattern)
        else:
            assert drawn.pattern == pattern, which
            assert which in ON_PAPER or notes_said(drawn.notes, {}) or not is_drawable(item), f"{which} is silent"
        assert all(re.fullmatch(r"[A-Z'].*[.]", note) for note in notes_said(drawn.notes, {})), drawn.notes
    left = sorted(base.entries.alterations.keys() - drawn_ones)
    fewest = FEWEST[name, "both" if side == "both" else "one"]
    assert len(drawn_ones) >= fewest, f"{len(drawn_ones)} drawn; not drawn: {', '.join(left)}"


def _lands(item: Wanted, drawn: Drawn, before: Pattern) -> None:
    """The girth lands within 1/32 in of a half at every station that the alteration names."""
    halves = 2 if item.side == "both" else 1
    assert drawn.pattern is not None
    for station in STATIONS:
        how = {by.get(station) for move in item.alteration.does if isinstance(by := move.of_its_verb.get("by"), dict)}
        was, now = garment_girth(before, station), garment_girth(drawn.pattern, station)
        if item.alteration.kind == "girth" and how & {"full", "nothing"} and was is not None and now is not None:
            wanted = item.profile[station] if "full" in how else 0.0
            assert (was - now) / halves == pytest.approx(wanted / halves, abs=LAND_MM), (item.alteration.id, station)


@pytest.mark.long
def test_on_one_side_only_the_other_half_stays_as_it_was(base: RuleBase, settings: Settings) -> None:
    for name in ("boned-bodies", "six-panel-corset"):
        for item, drawn in all_drawn(base, settings, name, "left"):
            assert drawn.pattern is not None
            for piece in drawn.pattern.pieces:
                if piece.name.endswith("-right") and item.alteration.id != "split-left-and-right":
                    old = bundled(name).piece(piece.name.removesuffix("-right"))
                    assert (piece.edges, piece.levels) == (old.edges, old.levels), (item.alteration.id, piece.name)


def test_the_checks_table_and_the_drawing_know_the_same_verbs() -> None:
    assert VERBS.keys() == moves.VERBS.keys()


def test_of_an_alteration_with_three_acts_the_one_is_drawn_that_its_choice_rests_on(
    base: RuleBase, settings: Settings
) -> None:
    keys = {}
    for item in asked(base.entries.alterations["alter-tabs"], "both"):
        drawn = draw(item, bundled("boned-bodies"), settings)
        (op,) = told(drawn)
        (key,) = op.keys() - {"op", "piece"}
        keys[item.choice.only_if[0].fact] = (key, op[key])
    assert keys == {
        "tab-roots-cut-in": ("deepen", pytest.approx(-3 / 8 * IN)),
        "tab-slits-gape": ("flare", pytest.approx(3 / 8 * IN)),
        "tabs-buckle": ("lengthen", pytest.approx(-3 / 8 * IN)),
    }


def test_with_none_of_its_signs_shown_it_is_left_to_the_hand(base: RuleBase, settings: Settings) -> None:
    item = length(base.entries.alterations["alter-tabs"], 3 / 8 * IN)
    drawn = draw(item, bundled("boned-bodies"), settings)
    assert told(drawn) == ()
    assert "“tab-roots-cut-in” or “tab-slits-gape” or “tabs-buckle”" in notes_said(drawn.notes, {})[0]


def test_the_end_of_the_strap_that_is_moved_is_the_one_that_the_choice_means(
    base: RuleBase, settings: Settings
) -> None:
    front = next(asked(base.entries.alterations["move-strap"], "both"))
    back = length(base.entries.alterations["move-strap"], 3 / 8 * IN)
    ends = [told(draw(item, bundled("boned-bodies"), settings))[0] for item in (front, back)]
    # positive is toward centre back: the front end goes to the front, the back end to the back
    assert [(op["end"], op["move"]) for op in ends] == [
        ("front", pytest.approx(-3 / 8 * IN)), ("back", pytest.approx(3 / 8 * IN)),
    ]  # fmt: skip
