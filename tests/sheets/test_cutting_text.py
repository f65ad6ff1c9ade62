"""The cutting list in words and as data, on lists put together by hand."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from msgspec.structs import replace
from plain_pieces import settings

from diagnose.pattern.in_words import bone_numbers
from diagnose.pattern.outline import Pattern
from diagnose.sheets.cutting.bones_kept import Bone, BoneChange, CutDown, Reuse, bone_changes
from diagnose.sheets.cutting.cloth import Cloth, StrapPiece
from diagnose.sheets.cutting.cutting_list import Binding, BoneGroup, Busk, CuttingList, cutting_list
from diagnose.sheets.cutting.cutting_text import cutting_lines, cutting_to_json
from diagnose.sheets.words.parts import plain_lines
from diagnose.units import Unit

IN = 25.4
NONE = Reuse(0, (), (), ())
BARE = CuttingList(
    "plain", (), (), None, (), None, Binding(36 * IN, 36 * IN, 0.0), (), Cloth(914.4**2, 54 * IN, 18 * IN, 6)
)


def test_bones_are_called_by_their_numbers_and_edges_as_in_running_words(corset: Pattern) -> None:
    said = " ".join(plain_lines(cutting_lines(cutting_list(corset, settings()), "in", corset)))
    numbers = [int(one) for found in re.findall(r"bones? (\d[\d,]*(?:(?:, | and )\d+)*)(?= |$)", said)
               for one in re.findall(r"\d+", found)]  # fmt: skip
    assert {*bone_numbers(corset).values()} <= {*numbers}
    assert "Lacing, sixth panel, centre back" in said
    assert not re.search(r"\bp\d", said)


def told(unit: Unit = "in", **more: Any) -> list[str]:
    return [" ".join(line.split()) for line in plain_lines(cutting_lines(replace(BARE, **more), unit))]


def part(lines: list[str], head: str) -> list[str]:
    """The lines under a head, to the next empty one."""
    after = lines[lines.index(head) + 1 :]
    return after[: after.index("")] if "" in after else after


def test_bones_stand_under_the_width_of_their_channels_the_widest_first() -> None:
    bones = (BoneGroup(10 * IN, 0.25 * IN, 2, ("a.1",)), BoneGroup(9 * IN, 0.5 * IN, 4, ("b.1", "b.2")),
             BoneGroup(8 * IN, 0.25 * IN, 1, ("c.1",)))  # fmt: skip
    lines = told(bones=bones)
    assert [line for line in lines if line.startswith("Bones")] == [
        "Bones for channels 1/2 in (13 mm) wide",
        "Bones for channels 1/4 in (6 mm) wide",
    ]
    assert part(lines, "Bones for channels 1/2 in (13 mm) wide") == ["4 of 9 in (229 mm) b.1, b.2"]
    assert part(lines, "Bones for channels 1/4 in (6 mm) wide") == [
        "2 of 10 in (254 mm) a.1",
        "1 of 8 in (203 mm) c.1",
    ]


def test_a_busk_says_when_its_two_edges_are_not_alike() -> None:
    alike = Busk(13 * IN, (("p1.front", 343.0), ("p1-right.front", 343.04)))
    assert part(told(busk=alike), "Busk") == ["13 in (330 mm) long, at the most"]
    apart = replace(alike, edges=(("p1.front", 343.0), ("p1-right.front", 345.0)))
    assert part(told(busk=apart), "Busk")[1] == "The opening edges are not alike; the shortest was taken."


@pytest.mark.parametrize(
    ("back", "words"),
    [
        (1.5 * IN, "1 1/2 in (38 mm) wide, 16 in"),
        (1.5 * IN + 1.0, "1 1/2 in (38 mm) wide, 16 in"),
        (2 * IN, "1 1/2 in (38 mm) wide at the front and 2 in (51 mm) at the back, 16 in"),
    ],
)
def test_a_strap_gives_one_width_where_both_ends_are_alike_to_a_millimetre(back: float, words: str) -> None:
    lines = told(straps=(StrapPiece(16 * IN, 1.5 * IN, back, 2),))
    assert f"straps: 2, {words}" in " ".join(part(lines, "Tape, binding, straps"))


def test_a_waist_tape_and_bound_slits_are_told_only_where_there_are_any() -> None:
    """Top and bottom of 36 in each are 2 yd; 18 in of slits make it 2 1/2 yd, 2.29 m."""
    bare = " ".join(part(told(), "Tape, binding, straps"))
    assert bare.startswith("binding: 72 in, 2.00 yd (1.83 m)")
    assert "slits" not in bare
    whole = " ".join(
        part(told(waist_tape_mm=24 * IN, binding=Binding(36 * IN, 36 * IN, 18 * IN)), "Tape, binding, straps")
    )
    assert whole.startswith("waist tape: 24 in (610 mm), the finished waist")
    assert "binding: 90 in, 2.50 yd (2.29 m)" in whole
    assert whole.endswith("slits 18 in (457 mm)")


@pytest.mark.parametrize(
    ("unit", "length", "area"), [("in", "18 in, 0.50 yd (0.46 m)", "1.00 sq yd (0.84 m²)"), ("cm", "0.46 m", "0.84 m²")]
)
def test_cloth_is_told_in_yards_only_to_one_who_works_in_inches(unit: Unit, length: str, area: str) -> None:
    """A square yard is 0.9144 m squared, 0.836 m²."""
    lines = part(told(unit), "Cloth, a layer")
    assert lines[0].startswith(f"{length} of cloth")
    assert lines[1] == f"pieces to cut: 6; with allowances they take {area}"


def test_a_piece_wider_than_the_cloth_is_told_in_place_of_a_length() -> None:
    lines = part(told(cloth=replace(BARE.cloth, length_mm=None)), "Cloth, a layer")
    wide = "a piece is wider than the cloth of 54 in (1372 mm): turn it or use wider cloth"
    assert " ".join(lines[:-1]).startswith(wide)
    assert " of cloth 54 in" not in " ".join(lines)


HEAD = "Bones already cut for the version before"


def test_bones_of_the_version_before_are_kept_cut_down_cut_new_or_left() -> None:
    reuse = Reuse(12, (CutDown(10 * IN, 9 * IN, 2),), ((11 * IN, 1),), ((8 * IN, 3),))
    assert part(told(reuse=reuse), HEAD) == [
        "keep 12 as they are",
        "cut 2 down from 10 in (254 mm) to 9 in (229 mm)",
        "cut 1 new of 11 in (279 mm)",
        "3 of 8 in (203 mm) left over",
    ]
    assert HEAD not in told()


def test_each_channel_says_what_became_of_its_bone() -> None:
    before = [Bone("f.1", 254.0, 9.5, 2), Bone("f.2", 254.0, 9.5, 2), Bone("f.3", 254.0, 9.5, 2),
              Bone("f.4", 254.0, 9.5, 2), Bone("f.6", 254.0, 9.5, 2)]  # fmt: skip
    after = [Bone("f.1", 228.6, 9.5, 2), Bone("f.2", 279.4, 9.5, 2), Bone("f.3", 254.0, 12.7, 2),
             Bone("f.4", 254.0, 6.0, 2), Bone("f.5", 203.2, 9.5, 2)]  # fmt: skip
    lines = part(told(reuse=NONE, changes=bone_changes(before, after)), HEAD)
    assert lines == [
        "f.1: 10 in (254 mm) to 9 in (229 mm), shorter",
        "f.2: 10 in (254 mm) to 11 in (279 mm), longer",
        "f.3: its channel is wider",
        "f.4: its channel is narrower",
        "f.5 is new, 8 in (203 mm)",
        "f.6 is gone, 10 in (254 mm)",
    ]


def test_as_data_pairs_get_names_and_what_there_is_none_of_is_null() -> None:
    bare = cutting_to_json(BARE)
    assert (bare["busk"], bare["reuse"], bare["binding"]["total_mm"]) == (None, None, 1828.8)
    reuse = Reuse(1, (CutDown(254.0, 228.6, 2),), ((279.4, 1),), ((203.2, 3),))
    change = BoneChange("f.1", None, 203.20004, "new")
    full = replace(BARE, busk=Busk(330.2, (("p1.front", 343.00004),)), reuse=reuse, changes=(change,))
    data = json.loads(json.dumps(cutting_to_json(full), allow_nan=False))
    assert data["busk"] == {"length_mm": 330.2, "edges": [{"edge": "p1.front", "length_mm": 343.0}]}
    assert data["reuse"] == {
        "kept": 1, "cut_down": [{"from_mm": 254.0, "to_mm": 228.6, "count": 2}],
        "new": [{"length_mm": 279.4, "count": 1}], "left": [{"length_mm": 203.2, "count": 3}],
    }  # fmt: skip
    assert data["changes"] == [{"name": "f.1", "before_mm": None, "after_mm": 203.2, "what": "new"}]
