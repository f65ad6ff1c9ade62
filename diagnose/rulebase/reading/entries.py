"""The entries that stand in a file of their own: signs, causes, alterations, questions. Keys in the files' order."""

# Annotations stand for themselves here: pydantic would have to evaluate each that is kept as text.
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from diagnose.model.stations import Station
from diagnose.rulebase.reading.fields import (
    AlterationId,
    CauseId,
    Condition,
    DoneFor,
    Entry,
    Examples,
    FamilyId,
    Id,
    MaybeNumber,
    MaybeText,
    Number,
    PartCondition,
    Prose,
    QuestionId,
    Shows,
    SourceLine,
    Stations,
    StepId,
    SymptomId,
    Tell,
    Title,
    Unexplained,
    dash_is_none,
)
from diagnose.rulebase.reading.moves import Move, read_move

__all__ = [
    "Alteration", "AlterationChoice", "Cause", "CauseLink", "EntryOfItsOwn", "MoveLine", "Picture", "PictureMark",
    "PicturePlace", "PictureView", "Question", "Symptom", "Ways",
]  # fmt: skip


class Record(Entry):
    """The one number recorded with a sign."""

    amount: Literal["length", "minutes", "none"]
    means: MaybeText
    low: MaybeNumber
    high: MaybeNumber
    sides: Literal["may-differ", "whole"]


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


class FiguresTold(Entry):
    """Figures of this try-on that are told with what is done by hand.

    Attributes:
        what: the girths of the other ``size``; the ``bones`` by number and length; the widths of the panels laid
            ``flat``; the lengths of the seams as they are ``walked``; the gaps that it then ``aims`` at.
        everywhere_for: of bones: those of the whole half where one of these signs shows, else those by the edge that
            closes. None: those of the whole half.
    """

    what: Literal["size", "bones", "flat", "walked", "aims"]
    everywhere_for: tuple[SymptomId, ...] | None = None


class AlterationChoice(Entry):
    """One way to mend a cause, with its amount."""

    alteration: AlterationId
    only_if: tuple[Condition, ...]
    amount: str
    stations: Stations
    at: Prose
    worked: Annotated[WorkedAmount | None, BeforeValidator(dash_is_none)]
    limit: MaybeNumber
    limit_on: Literal["edge", "seam", "half", "whole", "length", "-"]
    beyond: str
    figures: FiguresTold | None = None
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

    @property
    def good(self) -> bool | None:
        """The answer that points to nothing wrong; None where each of the two, or neither, points to something."""
        pointed = {link.answer for link in self.points_to}
        return pointed == {"no"} if len(pointed) == 1 else None


EntryOfItsOwn = Symptom | Cause | Alteration | Question
"""An entry that stands in a file of its own."""
