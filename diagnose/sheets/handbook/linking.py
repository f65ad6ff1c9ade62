"""Where entries stand in the handbook, and sentences with links in them: conditions, amounts, sources."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from markupsafe import Markup

from diagnose.rulebase.reading.entries import Alteration, Cause, CauseLink, Symptom
from diagnose.sheets.entry_pages import page_of
from diagnose.sheets.words.rule_text import RuleWords

__all__ = ["Links"]


class Links(RuleWords, frozen=True):
    """Links, and words of the rules with links in them, as seen from a page.

    `root` leads from its folder to that of the handbook ("" or "../").
    """

    said: ClassVar[type[str]] = Markup

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

    def source_title(self, key: str) -> Markup:
        """A link to a source in the list of them."""
        return self._link(f"sources.html#{key}", self.rules.sources[key].title)

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
