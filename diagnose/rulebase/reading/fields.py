"""What the fields of a rule are made of: numbers, prose, ids and what they point to, conditions, examples.

Entries come from YAML in which every scalar is text, or from the cache in which they are already typed; the same
models read both. Lengths are held in millimetres.
"""

# Annotations stand for themselves here: pydantic would have to evaluate each that is kept as text.
from typing import Annotated, Any, Literal

from msgspec import Struct
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from diagnose.model.stations import Station
from diagnose.rulebase.neutral import COMPARE, COMPARISONS, Comparison, Facts, read_value
from diagnose.rulebase.reading.moves import OTHERWISE
from diagnose.units import parse_length

__all__ = [
    "AlterationId", "CauseId", "Condition", "DoneFor", "Entry", "EntryId", "Example", "Examples", "FamilyId", "Id",
    "MaybeNumber", "MaybeText", "Number", "NumberFact", "PartCondition", "PointsTo", "Prose", "QuestionId",
    "SettingId", "Settled", "Shows", "SourceLine", "Stations", "StepId", "SymptomId", "Tell", "Title", "Unexplained",
    "dash_is_none", "source_keys",
]  # fmt: skip


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


def dash_is_none(value: object) -> object:
    """What stands in the file; None for the dash that says there is none."""
    return None if value == "-" else value


Number = Annotated[float, BeforeValidator(_number)]
MaybeNumber = Annotated[float | None, BeforeValidator(_maybe_number)]
MaybeText = Annotated[str | None, BeforeValidator(dash_is_none)]
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


def source_keys(line: str) -> tuple[str, ...]:
    """The keys that a source line names: ``gau-study, abstract; judgement`` names two."""
    return tuple(part.partition(",")[0].strip() for part in line.split(";"))


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
