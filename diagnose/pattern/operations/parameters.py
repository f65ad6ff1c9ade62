"""The parameters of an operation: how each is read from JSON and written back.

A number is millimetres; a length as text takes the unit given where it names none. What is written back is in
millimetres and reads as the same value again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import NODEFAULT, Struct

from diagnose.errors import nearest, quoted
from diagnose.pattern.form.strict import Reading
from diagnose.units import both

__all__ = [
    "SIDE", "Kind", "Parameter", "a_length", "a_line", "a_name", "a_part", "a_place", "a_point", "above_nothing",
    "degrees", "many", "may", "need", "not_negative", "one_of", "one_or_more", "or_none", "yes_no",
]  # fmt: skip  # fmt: skip

Reader = Callable[[Reading, object, str], object]
MOST_ITEMS = 5000
MOST_DEG = 90
a_length, a_point, a_name = Reading.number, Reading.point, Reading.name


class Parameter(Struct, frozen=True):
    """One key of an object.

    Attributes:
        key: how it is spelt in JSON.
        read: how its value is read; it notes what is wrong.
        attribute: the attribute it becomes; its own name where empty.
        required: whether it must be there.
        kind: of what kind the objects in it are, where it holds objects.
    """

    key: str
    read: Reader
    attribute: str = ""
    required: bool = False
    kind: Kind | None = None

    @property
    def name(self) -> str:
        """The attribute it becomes."""
        return self.attribute or self.key


class Kind(Struct, frozen=True):
    """One kind of object: its parameters, and what it makes of them."""

    make: Callable[..., object]
    parameters: tuple[Parameter, ...]

    def read(self, reading: Reading, raw: object, where: str) -> object:
        """The object made, or None once its mistakes are noted."""
        table = reading.table(raw, where)
        return None if table is None else self.read_table(reading, table, where)

    def read_table(self, reading: Reading, table: Mapping[str, object], where: str) -> object:
        """The object made of what is known to be a JSON object, or None; its `op` is passed over."""
        found_before = len(reading.mistakes)
        known = [parameter.key for parameter in self.parameters]
        for key in table.keys() - {"op", *known}:
            reading.note(where, f"It has no parameter {quoted(key)}.", nearest(key, known), code="unknown-name")
        values: dict[str, object] = {}
        for parameter in self.parameters:
            if parameter.key in table:
                values[parameter.name] = parameter.read(reading, table[parameter.key], f"{where}.{parameter.key}")
            elif parameter.required:
                reading.note(where, f"“{parameter.key}” is missing.", f"It takes: {', '.join(known)}.", code="missing")
        return self.make(**values) if len(reading.mistakes) == found_before else None

    def shown(self, value: Struct) -> dict[str, object]:
        """The value's parameters as JSON, without those that are as they would be if left out."""
        usual = dict(zip(reversed(value.__struct_fields__), reversed(type(value).__struct_defaults__), strict=False))
        return {
            p.key: _plain(getattr(value, p.name), p.kind)
            for p in self.parameters
            if getattr(value, p.name) != usual.get(p.name, NODEFAULT)
        }


def _plain(value: object, kind: Kind | None) -> object:
    if isinstance(value, Struct) and kind is not None:
        return kind.shown(value)
    return [_plain(item, kind) for item in value] if isinstance(value, tuple) else value


def need(key: str, read: Reader, attribute: str = "") -> Parameter:
    """A parameter that must be there."""
    return Parameter(key, read, attribute, required=True)


def may(key: str, read: Reader) -> Parameter:
    """A parameter that may be left out."""
    return Parameter(key, read)


def many(key: str, item: Reader | Kind, *, of: Kind | None = None, required: bool = False) -> Parameter:
    """A parameter that holds a list of at least one item; `of` is the items' kind where they are read by a function."""
    if isinstance(item, Kind):
        return Parameter(key, _list_of(item.read), required=required, kind=item)
    return Parameter(key, _list_of(item), required=required, kind=of)


def _list_of(read: Reader) -> Reader:
    def read_all(reading: Reading, raw: object, where: str) -> object:
        rows = reading.rows(raw, where, where.rpartition(".")[2], most=MOST_ITEMS, least=1)
        return tuple(read(reading, item, f"{where}[{index}]") for index, item in enumerate(rows))

    return read_all


def not_negative(reading: Reading, raw: object, where: str) -> object:
    """A length of 0 or more."""
    size = reading.number(raw, where)
    if size is not None and size < 0.0:
        what = f"It cannot be less than nothing, and {both(size)} is asked for."
        reading.note(where, what, "Give 0 or more.", code="below-nothing")
    return size


def above_nothing(reading: Reading, raw: object, where: str) -> object:
    """A length above 0."""
    size = reading.number(raw, where)
    if size is not None and size <= 0.0:
        what = f"It must be more than nothing, and {both(size)} is asked for."
        reading.note(where, what, "Give a length above 0.", code="below-nothing")
    return size


def yes_no(reading: Reading, raw: object, where: str) -> object:
    """True or false."""
    if not isinstance(raw, bool):
        reading.note(where, f"{quoted(raw)} is neither true nor false.", "Write true or false.", code="not-yes-or-no")
    return raw


def a_part(reading: Reading, raw: object, where: str) -> object:
    """A part of an edge, 0 to 1."""
    if isinstance(raw, int | float) and not isinstance(raw, bool) and 0.0 <= raw <= 1.0:
        return float(raw)
    reading.note(where, f"{quoted(raw)} is not a part of the edge.", "Give a number from 0 to 1.", code="out-of-range")
    return None


def degrees(reading: Reading, raw: object, where: str) -> object:
    """An angle of a quarter turn at most."""
    if isinstance(raw, int | float) and not isinstance(raw, bool) and -MOST_DEG <= raw <= MOST_DEG:
        return float(raw)
    reading.note(
        where, f"{quoted(raw)} is not an angle.", f"Give degrees from -{MOST_DEG} to {MOST_DEG}.", code="out-of-range"
    )
    return None


def a_line(reading: Reading, raw: object, where: str) -> object:
    """A line of two points or more."""
    return reading.line(raw, where, MOST_ITEMS)


def a_place(reading: Reading, raw: object, where: str) -> object:
    """A point, or a length along an edge."""
    return reading.point(raw, where) if isinstance(raw, list) else reading.number(raw, where)


def one_of(key: str, *known: str) -> Reader:
    """One word of a closed list."""
    return lambda reading, raw, where: reading.word(raw, known, where, key=key)


def or_none(read: Reader) -> Reader:
    """What may be null as well."""
    return lambda reading, raw, where: None if raw is None else read(reading, raw, where)


def one_or_more(read: Reader) -> Reader:
    """One item, or a list of them."""
    several = _list_of(read)
    return lambda reading, raw, where: several(reading, raw if isinstance(raw, list) else [raw], where)


SIDE = one_of("side", "left", "right")
