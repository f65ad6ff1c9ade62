"""Grain, levels and landmarks drawn anew: the outline stays as it is."""

from __future__ import annotations

import math

import pytest

from diagnose.errors import FitError
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern

LEANING = {"grain_deg": 10.0}


def sheet() -> Pattern:
    """An oblong 100 mm wide and 300 high, its waist at 0, its grain upright at x = 40."""
    return read_pattern({
        "format": "stays-pattern", "version": 1, "name": "a sheet", "closure": "back",
        "pieces": [{
            "name": "a", "cut": "pair", "side": "both", "start": [0, -100],
            "edges": [
                {"name": "hem", "role": "bottom", "path": [["L", 100, -100]]},
                {"name": "back", "role": "seam", "path": [["L", 100, 200]]},
                {"name": "top-edge", "role": "top", "path": [["L", 0, 200]]},
                {"name": "front", "role": "seam", "path": [["L", 0, -100]]},
            ],
            "levels": {"waist": [[0, 0], [50, 0], [100, 0]]}, "grain": [[40, -50], [40, 150]],
            "landmarks": {"bust-point": [30, 120]},
        }],
    })  # fmt: skip


def marked(**asked: object) -> Pattern:
    return do(sheet(), parse_operations({"op": "marks", "piece": "a", **asked})).pattern


def test_the_grain_turns_about_its_middle_and_keeps_its_length() -> None:
    grain = marked(**LEANING).pieces[0].grain
    assert grain is not None
    (low, high) = grain
    # geometry: 100 mm above the middle, turned 10 degrees counter-clockwise
    turn = math.radians(10.0)
    assert (high.x, high.y) == pytest.approx((40 - 100 * math.sin(turn), 50 + 100 * math.cos(turn)))
    assert math.dist(low, high) == pytest.approx(200.0)


def test_a_level_goes_up_evenly_from_front_to_back_and_ends_on_the_outline() -> None:
    level = marked(levels=[{"station": "waist", "front": 0, "back": 20}]).pieces[0].levels["waist"]
    assert [(p.x, p.y) for p in level] == [pytest.approx(at) for at in ((0.0, 0.0), (50.0, 10.0), (100.0, 20.0))]


def test_a_landmark_moves_and_the_outline_does_not() -> None:
    made = marked(landmarks=[{"name": "bust-point", "by": [-5, 10]}]).pieces[0]
    assert made.landmarks["bust-point"] == (25.0, 130.0)
    assert made.edges == sheet().pieces[0].edges


def test_everything_that_is_not_there_is_said_at_once() -> None:
    with pytest.raises(FitError) as refused:
        marked(levels=[{"station": "hip", "front": 1, "back": 1}], landmarks=[{"name": "bust", "by": [0, 1]}])
    assert [m.what for m in refused.value.mistakes] == [
        "The a piece has no 'hip' among its levels.", "The a piece has no 'bust' among its landmarks.",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({}, "Nothing is asked for."),
        ({"levels": [{"station": "waist", "front": 900, "back": 900}]}, "would leave the a piece"),
    ],
)
def test_a_request_that_cannot_be_drawn_is_refused(asked: dict[str, object], says: str) -> None:
    with pytest.raises(FitError, match=says):
        marked(**asked)


def test_an_angle_is_a_number_of_degrees() -> None:
    with pytest.raises(FitError, match="not an angle"):
        marked(grain_deg=120)
