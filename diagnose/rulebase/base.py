"""The rule base in use: entries, compiled conditions, and the numbers of the words. Loaded once, kept in a cache.

Reading two hundred YAML files takes much longer than a diagnosis, so a folder that has been read and found right is
kept as JSON in the user's cache folder, under a hash of the files' contents; a changed file gives another hash.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from pydantic import ValidationError

from diagnose.errors import FitError
from diagnose.model.settings import Settings
from diagnose.model.tryon import Vocabulary
from diagnose.places import bundled_rules
from diagnose.rulebase.askable import Askable, askable_findings
from diagnose.rulebase.compiling import Link, answer_finding, by_finding, conditions_of, links_by_rule
from diagnose.rulebase.network import Network, network
from diagnose.rulebase.neutral import Rule
from diagnose.rulebase.schema import AlterationChoice, Cause, Condition, Conflict, Hold, RuleSet
from diagnose.rulebase.settings import read_settings

__all__ = ["NOT_THE_PATTERN", "RuleBase", "cache_folder", "keep_file", "load_rulebase"]

CACHE_FORM = "2"
NOT_THE_PATTERN = "not-the-pattern"
"""The group of causes that are settled before any alteration."""


@dataclass(frozen=True)
class RuleBase:
    """A checked rule base. `digest` names its contents; `entries` are the entries by kind and id."""

    entries: RuleSet
    settings: Settings
    digest: str

    def with_settings(self, settings: Settings) -> RuleBase:
        """The same rules under other settings."""
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
            f"link:{symptom.id}:{link.cause}": link.only_if
            for symptom in self.entries.symptoms.values()
            for link in symptom.causes
            if link.only_if
        }

    @cached_property
    def askable(self) -> Mapping[str, Askable]:
        """By finding, those that can be looked for."""
        return askable_findings(self.links, self.link_conditions, self.derived | self.stop_flags)

    @cached_property
    def pointing(self) -> Mapping[str, tuple[tuple[str, float], ...]]:
        """By cause, the findings that can be looked for and point to it, with the strength of the link."""
        found: dict[str, list[tuple[str, float]]] = {cause: [] for cause in self.entries.causes}
        for link in (link for askable in self.askable.values() for link in askable.links):
            found[link.cause].append((link.finding, link.strength))
        return {cause: tuple(links) for cause, links in found.items()}

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

    @cached_property
    def network(self) -> Network:
        """Both, checked.

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
    def settled_first(self) -> frozenset[str]:
        """The questions whose bad answer must be settled before any alteration of the pattern."""
        gates = ("toile", "lacing", "scale", "cloth")
        return frozenset(q.id for q in self.entries.questions.values() if q.gate in gates)

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
        return Vocabulary(signs, frozenset(self.entries.questions))


def cache_folder() -> Path:
    """Where compiled rule bases are kept: ``$XDG_CACHE_HOME`` or ``~/.cache``, in `diagnose-fit`."""
    base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "diagnose-fit"


def load_rulebase(folder: Path | None = None) -> RuleBase:
    """The rule base of a folder (the bundled one by default), from the cache when its files have not changed.

    Raises:
        FitError: with every mistake, when the folder does not hold a right rule base.
    """
    folder = folder or bundled_rules()
    digest = _digest(folder)
    kept = cache_folder() / f"rules-{digest[:32]}.json"
    entries = _kept(kept)
    if entries is None:
        entries = _read_and_check(folder)
        keep_file(kept, entries.model_dump_json(by_alias=True).encode())
    return RuleBase(entries, read_settings(folder), digest)


def _digest(folder: Path) -> str:
    if not folder.is_dir():
        raise FitError.of(str(folder), "There is no such folder of rules.", "Name a folder that holds facts.yaml.")
    sum_ = hashlib.sha256(CACHE_FORM.encode())
    for path in sorted(folder.rglob("*.yaml")):
        sum_.update(path.relative_to(folder).as_posix().encode() + b"\0")
        sum_.update(path.read_bytes() + b"\0")
    return sum_.hexdigest()


def _read_and_check(folder: Path) -> RuleSet:
    # Imported here: reading and checking YAML is needed only when the cache does not hold the folder.
    from diagnose.rulebase.check import check_read
    from diagnose.rulebase.load import read_rules

    read = read_rules(folder)
    mistakes = check_read(read)
    if mistakes:
        raise FitError(mistakes)
    return read.rules


def _kept(path: Path) -> RuleSet | None:
    try:
        return RuleSet.model_validate_json(path.read_bytes())
    except (OSError, ValidationError):
        return None


def keep_file(path: Path, data: bytes) -> None:
    """Write a cache entry whole or not at all; a folder that can't be written only costs time."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".new", delete=False) as new:
            new.write(data)
        os.replace(new.name, path)
    except OSError:
        return
