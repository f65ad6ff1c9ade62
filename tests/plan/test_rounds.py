"""What is done in round 1, what is sure for later, and what waits until when: one family a round, no conflict in it."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from invented_base import IN, alteration, base_of, choice, chosen, conflict, found, hold

from diagnose.engine.indexed import IndexedMatcher
from diagnose.model.diagnosis import CauseFound, HeldBack
from diagnose.plan.rounds import arrange
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration
from diagnose.rulebase.reading.schema import Conflict, Hold


def nip(name: str, family: str = "girth", step: str = "waist", **how: object) -> Alteration:
    return alteration(name, family=family, step=step, kind="length", **how)


def rounds_of(
    base: RuleBase, alterations: Sequence[Alteration], causes: Sequence[CauseFound] = (),
    conflicts: Sequence[Conflict] = (), holds: Sequence[Hold] = (), amount: str = "1 in",
) -> tuple[list[list[str]], list[HeldBack]]:  # fmt: skip
    """The rounds by name and what is held, where each alteration mends a cause called as it is."""
    made = base_of(base, {one.id: (choice(one.id, amount),) for one in alterations}, alterations, conflicts, holds)
    wanted, unmeasured = chosen(made, {"digs": 1.0}, *(causes or [found(one.id) for one in alterations]))
    rounds, held = arrange(wanted, unmeasured, made, IndexedMatcher(made.rules))
    return [[item.alteration.id for item in items] for items in rounds], held


def test_nothing_wanted_makes_no_round(base: RuleBase) -> None:
    assert rounds_of(base, [nip("evenly")], [found("evenly")], amount="0 in") == ([], [])


def test_each_family_has_a_round_of_its_own_in_the_order_of_work(base: RuleBase) -> None:
    steps = [nip("hem", "hem", "hem"), nip("waist"), nip("spread", "bust", "bust"), nip("top", step="top")]
    rounds, held = rounds_of(base, steps)
    assert rounds == [["waist", "top"], ["spread"], ["hem"]]
    assert held == []


def test_of_two_that_forbid_each_other_the_more_probable_stays_and_the_other_waits_for_it(base: RuleBase) -> None:
    steps = [nip("evenly"), nip("lacing")]
    causes = [found("evenly", 0.6), found("lacing", 0.8)]
    rounds, (held,) = rounds_of(base, steps, causes, [conflict("evenly", "lacing")])
    assert rounds == [["lacing"]]
    assert held == HeldBack("evenly", "evenly", "both", "lacing has been tried on", "They undo each other.")


@pytest.mark.parametrize(
    ("sides", "same", "meet"),
    [
        (("left", "right"), "any", True), (("left", "right"), "side", False), (("left", "left"), "side", True),
        (("left", "both"), "side", True), (("both", "right"), "panel", True), (("right", "left"), "panel", False),
    ],
)  # fmt: skip
def test_a_conflict_on_one_side_leaves_the_other_side_alone(
    base: RuleBase, sides: tuple[str, str], same: str, meet: bool
) -> None:
    causes = [found("evenly", 0.9, sides[0]), found("lacing", 0.8, sides[1])]  # type: ignore[arg-type]
    rounds, held = rounds_of(base, [nip("evenly"), nip("lacing")], causes, [conflict("lacing", "evenly", same)])
    assert rounds == ([["evenly"]] if meet else [["evenly", "lacing"]])
    assert bool(held) is meet


def test_three_in_a_family_lose_only_the_one_that_is_forbidden(base: RuleBase) -> None:
    steps = [nip("evenly"), nip("lacing", step="hip"), nip("top", step="top")]
    causes = [found("evenly", 0.7), found("lacing", 0.9), found("top", 0.6)]
    rounds, held = rounds_of(base, steps, causes, [conflict("top", "lacing")])
    assert (rounds, [one.alteration for one in held]) == ([["evenly", "lacing"]], ["top"])


def test_what_the_order_of_work_holds_back_waits_for_that_family(base: RuleBase) -> None:
    steps = [nip("waist"), nip("spread", "bust", "bust"), nip("hem", "hem", "hem")]
    rounds, (held,) = rounds_of(base, steps, holds=[hold("spread", until="girth")])
    assert rounds == [["waist"], ["hem"]]
    title = next(one.title for one in base.entries.order.families if one.id == "girth")
    assert (held.alteration, held.because) == ("spread", "It was read too early.")
    assert held.until == f"{title.lower()} is settled and tried on again"


def test_a_hold_until_a_step_waits_for_that_step_alone(base: RuleBase) -> None:
    waits = nip("spread", "bust", "bust")
    rounds, held = rounds_of(base, [nip("waist"), waits], holds=[hold("spread", until="waist")])
    title = next(one.title for one in base.entries.order.steps if one.id == "waist")
    assert held[0].until == f"{title.lower()} is settled and tried on again"
    rounds, held = rounds_of(base, [nip("waist"), waits], holds=[hold("spread", until="hip")])
    assert (rounds, held) == ([["waist"], ["spread"]], [])


@pytest.mark.parametrize(("key", "verb"), [("improves", "cure"), ("worsens", "bring on")])
def test_what_the_first_step_may_itself_cure_or_worsen_waits_until_it_is_tried_on(
    base: RuleBase, key: str, verb: str
) -> None:
    first = nip("waist", **{key: ("slides-down", "rides-up")})
    later = nip("straps", "strap", "straps", improves=("straps-dig", "rides-up"))
    causes = [found("waist"), found("straps", 0.9, "left", "rides-up")]
    made = base_of(base, {one.id: (choice(one.id, "1 in"),) for one in (first, later)}, [first, later])
    made = RuleBase(made.entries.model_copy(update={"symptoms": base.entries.symptoms}), base.settings, "invented")
    wanted, unmeasured = chosen(made, {}, *causes)
    rounds, (held,) = arrange(wanted, unmeasured, made, IndexedMatcher(made.rules))
    assert [[item.alteration.id for item in items] for items in rounds] == [["waist"]]
    assert (held.alteration, held.cause, held.side) == ("straps", "straps", "left")
    assert held.until == "waist has been tried on"
    assert held.because == f"“Waist” may itself {verb}: {base.entries.symptoms['rides-up'].title.lower()}."


def test_what_the_first_step_cures_holds_nothing_that_stands_on_other_signs(base: RuleBase) -> None:
    first = nip("waist", improves=("rides-up",))
    later = nip("straps", "strap", "straps", improves=("straps-dig", "rides-up"))
    rounds, held = rounds_of(base, [first, later], [found("waist"), found("straps", 0.9, "both", "straps-dig")])
    assert (rounds, held) == ([["waist"], ["straps"]], [])


def test_an_amount_that_was_not_measured_waits_for_its_figures(base: RuleBase) -> None:
    _, (held,) = rounds_of(base, [nip("waist")], amount="slips + spills.amount")
    assert held.until == "measured: slips and spills.amount"
    assert (held.alteration, held.side) == ("waist", "both")
    assert "none was given" in held.because


def test_what_waits_for_a_measure_is_said_beside_what_is_done(base: RuleBase) -> None:
    steps = [nip("waist"), nip("straps", "strap", "straps")]
    mends = {"waist": (choice("waist", "1 in"),), "straps": (choice("straps", "slips"),)}
    made = base_of(base, mends, steps)
    wanted, unmeasured = chosen(made, {"digs": IN}, found("waist"), found("straps"))
    rounds, held = arrange(wanted, unmeasured, made, IndexedMatcher(made.rules))
    assert [item.alteration.id for item in rounds[0]] == ["waist"]
    assert [one.until for one in held] == ["measured: slips"]


def test_what_a_likelier_cause_forbids_waits_although_that_one_only_lacks_a_measure(base: RuleBase) -> None:
    steps = [nip("shorter"), nip("longer")]
    mends = {"shorter": (choice("shorter", "slips"),), "longer": (choice("longer", "1 in"),)}

    def arranged(shorter: float) -> tuple[list[list[str]], dict[str, str]]:
        made = base_of(base, mends, steps, [conflict("shorter", "longer")])
        wanted, unmeasured = chosen(made, {"digs": IN}, found("shorter", shorter), found("longer", 0.2))
        rounds, held = arrange(wanted, unmeasured, made, IndexedMatcher(made.rules))
        return [[item.alteration.id for item in items] for items in rounds], {one.alteration: one.until for one in held}

    assert arranged(0.4) == (
        [], {"shorter": "measured: slips", "longer": "shorter has been measured for and tried on"}
    )  # fmt: skip
    assert arranged(0.1) == ([["longer"]], {"shorter": "measured: slips"})
