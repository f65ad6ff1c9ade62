"""What a maker's own cases say against the base, in lines."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.casework.experience import AmountLearnt, Experience, LinkLearnt
from diagnose.rulebase.reading.schema import RuleSet, in_sentence

__all__ = ["experience_lines"]

MOST_QUIET = 8


def experience_lines(made: Experience, rules: RuleSet) -> Iterator[str]:
    """What is suggested, each with its counts and interval; then how much was counted that says nothing yet."""
    yield f"{made.cases} case(s), {made.rounds} round(s) from one try-on to the next."
    said = [_amount(one, rules) for one in made.amounts if one.times]
    said += [_link(one, rules) for one in made.links if one.suggests]
    yield from said or ["They suggest no change: what they show agrees with the base, or is too little to tell."]
    quiet = [one for one in made.amounts if not one.times]
    quiet_links = [one for one in made.links if not one.suggests]
    if quiet or quiet_links:
        yield f"Counted besides, with nothing to suggest: {len(quiet)} amount(s), {len(quiet_links)} link(s)."
    for one in quiet[:MOST_QUIET]:
        yield f"  {_whose(one, rules)}: {one.cases} case(s), {one.share:.2f} of what was drawn showed."
    yield "Nothing was changed. --write DIR makes a folder of rules of your own from what is suggested."


def _whose(one: AmountLearnt, rules: RuleSet) -> str:
    cause = in_sentence(rules.causes[one.cause].title) if one.cause in rules.causes else one.cause
    return (
        f"{rules.alterations[one.alteration].title if one.alteration in rules.alterations else one.alteration}, {cause}"
    )


def _amount(one: AmountLearnt, rules: RuleSet) -> str:
    between = f"{one.low:.2f} to {one.high:.2f}"
    return (
        f"{_whose(one, rules)}: of what was drawn {one.share:.2f} showed in the gap (between {between}), in "
        f"{one.cases} cases and {one.rounds} rounds. Suggested: {one.times:g} times the amount of the base."
    )


def _link(one: LinkLearnt, rules: RuleSet) -> str:
    sign, cause = rules.symptoms[one.sign].title, in_sentence(rules.causes[one.cause].title)
    return (
        f"{sign}, where the cause was {cause}: there in {one.there} of {one.cases} cases (a chance between "
        f"{one.low:.2f} and {one.high:.2f}; the base says {one.word}, {one.value:g}). Suggested: {one.suggests}."
    )
