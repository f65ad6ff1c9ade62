"""A pair parted into left and right, and what becomes of its seams."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from paper import oblong, one, pair_of

from diagnose.errors import FitError
from diagnose.pattern.form.checks import seam_mistakes
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import garment_girth, seams_per_half
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.outline import EdgeRef, Pattern, Seam


def two() -> Pattern:
    return pair_of(oblong("side"), oblong("back-piece", x=200.0))


def split(pattern: Pattern, *names: str) -> Pattern:
    for name in names:
        pattern = SplitSides(name).done(pattern).pattern
    return pattern


def test_both_halves_stand_where_the_pair_stood_and_the_girth_is_the_same() -> None:
    made = split(two(), "side")
    assert [(p.name, p.cut, p.side) for p in made.pieces] == [
        ("side-left", "single", "left"), ("side-right", "single", "right"), ("back-piece", "pair", "both"),
    ]  # fmt: skip
    assert made.pieces[0].edges == made.pieces[1].edges == two().pieces[0].edges
    assert garment_girth(made, "waist") == garment_girth(two(), "waist") == 400.0


def test_a_seam_to_an_unsplit_pair_is_copied_for_each_side() -> None:
    assert split(two(), "side").seams == (
        Seam("s-left", EdgeRef("side-left", "back"), EdgeRef("back-piece", "front")),
        Seam("s-right", EdgeRef("side-right", "back"), EdgeRef("back-piece", "front")),
    )


@pytest.mark.parametrize("order", [("side", "back-piece"), ("back-piece", "side")])
def test_when_both_are_split_each_side_is_sewn_to_its_own(order: tuple[str, ...]) -> None:
    made = split(two(), *order)
    assert made.seams == (
        Seam("s-left", EdgeRef("side-left", "back"), EdgeRef("back-piece-left", "front")),
        Seam("s-right", EdgeRef("side-right", "back"), EdgeRef("back-piece-right", "front")),
    )
    assert not seam_mistakes(made, "")
    assert seams_per_half(made) == seams_per_half(two())


def test_a_split_pair_sewn_to_an_unsplit_one_passes_the_readers_check() -> None:
    assert not seam_mistakes(split(two(), "side"), "")


def test_an_edge_sewn_to_its_own_mirror_image_joins_left_to_right() -> None:
    pattern = replace(one(oblong()), seams=(Seam("cb", EdgeRef("side", "back"), EdgeRef("side", "back")),))
    assert split(pattern, "side").seams == (Seam("cb", EdgeRef("side-left", "back"), EdgeRef("side-right", "back")),)


def test_a_seam_within_the_piece_is_one_for_each_side() -> None:
    pattern = replace(one(oblong()), seams=(Seam("d", EdgeRef("side", "back"), EdgeRef("side", "front")),))
    assert [s.a.piece + s.b.piece for s in split(pattern, "side").seams] == ["side-left" * 2, "side-right" * 2]


def test_a_piece_on_the_fold_says_that_it_can_no_longer_be_cut_so() -> None:
    piece = replace(oblong(), cut="fold")
    assert "no longer be cut on the fold" in notes_said(SplitSides("side").done(one(piece)).notes, {})[0]


def test_what_is_one_sided_already_or_single_is_refused() -> None:
    with pytest.raises(FitError, match="already the left side's own"):
        split(two(), "side", "side-left")
    with pytest.raises(FitError, match="no left and right"):
        split(one(replace(oblong(), cut="single")), "side")
    with pytest.raises(FitError, match="has no piece 'sied'"):
        split(two(), "sied")


def test_a_name_that_is_taken_is_refused() -> None:
    with pytest.raises(FitError, match="already has a piece 'side-left'"):
        split(pair_of(oblong("side"), oblong("side-left", x=200.0)), "side")


def test_the_new_names_are_told() -> None:
    (note,) = notes_said(SplitSides("side").done(two()).notes, {})
    assert "The side is now the left side and the right side" in note
