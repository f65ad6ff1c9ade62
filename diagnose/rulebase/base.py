"""The rule base in use: entries, compiled conditions, and the numbers of the words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from functools import cached_property

from msgspec import Struct

from diagnose.model.settings import Settings
from diagnose.model.tryon import GRADE_WORDS
from diagnose.model.tryon_reading import Vocabulary
from diagnose.rulebase.compiling import (
    Askable,
    Link,
    answer_finding,
    askable_findings,
    by_finding,
    conditions_of,
    link_rules,
    links_by_rule,
)
from diagnose.rulebase.network import Network, network
from diagnose.rulebase.neutral import Rule
from diagnose.rulebase.reading.entries import AlterationChoice, Cause
from diagnose.rulebase.reading.fields import Condition
from diagnose.rulebase.reading.schema import Conflict, Hold, RuleSet

__all__ = ["NOT_THE_PATTERN", "RuleBase"]

NOT_THE_PATTERN = "not-the-pattern"
"""The group of causes that are settled before any alteration."""


class RuleBase(Struct, frozen=True, dict=True):
    """A checked rule base. `digest` names its contents; `entries` are the entries by kind and id."""

    entries: RuleSet
    settings: Settings
    digest: str

    def with_settings(self, settings: Settings) -> RuleBase:
        """These rules under other settings."""
        return RuleBase(self.entries, settings, self.digest)

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """All conditions in the neutral form."""
        return conditions_of(self.entries)

    @cached_property
    def links(self) -> Mapping[str, tuple[Link, ...]]:
        """The links that each rule of the stage ``links`` brings."""
        return links_by_rule(self.entries)

    def shown_by(self, rule: str) -> Mapping[str, tuple[Link, ...]]:
        """The links that one rule of the stage ``links`` brings, by finding."""
        found = self._shown.get(rule)
        if found is None:
            found = self._shown[rule] = by_finding(self.links[rule])
        return found

    @cached_property
    def _shown(self) -> dict[str, Mapping[str, tuple[Link, ...]]]:
        """Those asked for so far: a single try-on needs one in ten."""
        return {}

    @cached_property
    def testing(self) -> Mapping[str, tuple[Rule, ...]]:
        """For each fact, the rules that test it."""
        found: dict[str, dict[str, Rule]] = {}
        for rule in self.rules:
            for test in rule.tests:
                found.setdefault(test.fact, {})[rule.id] = rule
        return {fact: tuple(rules.values()) for fact, rules in found.items()}

    @cached_property
    def place(self) -> Mapping[str, int]:
        """The place of each rule in the order of the rule base."""
        return {rule.id: number for number, rule in enumerate(self.rules)}

    @cached_property
    def link_conditions(self) -> Mapping[str, tuple[Condition, ...]]:
        """For each conditional link's rule, its conditions."""
        return {
            rule: links[0].only_if
            for symptom in self.entries.symptoms.values()
            for rule, links in link_rules(symptom)
            if links[0].only_if
        }

    @cached_property
    def askable(self) -> Mapping[str, Askable]:
        """By finding, those that can be looked for."""
        return askable_findings(self.links, self.link_conditions, self.derived | self.stop_flags)

    @cached_property
    def pointing(self) -> Mapping[str, tuple[tuple[int, float], ...]]:
        """By cause, the places in `askable` of the findings that point to it, with the strength of the link."""
        place = {finding: number for number, finding in enumerate(self.askable)}
        found: dict[str, list[tuple[int, float]]] = {cause: [] for cause in self.entries.causes}
        for link in (link for askable in self.askable.values() for link in askable.links):
            found[link.cause].append((place[link.finding], link.strength))
        return {cause: tuple(links) for cause, links in found.items()}

    @cached_property
    def unlike(self) -> tuple[tuple[str, str, float], ...]:
        """In the order of `askable`: the finding, its sign or question, and how seldom it shows by itself (below 0)."""
        return tuple((finding, one.name, self.leaks[finding] - 1.0) for finding, one in self.askable.items())

    @cached_property
    def first_step(self) -> Mapping[str, int]:
        """For each cause, the place in the order of work at which it is acted on.

        A cause that is not the pattern's comes before all steps, one that nothing mends after them.
        """
        return {cause.id: self._first_step(cause) for cause in self.entries.causes.values()}

    def _first_step(self, cause: Cause) -> int:
        if cause.group == NOT_THE_PATTERN:
            return -1
        steps = [self.step_rank[self.entries.alterations[choice.alteration].step] for choice in cause.alterations]
        return steps[0] if steps else len(self.step_rank)

    @cached_property
    def priors(self) -> Mapping[str, float]:
        """The chance of each cause before anything is seen."""
        words = self.entries.words.common
        return {cause.id: words[cause.common] for cause in self.entries.causes.values()}

    @cached_property
    def leaks(self) -> Mapping[str, float]:
        """The chance that each finding shows with none of its causes there."""
        words = self.entries.words.unexplained
        leaks = {symptom.id: words[symptom.unexplained] for symptom in self.entries.symptoms.values()}
        for question in self.entries.questions.values():
            leaks[answer_finding(question.id, "yes")] = words[question.unexplained.yes]
            leaks[answer_finding(question.id, "no")] = words[question.unexplained.no]
        return leaks

    def leak_of(self, sign: str, grade: int) -> float:
        """The chance that a sign of a grade shows with none of its causes there: slight oftener, severe seldomer.

        However slight, none is likelier than the strongest word says.
        """
        words = self.entries.words
        return min(max(words.unexplained.values()), self.leaks[sign] * words.graded[GRADE_WORDS[grade]])

    @property
    def believed(self) -> float:
        """The chance of a cause that what is to be settled first points at, before any other finding."""
        return self.entries.words.shows["usually"]

    @cached_property
    def doubtful(self) -> Mapping[str, float]:
        """The chance that each sign worked out from the gap shows by itself where the reading is in doubt."""
        usually = self.entries.words.unexplained["usually"]
        return {sign: max(usually, self.leaks[sign]) for sign in self.derived}

    @cached_property
    def network(self) -> Network:
        """The chances that causes start from and that findings show by themselves, checked.

        Raises:
            FitError: when a word is worth a number that is no such chance.
        """
        return network(self.priors, self.leaks)

    @cached_property
    def mends(self) -> Mapping[str, tuple[str, AlterationChoice]]:
        """For each rule of the stage ``mends``: the cause and the choice it stands for."""
        return {
            f"mend:{cause.id}:{number}": (cause.id, choice)
            for cause in self.entries.causes.values()
            for number, choice in enumerate(cause.alterations, 1)
        }

    @cached_property
    def conflicts(self) -> Mapping[str, Conflict]:
        """For each conflict rule of the stage ``order``, what it forbids."""
        return {f"conflict:{n}": pair for n, pair in enumerate(self.entries.order.conflicts, 1)}

    @cached_property
    def holds(self) -> Mapping[str, Hold]:
        """For each hold rule of the stage ``order``, what it holds and until when."""
        return {
            f"hold:{n}:{alteration}": hold
            for n, hold in enumerate(self.entries.order.holds, 1)
            for alteration in hold.hold
        }

    @cached_property
    def derived(self) -> frozenset[str]:
        """The signs that are worked out from the readings."""
        return frozenset(s.id for s in self.entries.symptoms.values() if s.when and s.now is None)

    @cached_property
    def behind_readings(self) -> Mapping[tuple[str, bool], tuple[str, ...]]:
        """By station, and whether its gap is narrower (True) or wider than wanted: the causes of that in the pattern.

        Causes that show in the fewest such readings come first: they are of that station alone.
        """
        read = {
            (fact.removeprefix("change-"), symptom.when[0].comparison in ("more-than", "at-least")): symptom
            for symptom in self.entries.symptoms.values()
            if len(symptom.when) == 1 and (fact := symptom.when[0].fact).startswith("change-")
        }
        shown = Counter(link.cause for symptom in read.values() for link in symptom.causes)
        causes = {place: {link.cause for link in symptom.causes} - self.outside for place, symptom in read.items()}
        return {place: tuple(sorted(of, key=lambda cause: (shown[cause], cause))) for place, of in causes.items()}

    @cached_property
    def settled_first(self) -> frozenset[str]:
        """The questions whose bad answer must be settled before any alteration of the pattern."""
        gates = ("toile", "lacing", "scale", "cloth")
        return frozenset(q.id for q in self.entries.questions.values() if q.gate in gates)

    @cached_property
    def gate_findings(self) -> tuple[str, ...]:
        """The answers to gate questions that speak for something other than the pattern."""
        return tuple(
            answer_finding(question.id, answer)
            for question in self.entries.questions.values()
            if question.gate != "none"
            for answer in dict.fromkeys(link.answer for link in question.points_to if link.cause in self.outside)
        )

    @cached_property
    def about(self) -> Mapping[str, frozenset[str]]:
        """For each question that is about signs, those signs."""
        return {q.id: frozenset(q.about) for q in self.entries.questions.values() if q.about}

    @cached_property
    def outside(self) -> frozenset[str]:
        """The causes that are not the pattern's."""
        return frozenset(cause.id for cause in self.entries.causes.values() if cause.group == NOT_THE_PATTERN)

    @cached_property
    def presumed(self) -> Mapping[str, str]:
        """For each question on toile, lacing and scale that points to a cause: what is said while it has no answer."""
        return {
            q.id: f"“{q.ask}” was taken as {'no' if 'yes' in {link.answer for link in q.points_to} else 'yes'}."
            for q in self.entries.questions.values()
            if q.gate in ("toile", "lacing", "scale") and q.points_to
        }

    @cached_property
    def stop_flags(self) -> frozenset[str]:
        """The signs that end the diagnosis."""
        return frozenset(s.id for s in self.entries.symptoms.values() if s.now is not None)

    @cached_property
    def step_rank(self) -> Mapping[str, int]:
        """The place of each step in the order of work."""
        return {step.id: n for n, step in enumerate(self.entries.order.steps)}

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The signs and questions that a try-on may name."""
        signs = {s.id: (s.record.amount, s.record.low, s.record.high) for s in self.entries.symptoms.values()}
        ranges = {name: (fact.low, fact.high) for name, fact in self.entries.facts.items() if fact.unit == "length"}
        titles = {name: self.entries.symptoms[name].title for name in self.parts if name in self.entries.symptoms}
        return Vocabulary(signs, frozenset(self.entries.questions), ranges, titles=titles, parts=self.parts)

    @cached_property
    def usual(self) -> Mapping[str, str]:
        """For facts of the garment, what is supposed where nobody says, when it is chosen what to ask."""
        facts = self.entries.facts.items()
        return {name.replace("-", "_"): fact.usual for name, fact in facts if fact.usual is not None}

    @cached_property
    def parts(self) -> Mapping[str, Mapping[str, frozenset[str]]]:
        """For each sign and question of a part of the garment, the facts that tell of it, each with the words for “it
        is there”."""
        parts = {
            **{symptom.id: symptom.part for symptom in self.entries.symptoms.values()},
            **{question.id: question.part for question in self.entries.questions.values()},
        }
        return {name: self._words_for(part) for name, part in parts.items() if part}

    def _words_for(self, part: Iterable[Condition]) -> Mapping[str, frozenset[str]]:
        """By fact, the words for which every line that names it holds."""
        found: dict[str, frozenset[str]] = {}
        for line in part:
            name = line.fact.replace("-", "_")
            words = found.get(name, frozenset(self.entries.facts[line.fact].words))
            found[name] = frozenset(word for word in words if (word == line.value) is (line.comparison == "is"))
        return found
