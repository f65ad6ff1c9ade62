"""What a pattern shows of its garment, and what settles a doubt."""

from __future__ import annotations

import pytest

from diagnose.casework.pattern_in import garment_shown, terms_for, with_told
from diagnose.errors import FitError
from diagnose.model.settings import Settings
from diagnose.pattern.brought import bring
from diagnose.places import bundled_cases


@pytest.mark.parametrize(
    ("name", "shows"),
    [
        ("front-laced-stays.json", {"closure": "front", "fastening": "laced", "stomacher": True}),
        ("gored-corset.json", {"closure": "back", "fastening": "laced", "gussets": "both"}),
        ("sleeved-bodice.json", {"closure": "front", "sleeves": True}),
        ("boned-bodies.json", {"closure": "back", "fastening": "laced"}),
        ("underarm-panels.csv", {}),
    ],
)
def test_what_the_pattern_shows_of_the_garment_is_not_asked(name: str, shows: dict[str, object]) -> None:
    assert garment_shown(bring((bundled_cases() / "patterns" / name).read_bytes(), name)) == shows


def test_a_word_that_settles_nothing_is_refused(settings: Settings) -> None:
    with pytest.raises(FitError, match=r"“waste” is no word that settles anything\. Did you mean waist\?"):
        terms_for("in", settings, {}, sure=["waste", "part"])


def test_what_the_garment_is_told_to_be_and_the_pattern_shows_otherwise_is_said_first() -> None:
    name = "front-laced-stays.json"
    brought = bring((bundled_cases() / "patterns" / name).read_bytes(), name)
    said = with_told(brought, {"closure": "back"}, "in").said
    assert said[0].startswith("The garment is said to close behind, and the pattern closes in front")
    assert with_told(brought, {"closure": "front"}, "in").said == brought.said
    assert with_told(brought, None, "in") == brought
