"""The bundled patterns with a stomacher, with gussets and gores, and with a sleeve: what is drawn on each of them."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.model.diagnosis import Amount, CauseFound, Evidence, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.bringing import load_pattern
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.plane import cross, distance, dot, sub, unit
from diagnose.pattern.geometry.runs import run_nearest, run_split
from diagnose.pattern.measure import edge_length, edge_point_at, garment_girth, seam_difference, slit_length
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern, Piece
from diagnose.places import bundled_cases
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.moves import OTHERWISE
from diagnose.sheets.cutting.cutting_list import cutting_list
from diagnose.sheets.hand.by_hand import steps_for

IN = 25.4
NEW = ("front-laced-stays", "gored-corset", "sleeved-bodice")
SEAM_MM = 3.2


def bundled(name: str) -> Pattern:
    return load_pattern(Path(bundled_cases()) / "patterns" / f"{name}.json")


def wanted(base: RuleBase, alteration: str, sign: str, amount_mm: float, side: Side = "both") -> Wanted:
    """The alteration as it is wanted when that sign asks for it."""
    for cause in base.entries.causes.values():
        for choice in cause.alterations:
            if choice.alteration == alteration and any(line.fact == sign for line in choice.only_if):
                return _wanted(base, cause.id, choice, sign, amount_mm, side)
    cause, choice = next(
        (cause.id, choice)
        for cause in base.entries.causes.values()
        for choice in sorted(cause.alterations, key=lambda one: len(one.only_if))
        if choice.alteration == alteration
    )
    return _wanted(base, cause, choice, sign, amount_mm, side)


def _wanted(base: RuleBase, cause: str, choice: Any, sign: str, amount_mm: float, side: Side) -> Wanted:
    found = CauseFound(cause, 0.9, side, (Evidence(sign, "rule", 2.0),), ())
    altered = base.entries.alterations[choice.alteration]
    return Wanted(altered, choice, found, side, Amount(length_mm=amount_mm), dict.fromkeys(STATIONS, 0.0), False)


def drawn_on(base: RuleBase, settings: Settings, name: str, *asked: Any) -> tuple[Pattern, Pattern, Drawn]:
    before = bundled(name)
    drawn = draw(wanted(base, *asked), before, settings)
    assert drawn.operations, drawn.notes
    assert drawn.pattern is not None
    read_pattern(to_json(drawn.pattern))
    again = do(before, parse_operations([operation.to_json() for operation in drawn.operations]))
    assert again.pattern == drawn.pattern
    assert steps_for(drawn.operations, before, drawn.pattern)
    return before, drawn.pattern, drawn


def hem_mm(gore: Piece) -> float:
    hem = next(edge for edge in gore.edges if edge.role == "bottom")
    return distance(hem.start, hem.end)


@pytest.mark.parametrize("name", NEW)
def test_the_pattern_is_true(name: str) -> None:
    pattern = bundled(name)
    for seam in pattern.seams:
        lengths = []
        for ref in (seam.a, seam.b):
            piece = pattern.piece(ref.piece)
            slit = next((s for s in piece.slits if f"slit:{s.name}" == ref.edge), None)
            lengths.append(slit_length(slit) if slit else edge_length(piece.edge(ref.edge)))
        assert lengths[0] - lengths[1] == pytest.approx(seam.ease, abs=0.5), seam.name
    assert read_pattern(to_json(pattern)) == pattern
    assert garment_girth(pattern, "waist")


@pytest.mark.parametrize("name", NEW)
def test_every_alteration_is_drawn_soundly_or_declined_with_a_reason(
    name: str, base: RuleBase, settings: Settings
) -> None:
    for altered in base.entries.alterations.values():
        if not altered.does or altered.kind == "girth":
            continue
        sign = next((move.sign for move in altered.moves if move.sign not in (None, OTHERWISE)), "")
        drawn = draw(wanted(base, altered.id, sign, 3 / 8 * IN), bundled(name), settings)
        if drawn.operations:
            assert drawn.pattern is not None
            read_pattern(to_json(drawn.pattern))
        else:
            assert drawn.notes, altered.id


def test_a_gore_is_narrowed_at_its_hem_alone(base: RuleBase, settings: Settings) -> None:
    before, after, _ = drawn_on(base, settings, "gored-corset", "alter-hip-gore", "gore-flutes", -IN / 2)
    for name in ("hip-gore-front", "hip-gore-back"):
        assert hem_mm(before.piece(name)) - hem_mm(after.piece(name)) == pytest.approx(IN / 2, abs=0.8)
    waist = (garment_girth(before, "waist") or 0.0) - (garment_girth(after, "waist") or 0.0)
    assert waist == pytest.approx(0.0, abs=0.8)


def test_what_a_half_lacks_is_shared_among_its_gores(base: RuleBase, settings: Settings) -> None:
    asked = ("alter-hip-gore", "full-hip-bulges-below", 1.25 * IN)
    before, after, _ = drawn_on(base, settings, "gored-corset", *asked)
    for name in ("hip-gore-front", "hip-gore-back"):
        assert hem_mm(after.piece(name)) - hem_mm(before.piece(name)) == pytest.approx(5 / 8 * IN, abs=0.8)


def test_a_low_tip_goes_up_and_the_hem_keeps_its_width(base: RuleBase, settings: Settings) -> None:
    # Worked by hand: a tip 3/4 in low, legs 5.6 in long: legs 6.35 in, the hem as wide as before.
    before, after, _ = drawn_on(base, settings, "gored-corset", "alter-hip-gore", "gore-tip-strains", -0.75 * IN)
    for piece in ("side-front", "side-back"):
        (old,), (new,) = before.piece(piece).slits, after.piece(piece).slits
        assert slit_length(new) - slit_length(old) == pytest.approx(0.75 * IN, abs=0.01)
        assert new.line[0] == old.line[0]
    assert hem_mm(after.piece("hip-gore-front")) == pytest.approx(hem_mm(before.piece("hip-gore-front")), abs=0.01)


@pytest.mark.parametrize("by", [1 / 2, -3 / 8])
def test_a_gore_swings_about_its_tip_and_keeps_its_width(by: float, base: RuleBase, settings: Settings) -> None:
    before, after, _ = drawn_on(base, settings, "gored-corset", "alter-hip-gore", "gore-pulls-aside", by * IN)
    for piece, gore in (("side-front", "hip-gore-front"), ("side-back", "hip-gore-back")):
        (old,), (new,) = before.piece(piece).slits, after.piece(piece).slits
        assert new.line[-1] == old.line[-1]
        hem = next(edge for edge in before.piece(piece).edges if edge.role == "bottom")
        along = [run_nearest(hem.segments, slit.line[0]) for slit in (old, new)]
        assert along[1][0] - along[0][0] == pytest.approx(by * IN, abs=0.01)
        assert along[1][1] == pytest.approx(0.0, abs=0.01)
        assert hem_mm(after.piece(gore)) == pytest.approx(hem_mm(before.piece(gore)), abs=0.01)
    assert garment_girth(after, "waist") == pytest.approx(garment_girth(before, "waist"), abs=0.01)


def test_a_gore_swung_off_its_panel_is_refused() -> None:
    with pytest.raises(FitError, match="come off the hem"):
        do(bundled("gored-corset"), parse_operations([{"op": "recut-gore", "piece": "hip-gore-front", "lengthen": 0,
                                                       "swing": "6 in"}]))  # fmt: skip


def test_upright_bones_are_set_at_half_their_distance(base: RuleBase, settings: Settings) -> None:
    asked = ("bone-across-front", "breast-bulges-between-front-bones", 0.0)
    before, after, _ = drawn_on(base, settings, "front-laced-stays", *asked)
    at = [sorted(channel.line[0].x for channel in p.piece("front").channels) for p in (before, after)]
    assert set(at[0]) <= set(at[1])
    assert len(at[1]) > len(at[0])
    halved = [(a + b) / 2 for a, b in pairwise(at[0])]
    assert all(min(abs(x - y) for y in halved) < 0.01 for x in set(at[1]) - set(at[0]))
    assert min(b - a for a, b in pairwise(at[1])) >= 3 / 8 * IN


def test_a_square_shoulder_is_taken_off_at_the_neck_and_its_armhole_left(base: RuleBase, settings: Settings) -> None:
    before, after, _ = drawn_on(base, settings, "sleeved-bodice", "alter-shoulder-slope", "neck-end-loose", 3 / 8 * IN)
    for name in ("front", "back"):
        hole = [p.piece(name).edge("armhole") for p in (before, after)]
        assert hole[1] == hole[0]
        old, new = (p.piece(name).edge("shoulder") for p in (before, after))
        neck = max(new.start, new.end, key=lambda end: end.y)
        along = unit(sub(old.end, old.start))
        assert abs(cross(along, sub(neck, old.start))) == pytest.approx(3 / 8 * IN, rel=0.15)  # square to the old line


def test_a_bust_gusset_is_lengthened_at_the_same_angle(base: RuleBase, settings: Settings) -> None:
    item = wanted(base, "alter-bust-gusset", "gusset-point-puckers", IN / 4)
    drawn = draw(
        replace(item, choice=item.choice.model_copy(update={"only_if": ()})), bundled("gored-corset"), settings
    )
    assert drawn.pattern is not None
    assert drawn.operations
    (old,), (new,) = bundled("gored-corset").piece("front").slits, drawn.pattern.piece("front").slits
    assert slit_length(new) - slit_length(old) == pytest.approx(IN / 4, abs=0.01)


def test_the_front_edge_is_hollowed_under_the_bust_and_nowhere_else(base: RuleBase, settings: Settings) -> None:
    asked = ("re-cut-front-line", "front-stands-off-below-bust", IN / 2)
    before, after, _ = drawn_on(base, settings, "gored-corset", *asked)
    lost = {s: ((garment_girth(before, s) or 0) - (garment_girth(after, s) or 0)) / 2 for s in ("underbust", "waist")}
    assert lost == {"underbust": pytest.approx(IN / 2, abs=0.8), "waist": pytest.approx(0.0, abs=0.8)}


def test_the_front_is_lengthened_at_the_waist_to_nothing_at_the_side(base: RuleBase, settings: Settings) -> None:
    before, after, _ = drawn_on(base, settings, "gored-corset", "re-cut-front-line", "tipped-forward", IN / 4)
    front = [edge_length(p.piece("front").edge("centre-front")) for p in (before, after)]
    assert front[1] - front[0] == pytest.approx(IN / 4, abs=0.8)
    back = [edge_length(p.piece("back").edge("lacing")) for p in (before, after)]
    assert back[1] == pytest.approx(back[0], abs=0.01)


def test_a_stomacher_is_widened_and_lengthened_as_a_piece_of_its_own(base: RuleBase, settings: Settings) -> None:
    before, wide, _ = drawn_on(
        base, settings, "front-laced-stays", "recut-stomacher", "stomacher-edge-shows", 7 / 8 * IN
    )
    assert [p for p in wide.pieces if p.name != "stomacher"] == [p for p in before.pieces if p.name != "stomacher"]
    width = [max(e.end.x for e in p.piece("stomacher").edges) for p in (before, wide)]
    assert width[1] - width[0] == pytest.approx(7 / 8 * IN, abs=1.5)
    _, long, _ = drawn_on(base, settings, "front-laced-stays", "recut-stomacher", "stomacher-shifts", IN)
    foot = [min(e.end.y for e in p.piece("stomacher").edges) for p in (before, long)]
    assert foot[0] - foot[1] == pytest.approx(IN, abs=1.5)


def test_a_stomacher_whose_side_is_stored_in_two_parts_is_widened_along_the_one_line(
    base: RuleBase, settings: Settings
) -> None:
    before = bundled("front-laced-stays")
    piece = before.piece("stomacher")
    side = next(edge for edge in piece.edges if edge.name == "side")
    parts = run_split(side.segments, edge_length(side) / 2.0)
    both = [replace(side, name=name, segments=run) for name, run in zip(("low", "high"), parts, strict=True)]
    apart = tuple(one for edge in piece.edges for one in (both if edge is side else (edge,)))
    assert not any(notch.edge == "side" for notch in piece.notches)
    item = wanted(base, "recut-stomacher", "stomacher-edge-shows", 7 / 8 * IN)
    whole, made = (
        draw(item, pattern, settings).pattern for pattern in (before, before.with_piece(replace(piece, edges=apart)))
    )
    assert whole is not None
    assert made is not None
    corners = [{(round(e.end.x, 2), round(e.end.y, 2)) for e in p.piece("stomacher").edges} for p in (whole, made)]
    assert corners[0] < corners[1]


def test_eyelets_stand_closer_at_the_waist_and_the_lace_is_longer(base: RuleBase, settings: Settings) -> None:
    asked = ("re-space-eyelets", "waist-puckers-between-eyelets", 0.0)
    before, after, _ = drawn_on(base, settings, "gored-corset", *asked)
    (old,), (new,) = cutting_list(before, settings).lacing, cutting_list(after, settings).lacing
    added = len(new.eyelets_mm) - len(old.eyelets_mm)
    assert added == pytest.approx(4 * IN / old.pitch_mm, abs=1)
    assert set(old.eyelets_mm) <= set(new.eyelets_mm)
    assert new.lace_mm > old.lace_mm


def test_shoulder_and_armhole_keep_their_size_with_the_sleeve(base: RuleBase, settings: Settings) -> None:
    before, after, _ = drawn_on(base, settings, "sleeved-bodice", "alter-shoulder-slope", "shoulder-folds", 3 / 8 * IN)
    for piece in ("front", "back"):
        lengths = [edge_length(p.piece(piece).edge("shoulder")) for p in (before, after)]
        assert lengths[1] == pytest.approx(lengths[0], abs=SEAM_MM)
        holes = [edge_length(p.piece(piece).edge("armhole")) for p in (before, after)]
        assert holes[1] == pytest.approx(holes[0], abs=SEAM_MM)


def test_the_armhole_and_the_sleeve_go_up_alike(base: RuleBase, settings: Settings) -> None:
    asked = ("recut-armhole-for-sleeve", "sleeve-drags", 3 / 4 * IN)
    before, after, _ = drawn_on(base, settings, "sleeved-bodice", *asked)
    for piece, edge in (("front", "side-seam"), ("sleeve", "front-seam"), ("sleeve", "back-seam")):
        longer = edge_length(after.piece(piece).edge(edge)) - edge_length(before.piece(piece).edge(edge))
        assert longer == pytest.approx(3 / 4 * IN, abs=SEAM_MM), (piece, edge)  # the cap's end lies a little along it
    sewn = {"armhole-front": ("cap-front", "front"), "armhole-back": ("cap-back", "back")}
    for seam in (one for one in before.seams if one.name in sewn):
        cap, body = sewn[seam.name]
        ease = [
            edge_length(p.piece("sleeve").edge(cap)) - edge_length(p.piece(body).edge("armhole"))
            for p in (before, after)
        ]
        assert ease[1] == pytest.approx(ease[0], abs=SEAM_MM)


@pytest.mark.parametrize("amount", [1 / 4, 3 / 8, 1 / 2, 11 / 16])
def test_an_armhole_is_raised_by_any_amount_of_a_round(amount: float, base: RuleBase, settings: Settings) -> None:
    drawn_on(base, settings, "sleeved-bodice", "recut-armhole-for-sleeve", "sleeve-drags", amount * IN)


@pytest.mark.parametrize("amount", [-1, -3 / 4, 3 / 4, 1])
def test_a_side_seam_given_to_either_side_leaves_the_armhole_no_corner_there(
    amount: float, base: RuleBase, settings: Settings
) -> None:
    """The hole bends by 9 degrees across the side seam; moved an inch towards the back it once bent by 47."""
    before, after, _ = drawn_on(base, settings, "sleeved-bodice", "shift-side-seam", "side-seam-off-line", amount * IN)
    assert abs(bend_over_side(after)) <= abs(bend_over_side(before)) + 0.5
    for seam in (one for one in before.seams if one.name.startswith("armhole")):
        assert seam_difference(after, seam) == pytest.approx(seam_difference(before, seam), abs=IN / 16), seam.name


def bend_over_side(pattern: Pattern) -> float:
    """By how many degrees the armhole bends where front and back are sewn together at the side."""
    turned = 0.0
    for name in ("front", "back"):
        hole, side = (pattern.piece(name).edge(edge) for edge in ("armhole", "side-seam"))
        pit = hole.start if hole.start in (side.start, side.end) else hole.end
        own, other = (
            unit(sub(edge_point_at(edge, 0.1 if edge.start == pit else edge_length(edge) - 0.1), pit))
            for edge in (hole, side)
        )
        turned += math.degrees(math.acos(dot(own, other)))
    return 180.0 - turned
