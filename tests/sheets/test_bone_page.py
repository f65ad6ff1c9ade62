"""The list of bones: each numbered as on the pattern, with its length, and what it was where that is another."""

from __future__ import annotations

from plain_pieces import channel, oblong, one, settings

from diagnose.pattern.in_words import ORDINALS
from diagnose.pattern.outline import Pattern
from diagnose.sheets.cutting.bone_page import bone_blocks, bone_rows
from diagnose.sheets.drawn.drawing import Text
from diagnose.sheets.drawn.page_flow import HIGH_MM, Page, whole_pages


def test_every_bone_of_the_corset_stands_there_once_in_order(corset: Pattern) -> None:
    rows = bone_rows(corset, None, settings(), "in")
    assert [int(row[0]) for row in rows] == list(range(1, sum(len(piece.channels) for piece in corset.pieces) + 1))
    assert {row[1] for row in rows} <= {f"{nth} panel" for nth in ORDINALS}
    assert not any(row[3] for row in rows)


def test_what_a_bone_was_stands_beside_it() -> None:
    """Channels of 150 mm, one drawn 25.4 mm longer, one gone and one new."""
    old = one(oblong(channels=(channel("f1", 20.0, 10.0, 160.0), channel("f2", 40.0, 10.0, 160.0))))
    new = one(oblong(channels=(channel("f1", 20.0, 10.0, 185.4), channel("f3", 60.0, 10.0, 160.0))))
    lengths = [row[2] for row in bone_rows(old, None, settings(), "in")]
    rows = {row[0]: row for row in bone_rows(new, old, settings(), "in")}
    assert rows["1"][3] == f"was {lengths[0]}, longer"
    assert rows["2"][2:] == ("", f"was {lengths[1]}, gone")
    assert rows["3"][2:] == (lengths[0], "new")


def test_the_page_says_them_all_within_its_margins(bodies: Pattern) -> None:
    ((name, page),) = whole_pages(("bones", block) for block in bone_blocks(bodies, bodies, settings(), "in"))
    assert name == "bones 1"
    words = [mark for layer in page.layers for mark in layer.marks if isinstance(mark, Text)]
    assert {row[0] for row in bone_rows(bodies, None, settings(), "in")} <= {mark.words for mark in words}
    assert all(page.frame.bottom <= mark.at.y <= 0.0 and mark.at.x < page.frame.right for mark in words)


def test_the_bones_follow_the_steps_on_the_same_page_where_they_have_room_there(bodies: Pattern) -> None:
    (bones,) = bone_blocks(bodies, bodies, settings(), "in")
    short, tall = Page(), Page()
    short.down, tall.down = -HIGH_MM - bones.down + 0.1, -HIGH_MM - bones.down - 1.0
    assert [name for name, _ in whole_pages([("steps", short), ("bones", bones)])] == ["steps and bones 1"]
    assert [name for name, _ in whole_pages([("steps", tall), ("bones", bones)])] == ["steps 1", "bones 2"]
    (one_page,) = whole_pages([("steps", tall), ("bones", bones)], HIGH_MM + 2.0)
    assert one_page[1].frame.bottom == -HIGH_MM - 2.0
