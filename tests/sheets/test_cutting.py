"""The cutting list, worked by hand; the figures are from ``rules/settings.yaml``."""

from __future__ import annotations

import json
import math
from functools import cache

import hypothesis
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from plain_pieces import channel, four_sided, oblong, one, slit
from plain_pieces import settings as read_settings

from diagnose.model.settings import Settings
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern, Point
from diagnose.sheets.cutting.bones_kept import Bone, CutDown, reused
from diagnose.sheets.cutting.cloth import cloth_for
from diagnose.sheets.cutting.cutting_list import cutting_list
from diagnose.sheets.cutting.cutting_text import cutting_lines, cutting_to_json
from diagnose.sheets.words.parts import plain_lines


@cache
def settings() -> Settings:
    return read_settings()


def test_a_bone_is_the_channel_less_a_quarter_inch_at_each_end_down_to_the_ruler() -> None:
    """254 mm less 12.7 is 241.3 = 9 1/2 in; 1 mm more is not yet the next 1/16 in."""
    piece = oblong(high=300.0, channels=(channel("f1", 40.0, 10.0, 264.0), channel("f2", 60.0, 10.0, 265.0)))
    bones = cutting_list(one(piece), settings()).bones
    assert [(b.length_mm, b.count) for b in bones] == [(pytest.approx(241.3), 4)]
    assert bones[0].channels == ("front.f1", "front.f2")


def test_a_channel_on_the_fold_is_a_single_one() -> None:
    piece = oblong(channels=(channel("cf", 0.0, 10.0, 190.0), channel("f1", 40.0, 10.0, 190.0)))
    assert cutting_list(one(piece), settings()).bones[0].count == 3


def test_a_channel_too_short_for_a_bone_is_named() -> None:
    found = cutting_list(one(oblong(channels=(channel("f1", 40.0, 10.0, 20.0),))), settings())
    assert found.bones == ()
    assert found.too_short == ("front.f1",)
    assert any("front.f1 is too short" in line for line in plain_lines(cutting_lines(found)))


def test_eyelets_keep_the_first_and_last_and_stand_evenly_between() -> None:
    """12 in of edge, 1/2 in at each end: 11 in between, 15 steps of 0.733 in are nearest to 3/4 in."""
    (lacing,) = cutting_list(one(oblong(high=304.8)), settings()).lacing
    assert len(lacing.eyelets_mm) == 16
    assert lacing.eyelets_mm[0] == pytest.approx(12.7)
    assert lacing.eyelets_mm[-1] == pytest.approx(304.8 - 12.7)
    assert lacing.pitch_mm == pytest.approx(11 * 25.4 / 15)


def test_the_lace_reaches_crosswise_over_the_widest_opening() -> None:
    (lacing,) = cutting_list(one(oblong(high=304.8)), settings()).lacing
    spread = (8 + 1) * 25.4
    assert lacing.lace_mm == pytest.approx(spread + 30 * math.hypot(spread, 11 * 25.4 / 15) + 40 * 25.4)


@hypothesis.settings(deadline=None)
@given(high=st.floats(5.0, 2000.0))
def test_eyelets_never_leave_the_edge(high: float) -> None:
    (lacing,) = cutting_list(one(oblong(high=high)), settings()).lacing
    assert all(0.0 <= mm <= high for mm in lacing.eyelets_mm)
    assert list(lacing.eyelets_mm) == sorted(lacing.eyelets_mm)


def test_the_busk_is_the_opening_edge_less_its_ends(corset: Pattern) -> None:
    """377.19 mm of edge less 1/2 in is 364.49 mm = 14 5.6/16 in: 14 5/16 in = 363.54 mm."""
    busk = cutting_list(corset, settings()).busk
    assert busk is not None
    assert busk.length_mm == pytest.approx(14 * 25.4 + 5 * 25.4 / 16)


def test_the_waist_tape_is_the_finished_waist(corset: Pattern) -> None:
    assert cutting_list(corset, settings()).waist_tape_mm == garment_girth(corset, "waist")


def test_binding_goes_round_top_and_bottom_and_both_sides_of_open_slits() -> None:
    piece = oblong(wide=100.0, slits=(slit(50.0, 60.0),))
    binding = cutting_list(one(piece), settings()).binding
    assert (binding.top_mm, binding.bottom_mm, binding.slits_mm) == (200.0, 200.0, 240.0)
    assert binding.total_mm == 640.0


def test_a_slit_that_a_gore_is_sewn_into_is_not_bound(corset: Pattern) -> None:
    gore = {"op": "insert-gore", "piece": "p3", "slit_foot": [245, -150], "tip": [245, -60], "width": 30}
    altered = do(corset, parse_operations([gore])).pattern
    assert cutting_list(altered, settings()).binding.slits_mm == 0.0


def test_straps_are_as_wide_as_the_edge_whose_middle_is_marked(bodies: Pattern) -> None:
    (strap,) = cutting_list(bodies, settings()).straps
    assert strap.count == 2
    front = bodies.piece("bodies").edge("strap-front-end")
    assert strap.front_mm == pytest.approx(math.dist(front.start, front.end))
    assert strap.length_mm == pytest.approx(16 * 25.4)


def test_a_strap_that_was_lengthened_is_cut_longer(bodies: Pattern) -> None:
    longer = {"op": "strap", "piece": "bodies", "end": "front", "lengthen": 20.0}
    (strap,) = cutting_list(do(bodies, parse_operations([longer])).pattern, settings()).straps
    assert strap.length_mm == pytest.approx(16 * 25.4 + 20.0)


def test_cloth_area_counts_both_halves_and_the_allowances() -> None:
    """A fold piece of 100 by 200 with 1 in at the lacing edge: 2 · 125.4 · 200; laid out 250.8 wide, 200 long."""
    found = cloth_for(one(oblong()), {"lacing": 25.4}, settings().mm("cloth-width"))
    assert found.area_mm2 == pytest.approx(2 * 125.4 * 200)
    assert found.pieces == 1
    assert found.length_mm == pytest.approx(200.0)


def test_pairs_are_laid_twice_and_rows_are_added_when_the_cloth_is_full() -> None:
    """Four of 500 by 200 on 54 in (1371.6 mm): two a row, two rows, 6 mm between."""
    pieces = tuple(
        replace(oblong(wide=500.0), name=name, cut="pair") for name in ("a", "b")
    )  # fmt: skip
    found = cloth_for(Pattern("two", "back", pieces), {}, settings().mm("cloth-width"))
    assert found.pieces == 4
    assert found.length_mm == pytest.approx(406.0)


def test_grain_is_turned_to_run_along_the_cloth() -> None:
    piece = oblong(cut="pair", grain=(Point(10.0, 50.0), Point(90.0, 50.0)))
    assert cloth_for(one(piece), {}, settings().mm("cloth-width")).length_mm == pytest.approx(100.0)


def test_a_piece_wider_than_the_cloth_is_said() -> None:
    found = cutting_list(one(oblong(wide=900.0)), settings())
    assert found.cloth.length_mm is None
    assert any("wider than the cloth" in line for line in plain_lines(cutting_lines(found)))


def bone(name: str, length: float, count: int = 1, width: float = 9.5) -> Bone:
    return Bone(name, length, width, count)


def test_bones_that_grew_shorter_are_cut_down_and_longer_ones_cut_new() -> None:
    found = reused([bone("a", 300.0, 2), bone("b", 250.0, 2)], [bone("a", 310.0, 2), bone("b", 240.0, 2)])
    assert found.kept == 0
    assert found.cut_down == (CutDown(250.0, 240.0, 2),)
    assert found.new == ((310.0, 2),)
    assert found.left == ((300.0, 2),)


def test_a_freed_long_bone_serves_another_channel() -> None:
    found = reused([bone("a", 300.0), bone("b", 250.0)], [bone("a", 250.0), bone("b", 290.0)])
    assert found == reused([bone("b", 250.0), bone("a", 300.0)], [bone("b", 290.0), bone("a", 250.0)])
    assert (found.kept, found.cut_down, found.new) == (1, (CutDown(300.0, 290.0, 1),), ())


def test_a_bone_for_a_narrower_channel_is_not_offered() -> None:
    assert reused([bone("a", 300.0, width=6.0)], [bone("a", 290.0)]).new == ((290.0, 1),)


@given(
    old=st.lists(st.integers(1, 12), max_size=6), new=st.lists(st.integers(1, 12), max_size=6),
)  # fmt: skip
def test_no_bone_is_cut_new_that_an_old_one_could_have_served(old: list[int], new: list[int]) -> None:
    """Against the most that any matching reaches, by trying all of them."""

    def most(olds: list[int], news: list[int]) -> int:
        if not news:
            return 0
        skip = most(olds, news[1:])
        fits = [n for n, o in enumerate(olds) if o >= news[0]]
        return max([skip, *(1 + most(olds[:n] + olds[n + 1 :], news[1:]) for n in fits)])

    found = reused(
        [bone(f"o{n}", float(x)) for n, x in enumerate(old)], [bone(f"n{n}", float(x)) for n, x in enumerate(new)]
    )
    served = found.kept + sum(cut.count for cut in found.cut_down)
    assert served == most(old, new)
    assert served + sum(count for _, count in found.new) == len(new)
    assert served + sum(count for _, count in found.left) == len(old)


def test_shortening_above_the_waist_tells_which_bones_change(corset: Pattern) -> None:
    shorter = {"op": "length", "at": {"station": "waist", "offset": 50}, "amount": 12.7}
    found = cutting_list(do(corset, parse_operations([shorter])).pattern, settings(), before=corset)
    assert len(found.changes) == sum(len(piece.channels) for piece in corset.pieces)
    assert {change.what for change in found.changes} == {"shorter"}
    assert found.reuse is not None
    assert found.reuse.new == ()


def test_an_unchanged_pattern_keeps_every_bone(bodies: Pattern) -> None:
    found = cutting_list(bodies, settings(), before=bodies)
    assert found.changes == ()
    assert found.reuse is not None
    assert found.reuse.kept == 28
    assert (found.reuse.new, found.reuse.left, found.reuse.cut_down) == ((), (), ())


def test_lines_fit_eighty_columns_and_keep_fractions_whole(bodies: Pattern, corset: Pattern) -> None:
    for pattern in (bodies, corset):
        for unit in ("in", "mm", "cm"):
            lines = list(plain_lines(cutting_lines(cutting_list(pattern, settings(), before=pattern), unit)))
            assert max(map(len, lines)) <= 80
            assert not any("\u00a0" in line for line in lines)


def test_the_data_can_be_written_as_json_with_lengths_in_mm(bodies: Pattern) -> None:
    data = json.loads(json.dumps(cutting_to_json(cutting_list(bodies, settings(), before=bodies)), allow_nan=False))
    assert data["version"] == 1
    assert data["bones"][0]["length_mm"] > 300.0
    assert data["reuse"]["kept"] == 28
    assert data["binding"]["total_mm"] == pytest.approx(
        sum(data["binding"][k] for k in ("top_mm", "bottom_mm", "slits_mm"))
    )


def test_a_pattern_with_no_waist_and_no_lacing_has_neither_tape_nor_eyelets() -> None:
    bare = four_sided((0, 0), (50, 0), (50, 50), (0, 50), roles=("seam",) * 4)
    found = cutting_list(one(bare), settings())
    assert found.waist_tape_mm is None
    assert found.lacing == ()
    assert found.busk is None
    assert any("no channel" in line for line in plain_lines(cutting_lines(found)))


def test_a_pair_that_was_split_keeps_its_bones_and_tells_only_what_really_changed(corset: Pattern) -> None:
    raw = [{"op": "split-sides", "piece": "p6"}, {"op": "channels", "piece": "p6-right", "remove": ["p6-1"]}]
    found = cutting_list(do(corset, parse_operations(raw)).pattern, settings(), corset)
    assert found.changes == ()
    assert found.reuse is not None
    assert (found.reuse.kept, found.reuse.cut_down, found.reuse.new) == (17, (), ())
    assert [count for _, count in found.reuse.left] == [1]


def test_a_bone_that_is_longer_on_one_side_since_the_split_is_told_for_that_side(corset: Pattern) -> None:
    raw = [{"op": "split-sides", "piece": "p6"},
           {"op": "channels", "piece": "p6-left", "move": [{"name": "p6-1", "by": [1, 0]}]}]  # fmt: skip
    after = do(corset, parse_operations(raw)).pattern
    left = after.piece("p6-left")
    line = left.channels[0].line
    longer = replace(left.channels[0], line=(line[0], Point(line[1].x, line[1].y + 10.0)))
    found = cutting_list(after.with_piece(replace(left, channels=(longer, *left.channels[1:]))), settings(), corset)
    assert [(change.name, change.what) for change in found.changes] == [(f"p6-left.{longer.name}", "longer")]


def test_two_lacing_edges_that_are_alike_are_told_once_with_one_lace(corset: Pattern) -> None:
    both = do(corset, parse_operations([{"op": "split-sides", "piece": "p6"}])).pattern
    lines = list(plain_lines(cutting_lines(cutting_list(both, settings()))))
    assert "Lacing, p6-left.centre-back and p6-right.centre-back" in lines
    assert [line.partition(":")[0] for line in lines if "lace" in line] == ["  lace"]
    shorter = {
        "op": "move-edge",
        "piece": "p6-left",
        "edge": "hem",
        "by": [{"along": 0, "mm": 9}, {"along": 1, "mm": 9}],
    }
    uneven = do(both, parse_operations([shorter]), whole=False).pattern
    lines = list(plain_lines(cutting_lines(cutting_list(uneven, settings()))))
    assert [line.partition(":")[0] for line in lines if "lace" in line] == ["  lace for both"]
