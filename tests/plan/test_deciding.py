"""What round 1 hangs on beside the causes: gates whose bad answer would shut it, signs that part the choices."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from diagnose.model.tryon import TryOn
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import NOT_THE_PATTERN, RuleBase
from diagnose.rulebase.neutral import Matcher

Said = Mapping[str, Any]
Look = Callable[[Said], Diagnosis]
CLOSED: Said = {
    "gap": {"top": 0, "waist": 0, "bottom": 0}, "target": "2 in", "tension": "working",
    "garment": {"style": "corset", "boning": "full", "seams_per_half": 4},
    "seen": {"slides-down": True, "loose-and-chafes": True},
}  # fmt: skip
STRAINED: Said = {
    "gap": {"top": "3 1/2 in", "waist": "3 1/2 in", "bottom": "3 1/2 in"}, "target": "2 in", "tension": "working",
    "garment": {"style": "corset", "boning": "full", "seams_per_half": 5}, "seen": {"stitching-strains": True},
}  # fmt: skip
LONG: Said = {
    "gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"}, "target": "2 in", "tension": "working",
    "garment": {"style": "stays", "boning": "full", "straps": "none", "tabs": "none", "seams_per_half": 4},
    "seen": {"too-long-seated": {"amount": "1 in"}, "busk-bottom-digs": {"amount": "1 in"}},
    "known": {"seated-only": True},
}  # fmt: skip


@pytest.fixture(scope="module")
def look(base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]) -> Look:
    return lambda said: diagnose(make_tryon(**said), base, matcher, exact_asking=True)


def with_answer(said: Said, name: str, answer: bool) -> dict[str, Any]:
    return {**said, "known": {**said.get("known", {}), name: answer}}


def alters_the_pattern(found: Diagnosis, base: RuleBase) -> bool:
    return any(base.entries.causes[s.cause].group != NOT_THE_PATTERN for r in found.rounds[:1] for s in r.steps)


def bad_answer(name: str, base: RuleBase) -> bool:
    return next(finding.endswith("=yes") for finding in base.gate_findings if finding.partition("=")[0] == name)


def gates_asked(said: Said, look: Look, base: RuleBase) -> list[str]:
    """All gate questions asked one after the other, each answered as of a sound toile."""
    asked: list[str] = []
    gates = {finding.partition("=")[0] for finding in base.gate_findings}
    while (name := next((one.id for one in look(said).ask if one.id in gates), None)) is not None:
        asked.append(name)
        said = with_answer(said, name, not bad_answer(name, base))
    return asked


@pytest.mark.parametrize("said", [CLOSED, STRAINED], ids=["closed", "strained"])
def test_scale_toile_lacing_and_layer_are_asked_before_a_girth_is_altered(
    said: Said, look: Look, base: RuleBase
) -> None:
    assert alters_the_pattern(look(said), base)
    asked = gates_asked(said, look, base)
    assert {"test-square-true", "toile-cloth-firm", "toile-boned-at-back", "over-usual-shift"} <= set(asked)
    assert asked[0] in {one.id for one in look(said).ask[:2]}


@pytest.mark.parametrize("said", [CLOSED, STRAINED, LONG], ids=["closed", "strained", "long"])
def test_the_bad_answer_to_a_gate_that_is_asked_puts_something_else_before_the_pattern(
    said: Said, look: Look, base: RuleBase
) -> None:
    for name in gates_asked(said, look, base):
        assert not alters_the_pattern(look(with_answer(said, name, bad_answer(name, base))), base), name


def test_when_every_gate_is_known_to_stand_open_none_is_asked(look: Look, base: RuleBase) -> None:
    said = CLOSED
    for name in gates_asked(CLOSED, look, base):
        said = with_answer(said, name, not bad_answer(name, base))
    assert gates_asked(said, look, base) == []
    assert alters_the_pattern(look(said), base)


def test_with_something_else_to_put_right_first_no_gate_is_asked_beside_it(look: Look, base: RuleBase) -> None:
    found = look(with_answer(CLOSED, "test-square-true", False))
    assert not alters_the_pattern(found, base)
    assert "tension" not in {one.id for one in found.ask}


def test_the_pull_is_asked_for_where_the_gap_was_read_and_it_was_not_told(look: Look) -> None:
    silent = {key: value for key, value in CLOSED.items() if key != "tension"}
    assert look(silent).ask[0].id == "tension"
    assert "tension" not in {one.id for one in look(CLOSED).ask}
    assert "tension" not in {one.id for one in look({"seen": {"spill-at-front": True}}).ask}


def test_a_sign_on_which_the_first_alteration_hangs_is_asked_and_its_answer_changes_it(look: Look) -> None:
    before = look(LONG)
    asked = {one.id for one in before.ask}
    assert "movement-blocked" in asked
    after = look({**LONG, "seen": {**LONG["seen"], "movement-blocked": True}})
    first = [step.alteration for step in before.rounds[0].steps]
    assert [step.alteration for step in after.rounds[0].steps] != first


RIGHT: Said = {
    "gap": {"top": "2 in", "waist": "2 in", "bottom": "2 in"}, "target": "2 in", "tension": "working",
    "garment": {"style": "corset", "boning": "full", "straps": "none", "tabs": "none", "seams_per_half": 4},
}  # fmt: skip
HALF_INCH = {"amount": "1/2 in"}


def test_a_waist_told_both_too_high_and_too_low_is_asked_about_and_no_length_is_changed(look: Look) -> None:
    said = {**RIGHT, "seen": {"waist-sits-high": HALF_INCH, "waist-sits-low": HALF_INCH}}
    asked_where = look(said)
    assert asked_where.rounds == ()
    assert asked_where.ask[0].id == "waist-off-alike-all-round"
    alike = look(with_answer(said, "waist-off-alike-all-round", answer=True))
    assert alike.rounds == ()
    assert [one.id for one in alike.ask[:2]] == ["waist-sits-high", "waist-sits-low"]
    apart = {**said, "seen": {sign: {**HALF_INCH, "side": side} for sign, side in
                              (("waist-sits-high", "left"), ("waist-sits-low", "right"))}}  # fmt: skip
    assert "waist-off-alike-all-round" not in [one.id for one in look(apart).ask[:1]]


def test_a_waist_that_sits_too_high_is_not_shortened_above(look: Look) -> None:
    signs = ("waist-sits-high", "folds-round-waist", "digs-under-arm", "fold-under-bust")
    found = look({**RIGHT, "seen": dict.fromkeys(signs, HALF_INCH)})
    assert "shorten-above-waist" not in [step.alteration for round_ in found.rounds for step in round_.steps]
    assert "shorten-above-waist" in [one.alteration for one in found.held_back]


@pytest.mark.parametrize(
    ("spill", "gape"), [("spill-at-front", "gape-at-front-top"), ("spill-at-side-bust", "gape-at-side-top")]
)
def test_an_edge_told_to_spill_and_to_gape_on_one_side_is_looked_at_again_before_the_bust_is_cut(
    look: Look, spill: str, gape: str
) -> None:
    bust = {"spread-side-bust", "fold-out-side-bust", "enlarge-bust-over-seam", "reduce-bust-over-seam"}
    found = look({**RIGHT, "seen": {spill: HALF_INCH, gape: HALF_INCH}})
    assert bust.isdisjoint(step.alteration for round_ in found.rounds for step in round_.steps)
    assert found.ask[0].id == gape
    assert bust.intersection(one.alteration for one in found.held_back)


def test_nothing_is_drawn_beside_another_base_size(look: Look) -> None:
    much = {"top": "3 in", "waist": "3 1/2 in", "bottom": "3 in"}
    loose = {"slides-down": True, "loose-and-chafes": True}
    found = look({**RIGHT, "gap": dict.fromkeys(much, 0), "overlap": much, "seen": loose})
    assert [step.alteration for step in found.rounds[0].steps] == ["start-from-another-size"]
