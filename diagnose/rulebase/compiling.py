"""From entries to the neutral form: which conditions the matcher tests, and what each stands for.

Stages, in order: ``stop`` (flags that end everything), ``signs`` (readings that make a derived sign present or
absent), ``links`` (signs and answers to causes), ``mends`` (causes to alterations), ``order`` (conflicts and holds
among the alterations chosen). A rule is only a condition; what follows from it is looked up by its id.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from msgspec import Struct

from diagnose.errors import FitError, Mistake
from diagnose.rulebase.neutral import Comparison, Facts, Rule, Test
from diagnose.rulebase.reading.entries import CauseLink, Symptom
from diagnose.rulebase.reading.fields import Condition
from diagnose.rulebase.reading.schema import RuleSet

__all__ = [
    "ANY", "Askable", "Link", "answer_finding", "askable_findings", "by_finding", "cause_fact", "chosen_fact",
    "conditions_of", "either", "link_rules", "links_by_rule",
]  # fmt: skip

ANY = "-"
"""A word that no fact has: ``is-not ANY`` holds as soon as the fact is known."""
OPPOSITE: dict[Comparison, Comparison] = {
    "is": "is-not", "is-not": "is", "at-least": "less-than", "less-than": "at-least", "at-most": "more-than",
    "more-than": "at-most",
}  # fmt: skip
Conditions = Mapping[str, tuple[Condition, ...]]
"""By rule, its conditions."""


class Link(NamedTuple):
    """A cause shows a finding: `strength` is the chance (0 to 1) that the cause alone shows it; `rule` says so."""

    finding: str
    cause: str
    strength: float
    rule: str


def either(one: float, other: float) -> float:
    """The chance that at least one of two independent things happens, exact also when both are tiny."""
    return one + other * (1.0 - one)


def by_finding(links: Iterable[Link]) -> dict[str, tuple[Link, ...]]:
    """Links sorted out by finding, one of each cause: several combine as noisy-OR, under the strongest one's rule.

    Raises:
        FitError: every link whose strength is no chance.
    """
    links = tuple(links)
    wrong = [link for link in links if not 0.0 <= link.strength <= 1.0]
    if wrong:
        raise FitError(
            Mistake(f"rule {link.rule}", f"its strength is {link.strength!r}.", "Give 0 to 1.", code="not-a-chance")
            for link in wrong
        )
    found: dict[str, dict[str, Link]] = {}
    for link in sorted(links, key=lambda link: (-link.strength, link.rule)):
        own = found.setdefault(link.finding, {})
        first = own.get(link.cause)
        own[link.cause] = link if first is None else first._replace(strength=either(first.strength, link.strength))
    return {finding: tuple([own[cause] for cause in sorted(own)]) for finding, own in found.items()}


class Askable(Struct, frozen=True):
    """A finding that can be looked for.

    Attributes:
        name: the sign or the question.
        causes: the causes that can show it.
        links: all its links; always: those without conditions, one of each cause.
        conditions: by rule, the conditions of the others.
    """

    name: str
    causes: frozenset[str]
    links: tuple[Link, ...]
    always: tuple[Link, ...]
    conditions: Conditions

    def in_play(self, facts: Facts) -> tuple[Link, ...]:
        """The links that the finding would bring, were it known beside these facts."""
        if not self.conditions:
            return self.always
        met = {rule for rule, lines in self.conditions.items() if all(line.holds(facts) for line in lines)}
        if not met:
            return self.always
        more = [link for link in self.links if link.rule in met]
        return next(iter(by_finding([*self.always, *more]).values()))


def cause_fact(cause: str) -> str:
    """The fact that a cause is acted on."""
    return f"cause.{cause}"


def chosen_fact(alteration: str) -> str:
    """The fact that an alteration is chosen for the round."""
    return f"chosen.{alteration}"


def answer_finding(question: str, answer: str) -> str:
    """The finding that a question was answered so."""
    return f"{question}={answer}"


def conditions_of(rules: RuleSet) -> tuple[Rule, ...]:
    """All conditions of the rule base, stage by stage, in the order of the files."""
    return (*_stops(rules), *_signs(rules), *_links(rules), *_mends(rules), *_order(rules))


def links_by_rule(rules: RuleSet) -> dict[str, tuple[Link, ...]]:
    """For each rule of the stage ``links``, the links it brings."""
    found: dict[str, tuple[Link, ...]] = {}
    shows = rules.words.shows
    for symptom in rules.symptoms.values():
        for rule_id, causes in link_rules(symptom):
            found[rule_id] = tuple(Link(symptom.id, c.cause, shows[c.shows], rule=rule_id) for c in causes)
    for question in rules.questions.values():
        rule_id = f"answer:{question.id}"
        found[rule_id] = tuple(
            Link(answer_finding(question.id, a.answer), a.cause, shows[a.shows], rule=rule_id)
            for a in question.points_to
        )
    return found


def _tests(conditions: tuple[Condition, ...]) -> tuple[Test, ...]:
    return tuple(Test(c.fact, c.comparison, c.value) for c in conditions)


def _stops(rules: RuleSet) -> Iterator[Rule]:
    for symptom in rules.symptoms.values():
        if symptom.now is not None:
            yield Rule(f"stop:{symptom.id}", "stop", (Test(symptom.id, "is", "yes"),))
        if symptom.now is not None and symptom.when:
            yield Rule(f"stop:{symptom.id}:measured", "stop", _tests(symptom.when))


def _signs(rules: RuleSet) -> Iterator[Rule]:
    for symptom in rules.symptoms.values():
        if not symptom.when or symptom.now is not None:
            continue
        yield Rule(f"sign:{symptom.id}:yes", "signs", _tests(symptom.when))
        for number, line in enumerate(symptom.when, 1):
            opposite = Test(line.fact, OPPOSITE[line.comparison], line.value)
            yield Rule(f"sign:{symptom.id}:no:{number}", "signs", (opposite,))


def link_rules(symptom: Symptom) -> Iterator[tuple[str, list[CauseLink]]]:
    """The rules of a sign's links: one for all that hold always, one for each that holds on conditions.

    A cause may be linked more than once on conditions, where any of them will do; its later rules bear a number.
    """
    plain = [link for link in symptom.causes if not link.only_if]
    if plain:
        yield f"link:{symptom.id}", plain
    stands: Counter[str] = Counter()
    for link in symptom.causes:
        if link.only_if:
            stands[link.cause] += 1
            again = f":{stands[link.cause]}" if stands[link.cause] > 1 else ""
            yield f"link:{symptom.id}:{link.cause}{again}", [link]


def _links(rules: RuleSet) -> Iterator[Rule]:
    for symptom in rules.symptoms.values():
        for rule_id, causes in link_rules(symptom):
            yield Rule(rule_id, "links", (Test(symptom.id, "is-not", ANY), *_tests(causes[0].only_if)))
    for question in rules.questions.values():
        if question.points_to:
            yield Rule(f"answer:{question.id}", "links", (Test(question.id, "is-not", ANY),))


def _mends(rules: RuleSet) -> Iterator[Rule]:
    for cause in rules.causes.values():
        for number, choice in enumerate(cause.alterations, 1):
            tests = (Test(cause_fact(cause.id), "is", "yes"), *_tests(choice.only_if))
            yield Rule(f"mend:{cause.id}:{number}", "mends", tests)


def _order(rules: RuleSet) -> Iterator[Rule]:
    for number, pair in enumerate(rules.order.conflicts, 1):
        both = (Test(chosen_fact(pair.one), "is", "yes"), Test(chosen_fact(pair.other), "is", "yes"))
        yield Rule(f"conflict:{number}", "order", both)
    for number, hold in enumerate(rules.order.holds, 1):
        for alteration in hold.hold:
            yield Rule(f"hold:{number}:{alteration}", "order", (Test(chosen_fact(alteration), "is", "yes"),))


def askable_findings(
    links: Mapping[str, tuple[Link, ...]], conditions: Conditions, never: Collection[str]
) -> dict[str, Askable]:
    """By finding, those that can be looked for.

    Args:
        links: by rule, the links it brings.
        conditions: of each conditional rule, its conditions beside the finding being known.
        never: the signs that are never asked for.
    """
    found: dict[str, list[Link]] = {}
    for link in (link for own in links.values() for link in own):
        if link.finding.partition("=")[0] not in never:
            found.setdefault(link.finding, []).append(link)
    return {finding: _askable(finding, own, conditions) for finding, own in found.items()}


def _askable(finding: str, links: list[Link], conditions: Conditions) -> Askable:
    always = by_finding([link for link in links if link.rule not in conditions]).get(finding, ())
    own = {link.rule: conditions[link.rule] for link in links if link.rule in conditions}
    return Askable(
        finding.partition("=")[0], frozenset(link.cause for link in links), tuple(links), always=always, conditions=own
    )
