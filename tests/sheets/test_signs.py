"""Every sign of the bundled rules has a picture that can be drawn, on each kind of garment, from where it says."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from diagnose.places import bundled_rules
from diagnose.rulebase.reading.entries import Picture, Symptom
from diagnose.rulebase.reading.load import read_rules
from diagnose.sheets.drawn.drawing import frame_of
from diagnose.sheets.signs import sign_picture
from diagnose.sheets.signs.figure import FIGURES
from diagnose.sheets.signs.spots import dress_for, spot_of
from diagnose.sheets.writers.svg import sign_svg

SIGNS = read_rules(bundled_rules()).rules.symptoms
MARK_IN_VIEW_CM = 1.0


def test_every_sign_of_the_rules_says_how_it_is_drawn() -> None:
    assert not [name for name, sign in SIGNS.items() if sign.picture is None]


@pytest.mark.parametrize("sign", SIGNS.values(), ids=SIGNS)
def test_the_place_is_seen_from_the_view_named_and_the_mark_lies_in_the_picture(sign: Symptom) -> None:
    picture = sign.picture
    assert picture is not None
    for style in FIGURES:
        assert spot_of(picture.view, picture.place, dress_for(picture.place, style))
        drawing = sign_picture(picture, style)
        mark, whole = drawing.layer("sign"), drawing.frame
        if mark is None:
            assert picture.mark.startswith("gap-") or picture.mark == "leans"
            continue
        box = frame_of([mark], 0.0)
        assert box.left > whole.left - MARK_IN_VIEW_CM
        assert box.right < whole.right + MARK_IN_VIEW_CM
        assert box.bottom > whole.bottom - MARK_IN_VIEW_CM
        assert box.top < whole.top + MARK_IN_VIEW_CM


def test_two_signs_are_told_apart_by_their_pictures_or_by_their_place() -> None:
    """Signs of one picture are of one kind: a soreness, an ache, an edge that springs."""
    drawn: dict[Picture, list[str]] = {}
    for name, sign in SIGNS.items():
        assert sign.picture is not None
        drawn.setdefault(sign.picture, []).append(name)
    alike = [names for picture, names in drawn.items() if len(names) > 1 and picture.mark not in ("sore", "spreads")]
    assert all(len(names) <= 2 for names in alike)


def test_a_place_that_cannot_be_seen_from_there_is_drawn_from_where_it_can() -> None:
    assert sign_picture(Picture(view="front", place="gap", mark="gap-wide")).layer("dress")


def test_the_svg_is_read_aloud_by_the_title_of_the_sign() -> None:
    tree = ET.fromstring(sign_svg(SIGNS["rides-up"], "stays"))
    assert tree.get("role") == "img"
    assert tree.get("aria-label") == SIGNS["rides-up"].title
