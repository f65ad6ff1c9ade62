"""Operations read from JSON and written back: every mistake of the input at once, each with its place and remedy.

A number is millimetres; a length as text takes the unit given where it names none. What is written back is in
millimetres and reads as the same operation again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple, TypeAlias

from msgspec import NODEFAULT, Struct

from diagnose.errors import nearest
from diagnose.pattern.form.strict import Reading, quoted
from diagnose.pattern.operations.channels import Channels, Shifted
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.insert_gore import InsertGore
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.move_edge import MoveEdge, Place
from diagnose.pattern.operations.redrawn_marks import LevelShift, Marks
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.operations.tabs import NewSlit, Tabs
from diagnose.pattern.outline import STATIONS, Channel
from diagnose.units import Unit

__all__ = ["Operation", "operation_to_json", "parse_operations"]

Operation: TypeAlias = (
    Fold | Dart | MoveEdge | ReshapeEdge | Length | InsertGore | SplitSides | Channels | Strap | Tabs | Marks
)
Reader = Callable[[Reading, object, str], object]
MOST_OPERATIONS = 1000
MOST_ITEMS = 5000
MOST_DEG = 90


class _Parameter(NamedTuple):
    """One key of an object: how it is read, which attribute it becomes (its own name unless given), whether it must
    be there.
    """

    key: str
    read: Reader
    attribute: str = ""
    required: bool = False

    @property
    def name(self) -> str:
        return self.attribute or self.key


class _Level(NamedTuple):
    """Where `length` cuts."""

    station: str
    offset: float = 0.0


class _Kind(Struct, frozen=True):
    """One kind of object: its parameters, and what it makes of them."""

    make: Callable[..., object]
    parameters: tuple[_Parameter, ...]

    def read(self, reading: Reading, raw: object, where: str) -> object:
        """The object made, or None once its mistakes are noted."""
        return self.read_table(reading, reading.table(raw, where), where)

    def read_table(self, reading: Reading, table: Mapping[str, object] | None, where: str) -> object:
        """The same, of what is known to be an object; its `op` is passed over."""
        if table is None:
            return None
        found_before = len(reading.mistakes)
        known = [parameter.key for parameter in self.parameters]
        for key in table.keys() - {"op", *known}:
            reading.note(where, f"It has no parameter {quoted(key)}.", nearest(key, known))
        values: dict[str, object] = {}
        for parameter in self.parameters:
            if parameter.key in table:
                values[parameter.name] = parameter.read(reading, table[parameter.key], f"{where}.{parameter.key}")
            elif parameter.required:
                reading.note(where, f"“{parameter.key}” is missing.", f"It takes: {', '.join(known)}.")
        return self.make(**values) if len(reading.mistakes) == found_before else None


def _above_nothing(reading: Reading, raw: object, where: str) -> object:
    size = reading.number(raw, where)
    if size is not None and size <= 0.0:
        reading.note(where, f"{quoted(raw)} is not more than nothing.", "Give a length above 0.")
    return size


def _not_negative(reading: Reading, raw: object, where: str) -> object:
    size = reading.number(raw, where)
    if size is not None and size < 0.0:
        reading.note(where, f"{quoted(raw)} is less than nothing.", "Give 0 or more.")
    return size


def _yes_no(reading: Reading, raw: object, where: str) -> object:
    if not isinstance(raw, bool):
        reading.note(where, f"{quoted(raw)} is neither true nor false.", "Write true or false.")
    return raw


def _part(reading: Reading, raw: object, where: str) -> object:
    if isinstance(raw, int | float) and not isinstance(raw, bool) and 0.0 <= raw <= 1.0:
        return float(raw)
    reading.note(where, f"{quoted(raw)} is not a part of the edge.", "Give a number from 0 to 1.")
    return None


def _degrees(reading: Reading, raw: object, where: str) -> object:
    if isinstance(raw, int | float) and not isinstance(raw, bool) and -MOST_DEG <= raw <= MOST_DEG:
        return float(raw)
    reading.note(where, f"{quoted(raw)} is not an angle.", f"Give degrees from -{MOST_DEG} to {MOST_DEG}.")
    return None


def _line(reading: Reading, raw: object, where: str) -> object:
    return reading.line(raw, where, MOST_ITEMS)


def _place(reading: Reading, raw: object, where: str) -> object:
    return reading.point(raw, where) if isinstance(raw, list) else reading.number(raw, where)


def _one_of(key: str, *known: str) -> Reader:
    return lambda reading, raw, where: reading.word(raw, known, where, key)


def _or_none(read: Reader) -> Reader:
    return lambda reading, raw, where: None if raw is None else read(reading, raw, where)


def _list_of(read: Reader) -> Reader:
    def read_all(reading: Reading, raw: object, where: str) -> object:
        rows = reading.rows(raw, where, where.rpartition(".")[2], MOST_ITEMS, least=1)
        return tuple(read(reading, item, f"{where}[{index}]") for index, item in enumerate(rows))

    return read_all


def _one_or_more(read: Reader) -> Reader:
    many = _list_of(read)
    return lambda reading, raw, where: many(reading, raw if isinstance(raw, list) else [raw], where)


def _amount_at(reading: Reading, raw: object, where: str) -> object:
    """An amount of `move-edge`, which stands at one place."""
    made = _AMOUNT_AT.read(reading, raw, where)
    if isinstance(made, Place) and (made.at is None) == (made.along is None):
        reading.note(where, "An amount stands at one place.", "Give either “at” (a station) or “along” (0 to 1).")
    return made


def _cut_at(at: _Level, amount: float) -> Length:
    return Length(at.station, at.offset, amount)


def _need(key: str, read: Reader, attribute: str = "") -> _Parameter:
    return _Parameter(key, read, attribute, required=True)


_may = _Parameter
_length, _point, _name = Reading.number, Reading.point, Reading.name
_AMOUNT_AT = _Kind(Place, (_need("mm", _length), _may("at", _one_of("station", *STATIONS)), _may("along", _part)))
_LEVEL = _Kind(_Level, (_need("station", _one_of("station", *STATIONS)), _may("offset", _length)))
_CHANNEL = _Kind(Channel, (_need("name", _name), _need("line", _line), _need("width", _above_nothing)))
_SHIFTED = _Kind(Shifted, (_need("name", _name), _need("by", _point)))
_LEVEL_SHIFT = _Kind(
    LevelShift, (_need("station", _one_of("station", *STATIONS)), _need("front", _length), _need("back", _length))
)
_NEW_SLIT = _Kind(NewSlit, (_need("along", _above_nothing), _may("depth", _or_none(_above_nothing))))
_PIECE = _need("piece", _name)
_SIDE = _one_of("side", "left", "right")

_KINDS: dict[str, tuple[type, _Kind]] = {
    "fold": (Fold, _Kind(Fold, (
        _PIECE, _need("from", _point, "from_"), _need("to", _point), _need("amount_from", _length),
        _need("amount_to", _length), _need("move", _SIDE),
    ))),
    "dart": (Dart, _Kind(Dart, (
        _PIECE, _need("mouth", _point), _need("width", _length), _need("point", _point),
        _may("relief", _or_none(_point)), _may("turn", _or_none(_SIDE)),
    ))),
    "move-edge": (MoveEdge, _Kind(MoveEdge, (
        _PIECE, _need("edge", _name), _need("by", _list_of(_amount_at)), _may("true_partner", _yes_no),
        _may("channels", _one_of("word", "stay", "follow")),
    ))),
    "reshape-edge": (ReshapeEdge, _Kind(ReshapeEdge, (
        _PIECE, _need("edge", _one_or_more(_name), "edges"), _need("from", _place, "from_"), _need("peak", _place),
        _need("to", _place), _need("height", _length),
        _may("direction", _one_of("direction", "up", "out", "in", "down")),
    ))),
    "length": (Length, _Kind(_cut_at, (_need("at", _LEVEL.read), _need("amount", _length)))),
    "insert-gore": (InsertGore, _Kind(InsertGore, (
        _PIECE, _need("slit_foot", _point), _need("tip", _point), _need("width", _above_nothing),
    ))),
    "split-sides": (SplitSides, _Kind(SplitSides, (_PIECE,))),
    "channels": (Channels, _Kind(Channels, (
        _PIECE, _may("extend", _list_of(_name)), _may("to", _or_none(_one_of("edge", "top", "bottom"))),
        _may("clearance", _not_negative), _may("add", _list_of(_CHANNEL.read)), _may("remove", _list_of(_name)),
        _may("move", _list_of(_SHIFTED.read)),
    ))),
    "strap": (Strap, _Kind(Strap, (
        _PIECE, _may("end", _or_none(_one_of("end", "front", "back"))), _may("move", _length),
        _may("lengthen", _length), _may("widen", _length),
    ))),
    "tabs": (Tabs, _Kind(Tabs, (
        _PIECE, _may("slits", _list_of(_name)), _may("add", _list_of(_NEW_SLIT.read)), _may("redivide", _yes_no),
        _may("deepen", _length), _may("lengthen", _length), _may("flare", _not_negative),
    ))),
    "marks": (Marks, _Kind(Marks, (
        _PIECE, _may("grain_deg", _degrees), _may("levels", _list_of(_LEVEL_SHIFT.read)),
        _may("landmarks", _list_of(_SHIFTED.read)),
    ))),
}  # fmt: skip
_PARTS: dict[type, _Kind] = {
    Place: _AMOUNT_AT, Channel: _CHANNEL, Shifted: _SHIFTED, NewSlit: _NEW_SLIT, LevelShift: _LEVEL_SHIFT,
}  # fmt: skip


def parse_operations(raw: object, where: str = "do", unit: Unit = "in") -> tuple[Operation, ...]:
    """The operations of decoded JSON: one object, or a list of them in order.

    Args:
        raw: an object with its `op`, or a list of such objects.
        where: how mistakes name the input.
        unit: the unit of lengths given as text without one.

    Raises:
        FitError: every mistake of the whole input.
    """
    reading = Reading(unit)
    single = isinstance(raw, Mapping)
    rows = [raw] if single else reading.rows(raw, where, where, MOST_OPERATIONS, least=1)
    made = [_operation(reading, item, where if single else f"{where}[{index}]") for index, item in enumerate(rows)]
    reading.finish(where)
    return tuple(operation for operation in made if operation is not None)


def _operation(reading: Reading, raw: object, where: str) -> Operation | None:
    table = reading.table(raw, where)
    if table is None:
        return None
    name = reading.word(table.get("op"), tuple(_KINDS), f"{where}.op", "operation")
    made = _KINDS[name][1].read_table(reading, table, where) if name else None
    return made if isinstance(made, Operation) else None


def operation_to_json(operation: Operation) -> dict[str, object]:
    """The operation as JSON objects, lengths in mm: parsing it gives an equal operation. Defaults are left out."""
    for name, (made, kind) in _KINDS.items():
        if isinstance(operation, made):
            if isinstance(operation, Length):
                at = {"station": operation.station, "offset": operation.offset}
                return {"op": name, "at": at, "amount": operation.amount}
            return {"op": name, **_shown(operation, kind)}
    raise AssertionError(f"no spelling for {operation!r}")


def _shown(value: Struct, kind: _Kind) -> dict[str, object]:
    """The parameters that are not as they would be if left out."""
    usual = dict(zip(reversed(value.__struct_fields__), reversed(value.__struct_defaults__), strict=False))
    shown = {p.key: (getattr(value, p.name), usual.get(p.name, NODEFAULT)) for p in kind.parameters}
    return {key: _plain(now) for key, (now, default) in shown.items() if now != default}


def _plain(value: object) -> object:
    if isinstance(value, Struct):
        return _shown(value, _PARTS[type(value)])
    return [_plain(item) for item in value] if isinstance(value, tuple) else value
