"""Photographs read: true to the paper they were rendered from, joined, and refused where they would not be true."""

from __future__ import annotations

import os
import sys
import time

import numpy as np
import pytest
from judging import judged
from msgspec.structs import replace
from painting import Laid, LaidCard, Scene, rotation
from patterns_known import known_patterns
from proof import proved
from rendering import Look, photograph, scene_of
from strange_photographs import KINDS, strange

from diagnose.errors import FitError
from diagnose.pattern.brought import understand
from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM
from diagnose.pattern.brought.photo.photographs import Photographed, read_photos
from diagnose.pattern.brought.photo.printed_size import printed_of

PLAIN = Look(megapixels=3.0, tilt_deg=12.0, around_deg=50.0, k1=-0.06, seed=3)
COARSE = replace(PLAIN, megapixels=2.0)
"""Enough where nothing is measured, or little."""
SMALL = "underarm-panels"
SIXTEENTH_MM = 25.4 / 16
LARGE_S = 12.0
REFUSED = ("card curled", "two sizes", "over the card", "cloth of checks", "kraft on checks", "kraft on wood")
"""How strangers may take them that is no good."""


def _scene(name: str = SMALL, **more: object) -> Scene:
    return scene_of(known_patterns()[name](), 3, **more)  # type: ignore[arg-type]


def _read(scene: Scene, look: Look = PLAIN) -> Photographed:
    return read_photos([(photograph(scene, look)[0], "x.jpg")])


@pytest.mark.parametrize("seed", [1, 101, *(pytest.param(seed, marks=pytest.mark.long) for seed in (3, 105))])
def test_outlines_of_rendered_photographs_are_as_true_as_is_said(seed: int) -> None:
    row = proved(seed, 3.0)
    assert "refused" not in row
    assert not row["lost"]
    assert row["median"] <= 0.3  # type: ignore[operator]
    assert row["p95"] <= 0.8  # type: ignore[operator]
    assert row["worst"] <= row["said"] <= 1.5  # type: ignore[operator]
    assert all(abs(off) <= SIXTEENTH_MM for off in row["girth"].values())  # type: ignore[attr-defined]


@pytest.mark.proof
@pytest.mark.long
def test_more_photographs_are_as_true_as_is_said() -> None:
    count = int(os.environ.get("DIAGNOSE_PHOTOGRAPHS", "16"))
    rows = [proved(seed, 4.0) for seed in (106, 108, *range(2000, 1998 + count))]
    read = [row for row in rows if "said" in row]
    assert len(read) >= 0.8 * count
    assert [row["seed"] for row in read if row["worst"] > row["said"]] == []  # type: ignore[operator]


@pytest.mark.proof
@pytest.mark.long
@pytest.mark.parametrize("megapixels", [24.0, 50.0])
def test_large_pictures_are_read_as_truly_in_a_bounded_time(megapixels: float) -> None:
    scene = _scene()
    data, _ = photograph(scene, replace(PLAIN, megapixels=megapixels))
    begun = time.process_time()
    found = read_photos([(data, "x.jpg")])
    assert time.process_time() - begun < LARGE_S
    assert judged(scene, known_patterns()[SMALL](), found).every.max() < min(0.5, found.truth.worst_mm)


def test_a_print_of_another_size_is_seen_by_its_sheet_and_the_measured_rule_wins() -> None:
    scene = _scene()
    scene = replace(scene, cards=tuple(replace(card, printed=0.96) for card in scene.cards))
    data, _ = photograph(scene, replace(PLAIN, tilt_deg=6.0, megapixels=4.0))
    with pytest.raises(FitError, match=r"not printed at its size: if its sheet is A4, its 200 mm rule is about 192 mm"):
        read_photos([(data, "x.jpg")])
    found, longer = (read_photos([(data, "x.jpg")], printed_of(text, "mm")) for text in ("192 mm", "193 mm"))
    assert judged(scene, known_patterns()[SMALL](), found).every.max() < 0.8
    assert _wide(longer) / _wide(found) == pytest.approx(193 / 192, abs=1e-3)


def _wide(found: Photographed) -> float:
    xs = [segment.start.x for stroke in found.sketch.strokes for segment in stroke.segments]
    return max(xs) - min(xs)


@pytest.mark.parametrize(
    ("look", "says"),
    [
        ({"tilt_deg": 58.0}, "too aslant.*Hold the telephone level"),
        ({"blur_px": 3.9, "megapixels": 3.0}, "blurred.*more light"),
    ],
)
def test_a_photograph_that_would_not_be_true_is_refused_with_what_to_do(look: dict[str, float], says: str) -> None:
    with pytest.raises(FitError, match=says):
        _read(_scene(), replace(COARSE, **look))


def test_a_bent_card_is_refused() -> None:
    scene = _scene()
    scene = replace(scene, cards=tuple(replace(card, bend_mm=2.5) for card in scene.cards))
    with pytest.raises(FitError, match=r"does not lie flat.*stiff paper"):
        _read(scene, COARSE)


def test_two_prints_of_one_card_are_refused() -> None:
    scene = _scene(cards=2)
    scene = replace(scene, cards=tuple(replace(card, number=1) for card in scene.cards))
    with pytest.raises(FitError, match=r"Card 1 lies in the picture twice.*--cards 2"):
        _read(scene, COARSE)


def test_a_pattern_far_from_its_only_card_is_refused_and_a_second_card_asked_for() -> None:
    scene = _scene()
    (card,) = scene.cards
    scene = replace(scene, cards=(replace(card, at=(card.at[0] + 400.0, card.at[1])),))
    with pytest.raises(FitError, match="second, different card at the far end"):
        _read(scene, replace(COARSE, tilt_deg=25.0))


def test_a_piece_over_the_card_is_refused() -> None:
    _, scene, look = strange("over the card", 0, 2.0)
    with pytest.raises(FitError, match=r"lies over card 1 or against its sheet.*beside it, or wholly on a large piece"):
        _read(scene, look)


@pytest.mark.proof
@pytest.mark.long
@pytest.mark.parametrize("kind", [kind for kind in KINDS if "lifted" not in kind])
def test_a_photograph_as_a_stranger_takes_it_is_as_true_as_is_said_or_refused(kind: str) -> None:
    pattern, scene, look = strange(kind, 0, 8.0)
    if kind in REFUSED:
        with pytest.raises(FitError):
            _read(scene, look)
        return
    found = _read(scene, look)
    result = judged(scene, pattern, found)
    assert not result.lost
    assert result.every.max() <= found.truth.worst_mm


def test_a_piece_that_runs_out_of_the_picture_is_refused() -> None:
    scene = _scene()
    every = np.concatenate([piece.outline for piece in scene.pieces])
    x, y = scene.cards[0].at
    view = (float(every[:, 0].min()) + 40, float(every[:, 1].min()) + 90, x + CARD_WIDE_MM + 10, y + CARD_HIGH_MM + 10)
    with pytest.raises(FitError, match=r"runs out of the picture|No whole piece"):
        _read(scene, replace(COARSE, tilt_deg=0.0, margin=0.0, view=view))


def test_two_photographs_are_joined_by_the_card_that_both_show() -> None:
    pattern = known_patterns()["invented-7"]()
    scene = scene_of(pattern, 4, cards=1)
    left, right = scene.pieces
    card = LaidCard(1, (float(left.outline[:, 0].max()) + 30.0, 10.0))
    by = np.array([CARD_WIDE_MM + 70.0, 0.0])
    right = replace(right, outline=right.outline + by, shift=(right.shift[0] + by[0], right.shift[1]))
    scene = replace(scene, pieces=(left, right), cards=(card,))
    low, high = -15.0, 300.0
    views = [(float(left.outline[:, 0].min()) - 10, low, card.at[0] + CARD_WIDE_MM + 10, high),
             (card.at[0] - 15, low, float(right.outline[:, 0].max()) + 10, high)]  # fmt: skip
    looks = [replace(PLAIN, view=view, tilt_deg=6.0, k1=0.03, megapixels=2.5, shadow=0.4 * n, uneven=0.35 * n)
             for n, view in enumerate(views)]  # fmt: skip
    found = read_photos([(photograph(scene, look)[0], f"{n}.jpg") for n, look in enumerate(looks)])
    result = judged(scene, pattern, found)
    assert not result.lost
    assert result.pieces_found == len(pattern.pieces)
    assert result.every.max() < min(1.5, found.truth.worst_mm)


@pytest.mark.proof
@pytest.mark.long
def test_a_piece_larger_than_each_of_two_photographs_is_read_whole() -> None:
    pattern = known_patterns()["invented-7"]()
    pattern = replace(pattern, pieces=(replace(pattern.pieces[0], levels={}),), seams=())
    outline = scene_of(pattern, 3).pieces[0].outline * [8.0, 1.0] + [0.0, 290.0]
    middle = float(outline[:, 0].max()) / 2
    cards = (LaidCard(1, (middle - 90.0, -10.0), 0.01), LaidCard(2, (middle - 80.0, 590.0), -0.02))
    scene = Scene((Laid(pattern.pieces[0].name, outline, 0.0, (0.0, 0.0)),), cards)
    views = [(-15.0, -20.0, middle + 150.0, 860.0), (middle - 150.0, -20.0, 2 * middle + 15.0, 860.0)]
    tall = replace(PLAIN, megapixels=4.0, tilt_deg=9.0, rolled_deg=90.0)
    looks = [replace(tall, around_deg=50.0 + 90 * n, view=view) for n, view in enumerate(views)]
    found = read_photos([(photograph(scene, look)[0], f"{n}.jpg") for n, look in enumerate(looks)])
    result = judged(scene, pattern, found)
    assert not result.lost
    assert result.every.max() < min(0.6, found.truth.worst_mm)
    for look in looks:
        with pytest.raises(FitError, match="runs out of the picture"):
            _read(scene, look)


@pytest.mark.parametrize("cards", [(1, 2), (1, 1)], ids=["a card each", "one card for both"])
def test_photographs_of_one_piece_each_are_laid_side_by_side(cards: tuple[int, int]) -> None:
    pattern = known_patterns()["invented-7"]()
    whole = scene_of(pattern, 4)
    pairs = []
    for n, (piece, number) in enumerate(zip(whole.pieces, cards, strict=True), 1):
        card = LaidCard(number, (float(piece.outline[:, 0].max()) + 25.0, 0.0))
        scene = Scene((piece,), (card,))
        pairs.append((photograph(scene, replace(PLAIN, seed=n, megapixels=2.0))[0], f"{n}.jpg"))
    found = read_photos(pairs)
    outlines = [stroke for stroke in found.sketch.strokes if stroke.closed]
    assert len(outlines) == 2
    spans = sorted((min(s.start.x for s in o.segments), max(s.start.x for s in o.segments)) for o in outlines)
    assert spans[0][1] < spans[1][0]
    assert "2 photographs show pieces of their own" in " ".join(found.sketch.said)
    assert found.box.left <= spans[0][0]
    assert found.box.right >= spans[1][1]


def test_lines_drawn_inside_a_cut_piece_are_found_and_told() -> None:
    pattern = known_patterns()["six-panel-corset"]()
    pieces = pattern.pieces[:2]
    scene = scene_of(replace(pattern, pieces=pieces, seams=()), 3)
    lines = []
    for laid, piece in zip(scene.pieces, pieces, strict=True):
        channel = piece.channels[0]
        rows = [np.array(piece.levels["waist"])]
        rows += [np.array(channel.line) + np.array([side * channel.width / 2, 0.0]) for side in (-1, 1)]
        lines += [np.array(row, float) @ rotation(laid.turned_rad).T + laid.shift for row in rows]
    found = _read(replace(scene, inside=tuple(lines)), replace(PLAIN, megapixels=4.0))
    inside = [stroke for stroke in found.sketch.strokes if not stroke.closed]
    assert len(inside) == len(lines)
    said = " ".join(understand(found.sketch).said)
    assert "waist" in said
    assert "boning channels" in said


def test_a_hand_in_the_corner_and_a_shadow_across_change_nothing() -> None:
    pattern = known_patterns()["invented-7"]()
    scene = scene_of(pattern, 3)
    found = _read(scene, replace(PLAIN, hand=True, shadow=0.5, shadow_soft_mm=10.0))
    result = judged(scene, pattern, found)
    assert result.pieces_found == len(pattern.pieces)
    assert result.every.max() < 0.8


@pytest.mark.parametrize(
    "kind",
    [
        pytest.param({"drawn": True}, id="pencil", marks=pytest.mark.long),
        pytest.param({"drawn": True, "squared": True}, id="pencil on squared paper"),
        pytest.param({"drawn": True, "dark_paper": True}, id="chalk on dark paper"),
        pytest.param({"dark_paper": True}, id="dark paper on a light table", marks=pytest.mark.long),
    ],
)
def test_an_outline_is_found_however_it_shows(kind: dict[str, bool]) -> None:
    pattern = known_patterns()["invented-7"]()
    scene = scene_of(pattern, 3, **kind)
    found = _read(scene)
    result = judged(scene, pattern, found)
    assert result.pieces_found == len(pattern.pieces)
    assert not result.lost
    assert result.every.max() < min(0.5, found.truth.worst_mm)


def test_the_sharp_tip_of_a_gore_is_read_to_its_end() -> None:
    pattern = known_patterns()["stage-bodies"]()
    pattern = replace(pattern, pieces=tuple(piece for piece in pattern.pieces if piece.name == "gore-1"), seams=())
    scene = scene_of(pattern, 3)
    found = _read(scene, COARSE)
    assert judged(scene, pattern, found).every.max() < min(0.8, found.truth.worst_mm)


def test_creases_shift_an_outline_by_less_than_is_said() -> None:
    pattern = known_patterns()["invented-7"]()
    scene = scene_of(pattern, 3, cards=2)
    found = _read(scene, replace(COARSE, creases=4, crease_mm=0.5, tilt_deg=20.0))
    result = judged(scene, pattern, found)
    assert result.pieces_found == len(pattern.pieces)
    assert result.every.max() < found.truth.worst_mm


@pytest.mark.parametrize("missing", ["cv2"])
def test_without_the_extra_one_sentence_names_it(missing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, missing, None)
    with pytest.raises(FitError, match=r"extra `photo`.*pip install"):
        read_photos([(b"", "x.jpg")])


@pytest.mark.parametrize(
    ("text", "says"), [("", "no length"), ("2 mm", "can't be the rule"), ("1 mm, 2 mm, 3 mm", "no length")]
)
def test_a_rule_that_can_not_be_one_is_refused(text: str, says: str) -> None:
    with pytest.raises(FitError, match=says):
        printed_of(text, "mm")


def test_a_rule_is_read_along_and_across_in_any_unit() -> None:
    assert printed_of("7 7/8 in", "in") == pytest.approx((1.0001, 1.0001), abs=2e-4)
    assert printed_of("19.8 cm; 91 mm", "in") == pytest.approx((91 / 92, 0.99))
