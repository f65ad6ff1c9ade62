from __future__ import annotations

from collections.abc import Mapping, Sequence
from random import Random

import pytest
from small_networks import posteriors

from diagnose.engine import ranking
from diagnose.engine.findings import find_sides
from diagnose.engine.ranking import LEAST_WEIGHT, MOST_WEIGHT
from diagnose.gap.reading import read_gap
from diagnose.model.diagnosis import CauseFound, Evidence
from diagnose.model.tryon_reading import read_tryon
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link
from diagnose.rulebase.neutral import Matcher

PRIORS = {"loose": 0.1, "short": 0.1, "tight": 0.04}
LEAKS = {"fold": 0.05, "gap": 0.05, "roll": 0.05}
LINKS = [
    Link("gap", "loose", 0.92, "gap-loose"),
    Link("fold", "loose", 0.3, "fold-loose"),
    Link("fold", "short", 0.75, "fold-short"),
    Link("roll", "tight", 0.75, "roll-tight"),
]


def rank(
    priors: Mapping[str, float],
    leaks: Mapping[str, float],
    links: Sequence[Link],
    present: Sequence[str],
    absent: Sequence[str],
) -> tuple[CauseFound, ...]:
    return ranking.rank({"left": posteriors(priors, leaks, links, present, absent)}, act=0.5)


def test_the_most_probable_cause_comes_first() -> None:
    ranked = rank(PRIORS, LEAKS, LINKS, ["gap"], ["roll"])
    assert [one.id for one in ranked] == ["loose", "short", "tight"]
    assert [one.probability for one in ranked] == sorted((one.probability for one in ranked), reverse=True)


def test_equal_causes_are_in_order_of_their_ids() -> None:
    links = [Link("gap", cause, 0.5, "r") for cause in ("zeta", "beta", "alpha")]
    ranked = rank(dict.fromkeys(("zeta", "beta", "alpha"), 0.1), LEAKS, links, ["gap"], [])
    assert [one.id for one in ranked] == ["alpha", "beta", "zeta"]


def test_a_finding_seen_speaks_for_its_cause_and_names_its_rule() -> None:
    loose = rank(PRIORS, LEAKS, LINKS, ["gap"], [])[0]
    # odds 0.1/0.9 rise by (1 - 0.95 * 0.08) / 0.05
    assert loose.for_ == (Evidence("gap", "gap-loose", pytest.approx(0.924 / 0.05)),)
    assert loose.against == ()


def test_a_finding_absent_speaks_against_by_the_factor_the_odds_fall() -> None:
    tight = next(one for one in rank(PRIORS, LEAKS, LINKS, [], ["roll"]) if one.id == "tight")
    assert tight.against == (Evidence("roll", "roll-tight", pytest.approx(4.0), absent=True),)
    assert tight.for_ == ()


def test_the_strongest_evidence_stands_first() -> None:
    loose = rank(PRIORS, LEAKS, LINKS, ["fold", "gap"], [])[0]
    assert [evidence.finding for evidence in loose.for_] == ["gap", "fold"]
    assert loose.for_[0].weight > loose.for_[1].weight >= LEAST_WEIGHT


def test_evidence_that_hardly_moves_the_odds_is_left_out() -> None:
    links = [*LINKS, Link("roll", "loose", 0.01, "roll-loose")]
    loose = next(one for one in rank(PRIORS, LEAKS, links, ["gap"], ["roll"]) if one.id == "loose")
    assert [evidence.finding for evidence in (*loose.for_, *loose.against)] == ["gap"]


def test_of_two_rules_for_one_link_the_stronger_is_named() -> None:
    links = [*LINKS, Link("gap", "loose", 0.2, "a-weaker-rule")]
    assert rank(PRIORS, LEAKS, links, ["gap"], [])[0].for_[0].rule == "gap-loose"


def test_evidence_that_settles_a_cause_has_a_finite_weight() -> None:
    ranked = rank({"a": 0.5}, {"f": 0.1}, [Link("f", "a", 1.0, "r")], [], ["f"])
    assert ranked[0].probability == 0.0
    assert ranked[0].against == (Evidence("f", "r", MOST_WEIGHT, absent=True),)


def test_a_finding_seen_can_speak_against_a_cause_when_it_points_to_another() -> None:
    # `slope` explains both findings; `roll` is a weak sign of `tight` and a strong one of `slope`.
    links = [
        Link("gap", "slope", 0.9, "gap-slope"),
        Link("gap", "tight", 0.9, "gap-tight"),
        Link("roll", "slope", 0.9, "roll-slope"),
        Link("roll", "tight", 0.02, "roll-tight"),
    ]
    ranked = rank({"slope": 0.1, "tight": 0.1}, {"gap": 0.01, "roll": 0.01}, links, ["gap", "roll"], [])
    tight = next(one for one in ranked if one.id == "tight")
    assert [evidence.finding for evidence in tight.against] == ["roll"]


def test_weights_are_how_the_odds_change_when_a_finding_is_taken_away() -> None:
    present, absent = ["fold", "gap"], ["roll"]
    for one in rank(PRIORS, LEAKS, LINKS, present, absent):
        now = one.probability / (1.0 - one.probability)
        for evidence, sign in [(found, 1) for found in one.for_] + [(found, -1) for found in one.against]:
            fewer = [[other for other in findings if other != evidence.finding] for findings in (present, absent)]
            then = posteriors(PRIORS, LEAKS, LINKS, *fewer).probability[one.id]
            assert (now / (then / (1.0 - then))) ** sign == pytest.approx(evidence.weight)


def test_the_order_in_which_things_are_given_changes_nothing() -> None:
    expected = rank(PRIORS, LEAKS, LINKS, ["fold", "gap"], ["roll"])
    for seed in range(10):
        priors = dict(Random(seed).sample(sorted(PRIORS.items()), 3))
        links = Random(seed).sample(LINKS, len(LINKS))
        assert rank(priors, LEAKS, links, ["gap", "fold"], ["roll"]) == expected


def both_sides(
    left: Sequence[str], right: Sequence[str], act: float, explain_from: float = 0.0
) -> dict[str, CauseFound]:
    found = {
        side: posteriors(PRIORS, LEAKS, LINKS, present, [name for name in ("gap", "roll") if name not in present])
        for side, present in (("left", left), ("right", right))
    }
    return {cause.id: cause for cause in ranking.rank(found, act, explain_from)}  # type: ignore[arg-type]


def test_a_cause_acted_on_for_one_side_only_is_that_sides_with_its_chance_and_evidence_there() -> None:
    alone = {cause.id: cause for cause in rank(PRIORS, LEAKS, LINKS, ["gap"], ["roll"])}
    for side, found in (("left", both_sides(["gap"], [], 0.5)), ("right", both_sides([], ["gap"], 0.5))):
        assert alone["loose"].probability > 0.5
        loose = found["loose"]
        assert (loose.side, loose.probability, loose.for_) == (side, alone["loose"].probability, alone["loose"].for_)


def test_a_cause_acted_on_for_both_sides_or_for_neither_is_for_both_at_its_higher_chance() -> None:
    acted = both_sides(["gap"], ["gap", "fold"], 0.5)["loose"]
    assert (acted.side, acted.probability) == ("both", both_sides(["gap", "fold"], [], 0.5)["loose"].probability)
    unlikely = both_sides(["gap"], [], 0.99)["loose"]
    assert (unlikely.side, unlikely.probability) == ("both", both_sides(["gap"], [], 0.5)["loose"].probability)


def test_causes_too_unlikely_to_be_shown_are_ranked_without_evidence() -> None:
    full, short = both_sides(["gap"], ["fold"], 0.9), both_sides(["gap"], ["fold"], 0.9, explain_from=0.65)
    assert {cause: one.probability for cause, one in full.items()} == {c: one.probability for c, one in short.items()}
    for cause, one in short.items():
        assert one == (full[cause] if one.probability >= 0.65 else CauseFound(cause, one.probability, one.side, (), ()))
    assert any(full[cause].for_ != short[cause].for_ for cause in full)


def test_what_is_acted_on_keeps_its_side_where_the_threshold_of_showing_is_higher() -> None:
    loose = both_sides(["gap"], [], 0.5, explain_from=0.99)["loose"]
    assert (loose.side, loose.for_) == ("left", ())


def test_a_severe_sign_speaks_more_for_its_causes_than_a_plain_one_and_a_slight_one_less(
    base: RuleBase, matcher: Matcher
) -> None:
    garment = {"style": "corset", "closure": "back", "boning": "full", "seams_per_half": 5}
    gap = {"top": "2 in", "waist": "2 in", "bottom": "2 in"}

    def chances(sign: str, grade: int | None) -> Mapping[str, float]:
        seen = {sign: {"grade": grade} if grade else True}
        tryon = read_tryon({"id": "one", "garment": garment, "gap": gap, "seen": seen}, base.vocabulary)
        return find_sides(tryon, read_gap(tryon, base.settings), base, matcher)["left"].chances.probability

    told = 0
    for sign in base.entries.symptoms.values():
        if sign.id in base.derived | base.stop_flags | base.parts.keys():
            continue
        slight, plain, severe, ungraded = (chances(sign.id, grade) for grade in (1, 2, 3, None))
        for link in sign.causes:
            if not link.only_if:
                assert slight[link.cause] < plain[link.cause] < severe[link.cause], (sign.id, link.cause)
                assert plain[link.cause] == ungraded[link.cause]
                told += 1
    assert told > 100, told
