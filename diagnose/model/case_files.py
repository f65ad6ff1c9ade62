"""The files of a case folder as models: strict, frozen; every key must be there, and keys added later are kept.

Garment, target and wearer stand as in a try-on (`diagnose.model.tryon`); lengths in settings are millimetres.
"""

# Annotations stand for themselves here: pydantic would have to evaluate each that is kept as text.
from datetime import date as calendar
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, FiniteFloat
from pydantic_core import PydanticCustomError

from diagnose.units import Unit

__all__ = ["CaseFile", "DoneFile", "Measuring", "Skipped", "SkippedFile", "Stored", "TryOnFile", "is_day"]

Json = dict[str, Any]
Number = Annotated[int, Field(ge=1, le=9999)]


def is_day(text: str) -> bool:
    """Whether the text is a day as in 2026-03-09."""
    try:
        return calendar.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _day(text: str) -> str:
    if not is_day(text):
        raise PydanticCustomError("refused", "Not a day like 2026-03-09")
    return text


Day = Annotated[str, AfterValidator(_day)]


class _Stored(BaseModel):
    model_config = ConfigDict(extra="allow", frozen=True, strict=True, defer_build=True)


class Measuring(_Stored):
    """The wearer's girths as taken on a day."""

    date: Day
    wearer: Json


class Stored(_Stored):
    """How many versions and try-ons have been stored in a case; it may lag behind by one that was just stored."""

    versions: Annotated[int, Field(ge=0, le=9999)] = 0
    tryons: Annotated[int, Field(ge=0, le=9999)] = 0


class CaseFile(_Stored):
    """``case.json``: what the case is about, and how much has been stored in it (older ones do not say)."""

    format: Literal["fit-case"]
    version: Literal[1]
    name: str
    created: Day
    unit: Unit
    garment: Json
    target: Any
    measurings: list[Measuring]
    settings: dict[str, FiniteFloat]
    stored: Stored = Field(default_factory=lambda: Stored())


class DoneFile(_Stored):
    """What was done to get a pattern version: from which one, after which try-on, by which operations and plan steps.

    `back` marks one that only makes an older version the newest again. `otherwise` holds the steps as they were drawn
    where she took another way than the plan's first: as in the plan, and the way's name.
    """

    format: Literal["fit-done"]
    version: Literal[1]
    number: Number
    date: Day
    made_from: Number | None
    back: bool
    tryon: Number | None
    steps: list[str]
    operations: list[Json]
    notes: list[str]
    otherwise: list[Json] = []


class TryOnFile(_Stored):
    """The answers of one try-on, as a line of a batch, and the pattern version that was tried on."""

    format: Literal["fit-tryon"]
    version: Literal[1]
    number: Number
    date: Day
    pattern_version: Number
    answers: Json


class Skipped(_Stored):
    """A plan step that was not done, and why."""

    step: str
    why: str
    date: Day


class SkippedFile(_Stored):
    """The plan steps of one try-on that were not done."""

    format: Literal["fit-skipped"]
    version: Literal[1]
    skipped: list[Skipped]
