"""The findings that can be looked for: signs and answers that do not follow from the readings and end nothing."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from msgspec import Struct

from diagnose.rulebase.compiling import Link, by_finding
from diagnose.rulebase.neutral import Facts
from diagnose.rulebase.reading.fields import Condition

__all__ = ["Askable", "askable_findings"]

Conditions = Mapping[str, tuple[Condition, ...]]


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
