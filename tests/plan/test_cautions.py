"""What is said beside the plan where a limit of the settings is passed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from diagnose.model.tryon import TryOn
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

GAP: dict[str, Any] = {"gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"}, "target": "2 in"}


@pytest.fixture(scope="module")
def said(matcher: Matcher, make_tryon: Callable[..., TryOn]) -> Callable[[str, RuleBase], tuple[str, ...]]:
    def cautions(planned: str, base: RuleBase) -> tuple[str, ...]:
        wearer = {"waist": "24 in", "planned_reduction": planned}
        return diagnose(make_tryon(**GAP, wearer=wearer), base, matcher).cautions

    return cautions


def test_more_reduction_than_the_setting_allows_is_said_first_with_both_shares(
    said: Callable[[str, RuleBase], tuple[str, ...]], base: RuleBase
) -> None:
    first, *always = said("4 in", base)
    assert "16.7 % of the waist" in first
    assert "10 % or less" in first
    assert always == [caution.say for caution in base.entries.cautions.always]


def test_up_to_the_setting_nothing_is_said_and_the_setting_is_the_makers(
    said: Callable[[str, RuleBase], tuple[str, ...]], base: RuleBase
) -> None:
    assert len(said("2 3/8 in", base)) == len(base.entries.cautions.always)
    stricter = base.with_settings(base.settings.with_value("reduction-most", 0.05))
    assert "5 % or less" in said("2 3/8 in", stricter)[0]
