"""What a rule base is made of. One model an entry, keys in the order in which they stand in the files.

Entries come from YAML in which every scalar is text, or from the cache in which they are already typed; the same
models read both. Lengths are held in millimetres.
"""

# Annotations stand for themselves here: pydantic would have to evaluate each that is kept as text.
from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from msgspec import Struct
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from diagnose.model.stations import Station
from diagnose.rulebase.neutral import COMPARE, COMPARISONS, Comparison, Facts, read_value
from diagnose.rulebase.reading.moves import OTHERWISE, Move, read_move
from diagnose.sentences import upper_first
from diagnose.units import parse_length

__all__ = [
    "Alteration", "AlterationChoice", "AnswerLink", "Cause", "CauseLink", "Caution", "Cautions", "Condition",
    "Conflict", "EntryOfItsOwn", "Example", "Examples", "Fact", "GarmentKind", "Garments", "Hold", "Limit", "Miss",
    "Misses", "MoveLine", "Order", "PartCondition", "Picture", "PictureMark", "PicturePlace", "PictureView",
    "PointsTo", "Question", "RuleSet", "Source", "Step", "Symptom", "Term", "Terms", "Words", "WorkedAmount",
]  # fmt: skip  # fmt: skip


class Entry(BaseModel):
    """Frozen, strict, no key but those named; built with the model that is read, so that none is built twice."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, defer_build=True)


def _number(value: object) -> object:
    """Text that is a plain number, or a length with its unit, as a number."""
    if not isinstance(value, str):
        return value
    try:
        return float(value)
    except ValueError:
        length_mm = parse_length(value)
        if length_mm is None:
            raise ValueError(f"“{value}” is neither a number nor a length with its unit") from None
        return length_mm


def _maybe_number(value: object) -> object:
    return None if value == "-" else _number(value)


def _maybe_text(value: object) -> object:
    return None if value == "-" else value


Number = Annotated[float, BeforeValidator(_number)]
MaybeNumber = Annotated[float | None, BeforeValidator(_maybe_number)]
MaybeText = Annotated[str | None, BeforeValidator(_maybe_text)]
Prose = Annotated[str, Field(min_length=12)]
Title = Annotated[str, Field(min_length=3, max_length=90)]
Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=60)]


class PointsTo(Struct, frozen=True):
    """What the words of a field name: an entry of one of these kinds, or nothing where it is the one other word."""

    kind: str
    or_word: str = ""


CauseId = Annotated[Id, PointsTo("cause")]
SymptomId = Annotated[Id, PointsTo("symptom")]
AlterationId = Annotated[Id, PointsTo("alteration")]
QuestionId = Annotated[Id, PointsTo("question")]
Tell = Annotated[Id, PointsTo("question or symptom")]
DoneFor = Annotated[Id, PointsTo("question or symptom", or_word=OTHERWISE)]
StepId = Annotated[Id, PointsTo("step")]
FamilyId = Annotated[Id, PointsTo("family")]
Settled = Annotated[Id, PointsTo("family or step")]
SettingId = Annotated[Id, PointsTo("setting")]
EntryId = Annotated[Id, PointsTo("entry")]
NumberFact = Annotated[str, PointsTo("number")]
SourceLine = Annotated[str, PointsTo("source")]
"""Keys of ``sources.yaml``, each with the place in it: ``gau-study, abstract; judgement``."""
Shows = Literal["nearly-always", "usually", "often", "sometimes", "seldom"]
Unexplained = Literal["nearly-always", "usually", "often", "sometimes", "seldom", "very-seldom"]
Stations = tuple[Station | Literal["all", "each"], ...]


class Condition(Entry):
    """One fact, one comparison, one value: ``{fact: gap-fall, at-least: 1/2 in}``."""

    fact: str
    comparison: Comparison
    value: str | float

    @model_validator(mode="before")
    @classmethod
    def _from_file(cls, data: Any) -> Any:
        if not isinstance(data, dict) or "comparison" in data:
            return data
        found = [key for key in data if key != "fact"]
        if len(found) != 1 or found[0] not in COMPARISONS or "fact" not in data:
            raise ValueError(f"a condition is one fact and one of {', '.join(COMPARISONS)}")
        comparison = found[0]
        value = data[comparison] if comparison in ("is", "is-not") else _number(data[comparison])
        return {"fact": data["fact"], "comparison": comparison, "value": value}

    def holds(self, facts: Facts) -> bool:
        """Whether it holds on these facts; not where its own is not known, or is of the other kind."""
        value = facts.get(self.fact)
        if value is None or isinstance(value, str) != isinstance(self.value, str):
            return False
        return COMPARE[self.comparison](read_value(value), read_value(self.value))


class PartCondition(Condition):
    """A part that the garment must have; lines of one fact are alternatives, all others must hold together."""


class Record(Entry):
    """The one number recorded with a sign."""

    amount: Literal["length", "minutes", "none"]
    means: MaybeText
    low: MaybeNumber
    high: MaybeNumber
    sides: Literal["may-differ", "whole"]


class Example(Entry):
    """Facts, and the causes (or alterations) whose lines fire, or stay silent, on them."""

    facts: dict[str, str]
    causes: tuple[Id, ...] = ()
    alterations: tuple[Id, ...] = ()
    instead: SymptomId | None = None


class Examples(Entry):
    """At least one example that fires, and one that stays silent for each condition line."""

    fires: tuple[Example, ...] = ()
    silent: tuple[Example, ...] = ()


PictureView = Literal["front", "back", "side"]
PicturePlace = Literal[
    "whole", "head", "chest", "shoulder", "strap", "sleeve", "armpit-front", "armpit", "armpit-back", "shoulder-blade",
    "top-edge", "bust", "bust-point", "side-bust", "under-bust", "ribs", "waist", "belly", "hip-bone", "hip", "seat",
    "small-of-back", "hem", "front-hem", "lap", "limb", "front-edge", "busk-top", "busk", "busk-foot", "front-point",
    "stomacher", "lacing-edge", "gap", "side-seam", "panel", "bones", "bone-end", "tabs", "tab-roots", "gore-tip",
    "gore", "waist-stay", "suspender",
]  # fmt: skip
PictureMark = Literal[
    "crease", "fold", "slant", "pucker", "pull", "strains", "opens", "gap-closed", "gap-narrow", "gap-wide",
    "gap-widens-down", "gap-widens-up", "gap-bows", "gap-pinches", "gap-slants", "gap-shrinks", "leans", "spreads",
    "short", "rolls", "flesh-over-edge", "bulges", "digs-in", "pressed", "stands-off", "slack", "rises", "falls",
    "uneven", "turns", "tips", "aside", "misses", "bends", "pokes", "laps", "shows", "sore",
]  # fmt: skip


class Picture(Entry):
    """The small picture of a sign: from which side it is seen, where on the figure, and what is drawn there.

    Views: the figure from the front, the back, or the side (she looks to the left).

    Places are those of the body (head, chest, ribs, waist, belly, lap, limb …), of the garment's edges (top edge, hem,
    front edge, lacing edge, gap between the lacing edges), and of its parts (busk, bones, panel, tabs and their roots,
    gore and its tip, stomacher, waist stay, suspender, strap, sleeve). ``whole`` is all of the garment.

    Marks: ``crease`` level folds, ``fold`` upright ones, ``slant`` slanting ones, ``pucker`` short folds about a point,
    ``pull`` folds that run to a point, ``strains`` stitches drawn open, ``opens`` two edges that part;
    ``gap-…`` the shape of the lacing gap (at a place other than the gap: there alone); ``leans`` one lacing edge off
    upright, ``spreads`` edges that spring apart, ``short`` what does not reach, ``rolls`` an edge that turns over;
    ``flesh-over-edge``, ``bulges`` flesh that stands out, ``digs-in`` an edge into the flesh, ``pressed`` the body
    flattened, ``stands-off`` an edge that stands away, ``slack`` room for a hand; ``rises``, ``falls``, ``uneven`` one
    side higher, ``turns`` round the body, ``tips`` the figure leans, ``aside`` off the line it should follow,
    ``misses`` the shaping beside its point; ``bends`` a bone with a corner, ``pokes`` a bone's end, ``laps`` part over
    part, ``shows`` what should be covered, ``sore`` a place that hurts.
    """

    view: PictureView
    place: PicturePlace
    mark: PictureMark


class CauseLink(Entry):
    """How often a cause, when present, shows the sign."""

    cause: CauseId
    shows: Shows
    only_if: tuple[Condition, ...]
    because: Prose
    source: SourceLine


class Symptom(Entry):
    """A sign that the maker looks for, or that the gap readings show; one that cannot be drawn has no picture.

    `part` says which part of the garment the sign is of: where a fact of the garment denies it, there is no such sign.
    `spots` are the questions that say where on the body it lies; they are asked with it, as one. `sum` says what it
    follows from where that is known, so that it is not asked: ``laced-waist``, the flat pattern and the gap together
    against the body less its planned reduction.
    """

    id: Id
    group: Id
    title: Title
    see: Prose
    ask: Prose
    how: Prose
    picture: Picture | None = None
    record: Record
    spots: tuple[QuestionId, ...] = ()
    sum: Literal["laced-waist"] | None = None
    part: tuple[PartCondition, ...] = ()
    when: tuple[Condition, ...]
    unexplained: Unexplained
    causes: tuple[CauseLink, ...]
    examples: Examples
    now: Prose | None = None
    see_whom: Prose | None = None


class WorkedAmount(BaseModel):
    """A figure worked by hand: the facts it starts from and what the formula gives, in mm (or plain numbers)."""

    model_config = ConfigDict(extra="allow", frozen=True, defer_build=True)
    gives: Number


class AlterationChoice(Entry):
    """One way to mend a cause, with its amount."""

    alteration: AlterationId
    only_if: tuple[Condition, ...]
    amount: str
    stations: Stations
    at: Prose
    worked: Annotated[WorkedAmount | None, BeforeValidator(_maybe_text)]
    limit: MaybeNumber
    limit_on: Literal["edge", "seam", "half", "whole", "length", "-"]
    beyond: str
    because: Prose
    source: SourceLine


class Cause(Entry):
    """What may be wrong: with the garment, its making, its wearing or its reading."""

    id: Id
    group: Id
    title: Title
    common: Literal["common", "uncommon", "rare"]
    because: Prose
    source: SourceLine
    tell_apart: tuple[Tell, ...]
    alterations: tuple[AlterationChoice, ...]
    examples: Examples

    def without_examples(self) -> Self:
        """The cause without examples and figures worked by hand."""
        bare = tuple(choice.model_copy(update={"worked": None}) for choice in self.alterations)
        return self.model_copy(update={"examples": Examples(), "alterations": bare})


class AlterationExample(Entry):
    """What an amount comes to, in the maker's words."""

    amount: MaybeNumber
    seams: Annotated[int | None, BeforeValidator(lambda v: int(v) if isinstance(v, str) else v)] = None
    says: str


class Ways(Entry):
    """What is done by a positive and by a negative amount, in a word each: ``{more: raise, less: lower}``."""

    more: Title
    less: Title


class MoveLine(Entry):
    """A move on the outline, ``{do: VERB, …}``: the other keys are its verb's, `diagnose.rulebase.reading.moves`.

    One with ``for: SIGN`` is done only when the choice of the alteration rests on that sign; one with
    ``for: otherwise`` when it rests on none of the signs named by the others.
    """

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, str | dict[str, str]]
    do: str
    for_: DoneFor | None = Field(default=None, alias="for")

    @property
    def of_its_verb(self) -> dict[str, str | dict[str, str]]:
        """The keys that its verb takes, and what they are given."""
        return self.__pydantic_extra__


class Alteration(Entry):
    """Something done to the pattern (or the toile, or the lacing), and what is expected of it.

    `does` are the moves on the outline, in order.
    """

    id: Id
    group: Id
    title: Title
    kind: Literal["girth", "length", "structure", "none"]
    direction: Literal["in", "out", "either", "up", "down", "longer", "shorter", "-"]
    ways: Ways | None = None
    family: FamilyId
    step: StepId
    smallest: MaybeNumber
    does: tuple[MoveLine, ...]
    by_hand: tuple[Prose, ...]
    improves: tuple[SymptomId, ...]
    worsens: tuple[SymptomId, ...]
    expect: Prose
    because: Prose
    source: SourceLine
    examples: tuple[AlterationExample, ...]

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """What it does to the outline, in order."""
        return tuple(read_move(line.do, line.of_its_verb, sign=line.for_) for line in self.does)


class AnswerLink(Entry):
    """An answer that points to a cause."""

    answer: Literal["yes", "no"]
    cause: CauseId
    shows: Shows
    because: Prose
    source: SourceLine


class QuestionLeaks(Entry):
    """How often each answer comes with none of its causes there."""

    yes: Unexplained
    no: Unexplained


class Question(Entry):
    """A question that tells causes apart.

    Attributes:
        about: the signs that it is about; it is asked only when one of them shows, and names it. None: it stands alone.
        part: which part of the garment it is of, as for a sign.
        one_side: the answer that follows, unasked, where a sign that it is about shows on one side only.
        beside: the station at which the widths of the flat pattern are told with it, so that nobody looks them up.
    """

    id: Id
    ask: Prose
    why: Prose
    how: Prose
    about: tuple[SymptomId, ...] = ()
    part: tuple[PartCondition, ...] = ()
    one_side: Literal["yes", "no"] | None = None
    beside: Station | None = None
    gate: Literal["toile", "lacing", "scale", "cloth", "intent", "none"]
    points_to: tuple[AnswerLink, ...]
    unexplained: QuestionLeaks
    examples: Examples

    @property
    def title(self) -> str:
        """What it is called by: what it asks."""
        return self.ask


EntryOfItsOwn = Symptom | Cause | Alteration | Question
"""An entry that stands in a file of its own."""


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
    cause: Annotated[CauseId | None, BeforeValidator(lambda value: None if value == "-" else value)]
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
