"""What the entries of a rule base point to, as the schema declares it (`fields.PointsTo`), found by one walk."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any, get_args

from msgspec import Struct
from pydantic import BaseModel

from diagnose.rulebase.reading.fields import Condition, PartCondition, PointsTo
from diagnose.rulebase.reading.load import FILES_ALONE, RuleFolder

__all__ = ["Reference", "condition_lists", "conditions", "references"]

Place = tuple[str | int, ...]


class Reference(Struct, frozen=True):
    """A word that names something else, and of what kind; the file (kind and entry) and the place that it stands in."""

    points_to: str
    word: str
    kind: str
    entry: str
    place: Place


def references(read: RuleFolder) -> Iterator[Reference]:
    """Every word of the entries that names another entry, a step, a family, a setting or a source."""
    for points_to, value, place in _walk(read.rules, None, ()):
        if points_to is not None and isinstance(value, str) and value != points_to.or_word:
            yield Reference(points_to.kind, value, *_file(place))


def conditions(read: RuleFolder) -> Iterator[tuple[Condition, str]]:
    """Every condition line, and its place."""
    for _, value, place in _walk(read.rules, None, ()):
        if isinstance(value, Condition):
            kind, entry, inside = _file(place)
            yield value, read.at(kind, entry, *inside)


def condition_lists(read: RuleFolder) -> Iterator[tuple[tuple[Condition, ...], Reference]]:
    """The lines of every field that must hold together, and the field they stand in (it points to nothing)."""
    lines = ((place[:-1], value) for _, value, place in _walk(read.rules, None, ()) if isinstance(value, Condition))
    for place, own in groupby(lines, key=itemgetter(0)):
        found = tuple(line for _, line in own)
        if not isinstance(found[0], PartCondition):
            yield found, Reference("", "", *_file(place))


def _file(place: Place) -> tuple[str, str, Place]:
    kind, *rest = place
    return (str(kind), "", tuple(rest)) if kind in FILES_ALONE else (str(kind), str(rest[0]), tuple(rest[1:]))


def _walk(value: Any, points_to: PointsTo | None, place: Place) -> Iterator[tuple[PointsTo | None, Any, Place]]:
    """What points somewhere, and every condition, with its place; the rest of an entry is passed over."""
    if isinstance(value, str):
        yield points_to, value, place
    elif isinstance(value, BaseModel):
        if isinstance(value, Condition):
            yield None, value, place
        for name, written, of in _fields(type(value)):
            yield from _walk(getattr(value, name), of, (*place, written))
    elif isinstance(value, tuple):
        for number, one in enumerate(value):
            yield from _walk(one, points_to, (*place, number))
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from _walk(one, points_to, (*place, key))


@lru_cache(maxsize=128)
def _fields(model: type[BaseModel]) -> tuple[tuple[str, str, PointsTo | None], ...]:
    """The fields of a model worth a look: the name, the key in the file, and what its words point to."""
    found = []
    for name, field in model.model_fields.items():
        marks = (*field.metadata, *_marks(field.annotation))
        of = next((mark for mark in marks if isinstance(mark, PointsTo)), None)
        inner = [mark for mark in (field.annotation, *marks) if isinstance(mark, type) and issubclass(mark, BaseModel)]
        if of is not None or any(issubclass(one, Condition) or _fields(one) for one in inner):
            found.append((name, field.alias or name, of))
    return tuple(found)


def _marks(annotation: Any) -> Iterator[Any]:
    for part in get_args(annotation):
        yield part
        yield from _marks(part)
