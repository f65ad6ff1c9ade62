"""Where entries stand in the handbook, and sentences with links in them: conditions, amounts, sources."""

from __future__ import annotations

import re
from collections.abc import Iterator

from markupsafe import Markup, escape
from msgspec import Struct

from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import Alteration, AlterationChoice, Cause, CauseLink, Condition, RuleSet, Symptom
from diagnose.sheets.entry_pages import page_of
from diagnose.units import Unit, both

__all__ = ["Links"]

_COMPARED = {
    "at-least": "at least", "at-most": "at most", "more-than": "more than", "less-than": "less than",
}  # fmt: skip
_NAME = re.compile(r"[a-z][a-z0-9]*(?:[-.][a-z0-9]+)*")


class Links(Struct, frozen=True):
    """Links as seen from a page: `root` leads from its folder to that of the handbook ("" or "../")."""

    rules: RuleSet
    unit: Unit
    root: str = ""

    def to(self, kind: str, entry: str, words: str = "") -> Markup:
        """A link to an entry, under its title unless other words are given."""
        return self._link(page_of(kind, entry), words or self.title(kind, entry))

    def title(self, kind: str, entry: str) -> str:
        """What an entry is called."""
        return self.rules.by_kind[kind][entry].title

    def _link(self, page: str, words: str) -> Markup:
        return Markup('<a href="{}{}">{}</a>').format(self.root, page, words)

    def entry(self, name: str) -> Markup:
        """A link to an entry of whatever kind."""
        return self.to(next(kind for kind, entries in self.rules.by_kind.items() if name in entries), name)

    def finding(self, name: str) -> Markup:
        """A link to a sign or a question."""
        return self.to("questions" if name in self.rules.questions else "symptoms", name)

    def condition(self, line: Condition) -> Markup:
        """A condition in words: *Spill at the front* shows; *Gap at the waist* is at least 1/2 in (13 mm)."""
        if line.fact in self.rules.symptoms:
            shows = (line.value == "yes") == (line.comparison == "is")
            return Markup("“{}” {}").format(self.finding(line.fact), "shows" if shows else "does not show")
        if line.fact in self.rules.questions:
            answer = line.value if line.comparison == "is" else {"yes": "no", "no": "yes"}[str(line.value)]
            return Markup("“{}” is answered {}").format(self.finding(line.fact), answer)
        if isinstance(line.value, str):
            is_not = "" if line.comparison == "is" else "not "
            return Markup("{}: {}{}").format(self.fact(line.fact), is_not, line.value)
        value = self._value(line.fact, line.value)
        return Markup("{} is {} {}").format(self.fact(line.fact), _COMPARED[line.comparison], value)

    def _value(self, fact: str, value: float) -> str:
        if self._unit(fact) == "length":
            return both(value, self.unit)
        return f"{value:g}{' minutes' if self._unit(fact) == 'minutes' else ''}"

    def _unit(self, fact: str) -> str:
        sign, _, of = fact.partition(".")
        if sign in self.rules.symptoms:
            return self.rules.symptoms[sign].record.amount if of == "amount" else "count"
        return self.rules.facts[fact].unit or "count"

    def fact(self, name: str) -> Markup:
        """A link to what a fact is, under its title."""
        sign, _, of = name.partition(".")
        if sign in self.rules.symptoms:
            symptom = self.rules.symptoms[sign]
            words = symptom.record.means or symptom.title
            return self.to("symptoms", sign, words if of == "amount" else f"how bad “{symptom.title}” is")
        if sign in self.rules.questions:
            return self.finding(sign)
        return self._link(f"readings.html#{name}", self.rules.facts[name].title)

    def amount(self, text: str) -> Markup:
        """A formula with its facts named and linked."""
        names, parts, at = set(parse_formula(text).names), list[Markup](), 0
        for match in _NAME.finditer(text):
            if match[0] in names:
                parts += [escape(text[at : match.start()]), Markup("[{}]").format(self.fact(match[0]))]
                at = match.end()
        return Markup("").join((*parts, escape(text[at:])))

    def source(self, text: str) -> Markup:
        """A source line, each key linked to the list of sources."""
        return Markup("; ").join(self._source(part.strip()) for part in text.split(";"))

    def _source(self, part: str) -> Markup:
        key, _, place = part.partition(",")
        title = self.rules.sources[key.strip()].title
        link = self._link(f"sources.html#{key.strip()}", title)
        return Markup("{}{}").format(link, f" ({place.strip()})" if place else "")

    def at_most(self, choice: AlterationChoice) -> str:
        """The most that a round takes; empty where there is no limit."""
        if choice.limit is None:
            return ""
        on = {"edge": "on each stitching line", "seam": "on each seam", "half": "on each half",
              "whole": "of the whole girth"}  # fmt: skip
        return f"{both(choice.limit, self.unit)} {on.get(choice.limit_on, '')}".strip()

    def suspects(self, symptom: Symptom) -> list[tuple[Cause, CauseLink]]:
        """The causes of a sign, the likeliest first: how common each is, times how often it shows the sign."""
        words = self.rules.words
        pairs = [(self.rules.causes[link.cause], link) for link in symptom.causes]
        return sorted(pairs, key=lambda pair: -words.common[pair[0].common] * words.shows[pair[1].shows])

    def shown_by(self, cause: str) -> Iterator[tuple[str, CauseLink]]:
        """The signs that a cause shows, the steadiest first."""
        worth = self.rules.words.shows
        found = [(s.id, link) for s in self.rules.symptoms.values() for link in s.causes if link.cause == cause]
        yield from sorted(found, key=lambda pair: -worth[pair[1].shows])

    def answered_by(self, cause: str) -> Iterator[tuple[str, str]]:
        """The questions that point to a cause, each with the answer that does."""
        for question in self.rules.questions.values():
            yield from ((question.id, link.answer) for link in question.points_to if link.cause == cause)

    def mended(self, alteration: Alteration) -> list[str]:
        """The causes that an alteration mends."""
        causes = self.rules.causes.values()
        return [cause.id for cause in causes if any(one.alteration == alteration.id for one in cause.alterations)]

    def parted_by(self, finding: str) -> list[str]:
        """The causes that a sign or question is said to tell apart from their neighbours."""
        return [cause.id for cause in self.rules.causes.values() if finding in cause.tell_apart]
