"""Rule bases and facts invented by chance, for tests and measurements of matchers."""

from __future__ import annotations

from random import Random

from diagnose.rulebase.neutral import Comparison, Facts, Rule, Test

WORDS = ("yes", "no", "a little", "at the top")
OF_WORDS: tuple[Comparison, ...] = ("is", "is", "is", "is-not")
OF_NUMBERS: tuple[Comparison, ...] = ("at-least", "at-most", "more-than", "less-than")


def is_number(fact: int) -> bool:
    return fact % 3 == 0


def invented_rules(count: int, *, facts: int, stages: int, chance: Random) -> list[Rule]:
    """Rules of one to four tests each, two thirds of the facts words; the numbers lie close, so that bounds are met."""
    return [
        Rule(f"rule-{n}", f"stage-{n % stages}", _tests(chance.sample(range(facts), _size(facts, chance)), chance))
        for n in range(count)
    ]


def _size(facts: int, chance: Random) -> int:
    return min(facts, chance.choice((1, 2, 2, 3, 4)))


def _tests(facts: list[int], chance: Random) -> tuple[Test, ...]:
    return tuple(
        Test(f"fact-{fact}", chance.choice(OF_NUMBERS), chance.randint(-8, 8) / 4)
        if is_number(fact)
        else Test(f"fact-{fact}", chance.choice(OF_WORDS), chance.choice(WORDS))
        for fact in facts
    )


def invented_facts(count: int, *, facts: int, chance: Random) -> Facts:
    """So many facts known, in an order of chance; a few words are ones that no rule names."""
    return {
        f"fact-{fact}": chance.randint(-8, 8) / 4 if is_number(fact) else chance.choice((*WORDS, "not in any rule"))
        for fact in chance.sample(range(facts), min(count, facts))
    }
