"""Operations on a flat pattern: a pattern in, a new pattern out.

Each owns its parameters, its reading, its amounts and its doing, in its one file; a new one is a file beside the others
and a line in the table here.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.pattern.finish.finished import Cuts
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.operations.channels import Channels
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.doing import do, do_part, finish
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.move_edge import MoveEdge
from diagnose.pattern.operations.openings.eyelets import Eyelets
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.operations.openings.recut_gore import RecutGore
from diagnose.pattern.operations.openings.tabs import Tabs
from diagnose.pattern.operations.operation import OnPiece, Operation
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.units import Unit

__all__ = [
    "OPERATIONS", "Channels", "Cuts", "Dart", "Eyelets", "Fold", "InsertGore", "Length", "Marks", "MoveEdge",
    "OnPiece", "Operation", "RecutGore", "ReshapeEdge", "SplitSides", "Strap", "Tabs", "do", "do_part", "finish",
    "parse_operations",
]  # fmt: skip

TABLE: tuple[type[Operation], ...] = (
    Fold, Dart, MoveEdge, ReshapeEdge, Length, InsertGore, SplitSides, Channels, Strap, Tabs, Marks, RecutGore, Eyelets,
)  # fmt: skip
OPERATIONS: Mapping[str, type[Operation]] = {kind.op: kind for kind in TABLE}
"""Every operation by its name in JSON."""
MOST_OPERATIONS = 1000


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
    rows = [raw] if single else reading.rows(raw, where, where, most=MOST_OPERATIONS, least=1)
    made = [_operation(reading, item, where if single else f"{where}[{index}]") for index, item in enumerate(rows)]
    reading.finish(where)
    return tuple(operation for operation in made if operation is not None)


def _operation(reading: Reading, raw: object, where: str) -> Operation | None:
    table = reading.table(raw, where)
    if table is None:
        return None
    name = reading.word(table.get("op"), tuple(OPERATIONS), f"{where}.op", key="operation")
    made = OPERATIONS[name].read(reading, table, where) if name else None
    return made if isinstance(made, Operation) else None
