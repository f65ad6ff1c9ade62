"""A question of the try-on, as plain data that a terminal and a page can both put."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache, partial
from typing import Literal, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from diagnose.interview.body_places import Worn
from diagnose.model.stations import Station
from diagnose.units import Unit, in_her_unit

__all__ = ["Given", "Kind", "Option", "Question", "Value", "in_hers", "names_in"]

Kind = Literal["yes-no", "length", "minutes", "choice", "several"]
Value: TypeAlias = bool | str | float | list[str] | None
"""A reply, fit for JSON: yes or no, a length as written, minutes, one word, several words; None is "can't tell"."""
Given: TypeAlias = Mapping[str, Value]
"""Replies by the ids of their questions, in the order in which they were given."""

GROUPS: Mapping[Worn, str] = {
    "on": "While it is on", "off": "Once it is off", "again": "On again, another time",
}  # fmt: skip


class Option(Struct, frozen=True):
    """One thing that may be picked: its id, what stands on the line, and what helps to know it."""

    id: str
    text: str
    help: str = ""


class Question(Struct, frozen=True):
    """One question.

    Attributes:
        id: of the form ``kind.subject``; replies are kept by it.
        part: the part of the try-on it belongs to, as a heading.
        kind: what a reply is.
        text, why, how: the question, why it is put, how it is looked at or measured.
        options: what may be picked (choice, several), or what a yes affirms.
        least, most: the believable range, in mm or minutes; a reply outside it is refused.
        usual: above it a reply is taken, and doubted aloud; None when all that is believable is usual.
        station: where the gap is read, when that is what is asked.
        none: for several, what picking nothing says; empty when nothing can't be picked so.
        every: for several, what picking all says; empty when that is not offered.
        last: the reply of the try-on before, for show.
        worn: how the garment is worn meanwhile; the questions stand in that order, and each group is told. None where
            there is no garment to wear yet.
    """

    id: str
    part: str
    kind: Kind
    text: str
    why: str
    how: str = ""
    options: tuple[Option, ...] = ()
    least: float = 0.0
    most: float | None = None
    usual: float | None = None
    station: Station | None = None
    none: str = "none of these"
    every: str = ""
    last: Value = None
    worn: Worn | None = None

    @property
    def group(self) -> str:
        """The group it is told in: by how the garment is worn meanwhile; nothing where that is no matter."""
        return GROUPS[self.worn] if self.worn else ""

    @property
    def heading(self) -> str:
        """Its group and its part."""
        return self.part if self.group in ("", self.part) else f"{self.group}: {self.part}"

    @property
    def about(self) -> str:
        """What the question is about: the id without its kind."""
        return self.id.partition(".")[2]


def in_hers(question: Question, unit: Unit) -> Question:
    """The question as it is put to a maker who works in that unit: the rules write their lengths in inches."""
    if unit == "in":
        return question
    hers = partial(_in_hers, unit=unit)
    options = tuple(Option(one.id, hers(one.text), hers(one.help)) for one in question.options)
    return replace(question, text=hers(question.text), why=hers(question.why), how=hers(question.how), options=options)


@lru_cache(maxsize=1024)
def _in_hers(text: str, unit: Unit) -> str:
    return in_her_unit(text, unit)


def names_in(value: Value) -> list[str]:
    """The words that a reply of several names; none where it is no such reply."""
    return value if isinstance(value, list) else []
