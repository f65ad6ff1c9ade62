"""What is told of a garment in two places, and not alike, is said; what is only not drawn is not."""

from __future__ import annotations

import pytest

from diagnose.model.tryon import Garment
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.told_otherwise import told_otherwise
from diagnose.places import bundled_cases


def differences(name: str, **garment: object) -> list[str]:
    pattern = load_pattern(bundled_cases() / "patterns" / f"{name}.json")
    return [said.removesuffix(": put right the one that is wrong.")
            for said in told_otherwise(pattern, Garment.model_validate(garment))]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "garment", "said"),
    [
        ("front-laced-stays", {"closure": "back"},
         "The garment is said to close behind, and the pattern closes in front"),
        ("front-laced-stays", {"stomacher": False},
         "The garment is said to have no stomacher, and the pattern has “stomacher”"),
        ("sleeved-bodice", {"sleeves": False}, "The garment is said to have no sleeves, and the pattern has “sleeve”"),
        ("boned-bodies", {"straps": "none"},
         "The garment is said to have no straps, and the pattern has “strap-front”"),
        ("boned-bodies", {"tabs": "none"},
         "The garment is said to have no tabs, and the pattern has 4 open slits from the lower edge of each half"),
        ("six-panel-corset", {"tabs": "boned"},
         "The garment is said to have tabs, and the pattern has no slit from its lower edge"),
        ("gored-corset", {"gussets": "bust"},
         "The garment is said to have gussets: bust, and the pattern has: both"),
        ("boned-bodies", {"boning": "none"},
         "The garment is said to have no bones, and the pattern has channels for them"),
        ("six-panel-corset", {"seams_per_half": 4},
         "The garment is said to have 4 seams in each half, and the pattern has 5"),
    ],
)  # fmt: skip
def test_each_fact_that_both_hold_is_held_against_the_other(name: str, garment: dict[str, object], said: str) -> None:
    assert differences(name, **garment) == [said]


def test_what_agrees_or_is_only_not_drawn_is_not_told() -> None:
    told = {"closure": "back", "straps": "fixed", "stomacher": True, "sleeves": True, "tabs": "none", "boning": "full",
            "seams_per_half": 5, "gussets": "none"}  # fmt: skip
    assert differences("six-panel-corset", **told) == []
    assert differences("boned-bodies", closure="back", straps="loose", tabs="plain") == []
