"""What a rule base is made of: entries that stand in a file of their own, and files that hold many of one kind."""

# Annotations stand for themselves here: pydantic would have to evaluate each that is kept as text.
from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field

from diagnose.rulebase.reading.entries import Alteration, Cause, EntryOfItsOwn, Question, Symptom
from diagnose.rulebase.reading.fields import (
    AlterationId,
    CauseId,
    Condition,
    Entry,
    EntryId,
    Examples,
    Id,
    MaybeNumber,
    Number,
    NumberFact,
    Prose,
    SettingId,
    Settled,
    SourceLine,
    SymptomId,
    Tell,
    Title,
    dash_is_none,
)
from diagnose.sentences import upper_first

__all__ = [
    "Cautions", "Conflict", "Fact", "Garments", "Hold", "Limit", "Miss", "Misses", "Order", "RuleSet", "SettleFirst",
    "Source", "Term", "Terms", "Words",
]  # fmt: skip


class Fact(Entry):
    """A named value that conditions and formulas may use.

    `usual` is what is supposed of a garment of which nobody says it, where it is chosen what to ask, and there alone.
    """

    title: Title
    words: tuple[str, ...] = ()
    usual: str | None = None
    unit: Literal["length", "minutes", "count", "degrees"] | None = None
    low: MaybeNumber = None
    high: MaybeNumber = None
    how: Prose
    source: SourceLine | None = None


class Step(Entry):
    """A place in the order of work."""

    id: Id
    title: Title
    settle: str
    before: str
    because: Prose
    source: SourceLine


class Titled(Entry):
    """An id and its title."""

    id: Id
    title: Title


class RoundRule(Entry):
    """A rule about what one round may hold."""

    id: Id
    say: Prose
    because: Prose
    source: SourceLine


class Conflict(Entry):
    """Two alterations that may not stand in one round."""

    one: AlterationId
    other: AlterationId
    same: Literal["side", "panel", "any"]
    because: Prose
    source: SourceLine


class Hold(Entry):
    """Alterations that wait until a family or step has been settled and tried on."""

    hold: tuple[AlterationId, ...]
    until: Settled
    because: Prose
    source: SourceLine


class Caution(Entry):
    """A sentence of caution, or of what carries over to the garment."""

    say: Prose
    source: SourceLine


class Limit(Entry):
    """What is said when a number is more than a setting allows; {value} and {most} in it are the two."""

    fact: NumberFact
    setting: SettingId
    say: Prose
    source: SourceLine


class Order(Entry):
    """The order of work, what forbids what, and what waits for what."""

    steps: tuple[Step, ...]
    families: tuple[Titled, ...]
    round_rules: tuple[RoundRule, ...]
    conflicts: tuple[Conflict, ...]
    holds: tuple[Hold, ...]
    carry_over: tuple[Caution, ...]


class Miss(Entry):
    """What a miss between foreseen and measured gap may mean, and the question that tells."""

    id: Id
    title: Title
    when: tuple[Condition, ...]
    say: Prose
    causes: tuple[CauseId, ...]
    ask: Tell
    because: Prose
    source: SourceLine
    examples: Examples


class Misses(Entry):
    """All explanations of a miss, in the order in which they are offered."""

    misses: tuple[Miss, ...]


class SettleFirst(Entry):
    """What is settled before alterations are drawn: when, what must not be known yet, what waits, what is asked."""

    id: Id
    title: Title
    when: tuple[Condition, ...]
    unknown: tuple[Tell, ...]
    holds: tuple[AlterationId, ...]
    cause: Annotated[CauseId | None, BeforeValidator(dash_is_none)]
    ask: tuple[Tell, ...]
    say: Prose
    because: Prose
    source: SourceLine
    examples: Examples


class Settling(Entry):
    """All that is settled first, in the order in which it is looked at."""

    settle: tuple[SettleFirst, ...] = ()


class Cautions(Entry):
    """What is said before, during and always, and where a limit is passed."""

    always: tuple[Caution, ...]
    before: tuple[Caution, ...]
    while_: tuple[Caution, ...] = Field(alias="while")
    limits: tuple[Limit, ...] = ()


class Look(Entry):
    """A sign that is looked for first on a kind of garment, and why."""

    sign: SymptomId
    because: Prose


class GarmentKind(Entry):
    """A kind of garment: how it is told, which signs are looked for first, and what is usual there and no fault."""

    id: Id
    title: Title
    when: tuple[Condition, ...]
    because: Prose
    look_first: tuple[Look, ...]
    usual: tuple[Caution, ...]


class Garments(Entry):
    """The kinds of garment, in the order in which they are shown; a maker's own rules may do without."""

    garments: tuple[GarmentKind, ...] = ()


class Term(Entry):
    """A word of the trade: other forms in which it stands in a sentence, what it means, and an entry that shows it."""

    id: Id
    word: Title
    also: tuple[Title, ...] = ()
    meaning: Prose
    see: EntryId | None = None
    source: SourceLine

    @property
    def title(self) -> str:
        """The word as it heads its entry."""
        return upper_first(self.word)


class Terms(Entry):
    """The words of the trade; a maker's own rules may do without."""

    terms: tuple[Term, ...] = ()


class Words(Entry):
    """What each word of strength is worth."""

    shows: dict[str, Number]
    common: dict[str, Number]
    unexplained: dict[str, Number]
    graded: dict[str, Number]
    thresholds: dict[str, Number]


class Source(Entry):
    """Where a line comes from, and how sure it is."""

    kind: Literal["published", "practice", "memory", "geometry", "judgement"]
    title: Prose
    seen: str | None = None


class RuleSet(Entry):
    """The whole rule base, as read."""

    facts: dict[str, Fact]
    sources: dict[str, Source]
    words: Words
    order: Order
    cautions: Cautions
    misses: Misses
    settle: Settling = Field(default_factory=lambda: Settling())
    garments: Garments = Field(default_factory=lambda: Garments())
    terms: Terms = Field(default_factory=lambda: Terms())
    symptoms: dict[str, Symptom]
    causes: dict[str, Cause]
    alterations: dict[str, Alteration]
    questions: dict[str, Question]

    @property
    def by_kind(self) -> dict[str, Mapping[str, EntryOfItsOwn]]:
        """The entries that stand in a file of their own, by kind and id."""
        return {
            "symptoms": self.symptoms, "questions": self.questions, "causes": self.causes,
            "alterations": self.alterations,
        }  # fmt: skip

    def without_examples(self) -> Self:
        """The rules alone, for use: examples only prove that they are right, and are a fifth of all there is to read.

        So do the figures worked by hand. The examples of alterations stay; the handbook shows them.
        """
        none = Examples()
        bare = {
            kind: {name: entry.model_copy(update={"examples": none}) for name, entry in entries.items()}
            for kind, entries in (("symptoms", self.symptoms), ("questions", self.questions))
        }
        causes = {name: cause.without_examples() for name, cause in self.causes.items()}
        return self.model_copy(update={**bare, "causes": causes})
