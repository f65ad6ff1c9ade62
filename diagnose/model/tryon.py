"""A try-on as it comes from outside: what was measured, seen and answered, checked and held in millimetres.

One model serves the answers file, a line of a batch and the questionnaire. Every key but the id may be missing, and
what is missing is *not known*, which is neither yes nor no.
"""

# Annotations stand for themselves here: pydantic would have to evaluate each that is kept as text.
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from diagnose.errors import FitError
from diagnose.model.stations import STATIONS, Station
from diagnose.units import both, read_length

__all__ = [
    "BODY_FACTS", "GARMENT_FACTS", "GRADE_WORDS", "Garment", "Parts", "Seen", "TryOn", "Wearer", "garment_word",
    "of_no_part",
]  # fmt: skip

GRADE_WORDS = {1: "slight", 2: "plain", 3: "severe"}
"""How bad a sign is, in words."""


def _length(value: Any, info: ValidationInfo) -> Any:
    if value is None:
        return None
    try:
        return read_length(value, "", (info.context or {}).get("unit", "in"))
    except FitError as error:
        wrong = error.mistakes[0]
        raise _refusal(wrong.what, wrong.do) from None


def _refusal(what: str, do: str) -> PydanticCustomError:
    return PydanticCustomError("refused", "{what}", {"what": what, "do": do})


def _not_negative(value: Any, info: ValidationInfo) -> Any:
    length_mm = _length(value, info)
    if length_mm is not None and length_mm < 0:
        say = f"It is {both(length_mm)}, but this cannot be less than 0."
        raise _refusal(say, "If the edges lap over, give 0 here and the lap in overlap.")
    return length_mm


def _girth(value: Any, info: ValidationInfo) -> Any:
    length_mm = _length(value, info)
    if length_mm is not None and not 250 <= length_mm <= 2500:
        say = f"{both(length_mm)} is no body girth (between 10 in and 98 in)."
        raise _refusal(say, "Measure again, or see that the unit is right.")
    return length_mm


def _targets(value: Any) -> Any:
    return value if isinstance(value, dict) or value is None else dict.fromkeys(STATIONS, value)


def _sign(value: Any) -> Any:
    if isinstance(value, bool):
        return {"shown": value}
    return {"shown": True, **value} if isinstance(value, dict) else value


Length = Annotated[float, BeforeValidator(_length)]
Gap = Annotated[float, BeforeValidator(_not_negative)]
Girth = Annotated[float | None, BeforeValidator(_girth)]
Readings = dict[Station, Gap]


class FromOutside(BaseModel):
    """Strict and frozen; a key that is not known is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, populate_by_name=True, defer_build=True)


class Garment(FromOutside):
    """What is being tried on."""

    style: Literal["stays", "corset", "bodice"] | None = None
    closure: Literal["back", "front", "both"] | None = None
    boning: Literal["none", "part", "full"] | None = None
    straps: Literal["none", "fixed", "loose"] | None = None
    tabs: Literal["none", "plain", "boned"] | None = None
    seams_per_half: Annotated[int, Field(ge=0, le=20)] | None = None
    meant_to_meet: bool | None = None
    busk: Literal["none", "one-piece", "split", "spoon"] | None = None
    gussets: Literal["none", "bust", "hip", "both"] | None = None
    stomacher: bool | None = None
    suspenders: bool | None = None
    sleeves: bool | None = None
    waist_stay: bool | None = None
    fastening: Literal["laced", "hooks", "buttons"] | None = None
    allowance_mm: Annotated[float | None, BeforeValidator(_not_negative)] = Field(None, alias="allowance")


GARMENT_FACTS = (
    "style", "closure", "boning", "straps", "tabs", "busk", "gussets", "stomacher", "suspenders", "sleeves",
    "waist_stay", "fastening",
)  # fmt: skip
"""What is said of a garment in a word, or by yes and no."""


class Wearer(FromOutside):
    """Body girths as taken, what reduction is planned, and where today stands in her range."""

    bust_mm: Girth = Field(None, alias="bust")
    underbust_mm: Girth = Field(None, alias="underbust")
    waist_mm: Girth = Field(None, alias="waist")
    hip_mm: Girth = Field(None, alias="hip")
    planned_reduction_mm: Annotated[float | None, BeforeValidator(_length)] = Field(None, alias="planned_reduction")
    today: Literal["smallest", "usual", "largest"] | None = None
    changes_by_mm: Annotated[float | None, BeforeValidator(_not_negative)] = Field(None, alias="changes_by")
    underarm_to_waist_mm: Annotated[float | None, BeforeValidator(_not_negative)] = Field(
        None, alias="underarm_to_waist"
    )
    waist_to_hip_mm: Annotated[float | None, BeforeValidator(_not_negative)] = Field(None, alias="waist_to_hip")
    front_seated_mm: Annotated[float | None, BeforeValidator(_not_negative)] = Field(None, alias="front_seated")


BODY_FACTS = {
    "bust": "bust", "underbust": "underbust", "waist": "waist", "hip": "hip",
    "planned_reduction": "planned-reduction", "changes_by": "body-change",
    "underarm_to_waist": "underarm-to-waist", "waist_to_hip": "waist-to-hip", "front_seated": "front-seated",
}  # fmt: skip
"""The fact of the rules that each measure of the wearer is: what is believable of it, and how it is taken."""


class Seen(FromOutside):
    """One sign: shown or looked for and absent; the side, how bad, and the number recorded with it."""

    shown: bool
    side: Literal["left", "right", "both"] | None = None
    grade: Annotated[int, Field(ge=1, le=3)] | None = None
    amount: Any = None


class TryOn(FromOutside):
    """One try-on of one garment. What she was asked and could not tell is named in `cant_tell`, and not asked again."""

    id: str = Field(max_length=200)
    garment: Garment = Field(default_factory=lambda: Garment.model_validate({}))
    target: Annotated[dict[Station, Gap] | None, BeforeValidator(_targets)] = None
    gap: Readings = {}
    gap_front: Readings = {}
    overlap: Readings = {}
    tension: Literal["loose", "working", "hard"] | None = None
    wearer: Wearer = Field(default_factory=lambda: Wearer.model_validate({}))
    seen: dict[str, Annotated[Seen, BeforeValidator(_sign)]] = {}
    known: dict[str, bool] = {}
    cant_tell: list[str] = []
    pattern: Any = None

    @property
    def meets(self) -> bool:
        """Whether the edges are meant to meet: as told; where nothing is told, hooked and buttoned edges are."""
        told = self.garment.meant_to_meet
        if told is None:
            told = self.known.get("meant-to-meet", self.garment.fastening in ("hooks", "buttons"))
        return told


Parts = Mapping[str, Mapping[str, frozenset[str]]]


def garment_word(garment: Garment, name: str) -> str | None:
    """A fact of the garment in a word: what it is, or yes or no; None where it is not known."""
    told: str | bool | None = getattr(garment, name, None)
    return told if told is None or isinstance(told, str) else "yes" if told else "no"


def of_no_part(garment: Garment, parts: Parts, usual: Mapping[str, str] | None = None) -> dict[str, tuple[str, str]]:
    """The signs and questions of a part that the garment is said not to have, each with the fact and its word.

    Args:
        garment: what is told of it.
        parts: for each sign and question of a part, the facts that tell of it, each with the words for “it is there”.
        usual: for facts that nobody has told, what is supposed.
    """
    found: dict[str, tuple[str, str]] = {}
    for name, facts in parts.items():
        for fact, there in facts.items():
            word = garment_word(garment, fact) or (usual or {}).get(fact)
            if word is not None and word not in there:
                found[name] = fact, word
    return found
