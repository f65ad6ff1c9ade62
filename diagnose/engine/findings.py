"""From a try-on to what holds on one side of the body: facts, signs present and absent, and the links they bring.

A try-on is matched once for the left and once for the right side of the body. A sign seen on one side only was looked
for on the other and is absent there. What no rule can tell apart is matched once for both. Signs that follow from the
gap readings are worked out, never asked.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cached_property, lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.engine.inference.noisy_or import Links, Posteriors, posteriors
from diagnose.errors import FitError, Mistake
from diagnose.gap.reading import GapReading, gap_facts
from diagnose.model.tryon import BODY_FACTS, GARMENT_FACTS, TryOn, garment_word
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link, by_finding
from diagnose.rulebase.neutral import Facts, Firing, Matcher
from diagnose.rulebase.reading.fields import Condition
from diagnose.rulebase.reading.schema import SettleFirst

__all__ = ["BodySide", "SideFindings", "body_sides", "find_sides", "garment_facts", "settled_first"]

BodySide = Literal["left", "right"]


class SideFindings(Struct, frozen=True, dict=True):
    """What holds on one side.

    Attributes:
        facts: every fact known, by name.
        present: findings that show; absent: those looked for and not there. Only findings that some link reaches.
        by_finding: of each of those findings, the links from causes to it.
        stops: the stop flags that are up.
        firings: by stage, the rules that fired, with the facts they stood on.
        base: the rule base.
        like: the other side, when it has been looked at before.
    """

    facts: Facts
    present: tuple[str, ...]
    absent: tuple[str, ...]
    by_finding: Links
    stops: tuple[str, ...]
    firings: Mapping[str, tuple[Firing, ...]]
    base: RuleBase
    like: SideFindings | None = None

    @cached_property
    def chances(self) -> Posteriors:
        """The chance of each cause on this side.

        Where what is to be settled first has a known cause, the reading is in doubt: that cause is believed, what
        was worked out from the gap and is there shows oftener by itself, and what is not there says nothing against it.
        """
        grades = {sign: self.facts.get(f"{sign}.grade") for sign in self.present}
        leaks = {sign: self.base.leak_of(sign, int(g)) for sign, g in grades.items() if isinstance(g, float)}
        like, network, links = self.like.chances if self.like else None, self.base.network, self.by_finding
        doubts = [first.cause for first in settled_first(self.facts, self.base) if first.cause]
        if doubts:
            network = network._replace(priors={**network.priors, **dict.fromkeys(doubts, self.base.believed)})
            leaks = {**self.base.doubtful, **leaks}
            unread = self.base.derived.intersection(self.absent)
            links = {
                finding: tuple(link for link in own if finding not in unread or link.cause not in doubts)
                for finding, own in links.items()
            }
        network = network._replace(leaks={**network.leaks, **leaks}) if leaks else network
        return posteriors(network, links, self.present, absent=self.absent, like=like)

    @property
    def links(self) -> tuple[Link, ...]:
        """The links from causes to the findings, one after the other."""
        return tuple([link for links in self.by_finding.values() for link in links])


def settled_first(facts: Facts, base: RuleBase) -> Iterator[SettleFirst]:
    """What is to be settled before anything is cut, as the facts of a side say.

    A line that something is not so holds as well where nobody has said: it is settled unless it is known to be so.
    """
    for first in base.entries.settle.settle:
        open_ = not any(name in facts for name in first.unknown)
        if open_ and all(line.holds(facts) or _unsaid(line, facts) for line in first.when):
            yield first


def _unsaid(line: Condition, facts: Facts) -> bool:
    return line.comparison == "is-not" and line.fact not in facts


def body_sides(tryon: TryOn) -> tuple[BodySide, ...]:
    """The sides that must be matched apart: one run serves both when nothing was seen on one side only."""
    one_sided = any(seen.shown and seen.side in ("left", "right") for seen in tryon.seen.values())
    return ("left", "right") if one_sided else ("left",)


def find_sides(
    tryon: TryOn, reading: GapReading, base: RuleBase, matcher: Matcher, more: Facts | None = None
) -> dict[BodySide, SideFindings]:
    """The findings of each side that must be looked at apart.

    Args:
        tryon: the try-on; reading: its gap; base: the rule base; matcher: compiled from the same base.
        more: facts from elsewhere (the pattern, the case), which the try-on's own facts overrule.

    Raises:
        FitError: when a sign that follows from the readings was answered against them.
    """
    shared: dict[str, str | float] = {**(more or {}), **garment_facts(tryon), **gap_facts(reading)}
    first, *others = body_sides(tryon)
    seen = _seen_facts(tryon, first)
    found = {first: _find(tryon, shared | seen, base, matching=_Matching(base, matcher))}
    for side in others:
        here = _seen_facts(tryon, side)
        changed = {name for name, _ in seen.items() ^ here.items()}
        found[side] = _find(
            tryon, shared | here, base, matching=_Matching(base, matcher, found[first], changed=changed)
        )
    return found


class _Matching(Struct, frozen=True):
    """Matches the facts of a side; of those like another side's only the rules that test a fact that has changed.

    Attributes:
        base: the rule base; matcher: compiled from it.
        like: the other side, when there is one.
        changed: the names of the facts that differ from that side's.
    """

    base: RuleBase
    matcher: Matcher
    like: SideFindings | None = None
    changed: Collection[str] = ()

    def match(self, stage: str, facts: Facts) -> tuple[Firing, ...]:
        """The rules that hold, in the order of the rule base."""
        if self.like is None:
            return self.matcher.match(stage, facts)
        again = {rule.id: rule for name in self.changed for rule in self.base.testing.get(name, ())}
        again = {name: rule for name, rule in again.items() if rule.stage == stage}
        if not again:
            return self.like.firings[stage]
        needed = {test.fact for rule in again.values() for test in rule.tests}
        fresh = self.matcher.match(stage, {name: facts[name] for name in needed if name in facts})
        both = [firing for firing in fresh if firing.rule in again]
        both += [firing for firing in self.like.firings[stage] if firing.rule not in again]
        return tuple(sorted(both, key=lambda firing: self.base.place[firing.rule]))

    def knowing(self, signs: tuple[Firing, ...]) -> _Matching:
        """The matching, once the signs that follow from the readings are known too."""
        if self.like is None or signs is self.like.firings["signs"]:
            return self
        more = {name for name, _ in _derived(signs).items() ^ _derived(self.like.firings["signs"]).items()}
        return replace(self, changed={*self.changed, *more})


def _derived(signs: Iterable[Firing]) -> dict[str, str]:
    """The signs that follow, each with yes or no."""
    return dict([_sign_of(firing.rule) for firing in signs])


@lru_cache(maxsize=4096)
def _sign_of(rule: str) -> tuple[str, str]:
    _, sign, word, *_ = rule.split(":")
    return sign, word


def _find(tryon: TryOn, facts: dict[str, str | float], base: RuleBase, matching: _Matching) -> SideFindings:
    signs = matching.match("signs", facts)
    derived = _derived(signs)
    _agree(tryon, derived)
    facts |= derived
    matching = matching.knowing(signs)
    stops, linked = matching.match("stop", facts), matching.match("links", facts)
    links = _links(linked, base)
    present, absent = _sorted_out(links, facts)
    flags = tuple(firing.rule.split(":")[1] for firing in stops)
    firings = {"signs": signs, "stop": stops, "links": linked}
    return SideFindings(
        facts, present, absent, by_finding=links, stops=flags, firings=firings, base=base, like=matching.like
    )


def _links(linked: Iterable[Firing], base: RuleBase) -> dict[str, tuple[Link, ...]]:
    """By finding, the links that the rules bring."""
    links: dict[str, tuple[Link, ...]] = {}
    for firing in linked:
        for finding, own in base.shown_by(firing.rule).items():
            links[finding] = _joined(finding, links[finding], own) if finding in links else own
    return links


@lru_cache(maxsize=4096)
def _joined(finding: str, one: tuple[Link, ...], other: tuple[Link, ...]) -> tuple[Link, ...]:
    return by_finding([*one, *other])[finding]


def garment_facts(tryon: TryOn) -> dict[str, str | float]:
    """The facts about garment, wearer and answers."""
    garment, wearer = tryon.garment, tryon.wearer
    words = {name.replace("_", "-"): garment_word(garment, name) for name in GARMENT_FACTS} | {"tension": tryon.tension}
    if tryon.gap and words["fastening"] is None:
        words["fastening"] = "laced"  # a gap is read on a lacing, where nothing else is said
    reduction = wearer.planned_reduction_mm
    numbers = {
        "seams-per-half": garment.seams_per_half,
        "panel-seam-edges": None if garment.seams_per_half is None else 4 * garment.seams_per_half,
        "allowance": garment.allowance_mm, **{fact: getattr(wearer, f"{name}_mm") for name, fact in BODY_FACTS.items()},
        "reduction-ratio": reduction / wearer.waist_mm if reduction is not None and wearer.waist_mm else None,
    }  # fmt: skip
    answers = dict(tryon.known)
    if garment.meant_to_meet is not None:
        answers["meant-to-meet"] = garment.meant_to_meet
    facts: dict[str, str | float] = {name: word for name, word in words.items() if word is not None}
    facts["target-told"] = "yes" if tryon.target else "no"
    facts |= {name: float(number) for name, number in numbers.items() if number is not None}
    return facts | {question: "yes" if answer else "no" for question, answer in answers.items()}


def _seen_facts(tryon: TryOn, side: BodySide) -> dict[str, str | float]:
    facts: dict[str, str | float] = {}
    for name, seen in tryon.seen.items():
        here = seen.shown and seen.side in (None, "both", side)
        facts[name] = "yes" if here else "no"
        if here and seen.amount is not None:
            facts[f"{name}.amount"] = float(seen.amount)
        if here and seen.grade is not None:
            facts[f"{name}.grade"] = float(seen.grade)
    return facts


def _agree(tryon: TryOn, derived: Mapping[str, str]) -> None:
    wrong = [
        Mistake(f"seen.{name}", f"The gap readings say {'it shows' if word == 'yes' else 'it does not show'}.",
                "Drop this answer, or correct the readings.", code="readings-disagree")
        for name, word in derived.items()
        if name in tryon.seen and tryon.seen[name].shown != (word == "yes")
    ]  # fmt: skip
    if wrong:
        raise FitError(wrong)


def _sorted_out(links: Iterable[str], facts: Facts) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Findings that some link reaches, present and absent, in the order of the links."""
    present: list[str] = []
    absent: list[str] = []
    for finding in links:
        name, word = _asked_of(finding)
        (present if facts[name] == word else absent).append(finding)
    return tuple(present), tuple(absent)


@lru_cache(maxsize=4096)
def _asked_of(finding: str) -> tuple[str, str]:
    """The sign or question of a finding, and the word with which it is present."""
    name, _, answer = finding.partition("=")
    return name, answer or "yes"
