"""Where on the body each sign is looked for, from ``places.yaml``, as far as the garment has the place at all."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from diagnose.pattern.kept import OfLate
from diagnose.rulebase.base import RuleBase

__all__ = ["ONCE_OFF", "Place", "Worn", "may_have", "places_for", "rows_of", "worn_for"]

ONCE_OFF = "once-off"
_AGAIN = "on-again"
Worn = Literal["on", "off", "again"]
"""Whether a thing is looked for while the garment is on, once it is off, or when it is put on another time."""


class Place(Struct, frozen=True):
    """A place on the body or the garment, and the signs that are looked for there, in order."""

    id: str
    title: str
    signs: tuple[str, ...]


def places_for(base: RuleBase, garment: Mapping[str, Any]) -> tuple[Place, ...]:
    """The places of a garment with those of their signs that the rule base has and asks; none is empty."""
    return _OF_LATE.get((base,), dict(garment), lambda: _places_for(base, garment))


_OF_LATE = OfLate[tuple[Place, ...]](8)
"""The places worked out of late: each question of a try-on asks for them."""


def _places_for(base: RuleBase, garment: Mapping[str, Any]) -> tuple[Place, ...]:
    rows = rows_of("places.yaml")
    unasked = base.derived | base.stop_flags
    asked = dict.fromkeys(name for name in base.entries.symptoms if name not in unasked)
    placed = {sign for row in rows for sign in row["signs"]}
    own = [name for name in asked if name not in placed]
    found = []
    for row in rows:
        unfit = row.get("only_if_sign", {})
        named = row["signs"] if row is not rows[-1] else own
        signs = tuple(
            sign
            for sign in named
            if sign in asked and may_have(garment, {**unfit.get(sign, {}), **base.parts.get(sign, {})})
        )
        if signs:
            found.append(Place(row["id"], row["title"], signs))
    return tuple(found)


def worn_for(name: str) -> Worn:
    """How the garment is worn while a sign or a question is answered."""
    return _worn().get(name, "on")


@lru_cache(maxsize=1)
def _worn() -> dict[str, Worn]:
    ways: dict[str, Worn] = {ONCE_OFF: "off", _AGAIN: "again"}
    rows = [(way, row) for row in rows_of("places.yaml") if (way := ways.get(row["id"]))]
    return {name: way for way, row in rows for name in (*row["signs"], *row.get("questions", ()))}


def may_have(garment: Mapping[str, Any], wanted: Mapping[str, Collection[str]]) -> bool:
    """Whether the garment may have what is wanted: what is not known may be there."""
    return all(_in_words(garment.get(name)) in (None, *words) for name, words in wanted.items())


def _in_words(told: Any) -> Any:
    return {True: "yes", False: "no"}[told] if isinstance(told, bool) else told


@lru_cache(maxsize=2)
def rows_of(name: str) -> list[dict[str, Any]]:
    """The rows of a file of this room."""
    import yaml  # here, for whoever asks nothing needs none of it

    rows: list[dict[str, Any]] = yaml.safe_load(Path(__file__).with_name(name).read_text(encoding="utf-8"))
    return rows
