"""Signs that part the choices of one side, and what is said at a stop: what is asked and told, and no more."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from diagnose.engine.findings import BodySide, SideFindings, find_sides
from diagnose.gap.reading import read_gap
from diagnose.model.diagnosis import CauseFound, Side
from diagnose.model.tryon import TryOn
from diagnose.plan.asked.deciding import parting_signs
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

Found = Mapping[BodySide, SideFindings]
STRAPS = "strap-length-wrong"
FINGERS = "two-fingers-under-strap"


@pytest.fixture(scope="module")
def slipping(base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]) -> Found:
    """The strap slips on the right side alone: there the shortening waits on two fingers under the strap."""
    tryon = make_tryon(seen={"straps-slip": {"side": "right"}}, garment={"straps": "fixed"})
    return find_sides(tryon, read_gap(tryon, base.settings), base, matcher)


def parted(found: Found, base: RuleBase, *causes: CauseFound, rank: int | None = None) -> dict[str, float]:
    return parting_signs(causes, rank, found, base, exact=True)


def strap(probability: float, side: Side) -> CauseFound:
    return CauseFound(STRAPS, probability, side, (), ())


def test_what_parts_the_choices_is_looked_for_on_the_side_where_the_cause_is(slipping: Found, base: RuleBase) -> None:
    assert set(slipping) == {"left", "right"}
    on_right, on_left = (set(parted(slipping, base, strap(0.8, side))) for side in ("right", "left"))  # type: ignore[arg-type]
    assert FINGERS in on_right
    assert FINGERS not in on_left
    assert "straps-dig" in on_right & on_left
    assert set(parted(slipping, base, strap(0.8, "both"))) == on_left
    assert set(parted({"left": slipping["right"]}, base, strap(0.8, "right"))) == on_right


def test_a_sign_parts_the_choices_as_likely_as_the_cause_is_and_the_sign_shows(slipping: Found, base: RuleBase) -> None:
    half, whole = (parted(slipping, base, strap(p, "right")) for p in (0.5, 1.0))
    assert {name: 2 * chance for name, chance in half.items()} == pytest.approx(whole)
    assert all(0.0 < chance < 1.0 for chance in whole.values())
    # of two causes that hang on one sign the likelier counts, whichever is named first
    for causes in ((strap(0.5, "right"), strap(1.0, "right")), (strap(1.0, "right"), strap(0.5, "right"))):
        assert parted(slipping, base, *causes) == pytest.approx(whole)


def test_only_what_is_acted_on_in_the_first_round_parts_anything_now(slipping: Found, base: RuleBase) -> None:
    own = base.first_step[STRAPS]
    assert parted(slipping, base, strap(0.8, "right"), rank=own) == parted(slipping, base, strap(0.8, "right"))
    assert parted(slipping, base, strap(0.8, "right"), rank=own - 1) == {}


def test_a_stop_says_what_to_do_now_and_then_whom_to_see(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]
) -> None:
    def told(*flags: str) -> str:
        seen: dict[str, Any] = dict.fromkeys(flags, True)
        stop = diagnose(make_tryon(seen=seen), base, matcher).stop
        assert stop is not None
        assert set(stop.flags) == set(flags)
        return stop.do

    symptoms = base.entries.symptoms
    for flag in sorted(base.stop_flags):
        both = [text for text in (symptoms[flag].now, symptoms[flag].see_whom) if text]
        assert both
        assert told(flag) == " ".join(both)


def test_a_sign_whose_absence_is_waited_for_is_not_looked_for_on_that_account(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]
) -> None:
    tryon = make_tryon()
    found = find_sides(tryon, read_gap(tryon, base.settings), base, matcher)
    checked = 0
    for cause in base.entries.causes.values():
        lines = [line for choice in cause.alterations for line in choice.only_if]
        wanted = {line.fact for line in lines if line.value != "no"}
        absent = {line.fact for line in lines if line.value == "no"} - wanted
        checked += len(absent)
        asked = set(parted(found, base, CauseFound(cause.id, 0.9, "both", (), ())))
        assert asked.isdisjoint(absent), cause.id
        assert asked <= {fact.partition(".")[0] for fact in wanted}, cause.id
    assert checked > 5


CLOSED: dict[str, Any] = {
    "gap": {"top": "0", "waist": "0", "bottom": "0"}, "target": "2 in", "garment": {"seams_per_half": 4},
}  # fmt: skip


def test_a_stop_still_tells_the_cautions_what_was_presumed_and_what_was_seen(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]
) -> None:
    stopped, going = (diagnose(make_tryon(**CLOSED, seen=seen), base, matcher) for seen in ({"breath-short": True}, {}))
    assert stopped.stop is not None
    assert going.stop is None
    assert stopped.cautions == going.cautions != ()
    assert stopped.presumed == going.presumed != ()
    assert stopped.findings["left"]["gap-closed"] == "yes"
    assert stopped.gap == going.gap


def test_what_must_be_put_right_first_is_done_now_and_only_the_pattern_waits_for_it(
    base: RuleBase, matcher: Matcher, make_tryon: Callable[..., TryOn]
) -> None:
    known = {"toile-boned-at-back": False, "toile-cloth-firm": False}
    found = diagnose(make_tryon(**CLOSED, known=known, seen={"crumples-between-bones": True}), base, matcher)
    assert [step.alteration for step in found.rounds[0].steps] == ["repair-the-toile"]
    assert [held.cause for held in found.held_back] == ["too-big-all-over"]
    assert found.held_back[0].until == "that is put right and the toile is tried on again"
    assert base.entries.causes["toile-not-judgeable"].title in found.held_back[0].because
    assert base.outside.isdisjoint(held.cause for held in found.held_back)
