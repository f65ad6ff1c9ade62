"""Matchers and questions in cases that the bundled rules never come to."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_networks import posteriors

from diagnose.engine import matching
from diagnose.engine.asking import next_questions
from diagnose.engine.indexed import IndexedMatcher
from diagnose.errors import FitError
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link

FACTS = {"slides-down": "yes", "gap-fall": 30.0, "gap-average": -12.0, "digs-under-arm": "yes", "straps": "fixed"}


def test_a_rule_base_too_large_for_the_engine_is_matched_by_the_index_to_the_same_effect(
    base: RuleBase, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(matching, "DURABLE_MOST", len(base.rules))
    usual = matching.matcher_for(base)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "other"))
    monkeypatch.setattr(matching, "DURABLE_MOST", len(base.rules) - 1)
    large = matching.matcher_for(base)
    assert isinstance(usual, IndexedMatcher) is not matching.has_durable()
    assert isinstance(large, IndexedMatcher)
    stages = {rule.stage for rule in base.rules}
    found = {stage: large.match(stage, FACTS) for stage in stages}
    assert found == {stage: usual.match(stage, FACTS) for stage in stages}
    assert any(found.values())


def test_without_durable_rules_the_bundled_rules_are_matched_by_the_index(
    base: RuleBase, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(matching, "find_spec", lambda name: None)
    matcher = matching.matcher_for(base)
    assert isinstance(matcher, IndexedMatcher)
    assert any(matcher.match(stage, FACTS) for stage in {rule.stage for rule in base.rules})


def test_of_a_finding_s_links_only_those_of_another_finding_are_blamed() -> None:
    links = {"spill": (Link("spill", "low", 0.7, "right"), Link("spil", "low", 0.7, "wrong"))}
    found = posteriors({"low": 0.1}, {"spill": 0.1}, [], [], [])
    with pytest.raises(FitError) as caught:
        next_questions(found, links, accept=0.5, lead_from=0.15, most=3)
    assert [mistake.where for mistake in caught.value.mistakes] == ["rule wrong"]
    assert "it links 'spil', not 'spill'." in caught.value.mistakes[0].what
